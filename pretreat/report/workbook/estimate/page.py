"""The estimate of running cost: one upright page; every number is a link to the sheet of costs."""

import re
from typing import Any

from pretreat.core.basis import Figure, Series, Value
from pretreat.core.results import Study
from pretreat.core.units import us_customary
from pretreat.report.digits import column_decimals, column_format, format_of
from pretreat.report.text.us_words import package_as_priced
from pretreat.report.workbook.bench import INTERNAL, Bench, at_own_cost, sentence, wrapped_lines
from pretreat.report.workbook.estimate.years import (
    LAST,
    NO_PRICE,
    US_WIDTHS,
    WIDTHS,
    section,
    write_gap,
    write_plan,
)
from pretreat.report.workbook.formulas import reference
from pretreat.report.workbook.layout import ESTIMATE
from pretreat.report.workbook.links import (
    LINES,
    figure_of,
    gap_word,
    link_of,
    repeated,
)
from pretreat.report.workbook.stale import write_changed
from pretreat.report.workbook.styles import LINE_HEIGHT

_QUANTITY, _UNIT, _PACKAGES, _PACKAGE, _PRICE, _AMOUNT, _NOTE = range(1, 8)
_COLUMNS = ("quantity", "unit", "packages", "package", "unit_price", "amount", "note")
_WORDS_CHARS, _ITEM_CHARS, _NOTE_CHARS = 104, 38, 21
_CHARS_PER_WIDTH = 1.15  # that a column holds in the letters of its cells
_WITHOUT = ", without "
_IN_HEAD = {"quote.currency", "quote.validity"}
_REPLACED = "one replacement of all media"
_TOTALS = {
    "each year": ("quote.offered_per_year", "quote.own_per_year", "quote.consumables_per_year"),
    _REPLACED: ("quote.replacement_offered", "quote.replacement_own", "quote.replacement_total"),
}
_MONEY = ("unit_price", "amount")
_GAP_NOTE = "price not given"
_LACKING = {_GAP_NOTE: "without a price at the run", "no quantity": "without a quantity"}
_PACK = re.compile(r"(\d+(?:\.\d+)?) (kg|L)$")
_MEASURED = {"kg": "kg", "L": "L", "m3": "m3/year"}  # unit of a quantity -> unit with a US twin
_RESULTS = (
    "quote.cost_per_year",
    "quote.media_per_year",
    "quote.media_per_year_low",
    "quote.media_per_year_high",
    "quote.cost_per_m3",
    "quote.npv",
)
_TITLE = "Estimate of running cost and media replacement"
_TITLE_OF_MEDIA = "Estimate of media replacement"
_TITLE_OF_QUANTITIES = "Quantities for running and for replacing the media, no prices given"


def write_estimate(bench: Bench, sheet: Any, day: str) -> tuple[int, int]:
    """Write the estimate of running cost and replacement.

    Parameters
    ----------
    bench : Bench
        Study with a table of quoted lines, cells and styles. [-]
    sheet : object
        The worksheet. [-]
    day : str
        Date of the calculation, may be empty. [-]

    Returns
    -------
    tuple of int
        Rows in use, and the row under the lines, from zero, where a second page begins. [-]
    """
    for column, width in enumerate(US_WIDTHS if bench.us else WIDTHS):
        sheet.set_column(column, column, width)
    row = _head(bench, sheet, day)
    row = _lines(bench, sheet, row)
    costs = row
    row = _results(bench, sheet, row)
    row = write_plan(bench, sheet, row)
    row = _words(bench, sheet, row)
    if not _priced(bench.study) or at_own_cost(bench.study):
        return row + 1, costs
    for column in range(LAST + 1):
        sheet.write_string(row + 1, column, "", bench.styles("signature"))
    for column, text in (
        (0, "date of issue, number of the quote"),
        (_QUANTITY, "for the supplier: name, signature"),
        (_PRICE, "for the client: name, signature, date"),
    ):
        sheet.write_string(row + 1, column, text, bench.styles("signature"))
    return row + 2, costs


def _head(bench: Bench, sheet: Any, day: str) -> int:
    styles, study = bench.styles, bench.study
    title = _TITLE if _priced(study) else _TITLE_OF_QUANTITIES
    if set(_whens(study.series[LINES])) == {_REPLACED}:
        title = _TITLE_OF_MEDIA
    if at_own_cost(study):
        title = f"{title}: {INTERNAL}"
    sheet.write_string(0, 0, title, styles("title"))
    sheet.set_row(0, 24)
    write_changed(bench, sheet, 1, LAST)
    site = [study.value("site.name"), study.value("site.place")]
    pairs = [
        ("Site", ", ".join(s for s in site if isinstance(s, str) and s)),
        ("Prepared for", study.value("site.prepared_for")),
        ("Prepared by", study.value("site.prepared_by")),
        ("Date of the calculation", day),
        ("Valid for", study.value("quote.validity") if _priced(study) else None),
        ("Currency", study.value("quote.currency")),
    ]
    row = 2
    for lead, text in pairs:
        if isinstance(text, str) and text:
            sheet.write_string(row, 0, lead, styles("level"))
            _wide(bench, sheet, row, (1, LAST), text)
            row += 1
    return row + 1


