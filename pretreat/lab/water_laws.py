"""Sums over an analysis and its checks against itself."""

from collections.abc import Sequence

from pretreat.chemistry.composition import meq_l
from pretreat.core.basis import cites
from pretreat.core.law import BLANK, Number, above, law, most, valid, when
from pretreat.core.units import CACO3_MG_PER_MEQ, HCO3_LEFT_IN_RESIDUE, molar_mass

HCO3_MG_PER_MEQ = molar_mass("HCO3")
CO3_MG_PER_MEQ = molar_mass("CO3") / 2.0
SMALL_MEQ_L, LARGE_MEQ_L = 3.0, 10.0  # SM1030E: sums of anions at which the acceptance steps
TDS_OF_EC = 0.65  # PRACTICE: mg/L for each µS/cm at 25 °C


@law
@valid(hco3_mg_l=[0, None], co3_mg_l=[0, None])
def alkalinity_mg_l_caco3(hco3_mg_l: Number, co3_mg_l: Number) -> Number:
    """Alkalinity = bicarbonate + carbonate, in equivalents.

    Worked by hand: 2 meq/L of bicarbonate (61.017 mg) and 1 of carbonate (30.0045 mg) are
    3 x 50.0435 mg/L as CaCO3.

    >>> round(alkalinity_mg_l_caco3(122.03, 30.00), 0)
    150.0
    """
    return (hco3_mg_l / HCO3_MG_PER_MEQ + co3_mg_l / CO3_MG_PER_MEQ) * CACO3_MG_PER_MEQ


@law
@valid(co3_mg_l=[0, None])
def bicarbonate_mg_l(alkalinity_mg_l_caco3: Number, co3_mg_l: Number) -> Number:
    """Bicarbonate = what carbonate leaves of the alkalinity, none below nothing.

    Worked by hand: 150 mg/L as CaCO3 are 3 meq/L; carbonate takes 1 of them.

    >>> round(bicarbonate_mg_l(150.13, 30.00), 0)
    122.0
    """
    left_meq_l = alkalinity_mg_l_caco3 / CACO3_MG_PER_MEQ - co3_mg_l / CO3_MG_PER_MEQ
    return most(left_meq_l, 0.0) * HCO3_MG_PER_MEQ


@law
@cites("SM1030E", "sum of cations")
def cations_meq_l(ions_mg_l: Sequence[Number], meq_per_mg: Sequence[Number]) -> Number:
    """Sum of cations = sum of mg/L x charge / molar mass.

    Worked by hand: 40.08 mg/L of calcium are 2 meq/L, 23 mg/L of sodium are 1.

    >>> round(cations_meq_l([40.08, 22.99], [2 / 40.08, 1 / 22.99]), 9)
    3.0
    """
    return sum(ion_mg_l * each for ion_mg_l, each in zip(ions_mg_l, meq_per_mg, strict=True))


@law
@cites("SM1030E", "sum of anions")
def anions_meq_l(
    ions_mg_l: Sequence[Number], meq_per_mg: Sequence[Number], alkalinity_mg_l_caco3: Number
) -> Number:
    """Sum of anions = sum of mg/L x charge / molar mass, and the alkalinity.

    Worked by hand: 35.45 mg/L of chloride are 1 meq/L, 100 mg/L as CaCO3 nearly 2.

    >>> round(anions_meq_l([35.45], [1 / 35.45], 100.087), 3)
    3.0
    """
    ions_meq_l = sum(ion_mg_l * each for ion_mg_l, each in zip(ions_mg_l, meq_per_mg, strict=True))
    return ions_meq_l + alkalinity_mg_l_caco3 / CACO3_MG_PER_MEQ


@law
@cites("SM1030E", "percent difference")
def ion_balance_pct(cations_meq_l: Number, anions_meq_l: Number) -> Number:
    """Ion balance = 100 (cations - anions) / (cations + anions), blank for no ions.

    Worked by hand: 11 against 9 meq/L.

    >>> ion_balance_pct(11.0, 9.0)
    10.0
    """
    ions_meq_l = cations_meq_l + anions_meq_l
    return when(
        above(ions_meq_l, 0.0),
        lambda: 100.0 * (cations_meq_l - anions_meq_l) / ions_meq_l,
        lambda: BLANK,
    )


