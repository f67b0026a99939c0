"""Lines of a report that no figure is calculated from: what each is, and what it does.

The names stand in data/other_lines.csv, what a class does in data/other_classes.csv.
"""

import math
import re
import unicodedata
from collections.abc import Mapping
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Flag, Level
from pretreat.core.errors import UnitError
from pretreat.core.tables import Row, rows
from pretreat.core.text import lazy
from pretreat.core.units.concentration import concentration_unit
from pretreat.core.water import OtherLine, WaterAnalysis
from pretreat.lab.interpret.traces import ACTIVITY_PCI_L, MOST_COUNTED, PCI_PER_BQ, traces
from pretreat.lab.read.wording import shown
from pretreat.lab.water_figures import property_taken

HARMLESS, UNKNOWN = "harmless", "unknown"
OXIDANT, METAL, OIL = "oxidant", "metal", "oil"
PRESENT_MG_L = 0.1  # PRACTICE: of what is only said to be there; the lowest step of a test strip
COMBINED, TOTAL = "combined chlorine", "total chlorine"
FREE_KEY, TOTAL_KEY = "free_chlorine_mg_l", "total_chlorine_mg_l"
SCATTER_MG_L = 0.1  # PRACTICE: of the difference of two tests of chlorine
_FOUND = MOST_COUNTED | {
    *("yes", "visible", "trace", "traces", "slight", "moderate", "heavy", "much", "many"),
    *("abundant", "found", "ja", "oui", "si", "vorhanden", "presente", "present", "sichtbar"),
}
OXYGEN_OF_KMNO4 = 8.0 / 31.61  # STOICHIOMETRY: five electrons of permanganate, four of oxygen
_AS_SPECIES = lazy(r"(?i)\(?(?:\b(?:as|als|en|in|di|de|como)\s+)?(?P<species>O2|KMnO4)\)?")
_AS_KMNO4 = lazy(r"\b(as|als|en|in|di|como) kmno4\b")
_ABSORBANCE = lazy(r"(?:1|abs|au|ext\.?)?/(?P<per>c?m)|(?P<power>c?m)-1")
_OF_ABSORBANCE = {"cm": 1.0, "m": 0.01}
_COUNT = lazy(r"(?i)cfu|kbe|ufc|mpn|npp|colon|org|germ|/\s*100\s*ml|/\s*ml\b")
_PER_100_ML = lazy(r"(?i)100\s*ml")
_PER_L = lazy(r"(?i)/\s*l\b")
_COMBINED = lazy(r"chloramin|combin|gebund|chlor total|total chlor")
_NONE = lazy(r"\b(no|non|none|not|nil|without|kein\w*|keine|ohne|sans|sin|absent|free)\b")
_LETTERS = lazy(r"[^\W\d_]{2,}")
_VOLUMES = {"100": 0.01, "l": 0.001}
MASS, ACTIVITY, COUNTED, ABSORBED = "mg/L", "Bq/L", "CFU/mL", "1/cm"
ORGANICS = "organics"


class Found(Struct, frozen=True):
    """A line that is told: its class, how it is shown, and how much it is.

    ``amount`` is in the unit of its row, NaN where only its presence is known; ``stops`` where
    nothing may run before it is gone; ``cl2_mg_l`` of an oxidant.
    """

    kind: str
    name: str
    shown: str
    amount: float
    stops: bool = False
    cl2_mg_l: float = 0.0


class _Pattern(Struct, frozen=True):
    kind: str
    pattern: re.Pattern[str]
    above: float
    stops: float
    unit: str
    factor: float


@lru_cache(maxsize=1)
def _patterns() -> tuple[_Pattern, ...]:
    def number(row: Row, key: str, blank: float) -> float:
        return float(row[key]) if row[key] else blank

    return tuple(
        _Pattern(
            r["class"],
            lazy(r["pattern"]),
            number(r, "above", 0.0),
            number(r, "stops", math.inf),
            r["unit"],
            number(r, "factor", 0.0),
        )
        for r in rows("other_lines.csv")
    )


@lru_cache(maxsize=1)
def classes() -> Mapping[str, Row]:
    """Return the rows of data/other_classes.csv by class."""
    return {r["class"]: r for r in rows("other_classes.csv")}


def _plain(name: str) -> str:
    spread = unicodedata.normalize("NFKD", name.casefold())
    bare = "".join(c for c in spread if not unicodedata.combining(c))
    return " ".join(re.sub(r"[\W_]+", " ", bare).split())


@lru_cache(maxsize=4096)
def _pattern_of(name: str) -> _Pattern | None:
    plain = _plain(name)
    return next((p for p in _patterns() if p.pattern.search(plain)), None)


