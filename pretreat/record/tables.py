"""The record as tables: the last readings, values against the baseline, trends."""

import math
from collections.abc import Collection, Mapping, Sequence
from statistics import median

from pretreat.core.basis import Series, Value, citations, cites
from pretreat.core.results import Ledger
from pretreat.membrane.gauges.gauge_laws import flow_gpm, flow_l_min
from pretreat.membrane.gauges.pressure import standard_flow, standard_salt_passage
from pretreat.plant.hand_sheets import enter_record_sheet
from pretreat.record.readings import Reading, gauges
from pretreat.record.signs import SECONDS_PER_DAY, Tracks

SHOWN = 12  # readings in the table on paper; the trend tables hold all
RUNNING = 5  # RECORD_STATISTICS: readings in a running median, which a wild one does not move
_COUNTERS = (
    "machine_hours_h",
    "regenerations",
    "salt_filled_kg",
    "softened_m3",
    "permanganate_filled_kg",
)  # grow or vary
_BEDS = {
    "iron_filter_drop_bar": ("iron_bed", "Pressure drop of the iron filter"),
    "softener_drop_bar": ("softener_bed", "Pressure drop of the softener"),
    "carbon_drop_bar": ("carbon_bed", "Pressure drop between softener and cartridge"),
}
_HOW = "brought to temperature, pressures and recovery of the baseline"


def finite(value: float) -> float | None:
    """Return a number, None for a gauge that was not read.

    Parameters
    ----------
    value : float
        Reading. [any]

    Returns
    -------
    float or None
        The same. [any]
    """
    return value if math.isfinite(value) else None


def stamp(taken: Reading) -> str:
    """Return the date and time of a reading as they are printed."""
    return taken.when.strftime("%Y-%m-%d %H:%M")


def enter_last_readings(ledger: Ledger, readings: Sequence[Reading]) -> None:
    """Enter the last readings as they were written."""
    last = readings[-SHOWN:]
    keys = [k for k in gauges() if any(k in r.values for r in last)]
    rows = tuple(
        (gauges()[k].label, gauges()[k].unit, *(finite(r.get(k)) for r in last)) for k in keys
    )
    ledger.table(
        Series(
            "record.last",
            "The last readings",
            ("gauge", "unit", *(f"r{r.line}" for r in last)),
            ("-", "-", *("" for _ in last)),
            rows,
            method="as read",
            headings=("Gauge", "Unit", *(stamp(r) for r in last)),
        )
    )


def enter_against_baseline(ledger: Ledger, found: Tracks) -> None:
    """Enter the normalised values of the baseline and of the last reading."""
    ledger.put(
        "record.baseline",
        stamp(found.readings[0]),
        "-",
        "Baseline, a complete reading",
        origin="measured",
        evidence="read on site",
    )
    for key, attribute, unit, label in (
        ("flow_m3_h", "flow_m3_h", "m3/h", "Normalised product flow"),
        ("salt_passage", "passage", "-", "Normalised salt passage"),
        ("drop_first_bar", "drop_first_bar", "bar", "Pressure drop, first stage, normalised"),
        ("drop_last_bar", "drop_last_bar", "bar", "Pressure drop, last stage, normalised"),
        ("drop_bar", "drop_bar", "bar", "Pressure drop along the membranes, normalised"),
        ("cartridge_bar", "cartridge_bar", "bar", "Pressure drop of the cartridge"),
    ):
        for word, state in (("baseline", found.normalised[0]), ("last", found.normalised[-1])):
            value = float(getattr(state, attribute))
            if math.isfinite(value):
                ledger.put(
                    f"record.{word}_{key}",
                    value,
                    unit,
                    f"{label}, {word}",
                    method=_HOW,
                    cites=citations(standard_flow, standard_salt_passage),
                )
                ledger.rests(f"record.{word}_{key}", "record.readings")
    _enter_beds(ledger, found)


def _enter_beds(ledger: Ledger, found: Tracks) -> None:
    """Enter the pressure drops of filter beds, as read: in the baseline, and the last one."""
    for key, (name, label) in _BEDS.items():
        values = found.by_name[name].values
        last = next((v for v in reversed(values) if math.isfinite(v)), math.nan)
        for word, value in (("baseline", values[0]), ("last", last)):
            if math.isfinite(value):
                ledger.put(
                    f"record.{word}_{key}", value, "bar", f"{label}, {word}", method="as read"
                )
                ledger.rests(f"record.{word}_{key}", "record.readings")


