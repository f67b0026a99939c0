"""The feed of chlorine: what ammonia takes, and the dose with a residual."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid, when

NITROGEN_OF_AMMONIUM = 14.007 / 18.039  # IUPAC2021
CL2_PER_N = 1.5 * 70.906 / 14.007  # STOICHIOMETRY: 3 Cl2 for 2 NH3
NA_PER_CL2 = 22.990 / 70.906  # IUPAC2021: NaOCl for Cl2
CL_PER_CL2 = 35.453 / 70.906  # IUPAC2021
CACO3_PER_N = 50.043 / 14.007  # STOICHIOMETRY: one equivalent for a mole of nitrogen
CHLORAMINE_PER_N = 70.906 / 14.007  # STOICHIOMETRY: one to one


@law
@cites("STOICHIOMETRY", "atomic weights")
@valid(ammonium_mg_l=[0, None])
def ammonia_n_mg_l(ammonium_mg_l: Number) -> Number:
    """Ammonia as nitrogen = ammonium x 14.007 / 18.039.

    Worked by hand: 18 mg/L ammonium hold 14 mg/L nitrogen.

    >>> round(ammonia_n_mg_l(18.0), 1)
    14.0
    """
    return ammonium_mg_l * NITROGEN_OF_AMMONIUM


@law
@cites("PRACTICE", "7.6 by theory, 10 to 15 in practice")
@valid(ammonia_n_mg_l=[0, None], breakpoint_mg_mg=[5, 20])
def ammonia_takes_mg_l(ammonia_n_mg_l: Number, breakpoint_mg_mg: Number) -> Number:
    """Chlorine that ammonia takes up to the breakpoint = nitrogen x chlorine of a milligram.

    Worked by hand: 1.5 mg/L nitrogen at 10 mg/mg.

    >>> ammonia_takes_mg_l(1.5, 10.0)
    15.0
    """
    return ammonia_n_mg_l * breakpoint_mg_mg


@law
@valid(demand_mg_l=[0, None], ammonia_mg_l=[0, None], residual_mg_l=[0, None])
def chlorine_dose_mg_l(demand_mg_l: Number, ammonia_mg_l: Number, residual_mg_l: Number) -> Number:
    """Dose = what metals and sulfide take + what ammonia takes + residual.

    Worked by hand: 3 mg/L, 15 mg/L and 0.5 mg/L.

    >>> chlorine_dose_mg_l(3.0, 15.0, 0.5)
    18.5
    """
    return demand_mg_l + ammonia_mg_l + residual_mg_l


@law
@cites("STOICHIOMETRY", "NaOCl for Cl2")
@valid(dose_mg_l=[0, None])
def sodium_added_mg_l(dose_mg_l: Number) -> Number:
    """Sodium that hypochlorite brings = dose as Cl2 x 22.990 / 70.906.

    Worked by hand: 70.9 mg/L of chlorine are a millimole, 23.0 mg/L of sodium.

    >>> round(sodium_added_mg_l(70.906), 1)
    23.0
    """
    return dose_mg_l * NA_PER_CL2


@law
@cites("STOICHIOMETRY", "NaOCl that is reduced ends as chloride")
@valid(dose_mg_l=[0, None])
def chloride_added_mg_l(dose_mg_l: Number) -> Number:
    """Chloride that hypochlorite ends as = dose as Cl2 x 35.453 / 70.906.

    Worked by hand: 23 mg/L of chlorine end as 11.5 mg/L.

    >>> round(chloride_added_mg_l(23.0), 2)
    11.5
    """
    return dose_mg_l * CL_PER_CL2


@law
@cites("STOICHIOMETRY", "2 NH4 + 3 NaOCl = N2 + 3 NaCl + 3 H2O + 2 H")
@valid(ammonia_n_mg_l=[0, None], dose_mg_l=[0, None], demand_mg_l=[0, None])
def ammonia_left_n_mg_l(ammonia_n_mg_l: Number, dose_mg_l: Number, demand_mg_l: Number) -> Number:
    """Ammonia behind, as nitrogen = none past the breakpoint of 7.59 mg/mg, else all of it.

    Below the breakpoint it stays in the water as chloramine. Worked by hand: 1 mg/L with 8 mg/L
    of chlorine left for it, and with 7.

    >>> ammonia_left_n_mg_l(1.0, 10.0, 2.0), ammonia_left_n_mg_l(1.0, 9.0, 2.0)
    (0.0, 1.0)
    """
    return when(
        dose_mg_l - demand_mg_l >= CL2_PER_N * ammonia_n_mg_l,
        lambda: 0.0,
        lambda: ammonia_n_mg_l,
    )


@law
@cites("STOICHIOMETRY", "2 NH4 + 3 NaOCl = N2 + 3 NaCl + 3 H2O + 2 H")
@valid(ammonia_n_mg_l=[0, None], left_n_mg_l=[0, None])
def alkalinity_for_ammonia_mg_l_caco3(ammonia_n_mg_l: Number, left_n_mg_l: Number) -> Number:
    """Alkalinity that the breakpoint uses = nitrogen that goes x 50.04 / 14.007.

    Worked by hand: 14 mg/L of nitrogen use an equivalent, 50 mg/L as CaCO3.

    >>> round(alkalinity_for_ammonia_mg_l_caco3(14.007, 0.0), 1)
    50.0
    """
    return (ammonia_n_mg_l - left_n_mg_l) * CACO3_PER_N
