"""A and B of the elements as figures: new, at the baseline, last, and what has moved."""

import math
from collections.abc import Iterator

from pretreat.core.basis import Flag, Series, Value, citations
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.membrane.elements.march import march
from pretreat.membrane.elements.permeability import ion_classes
from pretreat.record.fitted.fits import Fits, ReadingFit
from pretreat.record.fitted.gauges_of_fit import water_of_the_day
from pretreat.record.fitted.laws import moved_pct, permeability_of_class_lmh
from pretreat.record.fitted.meaning import DAYS_PER_YEAR, Movement, meaning

WATER, SALT, DROP = (
    "water_permeability_lmh_bar",
    "salt_permeability_lmh",
    "drop_factor",
)
WORDS = {
    WATER: "Water permeability A at 25 °C",
    SALT: "Salt permeability B of sodium chloride at 25 °C",
    DROP: "Pressure drop along the elements over the calculated one",
}
UNMOVED = "unmoved"
UNITS = {WATER: "L/(m2·h·bar)", SALT: "L/(m2·h)", DROP: "-"}


def enter_fits(ledger: Ledger, fits: Fits) -> None:
    """Enter the coefficients, how they moved and what it means; flags are the caller's."""
    rests = [key for key in ("record.readings", "machine.elements") if key in ledger]
    for name, one in (("baseline", fits.baseline), ("last", fits.last)):
        if one is not None:
            _enter_one(ledger, name, one, rests)
    _enter_new(ledger, fits)
    if fits.baseline is not None:
        for key in (WATER, SALT):
            _enter_moved(ledger, key, "baseline", "new")
    if fits.baseline is not None and fits.last is not None:
        errors = [one.drop_error for one in (fits.baseline, fits.last)]
        known = [error for error in errors if error is not None]
        drop_error = math.hypot(*known) if len(known) == len(errors) else None
        for key in (WATER, SALT, *((DROP,) if drop_error is not None else ())):
            _enter_moved(ledger, key, "last", "baseline")
        _enter_meaning(ledger, fits, drop_error)
    if fits.newest is not None:
        _enter_classes(ledger, fits)


def _enter_new(ledger: Ledger, fits: Fits) -> None:
    for key, value in ((WATER, fits.new.water_lmh_bar), (SALT, fits.new.salt_lmh)):
        own = key in fits.given
        ledger.put(
            f"fit.new_{key}",
            float(value),
            UNITS[key],
            f"{WORDS[key]}, of the element as new",
            origin="chosen" if own else "assumed",
            evidence="computed" if own else "common practice",
            method="the site file" if own else "usual value, not that of this element",
            cites=() if own else ("PRACTICE",),
        )


def _enter_one(ledger: Ledger, name: str, one: ReadingFit, rests: list[str]) -> None:
    ledger.put(
        f"fit.{name}_reading",
        one.stamp,
        "-",
        f"Reading that the elements are fitted to, {name}",
        origin="measured",
        evidence="read on site",
    )
    known = one.membrane
    values = [(WATER, known.water_lmh_bar), (SALT, known.salt_lmh)]
    values += [(DROP, known.drop_factor)] if one.drop_error is not None else []
    values.append(("feed_salt_share", one.salt_share))
    words = {**WORDS, "feed_salt_share": "Salt of the feed over that of the analysis"}
    for key, value in values:
        ledger.put(
            f"fit.{name}_{key}",
            float(value),
            UNITS.get(key, "-"),
            f"{words[key]}, {name}",
            method="march along the elements, to pressure, flows and conductivities as read",
            cites=citations(march, water_of_the_day),
        )
        ledger.rests(f"fit.{name}_{key}", *rests)


def _enter_moved(ledger: Ledger, key: str, now: str, before: str) -> None:
    """Enter a movement in percent."""
    short = {WATER: "water", SALT: "salt", DROP: "drop"}[key]
    ledger.law(
        f"fit.{now}_{short}_moved_pct",
        moved_pct,
        now=f"fit.{now}_{key}",
        before=f"fit.{before}_{key}",
        label=f"{WORDS[key].partition(' at ')[0]}: {now} against {before}",
    )


def _enter_meaning(ledger: Ledger, fits: Fits, drop_error: float | None) -> None:
    def ratio(short: str) -> float:
        return 1.0 + (ledger.number(f"fit.last_{short}_moved_pct") or 0.0) / 100.0

    years = fits.days / DAYS_PER_YEAR
    read = drop_error is not None
    moved = Movement(
        ratio("water"), ratio("salt"), ratio("drop") if read else 1.0, years, drop_error or 0.0
    )
    found = meaning(moved)
    signs = [f"A {100.0 * (moved.water - 1.0):+.0f} %", f"B {100.0 * (moved.salt - 1.0):+.0f} %"]
    if read:
        shown = f"gauges ±{100.0 * moved.drop_error:.0f} %"
        signs.append(f"pressure drop {100.0 * (moved.drop - 1.0):+.0f} %, {shown}")
    look = f"; look: {found.look}" if found.look else ""
    since = f"{fits.days:.0f} days, by two readings"
    text = f"{found.name} ({', '.join(signs)} in {since}): {found.words}{look}"
    ledger.put(
        "fit.meaning",
        text,
        "-",
        "What the coefficients of the elements show",
        evidence="common practice",
        method="movement beyond what age explains, against the triggers of a cleaning",
        cites=citations(meaning),
    )
    inputs = [f"fit.last_{s}_moved_pct" for s in ("water", "salt", "drop")]
    ledger.rests("fit.meaning", *(k for k in inputs if k in ledger))
    if found.key != UNMOVED:
        ledger.flag(Flag("elements_moved", "caution", f"elements: {text}", "fit.meaning"))


def _enter_classes(ledger: Ledger, fits: Fits) -> None:
    ledger.table(
        Series(
            "fit.permeability",
            "Permeability of the elements by class, at 25 °C",
            ("what", "unit", "ratio", "new", "baseline", "last"),
            ("-", "-", "-", "", "", ""),
            tuple(_class_rows(fits)),
            method="one conductivity fits one B: the classes keep their ratio to sodium chloride",
            cites=citations(march, permeability_of_class_lmh),
            headings=("What passes", "Unit", "B / B of NaCl", "New", "Baseline", "Last"),
        )
    )


def _class_rows(fits: Fits) -> Iterator[tuple[Value, ...]]:
    states = [
        fits.new,
        *(None if one is None else one.membrane for one in (fits.baseline, fits.last)),
    ]
    waters = [None if m is None else float(m.water_lmh_bar) for m in states]
    salts = [None if m is None else float(m.salt_lmh) for m in states]
    yield ("Water (A)", UNITS[WATER], None, *waters)
    ratios: dict[float, list[str]] = {}
    fixed: list[tuple[str, float]] = []
    for key in fits.water.keys:
        own = ion_classes()[key]
        name = analytes()[key].name if key in analytes() else key
        if key in fits.new.salt_lmh_of:
            fixed.append((name, float(fits.new.salt_lmh_of[key])))
        elif own.kind == "absolute":
            fixed.append((name, own.value))
        else:
            ratios.setdefault(own.value, []).append(name)
    for ratio, names in sorted(ratios.items(), reverse=True):
        values = [None if b is None else permeability_of_class_lmh(ratio, b) for b in salts]
        yield (", ".join(names), UNITS[SALT], ratio, *values)
    for name, value in fixed:
        yield (f"{name} (not fitted)", UNITS[SALT], None, value, value, value)
