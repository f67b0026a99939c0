"""What a gap in the analysis leaves open, and how far a train protects the membranes from it."""

from collections.abc import Mapping, Sequence

import numpy as np

from pretreat.core.equivalents import HARDNESS_IONS, equivalent_hardness_mg_l_caco3
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.recovery import Limits
from pretreat.plant.uncertainty.unjudged import unjudged_scales
from pretreat.plant.uncertainty.water_draws import Season
from pretreat.plant.verdict.case import Unjudged, VerdictCase
from pretreat.stages.stream import RawWater

HARD_MG_L_CACO3 = 120.0  # PRACTICE: hard water; above, only a softener protects without limits


def missing(raw: RawWater) -> tuple[str, ...]:
    """Return what calcite cannot be judged without, in words; none where it can.

    Parameters
    ----------
    raw : RawWater
        The water ahead of the first stage. [-]

    Returns
    -------
    tuple of str
        Such as alkalinity. [-]
    """
    alkalinity = raw.alkalinity_mg_l_caco3
    known = {
        "pH": raw.ph is not None,
        "calcium": "ca" in raw.mg_l and not raw.from_test_kit,
        "alkalinity": alkalinity is not None and bool(np.isfinite(alkalinity)),
    }
    return tuple(word for word, there in known.items() if not there)


def exposed(keys: Sequence[str], gaps: Sequence[str], hardness_mg_l_caco3: float) -> int:
    """Return how bare a train leaves the membranes where calcite cannot be judged.

    The limits of an inhibitor cannot be checked then, so hard water asks for a softener for the
    whole flow; in other water either will do.

    Parameters
    ----------
    keys : sequence of str
        Stages of the train. [-]
    gaps : sequence of str
        What `missing` names. [-]
    hardness_mg_l_caco3 : float
        Hardness of the raw water. [mg/L as CaCO3]

    Returns
    -------
    int
        0 is protected, 2 is bare. [-]
    """
    whole = "softener" in keys and "bypass" not in keys
    if not gaps or whole:
        return 0
    if "inhibitor" not in keys:
        return 2
    return 1 if hardness_mg_l_caco3 > HARD_MG_L_CACO3 or "bypass" in keys else 0


def open_scale(case: VerdictCase | None) -> bool:
    """Tell whether a scale that was not judged could limit.

    Parameters
    ----------
    case : VerdictCase or None
        Of a train that was sized. [-]

    Returns
    -------
    bool
        False without one. [-]
    """
    return case is not None and any(one.could_limit for one in case.unjudged)


def own_gaps(
    measured: Mapping[str, float],
    left: Mapping[str, float],
    water: tuple[float, float | None, float],
    seasons: Sequence[Season],
    limits: Limits,
    point: MembranePoint,
) -> tuple[Unjudged, ...]:
    """Return the scales that the water of a train does not let one judge.

    What is missing may limit hard water and not the same water softened: each train is held to
    its own.

    Parameters
    ----------
    measured, left : mapping of str to float
        What was measured in the well, and what the train leaves of it. [mg/L]
    water : tuple
        Alkalinity [mg/L as CaCO3], pH and the temperature to which it belongs [°C].
    seasons : sequence of Season
        Temperatures of the plant. [-]
    limits : Limits
        The cautious limits of the train. [-]
    point : MembranePoint
        The design point. [-]

    Returns
    -------
    tuple of Unjudged
        As a verdict takes them. [-]
    """
    before, after = (equivalent_hardness_mg_l_caco3(v, HARDNESS_IONS) for v in (measured, left))
    share = min(after / before, 1.0) if before > 0 else 1.0
    known = {k: left[k] for k in measured if k in left}
    taken = {k: share for k in HARDNESS_IONS if k not in known}
    return tuple(
        Unjudged(u.scale, u.names, u.could_limit, u.usual, u.held, u.from_mg_l)
        for u in unjudged_scales(known, water, seasons, limits, point, taken)
    )


def unguarded(keys: Sequence[str]) -> int:
    """Return 1 where neither inhibitor nor softener stands against an unjudged scale.

    Parameters
    ----------
    keys : sequence of str
        Stages of the train. [-]

    Returns
    -------
    int
        0 or 1. [-]
    """
    return 0 if {"inhibitor", "softener"} & set(keys) else 1
