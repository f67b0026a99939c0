"""The first lines of a study: a verdict that fits its kind, limits that are rounded down."""

from pathlib import Path

import pytest

from pretreat.core.results import Ledger
from pretreat.lab import read_analysis
from pretreat.plant.summary import enter_summary, percent_down
from pretreat.stages.site import read_site
from pretreat.study import run_scaling, run_study

SITES = Path(__file__).parents[2] / "water_analyses"
VESSELS = """
[machine]
product_flow = "1.6 m3/h"
recovery = 0.65
hours_per_day = 16
[softener]
resin_volume = "283 L"
salt_dose_g_l = 160
"""
KIT = VESSELS + '[water]\nhardness = "21 gpg"\niron = "0.2 mg/L"\n'


def verdict(study):
    return str(study.value("summary.verdict"))


def test_each_kind_of_study_has_a_verdict_of_its_own(tmp_path):
    water = read_analysis(SITES / "quarrow_vale_well_2.csv")
    assert "barium sulfate (barite) limits recovery" in verdict(run_scaling(water, 0.65))
    for name, mode in (("quarrow_vale", "size"), ("quarrow_vale_installed", "rate")):
        study = run_study(water, read_site(SITES / f"{name}.toml"), mode)
        assert str(study.value("verdict.answer")) in verdict(study).lower()
        assert "softening resin likely" in str(study.value("summary.media_life"))
    for name, text, words in (("kit", KIT, "no scale can be judged"),
                              ("vessels", VESSELS, "Quote for the media")):  # fmt: skip
        path = tmp_path / f"{name}.toml"
        path.write_text(text)
        assert words in verdict(run_study(None, read_site(path, water_needed=False), "rate"))


@pytest.mark.parametrize(
    ("value", "shown"), [(0.7479, "74.7 %"), (0.75, "75 %"), (0.65, "65 %"), (0.0, "0 %")]
)
def test_a_limit_is_never_stated_too_high(value, shown):
    assert percent_down(value) == shown


def test_over_the_limit_by_little_does_not_read_as_equal():
    """75 % wanted where 74.8 % is allowed: the two do not print alike."""
    ledger = Ledger()
    ledger.put("concentrate.recovery", 0.75, "-", "recovery")
    ledger.put("recovery.max", 0.7485, "-", "most")
    ledger.put("recovery.limited_by", "silica", "-", "by")
    enter_summary(ledger)
    study = ledger.study()
    assert verdict(study).startswith("75 % recovery is over")
    assert "74.8 %" in str(study.value("summary.recovery"))
