"""Every rule of the verdict, one row each; the rules are the program's own (common practice)."""

import pytest
from msgspec.structs import replace

from pretreat.plant.verdict.case import (
    Obstacle,
    ScaleCase,
    SeasonCase,
    Unjudged,
    VerdictCase,
)
from pretreat.plant.verdict.gaps import gap_obstacles
from pretreat.plant.verdict.rules import verdict

GOOD = {"low": 0.97, "likely": 1.0, "high": 1.0}


def season(name="operating", maximum=0.72, by="calcite", temp=15.0, kept=GOOD):
    return SeasonCase(name, temp, maximum, by, kept)


def case(**more):
    base = VerdictCase(
        0.6,
        (season("coldest", 0.70, temp=10.0), season(), season("warmest", 0.71, temp=20.0)),
        {"low": 0.66, "likely": 0.70, "high": 0.75},
        kept=GOOD,
        scales=(ScaleCase("calcite", GOOD), ScaleCase("silica", GOOD)),
        safe_recovery=0.637,
        p10_p90=(0.655, 0.745),
        measure_next="a second pH, at the well",
    )
    return replace(base, **more)


def kept(low, likely=None, high=None):
    shares = {"low": low, "likely": likely or low, "high": high or likely or low}
    return {"kept": shares, "scales": (ScaleCase("calcite", shares), ScaleCase("silica", GOOD))}


BARIUM = Unjudged("barite", "barium", True)
HARMLESS = Unjudged("celestite", "strontium", False)
PUMP = Obstacle("condition", "the pump must be shown to give 12 m3/h for the backwash")
DARK = Obstacle("unknown", "the water could not be computed")
SALT = Obstacle("question", "the softener takes 157 t of salt a year", of_train=True)
VALVES = Obstacle("stops", "the valves of the machine allow 50 to 55 % recovery")
OVER = {"nominal": {"low": 0.3, "likely": 0.4, "high": 0.5}}

TABLE = [
    # what is changed, answer, probability, first reason holds, card
    ("all is well", {}, "fits", 0.97, "every scale that was judged keeps its limit", 0.6),
    ("exactly nine of ten", kept(0.90), "fits", 0.90, "about 90 %", 0.6),
    ("just short of it", kept(0.899), "depends", 0.899, "calcium carbonate", 0.6),
    ("a pump to see to", {"obstacles": (PUMP,)}, "fits with conditions", 0.97, "every scale", 0.6),
    ("salt that nobody accepts", {"obstacles": (PUMP, SALT)}, "depends", 0.97, "157 t", 0.6),
    ("an open verdict and a pump", {**kept(0.5), "obstacles": (PUMP,)}, "depends", 0.5,
     "60 % recovery depends", 0.6),
    ("the valves do not allow it", {"obstacles": (PUMP, VALVES)}, "does not fit", 0.97,
     "the valves of the machine", None),
    ("hardly any draw keeps the bold limits", {**kept(0.0, 0.01, 0.05), **OVER}, "does not fit",
     0.0, "calcium carbonate limits recovery to 40 %", 0.6),
    ("exactly one of ten at the bold limits", {**kept(0.0, 0.02, 0.10), **OVER}, "depends", 0.0,
     "60 % recovery depends", 0.6),
    ("it hangs on the band", kept(0.4, 0.8, 0.99), "depends", 0.4, "60 % recovery depends", 0.6),
    ("a scale that could limit", {"unjudged": (BARIUM,)}, "depends", None,
     "barium sulfate (barite) was not judged", None),
    ("a scale that could not limit", {"unjudged": (HARMLESS,)}, "fits with conditions", 0.97,
     "every scale", 0.6),
    ("a scale that could not limit, for want of what is seldom analysed",
     {"unjudged": (Unjudged("calcium_phosphate", "phosphate", False, False),)}, "fits", 0.97,
     "every scale", 0.6),
    ("hopeless whatever is missing", {**kept(0.0), **OVER, "unjudged": (BARIUM,)},
     "does not fit", None, "calcium carbonate limits", None),
    ("a water that cannot be computed", {**kept(0.0), **OVER, "obstacles": (DARK,)}, "depends",
     None, "the water could not be computed", None),
    ("draws turned off, fine", {"kept": None, "scales": (), "safe_recovery": None}, "depends",
     None, "was not drawn", None),
    ("draws turned off, over", {"kept": None, "scales": (), "safe_recovery": None, **OVER},
     "does not fit", None, "calcium carbonate limits recovery to 40 %", None),
    ("draws turned off, over at the usual limits",
     {"kept": None, "scales": (), "safe_recovery": None,
      "nominal": {"low": 0.3, "likely": 0.5, "high": 0.7}}, "depends", None,
     "calcium carbonate limits recovery to 50 %", None),
    ("nothing is kept", {**kept(0.2), "safe_recovery": 0.0}, "depends", 0.2, "60 %", None),
]  # fmt: skip


