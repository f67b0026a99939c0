"""The record of a running site as a study: readings, normalised values, trends and findings."""

import math
from collections.abc import Sequence

from pretreat.basis import Flag, Series, Value, citations
from pretreat.errors import DesignError
from pretreat.membrane.pressure import OsmoticCurve, standard_flow, standard_salt_passage
from pretreat.membrane.setpoints import FlowsRead, doubtful_flows, flow_settings
from pretreat.record.book import Book
from pretreat.record.day import day_of
from pretreat.record.findings import Finding, findings
from pretreat.record.pretreatment_rules import salt_per_regeneration_kg
from pretreat.record.readings import Reading, gauges
from pretreat.record.reference import Reference
from pretreat.record.signs import SECONDS_PER_DAY, Tracks, tracks
from pretreat.results import Ledger, Study

NEEDED = ("machine.product_flow_m3_h", "machine.recovery")
ASSUMED_TEMP_C = 25.0
KPA_PER_US_CM = 0.042  # MEMORY: NaCl 0.034 mol/kg has 160.6 kPa and about 3.8 mS/cm
HIGHEST_FACTOR = 20.0
SHOWN = 12  # readings in the table on paper; the trend tables hold all


def run_record(book: Book, job: Study) -> Study:
    """Judge a record against the job of the site.

    Parameters
    ----------
    book : Book
        Readings and damaged lines. [-]
    job : Study
        Study of the site, sized or rated, with its set points. [-]

    Returns
    -------
    Study
        Readings, normalised values, trends and findings. [-]

    Raises
    ------
    DesignError
        If the job lacks the flows of the machine.
    """
    ledger = Ledger()
    ledger.put("study.kind", "record", "-", "Kind of study", origin="chosen")
    name = job.value("site.name")
    if isinstance(name, str):
        ledger.put("site.name", name, "-", "Site", origin="chosen")
    reference = reference_of(job, book.readings, ledger)
    _enter_book(ledger, book)
    _enter_slips(ledger, book.readings, reference)
    _enter_readings(ledger, book.readings)
    found = tracks(book.readings, reference)
    if found is None:
        text = ("no reading is complete, so there is no baseline: read "
                + ", ".join(g.label.lower() for g in gauges().values() if g.baseline)
                + " at one time")  # fmt: skip
        ledger.flag(Flag("no_baseline", "caution", text))
        return ledger.study()
    _enter_trends(ledger, found, reference)
    _enter_findings(ledger, findings(book.readings, reference))
    return ledger.study()


def reference_of(job: Study, readings: Sequence[Reading], ledger: Ledger) -> Reference:
    """Return what the readings are judged against; say in the ledger what was assumed.

    Parameters
    ----------
    job : Study
        Study of the site. [-]
    readings : sequence of Reading
        Readings by date. [-]
    ledger : Ledger
        Where flags go. [-]

    Returns
    -------
    Reference
        Design of the site. [-]

    Raises
    ------
    DesignError
        If the job lacks the flows of the machine.
    """
    product, recovery = (job.number(key) for key in NEEDED)
    if product is None or recovery is None:
        raise DesignError("the study of the site has no product flow or recovery: run size first")
    return Reference(
        curve=_curve(job, readings, ledger),
        product_m3_h=product,
        recovery=recovery,
        recycle_m3_h=job.number("machine.recycle_flow_m3_h") or 0.0,
        leakage_mg_l_caco3=job.number("softener.leakage_mg_l_caco3"),
        iron_left_mg_l=job.number("iron_filter.iron_left_mg_l"),
        raw_hardness_mg_l_caco3=job.number("water.hardness_mg_l_caco3"),
        meter_setting_m3=job.number("softener.meter_setting_m3"),
        salt_per_regeneration_kg=job.number("softener.salt_kg_per_regeneration"),
    )


