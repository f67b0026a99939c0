"""The quote: one upright page for the client; every number is a link to the sheet of costs."""

from typing import Any

from pretreat.basis import Series, Value
from pretreat.report.bench import Bench, sentence, wrapped_lines
from pretreat.report.charts import quote_chart
from pretreat.report.digits import column_decimals, decimals, number_format
from pretreat.report.formulas import reference
from pretreat.report.layout import QUOTE
from pretreat.report.links import LINES, YEARS, figure_of
from pretreat.report.styles import LINE_HEIGHT
from pretreat.results import Study

WIDTHS = (38.0, 9.5, 8.0, 9.0, 13.0, 10.0, 12.0, 32.0)
LAST = len(WIDTHS) - 1
_QUANTITY, _UNIT, _PACKAGES, _PACKAGE, _PRICE, _AMOUNT, _NOTE = range(1, 8)
_COLUMNS = ("quantity", "unit", "packages", "package", "unit_price", "amount", "note")
_WORDS_CHARS, _ITEM_CHARS, _NOTE_CHARS, _REPLACED_CHARS = 122, 47, 38, 45
_TOTAL_CHARS = 92
_ROW_PX = 17
_IN_HEAD = {"quote.currency", "quote.validity"}
_REPLACED = "one replacement of all media"
_TOTALS = {"each year": "quote.consumables_per_year",
           _REPLACED: "quote.replacement_total"}  # fmt: skip
_RESULTS = ("quote.cost_per_year", "quote.media_per_year", "quote.media_per_year_low",
            "quote.media_per_year_high", "quote.cost_per_m3", "quote.npv")  # fmt: skip
_NO_PRICE = "no price"
_TITLE = "Estimate of running cost and media replacement"
_TITLE_OF_MEDIA = "Estimate of media replacement"
_TITLE_OF_QUANTITIES = "Quantities for running and for replacing the media, no prices given"


def write_quote(bench: Bench, sheet: Any, day: str) -> None:
    """Write the quote.

    Parameters
    ----------
    bench : Bench
        Study with a table of quoted lines, cells and styles. [-]
    sheet : object
        The worksheet. [-]
    day : str
        Date of the calculation, may be empty. [-]
    """
    for column, width in enumerate(WIDTHS):
        sheet.set_column(column, column, width)
    row = _head(bench, sheet, day)
    row = _lines(bench, sheet, row)
    row = _results(bench, sheet, row)
    row = _years(bench, sheet, row)
    row = _words(bench, sheet, row)
    for column in range(LAST + 1):
        sheet.write_string(row + 1, column, "", bench.styles("signature"))
    for column, text in ((0, "date of issue"), (_QUANTITY, "for the supplier: name, signature"),
                         (_PRICE, "for the client: name, signature, date")):  # fmt: skip
        sheet.write_string(row + 1, column, text, bench.styles("signature"))


def _head(bench: Bench, sheet: Any, day: str) -> int:
    styles, study = bench.styles, bench.study
    title = _TITLE if _priced(study) else _TITLE_OF_QUANTITIES
    if set(_whens(study.series[LINES])) == {_REPLACED}:
        title = _TITLE_OF_MEDIA
    sheet.write_string(0, 0, title, styles("title"))
    sheet.set_row(0, 24)
    site = [study.value("site.name"), study.value("site.place")]
    pairs = [
        ("Site", ", ".join(s for s in site if isinstance(s, str) and s)),
        ("Prepared for", study.value("site.prepared_for")),
        ("Prepared by", study.value("site.prepared_by")),
        ("Date of the calculation", day),
        ("Valid for", study.value("quote.validity") if _priced(study) else None),
        ("Currency", study.value("quote.currency")),
    ]
    row = 1
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
    heads = ("Item", "Quantity", "Unit", "Packages", "Bought as", f"Unit price{unit}",
             f"Amount{unit}", "Note")  # fmt: skip
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
    item = str(series.column("item")[i])
    sheet.write_string(row, 0, item, styles("label"))
    lines = wrapped_lines(item, _ITEM_CHARS)
    loose = "packages" in series.columns and series.column("packages")[i] is None
    for column, name in enumerate(_COLUMNS, start=1):
        value = series.column(name)[i] if name in series.columns else None
        if name == "package" and loose:
            value = None
        if isinstance(value, str):
            sheet.write_string(row, column, value, styles("cell_text"))
            room = _NOTE_CHARS if column == _NOTE else 2 * WIDTHS[column]
            lines = max(lines, wrapped_lines(value, int(room)))
        elif isinstance(value, float):
            style = styles("number", number_format(column_decimals(name, (value,))[0], value))
            key = figure_of(series, i, name)
            if key is not None and bench.study.number(key) == value:
                _link(bench, sheet, (row, column), key, style)
            else:
                sheet.write_number(row, column, value, style)
        elif column in {_PRICE, _AMOUNT} and _priced(bench.study):
            sheet.write_string(row, column, _NO_PRICE, styles("word"))
        else:
            sheet.write_blank(row, column, None, styles("text"))
    sheet.set_row(row, LINE_HEIGHT * lines)


def _link(bench: Bench, sheet: Any, cell: tuple[int, int], key: str, style: Any) -> None:
    place = bench.book.places[key]
    sheet.write_formula(*cell, "=" + reference(place, QUOTE), style, bench.study.number(key))


def _subtotal(bench: Bench, sheet: Any, row: int, group: Value) -> int:
    key = _TOTALS.get(str(group))
    if key is None or key not in bench.book.places:
        return row
    row += 1
    _result(bench, sheet, row, key)
    return row


