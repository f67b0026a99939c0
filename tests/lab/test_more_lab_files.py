"""More invented lab files with the quirks of real deliveries, and their right reading.

Each holds one water written in another way, so that its author knows the answers; conversions
as in the standard tables (as N x 4.4268, as CaCO3 / 50.04 per meq, EC at 20 °C x 1.116).
"""

import json
from pathlib import Path

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab import read_analysis
from pretreat.lab.read.unit_words import is_unit

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
    water = read(tmp_path, HEAD + "Temperature,14.2,mg/l\nCalcium,142,mg/L\n")
    assert water.temperature_c is None
    assert "row_dropped" in codes(water)


def test_the_unit_in_the_name_says_what_it_is_as(tmp_path):
    """as N x 1.2878 and 4.4268, Ca as CaCO3 x 0.4004, Si x 2.1393."""
    water = read(
        tmp_path,
        HEAD + "Ammonia (mg/L as N),0.1,mg/L\n\"Nitrate, mg/L N\",4.2,mg/L\n"
        "Calcium (mg/L as CaCO3),354.6,mg/L\nSilica (mg/L Si),13.275,mg/L\n"
        "Free chlorine (mg/L Cl2),0.2,mg/L\n",
    )  # fmt: skip
    assert water.mg_l["nh4"] == pytest.approx(0.12878, rel=1e-3)
    assert water.mg_l["no3"] == pytest.approx(18.592, rel=1e-3)
    assert water.mg_l["ca"] == pytest.approx(142, rel=1e-3)
    assert water.mg_l["sio2"] == pytest.approx(28.4, rel=1e-3)
    assert water.properties["free_chlorine_mg_l"] == 0.2
    assert "unit_conflict" not in codes(water)


def test_two_units_that_contradict_are_flagged(tmp_path):
    water = read(tmp_path, HEAD + "Iron (ug/L),310,mg/L\nCalcium,142,mg/L\n")
    assert any(f.code == "unit_conflict" and f.level == "warning" for f in water.flags)


def test_several_results_on_one_pasted_line(tmp_path):
    text = "North well\nCa 142 mg/l, Mg 48.5 mg/l, Na 236 mg/l\nCl 287 mg/l, SO4 398 mg/l\n"
    water = read(tmp_path, text, "r.txt")
    assert dict(water.mg_l) == {"ca": 142, "mg": 48.5, "na": 236, "cl": 287, "so4": 398}


def test_headings_below_headings_add_up(tmp_path):
    text = ("Parameter,Result\nTotal,\nMetals (ug/L),\nIron,310\nDissolved,\nMetals (ug/L),\n"
            "Iron,45\nCalcium,142000\nOthers (mg/L),\nChloride,287\n")  # fmt: skip
    water = read(tmp_path, text)
    assert water.mg_l["fe"] == pytest.approx(0.045)
    assert water.total_mg_l["fe"] == pytest.approx(0.31)
    assert water.mg_l["ca"] == pytest.approx(142)
    assert water.mg_l["cl"] == 287


def test_tables_one_below_the_other_are_samples_of_their_own(tmp_path):
    text = ("Sample ID: Well 1,,\nParameter,Result,Unit\nCalcium,142,mg/L\nSodium,236,mg/L\n,,\n"
            "Sample ID: Well 2,,\nParameter,Result,Unit\nCalcium,90,mg/L\nIron,2.5,mg/L\n")  # fmt: skip
    water = read(tmp_path, text)
    assert water.samples == ("Well 1", "Well 2")
    assert "fe" not in water.mg_l
    assert read_analysis(tmp_path / "r.csv", sample="Well 2").mg_l["fe"] == 2.5
