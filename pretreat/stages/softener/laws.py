"""The softener: load, capacity in use, interval, and the volume a duty needs."""

from collections.abc import Sequence

from pretreat.core.basis import cites
from pretreat.core.equivalents import (
    caco3_per_mg,
)
from pretreat.core.law import Number, above, law, least, most, valid, when
from pretreat.core.units import CACO3_MG_PER_MEQ, MG_L_CACO3_PER_GPG, molar_mass

G_PER_KG = 1000.0
L_PER_M3 = 1000.0
MG_L_CACO3_PER_EQ_L = 1000.0 * CACO3_MG_PER_MEQ
MOST_SERVICE_BV_H = 40.0  # CLIFFORD: 1 to 5 gpm/ft3, from memory
LOW_VELOCITY_M_H = 5.0  # PRACTICE: below, the flow may channel
END_OF_LIFE_CAPACITY = 0.75  # UFC13FN 2-2.5.1.4.4: replace at a loss of 25 %
DERATING_TOP_MG_L = 9000.0  # MEMORY: older bulletins of the trade
DERATING_USABLE_MG_L = 5000.0  # MEMORY: not beyond about 5000 mg/L as CaCO3
DERATING_HARDNESS_MG_L = 400.0  # MEMORY: applies above this hardness ...
DERATING_SODIUM_MG_L = 100.0  # MEMORY: ... or above this sodium, as CaCO3
SODIUM_PER_CACO3 = molar_mass("Na") / CACO3_MG_PER_MEQ  # mg/mg exchanged
IRON_PER_MG, MANGANESE_PER_MG = caco3_per_mg("fe"), caco3_per_mg("mn")
GAP_WITH_IRON_D, GAP_D = 3.0, 7.0  # PRACTICE: iron ages on the resin; the longest setting


# --- load -----------------------------------------------------------------------------------


@law
def as_received_mg_l(amount_mg_l: Number) -> Number:
    """Amount onto the softener = amount behind the stage ahead.

    >>> as_received_mg_l(0.1)
    0.1
    """
    return amount_mg_l


@law
def as_printed_mg_l_caco3(hardness_mg_l_caco3: Number) -> Number:
    """Hardness at the softener = hardness by test kit.

    >>> as_printed_mg_l_caco3(360.0)
    360.0
    """
    return hardness_mg_l_caco3


@law
def metals_mg_l(iron_mg_l: Number, manganese_mg_l: Number) -> Number:
    """Iron + manganese.

    >>> metals_mg_l(0.25, 0.5)
    0.75
    """
    return iron_mg_l + manganese_mg_l


@law
@cites("STOICHIOMETRY", "equivalents")
def equivalents_mg_l_caco3(amounts_mg_l: Sequence[Number], factors: Sequence[Number]) -> Number:
    """Sum of the ions, each times what a milligram of it stands for as calcium carbonate.

    Worked by hand with the round factors 2.5 (calcium) and 4.1 (magnesium).

    >>> equivalents_mg_l_caco3((40.0, 10.0), (2.5, 4.1))
    141.0
    """
    return sum(a * f for a, f in zip(amounts_mg_l, factors, strict=True))


@law
@cites("STOICHIOMETRY", "equivalents")
def hardness_load_mg_l_caco3(
    hardness_mg_l_caco3: Number, iron_mg_l: Number, manganese_mg_l: Number
) -> Number:
    """What the resin takes up = hardness + iron and manganese in equivalents.

    Worked by hand: 1 mg/L of iron counts 50.04 x 2 / 55.85 = 1.79, of manganese 1.82.

    >>> round(hardness_load_mg_l_caco3(300.0, 1.0, 1.0), 2)
    303.61
    """
    return hardness_mg_l_caco3 + iron_mg_l * IRON_PER_MG + manganese_mg_l * MANGANESE_PER_MG


@law
@cites("PRACTICE", "2 to 5 gpg per mg/L iron; no single method is accepted")
def load_with_allowance_mg_l_caco3(
    hardness_mg_l_caco3: Number,
    iron_mg_l: Number,
    manganese_mg_l: Number,
    metals_mg_l: Number,
    allowance_mg_l_caco3: Number,
) -> Number:
    """The same and the field allowance of some guides for each mg/L of iron and manganese.

    Worked by hand: no metals but 2 mg/L in all with an allowance of 34: 300 + 68.

    >>> load_with_allowance_mg_l_caco3(300.0, 0.0, 0.0, 2.0, 34.0)
    368.0
    """
    chemistry = hardness_load_mg_l_caco3(hardness_mg_l_caco3, iron_mg_l, manganese_mg_l)
    return chemistry + metals_mg_l * allowance_mg_l_caco3


