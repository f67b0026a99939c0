"""From the readings of one sample to one water: which of several results counts."""

import re
from collections.abc import Iterable
from functools import lru_cache
from types import MappingProxyType

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.basis import Flag, Level, cites
from pretreat.core.tables import analytes
from pretreat.core.text import lazy
from pretreat.core.units import CO3_PER_CACO3, HCO3_PER_CACO3
from pretreat.core.units.concentration import Ion, concentration_unit, mg_l_as_ion
from pretreat.core.water import Reading
from pretreat.lab.read.wording import shown

SAME_RESULT = 0.05  # two results of one analyte within this are the same result twice
SAME_ALKALINITY_MG_L = 5.0  # as CaCO3; the scatter of a titration
DISSOLVED_OVER_TOTAL = 1.1  # beyond rounding and scatter of two determinations
METALS = ("fe", "mn", "al")
SILICA, SILICA_FORMS = "sio2", "silica_forms"  # an analyte, a flag
SILICA_SCATTER_MG_L = 1.0  # PRACTICE: of two methods on one water


class Sample(Struct):
    """What is known of one sample while its water is put together."""

    readings: list[Reading]
    mg_l: dict[str, float] = field(default_factory=dict)
    below_mg_l: dict[str, float | None] = field(default_factory=dict)
    total_mg_l: dict[str, float] = field(default_factory=dict)
    dissolved_mg_l: dict[str, float] = field(default_factory=dict)
    properties: dict[str, float] = field(default_factory=dict)
    below_properties: dict[str, float | None] = field(default_factory=dict)
    flags: list[Flag] = field(default_factory=list)
    used: set[int] = field(default_factory=set)
    alkalinity_mg_l_caco3: float | None = None

    def flag(self, code: str, level: Level, text: str, figure: str | None = None) -> None:
        """Add a flag."""
        self.flags.append(Flag(code, level, text, figure))

    def of(self, analyte: str) -> list[Reading]:
        """Return the readings of one analyte, the preferred first."""
        found = [r for r in self.readings if r.analyte == analyte]
        return sorted(found, key=_rank) if len(found) > 1 else found

    def best(self, analyte: str, *, detected: bool = True) -> Reading | None:
        """Return the preferred reading of an analyte."""
        found = [r for r in self.of(analyte) if r.value is not None or not detected]
        return found[0] if found else None

    def take(self, reading: Reading) -> float | None:
        """Note that a reading was used and return its value."""
        self.used.add(id(reading))
        return reading.value

    def value(self, analyte: str) -> float | None:
        """Return the preferred detected value of an analyte and mark it used."""
        reading = self.best(analyte)
        return None if reading is None else self.take(reading)


_FRACTIONS = MappingProxyType({"dissolved": 0, "field": 0, "": 1, "total": 2, "lab": 2})


def _rank(reading: Reading) -> tuple[int, int, int, int]:
    """Dissolved first; a result of the ion itself before one that only leads to it."""
    indirect = reading.note.startswith("named ")
    sulfur = reading.analyte == "so4" and reading.basis == "as S"
    return (
        int(indirect or sulfur),
        _FRACTIONS.get(reading.fraction, 1),
        int(reading.value is None and reading.below is None),
        int("eq/" in reading.unit.casefold() or reading.value is None),
    )


def choose_ions(sample: Sample) -> None:
    """Choose one result per ion: dissolved for the chemistry, total kept for the filter load."""
    for key in analytes():
        readings = sample.of(key)
        if not readings:
            continue
        if readings[0].analyte not in {"hco3", "co3"}:
            _keep_fractions(sample, key, readings)
        first = readings[0]
        sample.used.add(id(first))
        if first.value is None:
            sample.below_mg_l[key] = first.below
        else:
            sample.mg_l[key] = first.value
        if key == SILICA and _take_most(sample, readings):
            continue
        _compare_twins(sample, key, readings)


