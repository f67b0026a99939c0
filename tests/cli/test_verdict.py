"""The verdict through the commands: nothing read is dropped, every answer says why."""

import json

import pytest
from typer.testing import CliRunner

from pretreat.cli import _register, app

_register()
# Hand worked: 140 L x 57.2 g/L x 0.8 / 325 mg/L = 19.7 m3, iron taking a little of it.
METER_M3 = 140 * 57.2 * 0.8 / 325

SITE = """
[water]
analysis = "report.csv"
operating_temperature_c = 14
[machine]
product_flow = "1 m3/h"
recovery = 0.6
recovery_range = [0.5, 0.75]
hours_per_day = 10
[softener]
resin_volume = "140 L"
vessel_diameter = "0.41 m"
salt_dose_g_l = 160
reserve = 0.2
"""


@pytest.fixture(scope="module")
def rated(tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    (folder / "report.csv").write_text(
        "Parameter,Result,Unit\npH,7.4,\nTotal hardness,325,mg/L as CaCO3\nIron,1.2,mg/L\n"
        "TDS,520,mg/L\n"
    )
    (folder / "site.toml").write_text(SITE)
    result = CliRunner().invoke(app, ["rate", str(folder / "site.toml"), "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_total_hardness_alone_rates_the_softener(rated):
    setting = rated["figures"]["softener.meter_setting_m3"]["value"]
    assert setting == pytest.approx(METER_M3, rel=0.05)


def test_what_was_not_measured_is_no_fit(rated):
    codes = {flag["code"] for flag in rated["flags"]}
    assert {"hardness_split_assumed", "unjudged_scale", "iron_over_code"} <= codes
    assert rated["figures"]["verdict.answer"]["value"] != "fits"
    assert rated["figures"]["verdict.probability"]["value"] is None


@pytest.mark.parametrize("command", ["rate", "size"])
def test_a_kit_with_hardness_and_ph_alone_ends_with_a_workbook(tmp_path, command):
    """Nothing of the scales is known: no reach, no "keeps its limit", no page without end."""
    report = 'analysis = "report.csv"\noperating_temperature_c = 14'
    (tmp_path / "site.toml").write_text(SITE.replace(report, 'hardness = "21 gpg"\nph = 7.3'))
    book = tmp_path / "x.xlsx"
    result = CliRunner().invoke(app, [command, str(tmp_path / "site.toml"), "-o", str(book)])
    assert result.exit_code == 0, result.output
    said = " ".join(result.stdout.split())
    assert "no scale could be judged" in said
    assert "keeps its limit" not in said
    assert "none could be judged: no scale can be computed" in said
    assert book.stat().st_size > 0
