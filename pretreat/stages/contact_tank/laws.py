"""The contact tank behind an oxidant: its volume."""

from pretreat.core.law import Number, law, valid

MINUTES_PER_HOUR = 60.0


@law
@valid(flow_m3_h=[0, None], contact_min=[0, None], baffling=(0, None))
def contact_tank_m3(flow_m3_h: Number, contact_min: Number, baffling: Number) -> Number:
    """Tank = flow x contact time / share of the time that the fastest water stays.

    Worked by hand: 30 min at 3 m3/h are 1.5 m3; where the fastest water stays half of it, 3 m3.

    >>> contact_tank_m3(3.0, 30.0, 0.5)
    3.0
    """
    return flow_m3_h * contact_min / MINUTES_PER_HOUR / baffling
