"""What is drawn from the product tank, and what is kept in store."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, most, valid

HOURS_PER_DAY = 24.0


@law
def demand_of_all_product_m3_d(product_m3_d: Number) -> Number:
    """Demand, where all that is made is drawn.

    Worked by hand: 24 m3/d are made.

    >>> demand_of_all_product_m3_d(24.0)
    24.0
    """
    return product_m3_d


@law
@valid(demand_m3_d=[0, None], share_of_mean=[0, None])
def demand_of_hour_m3_h(demand_m3_d: Number, share_of_mean: Number) -> Number:
    """Demand in an hour = demand of a day / 24 x its share of the mean.

    Worked by hand: 24 m3/d, two and a half times the mean.

    >>> demand_of_hour_m3_h(24.0, 2.5)
    2.5
    """
    return demand_m3_d / HOURS_PER_DAY * share_of_mean


@law
@cites("TM58138", "2-2")
@valid(demand_m3_d=[0, None], outage_h_d=[0, None])
def storage_for_outage_m3(demand_m3_d: Number, outage_h_d: Number) -> Number:
    """Storage that serves the mean demand through the hours of a day without product.

    TM 5-813-8, 2-2: two days of 25 m3/d are 50 m3.

    >>> storage_for_outage_m3(25.0, 48.0)
    50.0
    """
    return demand_m3_d / HOURS_PER_DAY * outage_h_d


@law
@cites("TM58138", "2-2")
@valid(demand_m3_d=[0, None], outage_h_d=[0, None], peak_m3=[0, None])
def storage_for_outage_and_peaks_m3(
    demand_m3_d: Number, outage_h_d: Number, peak_m3: Number
) -> Number:
    """Storage through an outage, and for the hours in which more is drawn than made.

    Worked by hand: 24 m3/d for 3 hours, and 2 m3 of peaks.

    >>> storage_for_outage_and_peaks_m3(24.0, 3.0, 2.0)
    5.0
    """
    return storage_for_outage_m3(demand_m3_d, outage_h_d) + peak_m3


@law
@valid(operating_days_per_year="(0, 366]")
def salt_kept_kg(
    salt_kg_per_year: Number, operating_days_per_year: Number, kept_days: Number
) -> Number:
    """Salt in store = salt of a year / days of operation x days kept.

    Worked by hand: 3000 kg in 300 days, 30 days of it kept.

    >>> salt_kept_kg(3000.0, 300.0, 30.0)
    300.0
    """
    return salt_kg_per_year / operating_days_per_year * kept_days


@law
@valid(flush_share=[0, 1])
def demand_beside_flushes_m3_d(demand_m3_d: Number, flush_share: Number) -> Number:
    """Product drawn = all that is made, less the share that flushes the membranes.

    Worked by hand: a quarter of 24 m3/d is flushed.

    >>> demand_beside_flushes_m3_d(24.0, 0.25)
    18.0
    """
    return demand_m3_d * (1.0 - flush_share)


@law
@cites("PRACTICE", "some spare, and runs that are not too short")
@valid(switch_band="(0, 1]")
def product_tank_m3(
    smallest_m3: Number,
    spare_factor: Number,
    product_flow_m3_h: Number,
    lowest_demand_m3_h: Number,
    least_run_h: Number,
    switch_band: Number,
) -> Number:
    """Tank with some spare, and one that fills from start to stop in no less than the least run.

    Worked by hand: 1.25 x 4 m3 is less than what 3 m3/h, 1 m3/h of it drawn, fill in an hour
    between switches a quarter of the tank apart.

    >>> product_tank_m3(4.0, 1.25, 3.0, 1.0, 1.0, 0.25)
    8.0
    """
    gain_m3_h = most(product_flow_m3_h - lowest_demand_m3_h, 0.0)
    return most(smallest_m3 * spare_factor, gain_m3_h * least_run_h / switch_band)


@law
@cites("PRACTICE", "some spare, and runs that are not too short")
@valid(switch_band="(0, 1]")
def product_tank_for_level_demand_m3(
    smallest_m3: Number,
    spare_factor: Number,
    product_flow_m3_h: Number,
    demand_m3_d: Number,
    least_run_h: Number,
    switch_band: Number,
) -> Number:
    """Tank as for a demand that changes, the lowest being the mean.

    Worked by hand: 24 m3/d are 1 m3/h; else as above.

    >>> product_tank_for_level_demand_m3(4.0, 1.25, 3.0, 24.0, 1.0, 0.25)
    8.0
    """
    return product_tank_m3(
        smallest_m3,
        spare_factor,
        product_flow_m3_h,
        demand_m3_d / HOURS_PER_DAY,
        least_run_h,
        switch_band,
    )
