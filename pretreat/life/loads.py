"""What wears a medium in a year: water, metals, solids, cycles."""

from pretreat.core.law import Number, above, law, most, total, valid, when

HOURS_PER_YEAR = 8760.0
DAYS_PER_WEEK = 7.0
SHORTEST_PER_DAY = 2.0  # the shortest setting of a timer is twice a day


@law
def carried_over(amount: Number) -> Number:
    """Carry a quantity of another figure over = the same amount.

    By definition.

    >>> carried_over(3.0)
    3.0
    """
    return amount


@law
@valid(days_per_year=[0, 366])
def water_m3_year(water_m3_d: Number, days_per_year: Number) -> Number:
    """Water of a year = water of a day of operation x days of operation.

    Worked by hand: 20 m3/d on 300 days.

    >>> water_m3_year(20.0, 300.0)
    6000.0
    """
    return water_m3_d * days_per_year


@law
def metals_mg_l(iron_mg_l: Number, manganese_mg_l: Number) -> Number:
    """Metals = iron + manganese.

    Worked by hand.

    >>> metals_mg_l(1.5, 0.25)
    1.75
    """
    return iron_mg_l + manganese_mg_l


@law
def solids_mg_l(iron_mg_l: Number, manganese_mg_l: Number) -> Number:
    """Solids onto a filter, as its published limit counts them = iron + 2 x manganese.

    Worked by hand.

    >>> solids_mg_l(1.5, 0.25)
    2.0
    """
    return iron_mg_l + 2.0 * manganese_mg_l


@law
@valid(interval_d=(0, None))
def cycles_without_setting_per_year(days_per_year: Number, interval_d: Number) -> Number:
    """Regenerations of a year where no setting holds = days x larger of 2 and 1 / interval.

    The shortest setting of a timer is twice a day. Worked by hand: an interval of a quarter of a
    day asks for four a day; one of a day gets the two of the timer.

    >>> cycles_without_setting_per_year(300.0, 0.25)
    1200.0
    >>> cycles_without_setting_per_year(300.0, 1.0)
    600.0
    """
    return days_per_year * most(SHORTEST_PER_DAY, 1.0 / interval_d)


@law
@valid(interval_d=(0, None))
def cycles_per_year(
    regenerations_per_year: Number, days_per_year: Number, interval_d: Number
) -> Number:
    """Regenerations by the programme; without a setting, those that the interval asks for.

    Worked by hand: 150 are set; with no setting 300 days x 4 a day.

    >>> cycles_per_year(150.0, 300.0, 0.25)
    150.0
    >>> cycles_per_year(None, 300.0, 0.25)
    1200.0
    """
    own = total(regenerations_per_year, 0.0)
    return when(
        above(own, 0.0),
        lambda: own,
        lambda: cycles_without_setting_per_year(days_per_year, interval_d),
    )


@law
def backwashes_per_year(backwashes_per_week: Number, days_per_year: Number) -> Number:
    """Backwashes of a year = backwashes of a week x days of operation / 7.

    Worked by hand: twice a week for 350 days, 50 weeks.

    >>> backwashes_per_year(2.0, 350.0)
    100.0
    """
    return backwashes_per_week * days_per_year / DAYS_PER_WEEK


@law
@valid(hours_per_day=[0, 24], days_per_year=[0, 366])
def running_share(hours_per_day: Number, days_per_year: Number) -> Number:
    """Share of the year in which the machine runs = h/d x d/year / 8760 h.

    Worked by hand: 12 h on every day of 365 is half the year.

    >>> running_share(12.0, 365.0)
    0.5
    """
    return hours_per_day * days_per_year / HOURS_PER_YEAR
