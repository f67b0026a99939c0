"""Every value of a record over time, and whether one moved by more than noise."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import cites
from pretreat.record.levels import NEIGHBOURS, Level, ends, level, new_level, off_alone
from pretreat.record.normalise import Normalised, normalise
from pretreat.record.readings import Reading, baseline_of
from pretreat.record.reference import Reference

SECONDS_PER_DAY = 86_400.0
# RECORD_STATISTICS: least noise of a single reading, by value; a kit or gauge is not better.
LEAST_NOISE: Mapping[str, float] = {
    "flow": 0.01,
    "passage": 0.015,
    "drop_first": 0.02,
    "drop_last": 0.02,
    "drop": 0.02,
    "pressure": 0.01,
    "conductivity": 0.01,
    "raw_hardness": 0.02,
    "product": 0.01,
}
# The default factor of 3 % per degree is low for cold water: the exponents 2640 to 3020 K that
# makers of membranes give (from memory) are 3.2 to 3.6 % per degree at 15 °C. Half the
# difference is taken off before judging, the other half widens the rule.
TEMPERATURE_TRIM: Mapping[str, float] = {"flow": 0.003, "passage": 0.003}
TEMPERATURE_DOUBT = 0.003
# PRACTICE: what sound membranes lose and let pass more in a year: flow 3 to 7 %, salt passage 5
# to 10 % up. Somewhat less is taken off before judging, of one year at most, since a machine
# is cleaned at 10 % whatever its age.
AGEING_A_YEAR: Mapping[str, float] = {"flow": -0.035, "passage": 0.05}
DAYS_PER_YEAR = 365.0


# Gauges that move slowly: a reading that is off alone, by a logarithm, is a misread gauge.
STEADY = (
    "iron_filter_in_bar",
    "iron_filter_out_bar",
    "softener_out_bar",
    "cartridge_in_bar",
    "cartridge_out_bar",
    "feed_pressure_bar",
    "interstage_pressure_bar",
    "concentrate_pressure_bar",
    "product_pressure_bar",
    "feed_flow_m3_h",
    "product_flow_m3_h",
    "drain_flow_m3_h",
    "recycle_flow_m3_h",
    "feed_conductivity_us_cm",
    "product_conductivity_us_cm",
    "raw_hardness_mg_l_caco3",
)
MISREAD, MISREAD_C = 0.15, 2.5  # RECORD_STATISTICS: five times the noise of a 2 % gauge and more


class Track(Struct, frozen=True):
    """One value over time: days since the first reading, and values."""

    name: str
    days: tuple[float, ...]
    values: tuple[float, ...]

    def level(self, temp: "Track | None" = None) -> Level | None:
        """Return the level of the last readings against the first, trimmed for temperature."""
        slope = TEMPERATURE_TRIM.get(self.name, 0.0)
        if temp is None or slope == 0.0:
            return level(self.days, self.values, LEAST_NOISE[self.name])
        places = ends(self.values)
        days = [self.days[i] for i in places]
        trimmed = [self.values[i] - slope * (temp.values[i] - temp.values[0]) for i in places]
        warm = [temp.values[i] for i in places]
        found, warmer = (level(days, v, LEAST_NOISE[self.name]) for v in (trimmed, warm))
        if found is None:
            return None
        if warmer is None:  # a steep change is seen before there is a level of today
            by_now = warm[-1] - new_level(days, warm, LEAST_NOISE[self.name])
            return replace(found, warmer_c=by_now if math.isfinite(by_now) else 0.0)
        age = min((days[-1] - days[0]) / DAYS_PER_YEAR, 1.0)
        return replace(found, warmer_c=warmer.change, aged=AGEING_A_YEAR.get(self.name, 0.0) * age)

    def read(self) -> tuple[float, ...]:
        """Return the values that were read."""
        return tuple(v for v in self.values if math.isfinite(v))


class Tracks(Struct, frozen=True):
    """Every value of a record over time, with the readings they come from."""

    readings: tuple[Reading, ...]
    normalised: tuple[Normalised, ...]
    by_name: Mapping[str, Track]


def _log(value: float) -> float:
    return math.log(value) if value > 0.0 else math.nan


def _same(value: float) -> float:
    return value


_FROM_NORMALISED: Mapping[str, tuple[str, Callable[[float], float]]] = {
    "flow": ("flow_m3_h", _log),
    "passage": ("passage", _log),
    "drop_first": ("drop_first_bar", _same),
    "drop_last": ("drop_last_bar", _same),
    "drop": ("drop_bar", _same),
    "cartridge": ("cartridge_bar", _same),
}
# Beds that stand between two gauges; carbon stands between softener and cartridge.
_BEDS: Mapping[str, tuple[str, str]] = {
    "iron_bed": ("iron_filter_in_bar", "iron_filter_out_bar"),
    "softener_bed": ("iron_filter_out_bar", "softener_out_bar"),
    "carbon_bed": ("softener_out_bar", "cartridge_in_bar"),
}
_FROM_GAUGES: Mapping[str, tuple[str, Callable[[float], float]]] = {
    "pressure": ("feed_pressure_bar", _log),
    "conductivity": ("feed_conductivity_us_cm", _log),
    "raw_hardness": ("raw_hardness_mg_l_caco3", _log),
    "product": ("product_flow_m3_h", _log),
    "temperature": ("temperature_c", _same),
    "soft_hardness": ("soft_hardness_mg_l_caco3", _same),
    "iron": ("iron_out_mg_l", _same),
    "softened": ("softened_m3", _same),
    "chlorine": ("chlorine_mg_l", _same),
}


def _without_misread(readings: Sequence[Reading], place: int) -> Reading:
    """Return a reading without the steady gauges that are off alone; the baseline stays whole."""
    taken = readings[place]
    near = range(max(0, place - NEIGHBOURS), min(len(readings), place + NEIGHBOURS + 1))
    wild = set()
    for key, value in taken.values.items() if place else ():
        if key in STEADY and value > 0.0:
            beside = {i: math.log(v) for i in near if (v := readings[i].get(key)) > 0.0}
            if off_alone(beside, place, MISREAD):
                wild.add(key)
        elif key == "temperature_c":
            beside = {i: v for i in near if math.isfinite(v := readings[i].get(key))}
            if off_alone(beside, place, MISREAD_C):
                wild.add(key)
    if not wild:
        return taken
    return replace(taken, values={k: v for k, v in taken.values.items() if k not in wild})


def _from_baseline(readings: Sequence[Reading], reference: Reference) -> tuple[Reading, ...]:
    """Return the baseline and what is dated after it."""
    base = baseline_of(readings, reference.baseline)
    if base is None:
        return ()
    return (base, *(r for r in readings if r.when >= base.when and r is not base))


def growing(readings: Sequence[Reading], reference: Reference) -> Iterator[Tracks]:
    """Yield the values over time as they stood at each date, from the baseline on.

    A reading that was off alone at its date counts later, if the next one agreed with it.

    Parameters
    ----------
    readings : sequence of Reading
        Readings by date. [-]
    reference : Reference
        Design of the site. [-]

    Yields
    ------
    Tracks
        Up to the first reading, up to the second, and so on. [-]
    """
    kept = _from_baseline(readings, reference)
    grown = _Grown([], [], [], {})
    for count in range(1, len(kept) + 1):
        settled = max(0, count - 1 - NEIGHBOURS)  # what lies further back cannot change any more
        grown.cut(settled)
        for i in range(settled, count):
            grown.add(_without_misread(kept[:count], i), kept[0], reference)
        yield grown.tracks()


class _Grown(Struct):
    """Values over time while readings are added: only the last few are worked out again."""

    readings: list[Reading]
    normalised: list[Normalised]
    days: list[float]
    values: dict[str, list[float]]

    def cut(self, count: int) -> None:
        """Keep so many of the first readings."""
        del self.readings[count:], self.normalised[count:], self.days[count:]
        for column in self.values.values():
            del column[count:]

    def add(self, taken: Reading, base: Reading, reference: Reference) -> None:
        """Add a reading with all that follows from it."""
        at_base = normalise(taken, base, reference.curve)
        self.readings.append(taken)
        self.normalised.append(at_base)
        self.days.append((taken.when - base.when).total_seconds() / SECONDS_PER_DAY)
        for name, value in _values_of(taken, at_base):
            self.values.setdefault(name, []).append(value)

    def tracks(self) -> Tracks:
        """Return the values as they stand."""
        days = tuple(self.days)
        found = {name: Track(name, days, tuple(v)) for name, v in self.values.items()}
        return Tracks(tuple(self.readings), tuple(self.normalised), found)


def _values_of(taken: Reading, at_base: Normalised) -> Iterator[tuple[str, float]]:
    for name, (key, change) in _FROM_NORMALISED.items():
        yield name, change(float(getattr(at_base, key)))
    for name, (key, change) in _FROM_GAUGES.items():
        yield name, change(taken.get(key))
    for name, (before, behind) in _BEDS.items():
        yield name, taken.get(before) - taken.get(behind)


def tracks(readings: Sequence[Reading], reference: Reference) -> Tracks | None:
    """Return every value over time, from the baseline on.

    Parameters
    ----------
    readings : sequence of Reading
        Readings by date. [-]
    reference : Reference
        Design of the site. [-]

    Returns
    -------
    Tracks or None
        None where no reading is complete, so that there is no baseline. [-]
    """
    kept = _from_baseline(readings, reference)
    if not kept:
        return None
    grown = _Grown([], [], [], {})
    for i in range(len(kept)):
        grown.add(_without_misread(kept, i), kept[0], reference)
    return grown.tracks()


class Rule(Struct, frozen=True):
    """When a value counts as moved: by how much, and by how many times its error."""

    least: float
    errors: float


@cites("RECORD_STATISTICS", "change beyond the rule and beyond noise")
def moved(found: Level | None, rule: Rule) -> bool:
    """Tell whether a value moved upwards (or downwards, for a negative rule).

    Parameters
    ----------
    found : Level or None
        Level today against new; None while it is not known. [-]
    rule : Rule
        Least change, with its sign, and least number of errors. [-]

    Returns
    -------
    bool
        True if it moved. [-]
    """
    if found is None:
        return False
    sign = math.copysign(1.0, rule.least)
    least = abs(rule.least) + TEMPERATURE_DOUBT * abs(found.warmer_c)
    return sign * found.beyond >= least and sign * found.signs >= rule.errors
