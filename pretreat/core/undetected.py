"""What was only counted at half of a limit of detection, told as what it may be at the most."""

from collections.abc import Sequence

from pretreat.core.results import Ledger

HALF = 0.5
SAME = 1e-3  # relative: an amount that is that of the raw water


def found_and_most(ledger: Ledger, keys: Sequence[str]) -> tuple[float, float]:
    """Return how much of some metals was found, and how much there may be at the most.

    Parameters
    ----------
    ledger : Ledger
        With the analysis entered. [-]
    keys : sequence of str
        Keys of analytes. [-]

    Returns
    -------
    tuple of float
        What was found counts in both, a limit of detection in the second. [mg/L]
    """
    found = most = 0.0
    for key in keys:
        figures = [ledger.figure(f"water.{key}{end}_mg_l") for end in ("", "_total")]
        there = [f for f in figures if f is not None]
        seen = [f.value for f in there if isinstance(f.value, float)]
        found += max(seen, default=0.0)
        most += max(seen, default=max((f.below or 0.0 for f in there), default=0.0))
    return found, most


def up_to(ledger: Ledger, keys: Sequence[str], amount: float, least: float) -> float | None:
    """Return what an amount may be at the most, where it is one of limits of detection.

    Parameters
    ----------
    ledger : Ledger
        With the analysis entered. [-]
    keys : sequence of str
        Keys of the analytes that it is the sum of. [-]
    amount : float
        As it was counted. [mg/L]
    least : float
        What it is held against; what was found alone keeps it. [mg/L]

    Returns
    -------
    float or None
        None where it was found, or is no longer that of the raw water. [mg/L]
    """
    found, most = found_and_most(ledger, keys)
    counted = found + HALF * (most - found)
    if most <= found or found > least or not amount > least:
        return None
    if abs(amount - counted) > SAME * counted and abs(amount - most) > SAME * most:
        return None
    return most


def amount_is(
    ledger: Ledger, keys: Sequence[str], amount: float, least: float, digits: int = 3
) -> str:
    """Return an amount in words: "is 0.4 mg/L", or "may be up to 0.8 mg/L".

    Parameters
    ----------
    ledger : Ledger
        With the analysis entered. [-]
    keys : sequence of str
        Keys of the analytes that it is the sum of. [-]
    amount : float
        As it was counted. [mg/L]
    least : float
        What it is held against. [mg/L]
    digits : int
        Significant digits. [-]

    Returns
    -------
    str
        Words to follow the name. [-]
    """
    most = up_to(ledger, keys, amount, least)
    if most is None:
        return f"is {amount:.{digits}g} mg/L"
    return f"may be up to {most:.{digits}g} mg/L"