def _result(bench: Bench, sheet: Any, row: int, key: str) -> None:
    """Write a total; a total that lacks a price says so."""
    figure, styles = bench.study[key], bench.styles
    sheet.merge_range(row, 0, row, _PRICE, "", styles("strong"))
    sheet.write_string(row, 0, sentence(figure.label), styles("strong_wrapped"))
    lines = wrapped_lines(figure.label, _TOTAL_CHARS)
    if lines > 1:
        sheet.set_row(row, LINE_HEIGHT * lines)
    value = figure.value
    if isinstance(value, float):
        style = styles("strong_number", number_format(decimals(figure), value))
        _link(bench, sheet, (row, _AMOUNT), key, style)
    else:
        sheet.write_string(row, _AMOUNT, _NO_PRICE, styles("word"))
    sheet.write_string(row, _NOTE, figure.unit, styles("cell_text"))


def _results(bench: Bench, sheet: Any, row: int) -> int:
    keys = [k for k in _RESULTS if k in bench.book.places]
    if not keys:
        return row
    _section(bench, sheet, row, "Cost, estimated")
    for key in keys:
        row += 1
        _result(bench, sheet, row, key)
    return row + 2


def _section(bench: Bench, sheet: Any, row: int, text: str) -> None:
    sheet.write_string(row, 0, text, bench.styles("heading"))
    for column in range(1, LAST + 1):
        sheet.write_blank(row, column, None, bench.styles("heading"))


# Columns of the plan beside its chart: first and last column of the page that each covers.
_PLAN = (("consumables", (1, 2)), ("media", (3, 3)), ("total", (4, 4)))


def _years(bench: Bench, sheet: Any, row: int) -> int:
    series, styles = bench.study.series.get(YEARS), bench.styles
    if series is None or not series.rows:
        return row
    _section(bench, sheet, row, f"Plan of {len(series.rows)} years, estimated")
    row += 1
    top = row
    sheet.write_string(row, 0, "Year, and what is replaced", styles("head"))
    for name, (first, last) in _PLAN:
        if first != last:
            sheet.merge_range(row, first, row, last, "", styles("head_number"))
        heading = {"media": "Media"}.get(name, sentence(name))
        sheet.write_string(row, first, heading, styles("head_number"))
    pixels = _ROW_PX
    replaced = series.column("replaced") if "replaced" in series.columns else ()
    for i, cells in enumerate(series.rows):
        row += 1
        what = str(replaced[i] or "") if replaced else ""
        text = f"{cells[0]:g}" + (f"  {what}" if what else "")
        sheet.write_string(row, 0, text, styles("label"))
        lines = wrapped_lines(text, _REPLACED_CHARS)
        pixels += lines * _ROW_PX
        if lines > 1:
            sheet.set_row(row, LINE_HEIGHT * lines)
        for name, columns in _PLAN:
            _plan_cell(bench, sheet, (row, columns), (series, i, name))
    chart = quote_chart(bench)
    if chart is not None:
        across = sum(int(w * 7) + 5 for w in WIDTHS[_PRICE:])
        chart.set_size({"width": across - 12, "height": pixels})
        sheet.insert_chart(top, _PRICE, chart, {"x_offset": 8, "object_position": 1})
    return row + 2


def _plan_cell(
    bench: Bench, sheet: Any, cell: tuple[int, tuple[int, int]], point: tuple[Series, int, str]
) -> None:
    (row, (first, last)), (series, i, name) = cell, point
    value = series.column(name)[i] if name in series.columns else None
    styles = bench.styles
    if first != last:
        sheet.merge_range(row, first, row, last, "", styles("number"))
    if not isinstance(value, float):
        sheet.write_string(row, first, _NO_PRICE, styles("word"))
        return
    style = styles("number", number_format(2, value))
    key = figure_of(series, i, name)
    if key is not None and bench.study.number(key) == value:
        _link(bench, sheet, (row, first), key, style)
    else:
        sheet.write_number(row, first, value, style)


def _words(bench: Bench, sheet: Any, row: int) -> int:
    _section(bench, sheet, row, "What this estimate rests on, and what it leaves out")
    study = bench.study
    pairs = [
        (figure.label, figure.value)
        for key, figure in study.figures.items()
        if key.startswith("quote.") and key not in _IN_HEAD and isinstance(figure.value, str)
    ]
    missing = _missing(study.series[LINES])
    priced = _priced(study)
    if missing and priced:
        pairs.append(("not included: no price given", ", ".join(missing)))
    prices = "as given for this estimate; nothing is added for tax"
    pairs.append(("prices", prices if priced else "none given: this page shows quantities only, "
                  "and leaves room to write prices in"))  # fmt: skip
    for lead, text in pairs:
        row += 1
        words = sentence(str(text))
        sheet.write_string(row, 0, sentence(lead), bench.styles("level"))
        _wide(bench, sheet, row, (1, LAST), words)
        sheet.set_row(row, LINE_HEIGHT * wrapped_lines(words, _WORDS_CHARS))
    sheet.set_row(row + 1, 30)
    return row + 1


def _priced(study: Study) -> bool:
    """Tell whether any line of the quote has an amount."""
    return any(amount is not None for amount in study.series[LINES].column("amount"))


def _missing(series: Series) -> tuple[str, ...]:
    pairs = zip(series.column("item"), series.column("amount"), strict=True)
    items = [str(item) for item, amount in pairs if amount is None]
    return tuple(dict.fromkeys(item.partition(": ")[2] or item for item in items))