def _curve(job: Study, readings: Sequence[Reading], ledger: Ledger) -> OsmoticCurve:
    series, temp = job.series.get("settings.osmotic"), job.number("settings.osmotic_temp_c")
    if series is not None and temp is not None:
        factors, kpa = ([float(v or 0.0) for v in series.column(c)] for c in ("factor", "kpa"))
        return OsmoticCurve(tuple(factors), tuple(kpa), temp)
    base = next((r for r in readings if r.complete), None)
    feed = 0.0 if base is None else KPA_PER_US_CM * base.get("feed_conductivity_us_cm")
    text = ("the water's chemistry is not known: its osmotic pressure is taken from the feed "
            "conductivity of the baseline as if all salt were sodium chloride")  # fmt: skip
    ledger.flag(Flag("osmotic_from_conductivity", "caution", text))
    return OsmoticCurve((1.0, HIGHEST_FACTOR), (feed, HIGHEST_FACTOR * feed), ASSUMED_TEMP_C)


def _enter_book(ledger: Ledger, book: Book) -> None:
    ledger.put("record.readings", len(book.readings), "-", "Readings", origin="measured")
    ledger.put("record.damaged_lines", len(book.damaged), "-", "Damaged lines, kept, not used",
               origin="measured")  # fmt: skip
    for bad in book.damaged:
        ledger.flag(Flag("damaged_line", "warning",
                         f"line {bad.line} of the record {bad.why}; it is kept and not used: "
                         f"{bad.text[:60]}", "record.damaged_lines"))  # fmt: skip


