"""A bed of calcite that takes up carbonic acid: contact, what dissolves, and how long it lasts."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, most, valid
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass

CALCITE_PER_CO2 = 2.0 * CACO3_MG_PER_MEQ / molar_mass("CO2")  # CaCO3 + CO2 + H2O
L_PER_M3 = 1000.0
G_PER_KG = 1000.0
MINUTES_PER_HOUR = 60.0
PERCENT = 100.0


@law
@valid(product_m3_h=[0, None], contact_min=(0, None))
def volume_for_contact_l(product_m3_h: Number, contact_min: Number) -> Number:
    """Calcite needed = product flow x 1000 x contact time / 60.

    Worked by hand: 1.2 m3/h for 20 min.

    >>> volume_for_contact_l(1.2, 20.0)
    400.0
    """
    return product_m3_h * L_PER_M3 * contact_min / MINUTES_PER_HOUR


@law
@valid(volume_l=[0, None], product_m3_h=(0, None))
def contact_min(volume_l: Number, product_m3_h: Number) -> Number:
    """Contact time = volume / 1000 / flow x 60, of the empty vessel.

    Worked by hand: 400 L at 1.2 m3/h.

    >>> round(contact_min(400.0, 1.2), 9)
    20.0
    """
    return volume_l / L_PER_M3 / product_m3_h * MINUTES_PER_HOUR


@law
@cites("STOICHIOMETRY", "CaCO3 + CO2 + H2O = Ca + 2 HCO3")
@valid(co2_mg_l=[0, None])
def most_dissolved_mg_l_caco3(co2_mg_l: Number) -> Number:
    """Calcite dissolved at the most = 2.274 x carbon dioxide.

    Balanced reaction: 100.09 g of calcite for 44.01 g of carbon dioxide.

    >>> round(most_dissolved_mg_l_caco3(1.0), 3)
    2.274
    """
    return co2_mg_l * CALCITE_PER_CO2


@law
@cites("STOICHIOMETRY", "CaCO3 + CO2 + H2O = Ca + 2 HCO3")
@valid(co2_mg_l=[0, None], dissolved_mg_l_caco3=[0, None])
def co2_left_mg_l(co2_mg_l: Number, dissolved_mg_l_caco3: Number) -> Number:
    """Carbon dioxide left = carbon dioxide - calcite dissolved / 2.274.

    By hand: 100.09 mg/L of calcite take 44.01 mg/L.

    >>> round(co2_left_mg_l(54.01, 100.09), 2)
    10.0
    """
    return most(co2_mg_l - dissolved_mg_l_caco3 / CALCITE_PER_CO2, 0.0)


@law
@valid(product_m3_d=[0, None], dissolved_mg_l_caco3=[0, None])
def dissolved_kg_per_year(
    product_m3_d: Number, days_per_year: Number, dissolved_mg_l_caco3: Number
) -> Number:
    """Calcite of a year = product of a day x days x what dissolves / 1000.

    Worked by hand: 10 m3 a day on 300 days at 50 mg/L.

    >>> dissolved_kg_per_year(10.0, 300.0, 50.0)
    150.0
    """
    return product_m3_d * days_per_year * dissolved_mg_l_caco3 / G_PER_KG


@law
@valid(volume_l=[0, None], bulk_density_kg_l=(0, None))
def charge_kg(volume_l: Number, bulk_density_kg_l: Number) -> Number:
    """Charge of calcite = volume x bulk density.

    Worked by hand: 100 L of 1.5 kg/L.

    >>> charge_kg(100.0, 1.5)
    150.0
    """
    return volume_l * bulk_density_kg_l


@law
@cites("PRACTICE", "topped up before the bed has lost a third of its depth")
@valid(product_m3_d=(0, None), dissolved_mg_l_caco3=(0, None))
def top_up_d(
    charge_kg: Number, share_pct: Number, product_m3_d: Number, dissolved_mg_l_caco3: Number
) -> Number:
    """Days of operation to the next topping up = charge x share / calcite of a day.

    Worked by hand: 150 kg, a fifth of it, 10 m3 a day at 50 mg/L: 30 / 0.5.

    >>> top_up_d(150.0, 20.0, 10.0, 50.0)
    60.0
    """
    return charge_kg * (share_pct / PERCENT) / (product_m3_d * dissolved_mg_l_caco3 / G_PER_KG)


@law
@valid(dissolved_kg_per_year=(0, None), share=(0, None))
def consumed_years(charge_kg: Number, dissolved_kg_per_year: Number, share: Number) -> Number:
    """Life of a charge = charge / (calcite of a year at equilibrium x share that dissolves).

    Worked by hand: 150 kg, 100 kg a year of which three quarters dissolve.

    >>> consumed_years(150.0, 100.0, 0.75)
    2.0
    """
    return charge_kg / (dissolved_kg_per_year * share)
