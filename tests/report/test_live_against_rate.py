"""An input changed in the workbook gives what the program gives for the same change."""

import shutil
from pathlib import Path

import pytest
from msgspec.structs import replace

from pretreat.lab import read_analysis
from pretreat.report import write_workbook
from pretreat.report.workbook.bench import sentence
from pretreat.report.workbook.layout import ESTIMATE
from pretreat.report.workbook.marks import marks_of
from pretreat.report.workbook.pages import arrange
from pretreat.stages.site import read_site
from pretreat.study import run_study

SITE = Path(__file__).parents[2] / "water_analyses" / "quarrow_vale_installed.toml"
PRICED = SITE.with_name("quarrow_vale.toml")  # the same site with prices, invented
OUTPUTS = (
    "softener.load_kg_caco3_d",
    "softener.interval_d",
    "softener.programme_days",
    "softener.meter_setting_m3",
    "softener.salt_kg_per_regeneration",
    "softener.salt_kg_per_year",
    "softener.waste_m3_per_regeneration",
    "iron_filter.interval_d",
    "iron_filter.programme_days",
    "iron_filter.permanganate_g_per_regeneration",
    "media_life.softener_years_low",
    "media_life.softener_years_likely",
    "media_life.softener_years_high",
    "media_life.iron_filter_years_likely",
    "quote.consumables_per_year",
    "quote.replacement_total",
    "quote.media_per_year",
    "quote.media_per_year_low",
    "quote.media_per_year_high",
    "quote.cost_per_year",
    "quote.cost_per_m3",
    "quote.npv",
)
# What the Quote sheet itself shows, by the key behind it.
QUOTED = ("quote.consumables_per_year", "quote.replacement_total", "quote.media_per_year",
          "quote.cost_per_year", "quote.cost_per_m3", "quote.npv")  # fmt: skip
WITHIN = 0.005  # what the workbook promises against the program
# Input cell -> new value; how the same change is made in the design basis or the water.
CHANGES = {
    "machine.hours_per_day": (9.0, "machine"),
    "machine.recovery": (0.55, "machine"),
    "machine.days_per_year": (200.0, "machine"),
    "softener.reserve": (0.3, "softener"),
    "softener.salt_dose_g_l": (128.1, "softener"),
    "softener.capacity_factor": (0.8, "softener"),
    "iron_filter.permanganate_dose_g_l": (3.0, "iron_filter"),
    "water.ca_mg_l": (60.0, "water"),
    "softener.resin_filled_l": (170.0, "softener"),
    "prices.salt_per_kg": (0.61, "prices"),
    "prices.resin_per_l": (4.4, "prices"),
    "prices.labour_per_h": (75.0, "prices"),
    "prices.discount_rate": (0.08, "prices"),
}
NAMES = {"resin_filled_l": "resin_volume_l"}  # of the design basis, where the figure's differs


def changed(design, water, key):
    value, section = CHANGES[key]
    name = key.split(".")[1]
    name = NAMES.get(name, name)
    if section == "water":
        return design, replace(water, mg_l={**water.mg_l, "ca": value})
    return design.change(section, **{name: value}), water


def agree(shown, want):
    if want is None:  # no setting is short enough: the cell holds a word or nothing
        return not isinstance(shown, int | float)
    return isinstance(shown, int | float) and shown == pytest.approx(want, rel=WITHIN)


def quoted(book, label):
    """The amount beside a label on the quote."""
    sheet = book[ESTIMATE]
    rows = [r for r in sheet.iter_rows() if r[0].value == sentence(label)]
    return next(c.value for r in rows for c in r if isinstance(c.value, int | float))


def untrue_marks(book, study, places, expected):
    """Yield each cell that is marked live and is not what a new run gives, or is not marked stale."""
    for key, place in places.items():
        row = book[place.sheet][place.row + 1]
        mark, shown, want = str(row[0].value), row[place.column].value, None
        if key in expected.figures:
            want = expected.number(key)
        number = isinstance(shown, int | float) and want is not None
        same = shown == pytest.approx(want, rel=1e-6, abs=1e-12) if number else True
        if mark == "live" and not same:
            yield key, mark, shown, want
        if mark != "stale" and not mark.startswith(("live", "input")) and not same:
            yield key, mark, shown, want


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
@pytest.mark.parametrize(
    "part", [0, *(pytest.param(n, marks=pytest.mark.thorough) for n in range(1, 8))]
)
def test_changed_inputs_give_what_rate_gives(tmp_path, ci_script, part):
    """Every eighth change each time, the others with the thorough run."""
    design = replace(read_site(SITE), prices=read_site(PRICED).prices)
    water = read_analysis(design.water.analysis)
    study = run_study(water, design, "rate")
    places = arrange(study).places
    marks = marks_of(study, arrange(study))
    assert not [key for key in CHANGES if not marks.is_input(key)]
    path = write_workbook(study, tmp_path / "x.xlsx")
    jobs = {
        key: {(places[key].sheet, f"C{places[key].row + 1}"): value}
        for key, (value, _) in list(CHANGES.items())[part::8]
    }
    books = ci_script("check_workbook").recalculated_each(path, tmp_path, jobs)
    differences, untrue = [], []
    for key, book in books.items():
        other_design, other_water = changed(design, water, key)
        expected = run_study(other_water, other_design, "rate")
        untrue += [(key, *fault) for fault in untrue_marks(book, study, places, expected)]
        for output in OUTPUTS:
            shown = (
                book[places[output].sheet]
                .cell(places[output].row + 1, places[output].column + 1)
                .value
            )
            want = expected.number(output)
            if not agree(shown, want):
                differences.append((key, output, shown, want))
        for output in QUOTED:
            shown, want = quoted(book, expected[output].label), expected.number(output)
            if not agree(shown, want):
                differences.append((key, "on the quote: " + output, shown, want))
    assert not differences
    assert not untrue
