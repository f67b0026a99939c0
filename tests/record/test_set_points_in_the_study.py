"""Set points as the whole job gives them, on the invented demo site."""

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from pretreat.chemistry.second_opinion import available
from pretreat.lab import read_analysis
from pretreat.stages.site import read_site
from pretreat.study import run_study

SITE = Path(__file__).resolve().parents[2] / "water_analyses" / "quarrow_vale.toml"


@pytest.fixture(scope="module")
def job():
    return read_site(SITE), read_analysis(read_site(SITE).water.analysis)


def with_machine(design, **changes):
    return replace(design, machine=replace(design.machine, **changes))


def test_table_of_settings(job):
    design, water = job
    study = run_study(water, design, draws=64)
    table = study.series["settings.by_recovery"]
    splits = dict(zip(table.column("recovery"), table.column("split"), strict=True))
    assert (splits[0.5], splits[0.6], splits[0.7]) == ("1:1", "3:2", "7:3")
    columns = (table.column(f"{name}_m3_h") for name in ("feed", "product", "drain"))
    for feed, product, drain in zip(*columns, strict=True):
        assert feed == pytest.approx(product + drain, rel=1e-9)
    assert set(table.column("feed_pressure_bar")) == {None}
    assert "pressure_open" in {flag.code for flag in study.flags}
    assert study.number("settings.recovery_highest") == study.number("recovery.max")


@pytest.mark.skipif(not available(), reason="PHREEQC cannot be loaded here")
def test_own_osmotic_pressure_stands_within_3_percent_of_pitzer(job):
    design, water = job
    ratio = run_study(water, design, draws=64).number("settings.osmotic_pitzer_ratio")
    assert ratio == pytest.approx(1.0, abs=0.03)


def test_pressure_at_the_known_point_returns_and_cold_water_needs_more(job):
    design, water = job
    known = with_machine(design, feed_pressure_bar=11.0, reference_temperature_c=15.0)
    study = run_study(water, known, draws=64)
    assert study.number("settings.feed_pressure_bar") == pytest.approx(11.0, rel=1e-9)
    assert study.number("settings.feed_pressure_coldest_bar") > 11.0
    assert study.number("settings.feed_pressure_warmest_bar") < 11.0
    pressures = study.series["settings.by_recovery"].column("feed_pressure_bar")
    assert list(pressures) == sorted(pressures)


def test_pressure_below_the_osmotic_one_is_told(job):
    design, water = job
    study = run_study(water, with_machine(design, feed_pressure_bar=0.5))
    codes = {flag.code for flag in study.flags}
    assert {"pressure_below_osmotic", "pressure_temperature_assumed"} <= codes
    assert "settings.feed_pressure_bar" not in study.figures


def test_start_up_begins_with_air_and_the_sheet_has_every_gauge(job):
    design, water = job
    study = run_study(water, design, draws=64)
    steps = " ".join(map(str, study.series["settings.start_up"].column("do")))
    assert steps.index("drain and recycle valves fully") < steps.index("high-pressure pump with")
    assert len(study.series["settings.record_sheet"].rows) > 20


def test_osmotic_pressure_of_a_water_without_its_species():
    """Sodium chloride 0.1 mol/kg at 25 °C: 461 kPa, phi 0.9324 of Robinson and Stokes (1959)."""
    from pretreat.chemistry.speciation import speciate
    from pretreat.membrane.gauges.pressure import osmotic_of_water_kpa

    many = np.full(100, 0.1)  # of a few the species are kept
    waters = speciate({"Na": many, "Cl": many}, temp_c=25.0, ph=7.0)
    assert not waters.molality
    np.testing.assert_allclose(osmotic_of_water_kpa(waters), 461.0, rtol=0.005)
