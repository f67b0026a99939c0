"""Sentences of the quote: what it rests on, what the water allows, what is to be noted."""

import datetime
import re
from collections.abc import Mapping

from pretreat.core.basis import Value
from pretreat.core.dates import visit_date
from pretreat.core.results import Study
from pretreat.core.text import lazy
from pretreat.core.water import TEST_KIT
from pretreat.report.hand.quote_words import ENGLISH, Words, words_of
from pretreat.report.text.us_words import package_as_priced, package_in_both
from pretreat.site.quote_keys import sold
from pretreat.stages import ORDER

OFFER, VISITS, OVER_LIMITS = "quote.offer", "quote.visits", "quote.over_limits"
DISSOLVED = frozenset(s.key for s in ORDER if s.medium is not None and s.medium.dissolves)
TOP_UP = "_top_up"  # end of the name of the item that a medium is topped up with
LABELS = {stage.key: stage.label for stage in ORDER}
PROVIDED = "offer.supplied_by_customer"
PERCENT = 100.0
MEDIUM = "_medium"  # end of the name of an item that a filter is filled with
AS = " as "  # between a unit and what it is counted as
BY_TIMER = "the timer"
WITHIN = "lies within it"
UNJUDGED = "chemistry_absent"  # flag of a water that no laboratory analysed
GUIDELINE = "WHO guideline"
DEPENDS, CONDITIONS = "depends", "quote.conditions"
OPEN = frozenset({DEPENDS, "does_not_fit"})
_MOST = lazy(r"maximum recovery is ([\d.]+) %")


def text(value: Value) -> str:
    """Return a text, empty where there is none.

    Parameters
    ----------
    value : float, str or None
        Value of a figure or a cell. [any]

    Returns
    -------
    str
        The text. [-]
    """
    return value if isinstance(value, str) else ""


def is_planned(study: Study) -> bool:
    """Tell whether the vessels are those of a design, and not of a plant that stands there.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    bool
        True for a design. [-]
    """
    return study.value("study.kind") == "size"


def visit_dates(study: Study, day: datetime.date) -> tuple[datetime.date, ...]:
    """Return the dates of the visits of the coming year.

    Parameters
    ----------
    study : Study
        The study. [-]
    day : date
        Date of the quote. [-]

    Returns
    -------
    tuple of date
        In order; empty where no visit is planned. [-]
    """
    table = study.series.get(VISITS)
    if table is None:
        return ()
    pairs = zip(table.column("months"), table.column("days"), strict=True)
    return tuple(visit_date(day, float(m or 0.0), float(d or 0.0)) for m, d in pairs)


def basis(study: Study, words: Words) -> str:
    """Return the water and the running time that the quantities rest on."""
    hardness = study.number("water.hardness_mg_l_caco3")
    product = study.number("machine.product_m3_d")
    if hardness is None or product is None:
        return words("basis_vessels")
    written = text(study.value("water.date"))
    metals = {}
    for name, key in (("iron", "water.fe_mg_l"), ("manganese", "water.mn_mg_l")):
        value = study.number(key)
        found = words(f"basis_{name}", value=words.measure(value, "mg/L")) if value else ""
        metals[name] = found
    return words(
        "basis",
        water=words("basis_kit" if by_test_kit(study) else "basis_analysis"),
        date=words("basis_of", date=_date_shown(words, written))
        if written
        else words("basis_undated"),
        hardness=words.hardness(hardness, text(study.value("offer.hardness_typed"))),
        **metals,
        product=words.measure(product, "m3/d"),
        hours=words.plain(study.number("machine.hours_per_day") or 0.0),
        days=words.plain(study.number("machine.days_per_year") or 0.0),
    )


def by_test_kit(study: Study) -> bool:
    """Tell whether the water was measured with a test kit, and no laboratory analysed it.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    bool
        True for a test kit. [-]
    """
    return study.value("water.source") is None or study.value("water.sample") == TEST_KIT


def unjudged(study: Study) -> bool:
    """Tell whether no laboratory analysed the water, so that no scale was judged.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    bool
        True for values of a test kit that tell too little. [-]
    """
    return any(flag.code == UNJUDGED for flag in study.flags)


def verdict(study: Study, words: Words, *, draft: bool = True) -> str:
    """Return what the water allows: the sentence of the study, in the language of the customer."""
    sentence = text(study.value("verdict.quote_sentence"))
    written = text(study.value("water.date"))
    if not sentence:
        return ""
    by_kit = by_test_kit(study)
    if words.language == ENGLISH and not by_kit and not _told_anew(study, draft=draft):
        return sentence.replace(written, _date_shown(words, written)) if written else sentence
    if unjudged(study):
        return words("verdict_none")
    date = words("basis_of", date=_date_shown(words, written)) if written else ""
    most = _MOST.search(sentence)
    by = words("by_kit" if by_kit else "by_analysis")
    largest = None if most is None else float(most[1])
    end = _end(study, words, within=WITHIN in sentence, largest=largest, draft=draft)
    if not end:
        return sentence
    if most is None:
        return words("verdict_unknown", by=by, date=date, end=end)
    return words("verdict_most", by=by, date=date, most=_most(most, words), end=end)


