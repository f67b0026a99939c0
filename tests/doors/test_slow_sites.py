"""Sites within the bounds that once took half a minute and more: a loop that has come back hangs."""

import pytest

from pretreat.public import rate, size
from tests.cli.conftest import ANALYSES


def site(tmp_path, name, *changes):
    text = (ANALYSES / name).read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    for report in ANALYSES.glob("*.csv"):
        (tmp_path / report.name).write_bytes(report.read_bytes())
    (tmp_path / name).write_text(text, "utf-8")
    return tmp_path / name


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("[supply]", '[supply]\ndemand = "1e-300 m3/d"'),
        pytest.param("[supply]", '[supply]\ndemand = "1e-9 m3/d"', marks=pytest.mark.thorough),
        ("hours_per_day = 16", "hours_per_day = 0.01"),
        ('"12 m3"', '"1e-300 m3"'),
        pytest.param('"5 m3/h"', '"1e-300 m3/h"', marks=pytest.mark.thorough),
    ],
)
def test_sized_soon(tmp_path, old, new):
    path = site(tmp_path, "quarrow_vale.toml", (old, new))
    study = size(path)
    assert not any(
        isinstance(f.value, float) and f.value != f.value for f in study.figures.values()
    )


def test_a_tiny_metered_bed_is_rated_soon(tmp_path):
    path = site(
        tmp_path,
        "quarrow_vale_installed.toml",
        ('resin_volume = "283 L"', 'resin_volume = "0.001 L"\ncontrol = "meter"'),
    )
    rate(path)
