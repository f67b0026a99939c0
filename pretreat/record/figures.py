"""The record of a running site as a study: readings, normalised values, trends and findings."""

import datetime
import math
from collections.abc import Sequence

from msgspec.structs import replace

from pretreat.core.basis import Flag, Level, Series, Value, citations
from pretreat.core.errors import DesignError
from pretreat.core.results import Ledger, Study
from pretreat.membrane.gauges.pressure import OsmoticCurve
from pretreat.membrane.gauges.setpoints import FlowsRead, doubtful_flows, flow_settings
from pretreat.plant.cautions import cautions_on
from pretreat.plant.hand_sheets import enter_record_sheet, gauges_left_out
from pretreat.record.alarms import standing_alarms
from pretreat.record.day import day_of
from pretreat.record.findings import Finding, findings
from pretreat.record.fitted.figures import enter_fits
from pretreat.record.fitted.fits import fits_of
from pretreat.record.levels import needed
from pretreat.record.new_analysis import TwoWaters, enter_new_analysis
from pretreat.record.order import spoken
from pretreat.record.readings import Reading, baseline_of, gauges
from pretreat.record.reference import Reference
from pretreat.record.rules.regenerations import last_span, regenerations, regenerations_of
from pretreat.record.rules.salt import salt_per_regeneration_kg
from pretreat.record.signs import Tracks, tracks
from pretreat.record.slips import doubtful_values, usual_values
from pretreat.record.store.book import Book
from pretreat.record.tables import (
    enter_against_baseline,
    enter_baseline_sheet,
    enter_last_readings,
    enter_trends,
    finite,
    stamp,
)
from pretreat.site.design import DesignBasis

NEEDED = ("machine.product_flow_m3_h", "machine.recovery")
ASSUMED_TEMP_C = 25.0
KPA_PER_US_CM = 0.042  # MEMORY: NaCl 0.034 mol/kg has 160.6 kPa and about 3.8 mS/cm
HIGHEST_FACTOR = 20.0
DAYS_PER_YEAR = 365.0
LOOK_BACK = 20  # readings in which what is usual is looked for


def run_record(
    book: Book,
    job: Study,
    waters: TwoWaters | None = None,
    baseline: datetime.datetime | None = None,
    design: DesignBasis | None = None,
) -> Study:
    """Judge a record against the job of the site.

    Parameters
    ----------
    book : Book
        Readings and damaged lines. [-]
    job : Study
        Study of the site, sized or rated, with its set points. [-]
    waters : TwoWaters, optional
        The site with its old water and with a new analysis. [-]
    baseline : datetime, optional
        Time of the baseline; by default that of the first complete reading written. [-]
    design : DesignBasis, optional
        The engineer's choices; with its elements A and B are fitted to the readings. [-]

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
    if waters is not None:
        enter_new_analysis(ledger, waters)
    base = baseline_of(book.readings, baseline)
    reference = replace(reference_of(job, base, ledger), baseline=baseline)
    _enter_book(ledger, book)
    judged = [r for r in book.readings if base is None or r.when >= base.when]
    _enter_slips(ledger, judged, reference)
    enter_last_readings(ledger, book.readings)
    found = tracks(book.readings, reference)
    if found is None:
        text = (
            "no reading is complete, so there is no baseline: read "
            + ", ".join(spoken(g.key) for g in gauges().values() if g.baseline)
            + " at one time"
        )
        ledger.flag(Flag("no_baseline", "caution", text))
        _enter_alarms(ledger, book.readings, reference)
        enter_record_sheet(ledger, left_out=gauges_left_out(job))
        return ledger.study()
    _enter_early(ledger, book.readings, found.readings[0])
    enter_against_baseline(ledger, found)
    enter_trends(ledger, found)
    fits = None if design is None else fits_of(book.readings, design, job, baseline)
    if fits is not None:
        enter_fits(ledger, fits)
        ledger.flag(*fits.flags)
    enter_baseline_sheet(ledger, found.readings[0], gauges_left_out(job))
    _enter_regenerations(ledger, found, reference)
    told = findings(book.readings, reference)
    _enter_alarms(ledger, judged, reference, told)
    _enter_findings(ledger, told, _enter_too_few(ledger, found))
    return ledger.study()


def reference_of(job: Study, base: Reading | None, ledger: Ledger) -> Reference:
    """Return what the readings are judged against; say in the ledger what was assumed.

    Parameters
    ----------
    job : Study
        Study of the site. [-]
    base : Reading or None
        The baseline. [-]
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
        curve=_curve(job, base, ledger),
        product_m3_h=product,
        recovery=recovery,
        recycle_m3_h=job.number("machine.recycle_flow_m3_h") or 0.0,
        leakage_mg_l_caco3=job.number("softener.leakage_mg_l_caco3"),
        iron_left_mg_l=job.number("iron_filter.iron_left_mg_l"),
        raw_hardness_mg_l_caco3=job.number("water.hardness_mg_l_caco3"),
        meter_setting_m3=job.number("softener.meter_setting_m3"),
        salt_per_regeneration_kg=job.number("softener.salt_kg_per_regeneration"),
        usable_capacity_kg=job.number("softener.usable_capacity_kg_caco3"),
        load_mg_l_caco3=job.number("softener.hardness_load_mg_l_caco3"),
        regenerations_per_week=job.number("softener.regenerations_per_week"),
        hours_per_day=_hours_per_day(job),
    )