def _none(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _enter_slips(ledger: Ledger, readings: Sequence[Reading], reference: Reference) -> None:
    usual = flow_settings(reference.product_m3_h, reference.recovery, reference.recycle_m3_h)
    for taken in readings:
        read = FlowsRead(
            *(_none(taken.get(f"{k}_flow_m3_h")) for k in ("feed", "product", "drain"))
        )
        for text in doubtful_flows(read, usual):
            ledger.flag(Flag("unit_slip", "warning", f"{_stamp(taken)}: {text}"))


def _stamp(taken: Reading) -> str:
    return taken.when.strftime("%Y-%m-%d %H:%M")


def _enter_readings(ledger: Ledger, readings: Sequence[Reading]) -> None:
    last = readings[-SHOWN:]
    keys = [k for k in gauges() if any(k in r.values for r in last)]
    rows = tuple(
        (gauges()[k].label, gauges()[k].unit, *(_none(r.get(k)) for r in last)) for k in keys
    )
    ledger.table(
        Series("record.last", "The last readings", ("gauge", "unit", *(f"r{r.line}" for r in last)),
               ("-", "-", *("" for _ in last)), rows, method="as read",
               headings=("Gauge", "Unit", *(_stamp(r) for r in last)))
    )  # fmt: skip


def _enter_trends(ledger: Ledger, found: Tracks, reference: Reference) -> None:
    base, last = found.readings[0], found.normalised[-1]
    first = found.normalised[0]
    ledger.put("record.baseline", _stamp(base), "-", "Baseline: the first complete reading",
               origin="measured")  # fmt: skip
    cites = citations(standard_flow, standard_salt_passage)
    how = "brought to temperature, pressures and recovery of the baseline"
    for key, attribute, unit, label in (
        ("flow_m3_h", "flow_m3_h", "m3/h", "Normalised product flow"),
        ("salt_passage", "passage", "-", "Normalised salt passage"),
        ("drop_first_bar", "drop_first_bar", "bar", "Pressure drop, first stage, normalised"),
        ("drop_last_bar", "drop_last_bar", "bar", "Pressure drop, last stage, normalised"),
        ("drop_bar", "drop_bar", "bar", "Pressure drop along the membranes, normalised"),
        ("cartridge_bar", "cartridge_bar", "bar", "Pressure drop of the cartridge"),
    ):
        for word, state in (("baseline", first), ("last", last)):
            value = float(getattr(state, attribute))
            if math.isfinite(value):
                ledger.put(f"record.{word}_{key}", value, unit, f"{label}, {word}", method=how,
                           cites=cites, origin="calculated")  # fmt: skip
    _enter_trend_tables(ledger, found, how, cites)
    salt = salt_per_regeneration_kg(day_of(found, len(found.readings), reference))
    if salt is not None:
        ledger.put("record.salt_kg_per_regeneration", salt, "kg", "Salt used per regeneration",
                   origin="measured")  # fmt: skip


def _enter_trend_tables(ledger: Ledger, found: Tracks, how: str, cites: tuple[str, ...]) -> None:
    """Enter the tables behind the trend charts: days since the baseline, percent of it."""
    base = found.readings[0]
    days = [(r.when - base.when).total_seconds() / SECONDS_PER_DAY for r in found.readings]
    first = found.normalised[0]

    def share(value: float, new: float) -> Value:
        return _none(100.0 * value / new) if new > 0.0 else None

    ledger.table(
        Series("record.trend_membranes", "Membranes, percent of the baseline",
               ("days", "flow_pct", "passage_pct"), ("d", "%", "%"),
               tuple((d, share(n.flow_m3_h, first.flow_m3_h), share(n.passage, first.passage))
                     for d, n in zip(days, found.normalised, strict=True)), method=how, cites=cites,
               headings=("Days since baseline", "Normalised product flow",
                         "Normalised salt passage"))
    )  # fmt: skip
    ledger.table(
        Series("record.trend_drops", "Pressure drops, normalised",
               ("days", "first_bar", "last_bar", "cartridge_bar"), ("d", "bar", "bar", "bar"),
               tuple((d, _none(n.drop_first_bar), _none(n.drop_last_bar), _none(n.cartridge_bar))
                     for d, n in zip(days, found.normalised, strict=True)), method=how, cites=cites,
               headings=("Days since baseline", "First stage", "Last stage", "Cartridge"))
    )  # fmt: skip
    ledger.table(
        Series("record.trend_pretreatment", "Hardness and iron behind the pretreatment",
               ("days", "hardness_mg_l_caco3", "iron_mg_l"), ("d", "mg/L as CaCO3", "mg/L"),
               tuple((d, _none(r.get("soft_hardness_mg_l_caco3")), _none(r.get("iron_out_mg_l")))
                     for d, r in zip(days, found.readings, strict=True)), method="as read",
               headings=("Days since baseline", "Hardness", "Iron"))
    )  # fmt: skip


def _enter_findings(ledger: Ledger, found: Sequence[Finding]) -> None:
    standing = [f for f in found if f.standing]
    ledger.put("record.findings", len(standing), "-", "Findings that stand today")
    ledger.table(
        Series("record.findings", "What has changed, and what it means",
               ("finding", "what", "words"), ("-", "-", "-"),
               tuple(row for f in found for row in _finding_rows(f)),
               method="levels of the last readings against the first, beyond their noise",
               cites=("RECORD_STATISTICS", "PRACTICE"), headings=("Finding", "What", "In words"))
    )  # fmt: skip
    for f in standing:
        ledger.flag(Flag(f"finding_{f.key}", "warning",
                         f"{f.name} since {f.first:%Y-%m-%d}: {'; '.join(f.evidence)}. First look: "
                         f"{f.following[0]}", "record.findings"))  # fmt: skip


def _finding_rows(f: Finding) -> tuple[tuple[Value, ...], ...]:
    """Return a finding as rows: a cause and a thing to look at each has a row of its own."""
    stands = "stands" if f.standing else "no longer seen"
    return (
        (f.name, "since", f"{f.first:%Y-%m-%d}, {stands}"),
        *(("", "seen", text) for text in f.evidence),
        *(("", f"cause {n}", text) for n, text in enumerate(f.causes, start=1)),
        *(("", "look at", text) for text in f.following),
        ("", "usual", f"{f.usual} (common practice)"),
    )
