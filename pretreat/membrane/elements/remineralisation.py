"""Product that is fit for pipes: alkali, calcite, degassing, and what a target asks for.

Plain permeate attacks copper, lead solder, galvanised steel and concrete: plastic or stainless
pipe up to the neutraliser. Alkali burns; dose it by the safety sheet and local codes.
"""

from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.carbonate import log10_k1, monovalent_pf
from pretreat.core.basis import cites
from pretreat.core.errors import DesignError
from pretreat.core.units import molar_mass
from pretreat.membrane.elements.permeability import refuse_outside
from pretreat.membrane.elements.product import Water, solved

FIRST_DOSE_MMOL_L = 0.01  # where the search begins
MOST_DOSE_MMOL_L = 50.0  # caustic soda beyond any product water
PH_RANGE = (5.0, 9.5)
SECANTS = 30
PH_SETTLED = 1e-6
MG_PER_MOL_CACO3 = molar_mass("CaCO3") * 1000.0


@cites("PB82", "alkali that turns CO2 into bicarbonate up to a pH, closed form")
def alkali_mmol_l(
    hco3_mmol_l: Any, co2_mmol_l: Any, ph: Any, temp_c: Any, ionic_strength_mol_l: Any
) -> Any:
    """Return the hydroxide that brings a permeate to a pH, carbonate left out.

    ``(q CO2 - HCO3) / (1 + q)`` with ``q = 10^(pH - pK1 - log gamma)``; for pH up to about 8.3.

    Parameters
    ----------
    hco3_mmol_l : float or array
        Bicarbonate before. [mmol/L]
    co2_mmol_l : float or array
        Carbon dioxide before. [mmol/L]
    ph : float or array
        pH wanted. [-]
    temp_c : float or array
        Temperature, 0 to 90. [°C]
    ionic_strength_mol_l : float or array
        Ionic strength. [mol/L]

    Returns
    -------
    float or array
        Hydroxide; 0 where the pH is there already. [mmol/L]
    """
    activity = -monovalent_pf(ionic_strength_mol_l, temp_c)
    q = 10.0 ** (np.asarray(ph, float) + log10_k1(temp_c) - activity)
    found = (q * np.asarray(co2_mmol_l, float) - hco3_mmol_l) / (1.0 + q)
    return np.maximum(found, 0.0)


def with_alkali(water: Water, naoh_mmol_l: Any) -> Water:
    """Return a water after caustic soda: alkalinity and sodium rise, carbon stays.

    Parameters
    ----------
    water : Water
        The water. [-]
    naoh_mmol_l : float or array
        Caustic soda, 0 to 100. [mmol/L]

    Returns
    -------
    Water
        The dosed water. [-]

    Raises
    ------
    OutOfRangeError
        If the dose is outside its range.
    """
    refuse_outside("caustic soda", naoh_mmol_l, (0.0, 100.0), "mmol/L")
    dose = np.asarray(naoh_mmol_l, float)
    w = water.water
    ions = {**w.mg_l, "na": w.mg_l.get("na", 0.0) + dose * molar_mass("Na")}
    alkalinity = w.alkalinity_mg_l_caco3 + dose * molar_mass("CaCO3") / 2.0
    carbon = w.speciation.inorganic_carbon_mol_kg
    return solved(ions, w.temp_c, alkalinity, carbon, water.traces)


def alkali_to_ph_mmol_l(water: Water, ph: float) -> float:
    """Return the caustic soda that brings a single water to a pH, by its speciation.

    Parameters
    ----------
    water : Water
        The water; a single one. [-]
    ph : float
        pH wanted, 5 to 9.5. [-]

    Returns
    -------
    float
        Caustic soda; 0 where the pH is there already. [mmol/L]

    Raises
    ------
    OutOfRangeError
        If the pH is outside its range.
    DesignError
        If no dose is found.
    """
    refuse_outside("pH wanted", ph, PH_RANGE, "-")
    if float(water.ph) >= ph:
        return 0.0
    low, high = 0.0, FIRST_DOSE_MMOL_L
    while float(with_alkali(water, high).ph) < ph:
        low, high = high, 2.0 * high
        if high > MOST_DOSE_MMOL_L:
            raise DesignError(
                f"pH {ph:g} is not reached with {MOST_DOSE_MMOL_L:g} mmol/L of caustic soda"
            )
    for _ in range(SECANTS):
        middle = (low + high) / 2.0
        reached = float(with_alkali(water, middle).ph)
        low, high = (middle, high) if reached < ph else (low, middle)
        if abs(reached - ph) < PH_SETTLED:
            break
    return (low + high) / 2.0


@cites("PRACTICE", "a contactor uses up about 90 % of the carbon dioxide")
def usual_share_of_co2() -> float:
    """Return the share of carbon dioxide that a calcite contactor turns into hardness.

    Returns
    -------
    float
        0.9. [-]
    """
    return 0.9


