"""Alkali fed into the product: dose, sodium, feeder, and the pH behind it."""

import numpy as np

from pretreat.core.errors import DesignError
from pretreat.core.units import molar_mass
from pretreat.membrane.elements.product import Water, solved
from pretreat.stages.delivered import Delivered, handed_on
from pretreat.stages.dosing.figures import chemicals, enter_feeder
from pretreat.stages.product_alkali import laws
from pretreat.stages.train import Train

P, NAME = "product_alkali", "alkali feed into the product"
DOSE = "product_alkali.dose_mg_l"
CO2_BOUND = 0.9  # PRACTICE: all but a tenth, pH then near 7.5 to 8
# Moles of base and of sodium that bind one mole of carbon dioxide, and moles of carbon in them.
BASES = {"caustic": ("NaOH", 1.0, 1.0, 0.0), "soda_ash": ("Na2CO3", 1.0, 2.0, 1.0)}
HALF_CACO3 = molar_mass("CaCO3") / 2.0


def deliver(train: Train, before: Delivered) -> Delivered:
    """Enter dose, what it brings, its feeder and the pH it makes; return the water behind.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    before : Delivered
        The water that is dosed. [-]

    Returns
    -------
    Delivered
        The water behind it. [-]

    Raises
    ------
    DesignError
        If no dose is given and the carbon dioxide is not known.
    """
    entries, choice = train.entries, train.design.product_alkali
    formula, moles, sodium, _ = BASES[choice.base]
    base_mg_mg = moles * molar_mass(formula) / molar_mass("CO2")
    label = f"Dose of {chemicals()[choice.base].name} into the product, pure"
    if choice.dose_mg_l is not None:
        entries.given(DOSE, choice.dose_mg_l, "mg/L", label, origin="chosen", cites=())
    else:
        _enter_dose(train, label, base_mg_mg, before.co2)
    entries.law(
        f"{P}.na_added_mg_l",
        laws.sodium_in_product_mg_l,
        dose_mg_l=DOSE,
        sodium_mg_mg=sodium * molar_mass("Na") / molar_mass(formula),
        label="Sodium that the base adds to the product",
    )
    enter_feeder(train, P, DOSE, chemicals()[choice.base], water=(before.flow, before.day))
    behind = None
    if before.water is not None:
        behind = dosed(before.water, choice.base, entries.value(DOSE))
    elif before.co2 is not None:
        entries.law(
            f"{P}.co2_mg_l",
            laws.co2_left_mg_l,
            co2_mg_l=before.co2,
            dose_mg_l=DOSE,
            base_mg_mg=base_mg_mg,
            label="Carbon dioxide left in the product",
        )
    return handed_on(train, before, behind, P, NAME, DOSE)


def dosed(water: Water, base: str, dose_mg_l: float) -> Water:
    """Return a water after a base, closed to the air.

    Parameters
    ----------
    water : Water
        A single water. [-]
    base : str
        "caustic" or "soda_ash". [-]
    dose_mg_l : float
        Dose of the pure base. [mg/L]

    Returns
    -------
    Water
        With its own pH. [-]
    """
    formula, _, sodium, carbon = BASES[base]
    mmol_l, w = dose_mg_l / molar_mass(formula), water.water
    ions = {**w.mg_l, "na": w.mg_l.get("na", 0.0) + mmol_l * sodium * molar_mass("Na")}
    return solved(
        ions,
        w.temp_c,
        np.asarray(w.alkalinity_mg_l_caco3) + mmol_l * sodium * HALF_CACO3,
        w.speciation.inorganic_carbon_mol_kg + mmol_l * carbon / 1000.0,
        water.traces,
    )


def _enter_dose(train: Train, label: str, base_mg_mg: float, co2: str | None) -> None:
    entries, own = train.entries, train.design.product_alkali.co2_bound
    if co2 is None:
        raise DesignError(
            "[product_alkali]: the dose follows from the carbon dioxide of the water, which needs "
            'pH and alkalinity: add them to the report, or write dose = "20 mg/L"'
        )
    entries.given(
        f"{P}.co2_bound",
        CO2_BOUND if own is None else own,
        "-",
        "Share of the product's carbon dioxide that is bound",
        origin="assumed" if own is None else "chosen",
        cites=("PRACTICE",) if own is None else (),
    )
    entries.law(
        DOSE,
        laws.dose_for_co2_mg_l,
        co2_mg_l=co2,
        co2_bound=f"{P}.co2_bound",
        base_mg_mg=base_mg_mg,
        label=label,
    )