@cites("PRACTICE", "2 to 5 gpg per mg/L iron; no single method is accepted")
def iron_allowance_mg_l_caco3(iron_manganese_mg_l: float, allowance_gpg: float) -> float:
    """Return the field allowance for iron that some guides add to the hardness.

    Parameters
    ----------
    iron_manganese_mg_l : float
        Iron and manganese onto the resin. [mg/L]
    allowance_gpg : float
        Grains per gallon for each mg/L. [gpg per mg/L]

    Returns
    -------
    float
        Allowance. [mg/L as CaCO3]
    """
    return iron_manganese_mg_l * allowance_gpg * MG_L_CACO3_PER_GPG


@law
@valid(water_m3_d=(0, None), hardness_mg_l_caco3=(0, None))
def load_kg_caco3_d(water_m3_d: Number, hardness_mg_l_caco3: Number) -> Number:
    """Load of a day = water x hardness / 1000; leakage is not credited.

    Worked by hand: 40 m3 of 300 mg/L.

    >>> load_kg_caco3_d(40.0, 300.0)
    12.0
    """
    return water_m3_d * hardness_mg_l_caco3 / G_PER_KG


@law
@cites("STOICHIOMETRY", "sum of equivalents")
def total_cations_eq_l(
    hardness_mg_l_caco3: Number, amounts_mg_l: Sequence[Number], factors: Sequence[Number]
) -> Number:
    """All cations = hardness / 50,043 + sum of the others, each times its equivalents per mg.

    Worked by hand: 500.43 mg/L as CaCO3 are 0.01 eq/L, and 230 mg/L of sodium at 1/23,000.

    >>> round(total_cations_eq_l(500.43, (230.0,), (1 / 23_000,)), 6)
    0.02
    """
    others = [a * f for a, f in zip(amounts_mg_l, factors, strict=True)]
    return sum(others, hardness_mg_l_caco3 / MG_L_CACO3_PER_EQ_L)


@law
@cites("STOICHIOMETRY", "equivalents")
def cations_mg_l_caco3(
    hardness_mg_l_caco3: Number, amounts_mg_l: Sequence[Number], factors: Sequence[Number]
) -> Number:
    """Cations as calcium carbonate = hardness + sum of the others by their equivalents.

    Worked by hand with the round factor 2.2 for sodium.

    >>> cations_mg_l_caco3(300.0, (100.0,), (2.2,))
    520.0
    """
    return hardness_mg_l_caco3 + equivalents_mg_l_caco3(amounts_mg_l, factors)


@law
@cites("MEMORY", "older softener bulletins: H x 9000 / (9000 - TC)")
@valid(total_cations_mg_l_caco3=[0, DERATING_USABLE_MG_L])
def derating_for_sodium(total_cations_mg_l_caco3: Number) -> Number:
    """Share of the capacity that saline water leaves, by an old rule = (9000 - TC) / 9000.

    Worked by hand: 900 mg/L of cations take a tenth.

    >>> derating_for_sodium(900.0)
    0.9
    """
    return (DERATING_TOP_MG_L - total_cations_mg_l_caco3) / DERATING_TOP_MG_L


# --- capacity and interval ------------------------------------------------------------------


@law
@valid(volume_l=(0, None), capacity_factor="(0, 1]", reserve="[0, 1)")
def usable_capacity_kg_caco3(
    volume_l: Number,
    capacity_g_caco3_l: Number,
    capacity_factor: Number = 1.0,
    reserve: Number = 0.0,
) -> Number:
    """Usable capacity = volume x capacity x capacity factor x (1 - reserve) / 1000.

    Worked by hand: 200 L of 50 g/L, a fifth kept back.

    >>> usable_capacity_kg_caco3(200.0, 50.0, 1.0, 0.2)
    8.0
    """
    return volume_l * capacity_g_caco3_l * capacity_factor * (1.0 - reserve) / G_PER_KG


