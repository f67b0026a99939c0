"""Sentences of the first page that have to be true: by the command.

Invented wells. That an ion balance is closed by taking any ion of its size away, that half of a
limit of detection is no result, and that well water is seldom above 35 °C: common practice, no
source. Limits of water for crops: FAO29, Table 1.
"""

import pytest

from tests.verdict.test_lime_ahead import run, value

WELL = {"pH (field)": "7.6,", "Temperature": "12,°C", "Calcium": "70,mg/L", "Magnesium": "17,mg/L"}
WELL |= {"Sodium": "48,mg/L", "Potassium": "3,mg/L", "Alkalinity as CaCO3": "215,mg/L"}
WELL |= {"Sulfate": "52,mg/L", "Chloride": "62,mg/L", "Nitrate as N": "3,mg/L", "Iron": "0.01,mg/L"}
WELL |= {"Manganese": "0.004,mg/L", "Conductivity": "720,µS/cm", "Ammonium": "0.05,mg/L"}
SOFTENED = '[train]\nstages = ["softener", "cartridge"]\n[softener]\nvessel = "24x72"\n'
SOFTENED += 'control = "meter"\nsalt_dose_g_l = 130\n'
RATED = ("rate", "site.toml")


def flags(study, code):
    return [flag["text"] for flag in study["flags"] if flag["code"] == code]


@pytest.mark.parametrize(
    "wrong", [{"Chloride": "119,mg/L"}, {"Sulfate": "133,mg/L"}, {"Sodium": "86,mg/L"}]
)
def test_no_culprit_is_named_that_contradicts_the_report(tmp_path, wrong):
    """One ion is some 1.7 meq/L too high: no exchange, no slip of ten or a thousand explains it."""
    (text,) = flags(run(tmp_path, WELL | wrong, SOFTENED), "likely_culprit")
    assert "exchanged" not in text
    assert "thousand times" not in text
    assert "ten times" not in text
    assert text.count("; or ") <= 1
    assert not [word for word in text.split() if len(word.partition(".")[2].rstrip(";,")) > 2]


def test_ammonium_in_the_wrong_unit_is_named(tmp_path):
    """26 mg/L are 1.44 meq/L beside a sound well: read as mg/L, meant as µg/L."""
    (text,) = flags(run(tmp_path, WELL | {"Ammonium": "26,mg/L"}, SOFTENED), "likely_culprit")
    assert text.startswith("likely culprit: ammonium 26 mg/L is a thousand times too high")


def test_what_was_not_found_is_told_as_the_most_there_may_be(tmp_path):
    coarse = {"Iron": "<0.5,mg/L", "Manganese": "<0.2,mg/L", "Barium": "<0.9,mg/L"}
    coarse |= {"Aluminium": "<0.4,mg/L"}
    study = run(tmp_path, WELL | coarse, SOFTENED, command=RATED)
    why = value(study, "verdict.reasons")
    assert "iron + manganese may be up to 0.7 mg/L in the raw water" in why
    assert "aluminium may be up to 0.4 mg/L ahead of the membranes" in why
    assert "barium, up to 0.9 mg/L of it, goes onto the resin" in why
    assert any("may be up to 0.7 mg/L together" in t for t in flags(study, "iron_to_softener"))
    assert "with a lower limit of detection" in value(study, "verdict.measure_next")


def test_a_part_that_was_found_is_not_called_unfound(tmp_path):
    study = run(tmp_path, WELL | {"Iron": "0.03,mg/L", "Manganese": "<0.8,mg/L"}, SOFTENED)
    why = value(study, "verdict.reasons")
    assert "iron + manganese may be up to 0.83 mg/L" in why
    assert "less of it was found" in why
    assert "none of it was found" not in why


@pytest.mark.parametrize(
    "chlorine", [">2.8,mg/L", pytest.param(">5,mg/L", marks=pytest.mark.thorough)]
)
def test_what_is_over_range_is_measured_next(tmp_path, chlorine):
    study = run(
        tmp_path,
        WELL | {"Free chlorine": chlorine},
        '[train]\nstages = ["carbon", "inhibitor", "cartridge"]\n',
    )
    assert value(study, "verdict.measure_next") == "free chlorine, of a diluted sample"
    assert "chloramine" not in str(study["flags"]) + value(study, "verdict.reasons")


def test_an_unknown_hardness_sets_no_meter(tmp_path):
    lacking = WELL | {"Calcium": "n.a.,mg/L", "Magnesium": "n.a.,mg/L"}
    study = run(tmp_path, lacking, SOFTENED, command=RATED)
    assert value(study, "softener.meter_setting_m3") is None
    assert value(study, "softener.interval_d") is None
    assert "not to be set before the hardness is known" in value(study, "summary.programme")
    assert not flags(study, "two_meter_settings")


def test_degrees_are_asked_about_once(tmp_path):
    site = (
        '[site]\nname = "hot"\n[water]\nanalysis = "report.csv"\noperating_temperature = "44 C"\n'
    )
    site += 'coldest_temperature = "20 C"\nwarmest_temperature = "44.5 C"\n[machine]\n'
    site += 'product_flow = "1.2 m3/h"\nrecovery = 0.5\nhours_per_day = 10\n'
    (tmp_path / "hot.toml").write_text(site + SOFTENED, encoding="utf-8")
    study = run(tmp_path, WELL, command=("rate", "hot.toml"))
    asked = [flag["text"] for flag in study["flags"] if "°F" in flag["text"]]
    assert len(asked) == 1, asked
    assert "6.7 °C, 6.9 °C" in asked[0]


@pytest.mark.parametrize(
    ("sodium", "chloride", "blend"),
    [(48, 62, True), pytest.param(300, 451, False, marks=pytest.mark.thorough)],
)
def test_raw_water_is_no_remedy_where_it_is_over_the_limit_itself(
    tmp_path, sodium, chloride, blend
):
    """A ratio of 8.3 and 12.7 meq/L of chloride are over 3 and 4 (FAO29) in the well already."""
    salty = {"Sodium": f"{sodium},mg/L", "Chloride": f"{chloride},mg/L"}
    salty |= {"Conductivity": f"{720 if blend else 2150},µS/cm"}
    site = '[train]\nstages = ["inhibitor", "cartridge"]\n[product]\ntarget = "irrigation"\n'
    why = value(run(tmp_path, WELL | salty, site), "verdict.reasons")
    assert "calcite" in why or "calcium" in why
    assert ("raw water mends it" in why or "blend in raw water" in why) is blend


@pytest.mark.parametrize(("sign", "told"), [(">", "dilute the sample"), ("<", "write the limit")])
def test_a_bound_in_the_site_file_is_refused_in_words(tmp_path, capfd, sign, told):
    from typer.testing import CliRunner

    from pretreat.cli import app

    text = f'[water]\nhardness = "300 mg/L"\niron = "{sign}4 mg/L"\n[machine]\n'
    text += 'product_flow = "1 m3/h"\nrecovery = 0.5\nhours_per_day = 9\n'
    (tmp_path / "kit.toml").write_text(text + SOFTENED, encoding="utf-8")
    found = CliRunner().invoke(app, ["rate", str(tmp_path / "kit.toml")])
    said = f"{found.output}{found.exception}{capfd.readouterr()}"
    assert found.exit_code == 1
    assert told in said
