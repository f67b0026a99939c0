"""More invented lab files with the quirks of real deliveries, and their right reading.

Each holds one water written in another way, so that its author knows the answers; conversions
as in the standard tables (as N x 4.4268, as CaCO3 / 50.04 per meq, EC at 20 °C x 1.116).
"""

import json
from pathlib import Path

import pytest

from pretreat.errors import AnalysisError
from pretreat.lab import read_analysis
from pretreat.lab.unit_words import is_unit

FILES = Path(__file__).parent / "files"
EXPECTED = json.loads((FILES / "expected_more.json").read_text("utf-8"))
HEAD = "Parameter,Result,Unit\n"


def found(water, name):
    if name in {"ph", "temperature_c", "alkalinity_mg_l_caco3"}:
        return getattr(water, name)
    if name.endswith("_total"):
        return water.total_mg_l.get(name.removesuffix("_total"))
    if name in water.below_mg_l:
        limit = water.below_mg_l[name]
        return "<?" if limit is None else ("<", limit)
    return water.mg_l.get(name, water.properties.get(name))


@pytest.mark.parametrize("name", sorted(EXPECTED["files"]))
def test_file_reads_as_its_author_meant(name):
    water = read_analysis(FILES / name)
    for analyte, answer in EXPECTED["files"][name].items():
        value, wanted = found(water, analyte), answer
        if isinstance(answer, str) and answer != "<?":
            assert value[0] == "<", analyte
            value, wanted = value[1], float(answer[1:])
        if isinstance(wanted, float | int):
            wanted = pytest.approx(wanted, rel=EXPECTED["tolerance_rel"])
        assert value == wanted, analyte


def read(tmp_path, text, name="r.csv"):
    path = tmp_path / name
    path.write_text(text, "utf-8")
    return read_analysis(path)


def codes(water):
    return {flag.code for flag in water.flags}


def test_statistics_are_no_samples(tmp_path):
    water = read_analysis(FILES / "statistics_below_samples.csv")
    assert water.samples == ("March", "June")
    assert "no_samples" in codes(water)
    only = read_analysis(FILES / "statistics_only.csv")
    assert only.samples[0] == "Average"
    assert "statistics_only" in codes(only)


def test_limits_are_no_samples():
    water = read_analysis(FILES / "limit_rows_among_samples.csv")
    assert water.samples == ("MW-1",)


def test_columns_of_other_units_are_the_same_sample():
    assert len(read_analysis(FILES / "german_mg_and_meq_columns.csv").samples) == 1
    assert len(read_analysis(FILES / "same_ion_in_three_units.csv").samples) == 1
    assert is_unit("mmol(eq)/l")


@pytest.mark.parametrize(
    "text",
    [
        HEAD + "Calcium,142,mg/L\nMagnesium,48,5,mg/L\nSodium,236,mg/L\n",
        "Parameter,Result\nCalcium,142\nMagnesium,48,5\nIron,0,31\npH,7,62\n",
        "Calcium,142,mg/L\nMagnesium,48,5,mg/L\nSodium,236,mg/L\n",
    ],
)
def test_a_decimal_comma_that_cuts_a_number_is_refused(tmp_path, text):
    with pytest.raises(AnalysisError, match="decimal comma"):
        read(tmp_path, text)


def test_a_comment_behind_the_headed_columns_is_no_decimal(tmp_path):
    water = read(tmp_path, HEAD + "Calcium,142,mg/L,ok\nMagnesium,48.5,mg/L\nSodium,9,mg/L,3,4\n")
    assert water.mg_l["ca"] == 142


def test_sulfate_as_sulfur_is_not_its_plural(tmp_path):
    water = read(tmp_path, HEAD + "Sulfate-S,132.8,mg/L\nCalcium,142,mg/L\n")
    assert water.mg_l["so4"] == pytest.approx(132.8 * 2.9959, rel=1e-3)
    assert read(tmp_path, HEAD + "Sulfates,398,mg/L\nCalcium,1,mg/L\n").mg_l["so4"] == 398


def test_t_in_fahrenheit_is_no_fluoride(tmp_path):
    water = read(tmp_path, "pH,T (F),Ca (mg/L),Mg (mg/L)\n7.6,57.6,142,48.5\n")
    assert water.temperature_c == pytest.approx(14.22, abs=0.01)
    assert "f" not in water.mg_l


def test_a_detection_beside_a_non_detect_is_flagged(tmp_path):
    water = read(tmp_path, HEAD + "Iron,<0.02,mg/L\nIron,0.31,mg/L\nCalcium,142,mg/L\n")
    assert water.mg_l["fe"] == 0.31
    assert "duplicate_results" in codes(water)


def test_the_unit_of_the_ions_is_not_that_of_a_temperature(tmp_path):
    text = "Parameter,mg/l\nTemperature,14.2\nCalcium,142\nMagnesium,48.5\n"
    water = read(tmp_path, text)
    assert water.temperature_c == 14.2
    assert "assumed_unit" in codes(water)
    with pytest.raises(AnalysisError, match="unit of temperature"):
        read(tmp_path, HEAD + "Temperature,14.2,mg/l\nCalcium,142,mg/L\n")
