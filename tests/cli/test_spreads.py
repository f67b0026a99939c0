"""P10 and P90 of intervals, salt, permanganate, lives and costs through the command.

Outside numbers: capacity of a resin as set within 10 to 15 % (common practice, no source), running
hours without a counter within 20 %; a figure that is a product of independent factors has the
root sum of squares of their relative uncertainties.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from pretreat.cli import _register, app
from pretreat.plant.verdict.spreads import percentiles

_register()
SITE = Path(__file__).resolve().parents[2] / "water_analyses" / "quarrow_vale.toml"


def size(*words):
    result = CliRunner().invoke(app, ["size", str(SITE), "--json", *words])
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.fixture(scope="module")
def printed():
    return size()


@pytest.fixture(scope="module")
def figures(printed):
    return json.loads(printed)["figures"]


@pytest.mark.parametrize(
    "key",
    [
        "recovery.max", "softener.interval_d", "softener.salt_kg_per_year",
        "iron_filter.interval_d", "iron_filter.permanganate_kg_per_year",
        "media_life.softener_years_likely", "quote.cost_per_year", "quote.cost_per_m3",
    ],
)  # fmt: skip
def test_it_carries_p10_and_p90_around_its_value(figures, key):
    one = figures[key]
    assert one["p10"] <= one["value"] <= one["p90"]
    assert one["p10"] < one["p90"]


def test_the_interval_is_as_wide_as_its_factors(figures):
    """Hours 20 % and capacity 12.5 % as ends of a rectangle, hardness 3 to 4 % normal."""
    one = figures["softener.interval_d"]
    relative = (one["p90"] - one["p10"]) / 2.563 / one["value"]
    wanted = float(np.hypot(np.hypot(0.20 / np.sqrt(3), 0.125 / np.sqrt(3)), 0.035))
    assert relative == pytest.approx(wanted, rel=0.25)


def test_two_runs_give_the_same_bytes(printed):
    assert size() == printed


def test_no_draws_no_spread():
    figures = json.loads(size("--draws", "0"))["figures"]
    assert not any("p10" in one for one in figures.values())
    assert figures["verdict.answer"]["value"] == "depends"


class TestBlanks:
    def test_a_blank_counts_at_the_bad_end(self):
        drawn = np.linspace(1.0, 2.0, 1001)
        blank = drawn > 1.85  # the dear ones have no setting
        found = percentiles(drawn, blank, bad=np.inf)
        assert found["p10"] == pytest.approx(1.1)
        assert "p90" not in found

    def test_few_blanks_move_the_percentile_up(self):
        drawn = np.linspace(1.0, 2.0, 1001)
        blank = drawn < 1.05
        assert percentiles(drawn, blank, bad=np.inf)["p90"] == pytest.approx(1.95, abs=2e-3)

    def test_what_lasts_is_bad_at_nought(self):
        drawn = np.linspace(1.0, 2.0, 1001)
        assert percentiles(drawn, drawn > 1.8, bad=0.0)["p10"] == 0.0


def test_what_the_site_file_states_goes_before_the_usual(tmp_path):
    """Silica decides: dR = (1 - R) u, of the result (3 or 9 %) and of log K (0.03, 6.9 %)."""
    report = (
        "Parameter,Result,Unit\npH (field),6.9,\nTemperature,15,°C\nAlkalinity as CaCO3,90,mg/L\n"
        "Calcium,20,mg/L\nMagnesium,6,mg/L\nSodium,30,mg/L\nPotassium,3,mg/L\nChloride,30,mg/L\n"
        "Sulfate,12,mg/L\nSilica,40,mg/L\nBarium,0.01,mg/L\nStrontium,0.1,mg/L\nFluoride,0.2,mg/L\n"
        "Iron,0.01,mg/L\nManganese,0.01,mg/L\nNitrate,2,mg/L\n"
    )
    (tmp_path / "r.csv").write_text(report)
    widths = {}
    for pct in (6, 18):
        (tmp_path / "s.toml").write_text(
            f'[water]\nanalysis = "r.csv"\nuncertainty_pct = {{ sio2 = {pct} }}\n[machine]\n'
            'product_flow = "1 m3/h"\nrecovery = 0.5\nhours_per_day = 8\n'
            '[train]\nstages = ["cartridge"]\n'
        )
        result = CliRunner().invoke(app, ["size", str(tmp_path / "s.toml"), "--json"])
        assert result.exit_code == 0, result.output
        one = json.loads(result.stdout)["figures"]["recovery.max"]
        widths[pct] = one["p90"] - one["p10"]
    wanted = np.hypot(0.09, 0.069) / np.hypot(0.03, 0.069)
    assert widths[18] / widths[6] == pytest.approx(wanted, rel=0.1)


@pytest.mark.parametrize("bad", ["{ sio = 6 }", "300", "{ ca = -1 }"])
def test_a_statement_that_cannot_be_is_refused(tmp_path, bad):
    (tmp_path / "s.toml").write_text(
        f'[water]\nhardness = "20 gpg"\nuncertainty_pct = {bad}\n[machine]\n'
        'product_flow = "1 m3/h"\nrecovery = 0.5\nhours_per_day = 8\n'
    )
    result = CliRunner().invoke(app, ["size", str(tmp_path / "s.toml"), "--json"])
    assert result.exit_code == 1
    assert "uncertainty_pct" in str(result.exception)
