"""The visits of the coming year on a quote: who does what, what is brought, what comes next."""

import datetime
from collections.abc import Collection, Container, Iterable, Mapping

from pretreat.core.basis import Value
from pretreat.core.dates import after_months
from pretreat.core.results import Study
from pretreat.report.hand.quote_deliveries import pallets_of, parts_of
from pretreat.report.hand.quote_sentences import (
    DISSOLVED,
    MEDIUM,
    OFFER,
    TOP_UP,
    VISITS,
    by_customer,
    in_its_unit,
    is_planned,
    item_name,
    size_of,
    sold_items,
    stage_name,
    text,
    unit_of_line,
    visit_dates,
)
from pretreat.report.hand.quote_words import Words

GOODS, FIRST = "quote.visit_goods", "goods_first"
CHEMICALS = frozenset({"chlorine", "acid", "bisulfite", "alkali", "inhibitor"})
CAUSTICS = frozenset({"acid", "alkali", "chlorine", "bisulfite"})  # by their safety data sheets
OWN_CHEMICALS = "chemicals_own"
REFILLED = (
    CHEMICALS | {"salt", "permanganate", "cartridges"} | {f"{stage}{TOP_UP}" for stage in DISSOLVED}
)
HARDNESS = "water.hardness_mg_l_caco3"  # no figure where no water is known
TOP_UP_DAYS, DAYS_OF_YEAR = "top_up_d", "machine.days_per_year"
CARTRIDGE_LIFE, EVEN = "media_life.cartridge_years_likely", 0.5
PERMANGANATE, FEEDER_DAYS = "permanganate", 30.0  # a feeder is looked after each month, no source
YEAR_DAYS = 365.0
HEAVY, MANY = CHEMICALS | {"salt"}, 4.0  # packages that a small user stores, no source
BY_AGE = "carbon"  # replaced by its age, whatever the water is (common practice, no source)
VISIT, MONTHS_OF_YEAR = "visit", 12.0


def visits(study: Study, words: Words, day: datetime.date) -> tuple[str, ...]:
    """Return the visits of the coming year, what is done and brought, and the next replacement."""
    dates = visit_dates(study, day)
    rows = []
    planned = is_planned(study)
    if dates:
        brought = {*pallets_of(study), *parts_of(study)}
        staff = _of_staff(study, len(dates))
        tasks = text(study.series[VISITS].rows[0][3]).split()
        rows.append(_when(dates, words, counted=planned))
        fed = CHEMICALS & {*staff}  # to fill up chemicals is one task, and of one of both
        ours = [task for task in tasks if task not in staff and not (fed and task in CHEMICALS)]
        rows.append(words("visit_each", tasks=_tasks_named(ours, words, by_customer(study))))
        if staff:
            rows.append(words("visit_between", tasks=_tasks_named(_by_trained(staff), words)))
        if visits_offered(study) != "no":
            rows[-1] = f"{rows[-1]} {words('visit_without')}"
        counts, sold = _packages_sold(study), sold_items(study)
        taken = tuple(
            _taken(study, {**row, "packages": counts.get(str(row["item"]), row["packages"])}, words)
            for row in _goods(study)
            if row["item"] in sold and row["item"] not in brought
        )
        if taken:
            come = [item for item in sold if item not in brought]
            rows.append(_supplies(study, words, taken, _comes(study, len(dates), come)))
    topped = tuple(_topped_up(study, words))
    if topped:
        rows.append(words("topped_up", media="; ".join(topped)))
    rows += _replaced(study, words, day)
    if dates:
        note = words("visits_agreed" if planned else "visits_note")
        rows.append(f"{note} {words(_price_of_a_visit(study))}")
    return tuple(rows)


def _when(dates: tuple[datetime.date, ...], words: Words, *, counted: bool) -> str:
    """Return in which months the visits are, or how many where the months do not tell them."""
    months = tuple(dict.fromkeys(words.month(one) for one in dates))
    if counted or len(months) < len(dates):
        return words("visit_count", count=words.count(float(len(dates))))
    if len(months) == MONTHS_OF_YEAR:
        return words("visit_monthly", first=months[0], last=months[-1])
    return words("visit_dates", dates=words.listed(months))


