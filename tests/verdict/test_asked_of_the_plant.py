"""What a site asks of its plant beyond what it is sized for is never a plain yes: by the command.

The expectations are common practice, no source; waters and sites are invented.
"""

import pytest

from . import test_equipment
from .test_equipment import SITE, SOFT, answer

__all__ = ["answer"]  # the fixture
PASSING = SITE.replace("[machine]\n", '[machine]\nsalt_passage = "generic"\n')
STAGES = '["softener", "cartridge"]'


@pytest.mark.parametrize(("demand", "told"), [(14, False), (20, True)])
def test_a_demand_beyond_the_hours_given_is_a_condition(answer, monkeypatch, demand, told):
    """1.2 m3/h make 14.4 m3 in the 12 h given; 20 m3 ask for 16.7 h."""
    asked = SITE.replace("[supply]\n", f'[supply]\ndemand = "{demand} m3/d"\n')
    monkeypatch.setattr(test_equipment, "SITE", asked)
    verdict, said, _ = answer("rate", STAGES, SOFT)
    assert any("asks for 16.7 hours a day, 12 are given" in one for one in said) is told
    assert not (told and verdict == "fits")


@pytest.mark.parametrize(("boron", "expected"), [(0.4, "fits with conditions"), (9.0, "depends")])
def test_a_product_over_a_limit_for_health_is_not_drunk(answer, monkeypatch, boron, expected):
    """About half of the boron passes near neutral pH; 2.4 mg/L is the guideline value of WHO."""
    monkeypatch.setattr(test_equipment, "SITE", PASSING)
    more = f'{SOFT}[product]\ntarget = "drinking"\njurisdiction = "who"\n'
    verdict, said, _ = answer("rate", STAGES, more, B=boron)
    over = [one for one in said if one.startswith(("product water: boron", "boron"))]
    assert (verdict, bool(over)) == (expected, expected == "depends"), said


def test_calcite_that_falls_short_of_what_is_asked_is_a_condition(answer, monkeypatch):
    """Little carbon dioxide passes at pH 8: calcite dissolves no 120 mg/L of hardness."""
    monkeypatch.setattr(test_equipment, "SITE", PASSING)
    more = f'{SOFT}[neutralising_filter]\ninclude = true\n[product]\nleast_hardness = "120 mg/L"\n'
    verdict, said, _ = answer(
        "size", '["softener", "cartridge", "neutralising_filter"]', more, pH=8.0
    )
    assert any("calcite alone does not bring" in one for one in said), said
    assert verdict != "fits"
