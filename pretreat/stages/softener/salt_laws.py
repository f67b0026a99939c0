"""The softener's salt: what a dose, a refill and a year take."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid

G_PER_KG = 1000.0
SATURATED_BRINE = 0.264  # NACLTABLE: mass fraction of salt at 20 °C
# Salt that a litre of make-up water dissolves; 1 L of water taken as 1 kg less 0.2 %.
SALT_KG_PER_L_MAKE_UP = SATURATED_BRINE / (1.0 - SATURATED_BRINE) * 0.998


@law
@valid(salt_kg=[0, None], volume_l=(0, None))
def dose_of_salt_g_l(salt_kg: Number, volume_l: Number) -> Number:
    """Salt dose = salt x 1000 / resin.

    Worked by hand: 16 kg on 100 L.

    >>> dose_of_salt_g_l(16.0, 100.0)
    160.0
    """
    return salt_kg * G_PER_KG / volume_l


@law
@cites("NACLTABLE", "saturated brine at 20 °C")
def salt_of_refill_kg(
    minutes_min: Number, flow_l_min: Number, salt_kg_l: Number = SALT_KG_PER_L_MAKE_UP
) -> Number:
    """Salt that a refill dissolves = minutes x flow x salt for a litre of make-up water.

    Worked by hand with a round 0.36 kg for each litre: 10 min at 2 L/min.

    >>> round(salt_of_refill_kg(10.0, 2.0, 0.36), 9)
    7.2
    """
    return minutes_min * flow_l_min * salt_kg_l


@law
def salt_kg(volume_l: Number, salt_dose_g_l: Number) -> Number:
    """Salt of a regeneration = resin x dose / 1000.

    Worked by hand: 100 L at 160 g/L.

    >>> salt_kg(100.0, 160.0)
    16.0
    """
    return volume_l * salt_dose_g_l / G_PER_KG


@law
def salt_kg_per_year(salt_kg: Number, regenerations_per_year: Number) -> Number:
    """Salt of a year = salt of a regeneration x regenerations.

    Worked by hand: 16 kg, 100 times.

    >>> salt_kg_per_year(16.0, 100.0)
    1600.0
    """
    return salt_kg * regenerations_per_year


@law
@cites("NACLTABLE", "saturated brine at 20 °C")
def refill_l(salt_kg: Number) -> Number:
    """Refill of the brine tank = salt / 0.358 kg that a litre of make-up water dissolves.

    26.4 % by weight: a kilogram of water takes 264 / 736 = 0.3587 kg.

    >>> round(refill_l(3.58), 2)
    10.0
    """
    return salt_kg / SALT_KG_PER_L_MAKE_UP


@law
@valid(capacity_g_caco3_l=(0, None))
def salt_g_per_g_caco3(salt_dose_g_l: Number, capacity_g_caco3_l: Number) -> Number:
    """Salt for a gram of hardness, the bed used up = dose / capacity.

    Worked by hand: 160 g for 64 g.

    >>> salt_g_per_g_caco3(160.0, 64.0)
    2.5
    """
    return salt_dose_g_l / capacity_g_caco3_l


@law
@cites("NSF44", "salt efficiency of a year")
@valid(load_kg_caco3_d=(0, None), days_per_year="(0, inf)")
def effective_salt_g_per_g_caco3(
    salt_kg_per_year: Number, load_kg_caco3_d: Number, days_per_year: Number
) -> Number:
    """Salt of a year over hardness of a year.

    Worked by hand: 3,600 kg for 6 kg a day on 300 days.

    >>> effective_salt_g_per_g_caco3(3600.0, 6.0, 300.0)
    2.0
    """
    return salt_kg_per_year / (load_kg_caco3_d * days_per_year)