def _told_anew(study: Study, *, draft: bool) -> bool:
    """Tell whether a quote says more than the sentence of the study: it is open, or accepted."""
    accepted = study.value("offer.accept_verdict") is not None
    return accepted or (study.value("verdict.answer") == DEPENDS and not draft)


def start_of(study: Study) -> float | None:
    """Return the recovery that the machine starts at where it is not sure of the one asked for.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    float or None
        Below that of the design; None where none is known, or nothing is open. [-]
    """
    kept, wanted = study.number("verdict.card_recovery"), study.number("machine.recovery")
    if study.value("verdict.answer") != "depends" or not kept or not wanted or kept >= wanted:
        return None
    return kept


def _most(found: re.Match[str], words: Words) -> str:
    """Return the maximum recovery with the decimal mark of the language."""
    return found[1].replace(".", words("decimal"))


def _end(study: Study, words: Words, *, within: bool, largest: float | None, draft: bool) -> str:
    """Return what is said of the recovery asked for, beside the largest one, known or not."""
    answer, start = text(study.value("verdict.answer")).replace(" ", "_"), start_of(study)
    if study.value("offer.accept_verdict") is not None and answer in OPEN:
        answer = "accepted"
    elif within:
        answer = "within"
    elif largest is None and answer == "does_not_fit":
        answer = "unsuited"
    elif answer == DEPENDS and not draft:
        answer = "start" if start else "open" if CONDITIONS in study.series else "accepted"
    asked = PERCENT * (study.number("machine.recovery") or 0.0)
    if answer == "start" and largest is not None and largest < asked:
        # As it is printed before: the machine never goes above it.
        room = largest > float(words_of(ENGLISH).percent(start or 0.0))
        answer, asked = ("start", largest) if room else ("accepted", asked)
    wanted = words.plain(asked)
    return words(f"verdict_{answer}", wanted=wanted, recovery=words.percent(start or 0.0))


def _date_shown(words: Words, written: str) -> str:
    try:
        return words.date(datetime.date.fromisoformat(written))
    except ValueError:
        return written


def unit_of_line(row: Mapping[str, Value], words: Words, study: Study) -> str:
    """Return what one of a line is: a package with its size, or the whole at a fixed price.

    Parameters
    ----------
    row : mapping
        Kind, package and size of the line, and how many. [-]
    words : Words
        The language. [-]
    study : Study
        The study; a size of the supplier's own list is said as the list has it. [-]

    Returns
    -------
    str
        Such as "bags of 25 kg", on a page in US units "bag of 25 kg (55 lb)" or "bag of 50 lb",
        one where there is one of them. [-]
    """
    if row["kind"] == "lump":
        return words("lump")
    count = row.get("packages")
    package = words.package(text(row["package"]), count if isinstance(count, float) else None)
    if not row["size"]:
        return package
    size = text(row["size"])
    if words.us and "(" not in size:  # a solution by volume has its weight beside it
        known = study.figures.get(f"costs.package_{row['item']}")
        listed = known is not None and known.origin == "chosen"
        size = (package_in_both if listed else package_as_priced)(size).replace("ft3", "ft³")
    size = size.replace(".", words("decimal"))
    return words("of", "packages", package=package, size=size)


def kind_of(study: Study, item: str) -> str:
    """Return which chemical an item is that is bought as a solution; empty for the others.

    Parameters
    ----------
    study : Study
        The study. [-]
    item : str
        Key of what is sold. [-]

    Returns
    -------
    str
        Such as "sulfuric" of "acid"; empty too where its users take different ones. [-]
    """
    return text(study.value(f"costs.{item}_kind"))


def item_name(study: Study, words: Words, item: str) -> str:
    """Return the name that something is ordered by, a solution with its strength as delivered.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        The language. [-]
    item : str
        Key of what is sold. [-]

    Returns
    -------
    str
        Such as "Sulfuric acid 93 %". [-]
    """
    kind = kind_of(study, item)
    if not kind:
        return words(item, "items")
    percent = words.rate(study.number(f"costs.{item}_percent") or 0.0)
    return words(kind, "delivered", percent=percent) or words(kind, "items")


def stage_name(stage: str, words: Words) -> str:
    """Return the name of a unit process, in English where the language has none."""
    return words(stage, "stages") or LABELS.get(stage, stage)


