"""What a report prints twice, and differently: gas against pH, sums and indexes against the ions.

A warning is far apart: one of the two numbers is wrong, and nobody knows which.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pretreat.chemistry.carbonate import (
    bicarbonate_mol_l,
    log10_k1,
    monovalent_pf,
    ph_from_alkalinity_and_co2,
    ph_saturation,
)
from pretreat.chemistry.composition import meq_l
from pretreat.core.basis import Flag, Level, cites
from pretreat.core.errors import UnitError
from pretreat.core.tables import analytes
from pretreat.core.text import lazy
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass
from pretreat.core.units.concentration import concentration_unit
from pretreat.core.water import OtherLine, WaterAnalysis
from pretreat.lab.others import plain_name
from pretreat.lab.read.unit_words import spelled_unit
from pretreat.lab.read.wording import shown
from pretreat.lab.water_figures import LAB_TEMPERATURE_C

if TYPE_CHECKING:
    from pretreat.lab.judge.quality import Judgement

CONTRADICTS = "report_contradicts"
PH = "water.ph"
CO2_TIMES, CO2_MG_L = 2.0, 5.0  # PRACTICE: less is within titration, temperature and constants
FAR_TIMES = 1.5  # PRACTICE: two results of one thing so far apart: one of them is wrong
SUM_TIMES, SUM_MEQ_L = 1.15, 0.5  # PRACTICE: beyond what leaving traces out of a sum makes
HARDNESS_TIMES, HARDNESS_MG_L = 1.25, 20.0  # PRACTICE: as CaCO3
BALANCE_PCT = 5.0  # PRACTICE: half of it where the difference is taken over the mean
HALF, MG_PER_G = 0.5, 1000.0
LEAST_STRENGTH = 1e-4  # PRACTICE: mol/kg; less than rain
INDEX = 0.5  # PRACTICE: of pH; what constants and activities differ by

_NOT_CALCITE = lazy(
    r"gyps|barit|fluori|silic|quar[tz]|dolomit|siderit|aragonit|oxygen|sauerstoff|celest|iron"
)
_LSI = lazy(r"langelier|\blsi\b|saturation index|sattigungsindex|indice de saturation")
_PHS = lazy(r"^ph ?s$|\bsaturation ph\b|\bph (of|at) saturation|^ph saturation")
_BALANCE = lazy(
    r"ion(ic)? balance|charge balance|ionenbilanz|balance ioni|(cation|ion).*differ|bilan ioni"
)
_SUMS = {
    "cations": lazy(r"(sum|total|summe|somme|suma|somma)\w* .*[ck]ation|[ck]ation\w* ?sum"),
    "anions": lazy(r"(sum|total|summe|somme|suma|somma)\w* .*\banion|\banion\w* ?sum"),
}


def contradiction_flags(water: WaterAnalysis, judged: "Judgement") -> tuple[Flag, ...]:
    """Return a flag for each number of a report that another one of it contradicts.

    Parameters
    ----------
    water : WaterAnalysis
        The water. [-]
    judged : Judgement
        Sums of its ions. [-]

    Returns
    -------
    tuple of Flag
        Flags `report_contradicts`; a warning where the two are far apart. [-]
    """
    found = [*_gas(water), *_parts_of_hardness(water, judged)]
    for line in water.others:
        if line.value is not None:
            found += [*_index(water, line), *_sum(judged, line), *_printed_balance(judged, line)]
    return tuple(found)


def _flag(text: str, figure: str, *, far: bool = False) -> Flag:
    level: Level = "warning" if far else "caution"
    return Flag("report_contradicts", level, text, figure)


def _apart(one: float, other: float) -> float:
    """Return how many times the larger is the smaller."""
    small, large = sorted((abs(one), abs(other)))
    return large / small if small > 0.0 else float("inf")


def _ionic_strength(water: WaterAnalysis) -> float:
    """Return half the sum of molality and square of charge, pairs left out [mol/kg]."""
    ions = [(v, analytes()[k]) for k, v in water.mg_l.items() if k in analytes()]
    made = sum(v / molar_mass(a.formula) * a.charge**2 for v, a in ions if a.charge)
    return max(HALF * made / MG_PER_G, LEAST_STRENGTH)


def _temperature_c(water: WaterAnalysis) -> float:
    """Return the temperature of the pH, as the figures of the water take it."""
    if water.ph_temperature_c is not None:
        return water.ph_temperature_c
    if water.ph_kind == "lab" or water.temperature_c is None:
        return LAB_TEMPERATURE_C
    return water.temperature_c


@cites("PB82", "K1; CO2 = H x HCO3 / K1")
def dissolved_co2_mg_l(water: WaterAnalysis) -> float | None:
    """Return the carbon dioxide that pH and alkalinity of an analysis make.

    Parameters
    ----------
    water : WaterAnalysis
        The water. [-]

    Returns
    -------
    float or None
        None without pH or alkalinity. [mg/L]
    """
    alkalinity = water.alkalinity_mg_l_caco3
    if water.ph is None or not alkalinity:
        return None
    temp, strength = _temperature_c(water), _ionic_strength(water)
    eq_l = 1e-3 * alkalinity / CACO3_MG_PER_MEQ
    hco3 = bicarbonate_mol_l(eq_l, water.ph, strength, temp)
    pf = monovalent_pf(strength, temp)
    found = hco3 * 10.0 ** (-water.ph - pf - log10_k1(temp))
    return float(1e3 * molar_mass("CO2") * found)


def _gas(water: WaterAnalysis) -> Iterator[Flag]:
    """Carbon dioxide that was measured, and what pH and alkalinity make of it."""
    printed = water.properties.get("co2_mg_l")
    made = dissolved_co2_mg_l(water)
    if printed is None or made is None or abs(printed - made) <= CO2_MG_L:
        return
    if not _apart(printed, made) > CO2_TIMES:
        return
    eq_l = 1e-3 * (water.alkalinity_mg_l_caco3 or 0.0) / CACO3_MG_PER_MEQ
    gas = 1e-3 * printed / molar_mass("CO2")
    temp, strength = _temperature_c(water), _ionic_strength(water)
    ph = ph_from_alkalinity_and_co2(eq_l, gas, strength, temp)
    why = (
        "the sample lost gas before its pH was read"
        if printed > made
        else "the sample lost gas before it was titrated, or its pH was read too low"
    )
    yield _flag(
        f"carbon dioxide is given as {shown(printed, 3)} mg/L, and pH {water.ph:g} with the "
        f"alkalinity makes {shown(made, 2)} mg/L: {why}, or one of the three is wrong; with that "
        f"gas the water has pH {float(ph):.1f}. Calcium carbonate, doses of acid or alkali, "
        "aeration and the pH of the product rest on it: measure pH at the well",
        PH,
    )


def _parts_of_hardness(water: WaterAnalysis, judged: "Judgement") -> Iterator[Flag]:
    """Parts of a hardness that are printed beside the ions they are made of."""
    hardness, alkalinity = judged.hardness_mg_l_caco3, water.alkalinity_mg_l_caco3
    ions = {
        f"{name}_hardness_mg_l_caco3": float(meq_l(key, water.mg_l[key]) * CACO3_MG_PER_MEQ)
        for key, name in (("ca", "calcium"), ("mg", "magnesium"))
        if key in water.mg_l
    }
    made: dict[str, tuple[float, ...]] = {k: (v,) for k, v in ions.items()}
    if hardness is not None and alkalinity is not None:
        # Some call all of the alkalinity carbonate hardness, also where it exceeds the hardness.
        made["carbonate_hardness_mg_l_caco3"] = (min(hardness, alkalinity), alkalinity)
        made["other_hardness_mg_l_caco3"] = (max(hardness - alkalinity, 0.0),)
    for reading in water.readings:
        known = made.get(reading.analyte)
        if known is None or reading.value is None:
            continue
        nearest = min(known, key=lambda one: abs(one - (reading.value or 0.0)))
        if abs(nearest - reading.value) <= HARDNESS_MG_L:
            continue
        times = _apart(nearest, reading.value)
        if times > HARDNESS_TIMES:
            yield _flag(
                f"{reading.name} is given as {shown(reading.value, 3)} mg/L as CaCO3, the other "
                f"results make {shown(nearest, 3)}: ask the laboratory which is right, or have "
                "both measured again",
                "water.hardness_mg_l_caco3",
                far=times > FAR_TIMES,
            )


def _index(water: WaterAnalysis, line: OtherLine) -> Iterator[Flag]:
    """Langelier index or pH of saturation that the laboratory calculated by itself."""
    name = plain_name(line.name)
    of_index = bool(_LSI.search(name)) and not _NOT_CALCITE.search(name)
    calcium, alkalinity = water.mg_l.get("ca"), water.alkalinity_mg_l_caco3
    if not (of_index or _PHS.search(name)) or line.value is None or not calcium or not alkalinity:
        return
    if water.ph is None:
        return
    temps = {_temperature_c(water), LAB_TEMPERATURE_C, water.temperature_c or LAB_TEMPERATURE_C}
    strength, eq_l = _ionic_strength(water), 1e-3 * alkalinity / CACO3_MG_PER_MEQ
    made = []
    for temp in temps:
        hco3 = bicarbonate_mol_l(eq_l, water.ph, strength, temp)
        phs = ph_saturation(1e-3 * calcium / molar_mass("Ca"), hco3, strength, temp)
        made.append(float(water.ph - phs if of_index else phs))
    low, high = min(made), max(made)
    if low - INDEX <= line.value <= high + INDEX:
        return
    yield _flag(
        f"{line.name} is given as {line.text}, and pH, alkalinity and calcium of the same report "
        f"make {0.5 * (low + high):.1f}: one of them is wrong, or belongs to another sample: ask "
        "the laboratory, and measure pH at the well",
        PH,
    )


def _meq_l(line: OtherLine) -> float | None:
    """Return a printed sum of ions; None where its unit is none of equivalents."""
    unit = line.unit.strip()
    if not unit:
        return line.value
    try:
        known = concentration_unit(spelled_unit(unit))
    except UnitError:
        return None
    equivalents = known.kind in {"mole", "equivalent"} and line.value is not None
    return (line.value or 0.0) * known.factor if equivalents else None


def _sum(judged: "Judgement", line: OtherLine) -> Iterator[Flag]:
    """Sum of cations or anions that the laboratory made of its own results."""
    if judged.missing:
        return
    name = plain_name(line.name)
    for side, pattern in _SUMS.items():
        made, printed = getattr(judged, f"{side}_meq_l"), None
        if pattern.search(name):
            printed = _meq_l(line)
        if printed is None or made is None or abs(printed - made) <= SUM_MEQ_L:
            continue
        times = _apart(printed, made)
        if times > SUM_TIMES:
            yield _flag(
                f"{line.name} is given as {shown(printed, 3)} meq/L, the {side} of the report "
                f"make {shown(made, 3)}: a result is wrong, missing or in another unit: compare "
                "each with the laboratory's own page",
                "water.ion_balance_pct",
                far=times > FAR_TIMES,
            )


def _printed_balance(judged: "Judgement", line: OtherLine) -> Iterator[Flag]:
    """Ion balance that the laboratory calculated by itself, and that is worse than ours."""
    ours = judged.ion_balance_pct
    if ours is None or not _BALANCE.search(plain_name(line.name)) or line.value is None:
        return
    if line.unit.strip() not in {"", "%"} or abs(line.value) <= 2.0 * abs(ours) + BALANCE_PCT:
        return
    yield _flag(
        f"{line.name} is given as {line.text} %, the ions of the report make {ours:+.1f} %: a "
        "result was changed after it: compare each with the laboratory's own page",
        "water.ion_balance_pct",
    )