def _wide(bench: Bench, sheet: Any, row: int, columns: tuple[int, int], text: str) -> None:
    sheet.merge_range(row, columns[0], row, columns[1], "", bench.styles("wrapped"))
    sheet.write_string(row, columns[0], text, bench.styles("wrapped"))


def _lines(bench: Bench, sheet: Any, row: int) -> int:
    series, styles = bench.study.series[LINES], bench.styles
    currency = bench.study.value("quote.currency")
    unit = f"\n[{currency}]" if isinstance(currency, str) else ""
    heads = (
        "Item",
        "Quantity",
        "Unit",
        "Packages",
        "Bought as",
        f"Price each{unit}",
        f"Amount{unit}",
        "Note",
    )
    for column, text in enumerate(heads):
        numeric = column in {_QUANTITY, _PACKAGES, _PRICE, _AMOUNT}
        role = "head_number" if numeric else "head_cell" if column else "head"
        sheet.write_string(row, column, text, styles(role))
    sheet.set_row(row, 2 * LINE_HEIGHT + 2)
    group: Value = None
    for i, when in enumerate(_whens(series)):
        if when != group:
            row = _subtotal(bench, sheet, row, group) + 1
            sheet.merge_range(row, 0, row, LAST, "", styles("group"))
            sheet.write_string(row, 0, sentence(str(when)), styles("group"))
            group = when
        row += 1
        _line(bench, sheet, row, (series, i))
    return _subtotal(bench, sheet, row, group) + 2


def _whens(series: Series) -> tuple[Value, ...]:
    return series.column("when") if "when" in series.columns else (None,) * len(series.rows)


def _line(bench: Bench, sheet: Any, row: int, line: tuple[Series, int]) -> None:
    series, i = line
    styles = bench.styles
    item = str(series.cell(i, "item"))
    sheet.write_string(row, 0, item, styles("label"))
    lines = wrapped_lines(item, _ITEM_CHARS)
    loose = "packages" in series.columns and series.cell(i, "packages") is None
    for column, name in enumerate(_COLUMNS, start=1):
        value = series.cell(i, name)
        if name == "package" and loose:
            value = None
        if isinstance(value, str):
            text = _words_of(bench, name, value)
            _text(bench, sheet, (row, column), (series, i), text)
            widths = US_WIDTHS if bench.us else WIDTHS
            room = _NOTE_CHARS if column == _NOTE else _CHARS_PER_WIDTH * widths[column]
            lines = max(lines, wrapped_lines(text, int(room)))
        else:
            _number(bench, sheet, (row, column), (series, i, name))
    sheet.set_row(row, LINE_HEIGHT * lines)


def _words_of(bench: Bench, name: str, value: str) -> str:
    """Return the words of a cell, of units and packages in the units of the page."""
    if not bench.us:
        return value
    if name == "unit" and value in _MEASURED:
        return us_customary(1.0, _MEASURED[value])[1].removesuffix("/year")
    pack = _PACK.search(value)
    if name == "package" and pack:
        return f"{value[: pack.start()]}{package_as_priced(pack[0])}"
    return value


def _text(
    bench: Bench, sheet: Any, cell: tuple[int, int], line: tuple[Series, int], text: str
) -> None:
    """Write words; a note of a missing price goes once the price is there."""
    series, i = line
    style = bench.styles("cell_text")
    sheet.write_string(*cell, text, style)
    key = figure_of(series, i, "unit_price")
    if cell[1] == _NOTE and text == _GAP_NOTE and key is not None:
        price = reference(bench.book.places[key], ESTIMATE)
        sheet.write_formula(*cell, f'=IF({price}="","{text}","")', style, text)


def _number(
    bench: Bench, sheet: Any, cell: tuple[int, int], point: tuple[Series, int, str]
) -> None:
    series, i, name = point
    value = series.cell(i, name)
    link = link_of(bench, ESTIMATE, point, value)
    if link is None and name in _MONEY and _priced(bench.study):
        link = NO_PRICE
    if not isinstance(value, float):
        write_gap(bench, sheet, cell, link)
        return
    factor = 1.0
    unit = _MEASURED.get(str(series.cell(i, "unit")))
    loose = series.cell(i, "packages") is None
    if bench.us and unit and (name == "quantity" or (name == "unit_price" and loose)):
        factor = us_customary(1.0, unit)[0]
        factor = 1.0 / factor if name == "unit_price" else factor
    shown = value * factor
    style = bench.styles("number", column_format(name, column_decimals(name, (shown,))[0], shown))
    if link is None or not link[0]:
        sheet.write_number(*cell, shown, style)
        return
    formula = link[0] if factor == 1.0 else f"=({link[0][1:]})*{factor!r}"
    sheet.write_formula(*cell, formula, style, shown)


