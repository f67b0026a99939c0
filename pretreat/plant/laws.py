"""Flows of the machine and water of a day."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid


@law
@cites("STOICHIOMETRY", "recovery is product over fresh feed")
@valid(recovery="(0, 1]", product_flow_m3_h=[0, None])
def feed_flow_m3_h(product_flow_m3_h: Number, recovery: Number) -> Number:
    """Fresh feed = product / recovery.

    Worked by hand: 1.3 m3/h at 65 % takes 2 m3/h.

    >>> feed_flow_m3_h(1.3, 0.65)
    2.0
    """
    return product_flow_m3_h / recovery


@law
def drain_flow_m3_h(feed_flow_m3_h: Number, product_flow_m3_h: Number) -> Number:
    """Concentrate to drain = fresh feed - product.

    Worked by hand: 2 m3/h less 1.5 m3/h.

    >>> drain_flow_m3_h(2.0, 1.5)
    0.5
    """
    return feed_flow_m3_h - product_flow_m3_h


@law
@valid(running_hours_per_day=[0, 24])
def water_m3_d(flow_m3_h: Number, running_hours_per_day: Number) -> Number:
    """Water of a day of operation = flow x running time.

    Worked by hand: 2 m3/h for 20 hours.

    >>> water_m3_d(2.0, 20.0)
    40.0
    """
    return flow_m3_h * running_hours_per_day


@law
@valid(product_flow_m3_h=[0, None], drain_flow_m3_h="(0, inf)")
def recovery_of_flows(product_flow_m3_h: Number, drain_flow_m3_h: Number) -> Number:
    """Recovery = product / (product + drain), by two flow meters.

    Worked by hand: 3 m3/h of product beside 1 m3/h to the drain.

    >>> recovery_of_flows(3.0, 1.0)
    0.75
    """
    return product_flow_m3_h / (product_flow_m3_h + drain_flow_m3_h)