@law
@cites("STOICHIOMETRY", "one ion that was not measured closes the balance")
@valid(mg_per_meq=(0, None))
def by_balance_mg_l(more_meq_l: Number, less_meq_l: Number, mg_per_meq: Number) -> Number:
    """Ion that was not measured = (sum of the other side - sum of its own) x mg/meq, 0 if less.

    Worked by hand: 25 meq/L of cations against 8 of anions leave 17 meq/L, 816.5 mg/L of sulfate.

    >>> round(by_balance_mg_l(25.0, 8.0, 48.03), 1)
    816.5
    """
    return most(more_meq_l - less_meq_l, 0.0) * mg_per_meq


@law
@cites("PRACTICE", "salt that was not measured, as sodium chloride")
@valid(salt_mg_l=[0, None])
def implied_ion_mg_l(
    other_meq_l: Number,
    own_meq_l: Number,
    mg_per_meq: Number,
    salt_mg_l: Number,
    share_of_salt: Number,
) -> Number:
    """Ion that was not measured = what closes the balance, and its share of salt beyond that.

    Worked by hand: 2 meq/L lacking at 23 mg/meq, and two fifths of 1000 mg/L.

    >>> implied_ion_mg_l(12.0, 10.0, 23.0, 1000.0, 0.4)
    446.0
    """
    return most(other_meq_l - own_meq_l, 0.0) * mg_per_meq + salt_mg_l * share_of_salt


@law
@cites("SM1030E", "acceptance by anion sum")
def acceptance_pct(cations_meq_l: Number, anions_meq_l: Number) -> Number:
    """Ion balance accepted: 0.2 meq/L up to 3 meq/L of anions, 2 % up to 10 meq/L, 5 % above.

    Worked by hand: 0.2 meq/L of 1 + 1 meq/L; 2 % for 5 meq/L.

    >>> acceptance_pct(1.0, 1.0), acceptance_pct(5.0, 5.0)
    (10.0, 2.0)
    """
    ions_meq_l = cations_meq_l + anions_meq_l
    return when(
        above(anions_meq_l, LARGE_MEQ_L),
        lambda: 5.0,
        lambda: when(
            above(anions_meq_l, SMALL_MEQ_L),
            lambda: 2.0,
            lambda: when(above(ions_meq_l, 0.0), lambda: 100.0 * 0.2 / ions_meq_l, lambda: 100.0),
        ),
    )


@law
def tds_mg_l(
    ions_mg_l: Sequence[Number], alkalinity_mg_l_caco3: Number, co3_mg_l: Number
) -> Number:
    """Dissolved solids = sum of ions and silica, with carbonate and full bicarbonate.

    Worked by hand: 100 mg/L of ions and 3 meq/L of alkalinity, 183 mg/L of bicarbonate.

    >>> round(tds_mg_l([60.0, 40.0], 150.13, 0.0), 0)
    283.0
    """
    return sum(ions_mg_l) + bicarbonate_mg_l(alkalinity_mg_l_caco3, co3_mg_l) + co3_mg_l


@law
@cites("PRACTICE", "0.5 to 0.75 by the water, 0.65 where nothing is known of it")
@valid(ec_us_cm=[0, None])
def tds_by_conductivity_mg_l(ec_us_cm: Number, factor: Number = TDS_OF_EC) -> Number:
    """Dissolved solids = conductivity at 25 °C x 0.65, where the ions are not all known.

    >>> round(tds_by_conductivity_mg_l(1000.0), 6)
    650.0
    """
    return factor * ec_us_cm


@law
@cites("STOICHIOMETRY", "calcium and magnesium have their anions beside them")
@valid(ions_mg_l=[0, None], hardness_mg_l_caco3=[0, None])
def tds_at_least_mg_l(ions_mg_l: Number, hardness_mg_l_caco3: Number) -> Number:
    """Dissolved solids, at least = the larger of the ions measured and the hardness as CaCO3.

    >>> tds_at_least_mg_l(137.0, 377.0)
    377.0
    """
    return most(ions_mg_l, hardness_mg_l_caco3)


