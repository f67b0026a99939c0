"""What the product is for: limits with their sources, verdicts, what a health limit asks for.

Limits bind only where the named jurisdiction applies them; local codes and the authority decide.
"""

from collections.abc import Iterable, Mapping
from functools import lru_cache
from math import inf, isfinite
from typing import Any, Literal

from msgspec import Struct

from pretreat.core.basis import Evidence, cites
from pretreat.core.errors import DesignError, OutOfRangeError, check_range, one_of
from pretreat.core.tables import rows

State = Literal["kept", "exceeded", "not measured", "not judged"]
CALCULATED = ("ph",)  # never measured in a product that is designed
HEALTH = "health"


class Limit(Struct, frozen=True):
    """One limit of a target; ``low`` or ``high`` is infinite where there is none.

    ``grade`` says what exceeding it means: health, aesthetic, slight or severe (restriction on
    use in irrigation), process, own.
    """

    target: str
    jurisdiction: str
    parameter: str
    name: str
    unit: str
    low: float
    high: float
    grade: str
    source: str
    where: str
    evidence: Evidence


class Verdict(Struct, frozen=True):
    """A limit against a value; the value is NaN where it was not measured."""

    limit: Limit
    value: float
    state: State

    @property
    def text(self) -> str:
        """One line for people."""
        rule = self.limit
        bounds = " to ".join(f"{v:g}" for v in (rule.low, rule.high) if isfinite(v))
        word = "at most " if not isfinite(rule.low) else ""
        unit = "" if rule.unit == "-" else f" {rule.unit}"
        asked = f"{rule.grade} limit {word}{bounds}{unit} ({rule.source}, {rule.where})"
        if self.state in {"not measured", "not judged"}:
            return f"{rule.name}: {self.state}; {asked}"
        state = "outside the limit" if self.state == "exceeded" else self.state
        return f"{rule.name} {self.value:.3g}{unit}: {state}; {asked}"


@lru_cache(maxsize=1)
def limits() -> tuple[Limit, ...]:
    """Return every limit of data/product_targets.csv.

    Returns
    -------
    tuple of Limit
        In the order of the table. [-]
    """
    numbers = {"low": -inf, "high": inf}
    return tuple(
        Limit(**{k: (float(v) if v else numbers[k]) if k in numbers else v for k, v in row.items()})  # type: ignore[arg-type]
        for row in rows("product_targets.csv")
    )


def targets() -> Mapping[str, tuple[str, ...]]:
    """Return the targets and the jurisdictions or rules of each.

    Returns
    -------
    mapping of str to tuple of str
        For example "drinking": ("us", "eu", "eu98", "who"). [-]
    """
    found: dict[str, dict[str, None]] = {}
    for limit in limits():
        found.setdefault(limit.target, {})[limit.jurisdiction] = None
    return {target: tuple(words) for target, words in found.items()}


def limits_of(target: str, jurisdiction: str | None = None) -> tuple[Limit, ...]:
    """Return the limits of a target.

    Parameters
    ----------
    target : str
        "drinking", "irrigation", "sprinkler" or "process". [-]
    jurisdiction : str, optional
        "us", "eu", "eu98", "who", "fao", "boiler"; may be left out where there is one. [-]

    Returns
    -------
    tuple of Limit
        The limits. [-]

    Raises
    ------
    DesignError
        If target or jurisdiction is not known, or the jurisdiction has to be named.
    """
    known = targets()
    if target not in known:
        raise DesignError(
            f"target '{target}' is not known{one_of(target, list(known))} "
            f"Use one of: {', '.join(known)}"
        )
    words = known[target]
    if jurisdiction is None and len(words) > 1:
        raise DesignError(
            f"whose limits for {target} water? Name the jurisdiction: {', '.join(words)}"
        )
    chosen = jurisdiction or words[0]
    if chosen not in words:
        raise DesignError(
            f"jurisdiction '{chosen}' of {target} water is not known"
            f"{one_of(chosen, list(words))} Use one of: {', '.join(words)}"
        )
    return tuple(x for x in limits() if x.target == target and x.jurisdiction == chosen)


def own_limit(parameter: str, *, low: float = -inf, high: float = inf, unit: str = "mg/L") -> Limit:
    """Return a limit of the user's own.

    Parameters
    ----------
    parameter : str
        Name as in the target table, such as "na_mg_l". [-]
    low, high : float
        Bounds; left out where there is none. [unit]
    unit : str
        Unit, for the page. [-]

    Returns
    -------
    Limit
        The limit. [-]

    Raises
    ------
    OutOfRangeError
        If there is no bound, or the bounds cross.
    """
    if not low <= high or not (isfinite(low) or isfinite(high)):
        raise OutOfRangeError(
            f"own limit of {parameter} runs from {low:g} to {high:g} {unit}: give a low, a high, "
            "or both with the low one below"
        )
    return Limit(
        "own",
        "own",
        parameter,
        parameter,
        unit,
        low,
        high,
        "own",
        "PRACTICE",
        "the user's own limit",
        "common practice",
    )


