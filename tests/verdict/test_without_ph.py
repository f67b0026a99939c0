"""A report without pH: what hardly depends on it is judged, the rest is named and left blank."""

import pytest
from msgspec.structs import replace

from pretreat.core.water import WaterAnalysis
from pretreat.site.design import LimitChoices
from pretreat.study import run_scaling

from .test_membrane_feed import water

NO_PH = replace(water(), ph=None, ph_kind="unknown")


def judged(one: WaterAnalysis, **more):
    return run_scaling(one, 0.5, limits=LimitChoices(inhibitor=True), draws=64, **more)


def test_scales_that_hardly_depend_on_ph_are_judged_the_rest_is_asked_for():
    known, blind = judged(water()), judged(NO_PH)
    assert blind.value("verdict.answer") == "depends"
    assert blind.value("verdict.probability") is None
    assert blind.value("verdict.measure_next") == "pH"
    assert "calcium carbonate for want of pH" in str(blind.value("verdict.reasons"))
    for scale in ("gypsum", "barite", "celestite", "fluorite", "silica"):
        found = blind.number(f"scaling.si_{scale}")
        assert found == pytest.approx(known.number(f"scaling.si_{scale}"), abs=0.05)
    assert blind.number("scaling.lsi") is None
    assert str(blind.value("summary.recovery")).startswith("of the scales that could be judged")


def test_nothing_shows_the_ph_that_stood_in():
    study = judged(NO_PH)
    assert study.value("concentrate.ph") is None
    assert study.value("scaling.si_sepiolite_d") is None
    assert not any("7.5" in flag.text for flag in study.flags)


def test_a_scale_far_over_its_limit_is_no_less_over_it_without_a_ph():
    """Barium 3 and sulfate 900 mg/L: barite does not ask for a pH."""
    sulfate = water({"ba": 3.0, "so4": 900.0, "na": 430.0})
    assert judged(replace(sulfate, ph=None)).value("verdict.answer") == "does not fit"
