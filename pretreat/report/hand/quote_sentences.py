"""Sentences of the quote: what it rests on, what the water allows, the visits, what comes next."""

import datetime
import re
from collections.abc import Mapping

from pretreat.core.basis import Value
from pretreat.core.dates import after_months, visit_date
from pretreat.core.results import Study
from pretreat.report.hand.quote_words import ENGLISH, Words
from pretreat.report.text.us_words import package_in_us_words
from pretreat.stages import ORDER

OFFER, VISITS, GOODS = "quote.offer", "quote.visits", "quote.visit_goods"
OVER_LIMITS, DELIVERIES = "quote.over_limits", "quote.deliveries"
LABELS = {stage.key: stage.label for stage in ORDER}
KITS = (None, "test kit")  # sources of a water that no laboratory analysed
CHEMICALS = frozenset({"chlorine", "acid", "inhibitor"})
MONTHS_OF_YEAR, PERCENT = 12.0, 100.0
VISIT, BY_TIMER = "visit", "the timer"
CARTRIDGE_LIFE, EVEN = "media_life.cartridge_years_likely", 0.5
REFILLED = CHEMICALS | {"salt", "permanganate", "cartridges"}
WITHIN = "lies within it"
OPEN = frozenset({"depends", "does_not_fit"})
_MOST = re.compile(r"maximum recovery is ([\d.]+) %")


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
        water=words("basis_kit" if study.value("water.source") in KITS else "basis_analysis"),
        date=words("basis_of", date=_date_shown(words, written)) if written else "",
        hardness=words.measure(hardness, "mg/L as CaCO3"),
        **metals,
        product=words.measure(product, "m3/d"),
        hours=words.plain(study.number("machine.hours_per_day") or 0.0),
        days=words.plain(study.number("machine.days_per_year") or 0.0),
    )


def verdict(study: Study, words: Words) -> str:
    """Return what the water allows: the sentence of the study, in the language of the customer."""
    sentence = text(study.value("verdict.quote_sentence"))
    written = text(study.value("water.date"))
    most = _MOST.search(sentence)
    if most is not None and study.value("offer.accept_verdict") is not None:
        date = words("basis_of", date=_date_shown(words, written)) if written else ""
        return words("verdict_most", date=date, most=_most(most, words), end=_end(study, words))
    if sentence and written and words.language == ENGLISH:
        return sentence.replace(written, _date_shown(words, written))
    if not sentence or words.language == ENGLISH:
        return sentence
    if sentence.startswith("No "):
        return words("verdict_none")
    date = words("basis_of", date=_date_shown(words, written)) if written else ""
    if most is None:
        return words("verdict_unknown", date=date)
    end = _end(study, words, within=WITHIN in sentence)
    return words("verdict_most", date=date, most=_most(most, words), end=end) if end else sentence


def _most(found: re.Match[str], words: Words) -> str:
    """Return the maximum recovery with the decimal mark of the language."""
    return found[1].replace(".", words("decimal"))


def _end(study: Study, words: Words, *, within: bool = False) -> str:
    """Return what is said of the recovery asked for, beside the largest one."""
    answer = text(study.value("verdict.answer")).replace(" ", "_")
    if study.value("offer.accept_verdict") is not None and answer in OPEN:
        answer = "accepted"
    elif within:
        answer = "within"
    wanted = words.plain(PERCENT * (study.number("machine.recovery") or 0.0))
    return words(f"verdict_{answer}", wanted=wanted)


def _date_shown(words: Words, written: str) -> str:
    try:
        return words.date(datetime.date.fromisoformat(written))
    except ValueError:
        return written


def unit_of_line(row: Mapping[str, Value], words: Words) -> str:
    """Return what one of a line is: a package with its size, or the whole at a fixed price.

    Parameters
    ----------
    row : mapping
        Kind, package and size of the line. [-]
    words : Words
        The language. [-]

    Returns
    -------
    str
        Such as "bag of 25 kg". [-]
    """
    if row["kind"] == "lump":
        return words("lump")
    package = text(row["package"])
    package = words(package, "packages") or package
    if not row["size"]:
        return package
    size = text(row["size"])
    size = package_in_us_words(size).replace("ft3", "ft³") if words.us else size
    size = size.replace(".", words("decimal"))
    return words("of", "packages", package=package, size=size)


