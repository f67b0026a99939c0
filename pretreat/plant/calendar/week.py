"""The week's calendar: which stage regenerates on which night, one after the other."""

from itertools import product

from msgspec import Struct

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
# Nights of a seven-day week on which a setting falls, counted from its first night. Timers
# that count every second or third day go on counting into the next week.
NIGHTS = {
    0.5: (0, 1, 2, 3, 4, 5, 6),
    1.0: (0, 1, 2, 3, 4, 5, 6),
    2.0: (0, 2, 4, 6),
    3.0: (0, 3, 6),
    4.0: (0, 3),
    7.0: (0,),
}
NOON_MIN = 12 * 60


class Duty(Struct, frozen=True):
    """A stage that regenerates: its name, the gap it is set to [d] and its time [min]."""

    name: str
    gap_d: float
    minutes: float


class Slot(Struct, frozen=True):
    """One regeneration of the week: day from 0, start and end in minutes of that day."""

    name: str
    day: int
    start_min: float
    end_min: float


def nights_of(gap_d: float, first: int = 0) -> tuple[int, ...]:
    """Return the nights of a week on which a gap falls.

    Parameters
    ----------
    gap_d : float
        Gap between two regenerations; one that no timer offers counts whole nights. [d]
    first : int
        First night, from 0. [-]

    Returns
    -------
    tuple of int
        Days of the week, from 0. [-]
    """
    nights = NIGHTS.get(gap_d)
    if nights is None and gap_d < 1.0:  # a meter that calls several times a day
        return NIGHTS[1.0]
    if nights is None:
        count = int(7.0 / gap_d)
        nights = tuple(sorted({int(k * gap_d) for k in range(count + 1) if k * gap_d < 7.0}))
    span = len(DAYS)
    if gap_d in {2.0, 3.0}:  # counting timers do not wrap inside the week
        return tuple(n + first for n in nights if n + first < span)
    return tuple(sorted((n + first) % span for n in nights))


def first_nights(duties: tuple[Duty, ...]) -> tuple[int, ...]:
    """Return the first nights that make the fullest night as short as can be.

    Parameters
    ----------
    duties : tuple of Duty
        Stages in the order of flow. [-]

    Returns
    -------
    tuple of int
        First night of each stage. [-]
    """
    choices = [range(1) if d.gap_d <= 1.0 else range(min(int(d.gap_d), 7)) for d in duties]
    return min(product(*choices), key=lambda firsts: (_fullest(duties, firsts), firsts))


def _fullest(duties: tuple[Duty, ...], firsts: tuple[int, ...]) -> float:
    minutes = [0.0] * len(DAYS)
    for duty, first in zip(duties, firsts, strict=True):
        for day in nights_of(duty.gap_d, first):
            minutes[day] += duty.minutes
    return max(minutes)


def week_of(duties: tuple[Duty, ...], start_min: float = 0.0) -> tuple[Slot, ...]:
    """Return the calendar of a week: one stage after the other, in the order of flow.

    The upstream stage goes first, so that the next one regenerates with its filtered water.
    A stage set to twice a day regenerates again from noon on.

    Parameters
    ----------
    duties : tuple of Duty
        Stages in the order of flow. [-]
    start_min : float
        Minute of the day at which the first may start. [min]

    Returns
    -------
    tuple of Slot
        Regenerations by day and time; none overlaps another. [-]
    """
    firsts = first_nights(duties)
    slots: list[Slot] = []
    for day in range(len(DAYS)):
        clock = start_min
        for duty, first in zip(duties, firsts, strict=True):
            if day in nights_of(duty.gap_d, first):
                slots.append(Slot(duty.name, day, clock, clock + duty.minutes))
                clock += duty.minutes
        clock = max(clock, start_min + NOON_MIN)
        for duty in duties:
            if duty.gap_d < 1.0:
                slots.append(Slot(duty.name, day, clock, clock + duty.minutes))
                clock += duty.minutes
    return tuple(slots)


def clock(minute: float) -> str:
    """Return a minute of the day as a time.

    Parameters
    ----------
    minute : float
        Minute from midnight. [min]

    Returns
    -------
    str
        Such as "02:30"; minutes rounded up. [-]
    """
    whole = int(minute) + (minute > int(minute))
    return f"{whole // 60 % 24:02d}:{whole % 60:02d}"
