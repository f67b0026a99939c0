"""Several analyses of one site, from the report to the recovery limit and the interval.

The report `seasons.csv` is invented. Hardness by calculation: SM 2340 B, 2.497 Ca + 4.118 Mg.
"""

import json
from pathlib import Path

import pytest

from pretreat.core.results import to_json
from pretreat.lab import read_design_water, read_site_samples
from pretreat.lab.samples.site_samples import place_in
from pretreat.report import text_check, write_workbook
from pretreat.stages.site import design_from
from pretreat.study import run_check, run_study

REPORT = Path(__file__).parent / "seasons.csv"
HARDNESS = {"S1": 2.497 * 104 + 4.118 * 30, "S3": 2.497 * 128 + 4.118 * 38}
PER_MG_IRON_LEFT = 0.1 * 100.09 / 55.845 + 0.05 * 100.09 / 54.938  # both divalent, as CaCO3


def site(**water):
    machine = {"product_flow": "1.6 m3/h", "recovery": 0.65, "hours_per_day": 16}
    soft = {"include": True}  # else an inhibitor would be chosen
    tables = {"water": {"analysis": REPORT.name, **water}, "machine": machine, "softener": soft}
    return design_from(tables, REPORT.parent)


def study_of(mode="size", **water):
    design = site(**water)
    chosen, samples = read_design_water(design.water)
    return run_study(chosen, design, mode, samples)


@pytest.fixture(scope="module")
def study():
    return study_of()


def test_samples_of_another_well_stay_out():
    found = read_site_samples(REPORT)
    assert [w.sample for w in found.repeated] == ["S1", "S2", "S3", "S4"]
    assert found.chosen.sample == "S1"
    codes = {flag.code: flag.text for flag in found.chosen.flags}
    assert "Well 3" in codes["several_sites"]
    other = read_site_samples(REPORT, sample="S5")
    assert [w.sample for w in other.repeated] == ["S5"]


@pytest.mark.parametrize(
    ("name", "place"),
    [
        ("Well 2, June", "well 2"), ("well no. 2 (winter)", "well 2"), ("Brunnen B", "brunnen b"),
        ("Pozo 14", "pozo 14"), ("WELL 3A 2031", "well 3a"), ("June 2031", ""), ("S1", ""),
        ("Well water", ""),
    ],
)  # fmt: skip
def test_place_in_the_name_of_a_sample(name, place):
    assert place_in(name) == place


def test_samples_without_a_site_are_said_to_be_assumed_one(tmp_path):
    report = tmp_path / "r.csv"
    report.write_text("Sample,pH,Ca (mg/L),Cl (mg/L)\nA,7.1,80,20\nB,7.3,90,25\n")
    found = read_site_samples(report)
    assert len(found.repeated) == 2
    assert any(flag.code == "one_site_assumed" for flag in found.chosen.flags)


def test_wells_side_by_side_are_not_one_site(tmp_path):
    report = tmp_path / "r.csv"
    report.write_text("Parameter,Unit,Well 1,Well 2\npH,-,7.1,7.4\nCalcium,mg/L,80,140\n"
                      "Chloride,mg/L,20,200\n")  # fmt: skip
    found = read_site_samples(report)
    assert len(found.repeated) == 1
    assert any(flag.code == "several_sites" for flag in found.chosen.flags)


def test_one_name_on_several_dates_is_one_site(tmp_path):
    report = tmp_path / "r.csv"
    rows = ["K7,2031-01-05,80,9", "K7,2031-06-05,90,8", "K9,2031-06-05,300,7"]
    report.write_text("Sample,Date,Ca (mg/L),Mg (mg/L)\n" + "\n".join(rows) + "\n")
    assert [w.mg_l["ca"] for w in read_site_samples(report).repeated] == [80, 90]


def test_check_shows_the_range():
    found = read_site_samples(REPORT)
    study = run_check(found.chosen, samples=found.repeated)
    assert study.value("samples.count") == 4
    assert study.value("samples.ca_min_mg_l") == 98
    assert study.value("samples.ca_median_mg_l") == 107
    assert study.value("samples.ca_max_mg_l") == 128
    assert study.value("samples.ca_percentile_mg_l") == pytest.approx(110 + 0.7 * 18)
    assert study["samples.ba_min_mg_l"].value is None
    assert study["samples.ba_min_mg_l"].below == 0.05
    assert study.value("samples.ph_max") == 7.5
    rows = {row[0]: row for row in study.series["samples.ranges"].rows}
    assert rows["Calcium"][-2:] == ("S4", "S3")
    assert rows["Barium"][2] == "< 0.05"


def test_one_sample_has_no_range():
    found = read_site_samples(REPORT, sample="S5")
    study = run_check(found.chosen, samples=found.repeated)
    assert not any(key.startswith("samples.") for key in study.figures)


