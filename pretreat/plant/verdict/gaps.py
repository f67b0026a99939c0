"""What an analysis lacks that is no scale by itself, and what that leaves open."""

import math
from collections.abc import Collection

from msgspec.structs import replace

from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis
from pretreat.lab.water_figures import Composition
from pretreat.plant.verdict.case import GAP, Obstacle

# What stays open without it. The chemistry runs on, so it is a condition and no scale.
OPEN_WITHOUT = {
    "fe": "whether iron fouls resin and membranes was not judged",
    "mn": "whether manganese fouls resin and membranes was not judged",
    "mg": "hardness is not complete",
    "na": "the ion balance cannot check the analysis and the ionic strength is too low",
    "cl": "the ion balance cannot check the analysis and the ionic strength is too low",
}
TOLD_WITHOUT = {
    "k": "it matters little to scale",
    "no3": "it forms no scale; where the water is drunk it must be known",
}


STAND_IN_PH = 7.5  # PRACTICE: where none was measured; what depends on it is then not judged
RAW = "untreated."
RESTING_ON_PH = frozenset(
    {
        "concentrate.ph",
        "product.ph",
        "scaling.si_brucite",
        "scaling.si_ferric_hydroxide",
        "scaling.si_rhodochrosite",
        "scaling.si_sepiolite_d",
        "scaling.si_siderite",
    }
)
OF_STAND_IN = frozenset({"phosphate_not_measured"})  # left out for want of pH, not unmeasured
OF_PH = frozenset({"po4"})  # without a pH nothing is known of its form


def without_ph(water: WaterAnalysis, taken: Composition) -> Composition:
    """Return what can be judged of a water without a pH: no carbonate and no phosphate.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    taken : Composition
        What the chemistry takes of it. [-]

    Returns
    -------
    Composition
        As it was where there is a pH; else the alkalinity is unknown (NaN), so that no index
        of a carbonate is computed, and phosphate is left out. [-]
    """
    if water.ph is not None:
        return taken
    scaling = {k: v for k, v in taken.scaling.items() if k not in OF_PH}
    return replace(taken, scaling=scaling, alkalinity_mg_l_caco3=math.nan)


def leave_ph_open(ledger: Ledger) -> None:
    """Leave blank what was entered and rests on the pH that stood in for the missing one.

    Parameters
    ----------
    ledger : Ledger
        With every section but the summary entered. [-]
    """
    keys = {
        key
        for key, figure in ledger.study().figures.items()
        if key.removeprefix(RAW) in RESTING_ON_PH and figure.value is not None
    }
    for key in keys:
        figure = ledger.figure(key)
        ledger.leave_open(key)
        ledger.amend(key, flags=(*(figure.flags if figure else ()), "not_computable"))
    flags = ledger.study().flags
    ledger.retell(f for f in flags if f.figure not in keys and f.code not in OF_STAND_IN)


def gap_obstacles(measured: Collection[str]) -> tuple[Obstacle, ...]:
    """Return a condition for each ion that belongs into an analysis and is not there.

    The ions that form scale are not among them: they are judged scale by scale.

    Parameters
    ----------
    measured : collection of str
        Keys of what the laboratory looked for, detected or not. [-]

    Returns
    -------
    tuple of Obstacle
        Conditions first, then notes. [-]
    """
    found = [
        Obstacle(
            "condition",
            f"{analytes()[k].name} is not in the analysis: {why}; measure it",
            analytes()[k].name,
            code=GAP,
        )
        for k, why in OPEN_WITHOUT.items()
        if k not in measured
    ]
    found += [
        Obstacle("note", f"{analytes()[k].name} is not in the analysis: {why}", analytes()[k].name)
        for k, why in TOLD_WITHOUT.items()
        if k not in measured
    ]
    return tuple(found)
