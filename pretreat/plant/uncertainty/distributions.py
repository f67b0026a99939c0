"""What an uncertain input may be, each as the inverse of its distribution function.

Every distribution gives the value at a probability; arrays in, arrays out. So a set of even
points of the unit cube becomes a set of draws, one column at a time.
"""

from collections.abc import Callable
from statistics import NormalDist
from typing import Protocol

import numpy as np
from msgspec import Struct

from pretreat.chemistry.species import Array
from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError

P10_TO_P90 = 2.0 * NormalDist().inv_cdf(0.9)  # standard deviations between P10 and P90


class Distribution(Protocol):
    """A distribution that can be drawn from."""

    @property
    def centre(self) -> float:
        """The value that the design is made with."""

    @property
    def u(self) -> float:
        """Standard uncertainty, in the unit of the value."""

    def at(self, probability: Array) -> Array:
        """Return the values below which a share of the draws lies."""

    def narrowed(self, share: float) -> "Distribution":
        """Return the same distribution after a measurement that leaves a share of the width."""


def standard_normal(probability: Array) -> Array:
    """Return the standard normal deviate at a probability.

    Parameters
    ----------
    probability : array
        Between 0 and 1, ends left out. [-]

    Returns
    -------
    array
        Deviate, by the standard library's algorithm (good to 1e-15). [-]
    """
    flat = np.ravel(probability)
    deviate: Callable[[float], float] = NormalDist().inv_cdf
    return np.fromiter(map(deviate, flat.tolist()), float, flat.size).reshape(np.shape(probability))


class Normal(Struct, frozen=True):
    """Normal, cut at ``least``: a concentration is never negative."""

    centre: float
    u: float
    least: float = -np.inf

    def __post_init__(self) -> None:
        _refuse(self.u >= 0.0, f"standard uncertainty {self.u:g} must not be negative")

    def at(self, probability: Array) -> Array:
        """Return the values at the probabilities."""
        return np.maximum(self.centre + self.u * standard_normal(probability), self.least)

    def narrowed(self, share: float) -> "Normal":
        """Return the same centre with a share of the uncertainty."""
        return Normal(self.centre, self.u * share, self.least)


class Lognormal(Struct, frozen=True):
    """Lognormal by its median and the standard deviation of the natural logarithm."""

    centre: float
    sigma: float

    def __post_init__(self) -> None:
        fits = self.centre > 0.0 and self.sigma >= 0.0
        _refuse(fits, f"median {self.centre:g} must be above 0 and sigma {self.sigma:g} not below")

    @property
    def u(self) -> float:
        """Standard deviation."""
        variance = self.sigma**2
        return float(self.centre * np.sqrt(np.expm1(variance) * np.exp(variance)))

    def at(self, probability: Array) -> Array:
        """Return the values at the probabilities."""
        return self.centre * np.exp(self.sigma * standard_normal(probability))

    def narrowed(self, share: float) -> "Lognormal":
        """Return the same median with a share of sigma."""
        return Lognormal(self.centre, self.sigma * share)


def lognormal_from_p10_p90(p10: float, p90: float) -> Lognormal:
    """Return the lognormal distribution with two given percentiles.

    Parameters
    ----------
    p10, p90 : float
        Values below which 10 % and 90 % lie. [any unit]

    Returns
    -------
    Lognormal
        Median sqrt(p10 p90), sigma ln(p90/p10)/2.563. [same unit]
    """
    _refuse(0.0 < p10 <= p90, f"P10 {p10:g} and P90 {p90:g} must be positive and in order")
    return Lognormal(float(np.sqrt(p10 * p90)), float(np.log(p90 / p10) / P10_TO_P90))


class Rectangular(Struct, frozen=True):
    """Every value between two ends alike; ``centre`` is the middle."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _refuse(self.low <= self.high, f"ends {self.low:g} and {self.high:g} are not in order")

    @property
    def centre(self) -> float:
        """The middle."""
        return 0.5 * (self.low + self.high)

    @property
    @cites("JCGM100", "4.3.7: half-width / sqrt(3)")
    def u(self) -> float:
        """Width divided by the square root of 12."""
        return float((self.high - self.low) / np.sqrt(12.0))

    def at(self, probability: Array) -> Array:
        """Return the values at the probabilities."""
        return self.low + (self.high - self.low) * np.asarray(probability, float)

    def narrowed(self, share: float) -> "Rectangular":
        """Return the same middle with a share of the width."""
        half = 0.5 * share * (self.high - self.low)
        return Rectangular(self.centre - half, self.centre + half)


class Triangular(Struct, frozen=True):
    """Between a low and a high end with the likely value (the mode) between."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        _refuse(
            self.low <= self.likely <= self.high,
            f"low {self.low:g}, likely {self.likely:g}, high {self.high:g} are not in order",
        )

    @property
    def centre(self) -> float:
        """The likely value."""
        return self.likely

    @property
    def mean(self) -> float:
        """The mean, which is not the likely value where the triangle is skewed."""
        return (self.low + self.likely + self.high) / 3.0

    @property
    @cites("STATISTICS", "variance of the triangular distribution")
    def u(self) -> float:
        """Standard deviation."""
        a, m, b = self.low, self.likely, self.high
        return float(np.sqrt((a * a + m * m + b * b - a * m - a * b - m * b) / 18.0))

    def at(self, probability: Array) -> Array:
        """Return the values at the probabilities."""
        p = np.asarray(probability, float)
        a, m, b = self.low, self.likely, self.high
        if a == b:
            return np.full(p.shape, a)
        rising = a + np.sqrt(p * (b - a) * (m - a))
        falling = b - np.sqrt((1.0 - p) * (b - a) * (b - m))
        return np.where(p * (b - a) < m - a, rising, falling)

    def narrowed(self, share: float) -> "Triangular":
        """Return the same likely value with a share of either side."""
        low = self.likely - share * (self.likely - self.low)
        return Triangular(low, self.likely, self.likely + share * (self.high - self.likely))


def _refuse(fine: bool, fault: str) -> None:
    if not fine:
        raise OutOfRangeError(f"uncertain input: {fault}; check what was given")
