"""Several analyses of one site, and what the lab did not measure."""

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge.gaps import ask_the_lab, gap_flags
from pretreat.lab.samples.design_water import design_water
from pretreat.lab.samples.ranges import percentile, ranges, severity

HCO3_PER_CACO3 = 1.2193


def water(name, ca, so4=100.0, ba=None, below=None, **kept):
    mg_l = {"ca": ca, "mg": 20.0, "na": 50.0, "cl": 60.0, "so4": so4, "hco3": 250.0, "sio2": 20.0}
    if ba is not None:
        mg_l["ba"] = ba
    return WaterAnalysis(
        sample=name, source="t", ph=7.5, ph_kind="field", temperature_c=15.0,
        alkalinity_mg_l_caco3=250.0 / HCO3_PER_CACO3, mg_l=mg_l, below_mg_l=below or {}, **kept,
    )  # fmt: skip


SITE = [
    water("spring", 80.0, below={"ba": 0.02}), water("summer", 100.0, ba=0.05), water("autumn",
    120.0, ba=0.08),
]  # fmt: skip


def test_percentile_by_hand():
    assert percentile([1.0, 2.0, 3.0, 4.0], 50) == 2.5
    assert percentile([1.0, 2.0, 3.0, 4.0], 90) == pytest.approx(3.7)
    assert percentile([5.0], 90) == 5.0
    assert percentile([3.0, 1.0], 0) == 1.0
    with pytest.raises(AnalysisError):
        percentile([], 50)


def test_ranges_count_non_detects_at_their_limit():
    found = {one.key: one for one in ranges(SITE, 50)}
    assert (found["ca"].minimum, found["ca"].median, found["ca"].maximum) == (80, 100, 120)
    assert (found["ba"].count, found["ba"].detected, found["ba"].minimum) == (3, 2, 0.02)
    assert found["ca"].unit == "mg/L"


def test_design_sample_is_a_real_one():
    chosen = design_water(SITE, "severe sample", 90)
    assert chosen.sample == "autumn"
    assert any(f.code == "design_sample" for f in chosen.flags)
    assert severity(SITE)[2] == max(severity(SITE))


def test_envelope_is_at_least_as_severe_as_every_sample():
    envelope = design_water(SITE, "envelope")
    for one in SITE:
        assert all(envelope.mg_l[key] >= value for key, value in one.mg_l.items() if key != "hco3")
    assert envelope.mg_l["hco3"] == pytest.approx(250.0, rel=1e-3)
    assert any(f.code == "design_envelope" and f.level == "caution" for f in envelope.flags)


def test_one_sample_is_its_own_design_water():
    alone = design_water(SITE[:1], "envelope")
    assert alone.mg_l == SITE[0].mg_l
    assert [f.code for f in alone.flags] == ["one_sample_only"]
    assert design_water(SITE, "sample") is SITE[0]
    with pytest.raises(AnalysisError):
        design_water([])


def test_what_to_ask_the_lab_for():
    asked = {gap.analyte: gap for gap in ask_the_lab(SITE[0])}
    assert {"sr", "f", "fe", "mn", "sdi", "h2s_mg_l", "free_chlorine_mg_l"} <= set(asked)
    assert "ba" not in asked  # looked for and not found, with a useful limit
    assert "temperature_c" not in asked
    assert "celestite" in asked["sr"].why
    order = [gap.important for gap in ask_the_lab(SITE[0])]
    assert order == sorted(order, reverse=True)


def test_missing_temperature_is_asked_for():
    bare = WaterAnalysis(sample="w", source="t", mg_l={"ca": 100.0})
    assert {"temperature_c", "ph", "alkalinity_mg_l_caco3"} <= {
        gap.analyte for gap in ask_the_lab(bare)
    }
    figures = {flag.figure for flag in gap_flags(bare)}
    assert {"water.ba_mg_l", "water.temperature_c"} <= figures


def test_non_detects_that_bound_nothing_are_asked_for():
    blind = water("w", 80.0, below={"ba": None, "sr": None})
    assert any("limit of barium" in gap.name for gap in ask_the_lab(blind))
    high = water("w", 80.0, below={"ba": 0.2})
    assert any(gap.name == "barium with a lower limit" for gap in ask_the_lab(high))


def test_total_iron_only_is_asked_to_be_split():
    total = water("w", 80.0, total_mg_l={"fe": 1.0})
    assert any(gap.analyte == "fe_dissolved" for gap in ask_the_lab(total))
