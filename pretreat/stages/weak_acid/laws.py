"""Weak acid exchange in the hydrogen form: hardness paired with alkalinity, acid, resin."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, least, valid

CACO3_MG_PER_MEQ = 50.043
HCL_PER_CACO3 = 36.46 / CACO3_MG_PER_MEQ  # STOICHIOMETRY: equivalents
G_PER_KG = 1000.0


@law
@cites("PRACTICE", "hardness paired with alkalinity")
@valid(hardness_mg_l_caco3=[0, None], alkalinity_mg_l_caco3=[0, None], share=[0, 1])
def hardness_taken_mg_l_caco3(
    hardness_mg_l_caco3: Number, alkalinity_mg_l_caco3: Number, share: Number
) -> Number:
    """Hardness taken, and alkalinity with it = share x the lesser of the two.

    Worked by hand: of 380 beside 400, nine tenths.

    >>> hardness_taken_mg_l_caco3(380.0, 400.0, 0.9)
    342.0
    """
    return share * least(hardness_mg_l_caco3, alkalinity_mg_l_caco3)


@law
@valid(taken_mg_l_caco3=[0, None], feed_m3_d=[0, None])
def load_kg_caco3_d(taken_mg_l_caco3: Number, feed_m3_d: Number) -> Number:
    """Load of a day = hardness taken x feed of a day.

    Worked by hand: 300 mg/L in 40 m3.

    >>> load_kg_caco3_d(300.0, 40.0)
    12.0
    """
    return taken_mg_l_caco3 * feed_m3_d / G_PER_KG


@law
@cites("STOICHIOMETRY", "equivalents")
@valid(load_kg_caco3_d=[0, None], excess=[1, 3], days_per_year=[0, 366])
def acid_kg_per_year(load_kg_caco3_d: Number, excess: Number, days_per_year: Number) -> Number:
    """Hydrochloric acid of a year, as 100 % = load x 0.7286 x excess x days.

    Worked by hand: 50.043 kg a day are 1 keq/d, 36.46 kg of acid; a tenth more, on 100 days.

    >>> round(acid_kg_per_year(50.043, 1.1, 100.0), 1)
    4010.6
    """
    return load_kg_caco3_d * HCL_PER_CACO3 * excess * days_per_year


@law
@cites("MEMORY", "operating capacity 1 to 2.5 eq/L")
@valid(load_kg_caco3_d=[0, None], interval_d=[0, None], capacity_eq_l=(0, 5))
def resin_l(load_kg_caco3_d: Number, interval_d: Number, capacity_eq_l: Number) -> Number:
    """Resin = load x interval / capacity, in equivalents.

    Worked by hand: 5.0043 kg a day are 100 eq/d; two days at 1 eq/L.

    >>> round(resin_l(5.0043, 2.0, 1.0), 6)
    200.0
    """
    return load_kg_caco3_d * interval_d * G_PER_KG / CACO3_MG_PER_MEQ / capacity_eq_l


@law
@valid(resin_l=[0, None], capacity_eq_l=(0, 5), load_kg_caco3_d=(0, None))
def interval_d(resin_l: Number, capacity_eq_l: Number, load_kg_caco3_d: Number) -> Number:
    """Days between regenerations = resin x capacity / load, in equivalents.

    Worked by hand: 200 L at 1 eq/L against 100 eq a day.

    >>> round(interval_d(200.0, 1.0, 5.0043), 6)
    2.0
    """
    return resin_l * capacity_eq_l * CACO3_MG_PER_MEQ / G_PER_KG / load_kg_caco3_d
