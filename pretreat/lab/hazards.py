"""Hazards that the water itself brings: ammonia that takes the chlorine, hydrogen sulfide gas."""

from typing import Literal

import numpy as np
from msgspec import Struct

from pretreat.core.basis import Flag, Level, cites
from pretreat.core.units import ZERO_C_IN_K, molar_mass

N_PER_NH4 = molar_mass("N") / molar_mass("NH4")  # STOICHIOMETRY
MONOCHLORAMINE = molar_mass("Cl2") / molar_mass("N")  # STOICHIOMETRY: one for one
BREAKPOINT = 1.5 * MONOCHLORAMINE  # STOICHIOMETRY: 3 Cl2 for 2 NH3
BREAKPOINT_PRACTICE = (10.0, 15.0)  # WEINER: with what else takes chlorine
AMMONIA_MATTERS_MG_N_L = 0.05  # PRACTICE: below it chloramine is within the error of a residual
DANGEROUS_PPM = 100.0  # NIOSHPOCKET: immediately dangerous to life or health
CEILING_PPM = 10.0  # NIOSHPOCKET
CONFINED = (
    "smell is no warning, the nose fails at dangerous levels: ventilate and measure the gas before "
    "opening tanks, pits or vessels, enter confined spaces only by a permit and never alone; "
    "local codes and licensed practice govern"
)

Residual = Literal["monochloramine", "no stable residual", "free chlorine"]


class AmmoniaChlorine(Struct, frozen=True):
    """What ammonia makes of a chlorine dose; mg/L as Cl2 and as N."""

    ammonia_mg_n_l: float
    left_for_ammonia_mg_l: float  # of the dose, after iron, manganese and sulfide
    ratio: float  # Cl2 : N by mass
    breakpoint_mg_l: float  # by stoichiometry
    breakpoint_practice_mg_l: tuple[float, float]
    residual: Residual


@cites("STOICHIOMETRY", "3 Cl2 for 2 NH3 to the breakpoint, 1 for 1 to monochloramine")
@cites("WEINER", "10 to 15 mg per mg in practice")
def ammonia_against_chlorine(
    nh4_mg_l: float, dose_mg_l: float, other_demand_mg_l: float = 0.0
) -> AmmoniaChlorine:
    """Return what ammonia makes of a chlorine dose.

    Parameters
    ----------
    nh4_mg_l : float
        Ammonium, ammonia included. [mg/L as NH4]
    dose_mg_l : float
        Chlorine dosed. [mg/L as Cl2]
    other_demand_mg_l : float
        What iron, manganese and sulfide take first. [mg/L as Cl2]

    Returns
    -------
    AmmoniaChlorine
        Breakpoint (7.59 mg Cl2 per mg N) and what the residual is: monochloramine below 5.06
        mg per mg, free chlorine above the breakpoint, neither for sure between. [-]
    """
    nitrogen = nh4_mg_l * N_PER_NH4
    left = max(dose_mg_l - other_demand_mg_l, 0.0)
    ratio = left / nitrogen if nitrogen > 0.0 else np.inf
    residual: Residual = "free chlorine"
    if ratio <= MONOCHLORAMINE:
        residual = "monochloramine"
    elif ratio <= BREAKPOINT:
        residual = "no stable residual"
    low, high = BREAKPOINT_PRACTICE
    return AmmoniaChlorine(
        nitrogen,
        left,
        float(ratio),
        BREAKPOINT * nitrogen,
        (low * nitrogen, high * nitrogen),
        residual,
    )


def ammonia_flag(
    found: AmmoniaChlorine, figure: str | None = "water.nh4_mg_l", *, dosed: bool = True
) -> Flag | None:
    """Return the flag `ammonia_takes_chlorine` where ammonia matters to a chlorine dose.

    Parameters
    ----------
    found : AmmoniaChlorine
        Ammonia against the dose. [-]
    figure : str, optional
        Key of the figure that it belongs to. [-]
    dosed : bool
        Whether the chlorine is dosed, not brought by the raw water. [-]

    Returns
    -------
    Flag or None
        A warning where the dose leaves no free chlorine, a caution where practice asks for more
        than the stoichiometry, else an info; None where there is hardly any ammonia. [-]
    """
    if found.ammonia_mg_n_l < AMMONIA_MATTERS_MG_N_L:
        return None
    if not dosed:
        return _brought(found, figure)
    low, high = found.breakpoint_practice_mg_l
    level: Level = "warning"
    if found.residual == "free chlorine":
        level = "info" if found.left_for_ammonia_mg_l >= high else "caution"
    what = {
        "monochloramine": "all of it becomes chloramine, which oxidises iron slowly and manganese "
        "hardly at all: the filter fails without a sign",
        "no stable residual": "it is below the breakpoint: no free chlorine is left to rely on",
        "free chlorine": "above the breakpoint, and it has to stay there: with less, only "
        "chloramine is left and a manganese filter fails without a sign",
    }[found.residual]
    return Flag(
        "ammonia_takes_chlorine",
        level,
        f"ammonia is {found.ammonia_mg_n_l:.2g} mg/L as N; of the chlorine dosed "
        f"{found.left_for_ammonia_mg_l:.2g} mg/L is left for it, {found.ratio:.3g} mg per mg: "
        f"{what}. Breakpoint {found.breakpoint_mg_l:.3g} mg/L by the reaction, {low:.3g} to "
        f"{high:.3g} mg/L in practice: test total and free chlorine, or oxidise with permanganate, "
        "which ammonia does not take",
        figure,
    )


