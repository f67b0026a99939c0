"""The well against every step of a backwash or rinse, where no raw tank stands between."""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Any

from pretreat.core.law import Number, most
from pretreat.stages.bed.arrangement import arrangement_of
from pretreat.stages.train import Train

Value = Callable[[str], Any]  # a figure by its key

NIGHTLY = ("iron_filter", "multimedia", "softener", "carbon")
STEPS = {  # of a stage: name, key of the minutes, and what flows
    "iron_filter": (("backwash", "iron_filter.backwash_min"), ("rinse", "iron_filter.rinse_min")),
    "multimedia": (("backwash", "multimedia.backwash_min"), ("rinse", "multimedia.rinse_min")),
    "softener": (("backwash", "softener.backwash_min"),),
    "carbon": (("backwash", "carbon.backwash_min"), ("rinse", "carbon.rinse_min")),
}
NAMES = {
    "iron_filter": "iron filter",
    "multimedia": "multimedia filter",
    "softener": "softener",
    "carbon": "carbon",
}


@dataclass(frozen=True, slots=True)
class Draw:
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
    feed = value("machine.feed_flow_m3_h")
    for stage in stages:
        number = value(f"{stage}.vessels_side_by_side")
        beside = beside_m3_h if stage == "softener" else 0.0
        for name, key in STEPS[stage]:
            wash = value(f"{stage}.backwash_flow_m3_h")
            flow = wash if name == "backwash" else feed / number  # of one vessel
            found.append(Draw(stage, name, flow + beside, value(key), number))
        if stage == "softener":
            bv_h, bv = (value(f"softener.fast_rinse_{n}") for n in ("bv_h", "bv"))
            flow = bv_h * value("softener.resin_filled_l") / 1000.0
            found.append(Draw(stage, "fast rinse", flow + beside, bv / bv_h * 60.0, number))
    return found


def _keys_of(stages: Collection[str]) -> tuple[str, ...]:
    """Return the keys of the figures that the steps of the stages follow from."""
    rinse = ("softener.fast_rinse_bv_h", "softener.fast_rinse_bv", "softener.resin_filled_l")
    keys = ["machine.feed_flow_m3_h"]
    for stage in stages:
        keys += [f"{stage}.vessels_side_by_side", f"{stage}.backwash_flow_m3_h"]
        keys += [key for _, key in STEPS[stage]]
        keys += rinse if stage == "softener" else ()
    return tuple(keys)


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
    stages = tuple(s for s in NIGHTLY if f"{s}.backwash_flow_m3_h" in entries.ledger)

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
        f"the well gives {well:g} m3/h and no raw tank is given; the {worst.name} of the "
        f"{NAMES[worst.stage]} takes {worst.flow_m3_h:.1f} m3/h for {worst.minutes:.0f} "
        f"min{more}: a raw tank of at least {need:.1f} m3 usable, with a pump of its own",
        "supply.raw_tank_needed_m3",
    )
