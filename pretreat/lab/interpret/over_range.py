"""Results over the range of a method: a bound is the least that the water holds."""

from msgspec.structs import replace

from pretreat.core.water import Reading, WaterAnalysis
from pretreat.lab.interpret.possible import Findings
from pretreat.lab.interpret.traces import is_counted
from pretreat.lab.read.numbers import PrintedNumber

AT_LEAST = "at least: over the range of the method"
NO_BOUND = frozenset({"ph", "temperature", "orp"})  # more of it is not worse


def is_bound(key: str, number: PrintedNumber) -> bool:
    """Tell whether a result printed ">5" can be taken at its bound.

    Parameters
    ----------
    key : str
        Key of the analyte. [-]
    number : PrintedNumber
        What its cells say. [-]

    Returns
    -------
    bool
        False for what is counted, which has words of its own, and for a word alone. [-]
    """
    found = number.kind == "above" and bool(number.number) and not is_counted(key)
    return found and key not in NO_BOUND


def mark_bounds(findings: Findings, start: int, shown: str) -> None:
    """Mark the readings from a place on as bounds, and say so.

    Parameters
    ----------
    findings : Findings
        Readings of a sample. [-]
    start : int
        Index of the first. [-]
    shown : str
        The result as printed, and where. [-]
    """
    for n in range(start, len(findings.readings)):
        one = findings.readings[n]
        findings.readings[n] = replace(one, note="; ".join(p for p in (one.note, AT_LEAST) if p))
    if len(findings.readings) > start:
        findings.remarks.append(("over_range", shown))


def without_outdone(readings: list[Reading]) -> list[Reading]:
    """Leave out a bound that a measured result of the same analyte reaches.

    Parameters
    ----------
    readings : list of Reading
        Of one sample. [-]

    Returns
    -------
    list of Reading
        What is left, in its order. [-]
    """
    measured = [r for r in readings if r.value is not None and AT_LEAST not in r.note]
    return [
        r
        for r in readings
        if AT_LEAST not in r.note
        or all(
            m.value is None or r.value is None or m.value < r.value
            for m in measured
            if (m.analyte, m.fraction) == (r.analyte, r.fraction)
        )
    ]


def bounds_of(water: WaterAnalysis) -> tuple[Reading, ...]:
    """Return the readings of a water that are bounds.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    tuple of Reading
        In the order of the report; none that the site file has a value for. [-]
    """
    laid = {f.figure for f in water.flags if f.code == "site_value_used"}
    return tuple(
        r
        for r in water.readings
        if AT_LEAST in r.note
        and r.value is not None
        and not laid & {f"water.{r.analyte}", f"water.{r.analyte}_mg_l"}
    )
