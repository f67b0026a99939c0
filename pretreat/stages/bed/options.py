"""The table of vessels tried, with a reason on every row, and the vessels the pump can backwash."""

from collections.abc import Sequence

from msgspec.structs import replace

from pretreat.core.basis import Series
from pretreat.core.errors import OutOfRangeError
from pretreat.stages.bed.figures import Bed, chosen_bed, standing_in
from pretreat.stages.bed.hydraulics import velocity_for_expansion_m_h
from pretreat.stages.bed.media import Medium
from pretreat.stages.bed.vessels import (
    Trial,
    VesselOption,
    choose_vessel,
    nominal_vessels,
    within_pump,
)
from pretreat.stages.train import Train


def choose_bed(
    train: Train, stage: tuple[str, Medium, str], options: Sequence[VesselOption], trial: Trial
) -> Bed:
    """Enter the table of vessels tried; return the bed of the chosen one.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stage : tuple
        Prefix of the keys, medium and name of the stage. [-]
    options : sequence of VesselOption
        The chosen option first, then the others in the order tried. [-]
    trial : callable
        Judges a vessel and a number of them. [-]

    Returns
    -------
    Bed
        The bed, with the vessels that the pump can backwash where the chosen are too wide. [-]
    """
    prefix, medium, label = stage
    velocity = velocity_for_expansion_m_h(
        medium.settled, medium["expansion_target"], train.raw.warmest_c
    )
    pump, first = train.design.supply.pump_flow_m3_h, options[0]
    short = pump is not None and velocity * first.vessel.area_m2 > pump
    other = _for_pump(trial, velocity, pump) if short and pump is not None else None
    _enter_options(train, (prefix, label), options, (other, velocity, pump if short else None))
    how = standing_in(train, prefix, first.number)
    return replace(chosen_bed(prefix, medium, label, first), for_pump=other, standing=how)


def _for_pump(trial: Trial, velocity_m_h: float, pump_m3_h: float) -> VesselOption | None:
    """Return the vessels that fit and that the pump can backwash one at a time."""
    try:
        return choose_vessel(within_pump(trial, velocity_m_h, pump_m3_h), nominal_vessels())[0]
    except OutOfRangeError:
        return None


def _enter_options(
    train: Train,
    stage: tuple[str, str],
    options: Sequence[VesselOption],
    pumped: tuple[VesselOption | None, float, float | None],
) -> None:
    """Enter the rows: chosen, what the pump could backwash, what else fits, what fails."""
    if not train.entries.ledger.shown:
        return
    prefix, label = stage
    other, velocity, pump = pumped
    first, *rest = options
    if other is not None:
        rest = [o for o in rest if (o.vessel, o.number) != (other.vessel, other.number)]
    ranked = [(first, "chosen", _why_chosen(first, velocity, pump))]
    if other is not None:
        each = f"backwash takes {velocity * other.vessel.area_m2:.1f} m3/h each, one at a time"
        ranked.append((other, "fits, and the pump given backwashes it", each))
    ranked += [(o, "fits, larger than needed", "") for o in rest if o.fits]
    ranked += [(o, "fails", "") for o in reversed(rest) if not o.fits]
    rows = [
        (
            o.vessel.name,
            float(o.number),
            o.media_l,
            o.depth_m,
            o.velocity_m_h,
            verdict,
            "; ".join(part for part in (why, *o.failures, *o.notes) if part),
        )
        for o, verdict, why in ranked
    ]
    train.entries.ledger.table(
        Series(
            f"{prefix}.options",
            f"{label} vessels tried",
            ("vessel", "number", "media_l", "depth_m", "velocity_m_h", "verdict", "why"),
            ("-", "-", "L", "m", "m/h", "-", "-"),
            tuple(rows),
            cites=("PRACTICE", "TSS"),
            headings=("Vessel", "Number", "Medium", "Depth", "Velocity", "Verdict", "Why"),
            method="fewest vessels, then the smallest that meets every limit; pump and well "
            "count where some vessels can be washed with what they give",
        )
    )


def _why_chosen(first: VesselOption, velocity_m_h: float, pump_m3_h: float | None) -> str:
    why = "smallest single vessel that meets every limit"
    if first.number > 1:
        why = "fewest vessels that meet every limit, and the smallest of them"
    if pump_m3_h is None:
        return why
    return (
        f"{why}; backwash takes {velocity_m_h * first.vessel.area_m2:.1f} m3/h each, the pump "
        f"gives {pump_m3_h:.1f} m3/h"
    )
