"""The calcite filter: closed equilibrium, stoichiometry, one plant through the command's call."""

import numpy as np
import pytest

from pretreat.chemistry.ccpp import calcite_equilibrium
from pretreat.core.units import molar_mass
from pretreat.membrane.feed import feed_water
from pretreat.public import size
from pretreat.stages.neutralising_filter import laws

# Closed equilibrium with calcite at 15 C, NaCl to the ionic strength: PHREEQC 3 with phreeqc.dat
# (computed there; its carbonate constants are those of Plummer and Busenberg, as ours).
CLOSED = [(20.0, 20.0, 5.8, 0.002, 136.3, 7.498), (100.0, 100.0, 6.5, 0.02, 106.8, 7.387),
          (150.0, 150.0, 6.6, 0.03, 104.9, 7.25)]  # fmt: skip
SITE = """
[site]
name = "Thornmere"
[water]
analysis = "well.csv"
operating_temperature_c = 15
[machine]
product_flow = "1.2 m3/h"
recovery = 0.6
hours_per_day = 10
days_per_year = 300
[prices]
currency = "EUR"
calcite_per_l = 1.5
[neutralising_filter]
include = true
contact_time = "20 min"
"""
WELL = """analyte,result,unit
pH,6.9,
Temperature,15,C
Calcium,40,mg/L
Magnesium,8,mg/L
Sodium,15,mg/L
Alkalinity,120,mg/L as CaCO3
Chloride,18,mg/L
Sulfate,12,mg/L
Barium,0.01,mg/L
Strontium,0.1,mg/L
Fluoride,0.1,mg/L
Silica,12,mg/L
"""


@pytest.mark.parametrize(("hard", "alk", "ph", "strength", "dissolved", "reached"), CLOSED)
def test_closed_equilibrium_with_calcite(hard, alk, ph, strength, dissolved, reached):
    ca = hard * molar_mass("Ca") / 100.09
    salt = strength - 1.5 * hard / 50.04e3 - 0.5 * alk / 50.04e3
    ions = {"ca": ca, "na": salt * 22_990, "cl": salt * 35_450}
    water = feed_water(ions, alk, ph, 15.0).speciation
    found = calcite_equilibrium(water)
    assert -found.precipitates_mol_kg * 100_090 == pytest.approx(dissolved, rel=0.03)
    assert np.squeeze(found.ph) == pytest.approx(reached, rel=0.01)


def test_stoichiometry():
    """Balanced reaction: 2.274 mg of calcite for a milligram of carbon dioxide."""
    assert laws.most_dissolved_mg_l_caco3(1.0) == pytest.approx(2.274, rel=1e-3)


@pytest.fixture
def sized(tmp_path):
    def run(more: str = ""):
        (tmp_path / "well.csv").write_text(WELL)
        (tmp_path / "site.toml").write_text(SITE + more)
        return size(tmp_path / "site.toml")

    return run


def test_a_plant_with_a_calcite_filter(sized):
    study = sized()
    value = study.number
    co2, product = value("water.co2_mg_l"), value("machine.product_m3_d")
    assert value("neutralising_filter.media_needed_l") == pytest.approx(400.0)  # 1.2 m3/h, 20 min
    assert value("neutralising_filter.contact_min") >= 20.0
    dissolved = value("neutralising_filter.dissolved_mg_l_caco3")
    assert dissolved == pytest.approx(2.274 * co2, rel=0.06)
    assert 7.4 < value("neutralising_filter.ph_out") < 8.6
    yearly = product * 300.0 * dissolved / 1000.0
    assert value("neutralising_filter.dissolved_kg_per_year") == pytest.approx(yearly)
    life = value("neutralising_filter.charge_kg") / yearly
    assert value("media_life.neutralising_filter_years_likely") == pytest.approx(life)
    assert value("costs.neutralising_filter_medium_amount") > 0
    assert "neutralising filter" in study.series["train.stages"].column("stage")
    assert "safety_calcite" in {flag.code for flag in study.flags}
    assert study.again({"machine.hours_per_day": 5}).number(
        "media_life.neutralising_filter_years_likely"
    ) == pytest.approx(2.0 * life)


def test_ahead_of_the_membranes_it_warns(sized):
    study = sized("ahead_of_membranes = true\n")
    warned = [f.text for f in study.flags_of("warning") if f.code == "calcite_ahead_of_membranes"]
    assert "behind the membranes" in warned[0]


def test_a_site_without_it_has_no_keys(sized, tmp_path):
    sized()
    text = (tmp_path / "site.toml").read_text().replace("include = true", "include = false")
    (tmp_path / "site.toml").write_text(text)
    assert not any(
        k.startswith("neutralising_filter.") for k in size(tmp_path / "site.toml").figures
    )
