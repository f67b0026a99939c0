"""Iron by air: how long it takes to oxidise."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, exponential, law, log_e, most, valid

RATE = 8.0e13  # MEMORY: L2 mol-2 atm-1 min-1 at 20 °C, the rate form of Stumm and Lee 1961
ACTIVATION_K = 11_547.0  # MEMORY: 96 kJ/mol over the gas constant
PK_WATER = 14.168  # MEMORY: at 20 °C; the activation energy holds the change of it
OXYGEN_ATM = 0.209
LN_2 = 0.693147
REFERENCE_K, ZERO_C_IN_K = 293.15, 273.15


@law
@cites("MEMORY", "rate form of Stumm and Lee 1961, numbers from memory")
@valid(ph=[5, 9], temperature_c=[0, 40])
def iron_half_life_min(ph: Number, temperature_c: Number) -> Number:
    """Half-life of dissolved iron in aerated water = ln 2 / (k [OH-]^2 pO2).

    k = 8.0e13 L2/(mol2 atm min) at 20 °C with 96 kJ/mol at fixed pH; other rate laws give times
    2 to 11 times longer. Worked by hand at pH 7 and 20 °C: [OH-]^2 is 10^-14.336 = 4.61e-15, so
    0.693 / (8.0e13 x 4.61e-15 x 0.209) = 9.0 min.

    >>> round(iron_half_life_min(7.0, 20.0), 1)
    9.0
    """
    faster = exponential(-ACTIVATION_K * (1.0 / (temperature_c + ZERO_C_IN_K) - 1.0 / REFERENCE_K))
    return LN_2 / (RATE * faster * 10.0 ** (2.0 * (ph - PK_WATER)) * OXYGEN_ATM)


@law
@valid(iron_mg_l=[0, None], left_mg_l=(0, None), half_life_min=[0, None])
def iron_time_min(iron_mg_l: Number, left_mg_l: Number, half_life_min: Number) -> Number:
    """Time for iron to fall to what is left = half-life x log2(iron / left), 0 where it is less.

    Worked by hand: 4 mg/L to 0.5 mg/L are three half-lives.

    >>> round(iron_time_min(4.0, 0.5, 10.0), 3)
    30.0
    """
    return half_life_min * log_e(most(iron_mg_l / left_mg_l, 1.0)) / LN_2
