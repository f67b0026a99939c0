"""Laws of chemical feed: what is fed, as which solution, by which pump, from which tank."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid

G_PER_KG = 1000.0
MINUTES_PER_HOUR = 60.0
SECONDS_PER_MIN = 60.0


@law
@valid(feed_flow_m3_h=[0, None], dose_mg_l=[0, None])
def fed_g_h(feed_flow_m3_h: Number, dose_mg_l: Number) -> Number:
    """Chemical fed while the machine runs = fresh feed x dose.

    Worked by hand: 2 m3/h at 30 mg/L.

    >>> fed_g_h(2.0, 30.0)
    60.0
    """
    return feed_flow_m3_h * dose_mg_l


@law
@valid(feed_m3_d=[0, None], days_per_year=[0, 366], dose_mg_l=[0, None])
def fed_kg_per_year(feed_m3_d: Number, days_per_year: Number, dose_mg_l: Number) -> Number:
    """Chemical of a year = fresh feed of a day x days of operation x dose.

    Worked by hand: 40 m3/d on 250 days are 10 000 m3, at 30 mg/L 300 kg.

    >>> fed_kg_per_year(40.0, 250.0, 30.0)
    300.0
    """
    return feed_m3_d * days_per_year * dose_mg_l / G_PER_KG


@law
@valid(fraction=[0, 1], density_kg_l=(0, None))
def strength_g_l(fraction: Number, density_kg_l: Number) -> Number:
    """Strength of a solution = part by weight x density.

    Worked by hand: half of a litre of 1.5 kg.

    >>> strength_g_l(0.5, 1.5)
    750.0
    """
    return fraction * density_kg_l * G_PER_KG


@law
@valid(fed_g_h=[0, None], solution_g_l=(0, None))
def solution_l_h(fed_g_h: Number, solution_g_l: Number) -> Number:
    """Solution that the pump gives = chemical fed / strength of the solution.

    Worked by hand: 6 g/h of a solution of 100 g/L.

    >>> solution_l_h(6.0, 100.0)
    0.06
    """
    return fed_g_h / solution_g_l


@law
@valid(pump_l_h=(0, None), most_strokes_per_min=(0, None))
def stroke_l(pump_l_h: Number, most_strokes_per_min: Number) -> Number:
    """Volume of a stroke = largest flow of the pump / strokes of an hour.

    Worked by hand: 1.2 L/h in 200 strokes a minute are 0.1 mL each.

    >>> round(stroke_l(1.2, 200.0), 9)
    0.0001
    """
    return pump_l_h / (most_strokes_per_min * MINUTES_PER_HOUR)


@law
@valid(solution_l_h=[0, None], stroke_l=(0, None))
def strokes_per_min(solution_l_h: Number, stroke_l: Number) -> Number:
    """Strokes a minute = solution of a minute / volume of a stroke.

    Worked by hand: 0.06 L/h are 1 mL a minute, at 0.1 mL ten strokes.

    >>> round(strokes_per_min(0.06, 0.0001), 9)
    10.0
    """
    return solution_l_h / MINUTES_PER_HOUR / stroke_l


@law
@valid(velocity_m_s=[0, None], strokes_per_min=(0, None))
def slug_spacing_m(velocity_m_s: Number, strokes_per_min: Number) -> Number:
    """Distance of two slugs of chemical in the pipe = velocity x time between two strokes.

    Worked by hand: 0.5 m/s with 30 strokes a minute, one every two seconds.

    >>> slug_spacing_m(0.5, 30.0)
    1.0
    """
    return velocity_m_s * SECONDS_PER_MIN / strokes_per_min


@law
@valid(pump_l_h=(0, None), solution_l_h=(0, None))
def turndown(pump_l_h: Number, solution_l_h: Number) -> Number:
    """Turndown = largest flow of the pump / flow wanted.

    Worked by hand: 1 L/h turned down to 0.05 L/h.

    >>> turndown(1.0, 0.05)
    20.0
    """
    return pump_l_h / solution_l_h


@law
@cites("PRACTICE", "a solution is kept no longer than it keeps")
@valid(solution_l_h=[0, None], hours_per_day=[0, 24], kept_days=[0, None])
def day_tank_l(solution_l_h: Number, hours_per_day: Number, kept_days: Number) -> Number:
    """Tank = solution of an hour x hours of a day x days that the solution keeps.

    Worked by hand: 0.05 L/h in 20 h/d for 30 d.

    >>> day_tank_l(0.05, 20.0, 30.0)
    30.0
    """
    return solution_l_h * hours_per_day * kept_days
