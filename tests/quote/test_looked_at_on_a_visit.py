"""What is looked at on a visit, tanks in round figures, and what is not told of a water not known.

Tasks of dosing, and that carbon goes by its age: common practice, no source. 3.785411784 L to a
gallon: NIST SP 811. Sites and prices are invented.
"""

import datetime

import pytest

from pretreat.report.hand.quote_words import words_of as language
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.test_sold_and_priced import FED, WATER, quoted

VISITED = FED.replace("visits_per_year = 0", "visits_per_year = 2")
CHLORINATED = VISITED.replace(
    '["acid", "inhibitor", "cartridge"]', '["chlorine", "iron_filter", "carbon", "cartridge"]'
).replace("[prices]", '[iron_filter]\nregeneration = "continuous"\n[prices]')
IRON = WATER.replace("Iron,0.02", "Iron,1.4")
UNKNOWN = """
[site]
name = "Hollin Barn"
[machine]
product_flow = "400 L/h"
recovery = 0.6
hours_per_day = 8
[softener]
vessel = "12x52"
[carbon]
vessel = "12x52"
[prices]
currency = "EUR"
resin_per_l = 4
carbon_per_l = 2
freight = 90
[quote]
customer = "Hollin Barn"
date = 2031-05-14
visits_per_year = 1
"""


def in_tongue(site, tongue):
    return f'{site}language = "{tongue}"\n'


@pytest.mark.parametrize(
    ("tongue", "acid", "pump"),
    [
        (
            "en",
            "measure the pH behind the dosing and check its probe",
            "stroke of each dosing pump",
        ),
        ("es", "medir el pH tras la dosificación", "la carrera de cada bomba dosificadora"),
        ("de", "pH nach der Dosierung messen", "Hub jeder Dosierpumpe"),
    ],
)
def test_acid_and_inhibitor_are_looked_at(pretreat, tmp_path, tongue, acid, pump):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, in_tongue(VISITED, tongue))
    assert acid in words
    assert pump in words
    assert not [chlorine for chlorine in ("test chlorine", "Chlor ", "cloro") if chlorine in words]


@pytest.mark.parametrize(
    ("tongue", "chlorine", "neat"),
    [
        ("en", "test free chlorine behind the dosing and behind what takes it out", "undiluted, "),
        ("es", "medir el cloro libre tras la dosificación y tras la etapa", "sin diluir, "),
        ("de", "freies Chlor nach der Dosierung und nach der Stufe messen", "unverdünnt, "),
    ],
)
def test_hypochlorite_is_tested_and_neat(pretreat, tmp_path, tongue, chlorine, neat):  # noqa: F811
    """Fed as delivered, some litres a week: they size no tank."""
    words, _ = quoted(pretreat, tmp_path, in_tongue(CHLORINATED, tongue), water=IRON)
    assert chlorine in words
    fed = words.partition(neat)[2].partition(".")[0]
    assert fed
    assert " L" not in fed


def test_a_diluted_solution_has_a_tank_in_two_digits(pretreat, tmp_path):  # noqa: F811
    weak = CHLORINATED.replace("[prices]", '[chlorine]\nsolution = "5 g/L"\n[prices]')
    words, _ = quoted(pretreat, tmp_path, weak, water=IRON)
    fed = words.partition("Fed from solution tanks: ")[2].partition(".")[0]
    assert "undiluted" not in fed
    size = fed.partition("in a tank of at most ")[2].removesuffix(" L")
    assert len(size.rstrip("0")) <= 2
    assert float(size) >= 10.0


def test_chlorine_after_carbon_only_where_there_is_some(pretreat, tmp_path):  # noqa: F811
    vessel = '["acid", "inhibitor", "cartridge"]', '["carbon", "cartridge"]'
    words, _ = quoted(pretreat, tmp_path, VISITED.replace(*vessel))
    assert "read pressures" in words
    assert "chlorine after" not in words
    brought = '[carbon]\nfree_chlorine = "0.5 mg/L"\n[prices]'
    site = VISITED.replace(*vessel).replace("[prices]", brought)
    words, _ = quoted(pretreat, tmp_path, site)
    assert "test chlorine after the carbon" in words


def test_pink_is_looked_for_behind_permanganate(pretreat, tmp_path):  # noqa: F811
    train = '["acid", "inhibitor", "cartridge"]', '["iron_filter", "cartridge"]'
    words, _ = quoted(pretreat, tmp_path, VISITED.replace(*train), water=IRON)
    assert "look for pink water after the filter" in words


def test_tanks_are_rounded_up_to_two_digits():
    """684 L hold in 690, 16.5 in 17; 100 L are 26.4 gal, 4 L 1.06 gal."""
    words, us = language("en"), language("en", us=True)
    assert [words.tank(litres) for litres in (684.0, 16.5, 60.0)] == ["690 L", "17 L", "60 L"]
    assert [us.tank(litres) for litres in (100.0, 4.0)] == ["27 gal", "1.1 gal"]


@pytest.mark.parametrize(
    ("tongue", "depends", "left"),
    [
        ("en", "When these are next replaced depends on the water", "supplies of a year, as no"),
        ("es", "La fecha de la próxima sustitución depende", "suministros de un año, porque"),
        ("de", "Wann das nächste Mal ausgetauscht wird", "Verbrauchsmaterial eines Jahres, da"),
    ],
)
def test_a_water_not_known_gives_no_dates_and_no_supplies(
    pretreat,  # noqa: F811
    tmp_path,
    tongue,
    depends,
    left,
):
    words, row = quoted(
        pretreat, tmp_path, in_tongue(f'{UNKNOWN}consumables = "included"\n', tongue)
    )
    assert depends in words
    assert "2035" not in words  # four years from 2031
    assert "2033" in words  # carbon, two years at most
    assert left in words
    assert "no water analysis is known" in row["message"]
    words, row = quoted(pretreat, tmp_path, in_tongue(UNKNOWN, tongue), "b")
    assert left not in words
    assert "no water analysis is known" not in row["message"]


def test_the_terminal_says_that_supplies_are_left_out(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "a.toml").write_text(f'{UNKNOWN}consumables = "included"\n', encoding="utf-8")
    result = pretreat("quote", "a.toml", "-o", "out")
    assert 'supplies of a year (consumables = "included") are not included' in result.stderr


def test_resin_alone_on_a_water_not_known_has_no_usual_life(pretreat, tmp_path):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, UNKNOWN.replace('[carbon]\nvessel = "12x52"\n', ""))
    assert "Next replacement expected" not in words
    assert "How long the media last depends on the water" in words
    assert "usual values of the trade" not in words


@pytest.mark.parametrize(
    ("tongue", "said"), [("en", "July 2031"), ("es", "julio de 2031"), ("de", "Juli 2031")]
)
def test_month_and_year(tongue, said):
    """The school grammar of each language."""
    assert language(tongue).month(datetime.date(2031, 7, 2)) == said
