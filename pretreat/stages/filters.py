"""Laws that the filters share: medium of a depth, waste and number of their backwashes."""

from pretreat.core.law import Number, law, valid

LITRES_PER_M3 = 1000.0
MINUTES_PER_HOUR = 60.0
DAYS_PER_WEEK = 7.0


@law
@valid(area_m2=[0, None], depth_m=[0, None])
def medium_of_depth_l(area_m2: Number, depth_m: Number) -> Number:
    """Medium = area x depth.

    Worked by hand: 0.5 m2 filled 0.8 m deep hold 0.4 m3.

    >>> medium_of_depth_l(0.5, 0.8)
    400.0
    """
    return area_m2 * depth_m * LITRES_PER_M3


@law
@valid(backwash_min=[0, None], rinse_min=[0, None])
def backwash_waste_m3(
    backwash_flow_m3_h: Number,
    backwash_min: Number,
    rinse_flow_m3_h: Number,
    rinse_min: Number,
) -> Number:
    """Waste of one vessel = backwash flow x its time + service flow x time of the rinse.

    Worked by hand: 6 m3/h for 10 min take 1 m3, a rinse of 6 min at 2 m3/h takes 0.2 m3.

    >>> backwash_waste_m3(6.0, 10.0, 2.0, 6.0)
    1.2
    """
    return (
        backwash_flow_m3_h * backwash_min / MINUTES_PER_HOUR
        + rinse_flow_m3_h * rinse_min / MINUTES_PER_HOUR
    )


@law
@valid(backwash_every_d=(0, None))
def backwashes_per_week(backwash_every_d: Number) -> Number:
    """Backwashes of a week = 7 d / days between two.

    Worked by hand: every other day is three and a half times a week.

    >>> backwashes_per_week(2.0)
    3.5
    """
    return DAYS_PER_WEEK / backwash_every_d