def judge(values: Mapping[str, Any], rules: Iterable[Limit]) -> tuple[Verdict, ...]:
    """Hold a water against limits.

    Parameters
    ----------
    values : mapping of str to float
        Values by parameter, as `Water.values` gives them; single numbers. [unit in the name]
    rules : iterable of Limit
        The limits. [-]

    Returns
    -------
    tuple of Verdict
        One for each limit, in order; what was not measured says so. [-]
    """
    return tuple(_verdict(values, rule) for rule in rules)


def _verdict(values: Mapping[str, Any], rule: Limit) -> Verdict:
    raw = values.get(rule.parameter)
    value = float("nan") if raw is None else float(raw)
    if not isfinite(value):
        why: State = "not judged" if rule.parameter in CALCULATED else "not measured"
        return Verdict(rule, float("nan"), why)
    return Verdict(rule, value, "kept" if rule.low <= value <= rule.high else "exceeded")


def health_exceeded(values: Mapping[str, Any], jurisdiction: str) -> tuple[Verdict, ...]:
    """Return the health limits of drinking water that a water exceeds, each constituent once.

    Parameters
    ----------
    values : mapping of str to float
        Values by parameter. [unit in the name]
    jurisdiction : str
        "us", "eu", "eu98" or "who". [-]

    Returns
    -------
    tuple of Verdict
        Exceeded limits. [-]

    Raises
    ------
    DesignError
        If the jurisdiction is not known.
    """
    rules = [x for x in limits_of("drinking", jurisdiction) if x.grade == HEALTH]
    found = {v.limit.parameter: v for v in judge(values, rules) if v.state == "exceeded"}
    return tuple(found.values())


@cites("FAO29", "Table 1, infiltration: sodium adsorption ratio and conductivity together")
def _infiltration_pairs() -> tuple[tuple[float, float, float], ...]:
    # sodium adsorption ratio up to; no restriction above; severe below, dS/m
    return (
        (3.0, 0.7, 0.2),
        (6.0, 1.2, 0.3),
        (12.0, 1.9, 0.5),
        (20.0, 2.9, 1.3),
        (40.0, 5.0, 2.9),
    )


def infiltration(sar: float, ec_ds_m: float) -> Literal["none", "slight", "severe"]:
    """Return the restriction on irrigation because soil takes the water up too slowly.

    Product water is where it shows: few salts and a high ratio are severe. Calcium from calcite
    or gypsum, or raw water blended in ahead of a softener, mends it.

    Parameters
    ----------
    sar : float
        Sodium adsorption ratio, 0 to 40. [-]
    ec_ds_m : float
        Conductivity at 25 °C, 0 to 100. [dS/m]

    Returns
    -------
    str
        "none", "slight" (to moderate) or "severe". [-]

    Raises
    ------
    OutOfRangeError
        If a value is outside the table.
    """
    pairs = _infiltration_pairs()
    check_range("sodium adsorption ratio", sar, (0.0, pairs[-1][0]), "-", "FAO29")
    check_range("conductivity", ec_ds_m, (0.0, 100.0), "dS/m", "FAO29")
    _, free, severe = next(pair for pair in pairs if sar <= pair[0])
    if ec_ds_m > free:
        return "none"
    return "slight" if ec_ds_m >= severe else "severe"


@cites("NATURAL_URANIUM", "0.67 pCi per microgram")
def uranium_pci_l(uranium_mg_l: Any) -> Any:
    """Return the activity of natural uranium from its mass; ground water may hold more 234-U.

    Parameters
    ----------
    uranium_mg_l : float or array
        Uranium. [mg/L]

    Returns
    -------
    float or array
        Activity. [pCi/L]
    """
    return uranium_mg_l * 1000.0 * 0.67


class Behaviour(Struct, frozen=True):
    """What a health-related constituent does in the plant; data/health_constituents.csv."""

    key: str
    name: str
    membrane: str
    softener: str
    caution: str
    source: str
    where: str
    evidence: Evidence


@lru_cache(maxsize=1)
def health_behaviour() -> Mapping[str, Behaviour]:
    """Return what health-related constituents do in membrane and softener, by key.

    Returns
    -------
    mapping of str to Behaviour
        Keys no3, no2, as, b, f, u, ra, ba. [-]
    """
    return {row["key"]: Behaviour(**row) for row in rows("health_constituents.csv")}  # type: ignore[arg-type]