def others_found(water: WaterAnalysis, concentration_factor: float = 1.0) -> tuple[Found, ...]:
    """Return what a report holds beside the analytes that are calculated with, and matters.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    concentration_factor : float
        Of the concentrate, for what comes down there. [-]

    Returns
    -------
    tuple of Found
        In the order of the report; nothing harmless, nothing that was not detected. [-]
    """
    found = [f for line in water.others if (f := _judged(line, concentration_factor)) is not None]
    found += _chlorine(water, found)
    found += _of_properties(water, concentration_factor)
    most: dict[str, Found] = {}
    for one in found:
        known = most.setdefault(one.name.casefold(), one)
        if (one.stops, one.amount) > (known.stops, known.amount):
            most[one.name.casefold()] = one
    return tuple(most.values())


def plain_name(name: str) -> str:
    """Return a name in small letters, without accents, its words apart by one blank.

    Parameters
    ----------
    name : str
        As printed. [-]

    Returns
    -------
    str
        As the patterns of the tables take it. [-]
    """
    return _plain(name)


def mass_of(line: OtherLine, value: float | None) -> float | None:
    """Return a number of a line by mass, where its unit can be led there.

    Parameters
    ----------
    line : OtherLine
        A line of a report. [-]
    value : float, optional
        What was found, or its limit of detection, in the unit of the line. [as printed]

    Returns
    -------
    float or None
        None where there is none, or the unit is no mass. [mg/L]
    """
    found = None if value is None or not line.unit else _amount(replace(line, value=value), MASS)
    return None if found is None or math.isnan(found) else found


def _judged(line: OtherLine, concentration_factor: float) -> Found | None:
    """Return a line as it counts; None where it is harmless or not found."""
    printed = line
    line, pattern = _as_oxygen(line)
    harmless = pattern is not None and pattern.kind == HARMLESS
    if harmless:
        return _smelt(line) if line.value is None else None
    if not (_said_present(line) if line.value is None else line.value > 0.0):
        return None
    if pattern is None:
        return _unknown(line)
    found = _classed(line, pattern, concentration_factor)
    return None if found is None else replace(found, shown=_told(printed))


def _as_oxygen(line: OtherLine) -> tuple[OtherLine, _Pattern | None]:
    """Return a line and what it is; a demand of permanganate by its oxygen.

    Whatever is given as oxygen was consumed by the water: no oxidant is in it.
    """
    pattern = _pattern_of(line.name)
    unit = unicodedata.normalize("NFKC", line.unit)
    species = _AS_SPECIES.search(unit)
    oxygen = species is not None and species["species"].casefold() == "o2"
    if oxygen and pattern is not None and pattern.kind == OXIDANT:
        pattern = _pattern_of("oxidisability")
    if pattern is None or pattern.kind != ORGANICS or pattern.unit != MASS:
        return line, pattern
    permanganate = (species is not None and not oxygen) or _AS_KMNO4.search(_plain(line.name))
    bare = unit if species is None else _AS_SPECIES.sub("", unit).strip()
    value = line.value
    if permanganate and value is not None:
        value *= OXYGEN_OF_KMNO4
    return replace(line, unit=bare, value=value), pattern


def _unknown(line: OtherLine) -> Found | None:
    """Return a line that is an amount of something that nobody here knows."""
    measures = line.known or _unit_kind(line.unit) != ""
    named = line.value is not None and _LETTERS.search(line.name)
    return Found(UNKNOWN, line.name, _told(line), math.nan) if measures and named else None


def _classed(line: OtherLine, pattern: _Pattern, concentration_factor: float) -> Found | None:
    """Return a line whose class is known; None where it is too little to be told."""
    amount = _amount(line, pattern.unit)
    if amount is None:
        return None
    if pattern.kind == METAL:
        amount *= concentration_factor
    if amount <= pattern.above:
        return None
    stops = math.isfinite(pattern.stops) and not amount <= pattern.stops
    cl2 = pattern.factor * (PRESENT_MG_L if math.isnan(amount) else amount)
    return Found(pattern.kind, line.name, _told(line), amount, stops, cl2)


def _told(line: OtherLine) -> str:
    return " ".join(part for part in (line.name, line.text, line.unit) if part)


def _smelt(line: OtherLine) -> Found | None:
    """Return oil that was seen or smelt: "Odour: petrol"."""
    said = _pattern_of(line.text)
    if said is None or said.kind != OIL or _NONE.search(_plain(line.text)):
        return None
    return Found(OIL, line.name, _told(line), math.nan, stops=True)


def _said_present(line: OtherLine) -> bool:
    words = _plain(line.text).split()
    return line.above or bool(words and words[0] in _FOUND) or line.text.strip() == "+"


def _per_cm(unit: str) -> float | None:
    """Return what one of a unit of absorbance is in 1/cm; None where it is none."""
    plain = unicodedata.normalize("NFKC", unit).replace("−", "-").casefold()
    found = _ABSORBANCE.fullmatch(re.sub(r"\s+", "", plain))
    return None if found is None else _OF_ABSORBANCE[found["per"] or found["power"]]


