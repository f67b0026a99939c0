"""Money: cents, replacements by year, present value."""

import math
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from pretreat.core.errors import OutOfRangeError

CENT = Decimal("0.01")


def cents(amount: float) -> float:
    """Return an amount rounded to the cent, halves away from zero as a spreadsheet does.

    Parameters
    ----------
    amount : float
        Amount. [money]

    Returns
    -------
    float
        Rounded amount. [money]
    """
    return float(Decimal(repr(float(amount))).quantize(CENT, rounding=ROUND_HALF_UP))


def replacements_in_year(year: int, life_years: float) -> int:
    """Return how often a medium that is new at the start is replaced in a year.

    Parameters
    ----------
    year : int
        Year, from 1. [-]
    life_years : float
        Its life, above 0. [year]

    Returns
    -------
    int
        Replacements that fall due in that year. [-]

    Raises
    ------
    OutOfRangeError
        If the life is not above 0.
    """
    if not life_years > 0:
        raise OutOfRangeError(f"life of a medium is {life_years:g} years: must be above 0")
    return math.floor(year / life_years) - math.floor((year - 1) / life_years)


def present_value(amounts: Sequence[float], rate: float) -> float:
    """Return the present value of amounts that fall due at the end of year 1, 2, ...

    Parameters
    ----------
    amounts : sequence of float
        Amount of each year. [money]
    rate : float
        Discount rate, above -1. [-]

    Returns
    -------
    float
        Present value, to the cent. [money]

    Raises
    ------
    OutOfRangeError
        If the rate makes no sense.
    """
    if not rate > -1:
        raise OutOfRangeError(f"discount rate is {rate:g}: must be above -1; 0.05 is 5 %")
    return cents(sum(amount / (1.0 + rate) ** year for year, amount in enumerate(amounts, 1)))
