"""The passage of a trace from that of the salts, and the calcium that a sodium water wants."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, log_10, most, valid
from pretreat.core.units import molar_mass

NA_MG_MEQ, CA_MG_MEQ, MG_MG_MEQ = (
    molar_mass("Na"),
    molar_mass("Ca") / 2.0,
    molar_mass("Mg") / 2.0,
)
THIN_DS_M, MEQ_PER_DS_M = 0.2, 10.0  # FAO29
GYPSUM_PER_CA = (molar_mass("CaSO4") + 2.0 * molar_mass("H2O")) / molar_mass("Ca")


@law
@cites("PRACTICE", "solution-diffusion: passage / (1 - passage) goes with the permeability")
@valid(salt_passage="[0, 1)", permeability=[0, None], salt_permeability=(0, None))
def trace_passage(salt_passage: Number, permeability: Number, salt_permeability: Number) -> Number:
    """Passage of a trace = o / (1 + o), o = passage / (1 - passage) of salt x ratio of B.

    Worked by hand: salt passes 2 %, the trace a tenth as easily: 0.00204 / 1.00204.

    >>> round(trace_passage(0.02, 0.1, 1.0), 6)
    0.002037
    """
    odds = salt_passage / (1.0 - salt_passage) * permeability / salt_permeability
    return odds / (1.0 + odds)


@law
@cites("FAO29", "ratio = Na / sqrt((Ca + Mg) / 2), in milliequivalents")
@valid(na_mg_l=[0, None], ca_mg_l=[0, None], mg_mg_l=[0, None], sar=(0, None))
def calcium_for_sar_mg_l(na_mg_l: Number, ca_mg_l: Number, mg_mg_l: Number, sar: Number) -> Number:
    """Calcium to add = (2 (Na / ratio)^2 - Ca - Mg) meq/L x 20.04, 0 where there is enough.

    Worked by hand: 46 mg/L of sodium are 2.001 meq/L; for a ratio of 3 calcium and magnesium
    together are 2 x 0.667^2 = 0.890 meq/L, 17.83 mg/L of calcium where there is none.

    >>> round(calcium_for_sar_mg_l(46.0, 0.0, 0.0, 3.0), 2)
    17.83
    """
    wanted = 2.0 * (na_mg_l / NA_MG_MEQ / sar) ** 2.0
    return most(wanted - ca_mg_l / CA_MG_MEQ - mg_mg_l / MG_MG_MEQ, 0.0) * CA_MG_MEQ


@law
@cites("FAO29", "sum of cations = 10 x conductivity, meq/L and dS/m; severe below 0.2 dS/m")
@valid(ec_ds_m=[0, None], for_sar_mg_l=[0, None])
def calcium_for_soil_mg_l(ec_ds_m: Number, for_sar_mg_l: Number) -> Number:
    """Calcium to add = (0.2 - conductivity) x 10 meq/L x 20.04, or that for the ratio if more.

    Worked by hand: 0.05 dS/m lack 1.5 meq/L, 30.06 mg/L of calcium.

    >>> round(calcium_for_soil_mg_l(0.05, 1.0), 2)
    30.06
    """
    lacking = most(THIN_DS_M - ec_ds_m, 0.0) * MEQ_PER_DS_M * CA_MG_MEQ
    return most(lacking, for_sar_mg_l)


@law
@cites("STOICHIOMETRY", "CaSO4 2 H2O for each Ca")
@valid(ca_mg_l=[0, None])
def gypsum_mg_l(ca_mg_l: Number) -> Number:
    """Gypsum that holds an amount of calcium = calcium x 172.17 / 40.08.

    >>> round(gypsum_mg_l(10.0), 1)
    43.0
    """
    return ca_mg_l * GYPSUM_PER_CA


@law
@cites("STOICHIOMETRY", "first dissociation of carbonic acid on both sides of the membrane")
@valid(passage="(0, 1]")
def product_ph(feed_ph: Number, passage: Number) -> Number:
    """PH of the product = pH of the feed + log of the share of bicarbonate that passes, CO2 all.

    Between pH 5 and 8, activities left out. Worked by hand: a tenth passes.

    >>> product_ph(7.0, 0.1)
    6.0
    """
    return feed_ph + log_10(passage)
