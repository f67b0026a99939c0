"""Settings of a valve that follow from a bed: drain flow control and minutes keyed in."""

import math

from pretreat.core.basis import Level
from pretreat.core.units import LITRE_PER_US_GALLON
from pretreat.stages.bed import valve_laws
from pretreat.stages.bed.hydraulics import bed_expansion
from pretreat.stages.bed.media import Medium
from pretreat.stages.train import Train

NEARLY = 0.9  # PRACTICE: nine tenths of the expansion wanted still clean a bed
ENOUGH = 0.75  # PRACTICE: below three quarters a bed above the largest size needs another way
LONGER_HELPS = 0.5  # PRACTICE: a bed lifted by less is not cleaned, however long it takes


def enter_drain_control(train: Train, prefix: str, label: str, medium: Medium) -> None:
    """Enter the drain flow control of one vessel; flag one too small for warm water.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    prefix, label : str
        Prefix of the keys and name of the stage. [-]
    medium : Medium
        Medium of the bed. [-]
    """
    entries, key = train.entries, f"{prefix}.drain_control_gpm"
    wanted = f"{prefix}.backwash_flow_m3_h"
    largest = f"{prefix}.backwash_flow_largest_m3_h"
    words, method = f"{label}: drain flow control, one vessel", "next smaller usual size"
    flows = [flow for flow in (wanted, largest) if flow in entries.ledger]
    if _none_lifts(train, prefix, medium, min(entries.value(flow) for flow in flows)):
        _enter_drain_valve(train, prefix, label, flows)
        return
    if largest in entries.ledger:
        size = entries.law(
            key,
            valve_laws.drain_control_gpm,
            backwash_m3_h=wanted,
            largest_m3_h=largest,
            label=words,
            evidence="common practice",
            method=f"{method}, never above what keeps the medium in the coldest water",
        )
    else:
        size = entries.law(
            key,
            valve_laws.drain_control_alone_gpm,
            backwash_m3_h=wanted,
            label=words,
            evidence="common practice",
            method=method,
        )
    if math.isnan(size):  # none of the usual sizes is small enough
        entries.flag(
            "drain_control_none",
            "caution",
            f"{label}: no usual drain flow control is as small as the backwash of this bed "
            f"({valve_laws.DRAIN_GPM[0]:g} gpm is the smallest): throttle the drain by hand, and "
            "look for medium in it",
            key,
        )
        return
    entries.law(
        f"{prefix}.drain_control_l_min",
        valve_laws.control_l_min,
        control_gpm=key,
        label=f"{words}, in litres",
        evidence="common practice",
    )
    _flag_small(train, prefix, label, medium)


def _sizes_below(flow_m3_h: float) -> tuple[float, ...]:
    """Return the usual sizes that a flow reaches [gpm]."""
    gpm = flow_m3_h * valve_laws.LITRE_PER_M3 / valve_laws.MINUTES_PER_HOUR / LITRE_PER_US_GALLON
    return tuple(size for size in valve_laws.DRAIN_GPM if size <= gpm + valve_laws.TIE)


def _none_lifts(train: Train, prefix: str, medium: Medium, flow_m3_h: float) -> bool:
    """Tell whether every usual size lifts the bed far less than the flow that it may take."""
    sizes = _sizes_below(flow_m3_h)
    if not sizes:
        return False
    area, warmest = train.entries.value(f"{prefix}.area_m2"), train.raw.warmest_c

    def reached(m3_h: float) -> float:
        return bed_expansion(medium.settled, m3_h / area, warmest)

    enough = ENOUGH if sizes == valve_laws.DRAIN_GPM else LONGER_HELPS
    of_size = (
        sizes[-1] * LITRE_PER_US_GALLON * valve_laws.MINUTES_PER_HOUR / valve_laws.LITRE_PER_M3
    )
    return reached(of_size) < enough * min(reached(flow_m3_h), medium["expansion_target"])


def _enter_drain_valve(train: Train, prefix: str, label: str, flows: list[str]) -> None:
    """Enter the flow to set at the drain where no usual flow control gives it."""
    entries, key = train.entries, f"{prefix}.drain_valve_l_min"
    l_min = entries.law(
        key,
        valve_laws.drain_valve_l_min,
        flows_m3_h=flows,
        label=f"{label}: orifice or regulating valve in the drain, one vessel",
        method="no usual flow control lifts the bed; never above what keeps the medium in the "
        "coldest water",
    )
    gpm = entries.law(
        f"{prefix}.drain_valve_gpm",
        valve_laws.drain_valve_gpm,
        flow_l_min=key,
        label=f"{label}: orifice or regulating valve in the drain, US",
    )
    nearest = _sizes_below(min(entries.value(flow) for flow in flows))[-1]
    m3_h = l_min * valve_laws.MINUTES_PER_HOUR / valve_laws.LITRE_PER_M3
    entries.flag(
        "drain_control_large",
        "caution",
        f"{label}: no flow control of the usual sizes lifts the bed ({nearest:g} gpm is the next "
        f"below): an orifice or regulating valve in the drain set to {m3_h:.1f} m3/h "
        f"({gpm:.0f} US gpm), or narrower vessels side by side",
        key,
    )


def _flag_small(train: Train, prefix: str, label: str, medium: Medium) -> None:
    """Say where the size that fits lifts the bed too little in the warmest water."""
    entries, key = train.entries, f"{prefix}.drain_control_gpm"
    size, area = entries.value(key), entries.value(f"{prefix}.area_m2")
    l_min = size * LITRE_PER_US_GALLON
    wanted = entries.value(f"{prefix}.backwash_flow_m3_h")
    flow = l_min * valve_laws.MINUTES_PER_HOUR / valve_laws.LITRE_PER_M3
    target, warmest = medium["expansion_target"], train.raw.warmest_c
    reached = bed_expansion(medium.settled, flow / area, warmest)
    if reached >= target:
        return
    level: Level = "info" if reached >= NEARLY * target else "caution"
    remedy = ""
    if level == "caution":
        helps = reached >= LONGER_HELPS * target
        remedy = ": a longer backwash, and" if helps else ": a longer backwash does not help;"
        remedy += " look at the bed oftener"
    entries.flag(
        "drain_control_small",
        level,
        f"{label}: the drain flow control of {size:g} gpm ({l_min:.1f} L/min) lifts the bed by "
        f"{reached:.0%} in water of {warmest:g} °C, {target:.0%} is wanted ({wanted:.2f} m3/h)"
        + remedy,
        key,
    )


def enter_keyed(train: Train, key: str, minutes_key: str, label: str, *, up: bool = False) -> None:
    """Enter minutes as they are keyed in.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    key, minutes_key : str
        Key of the setting, and of the exact minutes. [-]
    label : str
        Label. [-]
    up : bool
        Whether the step must never be shorter. [-]
    """
    train.entries.law(
        key,
        valve_laws.keyed_up_min if up else valve_laws.keyed_min,
        minutes=minutes_key,
        label=label,
        evidence="common practice",
        method="whole minutes",
    )
