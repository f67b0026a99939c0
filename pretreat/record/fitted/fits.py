"""A and B of the elements from the baseline and from the last reading of a record."""

import datetime
import math
from collections.abc import Sequence

from msgspec import Struct

from pretreat.core.basis import Flag
from pretreat.core.errors import PretreatError
from pretreat.core.results import Study
from pretreat.membrane.elements.feed import ElementFeed, element_feed
from pretreat.membrane.elements.fit import Reading as GaugesRead
from pretreat.membrane.elements.fit import fit_membrane
from pretreat.membrane.elements.machine import Machine, machine_of
from pretreat.membrane.elements.permeability import Membrane
from pretreat.record.fitted.gauges_of_fit import (
    as_fit_reading,
    lacking,
    meter_us_cm,
    water_of_the_day,
)
from pretreat.record.readings import Reading, RecordError, baseline_of
from pretreat.site.design import DesignBasis

COEFFICIENTS = ("water_permeability_lmh_bar", "salt_permeability_lmh")
WATERS = "machine.waters"  # the table of a study that holds the water onto the elements
GAUGE_ERROR = 0.02  # RECORD_STATISTICS: of a pressure gauge, of what it shows
OTHER_WATER = 0.3  # PRACTICE: seasons move the salt of a well less
SECONDS_PER_DAY = 86_400.0


class ReadingFit(Struct, frozen=True):
    """The membrane that gives one reading; ``salt_share`` is its feed's salt over the analysis.

    ``drop_error`` is one standard deviation of its pressure drop, relative; None where the drop
    was not read.
    """

    when: datetime.datetime
    membrane: Membrane
    drop_error: float | None
    salt_share: float

    @property
    def stamp(self) -> str:
        """Date and time as they are printed."""
        return f"{self.when:%Y-%m-%d %H:%M}"


class Fits(Struct, frozen=True):
    """The membrane as new, and as the readings show it; None where a reading does not.

    ``given`` holds the coefficients that the site file gives; the others are the usual ones.
    """

    new: Membrane
    given: frozenset[str]
    baseline: ReadingFit | None
    last: ReadingFit | None
    water: ElementFeed
    flags: tuple[Flag, ...]

    @property
    def newest(self) -> ReadingFit | None:
        """The last reading that could be fitted."""
        return self.last or self.baseline

    @property
    def days(self) -> float:
        """Days from the baseline to the last. [d]."""
        if self.baseline is None or self.last is None:
            return 0.0
        return (self.last.when - self.baseline.when).total_seconds() / SECONDS_PER_DAY


def water_onto(study: Study) -> ElementFeed | None:
    """Return the water onto the elements of a study, None where no element is run in it."""
    table = study.series.get(WATERS)
    if table is None:
        return None
    keys, fresh = table.column("constituent"), table.column("feed_mg_l")
    temp_c = study.number("water.operating_temperature_c") or 0.0
    amounts = {str(k): float(v or 0.0) for k, v in zip(keys, fresh, strict=True)}
    return element_feed(amounts, temp_c)


def fits_of(
    readings: Sequence[Reading],
    design: DesignBasis,
    study: Study,
    baseline: datetime.datetime | None = None,
) -> Fits | None:
    """Fit A and B to the baseline and to the last reading of a record.

    Parameters
    ----------
    readings : sequence of Reading
        Readings by date. [-]
    design : DesignBasis
        The engineer's choices, the membrane as new. [-]
    study : Study
        The site, with the water onto the elements. [-]
    baseline : datetime, optional
        Time of the baseline; the first complete reading written where left out. [-]

    Returns
    -------
    Fits or None
        None where the site names no elements, or no reading can be a baseline. [-]
    """
    base, machine = baseline_of(readings, baseline), machine_of(design)
    if machine is None or base is None:
        return None
    given = frozenset(k for k in COEFFICIENTS if design.origin(f"machine.{k}") == "chosen")
    water = water_onto(study)
    if water is None:
        return None
    if machine.chosen:
        text = (
            "A and B of the elements are not fitted to the readings: the site file does not say "
            "how the elements stand; give array and elements_per_vessel in [machine]"
        )
        return Fits(machine.membrane, given, None, None, water, (Flag("fit_open", "info", text),))
    first, flags = _fitted(base, base, machine, water)
    later = [r for r in readings if r.when > base.when and _of_machine(r)]
    flags += _lacks(later)
    usable = next((r for r in reversed(later) if not lacking(r)), None)
    last, more = (None, ()) if usable is None else _fitted(usable, base, machine, water)
    return Fits(machine.membrane, given, first, last, water, (*flags, *more))


