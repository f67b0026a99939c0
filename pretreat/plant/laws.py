"""Flows of the machine, and the water and hours of a day of the plant."""

from collections.abc import Sequence

from pretreat.core.basis import cites
from pretreat.core.law import Number, above, law, most, total, valid, when

DAYS_PER_WEEK, HOURS_PER_DAY, MINUTES_PER_HOUR = 7.0, 24.0, 60.0
NO_SETTING = 0.0  # washes a week where no setting holds


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
@cites("STOICHIOMETRY", "recovery is product over fresh feed")
@valid(recovery="[0, 1]", feed_flow_m3_h=[0, None])
def product_of_feed_m3_h(feed_flow_m3_h: Number, recovery: Number) -> Number:
    """Product = fresh feed x recovery.

    Worked by hand: 2 m3/h at 65 %.

    >>> product_of_feed_m3_h(2.0, 0.65)
    1.3
    """
    return feed_flow_m3_h * recovery


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


@law
def washing_water_m3_d(wash_water_m3: Number, washes_per_week: Number) -> Number:
    """Water of a stage to the drain = water of a wash x washes a week / 7, mean of a day.

    Worked by hand: 3.5 m3 every other day or so, 4 times a week.

    >>> washing_water_m3_d(3.5, 4.0)
    2.0
    """
    return wash_water_m3 * washes_per_week / DAYS_PER_WEEK


@law
@valid(interval_d="(0, inf)")
def washing_water_by_interval_m3_d(
    wash_water_m3: Number, washes_per_week: Number, interval_d: Number
) -> Number:
    """Water of a stage to the drain by its setting; where none holds, water / interval.

    Worked by hand: 3 m3 as soon as the bed is spent, every half day.

    >>> washing_water_by_interval_m3_d(3.0, None, 0.5)
    6.0
    """
    return when(
        above(total(washes_per_week, NO_SETTING), NO_SETTING),
        lambda: washing_water_m3_d(wash_water_m3, total(washes_per_week, NO_SETTING)),
        lambda: wash_water_m3 / interval_d,
    )


@law
def washing_water_of_all_m3_d(waters_m3_d: Sequence[Number]) -> Number:
    """Water for regenerations and backwashes = sum over the stages.

    Worked by hand: 2 m3/d and 0.5 m3/d.

    >>> washing_water_of_all_m3_d([2.0, 0.5])
    2.5
    """
    return sum(waters_m3_d)


@law
def raw_water_m3_d(feed_m3_d: Number, washing_water_m3_d: Number) -> Number:
    """Raw water = feed of the membranes + water of the washes.

    Worked by hand: 40 m3/d and 2.5 m3/d.

    >>> raw_water_m3_d(40.0, 2.5)
    42.5
    """
    return feed_m3_d + washing_water_m3_d


@law
def drained_water_m3_d(raw_water_m3_d: Number, product_m3_d: Number) -> Number:
    """Water to the drain = raw water - product.

    Worked by hand: 42.5 m3/d less 26 m3/d.

    >>> drained_water_m3_d(42.5, 26.0)
    16.5
    """
    return raw_water_m3_d - product_m3_d


@law
@valid(raw_water_m3_d="(0, inf)")
def product_share(product_m3_d: Number, raw_water_m3_d: Number) -> Number:
    """Share of the raw water that becomes product, what is left of the recovery.

    Worked by hand: 26 m3/d of 52 m3/d.

    >>> product_share(26.0, 52.0)
    0.5
    """
    return product_m3_d / raw_water_m3_d


@law
@valid(operating_days_per_year=[0, 366])
def water_m3_year(water_m3_d: Number, operating_days_per_year: Number) -> Number:
    """Water of a year = water of a day of operation x days of operation.

    Worked by hand: 40 m3/d on 300 days.

    >>> water_m3_year(40.0, 300.0)
    12000.0
    """
    return water_m3_d * operating_days_per_year


@law
def washing_h_d(
    steps_min: Sequence[Number], vessels: Sequence[Number], washes_per_week: Sequence[Number]
) -> Number:
    """Hours of washing = sum of minutes x vessels one after the other x washes a week / 7.

    A stage without a setting counts for nothing.

    Worked by hand: 60 min of one vessel every day, 30 min of each of two vessels every day.

    >>> washing_h_d([60.0, 30.0], [1.0, 2.0], [7.0, 7.0])
    2.0
    """
    steps = zip(steps_min, vessels, washes_per_week, strict=True)
    return total(
        0.0,
        *(step * n / MINUTES_PER_HOUR * per_week / DAYS_PER_WEEK for step, n, per_week in steps),
    )


@law
def washing_of_fullest_day_h_d(
    steps_min: Sequence[Number], vessels: Sequence[Number], washes_per_week: Sequence[Number]
) -> Number:
    """Hours of washing on a day when all stages wash: each once, or as often as a day asks.

    Worked by hand: 60 min once a week and 30 min twice a day: 60 + 60 min.

    >>> washing_of_fullest_day_h_d([60.0, 30.0], [1.0, 1.0], [1.0, 14.0])
    2.0
    """
    steps = zip(steps_min, vessels, washes_per_week, strict=True)
    return total(
        0.0,
        *(
            step * n / MINUTES_PER_HOUR * most(1.0, per_week / DAYS_PER_WEEK)
            for step, n, per_week in steps
        ),
    )


@law
def occupied_h_d(running_hours_per_day: Number, washing_h_d: Number) -> Number:
    """Hours taken from a day = running + washing that stops the machine.

    Worked by hand: 16 h and 2.5 h.

    >>> occupied_h_d(16.0, 2.5)
    18.5
    """
    return running_hours_per_day + washing_h_d


@law
@valid(running_hours_per_day=[0, 24])
def idle_min(running_hours_per_day: Number) -> Number:
    """Minutes of a day without running.

    Worked by hand: 20 hours of running leave 4 hours.

    >>> idle_min(20.0)
    240.0
    """
    return (HOURS_PER_DAY - running_hours_per_day) * MINUTES_PER_HOUR


@law
@valid(product_m3_d=[0, None], out_of_service_h_d="[0, 24)")
def production_rate_m3_h(product_m3_d: Number, out_of_service_h_d: Number) -> Number:
    """Flow while running = product of a day / hours that are left of it.

    QM5204 prints 4 h/d of care, 20 h of production: 30 m3/d are made at 1.5 m3/h.

    >>> production_rate_m3_h(30.0, 4.0)
    1.5
    """
    return product_m3_d / (HOURS_PER_DAY - out_of_service_h_d)
