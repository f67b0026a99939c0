"""Organic matter beside iron: colour or carbon that tells of iron which no oxidant frees."""

from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.plant.verdict.case import NO_TRAIN, Obstacle
from pretreat.stages.limits import train_limits

COLOUR, CARBON = "color_pt_co", "toc_mg_l"
MUCH_TIMES = 2.5  # PRACTICE: times the limit of colour, from where on a jar test comes first
ASK = "total organic carbon, and the colour of a filtered sample"
PILOT_TIMES = 3.0  # PRACTICE: times what is much, from where on a pilot comes first


def organic_obstacles(ledger: Ledger, water: WaterAnalysis) -> list[Obstacle]:
    """Return what colour and organic carbon put in the way of iron, and of the membranes.

    Parameters
    ----------
    ledger : Ledger
        The study. [-]
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    list of Obstacle
        One at most. [-]
    """
    limits = train_limits()
    least, much = limits["organics_colour"], limits["organics_flag"].value
    colour, carbon = water.properties.get(COLOUR, 0.0), water.properties.get(CARBON)
    coloured = colour > least.value
    measured = carbon is not None or CARBON in water.below_properties
    iron = max(water.mg_l.get("fe", 0.0), water.total_mg_l.get("fe", 0.0))
    signs = [f"colour is {colour:.3g} mg/L Pt"] if coloured else []
    if carbon is not None and carbon > much:
        signs.append(f"total organic carbon is {carbon:.3g} mg/L")
    told = " and ".join(signs)
    blind = "" if measured else "; total organic carbon was not measured: have it measured"
    if signs and iron > limits["iron_present"].value:
        text = (
            f"{told} beside {iron:.3g} mg/L of iron (above {least.value:g} mg/L Pt or {much:g} "
            f"mg/L of carbon, {least.evidence}): the iron may be bound to organic matter, which an "
            "oxidant does not free, and more of it alone is no design. Jar test before the train "
            "is ordered: aerate 30 min at pH 7.5 and filter at 0.45 µm; if iron still passes, try "
            "permanganate, then a coagulant; colour that a filter takes out is rust"
            f"{blind}"
        )
        first = not measured and colour > MUCH_TIMES * least.value
        first = first and ledger.study().value("study.kind") != NO_TRAIN
        kind = "unknown" if first else "condition"
        return [Obstacle(kind, text, anyway=True, measure=ASK, code="jar_test")]  # type: ignore[arg-type]
    if coloured and not measured:
        text = (
            f"{told} (above {least.value:g}, {least.evidence}): organic matter fouls membranes and "
            f"feeds growth{blind}, or run a pilot"
        )
        return [Obstacle("condition", text, anyway=True, measure=ASK, code="organics")]
    return []


def fouling_obstacles(ledger: Ledger) -> list[Obstacle]:
    """Return what organic carbon asks for where it reaches the membranes.

    Parameters
    ----------
    ledger : Ledger
        With the analysis entered. [-]

    Returns
    -------
    list of Obstacle
        One at most. [-]
    """
    toc, much = ledger.number("water.toc_mg_l"), train_limits()["organics_flag"].value
    if toc is None or toc <= much:
        return []
    text = (
        f"total organic carbon is {toc:.3g} mg/L ({much:g} mg/L is much, from memory): it fouls "
        "membranes; run a pilot, or measure behind the filter"
    )
    kind = "unknown" if toc > PILOT_TIMES * much else "condition"
    return [Obstacle(kind, text, code="membrane_feed")]  # type: ignore[arg-type]
