"""Quantity strings as technicians write them, and the readings that are refused.

Factors: NIST Special Publication 811 (2008), appendix B, exact: US gallon 3.785411784 L,
imperial gallon 4.54609 L, foot 0.3048 m, pound 0.45359237 kg, kgf/cm2 98 066.5 Pa;
psi 6 894.757 Pa.
"""

import pytest

from pretreat.core.errors import UnitError
from pretreat.core.units import quantity


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("6 gpm", "m3/h", 6 * 3.785411784e-3 * 60),
        ("6 GPM", "m3/h", 6 * 3.785411784e-3 * 60),
        ("6 US gal/min", "m3/h", 6 * 3.785411784e-3 * 60),
        ("5 imperial gal/min", "m3/h", 5 * 4.54609e-3 * 60),
        ("5 igpm", "m3/h", 5 * 4.54609e-3 * 60),
        ("1500 gpd", "m3/d", 1500 * 3.785411784e-3),
        ("30 PSI", "bar", 30 * 0.06894757),
        ("3 kg/cm2", "bar", 3 * 0.980665),
        ("300 kPa", "bar", 3.0),
        ("2 cu ft", "L", 2 * 28.316846592),
        ("2 cuft", "L", 2 * 28.316846592),
        ("2 cf", "L", 2 * 28.316846592),
        ('16"', "m", 16 * 0.0254),
        ("16 in", "m", 16 * 0.0254),
        ("10 lb/ft3", "g/L", 10 * 453.59237 / 28.316846592),
        ("1,5 m3/h", "m3/h", 1.5),
        ("0,125 m", "m", 0.125),
        ("1,500.5 L", "L", 1500.5),
        ("4 m³/h", "m3/h", 4.0),
    ],
)
def test_as_written(text, unit, value):
    assert quantity(text, unit) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "unit", "says"),
    [
        ("1,500 gpd", "m3/h", "1500 or as 1.500"),
        ("1,000 kPa", "bar", "write one of the two"),
        ("12 blub", "m3/h", "'blub' is not a unit known here; write m3/h, L/min, gpm or gpd"),
        ("12 psi", "m3/h", "measures something else"),
        ("12", "m3/h", "has no unit"),
        ("twelve gpm", "m3/h", "not a quantity"),
    ],
)
def test_refused(text, unit, says):
    with pytest.raises(UnitError, match=says):
        quantity(text, unit)


@pytest.mark.parametrize(
    "text",
    [
        "5 9**9**9 m3/h",
        "5 m3/h**9**9**9",
        "5 m3**999999999/h",
        "5 (((((((((m3/h)",
        "5 __import__('os').system('true')",
        "5 m3/h; 1",
        "5 1000 L/h",
        "5 L//h",
        "5 *L/h",
        "5 L/h/",
        "5 L/h)",
        "5 ()",
        "5 " + "(" * 5000 + "m3/h",
        "5 " + "m*" * 5000 + "m",
        "9" * 400 + " m3/h",
        "1e999 m3/h",
        "5 m3/h\x00",
    ],
)
def test_a_unit_is_read_never_evaluated(text):
    with pytest.raises(UnitError) as caught:
        quantity(text, "m3/h")
    assert len(str(caught.value)) < 400
