"""Organics of a raw water above a limit for drinking water, and what of the train takes them."""

from collections.abc import Sequence

from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.organic_limits import OverLimit, over_limits
from pretreat.plant.health import BINDING, DRINKING
from pretreat.plant.verdict.case import Obstacle
from pretreat.site.design import ProductUse
from pretreat.stages import BY_KEY

# Figures of the stages that take organics: they are there where the stage stands in the train.
FIGURES = {
    "carbon": "carbon.media_volume_l",
    "degasser": "degasser.air_to_water",
    "product_degasser": "product_degasser.air_to_water",
}
HEALTH = "health"  # code of what nobody may drink before it is known
MEMORY = "limits from memory, to be verified in the text in force"
DEFER = "the health authority decides"


def over_in_water(water: WaterAnalysis, use: ProductUse) -> tuple[OverLimit, ...]:
    """Return the organics over a limit, where people drink the product.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    use : ProductUse
        What the product is for. [-]

    Returns
    -------
    tuple of OverLimit
        The farthest over first; none where nobody drinks it. [-]
    """
    if use.target != DRINKING:
        return ()
    return over_limits(water, BINDING.get(use.jurisdiction or ""))


def organic_health_obstacles(
    ledger: Ledger, water: WaterAnalysis, use: ProductUse
) -> list[Obstacle]:
    """Return what organics over a limit for drinking water put in the way.

    What membranes may let through above the limit, and no stage of the train takes, is a
    question: another treatment or source is the answer. What a stage takes, or membranes hold
    below the limit, is a condition.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]
    water : WaterAnalysis
        The analysis. [-]
    use : ProductUse
        What the product is for; only drinking asks for it. [-]

    Returns
    -------
    list of Obstacle
        Two at most. [-]
    """
    open_: list[OverLimit] = []
    taken: list[OverLimit] = []
    for one in over_in_water(water, use):
        held = one.amount * one.organic.passes <= one.limit.limit
        (taken if held or _takers(ledger, one) else open_).append(one)
    found = []
    if open_:
        ways: dict[str, list[str]] = {}
        for one in open_:
            ways.setdefault(one.organic.way, []).extend(one.names)
        alike = len(ways) == 1
        told = "; ".join(way if alike else f"{_list(names)}: {way}" for way, names in ways.items())
        text = (
            "over a limit for drinking water, more of it may pass the membranes than that and no "
            f"stage of this train takes it: {'; '.join(map(_told, open_))}. What would take it: "
            f"{told}; "
            f"nobody drinks the product before that is in and the product analysed ({MEMORY}); "
            f"{DEFER}"
        )
        measure = f"{open_[0].names[0]}, in the raw water again and in the product"
        found.append(Obstacle("question", text, anyway=True, measure=measure, code=HEALTH))
    if taken:
        each = "; ".join(f"{_told(one)}{_why(ledger, one)}" for one in taken)
        text = (
            f"over a limit for drinking water in the raw water: {each}; how much stays is not "
            f"calculated: have the product analysed before anyone drinks it ({MEMORY}); {DEFER}"
        )
        found.append(Obstacle("condition", text, anyway=True, code=HEALTH))
    return found


def _told(one: OverLimit) -> str:
    other = "" if one.binds else ", another body's limit, since the one that binds names none"
    return (
        f"{one.shown} is {_times(one.times)} the limit of {one.limit.printed} "
        f"({one.limit.law}{other})"
    )


def _times(times: float) -> str:
    return f"{times:.1f} times" if times < 10.0 else f"{times:,.0f} times"


def _why(ledger: Ledger, one: OverLimit) -> str:
    takers = _takers(ledger, one)
    if takers:
        return f"; {_list([BY_KEY[key].name for key in takers])} of the train takes it"
    return "; membranes hold most of it"


def _takers(ledger: Ledger, one: OverLimit) -> tuple[str, ...]:
    return tuple(key for key in one.organic.takers if FIGURES[key] in ledger)


def _list(names: Sequence[str]) -> str:
    return ", ".join(dict.fromkeys(names))
