"""A softener that was sized as one, where its day leaves no time to regenerate it."""

from pretreat.core.results import Study
from pretreat.plant.water.supply import TOO_LONG
from pretreat.site.design import DesignBasis

OWN = frozenset({"softener.arrangement", "softener.vessels"})


def standing_still_h(study: Study) -> float:
    """Return the hours of a day that regenerations stop the machine.

    Parameters
    ----------
    study : Study
        A whole study. [-]

    Returns
    -------
    float
        Mean. [h/d]
    """
    return study.number("programme.regeneration_h_d") or 0.0


def with_standby(study: Study, design: DesignBasis) -> DesignBasis | None:
    """Return the design with a second softener that stands by while the first regenerates.

    Parameters
    ----------
    study : Study
        The design as sized. [-]
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    DesignBasis or None
        None where time enough is left, or the site file says how the vessels stand. [-]
    """
    single = study.value("softener.arrangement") == "single"
    late = any(flag.code == TOO_LONG for flag in study.flags)
    if not single or OWN & design.chosen or not late:
        return None
    return design.change("softener", arrangement="duty-standby")