def designed(study: Study, words: Words) -> str:
    """Return which stages a designed plant has, in the order of flow.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        The language. [-]

    Returns
    -------
    str
        One sentence; empty where nothing is decided. [-]
    """
    table = study.series.get("train.stages")
    if table is None:
        return ""
    pairs = zip(table.column("stage"), table.column("decision"), strict=True)
    chosen = {str(stage) for stage, decision in pairs if decision == "in"}
    names = [stage_name(s.key, words) for s in ORDER if {s.name, s.label.lower()} & chosen]
    listed = ", ".join(words.inside(name) for name in names)
    return words("plant_designed", stages=listed) if listed else ""


def salt(study: Study, words: Words) -> tuple[str, ...]:
    """Return what the salt offered rests on, and that less would do where the bed is large.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        One sentence or two as one text; nothing where no salt is offered. [-]
    """
    times = study.number("media_life.softener_cycles_per_year")
    each = study.number("softener.salt_kg_per_regeneration_of_all")
    used = (*study.series[OFFER].column("item"), *text(study.value(PROVIDED)).split())
    if times is None or each is None or "salt" not in used:
        return ()
    exact = words.keeps(each, "kg") and words.count(times) == words.number(times, 0)
    form = "note_salt" if exact else "note_salt_about"
    shown = words(form, times=words.number(times, 0), salt=words.measure(each, "kg"))
    if text(study.value("softener.limited_by")).startswith(BY_TIMER):
        shown = f"{shown} {words('note_salt_large')}"
    return (shown,)


def drinking(study: Study, words: Words) -> tuple[str, ...]:
    """Return what is above a limit for health in the raw water, where it may be drunk.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        One sentence, or nothing. [-]
    """
    table = study.series.get(OVER_LIMITS)
    if table is None:
        return ()
    rows = (dict(zip(table.columns, row, strict=True)) for row in table.rows)
    return (words("note_health", found=", ".join(_over(row, words) for row in rows)),)


def filled(study: Study, words: Words) -> tuple[str, ...]:
    """Return what follows the filling of a filter whose water is drunk.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        One text; nothing where no medium is offered, or nobody drinks the water. [-]
    """
    items = (str(item) for item in study.series[OFFER].column("item"))
    if study.value("offer.drinking") is None or not any(i.endswith(MEDIUM) for i in items):
        return ()
    return (words("note_filled"),)


def _over(row: Mapping[str, Value], words: Words) -> str:
    name = words(text(row["key"]), "health") or text(row["name"])
    unit = text(row["unit"]).removeprefix("-")
    measured, _, basis = unit.partition(AS)
    if basis:
        unit = words("as_basis", unit=measured, basis=basis)
    amount, limit = (
        f"{words.plain(float(row[column] or 0.0))} {unit}".rstrip()
        for column in ("amount", "limit")
    )
    if not row["limit"]:
        return words("found_none", what=name, amount=amount)
    law = text(row["law"]).replace(GUIDELINE, words("who_guideline"))
    return words("found_limit", what=name, amount=amount, limit=limit, law=law)


def by_customer(study: Study) -> tuple[str, ...]:
    """Return the supplies of a year that the customer provides.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    tuple of str
        Items; none where supplies are offered. [-]
    """
    return tuple(text(study.value(PROVIDED)).split())


def sold_items(study: Study) -> dict[str, None]:
    """Return what has an amount; all where nothing has one, as before prices are typed in.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]

    Returns
    -------
    dict of None
        Items, in the order of the lines. [-]
    """
    table = study.series[OFFER]
    pairs = [*zip(table.column("item"), table.column("amount"), strict=True)]
    priced = dict.fromkeys(str(item) for item, amount in pairs if amount is not None)
    return priced or dict.fromkeys(str(item) for item, _ in pairs)


def in_its_unit(item: str, quantity: float, unit: str, size: str) -> tuple[float, str]:
    """Return a quantity in the unit of its packages: by weight where these are called so.

    Parameters
    ----------
    item : str
        Key of data/packages.csv. [-]
    quantity : float
        What is needed. [unit]
    unit : str
        Its unit. [-]
    size : str
        What one package holds, in words. [-]

    Returns
    -------
    tuple of float and str
        Quantity and unit; 34 L of calcite in bags of 25 kg are 50 kg. [-]
    """
    row = sold().get(item)
    weighed = size.endswith(("kg", "lb")) and unit == "L"
    if row is None or not row.kg_per_l or not weighed:
        return quantity, unit
    return quantity * row.kg_per_l, "kg"


def size_of(study: Study, item: str) -> str:
    """Return what one package of an item holds, in words, sold or provided by the customer.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]
    item : str
        Key of data/packages.csv. [-]

    Returns
    -------
    str
        Empty where it is neither. [-]
    """
    tables = (study.series.get(OFFER), study.series.get("quote.provided"))
    for table in (one for one in tables if one is not None):
        for name, size in zip(table.column("item"), table.column("size"), strict=True):
            if name == item:
                return text(size)
    return ""
