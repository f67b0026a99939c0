"""From the draws to the case that the rules judge."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from msgspec.structs import replace

from pretreat.plant.uncertainty.bands import COLUMNS
from pretreat.plant.uncertainty.draws import Draws
from pretreat.plant.uncertainty.inputs import PH_AT_THE_WELL
from pretreat.plant.uncertainty.recovery_draws import RecoveryDraws
from pretreat.plant.uncertainty.spread import (
    LIKELY,
    drivers,
    measurements,
    spread_of,
    strongest,
)
from pretreat.plant.uncertainty.unjudged import UnjudgedScale
from pretreat.plant.verdict.case import (
    Obstacle,
    ScaleCase,
    SeasonCase,
    Unjudged,
    VerdictCase,
)

MOST_UNSOUND = 0.05  # PRACTICE: share of draws that may fail before the water counts as unknown


def case_from_draws(
    draws: Draws,
    found: RecoveryDraws,
    unjudged: Sequence[UnjudgedScale] = (),
    obstacles: Sequence[Obstacle] = (),
    *,
    inhibitor: bool = False,
    banded: bool = False,
) -> VerdictCase:
    """Return the case of a design whose water was drawn.

    Parameters
    ----------
    draws : Draws
        Draws of the inputs; none of them (count 0) means that draws are turned off. [-]
    found : RecoveryDraws
        What the draws allow. [-]
    unjudged : sequence of UnjudgedScale
        Scales without a judgement. [-]
    obstacles : sequence of Obstacle
        What is no scale. [-]
    inhibitor : bool
        The limits are those with an inhibitor. [-]
    banded : bool
        The limits are a band. [-]

    Returns
    -------
    VerdictCase
        What the rules judge. [-]
    """
    drawn = bool(found.sound.size)
    seasons = tuple(
        SeasonCase(
            season.name,  # type: ignore[arg-type]
            season.temp_c,
            float(found.nominal_maximum["likely"][i]),
            found.nominal_limited_by["likely"][i],
            {c: found.probability(c, i) for c in COLUMNS} if drawn else None,
        )
        for i, season in enumerate(found.seasons)
    )
    case = VerdictCase(
        found.recovery,
        seasons,
        {c: float(np.min(found.nominal_maximum[c])) for c in COLUMNS},
        unjudged=tuple(
            Unjudged(u.scale, u.names, u.could_limit, u.usual, u.held, u.from_mg_l, u.unread)
            for u in unjudged
        ),
        obstacles=(*_not_computed(found), *obstacles),
        inhibitor=inhibitor,
        judged=bool(found.scales),
    )
    return _with_draws(case, draws, found, banded=banded) if drawn else case


def _not_computed(found: RecoveryDraws) -> tuple[Obstacle, ...]:
    """Say where the water, or too many of its draws, could not be computed."""
    nominal = bool(np.all(np.isfinite(found.nominal_maximum["likely"])))
    if nominal and found.unsound_share <= MOST_UNSOUND:
        return ()
    share = "" if not nominal else f" in {100.0 * found.unsound_share:.0f} % of the draws"
    return (
        Obstacle(
            "unknown",
            f"the water could not be computed{share}: pH, alkalinity and temperature do not "
            "belong together, or are out of range; check the analysis",
            code="charge_balance",
        ),
    )


def _with_draws(
    case: VerdictCase, draws: Draws, found: RecoveryDraws, *, banded: bool
) -> VerdictCase:
    worst = found.worst("likely")
    spread = spread_of(worst)
    kept: dict[str, Any] = {c: found.all_kept(c) for c in COLUMNS}
    driven_by = drivers(draws, worst)
    first = strongest(measurements(draws, worst, kept, banded=banded, known=driven_by))
    driver = next(iter(driven_by), None)
    ph_first = driver is not None and driver.measure == PH_AT_THE_WELL
    return replace(
        case,
        kept={c: found.probability(c) for c in COLUMNS},
        scales=tuple(
            ScaleCase(k, {c: found.probability_of(c, k) for c in COLUMNS}) for k in found.scales
        ),
        safe_recovery=found.kept_in(LIKELY, "low"),
        p10_p90=None if spread is None else (spread.p10, spread.p90),
        # A pH that only the laboratory measured comes before limits that no meter tells.
        measure_next=PH_AT_THE_WELL if ph_first else first.measure if first else "",
    )