def enter_baseline_sheet(ledger: Ledger, base: Reading, left_out: Collection[str] = ()) -> None:
    """Enter the gauges of the baseline, and the record sheet with them.

    ``left_out`` are gauges that the site does not have; one that was read is shown all the same.
    """
    known: dict[str, tuple[str, str]] = {}
    for gauge in gauges().values():
        if gauge.key not in base.values or gauge.key in _COUNTERS:
            continue
        stem, value = f"record.new_{gauge.key}", base.get(gauge.key)
        label = f"{gauge.label}, when new"
        known[gauge.key] = stem, stem
        ledger.put(stem, value, gauge.unit, label, origin="measured", evidence="read on site")
        if gauge.unit == "m3/h":
            known[gauge.key] = f"{stem}_l_min", f"{stem}_gpm"
            ledger.law(f"{stem}_l_min", flow_l_min, flow_m3_h=stem, label=label)
            ledger.law(f"{stem}_gpm", flow_gpm, flow_m3_h=stem, label=label)
    enter_record_sheet(ledger, known, frozenset(left_out) - set(base.values))


@cites("RECORD_STATISTICS", "running median of five readings")
def running_median(values: Sequence[float]) -> tuple[float, ...]:
    """Return the median of each value and the four read before it, NaN until two were read.

    Parameters
    ----------
    values : sequence of float
        Readings in order. [any]

    Returns
    -------
    tuple of float
        Medians. [any]
    """
    found = []
    for i in range(len(values)):
        near = [v for v in values[max(0, i - RUNNING + 1) : i + 1] if math.isfinite(v)]
        found.append(median(near) if len(near) > 1 else math.nan)
    return tuple(found)


def enter_trends(ledger: Ledger, found: Tracks) -> None:
    """Enter the tables behind the trend charts: days since the baseline, and values."""
    base, first = found.readings[0], found.normalised[0]
    days = [(r.when - base.when).total_seconds() / SECONDS_PER_DAY for r in found.readings]
    flow = [_share(n.flow_m3_h, first.flow_m3_h) for n in found.normalised]
    passage = [_share(n.passage, first.passage) for n in found.normalised]
    _table(
        ledger,
        ("membranes", "Membranes, percent of the baseline"),
        days,
        {
            ("flow_pct", "%", "Product flow, median of five"): running_median(flow),
            ("passage_pct", "%", "Salt passage, median of five"): running_median(passage),
            ("flow_each_pct", "%", "Product flow, each reading"): flow,
            ("passage_each_pct", "%", "Salt passage, each reading"): passage,
        },
    )
    beds = {
        (f"{key.removesuffix('_drop_bar')}_bar", "bar", label): found.by_name[name].values
        for key, (name, label) in _BEDS.items()
        if any(math.isfinite(v) for v in found.by_name[name].values)
    }
    if beds:
        _table(ledger, ("beds", "Pressure drops of filter beds, each reading"), days, beds)
    drops = {
        ("first_bar", "bar", "First stage"): [n.drop_first_bar for n in found.normalised],
        ("last_bar", "bar", "Last stage"): [n.drop_last_bar for n in found.normalised],
        ("cartridge_bar", "bar", "Cartridge"): [n.cartridge_bar for n in found.normalised],
    }
    _table(
        ledger,
        ("drops", "Pressure drops, running median of five readings"),
        days,
        {head: running_median(values) for head, values in drops.items()},
    )
    _table(ledger, ("each_drop", "Pressure drops, each reading"), days, drops)
    _table(
        ledger,
        ("pretreatment", "Hardness and iron behind the pretreatment"),
        days,
        {
            ("hardness_mg_l_caco3", "mg/L as CaCO3", "Hardness"): [
                r.get("soft_hardness_mg_l_caco3") for r in found.readings
            ],
            ("iron_mg_l", "mg/L", "Iron"): [r.get("iron_out_mg_l") for r in found.readings],
        },
    )


def _share(value: float, new: float) -> float:
    return 100.0 * value / new if new > 0.0 else math.nan


def _table(
    ledger: Ledger,
    name: tuple[str, str],
    days: Sequence[float],
    columns: Mapping[tuple[str, str, str], Sequence[float]],
) -> None:
    heads = tuple(columns)
    rows: tuple[tuple[Value, ...], ...] = tuple(
        (day, *(finite(values[i]) for values in columns.values())) for i, day in enumerate(days)
    )
    ledger.table(
        Series(
            f"record.trend_{name[0]}",
            name[1],
            ("days", *(h[0] for h in heads)),
            ("d", *(h[1] for h in heads)),
            rows,
            method=_HOW,
            cites=citations(standard_flow, standard_salt_passage, running_median),
            headings=("Days since baseline", *(h[2] for h in heads)),
        )
    )