def _of_machine(taken: Reading) -> bool:
    """Tell whether a reading is one of the machine at all."""
    return taken.get("feed_pressure_bar") > 0.0 or taken.get("product_flow_m3_h") > 0.0


def _lacks(later: Sequence[Reading]) -> tuple[Flag, ...]:
    """Say in one line what the last reading of the machine lacks."""
    missing = lacking(later[-1]) if later else ()
    if not missing:
        return ()
    full = next((r for r in reversed(later) if not lacking(r)), None)
    instead = "" if full is None else f"; that of {full.when:%Y-%m-%d %H:%M} is used"
    text = (
        f"A and B of the elements are not fitted to the reading of {later[-1].when:%Y-%m-%d %H:%M}"
        f": it lacks {', '.join(missing)}{instead}"
    )
    return (Flag("fit_gauge_missing", "caution", text, "record.readings"),)


def _drop_error(gauges: GaugesRead) -> float | None:
    """Return the error of a pressure drop as that of a difference of two gauges, relative."""
    feed, end = gauges.feed_bar, gauges.concentrate_bar
    if end is None or not end < feed:
        return None
    return GAUGE_ERROR * math.hypot(feed, end) / (feed - end)


def _fitted(
    taken: Reading, base: Reading, machine: Machine, analysis: ElementFeed
) -> tuple[ReadingFit | None, tuple[Flag, ...]]:
    """Fit one reading; where it cannot be, say why in one line."""
    try:
        water, share = water_of_the_day(analysis, taken)
        gauges = as_fit_reading(taken, base, machine)
        found = fit_membrane(machine.array, gauges, water, machine.membrane, meter_us_cm)
    except PretreatError as problem:
        text = (
            f"A and B of the elements cannot be fitted to the reading of "
            f"{taken.when:%Y-%m-%d %H:%M}: {problem}"
        )
        return None, (Flag("fit_failed", "caution", text, "record.readings"),)
    fit = ReadingFit(taken.when, found.membrane, _drop_error(gauges), share)
    if abs(share - 1.0) <= OTHER_WATER:
        return fit, ()
    text = (
        f"the feed of {fit.stamp} held {share:.2f} times the salt of the analysis: A and B rest on "
        "the analysis at that strength; have the water analysed again"
    )
    return fit, (Flag("fit_other_water", "caution", text, "record.readings"),)


def fit_of_day(
    fits: Fits, readings: Sequence[Reading], machine: Machine, when: datetime.datetime
) -> tuple[ReadingFit | None, tuple[Flag, ...]]:
    """Fit A and B to the reading of a moment.

    Parameters
    ----------
    fits : Fits
        What the record shows. [-]
    readings : sequence of Reading
        Readings by date. [-]
    machine : Machine
        The machine of the site file. [-]
    when : datetime
        Its date and time; seconds do not matter. [-]

    Returns
    -------
    tuple of ReadingFit or None and flags
        None where it cannot be fitted; a flag says why. [-]

    Raises
    ------
    RecordError
        If no reading has that time, or it lacks a gauge; one line.
    """
    taken = next((r for r in readings if when in (r.when, r.when.replace(second=0))), None)
    if taken is None:
        raise RecordError(f"no reading of {when:%Y-%m-%d %H:%M} in the record")
    missing = lacking(taken)
    if missing:
        raise RecordError(f"the reading of {when:%Y-%m-%d %H:%M} lacks {', '.join(missing)}")
    base = baseline_of(readings) or taken
    return _fitted(taken, base, machine, fits.water)
