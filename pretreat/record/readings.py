"""One dated reading: which gauges there are, and what makes a reading complete."""

import datetime
import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from types import MappingProxyType

from msgspec import Struct, field

from pretreat.core.errors import OutOfRangeError, PretreatError, one_of
from pretreat.core.tables import rows
from pretreat.core.text import csv_text, plain_text

FORMULA_SIGNS = "=+-@ "  # a spreadsheet takes a text that starts so for a formula
LONGEST_NOTE = 400  # characters; a line of the record stays one line on a screen


class RecordError(PretreatError):
    """A record of readings that cannot be used, or a reading that cannot be entered."""


class Gauge(Struct, frozen=True):
    """One thing that is read: name, unit, and between which values it can be true."""

    key: str
    label: str
    unit: str
    low: float
    high: float
    baseline: bool
    section: str
    code: str = ""  # short name, to be typed
    stage: str = ""  # unit process without which it is not there
    sheet_unit: str = ""  # on the record sheet, and of a bare number that answers a question
    sheet_unit_us: str = ""


@lru_cache(maxsize=1)
def gauges() -> Mapping[str, Gauge]:
    """Return what may be read, in the order of the record sheet.

    Returns
    -------
    mapping of str to Gauge
        Gauges by key. [-]
    """
    return MappingProxyType(
        {
            r["key"]: Gauge(
                r["key"],
                r["label"],
                r["unit"],
                float(r["low"]),
                float(r["high"]),
                r["baseline"] == "yes",
                r["section"],
                r["code"],
                r["stage"],
                r["sheet_unit"],
                r["sheet_unit_us"],
            )
            for r in rows("gauges.csv")
        }
    )


_NONE: Mapping[str, float] = MappingProxyType({})


class Reading(Struct, frozen=True):
    """What was read at one moment; a gauge that was not read is absent.

    ``line`` is its line in the file, 0 before it is written. ``below`` holds the limits of tests
    that found none; their values are 0, since the test says no more.
    """

    when: datetime.datetime
    values: Mapping[str, float]
    note: str = ""
    line: int = 0
    below: Mapping[str, float] = field(default_factory=lambda: _NONE)

    def get(self, key: str) -> float:
        """Return a value, NaN where it was not read."""
        return self.values.get(key, math.nan)

    @property
    def complete(self) -> bool:
        """Tell whether every gauge that a baseline needs was read."""
        return all(self.get(g.key) > 0.0 for g in gauges().values() if g.baseline)


def note_text(text: str) -> str:
    """Return a remark as one line that no spreadsheet takes for a formula.

    Parameters
    ----------
    text : str
        Remark in words. [-]

    Returns
    -------
    str
        The remark. [-]
    """
    return csv_text(" ".join(plain_text(text).split()).lstrip(FORMULA_SIGNS))


def reading(
    when: datetime.datetime,
    values: Mapping[str, float],
    note: str = "",
    line: int = 0,
    below: Mapping[str, float] = _NONE,
) -> Reading:
    """Return a reading after looking at every value.

    Parameters
    ----------
    when : datetime
        Date and time on the site's clock, without a time zone. [-]
    values : mapping of str to float
        Values by gauge, each in the unit of data/gauges.csv. [unit of the gauge]
    note : str
        Remark in words, one line. [-]
    line : int
        Line of the file it was read from. [-]
    below : mapping of str to float
        By gauge, the limit of a test that found none; the value is 0 then. [unit of the gauge]

    Returns
    -------
    Reading
        The reading. [-]

    Raises
    ------
    RecordError
        If a gauge is not known, or nothing at all was read.
    OutOfRangeError
        If a value cannot be true.
    """
    for key, value in values.items():
        gauge = gauges().get(key)
        if gauge is None:
            raise RecordError(f"'{key}' is not a gauge{one_of(key, list(gauges()))}")
        if not gauge.low <= value <= gauge.high:
            raise OutOfRangeError(
                f"{gauge.label} is {value:.4g} {gauge.unit}: a gauge shows {gauge.low:g} to "
                f"{gauge.high:g} {gauge.unit}; read it again, and look at its unit"
            )
    if when.tzinfo is not None:
        raise RecordError(f"{when}: write the time of the site's clock, without a time zone")
    clean = note_text(note)
    if not values and not clean:
        raise RecordError("nothing was read: give at least one gauge or a note")
    if len(clean) > LONGEST_NOTE:
        raise RecordError(f"the note has {len(clean)} characters: keep it below {LONGEST_NOTE}")
    return Reading(when, MappingProxyType(dict(values)), clean, line, MappingProxyType(dict(below)))


def baseline_of(
    readings: Sequence[Reading], when: datetime.datetime | None = None
) -> Reading | None:
    """Return the baseline of a record: the first complete reading that was written.

    Parameters
    ----------
    readings : sequence of Reading
        Readings by date. [-]
    when : datetime, optional
        Date and time of another complete reading, where that is the baseline. [-]

    Returns
    -------
    Reading or None
        The baseline; None where no reading is complete. [-]

    Raises
    ------
    RecordError
        If no complete reading has that time.
    """
    complete = [r for r in readings if r.complete]
    if when is None:
        return min(complete, key=lambda r: r.line, default=None)
    for taken in complete:
        if when in (taken.when, taken.when.replace(second=0)):
            return taken
    times = "; ".join(f"{r.when:%Y-%m-%d %H:%M}" for r in complete[:3])
    raise RecordError(
        f"no complete reading of {when:%Y-%m-%d %H:%M} to be the baseline"
        + (f"; complete are {times}" if times else "")
    )
