"""Alkali fed into the product: dose, sodium and feeder."""

from pretreat.core.errors import DesignError
from pretreat.core.units import molar_mass
from pretreat.stages.dosing.figures import chemicals, enter_feeder
from pretreat.stages.product_alkali import laws
from pretreat.stages.product_gas import co2_key
from pretreat.stages.train import Train

P, DOSE = "product_alkali", "product_alkali.dose_mg_l"
CO2_BOUND = 0.9  # PRACTICE: all but a tenth, pH then near 7.5 to 8
PRODUCT = ("machine.product_flow_m3_h", "machine.product_m3_d")
# Moles of base and of sodium that bind one mole of carbon dioxide.
BASES = {"caustic": ("NaOH", 1.0, 1.0), "soda_ash": ("Na2CO3", 1.0, 2.0)}


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter dose, what it brings and its feeder."""
    entries, choice = train.entries, train.design.product_alkali
    formula, moles, sodium = BASES[choice.base]
    label = f"Dose of {chemicals()[choice.base].name} into the product, pure"
    if choice.dose_mg_l is not None:
        entries.given(DOSE, choice.dose_mg_l, "mg/L", label, origin="chosen", cites=())
    else:
        _enter_dose(train, label, moles * molar_mass(formula) / molar_mass("CO2"))
    entries.law(
        f"{P}.na_added_mg_l",
        laws.sodium_in_product_mg_l,
        dose_mg_l=DOSE,
        sodium_mg_mg=sodium * molar_mass("Na") / molar_mass(formula),
        label="Sodium that the base adds to the product",
    )
    enter_feeder(train, P, DOSE, chemicals()[choice.base], water=PRODUCT)


def _enter_dose(train: Train, label: str, base_mg_mg: float) -> None:
    entries, own, co2 = train.entries, train.design.product_alkali.co2_bound, co2_key(train)
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