@law
@valid(
    volume_l=(0, None),
    capacity_factor="(0, 1]",
    reserve="[0, 1)",
    total_cations_mg_l_caco3=[0, DERATING_USABLE_MG_L],
)
def derated_capacity_kg_caco3(
    volume_l: Number,
    capacity_g_caco3_l: Number,
    capacity_factor: Number,
    reserve: Number,
    total_cations_mg_l_caco3: Number,
) -> Number:
    """Usable capacity times what the old rule leaves in saline water.

    Worked by hand: 8 kg and nine tenths.

    >>> round(derated_capacity_kg_caco3(200.0, 50.0, 1.0, 0.2, 900.0), 9)
    7.2
    """
    usable = usable_capacity_kg_caco3(volume_l, capacity_g_caco3_l, capacity_factor, reserve)
    return usable * derating_for_sodium(total_cations_mg_l_caco3)


@law
@valid(load_kg_caco3_d=(0, None))
def interval_d(usable_kg_caco3: Number, load_kg_caco3_d: Number, vessels: Number = 1.0) -> Number:
    """Interval = usable capacity of one vessel x vessels that share the flow / load.

    Worked by hand: 18 kg at 12 kg a day; two such vessels side by side.

    >>> interval_d(18.0, 12.0)
    1.5
    >>> interval_d(18.0, 12.0, 2.0)
    3.0
    """
    return usable_kg_caco3 * vessels / load_kg_caco3_d


@law
@cites("UFC13FN", "2-2.5.1.4.4: replaced at a loss of 25 %")
@valid(capacity_factor="(0, 1]")
def aged_interval_d(
    interval_d: Number, capacity_factor: Number, end_of_life_factor: Number
) -> Number:
    """Interval of the same resin at the end of its life = interval / factor x end factor.

    Worked by hand: 2 d at a factor of 0.8 are 2.5 d new and 1.875 d at 0.75.

    >>> aged_interval_d(2.0, 0.8, 0.75)
    1.875
    """
    return interval_d / capacity_factor * end_of_life_factor


@law
@valid(total_cations_mg_l_caco3=[0, DERATING_USABLE_MG_L])
def derated_interval_d(interval_d: Number, total_cations_mg_l_caco3: Number) -> Number:
    """Interval times what the old rule leaves in saline water.

    Worked by hand: 2 d and nine tenths.

    >>> derated_interval_d(2.0, 900.0)
    1.8
    """
    return interval_d * derating_for_sodium(total_cations_mg_l_caco3)


@law
@valid(wanted_d=(0, None), capacity_g_caco3_l=(0, None), capacity_factor="(0, 1]", reserve="[0, 1)")
def volume_for_interval_l(
    load_kg_caco3_d: Number,
    wanted_d: Number,
    capacity_g_caco3_l: Number,
    capacity_factor: Number = 1.0,
    reserve: Number = 0.0,
) -> Number:
    """Resin for an interval = load x interval x 1000 / (capacity x factor x (1 - reserve)).

    Worked by hand: 10 kg a day for two days at 50 g/L, a fifth kept back.

    >>> volume_for_interval_l(10.0, 2.0, 50.0, 1.0, 0.2)
    500.0
    """
    usable_g_l = capacity_g_caco3_l * capacity_factor * (1.0 - reserve)
    return load_kg_caco3_d * wanted_d * G_PER_KG / usable_g_l


@law
@cites("CLIFFORD", "at most 5 gpm/ft3, from memory")
@valid(service_max_bv_h=(0, None))
def volume_for_flow_l(flow_m3_h: Number, service_max_bv_h: Number = MOST_SERVICE_BV_H) -> Number:
    """Resin for a flow = flow x 1000 / maximum service velocity.

    Worked by hand: 2 m3/h at 40 bed volumes an hour.

    >>> volume_for_flow_l(2.0, 40.0)
    50.0
    """
    return flow_m3_h * L_PER_M3 / service_max_bv_h


@law
def required_volume_l(for_interval_l: Number, for_flow_l: Number) -> Number:
    """Resin required = the larger of that for the interval and that for the flow.

    >>> required_volume_l(120.0, 50.0)
    120.0
    """
    return most(for_interval_l, for_flow_l)


@law
def installed_l(filled_l: Number) -> Number:
    """Resin installed = resin filled.

    >>> installed_l(140.0)
    140.0
    """
    return filled_l


