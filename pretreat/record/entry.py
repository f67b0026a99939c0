"""What a person types for a reading: gauge=value with its unit."""

import datetime
import math
import textwrap
from collections.abc import Sequence

from pretreat.core.errors import PretreatError, UnitError, one_of
from pretreat.core.units import (
    US_CUSTOMARY,
    conductivity_us_cm,
    hardness_mg_l_caco3,
    mg_l,
    quantity,
    split_quantity,
    temperature_c,
)
from pretreat.membrane.gauges.setpoints import FlowsRead, doubtful_flows, flow_settings
from pretreat.record.order import doubtful_counters, doubtful_date, doubtful_order
from pretreat.record.readings import Gauge, Reading, RecordError, baseline_of, gauges
from pretreat.record.slips import doubtful_values, usual_values
from pretreat.site.design import DesignBasis

COLUMNS = 80  # of a terminal
_US = frozenset(
    {
        "psi",
        "gpm",
        "gph",
        "gpd",
        "gal",
        "gal/d",
        "gal/min",
        "us gpm",
        "us gal",
        "f",
        "°f",
        "degf",
        "gpg",
        "lb",
        "lbs",
    }
)


def short_name(gauge: Gauge) -> str:
    """Return the name of a gauge without its unit, as it is typed: "product_flow"."""
    for end in ("_mg_l_caco3", "_us_cm", "_m3_h", "_mg_l", "_bar", "_kg", "_m3", "_c", "_h"):
        if gauge.key.endswith(end):
            return gauge.key.removesuffix(end)
    return gauge.key


def _value(gauge: Gauge, text: str) -> float:
    """Read a value in the unit of the gauge; a bare number is refused where a unit is needed."""
    number, unit = split_quantity(text)
    if gauge.unit == "-":
        if unit:
            raise UnitError(f"'{text}': a number without unit")
        return number
    if not unit and gauge.unit == "h":  # a counter of hours counts nothing else
        return number
    if not unit:
        twin = US_CUSTOMARY.get(gauge.unit)
        other = f" or '{text} {twin.unit}', whichever" if twin else " if that"
        raise UnitError(f"'{text}' has no unit; write '{text} {gauge.unit}'{other} is meant")
    if gauge.unit == "°C":
        return temperature_c(number, unit)
    if gauge.unit == "µS/cm":
        return conductivity_us_cm(number, unit)
    if gauge.unit == "mg/L as CaCO3":
        return hardness_mg_l_caco3(text)
    return mg_l(text) if gauge.unit == "mg/L" else quantity(text, gauge.unit)


def read_entries(entries: Sequence[str]) -> dict[str, float]:
    """Return the values of a reading from what was typed.

    Parameters
    ----------
    entries : sequence of str
        Each a gauge, "=" and a value with its unit, such as "product_flow=26 L/min". [-]

    Returns
    -------
    dict of str to float
        Values by gauge. [unit of the gauge]

    Raises
    ------
    RecordError
        With one line per fault: a gauge not known, named twice, or a value without unit.
    """
    names = {short_name(g): g for g in gauges().values()} | dict(gauges())
    found: dict[str, float] = {}
    faults: list[str] = []
    for entry in entries:
        name, equals, text = entry.partition("=")
        gauge = names.get(name.strip())
        if gauge is None or not equals:
            hint = one_of(name.strip(), [short_name(g) for g in gauges().values()])
            faults.append(f"'{entry}': write gauge=value{hint}")
            continue
        if gauge.key in found:
            faults.append(f"{gauge.label} is given twice")
            continue
        try:
            found[gauge.key] = _value(gauge, text)
        except PretreatError as problem:
            faults.extend(f"{name}: {fault}" for fault in problem.faults)
    if faults:
        raise RecordError(*faults)
    return found


def gauge_lines() -> tuple[str, ...]:
    """Return the gauges as lines of text: name, what it is, unit; * is needed for a baseline."""
    lines: list[str] = []
    for g in gauges().values():
        first = f"{'*' if g.baseline else ' '} {short_name(g):22s} "
        unit = "" if g.unit == "-" else f" [{g.unit}]"
        lines += textwrap.wrap(
            f"{g.label}{unit}", COLUMNS, initial_indent=first, subsequent_indent=" " * len(first)
        )
    return tuple(lines)


def joined(words: Sequence[str]) -> tuple[str, ...]:
    """Return entries as they were meant where quotes were left out: "9.5 bar" came as two words.

    Parameters
    ----------
    words : sequence of str
        Words of the command line. [-]

    Returns
    -------
    tuple of str
        Entries; a word without "=" belongs to the one before it. [-]
    """
    found: list[str] = []
    for word in words:
        if found and "=" not in word:
            found[-1] = f"{found[-1]} {word}"
        else:
            found.append(word)
    return tuple(found)


def us_units(entries: Sequence[str]) -> bool:
    """Tell whether a reading was typed in US units.

    Parameters
    ----------
    entries : sequence of str
        Entries as typed. [-]

    Returns
    -------
    bool
        True where a unit is one of the US gauges. [-]
    """
    units = (entry.partition("=")[2].strip().lstrip("0123456789.,+- ") for entry in entries)
    return any(unit.strip().lower() in _US for unit in units)


def doubts(
    taken: Reading,
    design: DesignBasis,
    earlier: Sequence[Reading] = (),
    now: datetime.datetime | None = None,
) -> tuple[str, ...]:
    """Return what is odd about a reading, with the slip of units that explains it.

    Parameters
    ----------
    taken : Reading
        The reading. [-]
    design : DesignBasis
        Flows, temperature and pressure of the design. [-]
    earlier : sequence of Reading
        Readings of the record by date; they come before the design. [-]
    now : datetime, optional
        Clock of the computer; dates are looked at only with it. [-]

    Returns
    -------
    tuple of str
        Empty where the values fit each other, the last readings and the design. [-]
    """
    machine, water = design.machine, design.water
    usual = flow_settings(machine.product_flow_m3_h, machine.recovery, machine.recycle_flow_m3_h)
    flows = (taken.get(f"{key}_flow_m3_h") for key in ("feed", "product", "drain"))
    read = FlowsRead(*(flow if math.isfinite(flow) else None for flow in flows))
    expected = {
        "temperature_c": water.operating_temperature_c,
        "feed_pressure_bar": machine.feed_pressure_bar,
        "recycle_flow_m3_h": machine.recycle_flow_m3_h,
        "raw_hardness_mg_l_caco3": water.hardness_mg_l_caco3,
    }
    base = baseline_of(earlier)
    judged = [r for r in earlier if base is None or r.when >= base.when]
    known = usual_values(judged, {k: v for k, v in expected.items() if v})
    return (
        *(doubtful_date(taken, earlier, now) if now is not None else ()),
        *doubtful_flows(read, usual),
        *doubtful_values(taken, known),
        *doubtful_order(taken),
        *doubtful_counters(taken, earlier),
    )
