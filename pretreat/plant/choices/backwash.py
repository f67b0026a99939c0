"""The largest backwash of a train against the well pump of the site."""

from collections.abc import Sequence

from msgspec import Struct

from pretreat.core.results import Ledger
from pretreat.site.design import Supply
from pretreat.stages import BY_KEY, ORDER

SHORT = 2.0  # PRACTICE, own judgement: a pump so many times too small is no pump for a backwash
WASHED = tuple(stage.key for stage in ORDER if stage.wash is not None and stage.wash.steps)


class Backwash(Struct, frozen=True):
    """The largest backwash of a part of a train: of what, its flow, the water of its night."""

    stage: str
    flow_m3_h: float
    night_m3: float


def largest_backwash(ledger: Ledger, keys: Sequence[str]) -> Backwash | None:
    """Return the backwash of a part of a train that takes most.

    Parameters
    ----------
    ledger : Ledger
        With the part sized. [-]
    keys : sequence of str
        Its stages. [-]

    Returns
    -------
    Backwash or None
        None where nothing is washed. [-]
    """
    found = []
    for key in (k for k in keys if k in WASHED):
        flow = ledger.number(f"{key}.backwash_flow_m3_h")
        if flow is None:
            continue
        days = ledger.number(f"{key}.programme_days") or ledger.number(f"{key}.interval_d") or 1.0
        water = ledger.number(f"{key}.regeneration_water_m3_d") or 0.0
        found.append(Backwash(key, flow, water * max(days, 1.0)))
    return max(found, key=lambda one: one.flow_m3_h, default=None)


def pump_words(wash: Backwash | None, supply: Supply) -> str:
    """Say that the pump of the site is far too small for a backwash; empty where it is not.

    A raw tank that holds the water of such a night may have a backwash pump of its own: then it
    is to be seen to, and no reason against the train.

    Parameters
    ----------
    wash : Backwash or None
        The largest of the train. [-]
    supply : Supply
        Pump and raw tank as given. [-]

    Returns
    -------
    str
        The reason. [-]
    """
    pump, tank = supply.pump_flow_m3_h, supply.raw_tank_volume_m3 or 0.0
    if wash is None or pump is None or wash.flow_m3_h <= SHORT * pump or tank >= wash.night_m3:
        return ""
    return (
        f"{BY_KEY[wash.stage].name.lower()}: the backwash needs {wash.flow_m3_h:.1f} m3/h, the "
        f"pump gives {pump:.1f} m3/h, and no raw tank holds the {wash.night_m3:.1f} m3 of a "
        "regeneration for a backwash pump of its own"
    )
