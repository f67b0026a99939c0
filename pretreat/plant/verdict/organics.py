"""Organic matter: colour or carbon beside iron that no oxidant frees, and ahead of membranes."""

from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.plant.verdict.case import NO_TRAIN, Obstacle
from pretreat.stages.limits import train_limits

COLOUR, CARBON = "color_pt_co", "toc_mg_l"
MUCH_TIMES = 2.5  # PRACTICE: times the limit of colour, from where on a jar test comes first
ASK = "total organic carbon, and the colour of a filtered sample"
ASK_CARBON = "total organic carbon and UV absorbance at 254 nm, behind the filter"
PILOT_TIMES = 3.0  # PRACTICE: times what is much, from where on a pilot comes first
# PRACTICE: mg/L Pt of brown water for a mg/L of carbon: usual, and the most that humic matter has.
COLOUR_OF_CARBON, MOST_COLOUR_OF_CARBON = 12.0, 25.0
ASK_BROWN = "colour of a filtered sample, total organic carbon and UV absorbance at 254 nm"


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
    return [_brown(ledger, water, colour)] if coloured else []


def _brown(ledger: Ledger, water: WaterAnalysis, colour: float) -> Obstacle:
    """Return what a coloured water without iron asks for, whether its carbon was measured or not.

    So much colour that the carbon behind it would ask for a pilot asks for one too.
    """
    limits = train_limits()
    least, much = limits["organics_colour"], limits["organics_flag"].value
    carbon = water.properties.get(CARBON, water.below_properties.get(CARBON))
    text = (
        f"colour is {colour:.3g} mg/L Pt (above {least.value:g}, {least.evidence}): organic matter "
        "fouls membranes and feeds growth, and so does iron: which it is must be known: measure "
        f"{ASK_BROWN}"
    )
    if carbon is not None and colour > MOST_COLOUR_OF_CARBON * carbon:
        below = "less than " if CARBON not in water.properties else ""
        text += (
            f"; beside {below}{carbon:.3g} mg/L of total organic carbon one of the two is wrong, "
            f"or iron or fine particles colour it: humic matter of that colour holds about "
            f"{colour / COLOUR_OF_CARBON:.2g} mg/L of carbon, hardly less than "
            f"{colour / MOST_COLOUR_OF_CARBON:.2g} (common practice)"
        )
    elif carbon is None:
        text += "; total organic carbon was not measured: have it measured"
    text += "; then a pilot, membranes of low fouling and a lower flux"
    first = colour > PILOT_TIMES * much * COLOUR_OF_CARBON
    first = first and ledger.study().value("study.kind") != NO_TRAIN
    kind = "unknown" if first else "condition"
    return Obstacle(kind, text, anyway=True, measure=ASK_BROWN, code="organics")  # type: ignore[arg-type]


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
    return [Obstacle(kind, text, measure=ASK_CARBON, code="membrane_feed")]  # type: ignore[arg-type]
