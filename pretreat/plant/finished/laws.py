"""What calcite adds to the product, which share of it passes the calcite, and the blend."""

from collections.abc import Sequence

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, least, most, valid
from pretreat.core.units import molar_mass
from pretreat.stages.neutralising_filter.laws import (
    CALCITE_PER_CO2,
    dissolved_kg_per_year,
    most_dissolved_mg_l_caco3,
)

CALCIUM_SHARE = molar_mass("Ca") / molar_mass("CaCO3")


@law
@cites("STOICHIOMETRY", "CaCO3 + CO2 + H2O = Ca + 2 HCO3; a closed bed ends at saturation")
@valid(co2_mg_l=[0, None], share_of_co2=[0, 1], equilibrium_mg_l_caco3=[0, None])
def calcite_mg_l_caco3(
    co2_mg_l: Number, share_of_co2: Number, equilibrium_mg_l_caco3: Number
) -> Number:
    """Calcite dissolved = the lesser of 2.274 x carbon dioxide x share used, and saturation.

    A worked permeate: 90 % of 17.53 mg/L of carbon dioxide give 35.88 mg/L.

    >>> round(calcite_mg_l_caco3(17.53, 0.9, 40.0), 2)
    35.88
    """
    return least(share_of_co2 * most_dissolved_mg_l_caco3(co2_mg_l), equilibrium_mg_l_caco3)


@law
@valid(wanted=[0, None], before=[0, None], added=(0, None))
def share_of_added(wanted: Number, before: Number, added: Number, factor: Number) -> Number:
    """Share of the product through the calcite = (wanted - before) / (added x factor), 0 to 1.

    ``factor`` is 1 for hardness and alkalinity, 0.4004 for calcium. Worked by hand: 5 mg/L to
    23 mg/L with 36 mg/L added.

    >>> share_of_added(23.0, 5.0, 36.0, 1.0)
    0.5
    """
    return least(most((wanted - before) / (added * factor), 0.0), 1.0)


@law
def largest_share(shares: Sequence[Number]) -> Number:
    """Share = the largest that is asked.

    Worked by hand: of a half and a quarter the half.

    >>> largest_share([0.5, 0.25])
    0.5
    """
    return most(*shares)


@law
@valid(share=[0, 1], added=[0, None])
def behind(before: Number, share: Number, added: Number) -> Number:
    """Hardness or alkalinity behind = before + share through the calcite x added.

    Worked by hand: half of 36 mg/L on 5 mg/L.

    >>> behind(5.0, 0.5, 36.0)
    23.0
    """
    return before + share * added


@law
@cites("STOICHIOMETRY", "40 % of calcite is calcium")
@valid(share=[0, 1], added=[0, None])
def calcium_behind_mg_l(before_mg_l: Number, share: Number, added: Number) -> Number:
    """Calcium behind = before + 0.4004 x share through the calcite x calcite dissolved.

    By hand: 100.09 mg/L of calcite hold 40.08 mg/L of calcium.

    >>> round(calcium_behind_mg_l(0.0, 1.0, 100.09), 2)
    40.08
    """
    return before_mg_l + CALCIUM_SHARE * share * added


@law
@valid(product_m3_d=[0, None], share=[0, 1], added_mg_l=[0, None])
def calcite_kg_per_year(
    product_m3_d: Number, days_per_year: Number, share: Number, added_mg_l: Number
) -> Number:
    """Calcite of a year = product of a day x days x share x what dissolves / 1000.

    Worked by hand: 10 m3 a day on 300 days, all of it, at 50 mg/L.

    >>> calcite_kg_per_year(10.0, 300.0, 1.0, 50.0)
    150.0
    """
    return dissolved_kg_per_year(product_m3_d, days_per_year, share * added_mg_l)


@law
@cites("STOICHIOMETRY", "CaCO3 + CO2 + H2O = Ca + 2 HCO3")
@valid(share_of_co2=(0, 1))
def co2_lacking_mg_l(
    wanted: Number, reached: Number, factor: Number, share_of_co2: Number
) -> Number:
    """Carbon dioxide to feed ahead of calcite = (wanted - reached) / factor / (2.274 x share).

    By hand: 20.47 mg/L of hardness short, 90 % used.

    >>> round(co2_lacking_mg_l(60.47, 40.0, 1.0, 0.9), 1)
    10.0
    """
    return (wanted - reached) / factor / (CALCITE_PER_CO2 * share_of_co2)


@law
@valid(wanted=[0, None], product=[0, None], beside=(0, None))
def blend_share(wanted: Number, product: Number, beside: Number) -> Number:
    """Share of bypass in the blend = (wanted - product) / (bypass - product), not below 0.

    Worked by hand: 5 mg/L and 105 mg/L to 25 mg/L.

    >>> blend_share(25.0, 5.0, 105.0)
    0.2
    """
    return most((wanted - product) / (beside - product), 0.0)
