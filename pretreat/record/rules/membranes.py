"""What flow, salt passage and pressure drops say together about the membranes."""

import math
from statistics import median

from msgspec.structs import replace

from pretreat.core.basis import cites
from pretreat.record.day import Day, Evidence
from pretreat.record.levels import Level
from pretreat.record.signs import Rule, moved

# RECORD_STATISTICS: chosen so that a sound year raises nothing; see the benchmark.
FLOW_DOWN = Rule(-0.06, 3.7)
FLOW_STRONG = Rule(-0.08, 5.0)  # so much needs no reading that confirms it
FLOW_HINT, TOGETHER = Rule(-0.04, 1.5), 5.7  # least of each, sum of errors
PASSAGE_UP = Rule(0.15, 4.0)
PRESSURE_DOWN = Rule(-0.08, 5.0)
WATER_UP, WATER_DOWN = Rule(0.18, 5.0), Rule(-0.18, 5.0)  # a fifth, as a logarithm
DROP_SHARE, DROP_ERRORS = 0.3, 5.0  # of the first drop; and errors
DROP_HINT = Rule(-0.02, 1.5)
DROP_LEAST_BAR = 0.3  # RECORD_STATISTICS: what two gauges may be off, or one that was replaced
WHOLE = 0.4  # RECORD_STATISTICS: share of the rise of a part that the whole drop shows
SCALE_RATIO = 0.14  # loss of flow over rise of salt passage: scaling above, damage below
MET_TOGETHER = 0.35  # share of the noise of salt passage that is that of the product flow
UNPLACED = {  # without a gauge between the stages
    "scaling": "Scaling of the membranes, where along them is not known",
    "fouling": "Fouling of the membranes, where along them is not known",
}
SHORT = -0.04  # RECORD_STATISTICS: product that a low feed pressure costs, as a logarithm
PER_DEGREE, LAST = 0.03, 3  # readings of product looked at
SHOWN_ERRORS = 2.0  # a change is told as evidence from here on


def percent(change: float) -> str:
    """Return a change given as a logarithm in words.

    Parameters
    ----------
    change : float
        Logarithm of new over old. [-]

    Returns
    -------
    str
        Such as "7 % down". [-]
    """
    return f"{abs(math.expm1(change)) * 100.0:.0f} % {'up' if change > 0 else 'down'}"


def _drop_rule(day: Day, base: float) -> Rule:
    """Return the rule of a drop: a small rise counts only where product was lost with it."""
    lost = moved(_flow_alone(day), DROP_HINT)
    return Rule(max(DROP_SHARE * base, 0.0 if lost else DROP_LEAST_BAR), DROP_ERRORS)


@cites("RECORD_STATISTICS", "a gauge between two drops that is off moves them against each other")
def _drop_up(day: Day, name: str) -> bool:
    """Tell whether a drop rose, and that along all membranes with it where it is known."""
    base = day.base(name)
    if not (base > 0.0 and moved(day.levels.get(name), _drop_rule(day, base))):
        return False
    return day.levels.get("drop") is None or day.change("drop") >= WHOLE * day.change(name)


def _drop_words(day: Day, name: str, words: str) -> tuple[str, ...]:
    base = day.base(name)
    if not base > 0.0 or day.signs(name) < SHOWN_ERRORS:
        return ()
    return (f"pressure drop {words} {100.0 * day.change(name) / base:.0f} % up, normalised",)


@cites("RECORD_STATISTICS", "scaling sits at the end and passes salt, fouling at the front")
def membranes(day: Day) -> Evidence | None:
    """Judge flow, passage and drops together: scaling, fouling or damage."""
    flow, passage = day.beyond("flow"), day.beyond("passage")
    flow_down = moved(_half_aged(_flow_alone(day)), FLOW_DOWN)
    passage_up = moved(day.levels.get("passage"), PASSAGE_UP)
    first, last = _drop_up(day, "drop_first"), _drop_up(day, "drop_last")
    placed = _placed(day)
    whole = not placed and _drop_up(day, "drop")
    if not (flow_down or passage_up or first or last or whole or _together(day)):
        return None
    told = _told(day)
    strong = moved(_half_aged(_flow_alone(day)), FLOW_STRONG)
    steep = day.steep("flow", "passage", "drop_first", "drop_last")
    seen = Evidence("", told, at_once=strong or steep)
    loses = -flow >= SCALE_RATIO * max(passage, 0.0)
    if passage_up and not loses and not (first or last or whole):
        return replace(seen, fault="membrane_damage")
    salty = day.signs("passage") >= 3.0 and passage > -1.0 * flow
    ahead = day.signs("drop_first") - day.signs("drop_last")
    if (salty and ahead < 3.0) or (ahead < -2.5 and passage > -0.3 * flow):
        return replace(seen, fault="scaling", name="" if placed else UNPLACED["scaling"])
    return replace(seen, fault="fouling", name="" if placed else UNPLACED["fouling"])


