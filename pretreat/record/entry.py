"""What a person types for a reading: gauge=value with its unit."""

import datetime
import math
import textwrap
from collections.abc import Mapping, Sequence
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.errors import PretreatError, one_of
from pretreat.membrane.gauges.setpoints import FlowsRead, doubtful_flows, flow_settings
from pretreat.record.keyed.values import Typing, faults_of, typed
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


class Entered(Struct, frozen=True):
    """What was typed for one reading: values, limits of tests that found none, how it was read."""

    values: dict[str, float]
    below: dict[str, float]
    said: tuple[str, ...]


def gauge_of(name: str) -> Gauge | None:
    """Return the gauge of a name, a short name or a code; None where it is none.

    Parameters
    ----------
    name : str
        Such as "product_flow_m3_h", "product_flow", "Product flow" or "pf". [-]

    Returns
    -------
    Gauge or None
        The gauge. [-]
    """
    word = "_".join(name.strip().removeprefix("*").casefold().split())
    return _names().get(word)


@lru_cache(maxsize=1)
def _names() -> Mapping[str, Gauge]:
    every = gauges().values()
    labels = {"_".join(g.label.casefold().split()): g for g in every}
    codes = {g.code: g for g in every if g.code}
    return {**labels, **codes, **{short_name(g): g for g in every}, **gauges()}


def read_entries(entries: Sequence[str], typing: Typing | None = None) -> dict[str, float]:
    """Return the values alone of what was typed (see `entered`).

    Parameters
    ----------
    entries : sequence of str
        Each a gauge, "=" and a value with its unit. [-]
    typing : Typing, optional
        Choices of the site, and units of bare numbers. [-]

    Returns
    -------
    dict of str to float
        Values by gauge. [unit of the gauge]
    """
    return entered(entries, typing).values


def entered(entries: Sequence[str], typing: Typing | None = None) -> Entered:
    """Return a reading from what was typed.

    Parameters
    ----------
    entries : sequence of str
        Each a gauge, "=" and a value with its unit, such as "product_flow=26 L/min". [-]
    typing : Typing, optional
        Choices of the site, and units of bare numbers. [-]

    Returns
    -------
    Entered
        Values by gauge. [unit of the gauge]

    Raises
    ------
    RecordError
        With one line per fault: a gauge not known, named twice, or a value without unit.
    """
    found = Entered({}, {}, ())
    said: list[str] = []
    faults: list[str] = []
    for entry in entries:
        name, equals, text = entry.partition("=")
        gauge = gauge_of(name)
        if gauge is None or not equals:
            hint = one_of(name.strip(), [short_name(g) for g in gauges().values()])
            faults.append(f"'{entry}': write gauge=value{hint}")
            continue
        if gauge.key in found.values:
            faults.append(f"{gauge.label} is given twice")
            continue
        try:
            one = typed(gauge, text, typing)
        except PretreatError as problem:
            faults.extend(faults_of(name, problem))
            continue
        found.values[gauge.key] = one.value
        if one.below is not None:
            found.below[gauge.key] = one.below
        said += [f"{short_name(gauge)}: {one.said}"] if one.said else []
    if faults:
        raise RecordError(*faults)
    return replace(found, said=tuple(said))


def gauge_lines() -> tuple[str, ...]:
    """Return the gauges as lines: name, code, what it is, unit; * is needed for a baseline."""
    lines: list[str] = []
    for g in gauges().values():
        first = f"{'*' if g.baseline else ' '} {short_name(g):22s} {g.code:3s} "
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


def verdict(taken: Reading, odd: Sequence[str], told: Sequence[str]) -> str:
    """Return one line that says what to do after a reading.

    Parameters
    ----------
    taken : Reading
        The reading. [-]
    odd : sequence of str
        What is odd about it, from `doubts`. [-]
    told : sequence of str
        What is to be tested again at once, from `alarms`. [-]

    Returns
    -------
    str
        "fine", or what to do now. [-]
    """
    if told:
        return f"do this now: {'; and '.join(told)}"
    if odd:
        return "do this now: read again what looks odd, and strike the reading if it is wrong"
    many = len(taken.values)
    if not many:
        return "fine: a note, nothing to judge"
    return f"fine: nothing odd in {many} value{'' if many == 1 else 's'}"


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