def test_each_sample_goes_through_the_train(study):
    each = {row[0]: row for row in study.series["samples.each"].rows}
    assert set(each) == {"S1", "S2", "S3", "S4"}
    assert each["S1"][2] == pytest.approx(HARDNESS["S1"], rel=1e-3)
    interval = {name: row[9] for name, row in each.items()}
    load = {name: h + PER_MG_IRON_LEFT for name, h in HARDNESS.items()}
    assert interval["S1"] / interval["S3"] == pytest.approx(load["S3"] / load["S1"], rel=2e-3)


def test_the_sample_designed_for_gives_the_figures_of_the_study(study):
    row = next(r for r in study.series["samples.each"].rows if r[0] == "S1")
    assert row[5] == pytest.approx(study.number("untreated.recovery.max"), rel=1e-9)
    assert row[7] == pytest.approx(study.number("recovery.max"), rel=1e-9)
    assert row[9] == pytest.approx(study.number("softener.interval_d"), rel=1e-9)
    assert row[10] == pytest.approx(study.number("iron_filter.interval_governing_d"), rel=1e-9)


def test_a_sample_passes_the_bypass_and_the_feeds_of_the_train_too():
    stages = (
        "raw_tank",
        "permanganate",
        "iron_filter",
        "softener",
        "bypass",
        "carbon",
        "cartridge",
    )
    tables = {"water": {"analysis": REPORT.name}, "train": {"stages": list(stages)},
              "machine": {"product_flow": "1.6 m3/h", "recovery": 0.65, "hours_per_day": 16},
              "bypass": {"share": 0.1}}  # fmt: skip
    design = design_from(tables, REPORT.parent)
    chosen, samples = read_design_water(design.water)
    study = run_study(chosen, design, "size", samples)
    row = next(r for r in study.series["samples.each"].rows if r[0] == "S1")
    assert row[7] == pytest.approx(study.number("recovery.max"), rel=1e-9)
    assert row[9] == pytest.approx(study.number("softener.interval_d"), rel=1e-9)


def test_the_extremes_name_their_sample(study):
    assert study.value("samples.softener_interval_lowest_sample") == "S3"
    assert study.value("samples.softener_interval_highest_sample") == "S4"
    low, high = (study.number(f"samples.recovery_max_{end}") for end in ("lowest", "highest"))
    assert 0 < low < high <= 0.95


def test_a_programme_too_long_for_a_season_is_flagged(study):
    flags = {flag.code: flag.text for flag in study.flags}
    assert "S3" in flags["season_limits_interval"]
    assert "coldest_temperature_c" in flags["season_temperature"]


def test_an_envelope_is_explained_and_as_severe_as_the_worst_sample():
    study = study_of(design_water="envelope")
    flags = {flag.code: flag for flag in study.flags}
    assert flags["design_envelope"].level == "caution"
    assert "no water that was ever sampled" in flags["design_envelope"].text
    assert study.value("water.ca_mg_l") == 128
    assert study.value("water.ba_mg_l") == 0.08
    assert study.number("softener.interval_d") <= (
        study.number("samples.softener_interval_lowest_d") + 1e-9
    )


def test_percentile_and_severe_sample():
    assert study_of(design_water="percentile", percentile=50).value("water.ca_mg_l") == 107
    severe = study_of(design_water="severe sample", percentile=100)
    assert severe.value("water.sample") == "S3"
    assert any(flag.code == "design_sample" for flag in severe.flags)


def test_a_sample_that_the_train_cannot_take_is_named(tmp_path):
    text = REPORT.read_text().replace("S3,Well 2,2031-07-20,7.2,16,128,38,92,4.6,2.3",
                                      "S3,Well 2,2031-07-20,7.2,16,128,38,92,4.6,1.9")  # fmt: skip
    report = tmp_path / REPORT.name
    report.write_text(text)
    design = design_from({"water": {"analysis": REPORT.name},
                          "machine": {"product_flow": "1 m3/h", "recovery": 0.6,
                                      "hours_per_day": 8},
                          "softener": {"include": True},
                          "iron_filter": {"include": False}}, tmp_path)  # fmt: skip
    low = text.replace("7.3,11,104,30,86,4.1,1.4,0.20", "7.3,11,104,30,86,4.1,0.2,0.20")
    report.write_text(low)
    chosen, samples = read_design_water(design.water)
    study = run_study(chosen, design, "size", samples)
    text = " ".join(f.text for f in study.flags if f.code == "sample_beyond_train")
    assert "S3" in text
    assert "iron filter" in text


def test_terminal_json_and_workbook_show_the_samples(tmp_path, study):
    found = read_site_samples(REPORT)
    checked = run_check(found.chosen, samples=found.repeated)
    assert "Range of 4 analyses of this site" in text_check(checked)
    assert json.loads(to_json(checked))["figures"]["samples.so4_max_mg_l"]["value"] == 140
    path = write_workbook(study, tmp_path / "x.xlsx")
    from openpyxl import load_workbook

    book = load_workbook(path, read_only=True)
    assert "Samples" in book.sheetnames
    cells = {cell for row in book["Samples"].iter_rows(values_only=True) for cell in row}
    assert {"S1", "S3", 140} <= cells