def _take_most(sample: Sample, readings: list[Reading]) -> bool:
    """Take the most of two results of silica that differ, and tell so.

    Molybdate finds what is dissolved, digestion or ICP all of it; which of the two a
    concentrate holds in the end nobody knows.
    """
    found = [r for r in readings if r.value is not None]
    most = max(found, key=lambda r: r.value or 0.0, default=None)
    least = min(found, key=lambda r: r.value or 0.0, default=None)
    if most is None or least is None or most.value is None or least.value is None:
        return False
    rounded = max(_rounding_mg_l(most), _rounding_mg_l(least))
    allowed = max(SAME_RESULT * most.value, SILICA_SCATTER_MG_L, rounded)
    if most.value - least.value <= allowed:
        return False
    sample.used.discard(id(readings[0]))
    sample.take(most)
    sample.mg_l[SILICA] = most.value
    sample.flag(
        SILICA_FORMS,
        "caution",
        f"silica is {shown(least.value)} mg/L as {least.name} ({least.place}) and "
        f"{shown(most.value)} mg/L as {most.name} ({most.place}): the difference, "
        f"{shown(most.value - least.value, 3)} mg/L, is colloidal or was not found by one of the "
        "two; colloids of silica foul membranes and no inhibitor holds them (common practice): "
        "calculated with the higher; have both measured again, dissolved (filtered at 0.45 µm, "
        "molybdate) and total (digested), and the silt density index",
        f"water.{SILICA}_mg_l",
    )
    return True


def _keep_fractions(sample: Sample, key: str, readings: list[Reading]) -> None:
    for reading in sorted(readings, key=lambda r: r.fraction == ""):  # a named fraction first
        if reading.value is None:
            continue
        kept = None
        if reading.fraction == "dissolved":
            kept = sample.dissolved_mg_l
        elif reading.fraction == "total" or key in METALS:
            kept = sample.total_mg_l
        if kept is not None and key not in kept:
            kept[key] = reading.value
            sample.used.add(id(reading))
    total, dissolved = sample.total_mg_l.get(key), sample.dissolved_mg_l.get(key)
    if total and dissolved and dissolved > DISSOLVED_OVER_TOTAL * total:
        sample.flag(
            "dissolved_above_total",
            "caution",
            f"{analytes()[key].name}: dissolved {shown(dissolved)} mg/L is more than total "
            f"{shown(total)} mg/L; "
            "ask the lab whether the two are exchanged",
            f"water.{key}_mg_l",
        )


def _compare_twins(sample: Sample, key: str, readings: list[Reading]) -> None:
    """Flag two different results of the same analyte, fraction and kind."""
    first = readings[0]
    _compare_non_detect(sample, key, readings)
    for other in readings[1:]:
        twin = (other.fraction, other.note[:6]) == (first.fraction, first.note[:6])
        if not twin or other.value is None or first.value is None:
            continue
        allowed = max(SAME_RESULT * max(first.value, other.value), _rounding_mg_l(other))
        if abs(other.value - first.value) > allowed:
            sample.flag(
                "duplicate_results",
                "caution",
                f"{analytes()[key].name} is given twice: {shown(first.value)} mg/L "
                f"({first.place}) and {shown(other.value)} mg/L ({other.place}); the first is used",
                f"water.{key}_mg_l",
            )
            return


def _rounding_mg_l(reading: Reading) -> float:
    """Return half a unit of the last digit printed; "0.02 meq/L" is a coarse number."""
    printed = re.search(r"\d+(?:[.,](\d+))?", reading.text)
    if (
        printed is None
        or reading.factor is None
        or "mol" not in reading.unit + _EQUIVALENT.sub("mol", reading.unit)
    ):
        return 0.0
    return 0.5 * 10.0 ** -len(printed[1] or "") * reading.factor


_EQUIVALENT = lazy(r"(?i)eq|val")


def _compare_non_detect(sample: Sample, key: str, readings: list[Reading]) -> None:
    """Flag a result beside a non-detect of the same analyte whose limit it exceeds."""
    first = readings[0]
    for other in readings[1:]:
        if (
            first.value is not None
            and other.value is None
            and other.below is not None
            and other.fraction == first.fraction
            and first.value > (1 + SAME_RESULT) * other.below
        ):
            sample.flag(
                "duplicate_results",
                "caution",
                f"{analytes()[key].name} is given twice: {shown(first.value)} mg/L "
                f"({first.place}) and not detected, < {shown(other.below)} mg/L "
                f"({other.place}); the first is used",
                f"water.{key}_mg_l",
            )
            return


