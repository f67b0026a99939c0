"""What the settings card orders: no recovery that the verdict, the machine or the pump refuse.

By hand: where less is ordered than wanted the feed stays that of the design, so the product is
feed x recovery; pump, beds and timers go on as they were sized.
"""

import shutil

import pytest

from pretreat import rate, size
from tests.choices.wells import analysis, sized
from tests.cli.conftest import ANALYSES

WATER = analysis(ph=7.4, alkalinity=330, hardness=580, tds=1300)
SOFT = '[train]\nstages = ["softener", "cartridge"]\n'


def rows(study):
    table = study.series["settings.by_recovery"]
    return [dict(zip(table.columns, row, strict=True)) for row in table.rows]


def at(study, recovery):
    return next(row for row in rows(study) if row["recovery"] == pytest.approx(recovery))


def test_a_fit_allows_no_recovery_that_is_not_kept(tmp_path):
    study = sized(tmp_path, WATER, recovery=0.5, more=SOFT, draws=256)
    assert str(study.value("verdict.answer")).startswith("fits")
    kept = study.number("verdict.kept_recovery")
    assert 0.5 < kept < 0.85
    for row in rows(study):
        if row["recovery"] > kept:
            assert row["card"] != "yes"


def test_without_an_analysis_no_draws_are_spoken_of(tmp_path):
    """A test kit gives no chemistry to draw: the table of settings says so."""
    (tmp_path / "kit.toml").write_text(
        '[water]\nhardness = "22 gpg"\n[machine]\nproduct_flow = "0.5 m3/h"\nrecovery = 0.65\n'
        'hours_per_day = 10\n[softener]\nresin_volume = "113 L"\n'
    )
    said = {(row["allowed"], row["card"]) for row in rows(rate(tmp_path / "kit.toml"))}
    assert said == {("no chemistry given", "no analysis")}


def test_less_recovery_keeps_the_feed_and_makes_less(tmp_path):
    more = '[train]\nstages = ["inhibitor", "cartridge"]\n'
    study = sized(tmp_path, WATER, recovery=0.7, more=more, draws=256)
    ordered, flow = study.number("settings.recovery"), study.number("machine.feed_flow_m3_h")
    assert 0.2 < ordered < 0.7
    assert study.number("settings.feed_l_min") == pytest.approx(flow * 1000 / 60)
    assert study.number("settings.product_l_min") == pytest.approx(flow * ordered * 1000 / 60)
    assert study.number("settings.drain_l_min") == pytest.approx(flow * (1 - ordered) * 1000 / 60)
    assert at(study, ordered)["feed_m3_h"] == pytest.approx(flow)
    assert at(study, ordered)["card"] == "yes"
    assert "the feed stays" in study.value("settings.order_why")


@pytest.fixture(name="short_array", scope="module")
def short_array_fixture(tmp_path_factory):
    """The orchard's machine on four elements in series: they reach its recovery by recycle."""
    folder = tmp_path_factory.mktemp("short")
    for name in ("quarrow_vale_well_2.csv", "quarrow_vale.toml"):
        shutil.copy(ANALYSES / name, folder / name)
    site = folder / "quarrow_vale.toml"
    own = '[machine]\nelement = "4x40"\narray = [2, 1]\nelements_per_vessel = 2\n'
    site.write_text(site.read_text("utf-8").replace("[machine]\n", own), "utf-8")
    return size(site, draws=256)


def test_the_card_sets_the_recycle_that_the_elements_need(short_array):
    needed = short_array.number("machine.recycle_needed_m3_h")
    assert needed > 0.0
    assert short_array.number("settings.recycle_l_min") == pytest.approx(needed * 1000 / 60)
    assert f"recycle {needed:.3g} m3/h" in short_array.value("settings.order_why")


def test_a_recovery_that_needs_more_recycle_or_pump_is_not_allowed(short_array):
    recycle = short_array.number("settings.recycle_l_min") * 60 / 1000
    for row in rows(short_array):
        if row["feed_m3_h"] + recycle > 2 * 3.6:  # 4-inch elements, two vessels first
            assert row["card"] != "yes"
        if row["recovery"] > short_array.number("machine.recovery"):
            assert row["card"] != "yes"
