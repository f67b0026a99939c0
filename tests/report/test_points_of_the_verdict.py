"""Every point of the verdict stands whole, and is counted alike, on front page, card and sheet."""

import io
import re

import openpyxl
import pytest

from pretreat.report import workbook_bytes
from pretreat.stages import trains_in_words
from tests.report.test_pressure_of_the_card import study_of

# Many conditions: a pressure too low, a small pump, dirt on the elements, the product.
MUCH = 'feed_pressure = "3 bar"\nvessel_pressure = "21 bar"'
SUPPLY = (
    '[supply]\npump_flow = "0.5 m3/h"\nwell_yield = "3 m3/h"\nraw_tank_volume = "2 m3"\n[product]'
)


@pytest.fixture(name="study", scope="module")
def study_fixture(tmp_path_factory):
    from pretreat import size

    folder = tmp_path_factory.mktemp("points")
    study_of(folder, 0.5, MUCH)
    site = folder / "site.toml"
    text = site.read_text(encoding="utf-8").replace("[product]", SUPPLY)
    site.write_text(text.replace('"process"', '"drinking"'), encoding="utf-8")
    return size(site, draws=128)


def cells(study, name, **how):
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(study, **how)), data_only=True)
    return [c.value for row in book[name].iter_rows() for c in row if isinstance(c.value, str)]


def points(study):
    table = study.series["verdict.decides"]
    return [*zip(table.column("is"), table.column("text"), strict=True)]


def same(text):
    return text.strip("\u2013 ").lower()


def test_the_front_page_has_every_point_whole_or_says_how_many_are_left(study):
    every = points(study)
    asked = sum(is_a == "condition" for is_a, _ in every)
    assert asked >= 3
    front = {same(text) for text in cells(study, "Summary")}
    there = [text for _, text in every if same(trains_in_words(text)) in front]
    assert there == [text for _, text in every][: len(there)]
    left = len(every) - len(there)
    more = [text for text in front if re.match(r"and \d+ more", text)]
    if left:
        assert more == [f"and {left} more: see the sheet verdict, {asked} conditions in all"]
    else:
        assert more == []


def test_the_sheet_verdict_lists_what_is_counted(study):
    listed = {same(text) for text in cells(study, "Verdict")}
    assert all(same(trains_in_words(text)) in listed for _, text in points(study))


def test_the_card_names_whole_conditions_and_the_same_count(study):
    every = points(study)
    conditions = [text for is_a, text in every if is_a == "condition"]
    why = str(study.value("settings.order_why"))
    if str(study.value("verdict.answer")) == "fits with conditions":
        assert any(text in why for text in conditions)
        counted = re.search(r"all (\d+) conditions stand on the sheet Verdict", why)
        assert counted is not None
        assert int(counted[1]) == len(conditions)


def test_what_the_verdict_says_in_short_is_its_points(study):
    said = str(study.value("verdict.reasons"))
    assert said == "; ".join(text for _, text in points(study))


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        (
            "softener + cartridge + neutralising_filter",
            "softener + cartridge filter + neutralising filter",
        ),
        ("dropped: acid + inhibitor, at 60 %", "dropped: acid feed + inhibitor dosing, at 60 %"),
        ("carbon + product_alkali; blending", "carbon + alkali feed into the product; blending"),
    ],
)
def test_a_train_is_named_as_the_trade_does_once(keys, words):
    assert trains_in_words(keys) == words
    assert trains_in_words(words) == words


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ("softener + bypass + carbon", "softener + softener bypass + carbon"),
        ("carbon + cartridge filter", "carbon + cartridge filter"),
        ("iron_filter + bypass", "iron filter + softener bypass"),
    ],
)
def test_a_train_is_named_once_and_stays_named(keys, words):
    assert trains_in_words(keys) == words
    assert trains_in_words(words) == words