@law
@cites("HEM1985", "p. 57, as cited by USGS WRIR 02-4045")
def tds_residue_mg_l(ions_mg_l: Sequence[Number], hco3_mg_l: Number, co3_mg_l: Number) -> Number:
    """Residue on evaporation: as the sum of ions, but of bicarbonate what drying leaves.

    Two bicarbonates lose CO2 and H2O and stay as one carbonate. HEM 1985, p. 57: bicarbonate
    times 0.4917.

    >>> round(tds_residue_mg_l([100.0], 100.0, 0.0), 1)
    149.2
    """
    return sum(ions_mg_l) + HCO3_LEFT_IN_RESIDUE * hco3_mg_l + co3_mg_l


@law
@cites("HEM1985", "p. 57, as cited by USGS WRIR 02-4045")
def tds_residue_by_alkalinity_mg_l(
    ions_mg_l: Sequence[Number], alkalinity_mg_l_caco3: Number, co3_mg_l: Number
) -> Number:
    """Residue on evaporation, with the bicarbonate that carbonate leaves of the alkalinity.

    Worked by hand: 183 mg/L of bicarbonate leave 90 mg/L.

    >>> round(tds_residue_by_alkalinity_mg_l([100.0], 150.13, 0.0), 0)
    190.0
    """
    hco3_mg_l = bicarbonate_mg_l(alkalinity_mg_l_caco3, co3_mg_l)
    return tds_residue_mg_l(ions_mg_l, hco3_mg_l, co3_mg_l)


@law
@cites("SM2340B", "hardness by calculation")
def hardness_mg_l_caco3(ca_mg_l: Number, mg_mg_l: Number) -> Number:
    """Hardness by calculation = calcium and magnesium in equivalents.

    SM 2340 B prints 2.497 Ca + 4.118 Mg.

    >>> round(hardness_mg_l_caco3(100.0, 0.0), 1), round(hardness_mg_l_caco3(0.0, 100.0), 1)
    (249.7, 411.8)
    """
    return (meq_l("ca", ca_mg_l) + meq_l("mg", mg_mg_l)) * CACO3_MG_PER_MEQ


@law
@cites("SM1030E", "calculated over measured conductivity")
@valid(ec_us_cm="(0, inf)")
def ec_ratio(ec_calculated_us_cm: Number, ec_us_cm: Number) -> Number:
    """Conductivity of the ions over the conductivity measured.

    Worked by hand: 900 of 1000 µS/cm.

    >>> ec_ratio(900.0, 1000.0)
    0.9
    """
    return ec_calculated_us_cm / ec_us_cm


@law
@cites("SM1030E", "100 x sum over conductivity, 0.9 to 1.1 usual")
@valid(ec_us_cm="(0, inf)")
def sum_per_ec(ions_meq_l: Number, ec_us_cm: Number) -> Number:
    """100 x sum of cations, or of anions, over the conductivity.

    Worked by hand: 10 meq/L in a water of 1000 µS/cm.

    >>> sum_per_ec(10.0, 1000.0)
    1.0
    """
    return 100.0 * ions_meq_l / ec_us_cm


@law
@cites("SM1030E", "measured over calculated dissolved solids")
def tds_ratio(
    tds_reported_mg_l: Number, ions_mg_l: Sequence[Number], hco3_mg_l: Number, co3_mg_l: Number
) -> Number:
    """Dissolved solids reported over the residue that the ions and bicarbonate leave.

    Worked by hand: 100 mg/L of ions and no bicarbonate, 120 mg/L reported.

    >>> tds_ratio(120.0, [100.0], 0.0, 0.0)
    1.2
    """
    return tds_reported_mg_l / tds_residue_mg_l(ions_mg_l, hco3_mg_l, co3_mg_l)


@law
@cites("SM2340B", "calculated over printed hardness")
@valid(hardness_printed_mg_l_caco3="(0, inf)")
def hardness_ratio(
    hardness_calculated_mg_l_caco3: Number, hardness_printed_mg_l_caco3: Number
) -> Number:
    """Hardness of calcium and magnesium over the hardness printed.

    Worked by hand: 190 of 200 mg/L as CaCO3.

    >>> hardness_ratio(190.0, 200.0)
    0.95
    """
    return hardness_calculated_mg_l_caco3 / hardness_printed_mg_l_caco3
