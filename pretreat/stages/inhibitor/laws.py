"""Scale inhibitor: how much is dosed, and whether it does alone."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid

G_PER_KG = 1000.0


def inhibitor_reaches(most: float | None, recovery: float) -> bool:
    """Tell whether an inhibitor alone allows the recovery wanted.

    Parameters
    ----------
    most : float or None
        Maximum recovery of the raw water with an inhibitor, None where not known. [-]
    recovery : float
        Recovery wanted. [-]

    Returns
    -------
    bool
        True where it does. [-]
    """
    return most is not None and most >= recovery


@law
@cites("PRACTICE", "2 to 5 mg/L of feed, the maker's dose governs")
@valid(feed_flow_m3_h=[0, None], dose_mg_l=[0, None])
def inhibitor_g_h(feed_flow_m3_h: Number, dose_mg_l: Number) -> Number:
    """Inhibitor that the dosing pump gives while the machine runs = fresh feed x dose.

    Worked by hand: 2 m3/h at 3 mg/L.

    >>> inhibitor_g_h(2.0, 3.0)
    6.0
    """
    return feed_flow_m3_h * dose_mg_l


@law
@cites("PRACTICE", "2 to 5 mg/L of feed, the maker's dose governs")
@valid(feed_m3_d=[0, None], days_per_year=[0, 366], dose_mg_l=[0, None])
def inhibitor_kg_year(feed_m3_d: Number, days_per_year: Number, dose_mg_l: Number) -> Number:
    """Inhibitor of a year = fresh feed of a day x days of operation x dose.

    Worked by hand: 40 m3/d on 250 days are 10 000 m3, at 3 mg/L 30 kg.

    >>> inhibitor_kg_year(40.0, 250.0, 3.0)
    30.0
    """
    return feed_m3_d * days_per_year * dose_mg_l / G_PER_KG
