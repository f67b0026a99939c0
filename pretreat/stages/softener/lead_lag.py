"""Two softeners that take turns: one leads, the other lags and serves alone meanwhile."""

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.core.law import Number, law, least, valid
from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.stages.softener.resin import SALT_PER_CACO3, TOTAL_CAPACITY_EQ_L

VESSELS = 2  # one behind the other; the lag serves alone while the lead regenerates
IN_SERIES = 2
SHARE_AT_BREAKTHROUGH = 0.67  # DAVIS2010, Example 8-3: breakthrough at 67 % of the exhaustion time


class Turn(Struct, frozen=True):
    """One turn: which vessel leads, which lags, which regenerates at its end, what they take [kg].

    ``lead_kg`` counts what the leading vessel takes up while it leads, ``lag_kg`` what the
    lagging one does; ``washed_out_kg`` is all that the leading vessel holds when it leaves.
    """

    lead: int
    lag: int
    regenerating: int
    hours: float
    lead_kg: float
    lag_kg: float
    washed_out_kg: float


def places_of_turn(number: int) -> tuple[int, int, int]:
    """Return which vessel leads and lags in a turn, and regenerates at its end.

    The lag leads the next turn.

    Parameters
    ----------
    number : int
        Turn, from 0. [-]

    Returns
    -------
    tuple of int
        Vessels from 0: lead, lag, regenerating at the end. [-]
    """
    return number % VESSELS, (number + 1) % VESSELS, number % VESSELS


@law
@cites("DAVIS2010", "Example 8-3: straight front from breakthrough, at 67 % of the time, on")
def lead_capacity_g_caco3_l(capacity_g_caco3_l: Number, salt_dose_g_l: Number) -> Number:
    """Capacity of a vessel run until as much hardness leaves as enters.

    Capacity x (1 + 1 / 0.67) / 2, never more than salt and resin allow. The printed example
    breaks through after 67 % of the time to exhaustion; a straight front in between lets half
    of that water's hardness pass: 67 + 33 / 2 of 67 is 1.246.

    >>> round(lead_capacity_g_caco3_l(50.0, 160.0) / 50.0, 3)
    1.246
    """
    held = capacity_g_caco3_l * ((1.0 + 1.0 / SHARE_AT_BREAKTHROUGH) / 2.0)
    resin = TOTAL_CAPACITY_EQ_L * CACO3_MG_PER_MEQ
    return least(held, salt_dose_g_l / SALT_PER_CACO3, resin)


exhausted_capacity_g_l = lead_capacity_g_caco3_l


@law
@valid(reserve="[0, 1)", capacity_g_caco3_l=(0, None))
def lead_turn_d(
    interval_d: Number,
    reserve: Number,
    lead_capacity_g_caco3_l: Number,
    capacity_g_caco3_l: Number,
) -> Number:
    """Turn of a lead vessel = interval / (1 - reserve) x its capacity / operating capacity.

    Worked by hand: 2 d with a fifth in reserve are 2.5 d, and a quarter more held.

    >>> lead_turn_d(2.0, 0.2, 62.5, 50.0)
    3.125
    """
    return interval_d / (1.0 - reserve) * lead_capacity_g_caco3_l / capacity_g_caco3_l


@law
def series_drop_kpa(one_kpa: Number) -> Number:
    """Pressure drop of lead and lag = twice that of one.

    >>> series_drop_kpa(12.0)
    24.0
    """
    return IN_SERIES * one_kpa


def turns(
    count: int, load_kg_h: float, breakthrough_kg: float, exhausted_kg: float
) -> tuple[Turn, ...]:
    """Return the turns of a softener whose leading vessel is run to exhaustion.

    All hardness that enters is taken up by the pair (leakage apart). A vessel that starts its
    lead with what it took up as the lag reaches breakthrough the earlier; what then passes
    it, the lag takes up. From the second turn on every turn lasts as long as the next.

    Parameters
    ----------
    count : int
        Turns wanted. [-]
    load_kg_h : float
        Hardness that enters in an hour of running, above 0. [kg CaCO3/h]
    breakthrough_kg : float
        Hardness on a vessel when it begins to pass hardness. [kg CaCO3]
    exhausted_kg : float
        Hardness on a vessel when it passes all, not below. [kg CaCO3]

    Returns
    -------
    tuple of Turn
        Turns in order. [-]

    Raises
    ------
    OutOfRangeError
        If load or capacities make no sense.
    """
    if not (load_kg_h > 0 and 0 < breakthrough_kg <= exhausted_kg):
        raise OutOfRangeError(
            f"lead and lag with {load_kg_h:g} kg/h, breakthrough at {breakthrough_kg:g} kg and "
            f"exhaustion at {exhausted_kg:g} kg: all above 0, in rising order"
        )
    tail_kg = exhausted_kg - breakthrough_kg  # passes on while the lead takes up as much again
    held, found = 0.0, []
    for number in range(count):
        lead, lag, out = places_of_turn(number)
        taken = exhausted_kg - held
        hours = (taken + tail_kg) / load_kg_h
        found.append(Turn(lead, lag, out, hours, taken, tail_kg, exhausted_kg))
        held = tail_kg
    return tuple(found)
