"""The sums of an analysis as figures: ions, balance, dissolved solids, hardness."""

import math
from collections.abc import Mapping
from typing import Any

from pretreat.chemistry.composition import charge_beside_alkalinity
from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.units import molar_mass
from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge.quality import missing_ions
from pretreat.lab.quality_figures import known
from pretreat.lab.read.wording import shown
from pretreat.lab.water_laws import (
    TDS_OF_EC,
    alkalinity_mg_l_caco3,
    anions_meq_l,
    cations_meq_l,
    hardness_mg_l_caco3,
    ion_balance_pct,
    tds_at_least_mg_l,
    tds_by_conductivity_mg_l,
    tds_mg_l,
    tds_residue_by_alkalinity_mg_l,
)


def enter_sums(
    ledger: Ledger, water: WaterAnalysis, balance: Mapping[str, float], alkalinity: float
) -> None:
    """Enter alkalinity, sums of ions, ion balance, dissolved solids and hardness.

    Parameters
    ----------
    ledger : Ledger
        With the analysis as read entered. [-]
    water : WaterAnalysis
        The analysis. [-]
    balance : mapping of str to float
        Its ions, non-detects resolved. [mg/L as the ion]
    alkalinity : float
        Alkalinity; NaN where unknown. [mg/L as CaCO3]
    """
    _enter_alkalinity(ledger, water, alkalinity)
    alkaline = 0.0 if math.isnan(alkalinity) else "water.alkalinity_mg_l_caco3"
    for name, sign, law, more in (
        ("cations", 1, cations_meq_l, {}),
        ("anions", -1, anions_meq_l, {"alkalinity_mg_l_caco3": alkaline}),
    ):
        charges = {k: sign * charge_beside_alkalinity(k) for k in balance}
        counted = [k for k in balance if charges[k] > 0]
        ledger.law(
            f"water.{name}_meq_l",
            law,
            ions_mg_l=[known(water, k, balance[k]) for k in counted],
            meq_per_mg=[charges[k] / molar_mass(analytes()[k].formula) for k in counted],
            **more,
            label=f"Sum of {name}",
            method="ions at full charge, alkalinity added",
        )
    found = ledger.law(
        "water.ion_balance_pct",
        ion_balance_pct,
        cations_meq_l="water.cations_meq_l",
        anions_meq_l="water.anions_meq_l",
        label="Ion balance",
        method="100 (cations - anions) / (cations + anions)",
    )
    if math.isnan(found):
        text = "Ion balance: not computable"
        ledger.flag(Flag("not_computable", "caution", text, "water.ion_balance_pct"))
    solids: dict[str, Any] = {
        "ions_mg_l": [known(water, k, amount) for k, amount in balance.items()],
        "alkalinity_mg_l_caco3": alkaline,
        "co3_mg_l": known(water, "co3", 0.0),
    }
    ledger.law(
        "water.tds_residue_mg_l",
        tds_residue_by_alkalinity_mg_l,
        **solids,
        label="Residue on evaporation, calculated",
        method="as the sum, bicarbonate times 0.4917",
    )
    if "tds_mg_l" in water.properties:
        ledger.put(
            "water.tds_reported_mg_l",
            water.properties["tds_mg_l"],
            "mg/L",
            "Dissolved solids as reported",
            origin="measured",
            evidence="printed",
            method="as read from the lab report",
        )
    if {"ca", "mg"} <= set(balance):
        ledger.law(
            "water.hardness_mg_l_caco3",
            hardness_mg_l_caco3,
            ca_mg_l=known(water, "ca", balance["ca"]),
            mg_mg_l=known(water, "mg", balance["mg"]),
            label="Hardness (Ca + Mg)",
            method="calcium and magnesium in equivalents",
        )
    _enter_solids(ledger, water, balance, solids)


def _enter_solids(
    ledger: Ledger, water: WaterAnalysis, balance: Mapping[str, float], solids: Mapping[str, Any]
) -> None:
    """Enter the dissolved solids: the sum of the ions where all major ones are known.

    Else what is printed, or what the conductivity says, or the sum as the least there is.
    """
    key, label = "water.tds_mg_l", "Total dissolved solids"
    lacking = missing_ions(water, balance)
    summed = "water.tds_of_ions_mg_l" if lacking else key
    amount = ledger.law(
        summed,
        tds_mg_l,
        **solids,
        label="Sum of the ions measured" if lacking else label,
        method="sum of ions with full bicarbonate, plus silica",
    )
    if not lacking:
        return
    why = f"{', '.join(lacking)} not measured"
    printed, ec = water.properties.get("tds_mg_l", 0.0), water.properties.get("ec_us_cm", 0.0)
    if printed > amount:
        how = "as printed"
        ledger.put(key, printed, "mg/L", label, origin="measured", method=f"{how}: {why}")
        ledger.rests(key, "water.tds_reported_mg_l")
    elif TDS_OF_EC * ec > amount and "water.ec_us_cm" in ledger:
        how = f"as {TDS_OF_EC:g} times the conductivity"
        ledger.law(
            key,
            tds_by_conductivity_mg_l,
            ec_us_cm="water.ec_us_cm",
            label=f"{label}, by the conductivity",
            method=f"{how}, common practice: {why}",
        )
    else:
        how = "as the least there can be"
        hardness = ("water.hardness_mg_l_caco3", "water.hardness_printed_mg_l_caco3")
        ledger.law(
            key,
            tds_at_least_mg_l,
            ions_mg_l=summed,
            hardness_mg_l_caco3=next((k for k in hardness if k in ledger), 0.0),
            label=f"{label}, at least",
            method=f"ions measured, not below the hardness: {why}",
        )
    text = (
        f"{why}: the dissolved solids of the raw water are taken {how}; the ions measured are "
        f"{shown(amount, 3)} mg/L, and concentrate and product count these, and what is estimated "
        "of sodium and chloride, alone"
    )
    ledger.flag(Flag("tds_incomplete", "caution", text, key))


def _enter_alkalinity(ledger: Ledger, water: WaterAnalysis, alkalinity: float) -> None:
    """Enter the alkalinity, as printed or from bicarbonate and carbonate, where it is known."""
    key, label = "water.alkalinity_mg_l_caco3", "Alkalinity"
    if math.isnan(alkalinity):
        return
    if water.alkalinity_mg_l_caco3 is not None:
        ledger.put(
            key,
            alkalinity,
            "mg/L as CaCO3",
            label,
            origin="measured",
            evidence="printed",
            method="as printed",
        )
        return
    ledger.law(
        key,
        alkalinity_mg_l_caco3,
        hco3_mg_l="water.hco3_mg_l",
        co3_mg_l=known(water, "co3", 0.0),
        label=label,
        method="from bicarbonate and carbonate",
    )