def _comes(study: Study, number: int, items: Collection[str]) -> tuple[str, ...]:
    """Return how the supplies that visits bring come: at once for one visit, or one package."""
    sold = _packages_sold(study)
    counts = {
        item: sold.get(item, 0.0)
        for item in (str(row["item"]) for row in _goods(study))
        if item in items
    }
    if all(count <= 1.0 for count in counts.values()):
        return ("goods_one" if len(counts) == 1 else "goods_at_once",)
    if number > 1:
        single = any(count <= 1.0 for count in counts.values())
        return (FIRST, *(("goods_single",) * single))
    stored = (count for item, count in counts.items() if item in HEAVY)
    return ("goods_in_parts" if max(stored, default=0.0) > MANY else "goods_at_once",)


def _supplies(study: Study, words: Words, taken: tuple[str, ...], comes: tuple[str, ...]) -> str:
    """Return what a year uses up, when it comes, and whether it has to be ordered."""
    table, items = study.series[OFFER], {row["item"] for row in _goods(study)}
    pairs = zip(table.column("item"), table.column("optional"), strict=True)
    wanted = any(item in items and optional == "yes" for item, optional in pairs)
    said = words(
        "visit_goods",
        wanted=words("goods_ordered") if wanted else "",
        goods=", ".join(taken),
        first=" ".join(words(one) for one in comes),
    )
    sure = FIRST not in comes or visits_offered(study) == "no"
    return said if sure else f"{said} {words('goods_without_visits')}"


def _topped_up(study: Study, words: Words) -> list[str]:
    """Return how often a medium that dissolves is topped up, and with how much in a year."""
    found = []
    items = (*map(str, study.series[OFFER].column("item")), *by_customer(study))
    stages = dict.fromkeys(item.removesuffix(TOP_UP).removesuffix(MEDIUM) for item in items)
    for stage in (stage for stage in stages if stage in DISSOLVED):
        days = study.number(f"{stage}.{TOP_UP_DAYS}")
        amount = study.number(f"consumables.{stage}_medium_per_year")
        if days is None:
            if study.value("study.kind") == "rate" and not study.number(HARDNESS):
                found.append(words("next_top_up_open", medium=words(f"{stage}_medium", "items")))
            continue
        size = size_of(study, f"{stage}{TOP_UP}") or size_of(study, f"{stage}{MEDIUM}")
        shown = words.measure(*in_its_unit(f"{stage}{TOP_UP}", amount or 0.0, "L", size))
        year = "" if amount is None else words("next_top_up_year", amount=shown)
        medium = words(f"{stage}_medium", "items")
        said = words("next_top_up", medium=medium, days=words.number(days, 0), year=year)
        sold = f"{stage}{TOP_UP}" in sold_items(study)
        found.append(said if sold else f"{said} ({words('next_not_included')})")
    return found


def _goods(study: Study) -> tuple[dict[str, Value], ...]:
    """Return what a year uses up, each with what lasts until the next visit."""
    table = study.series.get(GOODS)
    if table is None:
        return ()
    return tuple(dict(zip(table.columns, row, strict=True)) for row in table.rows)


def _of_staff(study: Study, number: int) -> tuple[str, ...]:
    """Return what does not last from one visit to the next, so that the customer's staff do it."""
    brought = pallets_of(study)
    rows = [row for row in _goods(study) if row["item"] in REFILLED]
    return tuple(
        str(row["item"]) for row in rows if row["item"] in brought or _lasts_not(study, row, number)
    )


def staff_alone(study: Study, words: Words) -> tuple[str, ...]:
    """Return what the customer's staff fill up and change where no visit is planned.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        One sentence; nothing where visits are planned. [-]
    """
    if VISITS in study.series:
        return ()
    table, brought = study.series.get(OFFER), pallets_of(study)
    offered = () if table is None else table.column("item")
    items = dict.fromkeys((*map(str, offered), *by_customer(study)))
    refilled = [one for one in items if one in REFILLED and one not in brought]
    tasks = _tasks_named(_by_trained(refilled), words)
    return (words("staff_alone", tasks=tasks),) if tasks else ()


