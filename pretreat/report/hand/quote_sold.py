"""What a quote sells and what it lacks: its title, lines without a price, its own draft reasons."""

from pretreat.core.basis import Value
from pretreat.core.results import Study
from pretreat.report.hand.quote_sentences import (
    DISSOLVED,
    MEDIUM,
    OFFER,
    PROVIDED,
    TOP_UP,
    is_planned,
    item_name,
    kind_of,
    stage_name,
    text,
)
from pretreat.report.hand.quote_visits import CHEMICALS, PERMANGANATE
from pretreat.report.hand.quote_words import Words

# What a year uses up, apart from media, deliveries and visits.
GOODS = frozenset(
    {"salt", "permanganate", "chlorine", "acid", "bisulfite", "alkali", "inhibitor", "cartridges"}
    | {f"{stage}{TOP_UP}" for stage in DISSOLVED}
)
PER_YEAR = "offer.visits_per_year"
WASHED = ("softener", "iron_filter", "carbon", "multimedia", "neutralising_filter")
BRINED = ("softener",)
OWN, VISIT, FREIGHT = "own", "visit", "freight"
NET = "quote.net"
# Supplies that are told of what they never meet, as their safety data sheets do (from memory).
NOT_MIXED, CAUSTIC = ("acid", "chlorine", "permanganate", "bisulfite", "alkali"), "caustic"
LOWER_DOSE = "lower_salt_dose"  # flag of a softener whose bed does as well with less salt
OLD = "years old"  # in the condition of an analysis that is
MEDIA_LEFT = "offer.media_left"
SUPPLIES_OPEN = "offer.supplies_open"
SMALL_TANK_L = 10.0  # below it no tank is sized, so that no size is told (common practice)
NO_MAXIMUM = "no maximum recovery can be stated"  # in the sentence of the verdict

Row = dict[str, Value]


def offered(study: Study, *, optional: bool) -> tuple[Row, ...]:
    """Return the lines of the total, or those beside it.

    Parameters
    ----------
    study : Study
        The study. [-]
    optional : bool
        True for the options. [-]

    Returns
    -------
    tuple of dict
        Rows of what is offered. [-]
    """
    table = study.series.get(OFFER)
    found = () if table is None else table.rows
    lines = (dict(zip(table.columns, row, strict=True)) for row in found)  # type: ignore[union-attr]
    return tuple(line for line in lines if (line["optional"] == "yes") is optional)


def subject(study: Study, words: Words) -> str:
    """Return the title of what is sold.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]
    words : Words
        The language. [-]

    Returns
    -------
    str
        Own lines of a plant to be built are more than its first filling; no supplies are named
        where none are in the total. [-]
    """
    lines = offered(study, optional=False) or offered(study, optional=True)
    items = {text(line["item"]) for line in lines}
    own = OWN in items
    if any(text(line["stage"]) for line in lines):
        title = "subject_planned" if is_planned(study) else "subject"
        return words(f"{title}_more" if own else f"{title}_goods_too" if items & GOODS else title)
    if items & GOODS:
        goods = "subject_service" if VISIT in items else "subject_goods"
        return words("subject_goods_more" if own else goods)
    return words("subject_visits" if items == {VISIT} else "subject_items")


def titled(study: Study) -> tuple[Row, ...]:
    """Return the lines that the title names: the media, else the supplies of a year.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    tuple of dict
        Rows of what is offered, in the total. [-]
    """
    lines = offered(study, optional=False)
    media = tuple(line for line in lines if text(line["item"]).endswith(MEDIUM))
    return media or tuple(line for line in lines if line["item"] in GOODS)


def nothing_sold(study: Study) -> bool:
    """Tell whether no line stands in the total.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    bool
        False too where there is no table of what is offered. [-]
    """
    return OFFER in study.series and not offered(study, optional=False)


def own_reasons(study: Study, words: Words) -> tuple[str, ...]:
    """Return why a quote is no offer whatever the water is.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        Nothing is sold, or what the title names has no price while other lines have one, or the
        work on a medium has a price and the medium itself has none. [-]
    """
    if nothing_sold(study):
        return (words("nothing_sold", "reasons"),)
    lines, form = titled(study), "unpriced"
    if not lines or study.number(NET) is None:
        return ()
    if any(line["amount"] is not None for line in lines):
        worked = _worked_without_medium(study)
        lines = tuple(line for line in lines if line["stage"] in worked)
        form = "unpriced_medium"
    names = tuple(dict.fromkeys(item_name(study, words, text(line["item"])) for line in lines))
    return (words(form, "reasons", listed=words.listed(names)),) if names else ()


def unpriced(study: Study, words: Words) -> str:
    """Return which lines have no price, in the total and beside it.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        English, for whoever sends the quote. [-]

    Returns
    -------
    str
        Empty where none lacks a price. [-]
    """
    lines = (*offered(study, optional=False), *offered(study, optional=True))
    items = dict.fromkeys(text(line["item"]) for line in lines if line["amount"] is None)
    visits = study.figures.get(PER_YEAR)  # asked for, so that their price was forgotten
    asked = visits is not None and visits.origin == "chosen" and bool(visits.value)
    if asked and all(text(line["item"]) != VISIT for line in lines):
        items[VISIT] = None
    names = (item_name(study, words, item) or item for item in items)
    return f"without a price, so not in the total: {', '.join(names)}" if items else ""


