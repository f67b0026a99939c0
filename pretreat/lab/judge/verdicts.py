"""The flags of a judgement: what each check says to the engineer and to the lab."""

from typing import TYPE_CHECKING

from pretreat.core.basis import Flag, Level
from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge import quality as limits
from pretreat.lab.judge.contradictions import contradiction_flags
from pretreat.lab.read.wording import shown

if TYPE_CHECKING:
    from pretreat.lab.judge.quality import Judgement


def verdict_flags(water: WaterAnalysis, judged: "Judgement") -> tuple[Flag, ...]:
    """Return the flags of a judgement.

    Parameters
    ----------
    water : WaterAnalysis
        The water. [-]
    judged : Judgement
        Its checks. [-]

    Returns
    -------
    tuple of Flag
        Flags, the gravest checks first; the likely culprit is named in a flag of its own. [-]
    """
    flags: list[Flag] = []
    flags += _balance(judged)
    flags += _conductivity(water, judged)
    flags += _solids(water, judged)
    flags += _hardness(judged)
    flags += _carbon_dioxide(water, judged)
    flags += contradiction_flags(water, judged)
    flags += _fillers(water)
    if judged.culprits:
        text = "; or ".join(judged.culprits)
        flags.append(
            Flag(
                "likely_culprit",
                "caution",
                f"likely culprit: {text}. Ask the lab before it is changed",
            )
        )
    return tuple(flags)


def _balance(judged: "Judgement") -> list[Flag]:
    if judged.missing:
        text = f"the ion balance cannot be judged: {', '.join(judged.missing)} not measured"
        return [Flag("balance_not_judged", "caution", text, "water.ion_balance_pct")]
    balance, accepted = judged.ion_balance_pct, judged.acceptance_pct
    if balance is None or accepted is None or abs(balance) <= accepted:
        return []
    gap = abs((judged.cations_meq_l or 0.0) - (judged.anions_meq_l or 0.0))
    grave = abs(balance) > limits.WARN_BALANCE_PCT and gap > limits.WARN_BALANCE_MEQ_L
    side = "cations" if balance > 0 else "anions"
    text = (
        f"ion balance {balance:+.1f} %, more {side} ({judged.cations_meq_l:.2f} meq/L cations, "
        f"{judged.anions_meq_l:.2f} meq/L anions); accepted for its size is "
        f"{accepted:.1f} % (SM 1030 E)"
    )
    return [
        Flag("charge_balance", "warning" if grave else "caution", text, "water.ion_balance_pct")
    ]


def _level(ratio: float, caution: tuple[float, float], warn: tuple[float, float]) -> Level | None:
    if not warn[0] <= ratio <= warn[1]:
        return "warning"
    return None if caution[0] <= ratio <= caution[1] else "caution"


def _conductivity(water: WaterAnalysis, judged: "Judgement") -> list[Flag]:
    ratio, made = judged.ec_ratio, judged.ec_calculated_us_cm
    if ratio is None or made is None:
        return []
    # What calcium and magnesium pair up with sulfate carries no current.
    least = ratio if judged.ec_least_us_cm is None else ratio * judged.ec_least_us_cm / made
    judged_by = max(least, 1.0) if ratio > 1.0 else ratio
    level = _level(judged_by, limits.CAUTION_EC_RATIO, limits.WARN_EC_RATIO)
    if level is None:
        return []
    text = (
        f"the ions make {shown(made)} µS/cm at 25 °C, the lab measured "
        f"{shown(water.properties['ec_us_cm'])} (ratio {shown(ratio, 3)})"
    )
    return [Flag("ec_ions_mismatch", level, text, "water.ec_us_cm")]


def _solids(water: WaterAnalysis, judged: "Judgement") -> list[Flag]:
    ratio, residue = judged.tds_ratio, judged.tds_residue_mg_l
    level = (
        _level(ratio, limits.CAUTION_TDS_RATIO, limits.WARN_TDS_RATIO)
        if ratio is not None
        else None
    )
    if ratio is None or level is None or residue is None:
        return []
    text = (
        f"the lab reports {shown(water.properties['tds_mg_l'])} mg/L dissolved solids, the "
        f"ions leave a residue of "
        f"{shown(residue)} mg/L (ratio {ratio:.2f})"
    )
    return [Flag("tds_ions_mismatch", level, text, "water.tds_reported_mg_l")]


def _hardness(judged: "Judgement") -> list[Flag]:
    ratio, hardness = judged.hardness_ratio, judged.hardness_mg_l_caco3
    if ratio is None or hardness is None:
        return []
    level = _level(ratio, limits.CAUTION_HARDNESS_RATIO, limits.WARN_HARDNESS_RATIO)
    if level is None:
        return []
    text = (
        f"calcium and magnesium make a hardness of {shown(hardness)} mg/L as CaCO3, "
        f"{ratio:.2f} times the hardness the lab reports"
    )
    return [Flag("hardness_ions_mismatch", level, text, "water.hardness_mg_l_caco3")]


def _carbon_dioxide(water: WaterAnalysis, judged: "Judgement") -> list[Flag]:
    co2 = judged.co2_mg_l
    low, high = limits.PLAUSIBLE_CO2_MG_L
    if co2 is None or low <= co2 <= high:
        return []
    text = (
        f"pH {water.ph:g} and the alkalinity give {shown(co2, 2)} mg/L CO2; usual in groundwater "
        f"is {low:g} to {high:g}"
    )
    return [Flag("co2_implausible", "caution", text, "water.ph")]


# Factors by which labs compute dissolved solids from conductivity; common practice.
TDS_PER_EC = (0.5, 0.55, 0.6, 0.64, 0.65, 0.67, 0.7)
COPIED = 0.002  # closer than this two results are not independent


def _fillers(water: WaterAnalysis) -> list[Flag]:
    """Return flags for results that look filled in rather than measured."""
    found = []
    ec, tds = water.properties.get("ec_us_cm"), water.properties.get("tds_mg_l")
    for factor in TDS_PER_EC:
        if ec and tds and abs(tds / ec / factor - 1) < COPIED:
            text = (
                f"dissolved solids {shown(tds)} mg/L are {factor:g} times the conductivity: "
                "probably computed from it, so the two do not confirm each other"
            )
            found.append(Flag("tds_from_ec", "info", text, "water.tds_reported_mg_l"))
            break
    if water.ph is not None and water.ph == round(water.ph):
        text = (
            f"pH is given as {water.ph:g}: a rounded or filled-in pH moves every index by up to 0.5"
        )
        found.append(Flag("ph_rounded", "info", text, "water.ph"))
    return found