def stage_name(stage: str, words: Words) -> str:
    """Return the name of a unit process, in English where the language has none."""
    return words(stage, "stages") or LABELS.get(stage, stage)


def visits(study: Study, words: Words, day: datetime.date) -> tuple[str, ...]:
    """Return the visits of the coming year, what is done and brought, and the next replacement."""
    dates = visit_dates(study, day)
    rows = []
    planned = is_planned(study)
    if dates:
        brought = pallets_of(study)
        tasks = text(study.series[VISITS].rows[0][3]).split()
        tasks = [task for task in tasks if task not in brought]
        names = dict.fromkeys("chemicals" if task in CHEMICALS else task for task in tasks)
        named = tuple(words(f"task_{name}") for name in names)
        months = tuple(dict.fromkeys(words.month(one) for one in dates))
        count = words.count(float(len(dates)))
        by_count = planned or len(months) < len(dates)
        rows.append(
            words("visit_count", count=count)
            if by_count
            else words("visit_dates", dates=words.listed(months))
        )
        rows.append(words("visit_each", tasks=", ".join(name for name in named if name)))
        goods = study.series.get(GOODS)
        if goods is not None:
            found = (dict(zip(goods.columns, row, strict=True)) for row in goods.rows)
            sold = _sold(study)
            left = (row for row in found if row["item"] in sold and row["item"] not in brought)
            kept = list(left)
            counts = _packages_sold(study)
            taken = tuple(
                _taken({**row, "packages": counts.get(str(row["item"]), row["packages"])}, words)
                for row in kept
            )
            if taken:
                rows.append(words("visit_goods", goods=", ".join(taken)))
            between = dict.fromkeys(
                "chemicals" if name in CHEMICALS else name
                for row in kept
                if (name := str(row["item"])) in REFILLED and _lasts_not(study, row, len(dates))
            )
            if between:
                tasks_between = ", ".join(words(f"task_{name}") for name in between)
                rows.append(words("visit_between", tasks=tasks_between))
    media = tuple(_next(study, words, day))
    if media:
        rows.append(words("next_planned" if planned else "next_media", media="; ".join(media)))
    if dates:
        note = words("visits_agreed" if planned else "visits_note")
        rows.append(f"{note} {words(_price_of_a_visit(study))}")
    return tuple(rows)


def _packages_sold(study: Study) -> dict[str, float]:
    """Return the packages of the lines, so that the visit plan and the lines agree."""
    table = study.series[OFFER]
    pairs = zip(table.column("item"), table.column("packages"), strict=True)
    return {str(item): count for item, count in pairs if isinstance(count, float)}


def _lasts_not(study: Study, row: Mapping[str, Value], number: int) -> bool:
    """Tell whether something is used up before the next visit: cartridges worn, tanks run empty."""
    if row["item"] == "cartridges":
        life = study.number(CARTRIDGE_LIFE)
        return life is not None and life * (number + EVEN) < 1.0
    return isinstance(row["packages"], float) and row["packages"] > 1.0


def _sold(study: Study) -> frozenset[str]:
    """Return what has an amount; all where nothing has one, as before prices are typed in."""
    table = study.series[OFFER]
    pairs = [*zip(table.column("item"), table.column("amount"), strict=True)]
    priced = frozenset(str(item) for item, amount in pairs if amount is not None)
    return priced or frozenset(str(item) for item, _ in pairs)


def pallets_of(study: Study) -> dict[str, float]:
    """Return what comes on pallets, too much for a visit to bring, and how many in a year.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    dict of float
        Pallets of a year, by item. [-]
    """
    table = study.series.get(DELIVERIES)
    if table is None:
        return {}
    pairs = zip(table.column("item"), table.column("pallets"), strict=True)
    return {str(item): float(count or 0.0) for item, count in pairs}


