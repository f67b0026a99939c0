"""A row of elements that uses up the feed pressure is told, not shown as a pressure below nothing."""

from pretreat.public import size

WATER = """Parameter,Result,Unit
Calcium,11.09,mg/L
Magnesium,1.73,mg/L
Iron,3.934,mg/L
Strontium,3.362,mg/L
Sodium,77,mg/L
Sulfate,11.5,mg/L
Chloride,1.8,mg/L
Silica,7.9,mg/L
Alkalinity,190,mg/L as CaCO3
pH,8.2,
"""
SITE = """[water]
analysis = "water.csv"
operating_temperature_c = 15.1
[machine]
product_flow = "2.502 m3/h"
recovery = 0.844
hours_per_day = 16
recycle_flow = "{recycle} m3/h"
element = "2.5x40"
[train]
stages = ["iron_filter", "carbon", "softener", "cartridge"]
"""


def flags(tmp_path, recycle):
    (tmp_path / "water.csv").write_text(WATER)
    (tmp_path / "site.toml").write_text(SITE.format(recycle=recycle))
    study = size(tmp_path / "site.toml")
    return study.number("machine.concentrate_pressure_bar"), {f.code: f for f in study.flags}


def test_no_pressure_left(tmp_path):
    pressure, found = flags(tmp_path, 1.408)
    assert pressure < 0.0
    assert found["no_pressure_left"].level == "warning"


def test_pressure_left(tmp_path):
    pressure, found = flags(tmp_path, 0)
    assert pressure > 0.0
    assert "no_pressure_left" not in found
