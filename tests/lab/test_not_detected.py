"""What was looked for and not found is an answer: invented reports, so the answers are known."""

import pytest

from pretreat.core.results import Ledger
from pretreat.lab import read_analysis, write_analysis_csv
from pretreat.lab.judge.gaps import ask_the_lab
from pretreat.lab.read.wording import shown
from pretreat.lab.samples.ranges import ranges
from pretreat.lab.water_figures import enter_water, property_taken
from pretreat.site.design import WaterBasis
from pretreat.study import run_check

HEAD = "Parameter,Result,Unit\npH,7.2,\nTemperature,14,°C\nCalcium,90,mg/L\n"
UNSEEN = HEAD + (
    "Alkalinity,290,mg/L as CaCO3\nNitrate as N,<0.1,mg/L\nHydrogen sulfide,<0.02,mg/L\n"
    "Turbidity,<0.3,NTU\nFree chlorine,<0.05,mg/L\nTOC,ND,mg/L\n"
)


def read(tmp_path, text=UNSEEN, name="r.csv"):
    path = tmp_path / name
    path.write_text(text, "utf-8")
    return read_analysis(path)


def test_properties_not_detected_are_null_with_their_limit(tmp_path):
    study = run_check(read(tmp_path))
    for key, limit in (("h2s_mg_l", 0.02), ("turbidity_ntu", 0.3), ("free_chlorine_mg_l", 0.05)):
        figure = study.figures[f"water.{key}"]
        assert (figure.value, figure.below) == (None, limit)
        assert "non_detect" in figure.flags


def test_what_was_not_detected_is_not_asked_for(tmp_path):
    asked = {gap.analyte for gap in ask_the_lab(read(tmp_path))}
    assert not asked & {"h2s_mg_l", "turbidity_ntu", "free_chlorine_mg_l", "toc_mg_l"}
    assert {"sdi", "ba"} <= asked


def test_coarse_limit_of_sulfide_is_asked_for_again(tmp_path):
    """Resin and membranes take about 0.1 mg/L: common practice, no source."""
    water = read(tmp_path, HEAD + "Hydrogen sulfide,<0.5,mg/L\n")
    assert "hydrogen sulfide with a lower limit" in {gap.name for gap in ask_the_lab(water)}


def test_train_takes_a_share_of_the_limit(tmp_path):
    water = read(tmp_path)
    assert property_taken(water, "h2s_mg_l") == 0.01
    assert property_taken(water, "turbidity_ntu") == 0.3
    assert property_taken(water, "free_chlorine_mg_l") == 0
    assert property_taken(water, "sdi") is None


def test_written_and_read_again(tmp_path):
    water = read(tmp_path)
    write_analysis_csv(water, tmp_path / "again.csv")
    again = read_analysis(tmp_path / "again.csv")
    assert dict(again.below_properties) == dict(water.below_properties)


def test_range_counts_them_at_their_limit(tmp_path):
    seen = read(tmp_path, UNSEEN.replace("sulfide,<0.02", "sulfide,0.3"))
    (one,) = (r for r in ranges([read(tmp_path), seen]) if r.key == "h2s_mg_l")
    assert (one.minimum, one.maximum, one.count, one.detected) == (0.02, 0.3, 2, 1)


def test_flag_shows_sensible_digits_and_the_print(tmp_path):
    """0.1 mg/L as N is 0.443 mg/L as NO3 (62.004 / 14.007)."""
    (text,) = (f.text for f in run_check(read(tmp_path)).flags if f.text.startswith("nitrate"))
    assert "below 0.443 mg/L (printed '<0.1 mg/L as N')" in text
    assert "0.221 mg/L in the ion balance" in text


@pytest.mark.parametrize(
    ("value", "text"),
    [(500.0, "500"), (0.4426644, "0.4427"), (12345.6, "12346"), (0.00020, "0.0002"), (0.0, "0")],
)
def test_numbers_in_sentences_have_no_exponent(value, text):
    assert shown(value) == text


def test_hot_water_is_asked_about(tmp_path):
    """57 °F typed as °C; 40 to 49 °C is the usual limit of vessels: common practice."""
    water = read(tmp_path)
    for temp_c, told in ((57.0, True), (14.0, False)):
        ledger = Ledger()
        enter_water(ledger, water, WaterBasis(operating_temperature_c=temp_c))
        assert any(f.code == "hot_water" for f in ledger.study().flags) == told


@pytest.mark.parametrize(("unit", "ec"), [("µS", 950), ("mS", 950000), ("µS/cm", 950)])
def test_conductivity_without_per_cm(tmp_path, unit, ec):
    water = read(tmp_path, f"{HEAD}Conductivity,950,{unit}\n")
    assert water.properties["ec_us_cm"] == ec


def test_conductivity_in_ppm_is_told_what_to_write(tmp_path):
    water = read(tmp_path, HEAD + "Conductivity,950,ppm\n")
    assert "ec_us_cm" not in water.properties
    assert any("write it in µS/cm" in flag.text for flag in water.flags)