def provided_named(study: Study, words: Words) -> tuple[str, ...]:
    """Return the supplies that the customer provides, with how much of each a year takes.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        Such as "Regeneration salt, 1,660 kg". [-]
    """
    table = study.series.get("quote.provided")
    said: dict[str, None] = {}
    for item, quantity, kind, size in () if table is None else table.rows:
        name = item_name(study, words, str(item))
        amount, unit = in_its_unit(str(item), float(quantity or 0.0), str(kind), text(size))
        measured = unit in {"L", "kg"}
        shown = words.measure(amount, unit) if measured else words.counted(amount, unit)
        said[words("about", "packages", item=name, quantity=shown)] = None
    return tuple(said)


def _by_trained(tasks: Iterable[str]) -> list[str]:
    """Return the tasks of the customer's staff; what burns the skin is for those trained."""
    return [OWN_CHEMICALS if task in CAUSTICS else task for task in tasks]


def _tasks_named(tasks: Iterable[str], words: Words, provided: Container[str] = ()) -> str:
    """Return tasks in words, each once; what is filled up of chemicals is one task."""
    names: dict[str, bool] = {}
    for task in tasks:
        names.setdefault("chemicals" if task in CHEMICALS else task, task in provided)
    if OWN_CHEMICALS in names:
        names.pop("chemicals", None)
    named = ((words(f"task_{name}"), theirs) for name, theirs in names.items())
    return ", ".join(words("task_on_site", task=n) if theirs else n for n, theirs in named if n)


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
    stage = str(row["item"]).removesuffix(TOP_UP)
    often, days = (study.number(key) for key in (f"{stage}.{TOP_UP_DAYS}", DAYS_OF_YEAR))
    if often is not None and days is not None:
        return often * (number + EVEN) < days
    kept = study.number(f"{row['item']}.kept_days")  # of what is fed as a solution
    kept = FEEDER_DAYS if kept is None and row["item"] == PERMANGANATE else kept
    if kept is not None and kept * (number + EVEN) < YEAR_DAYS:
        return True
    return isinstance(row["packages"], float) and row["packages"] > 1.0


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


def _taken(study: Study, row: Mapping[str, Value], words: Words) -> str:
    item = item_name(study, words, str(row["item"]))
    count = row["packages"]
    shown = words.count(count) if isinstance(count, float) else ""
    if row["package"] == "piece":
        return f"{item}: {shown}"
    return f"{item}: {shown} {unit_of_line({**row, 'kind': 'packages'}, words, study)}"


def _replaced(study: Study, words: Words, day: datetime.date) -> list[str]:
    """Return when the media are replaced again, and of which nobody can tell."""
    media, left = _next(study, words, day), _open(study)
    names = (words(f"{stage}_medium", "items") or stage_name(stage, words) for stage in left)
    form = "next_planned" if is_planned(study) else "next_media"
    said = [words(form, media="; ".join(media))] if media else []
    return [*said, words("next_open", media="; ".join(names))] if left else said


def _open(study: Study) -> tuple[str, ...]:
    """Return the media whose life nobody can tell: the water decides, and it is not known."""
    if study.number(HARDNESS) is not None:
        return ()
    stages = (i.removesuffix(MEDIUM) for i in sold_items(study) if i.endswith(MEDIUM))
    usual = (stage for stage in stages if f"quote.{stage}_years_low" in study.figures)
    return tuple(stage for stage in usual if stage != BY_AGE)


def _next(study: Study, words: Words, day: datetime.date) -> list[str]:
    """Return when each medium that is offered is expected to be replaced again."""
    found = []
    filled = (item.removesuffix(MEDIUM) for item in sold_items(study) if item.endswith(MEDIUM))
    left = {*_open(study), *DISSOLVED}
    for stage in (stage for stage in filled if stage not in left):
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
    return found
