"""Several foulants each just below its limit: together they foul, and no single check says so."""

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.plant.membrane_checks import ALUMINIUM, METALS, SDI, SULFIDE, TURBIDITY
from pretreat.plant.verdict.case import NO_TRAIN, Obstacle
from pretreat.plant.verdict.organics import CARBON, COLOUR
from pretreat.stages.limits import train_limits

NEAR = 0.8  # PRACTICE: of a limit; a result scatters as much
SEVERAL, MANY = 2, 3  # PRACTICE: from where on it is told, and is to be seen to
CHECKS = frozenset({ALUMINIUM, METALS, SDI, SULFIDE, TURBIDITY})
# Properties that no check of the membrane feed takes: limit, name and unit.
BESIDE = {
    COLOUR: ("organics_colour", "colour", "mg/L Pt"),
    CARBON: ("organics_flag", "total organic carbon", "mg/L"),
}
ASK = "silt density index behind the cartridge filter, over some weeks of pumping"


def near_obstacles(ledger: Ledger, water: WaterAnalysis) -> list[Obstacle]:
    """Return the condition of many foulants near their limits; of two, enter a caution.

    Parameters
    ----------
    ledger : Ledger
        With the checks of the membrane feed. [-]
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    list of Obstacle
        One condition at most. [-]
    """
    if ledger.study().value("study.kind") == NO_TRAIN:
        return []
    near = _near(ledger, water)
    if len(near) < SEVERAL:
        return []
    text = (
        f"{len(near)} foulants are each just below the limit of the membrane feed: "
        f"{', '.join(near)}: together they foul sooner than any of them, and a result scatters by "
        "as much (common practice): measure each again and the silt density index behind the "
        "cartridge filter, and plan for a media filter ahead"
    )
    if len(near) < MANY:
        ledger.flag(Flag("near_limits", "caution", text))
        return []
    return [Obstacle("condition", text, measure=ASK, code="membrane_feed")]


def _near(ledger: Ledger, water: WaterAnalysis) -> list[str]:
    table = ledger.study().series.get("train.membrane_checks")
    rows = [r for r in (() if table is None else table.rows) if r[0] in CHECKS]
    found = [(str(r[0]), r[1], r[2], str(r[3])) for r in rows]
    limits = train_limits()
    for key, (limit, name, unit) in BESIDE.items():
        found.append((name, water.properties.get(key), limits[limit].value, unit))
    return [
        f"{name} {value:.3g} {unit} (at most {most:g})"
        for name, value, most, unit in found
        if isinstance(value, float) and isinstance(most, float) and NEAR * most <= value <= most
    ]
