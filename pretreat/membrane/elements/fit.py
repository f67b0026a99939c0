"""A and B from one reading: exactly by the march, quickly by averages.

Take the reading after one or two days at a steady state (common practice). With recycle the march
sees the array feed, which is found from the recycle; the quick way takes it as given.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import cites
from pretreat.core.errors import AnalysisError, DesignError
from pretreat.membrane.elements.array import Array, check_array
from pretreat.membrane.elements.channel import recovery_wall_factor
from pretreat.membrane.elements.feed import ElementFeed, dissolved_mg_l
from pretreat.membrane.elements.march import osmotic_bar
from pretreat.membrane.elements.operate import (
    FLOW_RANGE_M3_H,
    HIGHEST_BAR,
    RECOVERY_RANGE,
    RECYCLE_RANGE_M3_H,
    Duty,
    Operation,
    operate,
)
from pretreat.membrane.elements.permeability import (
    SALT_RANGE_LMH,
    WATER_RANGE_LMH_BAR,
    Membrane,
    refuse_outside,
    temperature_factor,
)

ROUNDS = 40
SETTLED = 1e-9  # relative miss of product pressure and permeate salt
LEAST_SALT_LMH = 1e-4
Meter = Callable[[ElementFeed, Any], Any]  # reads the salt of rows of amounts: mg/L, or µS/cm


class Reading(Struct, frozen=True):
    """One steady state read from the machine's gauges; pressures gauge.

    ``permeate_salt`` is what the meter of the fit shows for the product: dissolved solids in
    mg/L, or a conductivity.
    """

    product_m3_h: float
    drain_m3_h: float
    feed_bar: float
    permeate_salt: float
    concentrate_bar: float | None = None  # for the factor of the pressure drop
    recycle_m3_h: float = 0.0
    product_bar: float | None = None  # that of the array where it was not read

    @property
    def recovery(self) -> float:
        """Product / fresh feed. [-]."""
        return self.product_m3_h / (self.product_m3_h + self.drain_m3_h)

    @property
    def duty(self) -> Duty:
        """The duty that was running."""
        return Duty(self.product_m3_h, self.recovery, self.recycle_m3_h)


class Fit(Struct, frozen=True):
    """A and B at 25 °C that give the reading, and the machine running with them."""

    membrane: Membrane
    operation: Operation
    rounds: int


def check_reading(reading: Reading, fresh: ElementFeed, meter: Meter = dissolved_mg_l) -> None:
    """Refuse a reading that no machine can show.

    Parameters
    ----------
    reading : Reading
        The reading. [-]
    fresh : ElementFeed
        The fresh feed of that day; a single water. [-]
    meter : callable
        Reads the salt of a water. [mg/L or µS/cm]

    Raises
    ------
    OutOfRangeError
        If a gauge is outside what can be.
    AnalysisError
        If pressures or salts contradict each other.
    """
    refuse_outside("product flow", reading.product_m3_h, FLOW_RANGE_M3_H, "m3/h")
    refuse_outside("drain flow", reading.drain_m3_h, FLOW_RANGE_M3_H, "m3/h")
    refuse_outside("recovery", reading.recovery, RECOVERY_RANGE, "-")
    refuse_outside("recycle flow", reading.recycle_m3_h, RECYCLE_RANGE_M3_H, "m3/h")
    refuse_outside("feed pressure", reading.feed_bar, (0.0, HIGHEST_BAR), "bar")
    if fresh.amounts.ndim > 1:
        raise AnalysisError("a fit takes one water: give the feed of the day of the reading")
    entering = float(meter(fresh, fresh.amounts))
    unit = "mg/L" if meter is dissolved_mg_l else "µS/cm"
    if not 0.0 < reading.permeate_salt < entering:
        raise AnalysisError(
            f"permeate of {reading.permeate_salt:g} {unit} from a feed of {entering:g} {unit}: the "
            "permeate must hold some salt and less than the feed; check the two readings"
        )
    end = reading.concentrate_bar
    if end is not None and not 0.0 <= end <= reading.feed_bar:
        raise AnalysisError(
            f"concentrate pressure {end:g} bar, feed pressure {reading.feed_bar:g} bar: the "
            "concentrate must be between 0 and the feed; check the two gauges"
        )


def fit_membrane(
    array: Array,
    reading: Reading,
    fresh: ElementFeed,
    start: Membrane | None = None,
    meter: Meter = dissolved_mg_l,
) -> Fit:
    """Find A and B so that the march gives the pressure and the permeate that were read.

    A is corrected by the net pressure, B by the permeate, round by round; with a concentrate
    pressure the factor of the pressure drop too. Relative B of the ions stays as in ``start``.

    Parameters
    ----------
    array : Array
        The array that was running. [-]
    reading : Reading
        The reading. [-]
    fresh : ElementFeed
        The fresh feed of that day, one water. [-]
    start : Membrane, optional
        Where to start and what to keep; the usual membrane where left out. [-]
    meter : callable
        Reads the salt of the product as the reading gives it. [mg/L or µS/cm]

    Returns
    -------
    Fit
        The membrane, and the machine running with it. [-]

    Raises
    ------
    OutOfRangeError
        If a gauge, or A or B found, is outside what a membrane has.
    AnalysisError
        If readings contradict each other.
    DesignError
        If the reading cannot be met.
    """
    check_reading(reading, fresh, meter)
    check_array(array)
    membrane = start or Membrane()
    if reading.product_bar is not None:
        array = replace(array, product_bar=reading.product_bar)
    _some_pressure_drives(array, reading)
    for count in range(1, ROUNDS + 1):
        found = operate(array, membrane, fresh, reading.duty)
        following, miss = _corrected(membrane, found, reading, meter)
        if miss < SETTLED:
            return Fit(membrane, found, count)
        refuse_outside(
            "water permeability that the reading asks for",
            following.water_lmh_bar,
            WATER_RANGE_LMH_BAR,
            "L/m2/h/bar",
        )
        refuse_outside(
            "salt permeability that the reading asks for",
            following.salt_lmh,
            SALT_RANGE_LMH,
            "L/m2/h",
        )
        membrane = following
    raise DesignError(
        f"A and B do not settle on the reading of {reading.product_m3_h:g} m3/h at "
        f"{reading.feed_bar:g} bar and product salt of {reading.permeate_salt:g}: check flows, "
        "pressures and both conductivities"
    )


def _some_pressure_drives(array: Array, reading: Reading) -> None:
    if reading.feed_bar <= array.product_bar:
        raise AnalysisError(
            f"feed pressure {reading.feed_bar:g} bar is not above the product pressure "
            f"{array.product_bar:g} bar: nothing would drive the water; check the gauges"
        )


def _corrected(
    membrane: Membrane, found: Operation, reading: Reading, meter: Meter
) -> tuple[Membrane, float]:
    """Return the next membrane and the largest relative miss of this one."""
    warm = temperature_factor(found.fresh.temp_c, membrane.water_temperature_base)
    driving = float(found.flux_lmh / (membrane.water_lmh_bar * warm))
    shortfall = reading.feed_bar - float(found.feed_bar)
    water = membrane.water_lmh_bar * driving / max(driving + shortfall, driving / 4.0)
    made = float(meter(found.fresh, found.march.permeate))
    salt = max(membrane.salt_lmh, LEAST_SALT_LMH) * reading.permeate_salt / made
    miss = max(abs(shortfall) / reading.feed_bar, abs(made / reading.permeate_salt - 1.0))
    drop = membrane.drop_factor
    if reading.concentrate_bar is not None:
        calculated = float(found.feed_bar) - float(found.concentrate_bar)
        drop, off = _drop_factor(found, drop, calculated, reading)
        miss = max(miss, off)
    return replace(membrane, water_lmh_bar=water, salt_lmh=salt, drop_factor=drop), miss


def _drop_factor(
    found: Operation, factor: float, calculated: float, reading: Reading
) -> tuple[float, float]:
    """Return the next factor; losses between the stages are not scaled."""
    fixed = found.array.interstage_bar * (len(found.array.vessels) - 1) - sum(found.array.boost_bar)
    read = reading.feed_bar - float(reading.concentrate_bar or 0.0)
    if read <= fixed:
        raise AnalysisError(
            f"feed and concentrate differ by {read:g} bar, the piping between the stages alone by "
            f"{fixed:g} bar: check the two gauges"
        )
    following = factor * (read - fixed) / (calculated - fixed)
    return following, abs(calculated - read) / reading.feed_bar


class QuickFit(Struct, frozen=True):
    """A and B at 25 °C from averages along the array."""

    net_bar: Any
    water_lmh_bar: Any
    salt_lmh: Any
    wall_factor: Any


@cites("SOLUTION_DIFFUSION", "log-mean on the feed side, wall factor of the mean element")
def quick_fit(
    array: Array,
    reading: Reading,
    array_feed: ElementFeed,
    membrane: Membrane | None = None,
    polarised: bool = True,
) -> QuickFit:
    """Estimate A and B from averages along the array; within about 1 and 2 % of the march.

    Parameters
    ----------
    array : Array
        The array that was running. [-]
    reading : Reading
        The reading; its drop is taken from the concentrate pressure, 0 where not read. [-]
    array_feed : ElementFeed
        What enters the array, recycle mixed in; one water of sodium and chloride. [-]
    membrane : Membrane, optional
        For its temperature bases; the usual one where left out. [-]
    polarised : bool
        Count the wall factor ``exp(0.7 r)``; without it B is about 15 % too high. [-]

    Returns
    -------
    QuickFit
        Net driving pressure, A and B of the dissolved solids, wall factor. [-]

    Raises
    ------
    OutOfRangeError
        If a gauge is outside what can be.
    AnalysisError
        If readings contradict each other.
    """
    check_reading(reading, array_feed)
    known = membrane or Membrane()
    recovery = reading.product_m3_h / float(reading.duty.array_feed_m3_h)
    salt = float(dissolved_mg_l(array_feed, array_feed.amounts))
    average = np.log(1.0 / (1.0 - recovery)) / recovery
    wall = 1.0
    if polarised:
        wall = float(recovery_wall_factor(1.0 - (1.0 - recovery) ** (1.0 / array.in_series)))
    osmotic_feed = osmotic_bar(array_feed)
    passed = reading.permeate_salt
    osmotic = osmotic_feed * (wall * average - passed / salt)
    end = reading.feed_bar if reading.concentrate_bar is None else reading.concentrate_bar
    back = array.product_bar if reading.product_bar is None else reading.product_bar
    net = (reading.feed_bar + end) / 2.0 - back - osmotic
    if not net > 0.0:
        raise AnalysisError(
            f"net driving pressure is {net:.3g} bar at {reading.feed_bar:g} bar: nothing would "
            "drive the water; check pressures and conductivities"
        )
    flux = 1000.0 * reading.product_m3_h / array.area_m2
    warm = float(temperature_factor(array_feed.temp_c, known.water_temperature_base))
    warm_salt = float(temperature_factor(array_feed.temp_c, known.salt_temperature_base))
    salt_lmh = flux * passed / ((wall * average * salt - passed) * warm_salt)
    return QuickFit(net, flux / (net * warm), salt_lmh, wall)
