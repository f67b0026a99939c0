"""Stripping of carbon dioxide and hydrogen sulfide by air: equilibrium, air and transfer units."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, exponential, law, log_10, log_e, most, valid

ZERO_C_IN_K = 273.15
GAS_L_ATM = 0.082057  # CODATA: gas constant in L atm/(mol K)
CO2_IN_AIR_ATM = 4.2e-4  # MEMORY: about 420 ppm by volume
CO2_MG_PER_MOL = 44_009.0  # IUPAC2021


@law
@cites("PA13", "phreeqc.dat, CO2(g)")
@valid(temperature_c=[0, 60])
def co2_gas_water(temperature_c: Number) -> Number:
    """Carbon dioxide in air over that in water = 1 / (KH R T), volume by volume.

    log10 KH = 10.5624 - 0.023547 T - 3972.8 / T + 587460 / T^2 + 1.9194e-5 T^2, T in kelvin. The
    solubility at 25 °C is 0.0340 mol/(L atm): 1 / (0.0340 x 0.082057 x 298.15) = 1.20.

    >>> round(co2_gas_water(25.0), 2)
    1.2
    """
    t = temperature_c + ZERO_C_IN_K
    log_kh = 10.5624 - 0.023547 * t - 3972.8 / t + 587_460.0 / t**2 + 1.9194e-5 * t**2
    return 1.0 / (10.0**log_kh * GAS_L_ATM * t)


@law
@cites("PA13", "phreeqc.dat, H2S")
@valid(temperature_c=[0, 60])
def sulfide_pk(temperature_c: Number) -> Number:
    """First dissociation of hydrogen sulfide: pK = -11.17 + 0.02386 T + 3279 / T, T in kelvin.

    It is about 7 at room temperature (standard tables: 6.9 to 7.1).

    >>> round(sulfide_pk(25.0), 1)
    6.9
    """
    t = temperature_c + ZERO_C_IN_K
    return -11.17 + 0.02386 * t + 3279.0 / t


@law
@cites("PA13", "phreeqc.dat, H2S(g)")
@valid(temperature_c=[0, 60])
def h2s_gas_water(temperature_c: Number) -> Number:
    """Hydrogen sulfide in air over that in water = 1 / (KH R T), volume by volume.

    log10 KH = -45.07 - 0.02418 T + 17.9205 log10 T + pK, T in kelvin. The solubility at 25 °C is
    0.10 mol/(L atm) in the compilations: 1 / (0.10 x 0.082057 x 298.15) = 0.41.

    >>> round(h2s_gas_water(25.0), 1)
    0.4
    """
    t = temperature_c + ZERO_C_IN_K
    log_kh = -45.07 - 0.02418 * t + 17.9205 * log_10(t) + sulfide_pk(temperature_c)
    return 1.0 / (10.0**log_kh * GAS_L_ATM * t)


@law
@cites("STOICHIOMETRY", "dissociation")
def molecular_sulfide(ph: Number, sulfide_pk: Number) -> Number:
    """Part of the sulfide that is hydrogen sulfide, which alone strips = 1 / (1 + 10^(pH - pK)).

    Worked by hand: half of it at a pH equal to pK.

    >>> molecular_sulfide(7.0, 7.0)
    0.5
    """
    return 1.0 / (1.0 + 10.0 ** (ph - sulfide_pk))


@law
@valid(removed=[0, 1], gas_water=(0, None))
def least_air(removed: Number, gas_water: Number) -> Number:
    """Least air for a removal, volumes per volume of water = part removed / gas over water.

    Equilibrium at the top of a counter-current column. Worked by hand: 0.9 at a ratio of 0.8.

    >>> round(least_air(0.9, 0.8), 9)
    1.125
    """
    return removed / gas_water


@law
@valid(gas_water=(0, None), air_to_water=[0, None])
def stripping_factor(gas_water: Number, air_to_water: Number) -> Number:
    """Stripping factor = gas over water x air to water.

    Worked by hand: a ratio of 0.8 and 25 volumes of air.

    >>> stripping_factor(0.8, 25.0)
    20.0
    """
    return gas_water * air_to_water


@law
@valid(factor=[0, None])
def left_in_one_stage(factor: Number) -> Number:
    """Part that one mixed tank leaves, at equilibrium = 1 / (1 + stripping factor).

    Worked by hand: a factor of 4 leaves a fifth.

    >>> left_in_one_stage(4.0)
    0.2
    """
    return 1.0 / (1.0 + factor)


@law
@valid(removed=[0, 1])
def part_left(removed: Number) -> Number:
    """Part left = 1 - part removed.

    Worked by hand: of ten, eight go.

    >>> round(part_left(0.8), 9)
    0.2
    """
    return 1.0 - removed


@law
@valid(factor=(1, None), left=(0, 1))
def transfer_units(factor: Number, left: Number) -> Number:
    """Transfer units of a counter-current column with clean air (Colburn).

    N = S / (S - 1) ln(((S - 1) / left + 1) / S). Worked by hand: S 2 to a third left is
    2 ln((3 + 1) / 2) = 1.386.

    >>> round(transfer_units(2.0, 1.0 / 3.0), 3)
    1.386
    """
    return factor / (factor - 1.0) * log_e(((factor - 1.0) / left + 1.0) / factor)


@law
@valid(factor=(0, None), transfer_units=[0, None])
def left_by_column(factor: Number, transfer_units: Number) -> Number:
    """Part that a counter-current column leaves = (S - 1) / (S exp(N (S - 1) / S) - 1).

    The same relation the other way: S 2 and 1.3863 units leave a third.

    >>> round(left_by_column(2.0, 1.3863), 3)
    0.333
    """
    return (factor - 1.0) / (factor * exponential(transfer_units * (factor - 1.0) / factor) - 1.0)


@law
@cites("PA13", "phreeqc.dat, CO2(g)")
@valid(gas_water=(0, None), temperature_c=[0, 60])
def co2_of_air_mg_l(gas_water: Number, temperature_c: Number) -> Number:
    """Carbon dioxide that water keeps in equilibrium with air of 420 ppm.

    Worked by hand: 0.00042 atm / (1.2 x 0.082057 x 298.15) x 44009 = 0.63 mg/L at 25 °C.

    >>> round(co2_of_air_mg_l(1.2, 25.0), 2)
    0.63
    """
    molar = CO2_IN_AIR_ATM / (gas_water * GAS_L_ATM * (temperature_c + ZERO_C_IN_K))
    return molar * CO2_MG_PER_MOL


@law
@valid(co2_mg_l=[0, None], removed=[0, 1])
def co2_stripped_mg_l(co2_mg_l: Number, air_mg_l: Number, removed: Number) -> Number:
    """Carbon dioxide that leaves = part removed x excess over air, where there is an excess.

    Worked by hand: 20.5 mg/L over 0.5 mg/L, nine tenths of 20.

    >>> co2_stripped_mg_l(20.5, 0.5, 0.9)
    18.0
    """
    return removed * most(co2_mg_l - air_mg_l, 0.0)


@law
@valid(co2_mg_l=[0, None], stripped_mg_l=[0, None])
def co2_behind_mg_l(co2_mg_l: Number, stripped_mg_l: Number) -> Number:
    """Carbon dioxide behind = carbon dioxide ahead - stripped.

    Worked by hand: 20 mg/L less 18.

    >>> co2_behind_mg_l(20.0, 18.0)
    2.0
    """
    return co2_mg_l - stripped_mg_l


@law
@valid(sulfide_mg_l=[0, None], molecular=[0, 1], left=[0, 1])
def sulfide_left_mg_l(sulfide_mg_l: Number, molecular: Number, left: Number) -> Number:
    """Sulfide left = sulfide x (1 - molecular part x part of it stripped).

    The molecular part is that at the pH behind, where stripping has stalled: on the safe side.
    Worked by hand: of 2 mg/L half is molecular, of which a tenth is left.

    >>> round(sulfide_left_mg_l(2.0, 0.5, 0.1), 9)
    1.1
    """
    return sulfide_mg_l * (1.0 - molecular * (1.0 - left))
