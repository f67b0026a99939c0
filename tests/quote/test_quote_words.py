"""Every language says everything, with the same blanks to fill in; and the water's sentence."""

import re

import pytest

from pretreat.cli.quote_job import Order, numbered
from pretreat.core.results import Ledger
from pretreat.report.hand.quote_sentences import verdict
from pretreat.report.hand.quote_words import LANGUAGES, said_in, words_of
from pretreat.stages.packages import packages

WORDS = {language: said_in(language) for language in LANGUAGES}
NOT_SOLD = {"water", "drain", "energy", "downtime"}


def _flat(table, lead=""):
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{key}.")
        else:
            yield lead + key, value


@pytest.mark.parametrize("language", ["es", "de"])
def test_a_language_lacks_nothing(language):
    english, other = dict(_flat(WORDS["en"])), dict(_flat(WORDS[language]))
    assert set(english) == set(other)
    for key, text in english.items():
        assert set(re.findall(r"{\w+}", text)) == set(re.findall(r"{\w+}", other[key])), key
        assert other[key].strip(), key


def test_everything_that_is_sold_has_a_name():
    named = set(WORDS["en"]["items"])
    assert {key for key in packages() if key not in NOT_SOLD} <= named
    assert {p.package for key, p in packages().items() if p.size and key not in NOT_SOLD} <= set(
        WORDS["en"]["packages"]
    )


@pytest.mark.parametrize(
    ("value", "en", "de"),
    [(1234567.891, "1,234,567.89", "1.234.567,89"), (0.5, "0.50", "0,50")],
)
def test_money_is_written_as_the_language_does(value, en, de):
    assert words_of("en").money(value) == en
    assert words_of("de").money(value) == de


def test_a_price_shows_the_decimals_that_it_has():
    assert [words_of("en").price(x) for x in (8.325, 86.375, 7.5, 0.0625)] == [
        "8.325", "86.375", "7.50", "0.0625",
    ]  # fmt: skip


@pytest.mark.parametrize("answer", ["depends", "does not fit", "fits with conditions"])
@pytest.mark.parametrize("language", ["en", "es", "de"])
def test_the_sentence_on_the_water_in_each_language(answer, language):
    ledger = Ledger()
    said = "By the analysis of 2031-04-02 the maximum recovery is 58 %; and so on."
    for key, text in (("verdict.quote_sentence", said), ("verdict.answer", answer),
                      ("water.date", "2031-04-02"), ("water.source", "lab.csv")):  # fmt: skip
        ledger.put(key, text, "-", key)
    ledger.put("machine.recovery", 0.65, "-", "recovery")
    found = verdict(ledger.study(), words_of(language))
    assert "58 %" in found
    in_words = said.replace("2031-04-02", "2 April 2031")  # the date as the page writes it
    assert (found == in_words) is (language == "en")
    assert language == "en" or "65 %" in found
    assert language == "en" or "2031" in found


def test_numbers_go_on_from_the_quotes_of_the_folder(tmp_path):
    orders = [Order(name, name, {}, tmp_path, (), name, n) for n, name in ((1, "Mill"), (2, "Inn"))]
    assert [o.number for o in numbered(orders, tmp_path / "new")[0]] == [1, 2]
    for name in ("mill", "Farm", "School"):
        (tmp_path / f"{name}.pdf").write_bytes(b"%PDF")
    found, others = numbered(orders, tmp_path)
    assert ([o.number for o in found], others) == ([3, 4], 2)  # Mill is written again
