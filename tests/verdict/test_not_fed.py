"""A machine that pump or well cannot feed, by the command (common practice, no source)."""

import pytest

from . import test_equipment
from .test_equipment import SOFT, answer, value

__all__ = ["answer"]  # the fixture
STAGES = '["softener", "cartridge"]'
PUMP = {"rate": "does not fit", "size": "fits with conditions"}  # a pump is bought
WELL = {"rate": "does not fit", "size": "depends"}


@pytest.mark.parametrize("command", ["rate", "size"])
def test_a_pump_below_the_machine(answer, monkeypatch, command):
    """2 m3/h are taken, 1.8 given."""
    site = test_equipment.SITE.replace('well_yield = "{pump} m3/h"', 'well_yield = "9 m3/h"')
    monkeypatch.setattr(test_equipment, "SITE", site)
    verdict, said, study = answer(command, STAGES, SOFT, pump=1.8)
    assert verdict == PUMP[command], said
    assert any("the pump gives 1.80 m3/h, the machine takes 2.00" in one for one in said)
    assert value(study, "machine.feed_flow_m3_h") == 2.0


@pytest.mark.parametrize("command", ["rate", "size"])
def test_a_well_below_the_machine_weighs_as_the_pump_does(answer, monkeypatch, command):
    site = test_equipment.SITE.replace('well_yield = "{pump} m3/h"', 'well_yield = "1.8 m3/h"')
    monkeypatch.setattr(test_equipment, "SITE", site)
    verdict, said, _ = answer(command, STAGES, SOFT)
    assert verdict == WELL[command], said


def test_a_raw_tank_makes_a_small_pump_a_condition(answer, monkeypatch):
    site = test_equipment.SITE.replace("[supply]\n", '[supply]\nraw_tank_volume = "6 m3"\n')
    monkeypatch.setattr(test_equipment, "SITE", site)
    verdict, said, _ = answer("rate", STAGES, SOFT, pump=1.8)
    assert verdict == "fits with conditions", said
    assert any("behind the raw tank a booster" in one for one in said)