def _hours_per_day(job: Study) -> float | None:
    """Return hours of running per day of the calendar."""
    hours, days = job.number("machine.hours_per_day"), job.number("machine.days_per_year")
    return None if hours is None or days is None else hours * days / DAYS_PER_YEAR


def _curve(job: Study, base: Reading | None, ledger: Ledger) -> OsmoticCurve:
    series, temp = job.series.get("settings.osmotic"), job.number("settings.osmotic_temp_c")
    if series is not None and temp is not None:
        factors, kpa = ([float(v or 0.0) for v in series.column(c)] for c in ("factor", "kpa"))
        return OsmoticCurve(tuple(factors), tuple(kpa), temp)
    feed = 0.0 if base is None else KPA_PER_US_CM * base.get("feed_conductivity_us_cm")
    text = (
        "the water's chemistry is not known: its osmotic pressure is taken from the feed "
        "conductivity of the baseline as if all salt were sodium chloride"
    )
    if base is not None:
        ledger.flag(Flag("osmotic_from_conductivity", "caution", text))
    return OsmoticCurve((1.0, HIGHEST_FACTOR), (feed, HIGHEST_FACTOR * feed), ASSUMED_TEMP_C)


def _enter_book(ledger: Ledger, book: Book) -> None:
    ledger.put(
        "record.readings",
        len(book.readings),
        "-",
        "Readings",
        origin="measured",
        evidence="read on site",
    )
    ledger.put(
        "record.damaged_lines",
        len(book.damaged),
        "-",
        "Damaged lines, kept, not used",
        origin="measured",
        evidence="read on site",
    )
    for bad in book.damaged:
        ledger.flag(
            Flag(
                "damaged_line",
                "warning",
                f"line {bad.line} of the record {bad.why}; it is kept and not used: "
                f"{bad.text[:60]}",
                "record.damaged_lines",
            )
        )
    _enter_changes(ledger, book)
    _enter_struck(ledger, book)


def _enter_changes(ledger: Ledger, book: Book) -> None:
    """Say what was done to the file beside adding to it: taken out, doubled, saved anew."""
    for one in book.doubled:
        text = (
            f"line {one.taken.line} of the record says the same as line {one.first} of the same "
            "moment: it is used once"
        )
        ledger.flag(Flag("doubled_line", "caution", text))
    for number in book.missing:
        text = (
            f"lines are missing from the record before line {number}: what they said is lost; "
            "look for a copy of the file"
        )
        ledger.flag(Flag("deleted_line", "warning", text))
    if book.respelt:
        text = (
            f"{len(book.respelt)} lines of the record were saved anew by another program "
            "(separators, decimal commas or dates); all of them fit their check words and are used"
        )
        ledger.flag(Flag("saved_anew", "info", text))


def _enter_struck(ledger: Ledger, book: Book) -> None:
    for one in book.struck:
        why = f" ({one.why})" if one.why else ""
        text = f"the reading of {stamp(one.taken)} was struck{why}; it is kept and not used"
        ledger.flag(Flag("reading_struck", "info", f"line {one.taken.line}: {text}"))


def _enter_early(ledger: Ledger, readings: Sequence[Reading], base: Reading) -> None:
    """Name the readings that are dated before the baseline, and so are not judged."""
    early = [stamp(r) for r in readings if r.when < base.when]
    if early:
        level: Level = (
            "caution" if any(r.complete for r in readings if r.when < base.when) else ("info")
        )
        text = (
            f"{len(early)} reading{'s are' if len(early) > 1 else ' is'} dated before the "
            f"baseline of {stamp(base)} and not judged: {', '.join(early[:3])}; --baseline "
            "takes another complete reading for the baseline"
        )
        ledger.flag(Flag("before_baseline", level, text))


