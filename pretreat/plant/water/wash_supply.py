"""The well against every step of a backwash or rinse, where no raw tank stands between."""

import math
from collections.abc import Callable, Collection
from typing import Any

from msgspec import Struct

from pretreat.core.errors import PretreatError
from pretreat.core.law import Number, most
from pretreat.stages import ORDER, resolve
from pretreat.stages.bed.arrangement import arrangement_of
from pretreat.stages.stage import Wash
from pretreat.stages.train import Train

Value = Callable[[str], Any]  # a figure by its key

WASHING = {stage.key: stage for stage in ORDER if stage.wash is not None and stage.wash.steps}


class Draw(Struct, frozen=True):
    """A step of one vessel: its stage, its name, flow [m3/h], minutes, and vessels in turn."""

    stage: str
    name: str
    flow_m3_h: Number
    minutes: Number
    number: Number

    def short_m3(self, well_m3_h: float) -> Number:
        """Return what the well cannot give while the vessels take the step in turn [m3]."""
        return self.number * most(self.flow_m3_h - well_m3_h, 0.0) * self.minutes / 60.0


def draws(value: Value, stages: Collection[str], beside_m3_h: Number = 0.0) -> list[Draw]:
    """Return the steps of the stages.

    Parameters
    ----------
    value : callable
        Figure by its key. [any]
    stages : collection of str
        Stages that wash. [-]
    beside_m3_h : float or array
        What the machine takes meanwhile, where a softener regenerates beside it. [m3/h]

    Returns
    -------
    list of Draw
        Steps. [-]
    """
    found = []
    for stage in stages:
        number = value(f"{stage}.vessels_side_by_side")
        beside = beside_m3_h if _wash(stage).in_turn else 0.0
        for step in _wash(stage).steps:
            if step.flow == "feed":
                flow = value("machine.feed_flow_m3_h") / number
            else:
                flow = _looked_up(step.flow, value)
            minutes = _looked_up(step.minutes, value)
            found.append(Draw(stage, step.name, flow + beside, minutes, number))
    return found


def _wash(stage: str) -> Wash:
    wash = WASHING[stage].wash
    if wash is None:
        raise PretreatError(f"{stage} does not wash")
    return wash


def _looked_up(name: str, value: Value) -> Number:
    return resolve(name)(value) if ":" in name else value(name)


def _keys_of(stages: Collection[str]) -> tuple[str, ...]:
    """Return the keys of the figures that the steps of the stages follow from."""
    keys = ["machine.feed_flow_m3_h"]
    for stage in stages:
        keys.append(f"{stage}.vessels_side_by_side")
        for step in _wash(stage).steps:
            keys += [name for name in (step.minutes, step.flow) if "." in name and ":" not in name]
            keys += step.rests
    return tuple(dict.fromkeys(keys))


def enter_wash_supply(train: Train) -> None:
    """Enter the raw tank that backwash and rinse need where the well gives less than a step takes.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    entries, supply = train.entries, train.design.supply
    well = supply.well_yield_m3_h
    if well is None or supply.raw_tank_volume_m3:
        return
    twin = arrangement_of(entries.ledger, "softener") != "single"
    stages = tuple(s for s in WASHING if f"{s}.backwash_flow_m3_h" in entries.ledger)

    def steps(value: Value) -> list[Draw]:
        return draws(value, stages, value("machine.feed_flow_m3_h") if twin else 0.0)

    def needed_m3(value: Value) -> Number:
        return sum(step.short_m3(well) for step in steps(value))

    short = [step for step in steps(entries.value) if step.flow_m3_h > well]
    if not short:
        return
    key = "supply.raw_tank_needed_m3"
    need = entries.result(
        key,
        needed_m3(entries.value),
        "m3",
        "Raw tank that backwash and rinse of one night need",
        method="all stages in one night, vessels one after the other: what each "
        "step takes above the yield of the well",
    )
    entries.ledger.rests(key, *_keys_of(stages), again=needed_m3)
    worst = max(short, key=lambda step: step.flow_m3_h)
    others = len(short) - 1
    more = "" if not others else f" ({others} other step{'s' * (others > 1)} too)"
    entries.flag(
        "well_below_wash",
        "warning",
        f"the well gives {well:g} m3/h and no raw tank is given, while the {worst.name} of the "
        f"{WASHING[worst.stage].name} takes {worst.flow_m3_h:.1f} m3/h for {worst.minutes:.0f} "
        f"min{more}: a raw tank of at least {_usable(need)} m3 usable, with a pump of its own",
        "supply.raw_tank_needed_m3",
    )


def _usable(need_m3: float) -> str:
    """Return a tank's least volume in words, rounded up: never one of nothing."""
    tenths = math.ceil(10 * need_m3)
    return f"{tenths // 10}.{tenths % 10}"
