"""Clock times at which the valves start: one after the other, the stages nearest the well first."""

from pretreat.core.basis import cites
from pretreat.core.results import Ledger

STEP_MIN = 30.0  # PRACTICE: times that a person keys in
MINUTES_PER_HOUR = 60
_VALVES = {
    "iron_filter": ("iron_filter.regeneration_min",),
    "softener": ("softener.regeneration_min",),
    "carbon": ("carbon.backwash_min", "carbon.rinse_min"),
}


@cites("PRACTICE", "no two valves wash at once, the first at midnight")
def enter_clock_times(ledger: Ledger) -> None:
    """Enter when each valve starts, so that no two draw on the supply at once.

    Parameters
    ----------
    ledger : Ledger
        Figures of the stages. [-]
    """
    begins, passed = 0.0, []
    for stage, keys in _VALVES.items():
        minutes = [ledger.number(key) for key in keys]
        if any(m is None for m in minutes):
            continue
        key = f"{stage}.clock_time"
        ledger.put(
            key,
            f"{int(begins) // MINUTES_PER_HOUR:02d}:{int(begins) % MINUTES_PER_HOUR:02d}",
            "-",
            "Clock time at which the valve starts, the machine stopped",
            evidence="common practice",
            cites=("PRACTICE",),
            method="midnight, or after the valve ahead of it, in half hours",
        )
        passed += list(keys)
        ledger.rests(key, *passed)
        begins += -(-sum(m or 0.0 for m in minutes) // STEP_MIN) * STEP_MIN
