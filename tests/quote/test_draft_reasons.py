"""What a draft says of itself: its own reasons, and never that a recovery within reach is not.

The words are for a customer: common practice, no source.
"""

import pytest
from msgspec.structs import replace

from pretreat.core.basis import Series
from pretreat.core.results import Ledger
from pretreat.core.tables import rows
from pretreat.plant.verdict.case import Obstacle, Unjudged, VerdictCase
from pretreat.plant.verdict.quote_words import quote_sentence
from pretreat.plant.verdict.rules import verdict as judged
from pretreat.report.hand.quote_conditions import draft_reasons
from pretreat.report.hand.quote_sentences import verdict
from pretreat.report.hand.quote_words import said_in, words_of

CASE = VerdictCase(0.6, (), {"low": 0.9, "likely": 0.9, "high": 0.9},
                   kept={"low": 1.0, "likely": 1.0, "high": 1.0})  # fmt: skip


def study_of(case, **more):
    found, ledger = judged(case), Ledger()
    sentence = quote_sentence(found.answer, "2031-04-02", case.recovery, case.nominal["likely"])
    for key, value in {
        "verdict.answer": found.answer, "verdict.quote_sentence": sentence,
        "water.date": "2031-04-02", "machine.recovery": case.recovery,
        **{key.replace("__", "."): value for key, value in more.items()},
    }.items():  # fmt: skip
        ledger.put(key, value, "-", key)
    if found.grave:
        ledger.table(Series("quote.against", "a", ("code", "reason"), ("-", "-"), found.grave))
    return ledger.study()


STOPS = {
    "supply": Obstacle("stops", "pump of 7 m3/h", code="pump_below_feed"),
    "foulants": Obstacle("unknown", "iron + manganese is 0.91 mg/L", code="membrane_feed"),
    "missing": Obstacle("stops", "carbon: not installed, though asked for", code="stage_missing"),
}


@pytest.mark.parametrize("language", ["en", "es", "de"])
@pytest.mark.parametrize("subject", STOPS)
def test_a_draft_gives_its_own_reason(language, subject):
    study = study_of(replace(CASE, obstacles=(STOPS[subject],)))
    words = said_in(language)
    said = draft_reasons(study, words_of(language))
    assert words["reasons"][subject].format(stage=words["stages"]["carbon"]) in said
    assert "m3/h" not in said


@pytest.mark.parametrize(("most", "reached"), [(0.9, True), (0.41, False)])
def test_a_recovery_within_reach_is_not_said_to_be_missed(most, reached):
    """60 % is within 90 % and not within 41 %, whatever else is wrong."""
    case = replace(CASE, nominal=dict.fromkeys(CASE.nominal, most), obstacles=(STOPS["supply"],))
    for language, within, missed in (
        ("en", "lies within it", "not reached"), ("es", "queda por debajo", "no se alcanza"),
        ("de", "liegen darunter", "nicht erreicht"),
    ):  # fmt: skip
        said = verdict(study_of(case), words_of(language))
        assert (within in said) is reached
        assert (missed in said) is not reached


def test_what_the_analysis_lacks_is_named_once():
    case = replace(CASE, unjudged=(Unjudged("barite", "barium and sulfate", True),
                                   Unjudged("gypsum", "sulfate", True)))  # fmt: skip
    study = study_of(case)
    assert "lacks barium and sulfate, which" in draft_reasons(study, words_of("en"))
    assert "fehlen Barium und Sulfat;" in draft_reasons(study, words_of("de"))


def test_an_accepted_verdict_leaves_nothing_to_be_settled():
    case = replace(CASE, unjudged=(Unjudged("barite", "barium", True),))
    assert "still to be settled" in verdict(study_of(case), words_of("en"))
    said = verdict(study_of(case, offer__accept_verdict="yes"), words_of("en"))
    assert "still to be settled" not in said
    assert "does not promise 60 %" in said
    assert "2 April 2031" in said


def test_every_subject_has_a_reason_and_no_date_is_made_up():
    assert {row["subject"] for row in rows("quote_conditions.csv")} <= set(said_in("en")["reasons"])
    assert "bears no date" not in str(quote_sentence("depends", "", 0.6, 0.7))