@cites("SM2320", "relationships of P and total alkalinity")
def split_alkalinity(p_mg_l_caco3: float, m_mg_l_caco3: float) -> tuple[float, float, float]:
    """Return bicarbonate, carbonate and hydroxide alkalinity from the two titrations.

    Parameters
    ----------
    p_mg_l_caco3, m_mg_l_caco3 : float
        Phenolphthalein and total alkalinity. [mg/L as CaCO3]

    Returns
    -------
    tuple of float
        Bicarbonate, carbonate and hydroxide alkalinity. [mg/L as CaCO3]
    """
    if 2 * p_mg_l_caco3 <= m_mg_l_caco3:
        return m_mg_l_caco3 - 2 * p_mg_l_caco3, 2 * p_mg_l_caco3, 0.0
    hydroxide = 2 * p_mg_l_caco3 - m_mg_l_caco3
    return 0.0, 2 * (m_mg_l_caco3 - p_mg_l_caco3), hydroxide


def choose_alkalinity(sample: Sample) -> None:
    """Settle alkalinity, bicarbonate and carbonate; a printed result beats a computed one."""
    total = _total_alkalinity(sample)
    p = sample.value("alkalinity_p")
    hydroxide = sample.value("alkalinity_oh") or 0.0
    if p is not None and total is not None:
        hydroxide = _split(sample, p, total) or hydroxide
    if total is not None and "hco3" not in sample.mg_l:
        carbonate = sample.mg_l.get("co3", 0.0) / CO3_PER_CACO3
        _from_total(sample, total, carbonate + hydroxide)
    if total is None and "hco3" in sample.mg_l:
        total = (
            sample.mg_l["hco3"] / HCO3_PER_CACO3
            + sample.mg_l.get("co3", 0.0) / CO3_PER_CACO3
            + hydroxide
        )
    elif total is not None:
        _compare_alkalinity(sample, total, hydroxide)
    sample.alkalinity_mg_l_caco3 = total
    if hydroxide > 0:
        sample.flag(
            "hydroxide_alkalinity",
            "caution",
            f"the water holds hydroxide alkalinity, {shown(hydroxide)} mg/L as CaCO3, unusual "
            f"for a well water",
            "water.alkalinity_mg_l_caco3",
        )


def _total_alkalinity(sample: Sample) -> float | None:
    """Return the printed total alkalinity, sorting out the French "TA"."""
    total = sample.value("alkalinity")
    plain = sample.best("alkalinity_ta")
    if plain is not None:
        if total is not None:
            sample.readings = [
                replace(r, analyte="alkalinity_p") if r is plain else r for r in sample.readings
            ]
        else:
            sample.flag(
                "ambiguous_name",
                "warning",
                f"{plain.place} '{plain.name}' is phenolphthalein alkalinity in French "
                f"and total alkalinity "
                "in English; it is not used: name it in full",
                "water.alkalinity_mg_l_caco3",
            )
    if total is None and "hco3" not in sample.mg_l:
        total = sample.value("hardness_carbonate")
        if total is not None:
            sample.flag(
                "alkalinity_from_carbonate_hardness",
                "caution",
                f"no alkalinity was measured; the carbonate hardness, {shown(total)} mg/L as "
                f"CaCO3, stands for it "
                "(too low where alkalinity exceeds hardness)",
                "water.alkalinity_mg_l_caco3",
            )
    return total


def _split(sample: Sample, p: float, total: float) -> float:
    bicarbonate, carbonate, hydroxide = split_alkalinity(p, total)
    if p > total:
        sample.flag(
            "alkalinity_conflict",
            "warning",
            f"phenolphthalein alkalinity {shown(p)} exceeds total alkalinity {shown(total)} "
            "mg/L as CaCO3; the split is not made: ask the lab",
            "water.alkalinity_mg_l_caco3",
        )
        return 0.0
    if "co3" not in sample.mg_l:
        sample.mg_l["co3"] = carbonate * CO3_PER_CACO3
        sample.below_mg_l.pop("co3", None)
    sample.mg_l.setdefault("hco3", bicarbonate * HCO3_PER_CACO3)
    return hydroxide


