"""Fluoride and radioactivity that go to the drain, and stays in elements, resin and cartridges."""

from pretreat.core.basis import cites
from pretreat.core.results import Ledger
from pretreat.core.tables import Row, rows
from pretreat.core.water import WaterAnalysis
from pretreat.lab.activity import becquerel_words, in_becquerel
from pretreat.lab.health import amounts_of
from pretreat.plant.verdict.case import Obstacle

BARIUM, MUCH_BARIUM_MG_L = "ba", 2.0  # CFR141_62: drinking; much beside sulfate takes radium down
RESIN = "softener.resin_volume_l"
RADIUM, PARTS = "ra_pci_l", ("ra226_pci_l", "ra228_pci_l")
ASK = "radium 226 and 228, uranium and gross alpha of concentrate and brine"


@cites("WIDNR2004", "sum of the parts of what goes to a surface water")
@cites("CFR141_66", "limits of health, of the raw water")
def activity_obstacles(
    ledger: Ledger, water: WaterAnalysis, recovery: float, jurisdiction: str | None
) -> list[Obstacle]:
    """Return the condition of radioactive concentrate, brine and spent parts.

    A permit of its own is asked for where the raw water is over a limit of health, or the
    concentrate over what a surface water may take.

    Parameters
    ----------
    ledger : Ledger
        With the train entered, where there is one. [-]
    water : WaterAnalysis
        The analysis. [-]
    recovery : float
        Product / feed. [-]
    jurisdiction : str, optional
        Whose limits bind, for the unit that is told. [-]

    Returns
    -------
    list of Obstacle
        One condition at most. [-]
    """
    amounts, factor = amounts_of(water), 1.0 / (1.0 - recovery)
    limits = {r["key"]: r for r in rows("drain_limits.csv")}
    known = {k: amounts[k] for k in limits if amounts.get(k, 0.0) > 0.0}
    if any(key in known for key in PARTS):
        known.pop(RADIUM, None)
    over = any(v > float(limits[k]["raw_over"]) for k, v in known.items())
    parts = (v * factor / float(p) for k, v in known.items() if (p := limits[k]["drain_parts"]))
    if not over and sum(parts) <= 1.0:
        return []
    told = ", ".join(_amounts(limits[k], v, v * factor) for k, v in known.items())
    where = "the elements, cartridges" + (", the resin and its brine" if RESIN in ledger else "")
    text = (
        f"radioactive drain: {told}: ask the authority for a permit of discharge before anything "
        f"runs, have concentrate and brine measured, and have {where} and any scale in them "
        "handled and disposed of as it says, for they gather it"
    )
    barium = water.mg_l.get(BARIUM, 0.0)
    if barium > MUCH_BARIUM_MG_L:
        text += (
            f"; barium {barium:.2g} mg/L ({barium * factor:.2g} mg/L in the concentrate) brings "
            "radium down with barite wherever it meets sulfate, in the machine and in the drain"
        )
    if in_becquerel(water, jurisdiction):
        text = becquerel_words(text)
    return [Obstacle("condition", text, anyway=True, measure=ASK, code="radioactive_drain")]


FLUORIDE, MUCH_FLUORIDE_MG_L = "f", 10.0  # PRACTICE: of a drain, from where on it is asked about
ON_LAND_MG_L, FOR_ANIMALS_MG_L = 1.0, 2.0  # FAO29: irrigation, and water of livestock


@cites("FAO29", "fluoride of water put on land and given to livestock, from memory")
def fluoride_obstacles(water: WaterAnalysis, recovery: float) -> list[Obstacle]:
    """Return the condition of a concentrate with more fluoride than land and animals take.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    recovery : float
        Product / feed. [-]

    Returns
    -------
    list of Obstacle
        One condition at most. [-]
    """
    raw = water.mg_l.get(FLUORIDE, 0.0)
    drained = raw / (1.0 - recovery)
    if drained <= MUCH_FLUORIDE_MG_L:
        return []
    text = (
        f"fluoride {raw:.3g} mg/L in the raw water, {drained:.3g} mg/L in the concentrate: land "
        f"takes {ON_LAND_MG_L:g} mg/L and animals {FOR_ANIMALS_MG_L:g} mg/L (FAO 29, from "
        "memory): no soakaway near a well, no pond, no irrigation: ask the authority or the "
        "sewer works where it may go before anything is ordered"
    )
    return [Obstacle("condition", text, anyway=True, code="discharge_over_limit")]


def _amounts(row: Row, raw: float, concentrate: float) -> str:
    name, unit = row["name"], row["unit"]
    return f"{name} {raw:.3g} {unit} in the raw water, {concentrate:.3g} {unit} in the concentrate"
