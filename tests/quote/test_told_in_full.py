"""What a quote and its terminal tell in full: train, reasons, age, supplies, caution.

Sites, prices and the water are invented. Acid and permanganate: data/unsafe_trains.csv. That an
analysis older than two years is made anew: common practice, no source.
"""

import pytest

from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.test_plan_of_the_quote import SITE
from tests.quote.test_sold_and_priced import FED, SET, WATER, quoted

TRAIN = {
    "en": "The plant as designed: acid dosing, antiscalant dosing, cartridge filter.",
    "es": "La instalación según diseño: dosificación de ácido, dosificación de antiincrustante,",
    "de": "Die Anlage gemäß Auslegung: Säuredosierung, Dosierung von Antiscalant, Kerzenfilter.",
}
ACID = {"en": "acid into water, never water into acid", "es": "ácido sobre agua, nunca agua sobre",
        "de": "Säure ins Wasser, nie Wasser in die Säure"}  # fmt: skip
OLD = {"en": "more than two years old", "es": "más de dos años", "de": "älter als zwei Jahre"}


@pytest.mark.parametrize("tongue", TRAIN)
def test_train_and_caution_and_age(pretreat, tmp_path, tongue):  # noqa: F811
    words, row = quoted(pretreat, tmp_path, f'{FED}language = "{tongue}"\n')
    assert TRAIN[tongue] in words
    assert ACID[tongue] in words
    assert OLD[tongue] not in words
    assert "years old" not in row["message"]
    late = f'{FED}language = "{tongue}"\n'.replace("date = 2031", "date = 2033")
    words, row = quoted(pretreat, tmp_path, late)
    assert OLD[tongue] in words
    assert "the analysis is of 2031-03-04, more than 2 years old" in row["message"]


def test_age_counts_to_the_date_that_is_asked_for(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "w.csv").write_text(WATER, encoding="utf-8")
    (tmp_path / "a.toml").write_text(FED, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out", "--date", "2033-06-02")
    assert "more than 2 years old" in (tmp_path / "out" / "overview.csv").read_text("utf-8")


GAS = FED.replace('["acid", "inhibitor", "cartridge"]', '["permanganate", "iron_filter", "carbon", '
                  '"acid", "cartridge"]').replace("[prices]", "[prices]\npermanganate_per_kg = 7")  # fmt: skip


@pytest.mark.parametrize(
    ("tongue", "why"),
    [("en", "acid and permanganate in one train can give off chlorine gas"),
     ("es", "ácido y permanganato en una misma línea pueden desprender gas cloro"),
     ("de", "Säure und Permanganat in einer Anlage können Chlorgas abgeben")],
)  # fmt: skip
def test_a_draft_is_told_on_the_terminal_with_its_cause(pretreat, tmp_path, tongue, why):  # noqa: F811
    iron = WATER.replace("Iron,0.02", "Iron,1.2")
    (tmp_path / "w.csv").write_text(iron, encoding="utf-8")
    (tmp_path / "a.toml").write_text(f'{GAS}language = "{tongue}"\n', encoding="utf-8")
    done = pretreat("quote", "a.toml", "-o", "out")
    assert "Drafts, not to be sent as offers: 1 of 1" in done.stdout
    assert "acid and permanganate in one train can give off chlorine gas" in done.stdout
    words, row = quoted(pretreat, tmp_path, f'{GAS}language = "{tongue}"\n', water=iron)
    assert row["status"] == "draft"
    assert why in words


def test_no_draft_no_word_of_drafts(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "w.csv").write_text(WATER, encoding="utf-8")
    (tmp_path / "a.toml").write_text(FED, encoding="utf-8")
    assert "raft" not in pretreat("quote", "a.toml", "-o", "out").stdout


def test_supplies_of_the_customer_have_amounts(pretreat, tmp_path):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, f'{FED}{SET}consumables = "none"\n')
    provided = words.partition("provided by you: supplies of the year: ")[2]
    assert "Antiscalant, " in provided
    assert " kg as delivered" not in provided.partition("Please note")[0]
    assert " pieces" in provided
    words, _ = quoted(
        pretreat, tmp_path, SITE.replace('consumables = "included"', 'consumables = "none"')
    )
    assert "Regeneration salt is counted for" in words


def test_visits_without_a_price_are_named(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "w.csv").write_text(WATER, encoding="utf-8")
    site = FED.replace("visits_per_year = 0", "visits_per_year = 3")
    (tmp_path / "a.toml").write_text(site, encoding="utf-8")
    assert "Service visit" in pretreat("quote", "a.toml", "-o", "out").stderr


def test_work_on_a_medium_that_is_not_sold_is_named(pretreat, tmp_path):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, SITE.replace("resin_per_l = 4\n", ""))
    assert "In the total all the same, though the medium is not: Labour: emptying" in words
    words, _ = quoted(pretreat, tmp_path, SITE)
    assert "though the medium is not" not in words