@pytest.mark.parametrize(("title", "change", "answer", "p", "first", "card"), TABLE,
                         ids=[row[0] for row in TABLE])  # fmt: skip
def test_rule(title, change, answer, p, first, card):
    found = verdict(case(**change))
    assert found.answer == answer, title
    assert found.probability == p
    assert first in found.reasons[0]
    assert found.card_recovery == card


def test_a_missing_ion_is_what_is_measured_next():
    assert verdict(case(unjudged=(HARMLESS, BARIUM))).measure_next == "barium"
    assert verdict(case()).measure_next == "a second pH, at the well"


def test_the_gravest_reason_comes_first():
    found = verdict(case(**kept(0.5), obstacles=(PUMP, VALVES), unjudged=(HARMLESS, BARIUM)))
    assert found.reasons[0] == VALVES.text
    assert "barite" in found.reasons[1]
    assert found.reasons[-2:] == (
        PUMP.text,
        "strontium sulfate (celestite) was not judged: strontium is not in the analysis; at a "
        "plausible level it would not limit here: have it measured",
    )


def test_the_card_is_rounded_down_and_never_above_the_design():
    assert verdict(case(**kept(0.5), safe_recovery=0.5199)).card_recovery == 0.51
    assert verdict(case(**kept(0.5), safe_recovery=0.9)).card_recovery == 0.6


def test_the_band_of_the_limits_is_said():
    found = verdict(case(**kept(0.4, 0.8, 0.99), inhibitor=True))
    assert any("common practice, no published source" in r for r in found.reasons)


@pytest.mark.parametrize("name", ["coldest", "warmest"])
def test_a_season_that_does_not_keep_what_the_operating_water_keeps(name):
    seasons = (season(), season(name, 0.213, "silica", 14.0))
    found = verdict(case(recovery=0.25, seasons=seasons, **kept(0.1, 0.5)))
    assert [f.code for f in found.flags] == [f"{name}_limits"]
    assert "21 %" in found.flags[0].text
    assert found.answer == "depends"
    assert any(name in r for r in found.reasons)


def test_no_flag_where_the_operating_water_is_over_too():
    seasons = (season(maximum=0.2), season("coldest", 0.1))
    assert verdict(case(seasons=seasons, **kept(0.1))).flags == ()


def test_a_recovery_on_its_limit_keeps_it():
    off = {"kept": None, "scales": (), "safe_recovery": None}
    on = {"low": 0.6, "likely": 0.6, "high": 0.6}
    assert verdict(case(nominal=on, **off)).answer == "depends"


def test_every_usual_ion_that_is_missing_is_named():
    whole = {"ca", "mg", "na", "k", "fe", "mn", "cl", "no3"}
    assert gap_obstacles(whole) == ()
    for key, name in (("fe", "iron"), ("mn", "manganese"), ("mg", "magnesium"), ("na", "sodium"),
                      ("cl", "chloride")):  # fmt: skip
        found = verdict(case(obstacles=gap_obstacles(whole - {key})))
        assert found.answer == "fits with conditions"
        assert name in found.reasons[-1]
    found = verdict(case(obstacles=gap_obstacles(whole - {"k"})))
    assert found.answer == "fits"
    assert "potassium" in found.reasons[-1]


def test_where_no_scale_was_judged_none_keeps_its_limit():
    found = verdict(case(judged=False, scales=()))
    assert found.answer == "depends"
    assert found.card_recovery is None
    assert found.reasons == found.short == ("no scale could be judged",)


def test_in_short_gaps_of_a_kind_stand_in_one_reason():
    found = verdict(case(obstacles=gap_obstacles({"ca", "mg", "fe"}), unjudged=(HARMLESS, BARIUM)))
    (blind,) = (r for r in found.short if "at a plausible level" in r)
    assert blind.endswith("barium sulfate (barite) for want of barium")
    assert "not in the analysis: sodium, chloride" in found.short
    assert not any("potassium" in r for r in found.short)


@pytest.mark.parametrize(
    ("shares", "of_analysis", "odds"),
    [
        ((0.0, 0.0, 1.0), False, "at most 1 %"),
        ((0.04, 0.06, 0.97), False, "about 4 %"),
        ((0.03, 0.5, 0.97), False, "about 3 %"),
        ((0.47, 0.8, 0.97), True, "about 47 %"),
        ((0.896, 0.92, 0.97), True, "about 89 %"),
    ],
)
def test_the_analysis_is_not_blamed_where_it_decides_nothing(shares, of_analysis, odds):
    found = verdict(case(**kept(*shares)))
    assert found.answer == "depends"
    assert ("depends on what the analysis leaves open" in found.reasons[0]) is of_analysis
    assert ("on the limit that is taken and on the recovery wanted" in found.reasons[0]) is (
        not of_analysis
    )
    assert f"in {odds} of the draws at the cautious limits" in found.reasons[0]
