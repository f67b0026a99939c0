"""One feed pressure on every page: as read at the site, or of the elements at the flows set.

The pressures stand against the march along the elements of the same study; temperatures by the
factor 1.03 per degree of ASTM D4516 (from memory).
"""

import pytest

from pretreat import rate, size

WATER = """Parameter,Result,Units
pH,7.3,
Temperature,13,°C
Alkalinity,245,mg/L as CaCO3
Calcium,98,mg/L
Magnesium,18,mg/L
Sodium,22,mg/L
Potassium,3,mg/L
Chloride,35,mg/L
Sulfate,62,mg/L
Silica,12,mg/L
Barium,0.02,mg/L
Strontium,0.2,mg/L
Fluoride,0.2,mg/L
Iron,0.02,mg/L
Manganese,0.01,mg/L
TDS,420,mg/L
"""
SITE = """[site]
name = "Press"
[water]
analysis = "water.csv"
operating_temperature_c = 13
coldest_temperature_c = 9
warmest_temperature_c = 18
[machine]
product_flow = "{flow} m3/h"
recovery = 0.6
hours_per_day = 10
element = "4x40"
{machine}
[product]
target = "process"
[softener]
"""


def study_of(folder, flow=1.5, machine="", job=size):
    (folder / "water.csv").write_text(WATER, encoding="utf-8")
    site = folder / "site.toml"
    text = SITE.format(flow=flow, machine=machine)
    if job is rate:
        text = text.replace(
            "[softener]\n", '[softener]\nvessel = "24x72"\nresin_volume = "285 L"\n'
        )
    site.write_text(text, encoding="utf-8")
    return job(site, draws=128)


def codes(study):
    return {flag.code for flag in study.flags}


@pytest.mark.parametrize("read", [3.0, 5.0])
def test_a_pressure_too_low_for_the_product_is_a_condition(tmp_path, read):
    study = study_of(tmp_path, machine=f'feed_pressure = "{read} bar"\nrecycle_flow = "0.5 m3/h"')
    needed = study.number("machine.feed_pressure_bar")
    assert read < 0.8 * needed
    why = [str(text) for text in study.series["verdict.why"].column("reason")]
    said = [text for text in why if text.startswith(f"{read:g} bar read does not make 1.5 m3/h")]
    assert len(said) == 1
    assert f"at 13 °C, about {needed:.1f} bar" in said[0]
    assert "pressures_differ" not in codes(study)


def test_a_pressure_without_a_temperature_is_as_read_on_the_water_of_the_site(tmp_path):
    machine = 'feed_pressure = "9 bar"\nrecycle_flow = "0.5 m3/h"'
    study = study_of(tmp_path, machine=machine)
    for key in ("settings.known_pressure_bar", "settings.feed_pressure_bar"):
        assert study.number(key) == pytest.approx(9.0, rel=1e-9)
    assert study.number("settings.feed_pressure_coldest_bar") > 9.0
    assert "pressure_too_low" not in codes(study)


def test_a_pressure_read_on_other_water_is_held_against_the_elements_there(tmp_path):
    """6.5 bar at 25 °C is about 9 bar at 13 °C: no fault."""
    machine = 'recycle_flow = "0.5 m3/h"\nfeed_pressure = "6.5 bar"\nreference_temperature = "25 C"'
    study = study_of(tmp_path, machine=machine)
    assert 6.5 < 0.85 * study.number("machine.feed_pressure_bar")
    assert "pressure_too_low" not in codes(study)


@pytest.mark.parametrize("flow", [0.3, 0.5])
def test_the_card_sets_the_pressure_of_the_recycle_that_it_orders(tmp_path, flow):
    study = study_of(tmp_path, flow)
    assert "settings.recycle_l_min" in study.figures
    table = study.series["settings.by_recovery"]
    rows = dict(zip(table.column("recovery"), table.column("feed_pressure_bar"), strict=True))
    ordered = study.value("settings.recovery") or study.value("machine.recovery")
    assert study.number("settings.feed_pressure_bar") == pytest.approx(rows[ordered], rel=1e-9)
    for season in ("", "coldest_"):  # the study itself runs with that recycle
        card = study.number(f"settings.feed_pressure_{season}bar")
        assert card == pytest.approx(study.number(f"machine.feed_pressure_{season}bar"), rel=1e-9)