def _enter_alarms(
    ledger: Ledger,
    readings: Sequence[Reading],
    reference: Reference,
    found: Sequence[Finding] = (),
) -> None:
    """Say what is to be tested again at once, where no finding says so."""
    named = {f.key for f in found if f.standing}
    for taken, text in standing_alarms(readings, named, reference):
        ledger.flag(Flag("test_again", "warning", f"{stamp(taken)}: {text}"))


def _enter_slips(ledger: Ledger, readings: Sequence[Reading], reference: Reference) -> None:
    usual = flow_settings(reference.product_m3_h, reference.recovery, reference.recycle_m3_h)
    for i, taken in enumerate(readings):
        near = usual_values(readings[max(0, i - LOOK_BACK) : i], {})
        for text in doubtful_values(taken, near):
            if "looks like" in text:
                ledger.flag(Flag("unit_slip", "warning", f"{stamp(taken)}: {text}"))
        read = FlowsRead(
            *(finite(taken.get(f"{k}_flow_m3_h")) for k in ("feed", "product", "drain"))
        )
        for text in doubtful_flows(read, usual):
            ledger.flag(Flag("unit_slip", "warning", f"{stamp(taken)}: {text}"))


def _enter_regenerations(ledger: Ledger, found: Tracks, reference: Reference) -> None:
    salt = salt_per_regeneration_kg(day_of(found, reference))
    if salt is not None:
        ledger.put(
            "record.salt_kg_per_regeneration",
            salt,
            "kg",
            "Salt used per regeneration",
            origin="measured",
            evidence="read on site",
        )
    span = last_span(found.readings, reference)
    if not span:
        return
    last = regenerations_of(span, reference)
    ledger.put(
        "record.regeneration_days",
        last.days,
        "d",
        "Days over which regenerations are compared",
        origin="measured",
        evidence="read on site",
    )
    for key, value, unit, label in (
        ("treated_m3", last.treated_m3, "m3", "Water treated in that time"),
        ("regenerations_counted", last.counted, "-", "Regenerations counted"),
        ("regenerations_by_load", last.by_load, "-", "Regenerations due by hardness load"),
        ("regenerations_by_programme", last.by_programme, "-", "Regenerations by the programme"),
        ("regenerations_by_salt", last.by_salt, "-", "Regenerations the salt filled is enough for"),
    ):
        if value is not None:
            ledger.put(
                f"record.{key}",
                value,
                unit,
                label,
                cites=citations(regenerations),
                method="hours run x feed flow x hardness / usable capacity",
            )
            ledger.rests(f"record.{key}", "record.readings", "record.regeneration_days")


def _enter_too_few(ledger: Ledger, found: Tracks) -> str:
    """Say that the record is too short to judge the membranes; return it in words, or nothing."""
    flow = found.by_name["flow"]
    usable = [d for d, v in zip(flow.days, flow.values, strict=True) if math.isfinite(v)]
    wanted = needed(usable or [0.0])
    if len(usable) >= wanted:
        return ""
    text = (
        f"too few readings to tell a slow change of the membranes: {len(usable)} of {wanted} "
        "that show flows, pressures and temperature"
    )
    ledger.flag(Flag("too_few_readings", "info", text, "record.readings"))
    return text[0].upper() + text[1:]


def _enter_findings(ledger: Ledger, found: Sequence[Finding], too_few: str) -> None:
    standing = [f for f in found if f.standing]
    now = [f.text for f in ledger.study().flags if f.code == "test_again"]
    names = [*now, *(f"{f.name}, since {f.first:%Y-%m-%d}" for f in standing)]
    nothing = too_few or "Nothing that stands has moved beyond the noise of the gauges"
    verdict = "; ".join(names) or nothing
    ledger.put("summary.verdict", verdict, "-", "What the record shows")
    ledger.put("record.findings", len(standing), "-", "Findings that stand today")
    for key in ("summary.verdict", "record.findings"):
        ledger.rests(key, "record.readings")
    ledger.table(
        Series(
            "record.findings",
            "What has changed, and what it means",
            ("finding", "what", "words"),
            ("-", "-", "-"),
            tuple(row for f in found for row in _finding_rows(f)),
            method="levels of the last readings against the first, beyond their noise",
            cites=("RECORD_STATISTICS", "PRACTICE"),
            headings=("Finding", "What", "In words"),
        )
    )
    for f in standing:
        ledger.flag(
            Flag(
                f"finding_{f.key}",
                "warning",
                f"{f.name} since {f.first:%Y-%m-%d}: {'; '.join(f.evidence)}. First look: "
                f"{f.following[0]}",
                "record.findings",
            )
        )
    ledger.flag(*cautions_on({topic for f in standing for topic in f.safety}))


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
