"""Scale inhibitor: how much is dosed, and whether it does alone."""

from pretreat.core.basis import cites


def inhibitor_reaches(most: float | None, recovery: float) -> bool:
    """Tell whether an inhibitor alone allows the recovery wanted.

    Parameters
    ----------
    most : float or None
        Largest recovery of the raw water with an inhibitor, None where not known. [-]
    recovery : float
        Recovery wanted. [-]

    Returns
    -------
    bool
        True where it does. [-]
    """
    return most is not None and most >= recovery


@cites("PRACTICE", "2 to 5 mg/L of feed, the maker's dose governs")
def inhibitor_g_h(feed_m3_h: float, dose_mg_l: float) -> float:
    """Return what the dosing pump must give while the machine runs.

    Parameters
    ----------
    feed_m3_h : float
        Fresh feed while running. [m³/h]
    dose_mg_l : float
        Product of the maker per litre of feed. [mg/L]

    Returns
    -------
    float
        Inhibitor. [g/h]
    """
    return feed_m3_h * dose_mg_l


def inhibitor_kg_year(feed_m3_year: float, dose_mg_l: float) -> float:
    """Return the inhibitor of a year.

    Parameters
    ----------
    feed_m3_year : float
        Fresh feed in a year. [m³/year]
    dose_mg_l : float
        Product of the maker per litre of feed. [mg/L]

    Returns
    -------
    float
        Inhibitor. [kg/year]
    """
    return feed_m3_year * dose_mg_l / 1000.0