def _from_total(sample: Sample, total: float, other: float) -> None:
    if other > total:
        sample.flag(
            "alkalinity_conflict",
            "warning",
            f"carbonate and hydroxide, {shown(other)}, exceed the total alkalinity {shown(total)} "
            f"mg/L as CaCO3; "
            "all alkalinity is taken as bicarbonate: ask the lab",
            "water.hco3_mg_l",
        )
        other = 0.0
    sample.mg_l["hco3"] = (total - other) * HCO3_PER_CACO3
    sample.below_mg_l.pop("hco3", None)


def _compare_alkalinity(sample: Sample, total: float, hydroxide: float) -> None:
    parts = (
        sample.mg_l.get("hco3", 0.0) / HCO3_PER_CACO3
        + sample.mg_l.get("co3", 0.0) / CO3_PER_CACO3
        + hydroxide
    )
    if abs(parts - total) > max(SAME_RESULT * total, SAME_ALKALINITY_MG_L):
        sample.flag(
            "alkalinity_hco3_mismatch",
            "caution",
            f"alkalinity {shown(total)} mg/L as CaCO3 is printed, but bicarbonate and "
            f"carbonate make {shown(parts)}; "
            "the printed alkalinity is used: ask the lab for the basis of each",
            "water.alkalinity_mg_l_caco3",
        )


@cites("SM2340B", "hardness by calculation, inverted")
def choose_hardness(sample: Sample) -> None:
    """Take calcium and magnesium from hardness where the ions themselves are not given."""
    total = sample.value("hardness")
    if total is not None:
        sample.properties["hardness_mg_l_caco3"] = total
    parts = {"ca": sample.best("hardness_ca"), "mg": sample.best("hardness_mg")}
    known = {key: _caco3(sample, key) for key in parts}
    for key, reading in parts.items():
        if known[key] is None and reading is not None and reading.value is not None:
            known[key] = reading.value
            _derive(sample, key, reading.value, [reading], f"{reading.name.casefold()}")
    for key, other in (("ca", "mg"), ("mg", "ca")):
        left = known[other]
        if known[key] is None and total is not None and left is not None:
            trail = [r for r in (sample.best("hardness"), parts[other]) if r is not None]
            _derive(sample, key, total - left, trail, "total hardness less the other part")


def _caco3(sample: Sample, key: str) -> float | None:
    if key not in sample.mg_l:
        return 0.0 if key in sample.below_mg_l else None
    return sample.mg_l[key] / _ion_per_caco3(key)


@lru_cache(maxsize=4)
def _ion_per_caco3(key: str) -> float:
    return mg_l_as_ion(1.0, concentration_unit("mg/L as CaCO3"), Ion(analytes()[key].formula, 2))


def _derive(sample: Sample, key: str, caco3: float, trail: list[Reading], how: str) -> None:
    name = analytes()[key].name
    if caco3 < 0:
        sample.flag(
            "hardness_conflict",
            "warning",
            f"{name} cannot be taken from hardness: the parts exceed the total by "
            f"{shown(-caco3, 3)} mg/L as CaCO3",
            f"water.{key}_mg_l",
        )
        return
    for reading in trail:
        sample.take(reading)
    direct = trail[0].value == caco3 and trail[0].factor is not None
    factor = _ion_per_caco3(key)
    sample.mg_l[key] = caco3 * factor
    sample.readings.append(
        Reading(
            place=", ".join(r.place for r in trail),
            analyte=key,
            name=" and ".join(r.name for r in trail),
            text=trail[0].text if direct else "",
            unit=trail[0].unit if direct else "mg/L as CaCO3",
            basis="as CaCO3",
            fraction="",
            factor=(trail[0].factor or 0.0) * factor if direct else None,
            value=caco3 * factor,
            note=f"from {how}",
        )
    )
    sample.used.add(id(sample.readings[-1]))
    sample.flag(
        "from_hardness",
        "caution",
        f"{name} was not measured itself; it is taken from {how}",
        f"water.{key}_mg_l",
    )


def finished(readings: Iterable[Reading], used: set[int]) -> tuple[Reading, ...]:
    """Return the readings with those marked that another was preferred to."""
    return tuple(r if id(r) in used else replace(r, used=False) for r in readings)