def unneeded(study: Study, words: Words) -> str:
    """Return what the train feeds and needs none of on this water, so that none is sold.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        English, for whoever sends the quote. [-]

    Returns
    -------
    str
        Empty where all that is fed is needed. [-]
    """
    items = text(study.value("offer.none_needed")).split()
    names = ", ".join(item_name(study, words, item) or item for item in items)
    return f"fed by the train, but none is needed on this water, so not sold: {names}" * bool(items)


def no_maximum(study: Study) -> str:
    """Return that a quote states no maximum recovery, and why; empty where it states one.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    str
        In the engineer's words. [-]
    """
    sentence = text(study.value("verdict.quote_sentence"))
    if NO_MAXIMUM not in sentence.casefold():
        return ""
    return f"{NO_MAXIMUM}: {text(study.value('verdict.reasons'))}"


def old_analysis(study: Study) -> str:
    """Return that the analysis is old at the date of the quote; empty where it is not.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    str
        In the engineer's words. [-]
    """
    table = study.series.get("quote.conditions")
    found = (text(row[1]) for row in (() if table is None else table.rows))
    return next((one for one in found if OLD in one), "")


def lower_dose(study: Study) -> str:
    """Return which lower salt dose serves as well and what it saves; empty where none does.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    str
        In the engineer's words. [-]
    """
    return next((flag.text for flag in study.flags if flag.code == LOWER_DOSE), "")


def safety(study: Study, words: Words) -> str:
    """Return who works on it, what is never mixed, and where brine and wash water go.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]
    words : Words
        The language. [-]

    Returns
    -------
    str
        Of what there is on this site. [-]
    """
    stages = text(study.value("train.stages"))
    wastes = any(f"{stage}." in key for key in study.figures for stage in WASHED)
    brine = any(f"{one}." in key for key in study.figures for one in BRINED)
    drain = "note_drain" if brine or any(one in stages for one in BRINED) else "note_drain_wash"
    washed = wastes or any(one in stages for one in WASHED)
    provided = text(study.value(PROVIDED)).split()
    handled = {*study.series[OFFER].column("item"), *provided}
    if kind_of(study, "alkali") not in {"", CAUSTIC}:
        handled -= {"alkali"}  # a powder that is no lye
    cautions = (f"note_{item}" for item in NOT_MIXED if item in handled)
    said = ("note_safety", *cautions, drain if washed else "")
    return " ".join(words(name) for name in said if name)


def work_without_medium(study: Study, words: Words) -> tuple[str, ...]:
    """Return the work on a medium that is not sold, where the total holds it.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        Such as "Labour: emptying, filling, start-up (Softener)". [-]
    """
    left = _worked_without_medium(study)
    lines = offered(study, optional=False)
    found = (line for line in lines if line["amount"] is not None and line["stage"] in left)
    planned = is_planned(study)
    return tuple(
        words(
            "gap_of",
            item=words(
                "labour_first" if planned and line["item"] == "labour" else text(line["item"]),
                "items",
            ),
            stage=stage_name(text(line["stage"]), words),
        )
        for line in found
        if line["stage"]
    )


def _worked_without_medium(study: Study) -> frozenset[str]:
    """Return the stages with priced work in the total whose medium has no price."""
    lines = offered(study, optional=False)
    media = (line for line in lines if text(line["item"]).endswith(MEDIUM))
    left = {text(line["stage"]) for line in media if line["amount"] is None}
    worked = {text(line["stage"]) for line in lines if line["amount"] is not None}
    return frozenset(left & worked)


def way_out(study: Study) -> str:
    """Return how the media without a price are left out; empty where all or none have one.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    str
        For whoever sends the quote. [-]
    """
    if not _worked_without_medium(study):
        return ""
    media = [line for line in titled(study) if line["amount"] is not None]
    kept = dict.fromkeys(f'"{text(line["stage"])}"' for line in media)
    table = f"[{', '.join(kept)}]" if kept else '"none"'
    return f"give the price, or write [quote] media = {table} where they stay as they are"


def media_left(study: Study, words: Words) -> tuple[str, ...]:
    """Return the filters whose media are not sold now.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        Their names. [-]
    """
    return tuple(stage_name(stage, words) for stage in text(study.value(MEDIA_LEFT)).split())


def solutions(study: Study, words: Words) -> str:
    """Return what is fed from solution tanks, how often it is made up, and how large they are.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        The language. [-]

    Returns
    -------
    str
        Empty where nothing is fed; no size of a tank that is small anyhow. [-]
    """
    said = []
    for item in (*sorted(CHEMICALS), PERMANGANATE):
        days, volume = (study.number(f"{item}.{name}") for name in ("kept_days", "day_tank_l"))
        if days and volume:
            large = volume >= SMALL_TANK_L
            tank = words("solution_tank", volume=words.tank(volume)) if large else ""
            form = "solution" if study.value(f"costs.{item}_fed") is None else "solution_neat"
            name = words(kind_of(study, item) or item, "items")
            said.append(words(form, item=name, days=words.number(days, 0), tank=tank))
    return "; ".join(said)


def supplies_open(study: Study) -> str:
    """Return that supplies are asked for and cannot be counted; empty where they can be.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    str
        For whoever sends the quote. [-]
    """
    asked = text(study.value(SUPPLIES_OPEN))
    return (
        f'supplies of a year (consumables = "{asked}") are not included, as no water analysis is '
        "known"
    ) * bool(asked)
