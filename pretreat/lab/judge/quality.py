"""Judging an analysis: does it close, does it agree with itself, and what is the likely culprit."""

from collections.abc import Mapping
from math import isfinite
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from pretreat.chemistry.composition import CARBONATES, ion_sums_meq_l, tds_mg_l
from pretreat.core.basis import Flag, cites
from pretreat.core.tables import analytes
from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge.conductivity import (
    IONIC_STRENGTH_RANGE,
    conductivity_us_cm,
    least_conductivity_us_cm,
    molal,
)
from pretreat.lab.judge.trace_units import unit_culprits
from pretreat.lab.water_laws import (
    acceptance_pct,
    ec_ratio,
    hardness_mg_l_caco3,
    hardness_ratio,
    ion_balance_pct,
    sum_per_ec,
    tds_ratio,
    tds_residue_mg_l,
)

Policy = Literal["limit", "half", "zero"]
NEEDED = ("ca", "mg", "na", "so4", "cl")  # without one of these a balance says nothing
# What only says something when every major ion is known.
WHOLE_ONLY = frozenset(
    {"ion_balance_pct", "acceptance_pct", "cations_per_ec", "anions_per_ec", "ec_ratio"}
    | {"ec_calculated_us_cm", "tds_ratio"}
)
SHARE = {"limit": 1.0, "half": 0.5, "zero": 0.0}

# Beyond what Standard Methods accepts an analysis is looked at again; beyond these it is not
# to be relied upon. Chosen so that fewer than 1 in 20 sound groundwater analyses are warned of.
WARN_BALANCE_PCT = 10.0
WARN_BALANCE_MEQ_L = 0.6
WARN_EC_RATIO = (0.6, 1.6)
WARN_TDS_RATIO = (0.6, 1.7)
CAUTION_EC_RATIO = (0.8, 1.25)
CAUTION_TDS_RATIO = (0.8, 1.25)
CAUTION_HARDNESS_RATIO = (0.9, 1.1)
WARN_HARDNESS_RATIO = (0.7, 1.4)
PLAUSIBLE_CO2_MG_L = (0.2, 400.0)


class Judgement(Struct, frozen=True):
    """What the checks of one analysis say; None where a check cannot be made.

    Ratios are calculated / measured, except ``tds_ratio``, which is measured / calculated
    residue, and the two sums per conductivity, which are 100 x meq/L / (µS/cm).
    """

    cations_meq_l: float | None = None
    anions_meq_l: float | None = None
    ion_balance_pct: float | None = None
    acceptance_pct: float | None = None
    balance_accepted: bool | None = None
    tds_mg_l: float | None = None
    tds_residue_mg_l: float | None = None
    tds_ratio: float | None = None
    ec_calculated_us_cm: float | None = None
    ec_ratio: float | None = None
    ec_least_us_cm: float | None = None  # without pairs of sulfate, where the ions make too much
    cations_per_ec: float | None = None
    anions_per_ec: float | None = None
    hardness_mg_l_caco3: float | None = None
    hardness_ratio: float | None = None
    co2_mg_l: float | None = None
    culprits: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    flags: tuple[Flag, ...] = ()


def composition(water: WaterAnalysis, policy: Policy = "half") -> dict[str, float]:
    """Return a water's ions with non-detects filled in by a policy.

    Parameters
    ----------
    water : WaterAnalysis
        The water. [-]
    policy : {"limit", "half", "zero"}
        What a non-detect counts as; one without a limit counts as zero. [-]

    Returns
    -------
    dict of str to float
        Composition. [mg/L as the ion]
    """
    filled = {key: SHARE[policy] * (limit or 0.0) for key, limit in water.below_mg_l.items()}
    return {**filled, **water.mg_l}


@cites("PB82", "K1 at 25 °C, rounded; activity coefficients left out")
def co2_mg_l(ph: float, alkalinity_mg_l_caco3: float) -> float:
    """Estimate dissolved CO2 from pH and alkalinity, to judge whether the two go together.

    Parameters
    ----------
    ph : float
        pH. [-]
    alkalinity_mg_l_caco3 : float
        Total alkalinity. [mg/L as CaCO3]

    Returns
    -------
    float
        Carbon dioxide, within a factor of 1.5. [mg/L]
    """
    alkalinity_mmol_l = alkalinity_mg_l_caco3 / CACO3_MG_PER_MEQ
    return float(44.01 * alkalinity_mmol_l * 10 ** (6.35 - ph) / (1 + 2 * 10 ** (ph - 10.33)))


