"""What a line of the quote says: the item, how much is needed, for which vessels, and its tax."""

from collections.abc import Mapping

from msgspec import Struct, field

from pretreat.core.basis import Value
from pretreat.core.results import Study
from pretreat.core.units import us_customary
from pretreat.report.hand.quote_sentences import (
    MEDIUM,
    OFFER,
    in_its_unit,
    is_planned,
    item_name,
    kind_of,
    size_of,
    stage_name,
    text,
)
from pretreat.report.hand.quote_sold import GOODS
from pretreat.report.hand.quote_words import Words

EQUIPMENT = "equipment"  # kind of a line
LABOUR, LABOUR_FIRST = "labour", "labour_first"
PALLET, VESSEL = "pallet", "vessel"
NEAR_INCH = 0.05
NOMINAL = 1.02  # sizes are nominal: up to 2 % (common practice, no source)
CARTRIDGES, DISPOSAL = "cartridges", "disposal"


class Line(Struct, frozen=True):
    """One line: words, numbers as sold, and the keys of the figures behind them.

    ``tax`` is its rate in % where the lines have several, ``marked`` the same in words.
    """

    text: str
    quantity: float | None
    unit: str
    price: float | None
    amount: float | None
    keys: Mapping[str, str] = field(default_factory=dict)
    tax: str = ""
    marked: str = ""

    @property
    def noted(self) -> str:
        """Words with the rate of tax behind them, for a page without a column of its own."""
        return f"{self.text} ({self.marked})" if self.marked else self.text


class Group(Struct, frozen=True):
    """Lines under a heading."""

    heading: str
    lines: tuple[Line, ...]


def description(study: Study, row: Mapping[str, Value], words: Words, pallets: float | None) -> str:
    """Return what is sold, with what is needed where the trade measures it.

    Parameters
    ----------
    study : Study
        The study. [-]
    row : mapping
        Row of what is offered. [-]
    words : Words
        The language. [-]
    pallets : float or None
        Pallets of a year that it comes on. [-]

    Returns
    -------
    str
        Such as "Softening resin, 283 L, for 1 vessel of 24 x 72 in". [-]
    """
    return text(row["text"]) or _item(study, row, words, pallets)


def taxes_of(study: Study, row: Mapping[str, Value], words: Words) -> tuple[str, str]:
    """Return the rate of tax of a line where the lines have several.

    Parameters
    ----------
    study : Study
        The study. [-]
    row : mapping
        Row of what is offered. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        As a column has it, "21", and in words, "Tax 21 %"; the latter is empty for the rate that
        needs no word. [-]
    """
    rates = rates_of(study)
    if study.value("offer.taxed") is None or len(rates) < 2 or row["amount"] is None:
        return "", ""
    rate = float(row["tax_percent"] or 0.0)
    if rate and rates_of(study, optional="no") == {rate}:
        return words.rate(rate), ""  # the total has this rate alone
    tax = words("tax_short", rate=words.rate(rate)) if rate else words("untaxed")
    marked = not rate or len(rates - {0.0}) > 1  # else what is not marked has the one rate
    return words.rate(rate), tax if marked else ""


def rates_of(study: Study, optional: str = "") -> frozenset[float]:
    """Return the rates of tax of what has an amount.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]
    optional : str
        "no" for those of the total, "yes" for those beside it; empty for both. [-]

    Returns
    -------
    frozenset of float
        Rates. [%]
    """
    table = study.series[OFFER]
    columns = (table.column(name) for name in ("tax_percent", "amount", "optional"))
    lines = [line for line in zip(*columns, strict=True) if line[1] is not None]
    return frozenset(float(line[0] or 0.0) for line in lines if optional in {"", line[2]})


