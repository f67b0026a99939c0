"""Every value of a record over time, and whether one moved by more than noise."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from pretreat.basis import cites
from pretreat.record.levels import Level, level
from pretreat.record.normalise import Normalised, normalise
from pretreat.record.readings import Reading
from pretreat.record.reference import Reference

SECONDS_PER_DAY = 86_400.0
# RECORD_STATISTICS: least noise of a single reading, by value; a kit or gauge is not better.
LEAST_NOISE: Mapping[str, float] = {
    "flow": 0.01, "passage": 0.015, "drop_first": 0.02, "drop_last": 0.02, "drop": 0.02,
    "pressure": 0.01, "conductivity": 0.01, "raw_hardness": 0.02, "product": 0.01,
}  # fmt: skip
# The default factor of 3 % per degree is low for cold water: the exponents 2640 to 3020 K that
# makers of membranes give (from memory) are 3.2 to 3.6 % per degree at 15 °C. Half the
# difference is taken off before judging, the other half widens the rule.
TEMPERATURE_TRIM: Mapping[str, float] = {"flow": 0.003, "passage": 0.003}
TEMPERATURE_DOUBT = 0.003


@dataclass(frozen=True, slots=True)
class Track:
    """One value over time: days since the first reading, and values."""

    name: str
    days: tuple[float, ...]
    values: tuple[float, ...]

    def until(self, count: int) -> "Track":
        """Return the track of the first readings only."""
        return Track(self.name, self.days[:count], self.values[:count])

    def level(self, temp: "Track | None" = None) -> Level | None:
        """Return the level of the last readings against the first, trimmed for temperature."""
        slope = TEMPERATURE_TRIM.get(self.name, 0.0)
        if temp is None or slope == 0.0:
            return level(self.days, self.values, LEAST_NOISE[self.name])
        pairs = tuple(zip(self.values, temp.values, strict=True))
        trimmed = [v - slope * (t - temp.values[0]) for v, t in pairs]
        warm = [t if math.isfinite(v) else math.nan for v, t in pairs]
        found, warmer = (
            level(self.days, values, LEAST_NOISE[self.name]) for values in (trimmed, warm)
        )
        if found is None or warmer is None:
            return None
        return replace(found, warmer_c=warmer.change)

    def read(self) -> tuple[float, ...]:
        """Return the values that were read."""
        return tuple(v for v in self.values if math.isfinite(v))


@dataclass(frozen=True, slots=True)
class Tracks:
    """Every value of a record over time, with the readings they come from."""

    readings: tuple[Reading, ...]
    normalised: tuple[Normalised, ...]
    by_name: Mapping[str, Track]


def _log(value: float) -> float:
    return math.log(value) if value > 0.0 else math.nan


def _same(value: float) -> float:
    return value


_FROM_NORMALISED: Mapping[str, tuple[str, Callable[[float], float]]] = {
    "flow": ("flow_m3_h", _log), "passage": ("passage", _log),
    "drop_first": ("drop_first_bar", _same), "drop_last": ("drop_last_bar", _same),
    "drop": ("drop_bar", _same), "cartridge": ("cartridge_bar", _same),
}  # fmt: skip
_FROM_GAUGES: Mapping[str, tuple[str, Callable[[float], float]]] = {
    "pressure": ("feed_pressure_bar", _log), "conductivity": ("feed_conductivity_us_cm", _log),
    "raw_hardness": ("raw_hardness_mg_l_caco3", _log), "product": ("product_flow_m3_h", _log),
    "temperature": ("temperature_c", _same),
    "soft_hardness": ("soft_hardness_mg_l_caco3", _same), "iron": ("iron_out_mg_l", _same),
    "softened": ("softened_m3", _same), "chlorine": ("chlorine_mg_l", _same),
}  # fmt: skip


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
    start = next((i for i, r in enumerate(readings) if r.complete), None)
    if start is None:
        return None
    kept = tuple(readings[start:])
    base = kept[0]
    normalised = tuple(normalise(r, base, reference.curve) for r in kept)
    days = tuple((r.when - base.when).total_seconds() / SECONDS_PER_DAY for r in kept)
    found: dict[str, Track] = {}
    for name, (key, change) in _FROM_NORMALISED.items():
        values = (change(float(getattr(n, key))) for n in normalised)
        found[name] = Track(name, days, tuple(values))
    for name, (key, change) in _FROM_GAUGES.items():
        found[name] = Track(name, days, tuple(change(r.get(key)) for r in kept))
    return Tracks(kept, normalised, found)


@dataclass(frozen=True, slots=True)
class Rule:
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
    return sign * found.change >= least and sign * found.signs >= rule.errors
