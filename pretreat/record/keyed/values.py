"""A value as it is typed: with its unit, below a limit, in ppm of a meter, in bags."""

import re

from msgspec import Struct, field

from pretreat.core.basis import cites
from pretreat.core.errors import PretreatError, UnitError
from pretreat.core.text import lazy
from pretreat.core.units import (
    US_CUSTOMARY,
    conductivity_us_cm,
    hardness_mg_l_caco3,
    mg_l,
    quantity,
    split_quantity,
    temperature_c,
)
from pretreat.record.readings import Gauge, RecordError
from pretreat.site.design import RecordChoices

PPM_PER_US_CM = 0.5  # PRACTICE: meters that count sodium chloride; others 0.64 or 0.7
_BAGS = lazy(
    r"^\s*(?P<many>\d+(?:[.,]\d+)?|a|an|one|two|three|four|half a)\s*"
    r"(?:(?:bags?|sacks?|packs?|drums?|buckets?|pails?)\b\s*(?:of|x|@|at|à)?|[x×*])\s*"
    r"(?P<each>\d.*)?$",
    re.IGNORECASE,
)
_WORDS = {"a": 1.0, "an": 1.0, "one": 1.0, "two": 2.0, "three": 3.0, "four": 4.0, "half a": 0.5}
_PPM = ("ppm", "mg/l", "ppmtds", "mg/ltds")
_MICRO = ("us", "µs", "μs", "micros", "microsiemens")
_MILLI = ("ms", "millis", "millisiemens")
_BAG_KEYS = {"salt_filled_kg": "salt_bag", "permanganate_filled_kg": "permanganate_bag"}


class BagError(RecordError):
    """A number of bags without what one bag holds; ``key`` is the key that would say it."""

    def __init__(self, key: str, *faults: str) -> None:
        super().__init__(*faults)
        self.key = key


class Typed(Struct, frozen=True):
    """A value in the unit of its gauge; ``below`` is the limit of a test that found none.

    ``said`` tells how it was read where a factor or a size was taken.
    """

    value: float
    below: float | None = None
    said: str = ""


class Typing(Struct, frozen=True):
    """How values are read: choices of the site, and the unit of a bare number by gauge."""

    choices: RecordChoices = field(default_factory=RecordChoices)
    units: dict[str, str] = field(default_factory=dict)


def typed(gauge: Gauge, text: str, typing: Typing | None = None) -> Typed:
    """Read a value in the unit of the gauge.

    Parameters
    ----------
    gauge : Gauge
        What was read. [-]
    text : str
        Such as "26 L/min", "<1 gpg", "450 ppm" or "2 bags". [-]
    typing : Typing, optional
        Choices of the site; without a unit for bare numbers they are refused. [-]

    Returns
    -------
    Typed
        The value. [unit of the gauge]

    Raises
    ------
    PretreatError
        If there is no unit where one is needed, it measures something else, or bags have no size.
    """
    typing = typing or Typing()
    clean = text.strip()
    if clean[:1] in "<≤" and clean:
        limit = _plain(gauge, clean.lstrip("<≤= "), typing)
        return Typed(0.0, limit.value, limit.said)
    return _plain(gauge, clean, typing)


def _plain(gauge: Gauge, text: str, typing: Typing) -> Typed:
    if gauge.unit == "kg" and _BAGS.match(text):
        return _bags(gauge, text, typing)
    number, unit = split_quantity(text)
    if gauge.unit == "-":
        if unit:
            raise UnitError(f"'{text}': a number without unit")
        return Typed(number)
    if not unit and gauge.unit == "h":  # a counter of hours counts nothing else
        return Typed(number)
    if not unit and gauge.key in typing.units:
        unit = typing.units[gauge.key]
        text = f"{text} {unit}"
    if not unit:
        raise UnitError(_which_unit(gauge, text))
    if gauge.unit == "µS/cm":
        return _conductivity(number, unit, typing.choices)
    return Typed(_with_unit(gauge, text, number, unit))


def _which_unit(gauge: Gauge, text: str) -> str:
    twin = US_CUSTOMARY.get(gauge.unit)
    other = f" or '{text} {twin.unit}', whichever" if twin else " if that"
    return f"'{text}' has no unit; write '{text} {gauge.unit}'{other} is meant"


def _with_unit(gauge: Gauge, text: str, number: float, unit: str) -> float:
    if gauge.unit == "°C":
        return temperature_c(number, unit)
    if gauge.unit == "mg/L as CaCO3":
        return hardness_mg_l_caco3(text)
    return mg_l(text) if gauge.unit == "mg/L" else quantity(text, gauge.unit)


@cites("PRACTICE", "conductivity meters that show ppm")
def _conductivity(number: float, unit: str, choices: RecordChoices) -> Typed:
    """Read a conductivity; ppm is what the meter makes of it by its own factor."""
    word = unit.replace(" ", "").casefold()
    if word in _MICRO:
        return Typed(number)
    if word in _MILLI:
        return Typed(conductivity_us_cm(number, "mS/cm"))
    if word not in _PPM:
        return Typed(conductivity_us_cm(number, unit))
    factor = choices.ppm_per_us_cm or PPM_PER_US_CM
    found = number / factor
    named = (
        "as the site file says"
        if choices.ppm_per_us_cm
        else "usual for sodium chloride; if the meter has another, write it in the site file under "
        "[record], as in ppm_per_us_cm = 0.7"
    )
    return Typed(
        found, None, f"{number:g} ppm read as {found:.4g} µS/cm, {factor:g} ppm each ({named})"
    )


def _bags(gauge: Gauge, text: str, typing: Typing) -> Typed:
    match = _BAGS.match(text)
    many = match["many"].casefold() if match else "1"
    count = _WORDS[many] if many in _WORDS else float(many.replace(",", "."))
    key = _BAG_KEYS.get(gauge.key, "salt_bag")
    each = getattr(typing.choices, f"{key}_kg")
    if match and match["each"]:
        each = quantity(match["each"], "kg")
    if each is None:
        raise BagError(
            key,
            f"'{text}': how much does one hold? Write '{many} x 25 kg' (or 40 lb), or once in "
            f'the site file, under [record], {key} = "25 kg"',
        )
    return Typed(count * each, None, f"{text} read as {count * each:.4g} kg, {each:.4g} kg each")


def faults_of(name: str, problem: PretreatError) -> tuple[str, ...]:
    """Return the faults of a value with the name of its gauge before them.

    Parameters
    ----------
    name : str
        Gauge, or the cell of a sheet. [-]
    problem : PretreatError
        What is wrong. [-]

    Returns
    -------
    tuple of str
        One line each. [-]
    """
    return tuple(f"{name}: {fault}" for fault in problem.faults)
