"""Readings brought to the conditions of the baseline, so that only the machine shows."""

import datetime
import math

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.membrane.gauges.pressure import (
    KPA_PER_BAR,
    Operation,
    OsmoticCurve,
    array_factor,
    standard_drop,
    standard_flow,
    standard_salt_passage,
    temperature_factor,
)
from pretreat.record.readings import Reading


class Normalised(Struct, frozen=True):
    """One reading at baseline conditions; NaN where a gauge was not read.

    ``flow_m3_h`` product flow; ``passage`` product / feed conductivity; drops in bar, of the
    first stage, of the last and of all; ``cartridge_bar`` at baseline feed flow.
    """

    when: datetime.datetime
    flow_m3_h: float
    passage: float
    drop_first_bar: float
    drop_last_bar: float
    drop_bar: float
    cartridge_bar: float
    line: int


class _State(Struct, frozen=True):
    """What the equations need of one reading."""

    operation: Operation
    mean_flow: float
    feed_flow: float
    concentration: float  # average along the membranes over the fresh feed
    passage: float


def _or(value: float, other: float) -> float:
    return other if math.isnan(value) else value


def _flows(taken: Reading) -> tuple[float, float]:
    """Return product and feed flow; of three meters any two will do.

    Product plus drain, which are usually there, come before the feed meter.
    """
    feed, product, drain = (taken.get(f"{k}_flow_m3_h") for k in ("feed", "product", "drain"))
    product = _or(product, feed - drain)
    return product, _or(product + drain, feed)


def _drop_kpa(taken: Reading, base: Reading) -> float:
    """Return the drop along the membranes; not read, that of the baseline: half of it counts."""
    here, new = (
        r.get("feed_pressure_bar") - r.get("concentrate_pressure_bar") for r in (taken, base)
    )
    return _or(here, new) * KPA_PER_BAR


def _permeate_bar(taken: Reading, base: Reading) -> float:
    """Return the product pressure; not read, that of the baseline, or none."""
    return _or(taken.get("product_pressure_bar"), _or(base.get("product_pressure_bar"), 0.0))


def _state(taken: Reading, base: Reading, curve: OsmoticCurve) -> _State | None:
    """Return the state of a reading, None where the membranes cannot be judged from it."""
    product, feed = _flows(taken)
    temp = taken.get("temperature_c")
    recycle = _or(taken.get("recycle_flow_m3_h"), _or(base.get("recycle_flow_m3_h"), 0.0))
    if not (product > 0.0 and feed > product) or math.isnan(temp):
        return None
    strength = taken.get("feed_conductivity_us_cm") / base.get("feed_conductivity_us_cm")
    strength = _or(strength, 1.0)
    try:
        factor = array_factor(product / feed, recycle / (feed + recycle))
    except OutOfRangeError:
        return None
    passage = taken.get("product_conductivity_us_cm") / taken.get("feed_conductivity_us_cm")
    feed_kpa = taken.get("feed_pressure_bar") * KPA_PER_BAR
    operation = Operation(
        product_flow=product,
        temp_c=temp,
        feed_kpa=feed_kpa,
        drop_kpa=_drop_kpa(taken, base),
        permeate_kpa=_permeate_bar(taken, base) * KPA_PER_BAR,
        osmotic_feed_side_kpa=curve.at(factor * strength, temp),
        osmotic_permeate_kpa=curve.at(_or(passage, 0.0) * strength, temp),
    )
    return _State(operation, feed + recycle - product / 2.0, feed, factor, passage)


@cites("D4516", "standard conditions are those of the baseline")
def normalise(taken: Reading, base: Reading, curve: OsmoticCurve) -> Normalised:
    """Return a reading at the conditions of the baseline.

    Parameters
    ----------
    taken : Reading
        The reading. [-]
    base : Reading
        The baseline, a complete reading. [-]
    curve : OsmoticCurve
        Osmotic pressure of the water that enters the membranes. [-]

    Returns
    -------
    Normalised
        Values at baseline conditions; NaN where a gauge was not read. [-]
    """
    here, new = _state(taken, base, curve), _state(base, base, curve)
    stages = _stage_drops(taken)
    cartridge = taken.get("cartridge_in_bar") - taken.get("cartridge_out_bar")
    if here is None or new is None:
        nothing = math.nan
        return Normalised(
            taken.when, nothing, nothing, nothing, nothing, nothing, cartridge, taken.line
        )
    flow = standard_flow(here.operation, new.operation)
    salt = standard_salt_passage(
        here.passage,
        here.operation.product_flow / new.operation.product_flow,
        temperature_factor(new.operation.temp_c) / temperature_factor(here.operation.temp_c),
        new.concentration / here.concentration,
    )
    ratio = new.mean_flow / here.mean_flow
    temps = here.operation.temp_c, new.operation.temp_c
    first, last, whole = (standard_drop(d, ratio, *temps) for d in stages)
    return Normalised(
        taken.when,
        flow,
        salt,
        first,
        last,
        whole,
        cartridge * new.feed_flow / here.feed_flow,
        taken.line,
    )


def _stage_drops(taken: Reading) -> tuple[float, float, float]:
    feed, between, end = (
        taken.get(key)
        for key in ("feed_pressure_bar", "interstage_pressure_bar", "concentrate_pressure_bar")
    )
    return feed - between, between - end, feed - end
