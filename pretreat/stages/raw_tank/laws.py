"""What a vented raw water tank does: it loses carbon dioxide and takes up oxygen."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, log_10, most, valid
from pretreat.core.units import ZERO_C_IN_K

CO2_IN_AIR_ATM = 4.2e-4  # MEMORY: about 420 ppm by volume, dry air at sea level
CO2_MG_PER_MOL = 44_009.0  # IUPAC2021


@law
@cites("PB82", "Henry's constant of CO2, from memory")
@valid(temperature_c=[0, 90])
def co2_of_air_mg_l(temperature_c: Number) -> Number:
    """Carbon dioxide that water keeps in equilibrium with air: Henry's law.

    log10 KH = 108.3865 + 0.01985076 T - 6919.53 / T - 40.45154 log10 T + 669365 / T^2, with T
    in kelvin, from 0 to 90 °C (PB82, abstract). That paper's log KH at 25 °C is -1.468, so air
    of 420 ppm leaves 0.0340 x 0.00042 x 44009 = 0.629 mg/L.

    >>> round(co2_of_air_mg_l(25.0), 3)
    0.629
    """
    t = temperature_c + ZERO_C_IN_K
    log_kh = 108.3865 + 0.01985076 * t - 6919.53 / t - 40.45154 * log_10(t) + 669_365.0 / t**2
    return 10.0**log_kh * CO2_IN_AIR_ATM * CO2_MG_PER_MOL


@law
@valid(stripped=[0, 1])
def co2_left_mg_l(co2_mg_l: Number, co2_of_air_mg_l: Number, stripped: Number) -> Number:
    """Carbon dioxide left = raw - part stripped x excess over air, where there is an excess.

    Worked by hand: 20.5 mg/L over 0.5 mg/L lose half of 20.

    >>> co2_left_mg_l(20.5, 0.5, 0.5)
    10.5
    """
    return co2_mg_l - stripped * most(co2_mg_l - co2_of_air_mg_l, 0.0)