def judge(water: WaterAnalysis, policy: Policy = "half") -> Judgement:
    """Check one analysis against itself.

    Parameters
    ----------
    water : WaterAnalysis
        The water. [-]
    policy : {"limit", "half", "zero"}
        What a non-detect counts as in the balance. [-]

    Returns
    -------
    Judgement
        Sums, ratios, the likely culprit and flags. [-]
    """
    from pretreat.lab.judge.culprits import likely_culprits
    from pretreat.lab.judge.verdicts import verdict_flags

    mg_l = composition(water, policy)
    missing = missing_ions(water, mg_l)
    found = checks(water, mg_l)
    numbers = {key: value for key, value in found.items() if value is not None and isfinite(value)}
    if missing:
        numbers = {key: value for key, value in numbers.items() if key not in WHOLE_ONLY}
    accepted = None
    if "ion_balance_pct" in numbers:
        accepted = abs(numbers["ion_balance_pct"]) <= numbers["acceptance_pct"]
    culprits = unit_culprits(water, mg_l)
    culprits += () if missing or culprits else likely_culprits(water, mg_l, numbers)
    judged = Judgement(
        **numbers,  # type: ignore[arg-type]
        balance_accepted=accepted,
        culprits=culprits,
        missing=missing,
    )
    return replace(judged, flags=verdict_flags(water, judged))


def whole_balance_pct(water: WaterAnalysis, policy: Policy = "half") -> float | None:
    """Return the ion balance of a water whose major ions are all known.

    Parameters
    ----------
    water : WaterAnalysis
        The water. [-]
    policy : {"limit", "half", "zero"}
        What a non-detect counts as. [-]

    Returns
    -------
    float or None
        Balance; None where an ion is missing. [%]
    """
    mg_l = composition(water, policy)
    if missing_ions(water, mg_l):
        return None
    sums = ion_sums_meq_l(mg_l, water.alkalinity_mg_l_caco3 or 0.0)
    balance: float | None = ion_balance_pct(*sums)
    return balance


def missing_ions(water: WaterAnalysis, mg_l: Mapping[str, float]) -> tuple[str, ...]:
    """Return the names of the major ions that an analysis lacks.

    Parameters
    ----------
    water : WaterAnalysis
        The water, for its alkalinity. [-]
    mg_l : mapping of str to float
        Its composition, non-detects filled in. [mg/L as the ion]

    Returns
    -------
    tuple of str
        Names; empty where the sums are whole. [-]
    """
    missing = [analytes()[key].name for key in NEEDED if key not in mg_l]
    if water.alkalinity_mg_l_caco3 is None:
        missing.append("alkalinity")
    return tuple(missing)


def checks(water: WaterAnalysis, mg_l: Mapping[str, float]) -> dict[str, float | None]:
    """Return every number of the judgement for a composition.

    Parameters
    ----------
    water : WaterAnalysis
        The water, for its printed properties. [-]
    mg_l : mapping of str to float
        Its composition, or a changed one. [mg/L as the ion]

    Returns
    -------
    dict of str to float or None
        By the names of `Judgement`. [-]
    """
    alkalinity = water.alkalinity_mg_l_caco3 or 0.0
    cations, anions = map(float, ion_sums_meq_l(mg_l, alkalinity))
    hco3, co3 = mg_l.get("hco3", 0.0), mg_l.get("co3", 0.0)
    solids = [amount for key, amount in mg_l.items() if key not in CARBONATES]
    ions = molal(mg_l, alkalinity)
    strong = (
        0.5 * sum(m * analytes()[k].charge ** 2 for k, m in ions.items()) > IONIC_STRENGTH_RANGE[1]
    )
    ec_calculated = None if strong else conductivity_us_cm(ions)
    ec, tds = water.properties.get("ec_us_cm"), water.properties.get("tds_mg_l")
    much = bool(ec and ec_calculated and ec_calculated > CAUTION_EC_RATIO[1] * ec)
    hardness = hardness_mg_l_caco3(mg_l.get("ca"), mg_l.get("mg"))
    printed = water.properties.get("hardness_mg_l_caco3")
    residue = tds_residue_mg_l(solids, hco3, co3)
    return {
        "cations_meq_l": cations,
        "anions_meq_l": anions,
        "ion_balance_pct": ion_balance_pct(cations, anions),
        "acceptance_pct": acceptance_pct(cations, anions),
        "tds_mg_l": float(tds_mg_l(mg_l, hco3, co3)),
        "tds_residue_mg_l": residue,
        "tds_ratio": tds_ratio(tds, solids, hco3, co3) if residue else None,
        "ec_calculated_us_cm": ec_calculated,
        "ec_ratio": ec_ratio(ec_calculated, ec) if ec else None,
        "ec_least_us_cm": least_conductivity_us_cm(ions) if much else None,
        "cations_per_ec": sum_per_ec(cations, ec) if ec else None,
        "anions_per_ec": sum_per_ec(anions, ec) if ec else None,
        "hardness_mg_l_caco3": hardness,
        "hardness_ratio": hardness_ratio(hardness, printed) if printed else None,
        "co2_mg_l": None if water.ph is None or not alkalinity else co2_mg_l(water.ph, alkalinity),
    }
