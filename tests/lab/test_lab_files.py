"""Fourteen invented lab files, each with the quirks of real deliveries, and their right reading."""

import json
from pathlib import Path

import pytest

from pretreat.lab import read_analysis, read_samples

FILES = Path(__file__).parent / "files"
EXPECTED = json.loads((FILES / "expected.json").read_text("utf-8"))
TOLERANCE = EXPECTED["tolerance_rel"]  # rounding of the printed results
PROPERTIES = {"ec_uS_cm": "ec_us_cm", "tds_mg_L": "tds_mg_l"}
# The warning a person must get, in the words of the answers, and the code of our flag.
WARNINGS = {
    "temperature missing": "not_measured",
    "field/lab pH differ by >0.3": "ph_field_lab",
    "NO3 cell is a date": "cell_is_date",
}


def found(water, name):
    if name == "pH":
        return water.ph
    if name == "temp_C":
        return water.temperature_c
    if name in PROPERTIES:
        return water.properties.get(PROPERTIES[name])
    return water.mg_l.get(name.lower())


@pytest.mark.parametrize("name", sorted(EXPECTED["files"]))
def test_file_reads_as_its_author_meant(name):
    answers = EXPECTED["files"][name]
    water = read_analysis(FILES / name)
    for analyte, value in answers["expected"].items():
        assert found(water, analyte) == pytest.approx(value, rel=TOLERANCE), analyte
    limits = {key.lower(): limit for key, limit in answers["nd"].items()}
    assert set(water.below_mg_l) == set(limits)
    for key, limit in limits.items():
        expected = None if limit is None else pytest.approx(limit, rel=TOLERANCE)
        assert water.below_mg_l[key] == expected, key
    assert len(water.samples) == answers.get("samples", 1)
    codes = {flag.code for flag in water.flags}
    for warning in answers["should_warn"]:
        assert WARNINGS[warning] in codes


def test_totals_are_kept_beside_dissolved():
    """Particulate iron and aluminium load the filter although they do not scale."""
    water = read_analysis(FILES / "14_total_and_dissolved.csv")
    extra = EXPECTED["files"]["14_total_and_dissolved.csv"]["extra"]
    assert water.total_mg_l["fe"] == extra["Fe_total"]
    assert water.total_mg_l["al"] == extra["Al_total"]
    assert water.dissolved_mg_l["fe"] == water.mg_l["fe"]


@pytest.mark.parametrize("name", sorted(EXPECTED["files"]))
def test_every_value_is_its_printed_number_times_its_factor(name):
    from pretreat.lab.read.numbers import printed_number
    from pretreat.lab.reading import read_report

    decimal = read_report(FILES / name).decisions.decimal
    for water in read_samples(FILES / name):
        for reading in water.readings:
            if reading.factor is not None and reading.value is not None:
                number = printed_number(reading.text, decimal).number
                assert number is not None
                assert reading.value == pytest.approx(reading.factor * number, rel=1e-12)


def test_second_sample_by_name():
    water = read_analysis(FILES / "26_excel_text_numbers_dates.xlsx", sample="B-02")
    assert water.below_mg_l["k"] == 1.0
    # The sheet's footnotes: "NO3 reported as N", "* as CaCO3".
    assert water.mg_l["no3"] == pytest.approx(1.1 * 4.4268, rel=1e-3)
    assert water.alkalinity_mg_l_caco3 == 262
    assert not any(flag.code == "assumed_unit" for flag in water.flags)


def test_same_result_twice_is_not_added():
    water = read_analysis(FILES / "02_wqx3_samples.csv")
    nitrates = [r for r in water.readings if r.analyte == "no3"]
    assert [r.used for r in nitrates].count(True) == 1
    assert len(nitrates) == 2


def test_not_measured_is_not_a_non_detect():
    """German "n.n." is not detected; "n.b." is not determined."""
    water = read_analysis(FILES / "05_german_cp1252.csv")
    assert "as" in water.below_mg_l
    assert any(f.code == "left_blank" or "Kupfer" not in f.text for f in water.flags)
