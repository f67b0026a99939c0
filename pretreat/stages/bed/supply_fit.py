"""The vessels that the pump given can backwash, and whose rinse the well gives."""

from collections.abc import Callable, Sequence
from functools import cache

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.errors import OutOfRangeError
from pretreat.stages.bed.figures import standing_in
from pretreat.stages.bed.hydraulics import velocity_for_expansion_m_h
from pretreat.stages.bed.media import Medium
from pretreat.stages.bed.vessels import (
    Trial,
    Vessel,
    VesselOption,
    choose_vessel,
    nominal_vessels,
)
from pretreat.stages.train import Train

ROUNDING = 1e-9
Flow = Callable[[Vessel, int], float]  # of one vessel, of so many side by side [m3/h]


def _none(_vessel: Vessel, _number: int) -> float:
    return 0.0


class Washing(Struct, frozen=True):
    """What one vessel draws while it washes: backwash [m/h], and rinse and what runs beside it."""

    backwash_m_h: float
    rinse_m3_h: Flow = _none
    beside_m3_h: Flow = _none


def washing_of(train: Train, medium: Medium) -> Washing:
    """Return what a vessel of a medium draws for its backwash.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    medium : Medium
        The medium. [-]

    Returns
    -------
    Washing
        Its backwash alone. [-]
    """
    velocity = velocity_for_expansion_m_h(
        medium.settled, medium["expansion_target"], train.raw.warmest_c
    )
    return Washing(velocity)


def turns_beside(train: Train, stage: str) -> Flow:
    """Return what the machine draws while a vessel of a stage regenerates in turn.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stage : str
        Key of the stage. [-]

    Returns
    -------
    callable
        Feed flow where another vessel serves meanwhile, else 0. [m³/h]
    """
    feed = train.entries.value("machine.feed_flow_m3_h")

    def beside(_vessel: Vessel, number: int) -> float:
        return 0.0 if standing_in(train, stage, number).word == "single" else feed

    return beside


def within_supply(train: Train, trial: Trial, washing: Washing) -> Trial:
    """Return the same trial with what pump and well give for a wash as limits more.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    trial : callable
        Judges a vessel and a number of them. [-]
    washing : Washing
        What one vessel draws. [-]

    Returns
    -------
    callable
        The stricter trial. [-]
    """
    supply = train.design.supply
    pump = supply.pump_flow_m3_h
    well = None if supply.raw_tank_volume_m3 else supply.well_yield_m3_h

    def stricter(vessel: Vessel, number: int) -> VesselOption:
        backwash = washing.backwash_m_h * vessel.area_m2
        most = max(backwash, washing.rinse_m3_h(vessel, number))
        most += washing.beside_m3_h(vessel, number)
        failures = []
        drawn = most if washing.beside_m3_h(vessel, number) else backwash
        if pump is not None and drawn > pump + ROUNDING:
            failures.append(f"backwash needs {drawn:.1f} m3/h, the pump gives {pump:.1f}")
        if well is not None and most > well + ROUNDING:
            failures.append(f"a wash draws {most:.1f} m3/h, the well gives {well:.1f}")
        option = trial(vessel, number)
        return replace(option, failures=(*option.failures, *failures)) if failures else option

    return stricter


def choose_within_supply(
    train: Train, trial: Trial, numbers: Sequence[int], washing: Washing
) -> tuple[VesselOption, ...]:
    """Choose vessels that pump and well can wash; without such, as if both gave enough.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    trial : callable
        Judges a vessel and a number of them. [-]
    numbers : sequence of int
        Numbers side by side to try, fewest first. [-]
    washing : Washing
        What one vessel draws. [-]

    Returns
    -------
    tuple of VesselOption
        The chosen option, then the others in the order tried. [-]

    Raises
    ------
    OutOfRangeError
        If no vessel fits, whatever pump and well give.
    """
    options = choose_vessel(once := cache(trial), nominal_vessels(), numbers)
    if within_supply(train, once, washing)(options[0].vessel, options[0].number).fits:
        return options
    stopped = replace(washing, beside_m3_h=_none)  # the machine waits while a vessel is washed
    found = (_washable(train, once, numbers, drawn) for drawn in (washing, stopped))
    return next((one for one in found if one is not None), options)


def least_number(
    train: Train, trial: Trial, numbers: Sequence[int], washing: Washing
) -> int | None:
    """Return the fewest vessels that pump and well can wash.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    trial : callable
        Judges a vessel and a number of them. [-]
    numbers : sequence of int
        Numbers side by side to try, fewest first. [-]
    washing : Washing
        What one vessel draws. [-]

    Returns
    -------
    int or None
        None where no vessels can. [-]
    """
    found = _washable(train, trial, numbers, washing)
    return None if found is None else found[0].number


def _washable(
    train: Train, trial: Trial, numbers: Sequence[int], washing: Washing
) -> tuple[VesselOption, ...] | None:
    """Return the options among vessels that pump and well can wash, None where none fits."""
    try:
        return choose_vessel(within_supply(train, trial, washing), nominal_vessels(), numbers)
    except OutOfRangeError:
        return None