def deliveries(study: Study, words: Words) -> tuple[str, ...]:
    """Return how much comes on pallets and how often, and what that is counted with.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        One text; nothing where a visit brings all that is offered. [-]
    """
    table = study.series.get(DELIVERIES)
    if table is None:
        return ()
    offered = {
        str(row[0]): dict(zip(study.series[OFFER].columns, row, strict=True))
        for row in study.series[OFFER].rows
    }
    rows = [dict(zip(table.columns, row, strict=True)) for row in table.rows]
    said = []
    for row in rows:
        line = offered.get(str(row["item"]))
        if line is None or line["amount"] is None:
            continue
        numbers = {
            name: words.count(float(row[name] or 0.0)) for name in ("pallets", "times", "each")
        }
        item, count = words(str(row["item"]), "items"), words.count(float(line["packages"] or 0.0))
        package = unit_of_line(line, words)
        form = "deliveries_once" if row["times"] == 1.0 else "deliveries_pallets"
        one = words(form, item=item, count=count, package=package, **numbers)
        said.append(one)
        if row["bulk"] == "yes":
            said.append(words("deliveries_bulk", item=item))
    if not said:
        return ()
    return (" ".join((*said, words("deliveries_basis"))),)


def visits_offered(study: Study) -> str:
    """Return whether the visits are offered: "yes" as an option, "no" in the total, "" not at all.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]

    Returns
    -------
    str
        As the column "optional" has it. [-]
    """
    table = study.series[OFFER]
    pairs = zip(table.column("item"), table.column("optional"), strict=True)
    return next((str(optional) for item, optional in pairs if item == VISIT), "")


def _price_of_a_visit(study: Study) -> str:
    found = visits_offered(study)
    return {"yes": "visits_priced", "no": "visits_in_total"}.get(found, "visits_unpriced")


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
    if times is None or each is None or "salt" not in study.series[OFFER].column("item"):
        return ()
    shown = words("note_salt", times=words.number(times, 0), salt=words.measure(each, "kg"))
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


def _over(row: Mapping[str, Value], words: Words) -> str:
    name = words(text(row["key"]), "health") or text(row["name"])
    unit = text(row["unit"]).removeprefix("-")
    amount, limit = (
        f"{words.plain(float(row[column] or 0.0))} {unit}".rstrip()
        for column in ("amount", "limit")
    )
    if not row["limit"]:
        return words("found_none", what=name, amount=amount)
    return words("found_limit", what=name, amount=amount, limit=limit, law=text(row["law"]))


def _taken(row: Mapping[str, Value], words: Words) -> str:
    item = words(str(row["item"]), "items")
    count = row["packages"]
    shown = words.count(count) if isinstance(count, float) else ""
    if row["package"] == "piece":
        return f"{item}: {shown}"
    return f"{item}: {shown} x {unit_of_line({**row, 'kind': 'packages'}, words)}"


def _next(study: Study, words: Words, day: datetime.date) -> list[str]:
    """Return when each medium that is offered is expected to be replaced again."""
    found = []
    stages = dict.fromkeys(str(stage) for stage in study.series[OFFER].column("stage") if stage)
    for stage in stages:
        ends = [
            study.number(f"{prefix}.{stage}_years_{end}")
            for prefix in ("media_life", "quote")
            for end in ("low", "high")
        ]
        years = [end for end in ends if end is not None][:2]
        if len(years) < 2:
            continue
        medium = words(f"{stage}_medium", "items") or stage_name(stage, words)
        if is_planned(study):
            first, last = (words.plain(round(end, 1)) for end in years)
            found.append(words("next_years", medium=medium, first=first, last=last))
            continue
        first, last = (words.month(after_months(day, round(end * MONTHS_OF_YEAR))) for end in years)
        one = first == last
        form, likely = "next_one" if one else "next_range", ""
        middle = study.number(f"media_life.{stage}_years_likely")
        if middle is not None and not one:
            form = "next_likely"
            likely = words.month(after_months(day, round(middle * MONTHS_OF_YEAR)))
        found.append(words(form, medium=medium, first=first, last=last, likely=likely))
        if years[0] < 1.0:
            found[-1] += f" ({words('next_not_included')})"
    return found