def _subtotal(bench: Bench, sheet: Any, row: int, group: Value) -> int:
    for key in _TOTALS.get(str(group), ()):
        if key in bench.book.places:
            row += 1
            _result(bench, sheet, row, key)
    return row


def _result(bench: Bench, sheet: Any, row: int, key: str) -> None:
    """Write a total; a total that lacks a price says so."""
    figure, styles = bench.study[key], bench.styles
    label = sentence(figure.label.partition(_WITHOUT)[0])
    label = label.replace("per m3", "per 1,000 gal") if bench.us else label
    sheet.merge_range(row, 0, row, _PRICE, "", styles("strong"))
    sheet.write_string(row, 0, label, styles("strong_wrapped"))
    link = repeated(bench, ESTIMATE, key)
    value, unit = figure.value, figure.unit
    if isinstance(value, float):
        factor, unit = us_customary(1.0, unit) if bench.us else (1.0, unit)
        style = styles("strong_number", format_of(figure))
        formula = link[0] if link else "=" + reference(bench.book.places[key], ESTIMATE)
        formula = formula if factor == 1.0 else f"=({formula[1:]})*{factor!r}"
        sheet.write_formula(row, _AMOUNT, formula, style, value * factor)
    else:
        write_gap(bench, sheet, (row, _AMOUNT), link or ("", gap_word(figure)))
    _lacks(bench, sheet, row, figure, unit)


def _lacks(bench: Bench, sheet: Any, row: int, figure: Figure, unit: str) -> None:
    """Write the unit of a total beside it, and what it lacks until its price is typed in."""
    style, names = bench.styles("cell_text"), figure.label.partition(_WITHOUT)[2]
    sheet.write_string(row, _NOTE, unit, style)
    series = bench.study.series[LINES]
    keys = {
        figure_of(series, i, "unit_price")
        for i, amount in enumerate(series.column("amount"))
        if amount is None and _bare(str(series.column("item")[i])).lower() in names.lower()
    }
    cells = [
        reference(bench.book.places[k], ESTIMATE)
        for k in sorted(k for k in keys if k)
        if k in bench.book.places
    ]
    if names and cells:
        words = f"{unit}, incomplete: without {names}"
        if len(words) > 2 * _NOTE_CHARS:  # all of them stand under the plan
            words = f"{unit}, incomplete"
        blank = ",".join(f'{cell}=""' for cell in cells)
        sheet.write_formula(row, _NOTE, f'=IF(OR({blank}),"{words}","{unit}")', style, words)
        sheet.set_row(row, LINE_HEIGHT * wrapped_lines(words, _NOTE_CHARS))


def _bare(item: str) -> str:
    return item.partition(": ")[2] or item


def _results(bench: Bench, sheet: Any, row: int) -> int:
    keys = [k for k in _RESULTS if k in bench.book.places]
    if not keys or not _priced(bench.study):
        return row
    section(bench, sheet, row, "Cost, estimated")
    for key in keys:
        row += 1
        _result(bench, sheet, row, key)
    return row + 2


def _words(bench: Bench, sheet: Any, row: int) -> int:
    section(bench, sheet, row, "What this estimate rests on, and what it leaves out")
    study = bench.study
    pairs = [
        (figure.label, figure.value)
        for key, figure in study.figures.items()
        if key.startswith("quote.") and key not in _IN_HEAD and isinstance(figure.value, str)
    ]
    priced = _priced(study)
    for note, lead in _LACKING.items():
        missing = _missing(study.series[LINES], note)
        if missing and priced:
            pairs.append((lead, ", ".join(missing)))
    prices = (
        "as given for this estimate, each for one package, or for one unit of what is "
        "bought by measure; nothing is added for tax"
    )
    if bench.us and any(_PACK.search(str(each)) for each in study.series[LINES].column("package")):
        prices += "; a package of a metric size is shown as the nearest one in US units"
    none = (
        "none given: this page shows quantities, lives and years of replacement; prices typed "
        "into the input cells of the sheet Costs fill it in"
    )
    pairs.append(("prices", prices if priced else none))
    for lead, text in pairs:
        row += 1
        words = bench.words(sentence(str(text)))
        sheet.write_string(row, 0, sentence(lead), bench.styles("level"))
        _wide(bench, sheet, row, (1, LAST), words)
        sheet.set_row(row, LINE_HEIGHT * wrapped_lines(words, _WORDS_CHARS))
    sheet.set_row(row + 1, 30)
    return row + 1


def _priced(study: Study) -> bool:
    """Tell whether any line of the quote has an amount."""
    return any(amount is not None for amount in study.series[LINES].column("amount"))


def _missing(series: Series, why: str) -> tuple[str, ...]:
    columns = (series.column(name) for name in ("item", "amount", "note"))
    found = [
        str(item) for item, amount, note in zip(*columns, strict=True) if not amount and note == why
    ]
    return tuple(dict.fromkeys(_bare(item) if why == _GAP_NOTE else item for item in found))
