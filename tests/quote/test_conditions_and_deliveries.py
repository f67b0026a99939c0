"""Conditions of the verdict and deliveries of a year as a customer reads them.

Pallets of 1,000 kg with 40 bags of 25 kg and 24 of them on a truck: common practice, no source.
"""

import pytest
from msgspec.structs import replace

from pretreat.core.basis import Series
from pretreat.core.results import Ledger
from pretreat.core.tables import rows
from pretreat.plant.verdict import equipment, obstacles
from pretreat.plant.verdict.case import GAP, Obstacle, Unjudged, VerdictCase
from pretreat.plant.verdict.rules import verdict
from pretreat.quote.offer_laws import deliveries_of_year, pallets_of_delivery, pallets_of_year
from pretreat.report.hand.quote_conditions import FURTHER, conditions, subjects_of
from pretreat.report.hand.quote_print import even_start
from pretreat.report.hand.quote_words import said_in, words_of
from pretreat.report.text.us_words import in_us_words, package_in_us_words

SUBJECTS = set(said_in("en")["points"])
CODES = (
    obstacles.CONDITIONS | obstacles.GRAVE | obstacles.UNSAFE | obstacles.STOPS | obstacles.PILOT
    | obstacles.UNKNOWN | obstacles.QUESTIONS | obstacles.DOUBTS | obstacles.OF_MEMBRANES
    | equipment.SEEN_TO | equipment.WEARS | {obstacles.HEALTH, GAP}
)  # fmt: skip
CASE = VerdictCase(0.6, (), {"low": 0.9, "likely": 0.9, "high": 0.9},
                   kept={"low": 1.0, "likely": 1.0, "high": 1.0})  # fmt: skip


def test_every_condition_has_a_sentence_of_its_own():
    table = rows("quote_conditions.csv")
    assert {row["subject"] for row in table} <= SUBJECTS
    assert {code for code in CODES if subjects_of(code, "") == (FURTHER,)} == set()
    classes = {row["class"] for row in rows("other_classes.csv")}
    assert {kind for kind in classes if subjects_of(kind, "") == (FURTHER,)} == set()


def test_what_a_train_needs_is_told_by_what_it_says():
    for row in rows("train_options.csv"):
        if row["needs"]:
            assert "revised" not in subjects_of("train_needs", row["needs"]), row["key"]


def study_with(answer, found, **numbers):
    ledger = Ledger()
    ledger.put("verdict.answer", answer, "-", "Verdict")
    ledger.put("verdict.quote_sentence", "By the analysis ...", "-", "On the quote")
    for key, value in numbers.items():
        ledger.put(key.replace("__", "."), value, "-", key)
    if found:
        ledger.table(Series("quote.conditions", "c", ("code", "reason"), ("-", "-"), found))
    return ledger.study()


@pytest.mark.parametrize("language", ["en", "es", "de"])
def test_conditions_are_printed_in_the_words_of_a_customer(language):
    case = replace(CASE, obstacles=(Obstacle("condition", "pump of 7 m3/h; x", code="pump_too_small"),
                                    Obstacle("condition", "well", code="well_too_small")),
                   unjudged=(Unjudged("barite", "barium", False),))  # fmt: skip
    found = verdict(case)
    assert found.answer == "fits with conditions"
    assert [code for code, _ in found.conditions] == ["pump_too_small", "well_too_small", GAP]
    said = conditions(study_with(found.answer, found.conditions), words_of(language))
    words = said_in(language)["points"]
    assert said.count(words["supply"]) == 1
    assert words["analysis"] in said
    assert "m3/h" not in said
    assert "_" not in said


def test_an_open_verdict_says_where_the_machine_starts():
    study = study_with("depends", (), verdict__card_recovery=0.529, machine__recovery=0.6)
    assert "52 %" in conditions(study, words_of("en"))
    fits = study_with("fits with conditions", (), verdict__card_recovery=0.6, machine__recovery=0.6)
    assert conditions(fits, words_of("en")) == ""


@pytest.mark.parametrize(
    ("bags", "visits", "expected"),
    [
        (9261.0, 4.0, (232.0, 10.0, 24.0)),
        (898.0, 6.0, (23.0, 6.0, 4.0)),
        (41.0, 1.0, (2.0, 1.0, 2.0)),
    ],
)
def test_pallets_and_deliveries_by_hand(bags, visits, expected):
    pallets = pallets_of_year(bags, 25.0, 1000.0)
    times = deliveries_of_year(pallets, visits, 24.0)
    assert (pallets, times, pallets_of_delivery(pallets, times)) == expected


@pytest.mark.parametrize(
    ("size", "shown"),
    [("25 kg", "55 lb"), ("14 L", "0.5 ft3"), ("25 L", "0.9 ft3"), ("1 ft3", "1 ft3"), ("0.3 L", "0.0106 ft3")],
)  # fmt: skip
def test_packages_in_sizes_of_the_trade(size, shown):
    assert package_in_us_words(size) == shown
    assert in_us_words(f"3 bags of {size}") == f"3 bags of {shown}"


@pytest.mark.parametrize(
    ("end", "expected"),
    [((2, 200.0), None), ((1, 60.0), None), ((2, 40.0), 1), ((2, 90.0), 2)],
)
def test_the_last_page_of_a_quote_is_not_nearly_empty(end, expected):
    parts = [(1, 60.0), (1, 140.0), (1, 200.0), (2, 20.0)]
    assert even_start(parts, [(1, 250.0)], end, (20.0, 260.0)) == expected
