"""What cannot be in one reading, or after the last one: order of pressures, counters, dates."""

import datetime
import math
from collections.abc import Sequence
from itertools import pairwise

from pretreat.core.basis import cites
from pretreat.record.readings import Reading, baseline_of, gauges

ABOVE_BAR = 0.3  # RECORD_STATISTICS: two gauges of 2 % at 10 bar
ABOVE_SHARE = 0.05  # RECORD_STATISTICS: two tests or meters that agree may differ by so much
LATE = datetime.timedelta(days=1)  # clocks of machine and computer may differ by time zones
LONG_GAP_DAYS = 200.0  # PRACTICE: a site is read monthly or oftener; a year written wrong is 365
SECONDS_PER_HOUR, HOURS_PER_DAY = 3600.0, 24.0
COUNTER_SLACK_H = 2.0  # RECORD_STATISTICS: readings are written to the hour
_FALLING_BAR = (
    ("iron_filter_in_bar", "iron_filter_out_bar", "softener_out_bar"),
    ("cartridge_in_bar", "cartridge_out_bar"),  # a tank and a pump may stand before it
    ("feed_pressure_bar", "interstage_pressure_bar", "concentrate_pressure_bar"),
    ("feed_pressure_bar", "product_pressure_bar"),
)
_LESS = (
    ("feed_conductivity_us_cm", "product_conductivity_us_cm"),
    ("raw_hardness_mg_l_caco3", "soft_hardness_mg_l_caco3"),
    ("raw_iron_mg_l", "iron_out_mg_l"),
)
_COUNTERS = ("machine_hours_h", "regenerations")


def _said(taken: Reading, key: str) -> str:
    unit = gauges()[key].unit
    return f"{taken.get(key):.4g}{'' if unit == '-' else f' {unit}'}"


def spoken(key: str) -> str:
    """Return the label of a gauge as it stands inside a sentence.

    Parameters
    ----------
    key : str
        Gauge. [-]

    Returns
    -------
    str
        Its label in short. [-]
    """
    label = gauges()[key].label.partition(",")[0].removesuffix(" at 25 °C")
    return label if label.startswith("pH") else label[0].lower() + label[1:]


def doubtful_order(taken: Reading) -> tuple[str, ...]:
    """Return what cannot be in one reading: pressure or salt that rises where it must fall.

    Parameters
    ----------
    taken : Reading
        The reading. [-]

    Returns
    -------
    tuple of str
        One sentence for each pair that is the wrong way round. [-]
    """
    told = []
    for line in _FALLING_BAR:
        read = [key for key in line if math.isfinite(taken.get(key))]
        told += [
            _above(taken, before, behind)
            for before, behind in pairwise(read)
            if taken.get(behind) > taken.get(before) + ABOVE_BAR
        ]
    told += [
        _above(taken, raw, treated)
        for raw, treated in _LESS
        if taken.get(treated) > (1.0 + ABOVE_SHARE) * taken.get(raw)
    ]
    if taken.get("product_flow_m3_h") == 0.0:
        told.append(
            "product flow is 0: the machine stands, or the meter sticks; read a running machine"
        )
    return tuple(told)


def _above(taken: Reading, before: str, behind: str) -> str:
    return (
        f"{spoken(behind)} is {_said(taken, behind)}, above the {spoken(before)}, "
        f"{_said(taken, before)}: read both again and look at their units"
    )


@cites("RECORD_STATISTICS", "counters only grow, hours no faster than the clock")
def doubtful_counters(taken: Reading, earlier: Sequence[Reading]) -> tuple[str, ...]:
    """Return counters that went back since the reading before, or hours ahead of the clock.

    Parameters
    ----------
    taken : Reading
        The reading. [-]
    earlier : sequence of Reading
        Readings of the record by date. [-]

    Returns
    -------
    tuple of str
        One sentence for each counter that is odd. [-]
    """
    told = []
    for key in _COUNTERS:
        before = [r for r in earlier if r.when < taken.when and math.isfinite(r.get(key))]
        if not before or not math.isfinite(taken.get(key)):
            continue
        last = before[-1]
        words = (
            f"{spoken(key)} is {taken.get(key):.0f}, after {last.get(key):.0f} on {last.when:%F}"
        )
        if taken.get(key) < last.get(key):
            told.append(f"{words}: read it again, or note that the counter was set back")
        hours = (taken.when - last.when).total_seconds() / SECONDS_PER_HOUR
        ran = taken.get(key) - last.get(key)
        if key == "machine_hours_h" and ran > hours + COUNTER_SLACK_H:
            told.append(f"{words}: {ran:.0f} h run in {hours:.0f} h; read it again")
    return tuple(told)


@cites("PRACTICE", "a reading is written on the day it is taken, after the one before")
def doubtful_date(
    taken: Reading, earlier: Sequence[Reading], now: datetime.datetime
) -> tuple[str, ...]:
    """Return what is odd about the date of a reading.

    Parameters
    ----------
    taken : Reading
        The reading. [-]
    earlier : sequence of Reading
        Readings of the record by date. [-]
    now : datetime
        Clock of the computer. [-]

    Returns
    -------
    tuple of str
        Empty where the date follows the record. [-]
    """
    told = []
    if taken.when > now + LATE:
        told.append(f"it is dated {taken.when:%F}, and today is {now:%F}: look at the date")
    if any(r.when == taken.when for r in earlier):
        told.append(f"another reading of {taken.when:%F %H:%M} stands in the record")
    if not earlier:
        return tuple(told)
    first, last = baseline_of(earlier), earlier[-1]
    gap = (taken.when - last.when).total_seconds() / SECONDS_PER_HOUR / HOURS_PER_DAY
    if first is not None and taken.when < first.when:
        told.append(
            f"it is dated {taken.when:%F}, before the baseline of {first.when:%F}, and so "
            "is not judged: look at the date"
        )
    elif gap < 0.0:
        told.append(
            f"it is dated {taken.when:%F}, before the last reading of {last.when:%F}: look "
            "at the date"
        )
    elif gap > LONG_GAP_DAYS:
        told.append(
            f"it is dated {taken.when:%F}, {gap:.0f} days after the last reading: look at the year"
        )
    return tuple(told)