def _placed(day: Day) -> bool:
    """Tell whether a gauge between the stages shows where along the membranes it sits."""
    return day.levels.get("drop_first") is not None and day.levels.get("drop_last") is not None


def _half_aged(found: Level | None) -> Level | None:
    """Return a change of which only half of the usual age is taken off: it stands alone."""
    return None if found is None else replace(found, aged=found.aged / 2.0)


@cites("RECORD_STATISTICS", "a share of a passage that fell with the flow is taken off the loss")
def _flow_alone(day: Day) -> Level | None:
    """Return the change of flow without what the product meter or the thermometer explains.

    Either of them, read low, makes normalised flow and salt passage fall together; a membrane
    that loses flow keeps its salt passage or lets more pass.
    """
    flow = day.levels.get("flow")
    if flow is None:
        return None
    return replace(flow, change=flow.change - MET_TOGETHER * min(day.change("passage"), 0.0))


@cites("RECORD_STATISTICS", "two weak signs of one fault count as a strong one")
def _together(day: Day) -> bool:
    """Tell whether a smaller loss of flow goes with a drop or a salt passage that rose."""
    if not moved(_flow_alone(day), FLOW_HINT):
        return False
    names = ("drop_first", "drop_last", "passage", *(() if _placed(day) else ("drop",)))
    beside = max(day.signs(name) for name in names)
    return beside >= FLOW_HINT.errors and beside - day.signs("flow") >= TOGETHER


def _told(day: Day) -> tuple[str, ...]:
    told = [
        f"normalised {words} {percent(day.change(name))}"
        for name, words in (("flow", "product flow"), ("passage", "salt passage"))
        if abs(day.signs(name)) >= SHOWN_ERRORS
    ]
    told += _drop_words(day, "drop_first", "of the first stage")
    told += _drop_words(day, "drop_last", "of the last stage")
    if not _placed(day):
        told += _drop_words(day, "drop", "along the membranes")
    return tuple(told)


def water(day: Day) -> Evidence | None:
    """Judge whether the raw water changed."""
    told = [
        f"{words} {percent(day.change(name))}"
        for name, words in (("conductivity", "feed conductivity"), ("raw_hardness", "raw hardness"))
        if any(moved(day.levels.get(name), rule) for rule in (WATER_UP, WATER_DOWN))
    ]
    steep = day.steep("conductivity", "raw_hardness")
    return Evidence("changed_water", tuple(told), at_once=steep) if told else None


@cites("PRACTICE", "warmer water gives 3 % more product per degree at the same pressure")
def _short_of_design(day: Day) -> bool:
    """Tell whether product is short of the design and of what this temperature should give."""
    read, flow = day.track("product").read()[-LAST:], day.levels.get("flow")
    if not read or flow is None:
        return False
    short = median(read) - math.log(day.reference.product_m3_h)
    return short <= SHORT and day.change("product") - PER_DEGREE * flow.warmer_c <= 2.0 * SHORT


def pressure(day: Day) -> Evidence | None:
    """Judge whether the feed pressure fell and the product with it.

    A machine trimmed to its product runs at less pressure in warm water: that is no fault.
    """
    low = moved(day.levels.get("pressure"), PRESSURE_DOWN)
    if not low or not (day.change("product") <= SHORT or _short_of_design(day)):
        return None
    return Evidence(
        "low_pressure",
        (
            f"feed pressure {percent(day.change('pressure'))}",
            f"product flow {percent(day.change('product'))}",
            f"normalised product flow {percent(day.change('flow'))}",
        ),
        at_once=day.steep("pressure"),
    )
