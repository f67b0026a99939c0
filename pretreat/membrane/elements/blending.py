"""How much raw or softened water may pass beside the membranes.

A bypass carries everything of the raw water past the membranes, germs, iron, arsenic and nitrate
included: filter and disinfect it, and hold the blend against every limit.
"""

from collections.abc import Callable, Iterable, Mapping
from math import isnan
from typing import Any

from msgspec import Struct

from pretreat.core.errors import AnalysisError
from pretreat.membrane.elements.product import Water, blended
from pretreat.membrane.elements.targets import Limit

# A mixture is not linear in these; they are checked on the blend instead.
NOT_LINEAR = ("ph", "sar", "ec_ds_m", "ec_us_cm_20")
BISECTIONS = 30
STATIONS = 40  # where a parameter that is not linear is looked at before bisection


class Share(Struct, frozen=True):
    """The shares of bypass that one limit allows, from ``least`` to ``most``.

    ``least`` above ``most`` means that no blend keeps the limit.
    """

    limit: Limit
    least: float
    most: float


class Bypass(Struct, frozen=True):
    """The allowed shares over all limits, the limit that sets the most, what was not judged.

    ``least`` above 0 means that the product alone misses a limit which blending meets; ``least``
    above ``most``, or ``most`` 0 with a governing limit, that blending cannot meet them all.
    """

    least: float
    most: float
    governing: Limit | None
    shares: tuple[Share, ...]
    not_judged: tuple[Limit, ...]

    @property
    def possible(self) -> bool:
        """Whether any blend, the product alone included, keeps every limit judged."""
        return self.least <= self.most


def limit_share(limit: float, product: float, bypass: float) -> float:
    """Return the share of bypass in the blend at which a limit is just reached.

    ``(limit - product) / (bypass - product)``; allowed bypass is the smallest over all upper
    limits.

    Parameters
    ----------
    limit : float
        Value of the blend. [unit of the values]
    product : float
        Value in the product. [unit of the values]
    bypass : float
        Value in the bypass. [unit of the values]

    Returns
    -------
    float
        Share; above 1 or below 0 where no blend reaches the limit, NaN where product and bypass
        are alike. [-]
    """
    if bypass == product:
        return float("nan")
    return (limit - product) / (bypass - product)


NONE_ALLOWED = (1.0, 0.0)  # least above most


def _linear(rule: Limit, product: float, bypass: float) -> tuple[float, float]:
    """Return the shares, 0 to 1, at which a value that mixes linearly keeps its limits."""
    if bypass == product:
        return (0.0, 1.0) if rule.low <= product <= rule.high else NONE_ALLOWED
    ends = sorted(
        limit_share(bound, product, bypass) for bound in (rule.low, rule.high)
    )  # an infinite bound stays infinite
    least, most = max(0.0, ends[0]), min(1.0, ends[1])
    return (least, most) if least <= most else NONE_ALLOWED


def allowed_bypass(product: Water, bypass: Water, rules: Iterable[Limit]) -> Bypass:
    """Return how much bypass the limits allow.

    Linear parameters in closed form; pH and sodium adsorption ratio on the blend itself, over
    the first range of shares that keeps them. A pH of the product outside its limits does not
    forbid blending: it is a matter of treating the blend, and is named as not judged.

    Parameters
    ----------
    product : Water
        The product; a single water. [-]
    bypass : Water
        The water beside the membranes; a single water. [-]
    rules : iterable of Limit
        The limits. [-]

    Returns
    -------
    Bypass
        Allowed share of bypass in the blend; NaN where no limit could be judged. [-]

    Raises
    ------
    AnalysisError
        If several waters are given at once, or an ion is known on one side only.
    """
    own, other = _numbers(product, "product"), _numbers(bypass, "bypass")
    shares: list[Share] = []
    left: list[Limit] = []
    for rule in rules:
        one = own.get(rule.parameter, float("nan"))
        two = other.get(rule.parameter, float("nan"))
        if isnan(one) or isnan(two) or _treated_after(rule, one):
            left.append(rule)
        elif rule.parameter in NOT_LINEAR:
            shares.append(Share(rule, *_by_blend(product, bypass, rule)))
        else:
            shares.append(Share(rule, *_linear(rule, one, two)))
    if not shares:
        return Bypass(float("nan"), float("nan"), None, (), tuple(left))
    first = min(shares, key=lambda s: s.most)
    governing = first.limit if first.most < 1.0 else None
    least = max(s.least for s in shares)
    return Bypass(least, first.most, governing, tuple(shares), tuple(left))


def _treated_after(rule: Limit, product: float) -> bool:
    return rule.parameter == "ph" and not rule.low <= product <= rule.high


def _numbers(water: Water, name: str) -> dict[str, float]:
    found: dict[str, float] = {}
    for key, value in water.values().items():
        try:
            found[key] = float(value)
        except TypeError:
            raise AnalysisError(f"{name} holds several waters: blend one at a time") from None
    return found


def _by_blend(product: Water, bypass: Water, rule: Limit) -> tuple[float, float]:
    """Return the first range of shares over which the blend keeps a limit."""

    def kept(share: float) -> bool:
        values: Mapping[str, Any] = blended(product, bypass, share).values()
        return bool(rule.low <= float(values[rule.parameter]) <= rule.high)

    stations = [n / STATIONS for n in range(STATIONS + 1)]
    states = [kept(share) for share in stations]
    if True not in states:
        return NONE_ALLOWED
    first = states.index(True)
    last = states.index(False, first) - 1 if False in states[first:] else STATIONS
    least = 0.0 if first == 0 else _edge(kept, stations[first], stations[first - 1])
    most = 1.0 if last == STATIONS else _edge(kept, stations[last], stations[last + 1])
    return least, most


def _edge(kept: Callable[[float], bool], inside: float, outside: float) -> float:
    for _ in range(BISECTIONS):
        middle = (inside + outside) / 2.0
        inside, outside = (middle, outside) if kept(middle) else (inside, middle)
    return inside