@law
@valid(volume_l=(0, None))
def service_rate_bv_h(flow_m3_h: Number, volume_l: Number) -> Number:
    """Service rate = flow x 1000 / volume.

    Worked by hand: 2 m3/h through 100 L.

    >>> service_rate_bv_h(2.0, 100.0)
    20.0
    """
    return flow_m3_h * L_PER_M3 / volume_l


@law
@valid(hardness_mg_l_caco3=(0, None))
def meter_setting_m3(usable_kg_caco3: Number, hardness_mg_l_caco3: Number) -> Number:
    """Meter setting = usable capacity x 1000 / hardness; the reserve is already kept back.

    Worked by hand: 6 kg at 300 mg/L.

    >>> meter_setting_m3(6.0, 300.0)
    20.0
    """
    return usable_kg_caco3 * G_PER_KG / hardness_mg_l_caco3


@law
@cites("PRACTICE", "three days where iron reaches the resin")
def longest_gap_d(metals_mg_l: Number, iron_present_mg_l: Number) -> Number:
    """Longest gap = 3 days where iron and manganese exceed the limit, else 7.

    >>> longest_gap_d(0.2, 0.1)
    3.0
    >>> longest_gap_d(0.1, 0.1)
    7.0
    """
    return when(above(metals_mg_l, iron_present_mg_l), lambda: GAP_WITH_IRON_D, lambda: GAP_D)


@law
@valid(vessels="(0, inf)")
def resin_of_one_l(required_l: Number, vessels: Number) -> Number:
    """Resin required in one vessel = resin required / vessels that share the flow.

    >>> resin_of_one_l(300.0, 2.0)
    150.0
    """
    return required_l / vessels


@law
@valid(vessels_side_by_side="(0, inf)")
def vessels_per_duty(vessels: Number, vessels_side_by_side: Number) -> Number:
    """Vessels for each one that shares the flow = all vessels / those side by side.

    >>> vessels_per_duty(3.0, 2.0)
    1.5
    """
    return vessels / vessels_side_by_side


@law
def turns_per_year(regenerations_per_year: Number, vessels_per_duty: Number) -> Number:
    """Regenerations of each vessel, in turn = regenerations / vessels.

    >>> turns_per_year(120.0, 2.0)
    60.0
    """
    return regenerations_per_year / vessels_per_duty


# --- the water behind it ----------------------------------------------------------------------


@law
@cites("STOICHIOMETRY", "sodium for hardness, equivalent for equivalent")
def sodium_added_mg_l(hardness_mg_l_caco3: Number, leakage_mg_l_caco3: Number = 0.0) -> Number:
    """Sodium added = (hardness - leakage) x 22.99 / 50.04.

    The trade's figure: 46 mg/L of sodium for each 100 mg/L of hardness.

    >>> round(sodium_added_mg_l(100.0, 0.0))
    46
    """
    return (hardness_mg_l_caco3 - leakage_mg_l_caco3) * SODIUM_PER_CACO3


@law
@valid(hardness_mg_l_caco3=(0, None))
def leaked_mg_l(
    amount_mg_l: Number, leakage_mg_l_caco3: Number, hardness_mg_l_caco3: Number
) -> Number:
    """An ion behind the softener = its amount x leakage / hardness: split by equivalents.

    Worked by hand: a fiftieth of 100 mg/L.

    >>> leaked_mg_l(100.0, 6.0, 300.0)
    2.0
    """
    return amount_mg_l * leakage_mg_l_caco3 / hardness_mg_l_caco3


@law
def sodium_out_mg_l(sodium_in_mg_l: Number, sodium_added_mg_l: Number) -> Number:
    """Sodium behind the softener = sodium ahead + sodium added.

    >>> sodium_out_mg_l(60.0, 140.0)
    200.0
    """
    return sodium_in_mg_l + sodium_added_mg_l


@law
def no_more_than_mg_l_caco3(chosen_mg_l_caco3: Number, hardness_mg_l_caco3: Number) -> Number:
    """Leakage chosen, never above the hardness of the feed.

    >>> no_more_than_mg_l_caco3(5.0, 300.0)
    5.0
    """
    return least(chosen_mg_l_caco3, hardness_mg_l_caco3)