def _unit_kind(unit: str) -> str:
    """Return what a unit measures, of what can be told: mass, activity, count; else nothing."""
    bare = re.sub(r"\s+", "", unit).casefold()
    if bare in ACTIVITY_PCI_L:
        return ACTIVITY
    if _COUNT.search(unit):
        return COUNTED
    if _per_cm(unit) is not None:
        return ABSORBED
    try:
        return MASS if unit and concentration_unit(unit).kind == "mass" else ""
    except UnitError:
        return ""


def _amount(line: OtherLine, unit: str) -> float | None:
    """Return the amount in a unit; NaN where it is there and cannot be led to it."""
    if line.value is None or not line.unit:
        return math.nan if line.value is None else line.value
    kind, bare = _unit_kind(line.unit), re.sub(r"\s+", "", line.unit).casefold()
    if unit == ABSORBED:
        return line.value * (_per_cm(line.unit) or 1.0)
    if kind != unit:
        return math.nan if "/" in line.unit or kind else None
    if kind in {"", ACTIVITY}:
        return line.value * (ACTIVITY_PCI_L[bare] / PCI_PER_BQ if kind else 1.0)
    if kind == COUNTED:
        share = _VOLUMES["100"] if _PER_100_ML.search(line.unit) else 1.0
        return line.value * (_VOLUMES["l"] if _PER_L.search(line.unit) else share)
    return line.value * concentration_unit(line.unit).factor


def _chlorine(water: WaterAnalysis, found: list[Found]) -> list[Found]:
    """Return the chlorine that is not free: total less free, or the total alone."""
    total = water.properties.get(TOTAL_KEY, 0.0)
    free = property_taken(water, FREE_KEY) or 0.0
    rest = total - free
    told = any(_COMBINED.search(_plain(f.name)) for f in found if f.kind == OXIDANT)
    if rest <= (SCATTER_MG_L if free else 0.0) or told:
        return []
    asked = FREE_KEY in water.properties or FREE_KEY in water.below_properties
    name = COMBINED if asked else TOTAL
    of = f" (total {shown(total, 3)} less free {shown(free, 3)})" if asked else ""
    return [Found(OXIDANT, name, f"{name} {shown(rest, 3)} mg/L{of}", rest, cl2_mg_l=rest)]


def _of_properties(water: WaterAnalysis, concentration_factor: float) -> list[Found]:
    """Return the metals that health knows and that come down in a concentrate."""
    found = []
    for trace in traces().values():
        value = water.properties.get(trace.property)
        if value is None or trace.unit != MASS:
            continue
        pattern = _pattern_of(trace.name)
        if pattern is None or pattern.kind != METAL:
            continue
        if value * concentration_factor > pattern.above:
            told = (
                f"{trace.name} {shown(value, 3)} mg/L, {shown(value * concentration_factor, 3)} "
                "mg/L in the concentrate"
            )
            found.append(Found(METAL, trace.name, told, value))
    solids = water.properties.get("tss_mg_l")
    pattern = None if solids is None else _pattern_of("suspended solids")
    if solids is not None and pattern is not None and solids > pattern.above:
        told = f"suspended solids {shown(solids, 3)} mg/L"
        found.append(Found(pattern.kind, "suspended solids", told, solids))
    return found


def other_texts(found: tuple[Found, ...]) -> list[tuple[str, bool, str]]:
    """Return one sentence for each class of what was found.

    Parameters
    ----------
    found : tuple of Found
        What the report holds. [-]

    Returns
    -------
    list of tuple
        Class, whether nothing may run before it is gone, and text. [-]
    """
    told = []
    for kind, row in classes().items():
        mine = [f for f in found if f.kind == kind]
        if mine:
            what = ", ".join(dict.fromkeys(f.shown for f in mine))
            told.append((kind, any(f.stops for f in mine), row["text"].format(what=what)))
    return told


def other_flags(
    water: WaterAnalysis, concentration_factor: float = 1.0, *, taken: bool = False
) -> tuple[Flag, ...]:
    """Return a flag for each class of what a report holds beside its analytes.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    concentration_factor : float
        Of the concentrate. [-]
    taken : bool
        A stage of the train takes oxidants. [-]

    Returns
    -------
    tuple of Flag
        Gravest first, as data/other_classes.csv has them. [-]
    """
    flags = []
    for kind, _, text in other_texts(others_found(water, concentration_factor)):
        row = classes()[kind]
        level: Level = "warning" if row["level"] == "warning" else "caution"
        if taken and kind == OXIDANT:
            level = "info"
        flags.append(Flag(row["code"], level, text))
    return tuple(flags)


def oxidants_of(water: WaterAnalysis) -> Mapping[str, float]:
    """Return the oxidants of a report other than free chlorine.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    mapping of str to float
        By name as printed. [mg/L as Cl2]
    """
    return {f.name: f.cl2_mg_l for f in others_found(water) if f.kind == OXIDANT and f.cl2_mg_l}
