"""The week's programme: which vessel regenerates when, with the membranes stopped."""

import math

from pretreat.core.basis import Series, Value
from pretreat.plant.calendar.week import DAYS, Duty, Slot, clock, week_of
from pretreat.plant.laws import idle_min
from pretreat.plant.water.supply import Washer, minutes_of, stops_flow, washers
from pretreat.stages.train import Train


def enter_week(train: Train) -> None:
    """Enter the week's calendar of all vessels and judge whether it fits.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    timed = [w for w in washers(train) if not _at_any_hour(train, w)]
    duties = tuple(duty for w in timed if (duty := _duty(train, w)) is not None)
    if not duties:
        _judge(train, ())
        return
    asked = {w.label: " if its meter asks" for w in timed if _metered(train, w)}
    slots = week_of(duties)
    names = tuple(dict.fromkeys(duty.name for duty in duties))
    rows: list[tuple[Value, ...]] = []
    for number, day in enumerate(DAYS):
        today = [slot for slot in slots if slot.day == number]
        minutes = [math.fsum(s.end_min - s.start_min for s in today if s.name == n) for n in names]
        sequence = (
            "; ".join(f"{clock(s.start_min)} {s.name}{asked.get(s.name, '')}" for s in today)
            or "none"
        )
        end = clock(max(s.end_min for s in today)) if today else ""
        rows.append((day, sequence, end, *minutes, math.fsum(minutes)))
    columns = tuple(f"{name.lower().replace(' ', '_')}_min" for name in names)
    train.entries.ledger.table(
        Series(
            "programme.week",
            "Regenerations of a week, one after the other",
            ("day", "starts", "done", *columns, "total_min"),
            ("-", "-", "-", *("min" for _ in columns), "min"),
            tuple(rows),
            headings=("Day", "Starts", "Done by", *names, "All"),
            method="from midnight, upstream first; timers that count two or three days go on "
            "into the next week; membranes stopped or fed from storage meanwhile"
            + _metered_words(train),
        )
    )
    _judge(train, slots)


def _duty(train: Train, washer: Washer) -> Duty | None:
    entries = train.entries
    setting = entries.ledger.number(f"{washer.prefix}.programme_days")
    per_week = entries.ledger.number(washer.per_week_key)
    if per_week is None:
        return None
    gap = 7.0 / per_week if setting is None else setting
    if _metered(train, washer):
        gap = 1.0  # any night may be its night
    return Duty(washer.label, gap, minutes_of(train, washer, keyed_in=True))


def _metered(train: Train, washer: Washer) -> bool:
    return washer.prefix == "softener" and train.design.softener.control == "meter"


def _at_any_hour(train: Train, washer: Washer) -> bool:
    """Tell whether a meter calls with no night to wait for: beside the flow, or within a day."""
    per_week = train.entries.ledger.number(washer.per_week_key)
    daily = per_week is not None and per_week > len(DAYS)
    return _metered(train, washer) and (daily or not stops_flow(train, washer))


def _metered_words(train: Train) -> str:
    """Return what the calendar says about a softener that has no days of its own."""
    softener = next((w for w in washers(train) if _metered(train, w)), None)
    if softener is None:
        return ""
    if _at_any_hour(train, softener):
        return "; the softener goes by its meter at any hour and is not in the calendar"
    return "; the softener goes by its meter: a time is kept for it every night"


def _calendar_of(train: Train) -> tuple[str, ...]:
    """Return the keys of what all stages ask of the calendar."""
    asked = (key for w in washers(train) for key in w.programme_keys)
    return tuple(key for key in asked if key in train.entries.ledger)


def _judge(train: Train, slots: tuple[Slot, ...]) -> None:
    """Compare the fullest day with the idle time, and its water with tank and well."""
    entries = train.entries
    stopping = {w.label for w in washers(train) if stops_flow(train, w)}
    called = sum(  # by a meter that calls within the day, mean
        minutes_of(train, w) * entries.value(w.per_week_key) / len(DAYS)
        for w in washers(train)
        if _at_any_hour(train, w) and w.label in stopping
    )
    by_day = [
        called
        + math.fsum(s.end_min - s.start_min for s in slots if s.day == day and s.name in stopping)
        for day in range(len(DAYS))
    ]
    key = "programme.fullest_night_min"
    fullest = entries.result(
        key,
        max(by_day),
        "min",
        "Longest time in a day in which regenerations stop the machine",
        method="from the week's calendar",
    )
    entries.ledger.rests(key, *_calendar_of(train))
    idle = entries.law(
        "programme.idle_min",
        idle_min,
        running_hours_per_day="machine.hours_per_day",
        label="Time in a day without running",
    )
    if fullest > idle:
        entries.flag(
            "night_too_short",
            "caution",
            f"the fullest day has {fullest:.0f} min of regenerations, the machine stands "
            f"still for {idle:.0f} min: feed the membranes from storage, run a duplex, or "
            "run less",
            "programme.fullest_night_min",
        )
    _judge_water(train, slots)


def _judge_water(train: Train, slots: tuple[Slot, ...]) -> None:
    entries, supply = train.entries, train.design.supply
    water = {w.label: entries.value(w.water_key) for w in washers(train)}
    beside = sum(  # by a meter at any hour, mean of a day
        water[w.label] * entries.value(w.per_week_key) / len(DAYS)
        for w in washers(train)
        if _at_any_hour(train, w)
    )
    by_day = [
        beside + sum(water[s.name] for s in slots if s.day == day) for day in range(len(DAYS))
    ]
    key = "programme.fullest_night_m3"
    entries.result(
        key,
        max(by_day),
        "m3",
        "Most water that a day's regenerations take",
        method="from the week's calendar",
    )
    entries.ledger.rests(key, *_calendar_of(train), *(w.water_key for w in washers(train)))
    tank, well = supply.raw_tank_volume_m3, supply.well_yield_m3_h
    if tank is None or well is None:
        return
    short, worst = max((_short_m3(train, slots, day, tank, well), day) for day in range(len(DAYS)))
    if short > 0:
        entries.flag(
            "raw_tank_small",
            "warning",
            f"a day's regenerations take {by_day[worst]:.1f} m3; with the well "
            f"({well:g} m3/h) the raw tank ({tank:g} m3) is {short:.1f} m3 too small for them: a "
            "larger tank, or spread the stages",
            "programme.fullest_night_m3",
        )


def _short_m3(
    train: Train, slots: tuple[Slot, ...], day: int, tank_m3: float, well_m3_h: float
) -> float:
    """Return what tank and well lack for a day's regenerations [m3].

    Regenerations that stop the machine have the well to themselves; the others share it with
    the machine, and what both take above its yield comes from the tank too.
    """
    feed = train.entries.value("machine.feed_flow_m3_h")
    drawn = 0.0
    for stopping in (True, False):
        water = hours = 0.0
        for washer in washers(train):
            if stops_flow(train, washer) != stopping:
                continue
            minutes = [s.end_min - s.start_min for s in slots if _is_of(s, washer, day)]
            times: float = len(minutes)
            if _at_any_hour(train, washer):  # mean of a day
                times = train.entries.value(washer.per_week_key) / len(DAYS)
                minutes = [minutes_of(train, washer) * times]
            water += times * train.entries.value(washer.water_key)
            hours += math.fsum(minutes) / 60.0
        running = 0.0 if stopping else feed
        drawn += max(water + (running - well_m3_h) * hours, 0.0)
    return drawn - tank_m3


def _is_of(slot: Slot, washer: Washer, day: int) -> bool:
    return slot.day == day and slot.name == washer.label
