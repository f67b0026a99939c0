"""Whether a bed is deep enough to do its work, and not deeper than any vessel."""

from pretreat.core.basis import Level
from pretreat.core.errors import OutOfRangeError
from pretreat.stages.bed.figures import Bed
from pretreat.stages.train import Train

LOST_DEPTH = 0.5  # PRACTICE: below half the least depth a bed does not do its work
DEEPEST_M = 3.0  # PRACTICE: no pressure vessel of this size holds a deeper bed


def note_depth(train: Train, bed: Bed) -> None:
    """Enter the least depth and note a bed that is shallower.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    bed : Bed
        The bed, its depth entered. [-]

    Raises
    ------
    OutOfRangeError
        If no such vessel holds a bed as deep.
    """
    entries, key = train.entries, bed.prefix
    least = entries.medium(key, bed.medium, "depth_min_m", f"{bed.label}: least depth")
    depth = entries.value(f"{key}.depth_m")
    if depth > DEEPEST_M:
        raise OutOfRangeError(
            f"{bed.label}: the bed comes out {depth:.3g} m deep in a vessel {bed.diameter_m:.3g} m "
            f"wide; no such vessel holds more than {DEEPEST_M:g} m: check [{key}] vessel_diameter "
            "and the volume, and their units"
        )
    if depth < least:
        _flag_shallow(train, bed, depth, least)
    most = bed.medium["depth_max_m"]
    if depth > most + 1e-6:
        entries.flag(
            "bed_deep",
            "info",
            f"{bed.label}: the bed is {depth:.2f} m deep, practice ends at {most:.2f} m",
            f"{key}.depth_m",
        )


def _flag_shallow(train: Train, bed: Bed, depth: float, published: float) -> None:
    """Flag a bed that is not deep: told above what small vessels hold, else a fault."""
    small = bed.medium.get("depth_small_m")
    usual = published if small is None else small
    level: Level = "info"
    text = f"{bed.label}: the bed is {depth:.2f} m deep, published practice is {published:.2f} m"
    if depth >= usual:
        text += "; small package vessels often fall short"
    else:
        level = "warning" if depth < LOST_DEPTH * usual else "caution"
        text = (
            f"{bed.label}: the bed is {depth:.2f} m deep, {usual:.2f} m is the least even in small "
            "vessels: water finds its way through it untreated; fill more medium, or a narrower "
            "vessel"
        )
    train.entries.flag("bed_shallow", level, text, f"{bed.prefix}.depth_m")