def _brought(found: AmmoniaChlorine, figure: str | None) -> Flag:
    """Return the flag of chlorine that the raw water brings beside ammonia."""
    return Flag(
        "ammonia_takes_chlorine",
        "caution",
        f"ammonia is {found.ammonia_mg_n_l:.2g} mg/L as N beside chlorine of "
        f"{found.left_for_ammonia_mg_l:.2g} mg/L in the raw water, {found.ratio:.3g} mg per mg: it "
        "is mostly chloramine, which tests as total chlorine and which carbon and bisulfite take "
        "slowly",
        figure,
    )


@cites("PHREEQCDAT", "H2S = H+ + HS-, analytical expression")
def h2s_pk1(temp_c: float) -> float:
    """Return pK1 of hydrogen sulfide.

    Parameters
    ----------
    temp_c : float
        Water temperature, 0 to 60. [°C]

    Returns
    -------
    float
        pK1; 6.94 at 25 °C. [-]
    """
    t = temp_c + ZERO_C_IN_K
    return -11.17 + 0.02386 * t + 3279.0 / t


@cites("PHREEQCDAT", "H2S(g), combined with pK1; gas law for the dimensionless form")
def h2s_henry(temp_c: float) -> float:
    """Return gas / water concentration of molecular hydrogen sulfide at equilibrium.

    Parameters
    ----------
    temp_c : float
        Water temperature, 0 to 60. [°C]

    Returns
    -------
    float
        Dimensionless; 0.317 at 15 °C. [-]
    """
    t = temp_c + ZERO_C_IN_K
    log_kh = -45.07 - 0.02418 * t + 17.9205 * np.log10(t) + h2s_pk1(temp_c)
    return float(1.0 / (10.0**log_kh * 0.082057 * t))  # mol/L/atm, gas constant in L atm


def molecular_h2s_mg_l(sulfide_mg_l: float, ph: float, temp_c: float) -> float:
    """Return the hydrogen sulfide that can leave the water as a gas.

    Parameters
    ----------
    sulfide_mg_l : float
        Total sulfide. [mg/L as H2S]
    ph : float
        pH. [-]
    temp_c : float
        Water temperature. [°C]

    Returns
    -------
    float
        H2S / (1 + 10^(pH - pK1)). [mg/L]
    """
    return float(sulfide_mg_l / (1.0 + 10.0 ** (ph - h2s_pk1(temp_c))))


@cites("PHREEQCDAT", "Henry's constant; 23.6 L/mol and 34.08 g/mol")
def headspace_h2s_ppm(molecular_mg_l: float, temp_c: float) -> float:
    """Return hydrogen sulfide in the air above a closed water, at equilibrium.

    Parameters
    ----------
    molecular_mg_l : float
        Molecular hydrogen sulfide in the water. [mg/L]
    temp_c : float
        Water temperature. [°C]

    Returns
    -------
    float
        Molecular x H x 23.6 / 34.08 x 1000; 1 mg/L at 15 °C gives about 220. [ppm by volume]
    """
    return molecular_mg_l * h2s_henry(temp_c) * 23.6 / 34.08 * 1000.0


@cites("NIOSHPOCKET", "ceiling and immediate danger")
def sulfide_gas_flag(
    sulfide_mg_l: float, ph: float, temp_c: float, figure: str | None = "water.h2s_mg_l"
) -> Flag | None:
    """Return the flag `h2s_gas` where hydrogen sulfide may collect in a closed space.

    Parameters
    ----------
    sulfide_mg_l : float
        Total sulfide. [mg/L as H2S]
    ph : float
        pH. [-]
    temp_c : float
        Water temperature, the warmest that is known. [°C]
    figure : str, optional
        Key of the figure that it belongs to. [-]

    Returns
    -------
    Flag or None
        A warning from 100 ppm in the headspace, else a caution from 10 ppm. [-]
    """
    ppm = headspace_h2s_ppm(molecular_h2s_mg_l(sulfide_mg_l, ph, temp_c), temp_c)
    if not ppm >= CEILING_PPM:
        return None
    danger = f"immediately dangerous from {DANGEROUS_PPM:g} ppm"
    return Flag(
        "h2s_gas",
        "warning" if ppm >= DANGEROUS_PPM else "caution",
        f"hydrogen sulfide is a toxic gas: {sulfide_mg_l:.2g} mg/L at pH {ph:.3g} and "
        f"{temp_c:g} °C can bring about {ppm:.2g} ppm into the air of a closed tank or pit "
        f"({danger}); {CONFINED}",
        figure,
    )