def with_calcite(water: Water, share_of_co2: Any = None) -> Water:
    """Return a water after a bed of calcite: ``CaCO3 + CO2 + H2O = Ca + 2 HCO3``.

    Parameters
    ----------
    water : Water
        The water. [-]
    share_of_co2 : float or array, optional
        Share of the carbon dioxide used up, 0 to 1; 0.9 where left out. [-]

    Returns
    -------
    Water
        With more calcium, alkalinity and carbon. [-]

    Raises
    ------
    OutOfRangeError
        If the share is outside its range.
    """
    share = usual_share_of_co2() if share_of_co2 is None else share_of_co2
    refuse_outside("share of carbon dioxide used up", share, (0.0, 1.0), "-")
    w = water.water
    dissolved = np.asarray(share, float) * w.speciation.co2_mol_kg
    ions = {**w.mg_l, "ca": w.mg_l.get("ca", 0.0) + dissolved * molar_mass("Ca") * 1000.0}
    alkalinity = w.alkalinity_mg_l_caco3 + dissolved * MG_PER_MOL_CACO3
    carbon = w.speciation.inorganic_carbon_mol_kg + dissolved
    return solved(ions, w.temp_c, alkalinity, carbon, water.traces)


def degassed(water: Water, co2_left_mg_l: Any) -> Water:
    """Return a water whose carbon dioxide was stripped to what is left, alkalinity kept.

    Parameters
    ----------
    water : Water
        The water. [-]
    co2_left_mg_l : float or array
        Carbon dioxide counted in the product that is left, 0 to 1000; no more than there
        was. [mg/L]

    Returns
    -------
    Water
        The degassed water; some bicarbonate turns into the carbon dioxide that left, so its
        own is a little below. [-]

    Raises
    ------
    OutOfRangeError
        If the amount is outside its range.
    """
    refuse_outside("carbon dioxide left", co2_left_mg_l, (0.0, 1000.0), "mg/L")
    w = water.water
    before = w.speciation.co2_mol_kg
    left = np.minimum(np.asarray(co2_left_mg_l, float) / (molar_mass("CO2") * 1000.0), before)
    carbon = w.speciation.inorganic_carbon_mol_kg - (before - left)
    return solved(w.mg_l, w.temp_c, w.alkalinity_mg_l_caco3, carbon, water.traces)


class Goals(Struct, frozen=True):
    """What a finished water should have; common practice unless the target says otherwise."""

    ph: float
    alkalinity_mg_l_caco3: float
    hardness_mg_l_caco3: float


@cites("PRACTICE", "finished water: pH near 8, alkalinity and hardness of 40 to 60 mg/L as CaCO3")
def usual_goals() -> Goals:
    """Return the usual goals of a finished drinking water.

    Returns
    -------
    Goals
        pH 8, alkalinity and hardness 40 mg/L as CaCO3. [-]
    """
    return Goals(8.0, 40.0, 40.0)


class Need(Struct, frozen=True):
    """What a single product lacks, and what each way would bring."""

    ph: float
    co2_mg_l: float
    si_calcite: float  # NaN without calcium
    below_ph: bool
    below_alkalinity: bool
    below_hardness: bool
    naoh_mg_l: float  # to the pH wanted, as NaOH
    after_calcite: Water
    calcite_mg_l: float  # dissolved, as CaCO3

    @property
    def needed(self) -> bool:
        """Whether pH, alkalinity or hardness is short."""
        return self.below_ph or self.below_alkalinity or self.below_hardness


def remineralisation_need(water: Water, goals: Goals | None = None) -> Need:
    """Return what a product lacks as a finished water, and what alkali or calcite would do.

    Parameters
    ----------
    water : Water
        The product or the blend; a single water. [-]
    goals : Goals, optional
        What it should have; the usual goals where left out. [-]

    Returns
    -------
    Need
        Shortfalls, the dose of caustic soda, and the water after calcite. [-]

    Raises
    ------
    OutOfRangeError
        If the pH wanted is outside its range.
    """
    wanted = goals or usual_goals()
    after = with_calcite(water)
    dissolved = float(after.water.alkalinity_mg_l_caco3) - float(water.water.alkalinity_mg_l_caco3)
    return Need(
        ph=float(water.ph),
        co2_mg_l=float(water.co2_mg_l),
        si_calcite=float(water.water.speciation.si("calcite")),
        below_ph=float(water.ph) < wanted.ph,
        below_alkalinity=float(water.water.alkalinity_mg_l_caco3) < wanted.alkalinity_mg_l_caco3,
        below_hardness=not float(water.hardness_mg_l_caco3) >= wanted.hardness_mg_l_caco3,
        naoh_mg_l=alkali_to_ph_mmol_l(water, wanted.ph) * molar_mass("NaOH"),
        after_calcite=after,
        calcite_mg_l=dissolved,
    )
