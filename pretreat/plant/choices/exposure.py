"""What a gap in the analysis leaves open, and how far a train protects the membranes from it."""

from collections.abc import Sequence

import numpy as np

from pretreat.plant.verdict.case import VerdictCase
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
