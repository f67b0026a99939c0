"""Packages and pallets of the user, the date of a test kit, who does what, and filters of water drunk.

Sizes and densities: common practice, no source. Conversions: NIST SP 811 (1 lb = 0.45359237 kg,
1 ft3 = 28.316847 L, 1 US gal = 3.785412 L); 1 degree dH is 10 mg/L of CaO (17.848 mg/L of CaCO3).
"""

import openpyxl
import pytest

from pretreat.core.basis import Series
from pretreat.core.errors import DesignError
from pretreat.core.results import Ledger
from pretreat.core.units import unit_shown, us_customary
from pretreat.page.site_form import with_changes
from pretreat.report.hand.quote_conditions import conditions
from pretreat.report.hand.quote_sentences import verdict
from pretreat.report.hand.quote_words import words_of as language
from pretreat.report.text.us_words import in_us_words
from pretreat.site.quote_keys import read_packages
from pretreat.stages.softener.keys import SoftenerDesign
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import words_of
from tests.quote.test_plan_of_the_quote import SITE

LB, FT3 = 0.45359237, 28.316846592


def quoted(pretreat, tmp_path, site, *more):  # noqa: F811
    (tmp_path / "a.toml").write_text(site, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out", *more)
    return words_of(tmp_path / "out" / "a.pdf")


@pytest.mark.parametrize(
    ("item", "typed", "size"),
    [("calcite", "40 lb", 40 * LB / 1.47), ("carbon", "20 kg", 40.0), ("calcite", "0.5 ft3", FT3 / 2),
     ("gravel", "80 lb", 80 * LB), ("resin", "0.5 ft3", FT3 / 2)],
)  # fmt: skip
def test_a_package_by_weight_or_by_volume(item, typed, size, tmp_path):
    found, _ = read_packages({item: typed}, tmp_path)
    (package,) = found.values()
    assert package.size == pytest.approx(size, rel=1e-6)
    assert package.shown == typed


def test_a_resin_is_not_sold_by_weight(tmp_path):
    with pytest.raises(DesignError, match="cannot be read in L"):
        read_packages({"resin": "30 lb"}, tmp_path)


def test_a_package_in_the_form_of_the_page():
    text, refused = with_changes("[packages]\n", {"packages.calcite": "40 lb"}, "us")
    assert not refused
    assert 'calcite = "40 lb"' in text
    _, refused = with_changes("[packages]\n", {"packages.resin": "40 lb"}, "us")
    assert "cannot be read in L" in refused["packages.resin"]


def test_a_site_in_us_units_buys_in_us_sizes(pretreat, tmp_path):  # noqa: F811
    """The vessels of the site hold 3 ft3 of resin and 4 ft3 of carbon."""
    us = SITE.replace('name = "Larch Yard"', 'name = "Larch Yard"\nunits = "us"')
    words = quoted(pretreat, tmp_path, us)
    for text in ("bags of 50 lb", "bags of 1 ft³", "2 x 55"):
        assert (text in words) is not text.startswith("2 x")
    assert "of 55 lb" not in words
    assert "bags of 25 kg" in quoted(pretreat, tmp_path, SITE)


def test_the_load_of_a_pallet_and_no_word_of_trucks(pretreat, tmp_path):  # noqa: F811
    much = SITE.replace("hours_per_day = 8", "hours_per_day = 22")
    few = quoted(pretreat, tmp_path, much.replace("[quote]", '[quote]\npallet_load = "400 kg"'))
    many = quoted(pretreat, tmp_path, much.replace("[quote]", '[quote]\npallet_load = "800 kg"'))
    count = [int(text.partition(" a year come on ")[2].split()[0]) for text in (few, many)]
    assert count[0] in {2 * count[1], 2 * count[1] - 1}
    assert "truck" not in few


def test_what_staff_do_is_said_once(pretreat, tmp_path):  # noqa: F811
    words = quoted(pretreat, tmp_path, SITE)
    ours = words.partition("At each visit we do this: ")[2].partition(".")[0]
    staff = words.partition("and we check it at each visit: ")[2].partition(".")[0]
    assert "test the hardness" in ours
    assert "change the filter cartridges" in staff
    assert not set(ours.split(", ")) & set(staff.split(", "))
    assert words.count("change the filter cartridges") == 1
    assert words.count("fill up salt") == 1


def test_the_date_of_a_test_kit(pretreat, tmp_path):  # noqa: F811
    dated = SITE.replace("[water]", "[water]\nsampled = 2030-11-23")
    words = quoted(pretreat, tmp_path, dated)
    assert "Based on test-kit values of 23 November 2030" in words
    assert "By the readings of the test kit of 23 November 2030" in words
    pretreat("rate", "a.toml", "-o", "a.xlsx")
    cells = {
        str(c.value) for s in openpyxl.load_workbook(tmp_path / "a.xlsx") for r in s for c in r
    }
    assert any("2030-11-23" in text for text in cells)


def test_the_date_of_a_kit_that_knows_no_ph(pretreat, tmp_path):  # noqa: F811
    site = SITE.replace("[water]", "[water]\nsampled = 2030-11-23").replace("ph = 7.5\n", "")
    assert "Based on test-kit values of 23 November 2030" in quoted(pretreat, tmp_path, site)


def test_a_date_that_is_none_is_refused(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "a.toml").write_text(SITE.replace("[water]", '[water]\nsampled = "May"'))
    result = pretreat("quote", "a.toml", "-o", "out", code=1)
    assert "sampled" in str(result)


@pytest.mark.parametrize(("target", "told"), [("drinking", True), ("process", False)])
def test_filters_of_water_that_is_drunk_are_disinfected(pretreat, tmp_path, target, told):  # noqa: F811
    words = quoted(pretreat, tmp_path, f'{SITE}[product]\ntarget = "{target}"\n')
    assert ("free of coliform bacteria" in words) is told
    assert ("flushed to the drain until the water runs clear" in words) is told


def open_study(kept, reasons=(("not_measured", "x"),)):
    ledger = Ledger()
    for key, value in (
        ("verdict.answer", "depends"),
        (
            "verdict.quote_sentence",
            "By the analysis given the maximum recovery is 71 %; whether ...",
        ),
        ("machine.recovery", 0.68),
        ("verdict.card_recovery", kept),
    ):
        ledger.put(key, value, "-", key)
    if reasons:
        ledger.table(Series("quote.conditions", "c", ("code", "reason"), ("-", "-"), reasons))
    return ledger.study()


@pytest.mark.parametrize("name", ["en", "es", "de"])
def test_an_offer_leaves_no_recovery_to_be_settled(name):
    words = language(name)
    said = verdict(open_study(0.55), words, draft=False)
    assert "55 %" in said
    assert "68 %" in said
    assert "55 %" not in conditions(open_study(0.55), words, draft=False)
    unknown = verdict(open_study(None), words, draft=False)
    assert "68 %" in unknown
    for one in (said, unknown, verdict(open_study(None, ()), words, draft=False)):
        for open_word in ("settled", "aclarar", "klären"):
            assert open_word not in one


def test_hardness_in_degrees_for_a_german_reader():
    assert language("de").hardness(196.3) == "196 mg/L als CaCO3 (11 °dH)"
    assert language("en").hardness(196.3) == "196 mg/L as CaCO3"


@pytest.mark.parametrize(
    ("choices", "kept"),
    [({"control": "meter", "arrangement": "duplex"}, 0.1),
     ({"control": "meter", "arrangement": "duty-standby", "vessels": 3}, 0.1),
     ({"control": "calendar", "arrangement": "duplex"}, 0.2),
     ({"control": "meter"}, 0.2),
     ({"control": "meter", "arrangement": "parallel"}, 0.2),
     ({"control": "meter", "arrangement": "duplex", "reserve": 0.05}, 0.05)],
)  # fmt: skip
def test_the_reserve_follows_the_control(choices, kept):
    """Common practice, no source: 20 to 30 % for a clock or one vessel, 0 to 10 % metered duplex."""
    assert SoftenerDesign(**choices).kept_reserve == kept


def test_a_solution_in_pounds_a_gallon_and_salt_by_the_cubic_foot():
    """120 g/L are 120 x 3.785412 / 453.59237 = 1.0014 lb/gal, and 7.49 lb/ft3 of resin."""
    solution = us_customary(120.0, unit_shown("inhibitor.solution_g_l", "g/L"))
    assert solution[1] == "lb/gal"
    assert solution[0] == pytest.approx(1.0014, abs=1e-4)
    salt = us_customary(120.0, unit_shown("softener.salt_dose_g_l", "g/L"))
    assert salt[1] == "lb/ft3"
    assert salt[0] == pytest.approx(7.49, abs=0.01)
    assert "solution of 1 lb/gal is" in in_us_words(
        "[inhibitor] solution of 120 g/L is stronger than it is"
    )
