"""Packages of the US trade by the flag as by the site file, and liquids sold by volume.

3.785411784 L to a gallon, 0.45359237 kg to a pound: NIST SP 811. Hypochlorite weighs 1.2 kg/L, acid
of 93 % 1702 g/L / 0.93 = 1.83 kg/L: data/chemicals.csv. 5 gal in the US: common practice, no source.
"""

import pytest

from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import words_of as words_in
from tests.quote.test_bought_as_delivered import FEEDS
from tests.quote.test_plan_of_the_quote import SITE
from tests.quote.test_sold_and_priced import FED, WATER

PURE, PURE_ACID = "chlorine_per_kg = 6\n", "acid_per_kg = 1.3\n"


def quoted(pretreat, folder, site, *flags):  # noqa: F811
    (folder / "w.csv").write_text(WATER, encoding="utf-8")
    (folder / "a.toml").write_text(site, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out", *flags)
    return words_in(folder / "out" / "a.pdf")


@pytest.mark.parametrize("site", [SITE, FEEDS, FED])
def test_the_flag_sells_the_packages_of_the_site_file(pretreat, tmp_path, site):  # noqa: F811
    by_file = site.replace("[site]\n", '[site]\nunits = "us"\n')
    words = quoted(pretreat, tmp_path, site, "--units", "us")
    assert words == quoted(pretreat, tmp_path, by_file)
    assert " kg" not in words
    assert "55 lb" not in words
    metric = quoted(pretreat, tmp_path, by_file, "--units", "si")
    assert metric == quoted(pretreat, tmp_path, site)
    assert " lb" not in metric


def test_liquids_are_sold_by_the_gallon(pretreat, tmp_path):  # noqa: F811
    """5 gal are 18.927 L: 22.712 kg, 50.1 lb of hypochlorite; 14.195 at 15.625 for 25 kg: 14.20."""
    words = quoted(pretreat, tmp_path, FEEDS, "--units", "us")
    assert "carboys of 5 gal (50.1 lb)" in words
    assert " 14.20 " in words


def test_a_liquid_of_the_list_by_volume(pretreat, tmp_path):  # noqa: F811
    """20 L of hypochlorite are 24 kg; 10 gal of acid of 93 %, 37.854 L, are 69.277 kg, 153 lb."""
    own = '[packages]\nchlorine = { size = "20 L", price = 19.5, package = "drum" }\n'
    words = quoted(pretreat, tmp_path, FEEDS.replace("[quote]", f"{own}[quote]").replace(PURE, ""))
    assert "drums of 20 L (24 kg)" in words
    assert " 19.50 " in words
    own = '[packages]\nacid = { size = "10 gal", price = 88 }\n'
    words = quoted(
        pretreat,
        tmp_path,
        FED.replace("[quote]", f"{own}[quote]").replace(PURE_ACID, ""),
        "--units",
        "us",
    )
    assert "10 gal (153 lb)" in words


def test_a_powder_has_no_volume(pretreat, tmp_path):  # noqa: F811
    powder = FEEDS.replace("[alkali]\n", '[alkali]\nbase = "soda_ash"\n')
    own = '[packages]\nalkali = "20 L"\n[quote]'
    (tmp_path / "w.csv").write_text(WATER, encoding="utf-8")
    (tmp_path / "a.toml").write_text(powder.replace("[quote]", own), encoding="utf-8")
    ended = pretreat("quote", "a.toml", "-o", "out", code=1)
    assert "it is a powder: write its weight" in ended.stderr
