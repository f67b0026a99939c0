"""The feed of chlorine: what ammonia takes, and the dose with a residual."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid

NITROGEN_OF_AMMONIUM = 14.007 / 18.039  # IUPAC2021
CL2_PER_N = 1.5 * 70.906 / 14.007  # STOICHIOMETRY: 3 Cl2 for 2 NH3
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
