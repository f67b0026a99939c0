"""The softener that the pump given can backwash, and whose rinse the well gives."""

from msgspec.structs import replace

from pretreat.stages.bed.arrangement import numbers_to_try
from pretreat.stages.bed.media import media
from pretreat.stages.bed.supply_fit import Washing, least_number, turns_beside, washing_of
from pretreat.stages.bed.vessels import MOST_IN_PARALLEL
from pretreat.stages.softener import laws
from pretreat.stages.softener.regeneration import FAST_RINSE_BV_H
from pretreat.stages.softener.vessels import SoftenerDuty, try_softener_vessel
from pretreat.stages.train import Train

P = "softener"


def washing_of_resin(train: Train) -> Washing:
    """Return what one vessel of resin draws for backwash and fast rinse.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]

    Returns
    -------
    Washing
        Its draws; the machine runs beside where another vessel serves meanwhile. [-]
    """
    return replace(
        washing_of(train, media()["softening resin"]),
        rinse_m3_h=lambda vessel, _number: FAST_RINSE_BV_H * vessel.media_l / 1000.0,
        beside_m3_h=turns_beside(train, P),
    )


def daily_serves(train: Train, intervals_d: tuple[float, float]) -> bool:
    """Tell whether a softener regenerated oftener takes fewer vessels that pump and well can wash.

    Parameters
    ----------
    train : Train
        With load and capacity entered. [-]
    intervals_d : tuple of float
        The shorter and the usual interval wanted. [d]

    Returns
    -------
    bool
        False where the usual one takes no more. [-]
    """
    supply = train.design.supply
    if supply.pump_flow_m3_h is None and supply.well_yield_m3_h is None:
        return False
    daily, usual = (_vessels(train, interval) for interval in intervals_d)
    return daily is not None and (usual is None or daily < usual)


def _vessels(train: Train, interval_d: float) -> int | None:
    entries = train.entries
    flow = entries.value(train.water_of(P)[0])
    needed = laws.volume_for_interval_l(
        entries.value(f"{P}.load_kg_caco3_d"),
        interval_d,
        entries.value(f"{P}.capacity_g_caco3_l"),
        entries.value(f"{P}.capacity_factor"),
        entries.value(f"{P}.reserve"),
    )
    for_flow = laws.volume_for_flow_l(flow, laws.MOST_SERVICE_BV_H)
    duty = SoftenerDuty(max(needed, for_flow), flow)
    numbers = numbers_to_try(train.design.softener, P, MOST_IN_PARALLEL)
    return least_number(
        train, lambda v, n: try_softener_vessel(duty, v, n), numbers, washing_of_resin(train)
    )