def grouped(lines: tuple[Line, ...], words: Words) -> tuple[Group, ...]:
    """Return the lines by the stage that they belong to, equipment before them.

    Parameters
    ----------
    lines : tuple of Line
        Lines of the total. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of Group
        Equipment, stages, supplies of a year, and the rest. [-]
    """
    by_stage: dict[str, list[Line]] = {}
    for line in lines:
        by_stage.setdefault(line.keys["stage"], []).append(line)
    rest = by_stage.pop("", [])
    groups = [Group(stage_name(s, words), tuple(found)) for s, found in by_stage.items()]
    equipment = tuple(line for line in rest if line.keys["kind"] == EQUIPMENT)
    goods = tuple(line for line in rest if line.keys["item"] in GOODS)
    others = tuple(line for line in rest if line not in (*equipment, *goods))
    heading = "freight_group" if groups or goods or equipment else "items_group"
    first = [Group(words("equipment_group"), equipment)] if equipment else []
    parts = (("goods_group", goods), (heading, others))
    rest_of = (Group(words(heading), found) for heading, found in parts if found)
    return (*first, *groups, *rest_of)


def _item(study: Study, row: Mapping[str, Value], words: Words, pallets: float | None) -> str:
    planned = is_planned(study)
    named = _named(row, planned=planned)
    item = item_name(study, words, named) or str(row["item"]).replace("_", " ")
    which = words(text(study.value(f"{named.removesuffix(MEDIUM)}.medium")), "media")
    item = f"{item} ({which})" if which and named.endswith(MEDIUM) else item
    quantity, unit = row["quantity"], text(row["unit"])
    housings = study.number("cartridge.number")
    if row["item"] == CARTRIDGES and housings:
        return words("about_in_use", "packages", item=item, count=words.count(housings))
    if not isinstance(quantity, float) or unit not in {"L", "kg"}:
        return item  # the hours of a fixed price are the supplier's own
    size = size_of(study, text(row["item"])) or text(row["size"])
    nominal = _nominal(study, _filled(study, row), quantity)
    quantity, unit = in_its_unit(text(row["item"]), nominal, unit, size)
    shown = words.measure(quantity, unit)
    if pallets is not None and row["amount"] is not None:
        count = words.counted(pallets, PALLET)
        return words("about_pallets", "packages", item=item, quantity=shown, pallets=count)
    form = "about_delivered" if kind_of(study, named) else "about"
    said = words(form, "packages", item=item, quantity=shown)
    filled = text(row["item"]).endswith(MEDIUM)
    return said + (
        _vessels(study, text(row["stage"]), words, several=not planned) if filled else ""
    )


def _named(row: Mapping[str, Value], *, planned: bool) -> str:
    """Return the name of an item: nothing is emptied before the first filling."""
    return LABOUR_FIRST if planned and row["item"] == LABOUR else str(row["item"])


def _filled(study: Study, row: Mapping[str, Value]) -> Mapping[str, Value]:
    """Return the row of the new medium for that of the old one, of which there is as much."""
    table = study.series[OFFER]
    rows = (dict(zip(table.columns, each, strict=True)) for each in table.rows)
    item = f"{row['stage']}{MEDIUM}"
    medium = (each for each in rows if row["item"] == DISPOSAL and each["item"] == item)
    return next(medium, row)


def _nominal(study: Study, row: Mapping[str, Value], quantity: float) -> float:
    """Return what the packages of a medium hold where that is nominally what is needed."""
    size, count = study.number(f"costs.package_{row['item']}"), row["packages"]
    if not size or not isinstance(count, float) or not text(row["item"]).endswith(MEDIUM):
        return quantity
    return size * count if quantity < size * count <= NOMINAL * quantity else quantity


def _vessels(study: Study, stage: str, words: Words, *, several: bool) -> str:
    """Return for how many vessels of which size a medium is; nothing where that is not known.

    ``several`` leaves out a single one, as in a plant that stands.
    """
    number, serving, wide, high = (
        study.number(f"{stage}.{name}")
        for name in ("vessels", "vessels_in_service", "vessel_diameter_m", "vessel_height_m")
    )
    number = number or serving
    if not number or not wide or (several and number < 2.0):
        return ""
    counted = words.counted(number, VESSEL)
    if study.figures[f"{stage}.vessel_diameter_m"].origin == "assumed":
        return words("for_vessels_open", "packages", vessels=counted)
    inches = [us_customary(each, "m")[0] for each in (wide, high) if each]
    if all(abs(each - round(each)) < NEAR_INCH for each in inches):
        size = f"{' x '.join(words.number(round(each), 0) for each in inches)} {words('inch')}"
    else:
        size = words.measure(wide, "m")
    return words("for_vessels", "packages", vessels=counted, size=size)
