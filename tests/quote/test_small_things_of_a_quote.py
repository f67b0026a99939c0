"""Small things that make a quote read as if it had been written for its reader.

Plurals: the school grammar of each language. 3.785411784 L to a gallon: NIST SP 811. The rest is
common practice, no source. Sites and prices are invented.
"""

import pytest

from pretreat.report.hand.quote_print import NO_BREAK, kept_together
from pretreat.report.hand.quote_words import words_of as language
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.test_nothing_left_to_change import PLANNED
from tests.quote.test_plan_of_the_quote import SITE
from tests.quote.test_sold_and_priced import FED, SET, quoted


@pytest.mark.parametrize(
    ("tongue", "one", "many"),
    [
        ("es", "saco", "sacos"),
        ("es", "Garrafa", "garrafas"),
        ("es", "garrafón", "garrafones"),
        ("es", "tambor", "tambores"),
        ("es", "bidón", "bidones"),
        ("de", "Sack", "Säcke"),
        ("de", "Eimer", "Eimer"),
        ("de", "Oktabin", "Oktabin"),
        ("en", "keg", "kegs"),
        ("en", "pouch", "pouches"),
        ("en", "ton (short)", "ton (short)"),
    ],
)
def test_many_packages_of_the_price_list(tongue, one, many):
    words = language(tongue)
    assert words.counted(1.0, one).endswith(one)
    assert words.package(one, 5.0) == many


def test_a_tank_is_told_in_gallons(pretreat, tmp_path):  # noqa: F811
    """100 L are 26.4 gal, two digits and up."""
    assert language("en", us=True).tank(100.0) == "27 gal"
    assert language("en").tank(100.0) == "100 L"
    words, _ = quoted(pretreat, tmp_path, FED.replace("[site]\n", '[site]\nunits = "us"\n'))
    fed = words.partition("Fed from solution tanks: ")[2].partition("Description")[0]
    assert " gal" in fed
    assert "ft³" not in fed


@pytest.mark.parametrize(
    ("tongue", "title"),
    [
        ("en", "Goods and services for the water treatment as designed, with the first filling"),
        ("es", "Suministros y servicios para el tratamiento de agua según diseño, con la primera"),
        ("de", "Lieferungen und Leistungen für die Wasseraufbereitung gemäß Auslegung, mit der"),
    ],
)
def test_a_new_plant_with_own_lines_is_more_than_a_filling(pretreat, tmp_path, tongue, title):  # noqa: F811
    own = 'lines = [{ text = "Mineral tank", price = 900 }]\n'
    words, _ = quoted(pretreat, tmp_path, f'{PLANNED}language = "{tongue}"\n{own}')
    assert title in words
    words, _ = quoted(pretreat, tmp_path, f'{PLANNED}language = "{tongue}"\n')
    assert title not in words


def test_a_rate_of_an_option_alone_stands_in_the_column(pretreat, tmp_path):  # noqa: F811
    """Salt at 7 % is an option: each line has its rate in a column, and no row says it in words."""
    terms = 'language = "de"\ntax_percent = { default = 19, salt = 7 }\n'
    options = SITE.replace('consumables = "included"', 'consumables = "optional"')
    words, _ = quoted(pretreat, tmp_path, options + terms)
    total, _, beside = words.partition("Optional, nicht im Gesamtbetrag")
    assert "USt. %" in total
    assert " 7 " in beside
    assert "(Umsatzsteuer" not in words


def test_a_rate_stands_on_one_line():
    assert kept_together("Salz (Umsatzsteuer 7 %)").count(NO_BREAK) == 2
    assert NO_BREAK not in kept_together("Salz (zwei Sorten)")


def test_options_that_begin_a_page_have_heads(pretreat, tmp_path):  # noqa: F811
    own = ", ".join(f'{{ text = "Item {n}", price = {n} }}' for n in range(1, 26))
    terms = 'consumables = "optional"\nlines = [' + own + "]\n"
    site = SITE.replace('consumables = "included"\n', "")
    words, _ = quoted(pretreat, tmp_path, site + terms)
    assert words.count("Description") == 2
    words, _ = quoted(pretreat, tmp_path, f'{FED}{SET}consumables = "optional"\n')
    assert "Optional, not in the total" in words
    assert words.count("Description") == 1


@pytest.mark.parametrize(
    ("tongue", "parts"),
    [
        ("en", "where you have not the room for it, we deliver it in parts"),
        ("es", "si no tiene sitio para ello, lo entregamos en partes"),
        ("de", "fehlt Ihnen der Platz dafür, liefern wir in Teilen"),
    ],
)
def test_salt_of_a_year_may_come_in_parts(pretreat, tmp_path, tongue, parts):  # noqa: F811
    site = SITE.replace("visits_per_year = 4", "visits_per_year = 1")
    site = site.replace("hours_per_day = 8", "hours_per_day = 1")
    words, _ = quoted(pretreat, tmp_path, f'{site}language = "{tongue}"\n')
    assert parts in words


def test_a_household_has_no_staff(pretreat, tmp_path):  # noqa: F811
    for tongue, staff in (("en", "staff"), ("es", "personal hace"), ("de", "Personal erledigt")):
        words, _ = quoted(pretreat, tmp_path, f'{SITE}language = "{tongue}"\n')
        assert staff not in words
