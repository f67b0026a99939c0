"""What a quote prints, so that nothing in it has to be changed; sites and prices are invented.

A rate of tax is a legal figure and is printed with the decimals of the law; packages, visits and
words for a customer: common practice, no source. 1 ft3 = 28.316847 L: NIST SP 811.
"""

import re

import openpyxl
import pytest

from pretreat.plant.verdict.quote_words import quote_sentence
from pretreat.report.hand.quote_words import words_of
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import words_of as words_in
from tests.quote.test_plan_of_the_quote import SITE

KIT = SITE.replace('alkalinity = "220 mg/L"\n', "").replace('silica = "10 mg/L"\n', "")
KIT = KIT.replace('conductivity = "700 µS/cm"\n', "")


def quoted(pretreat, folder, site, *more):  # noqa: F811
    (folder / "a.toml").write_text(site, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out", *more)
    return words_in(folder / "out" / "a.pdf")


@pytest.mark.parametrize(
    ("value", "en", "de"),
    [(8.375, "8.375", "8,375"), (10.25, "10.25", "10,25"), (21.0, "21", "21"), (0.0, "0", "0")],
)
def test_a_rate_keeps_every_digit_that_was_typed(value, en, de):
    assert words_of("en").rate(value) == en
    assert words_of("de").rate(value) == de


@pytest.mark.parametrize(("language", "mark"), [("en", "."), ("es", ","), ("de", ",")])
def test_rates_on_the_page_are_those_of_the_file(pretreat, tmp_path, language, mark):  # noqa: F811
    terms = f'tax_percent = 8.375\ndiscount_percent = 12.75\nlanguage = "{language}"\n'
    words = quoted(pretreat, tmp_path, SITE + terms)
    assert f"8{mark}375 %" in words
    assert f"12{mark}75 %" in words


@pytest.mark.parametrize(("language", "said"), [
    ("en", "By the readings of the test kit no maximum recovery can be stated; 60 % "),
    ("de", "lässt sich keine maximale Ausbeute angeben; 60 % "),
])  # fmt: skip
def test_no_maximum_is_promised_where_scales_were_not_judged(pretreat, tmp_path, language, said):  # noqa: F811
    words = quoted(pretreat, tmp_path, f'{KIT}language = "{language}"\n')
    assert said in words
    assert "95 %" not in words


@pytest.mark.parametrize("answer", ["depends", "does not fit", "fits with conditions"])
def test_the_end_of_the_search_is_no_maximum(answer):
    """Recoveries above 95 % are not looked at, so that one says nothing of the water."""
    said = str(quote_sentence(answer, "2031-05-02", 0.6, 0.95))
    assert "no maximum recovery can be stated; " in said
    assert "95 %" not in said
    assert "maximum recovery is 94 %" in str(quote_sentence(answer, "2031-05-02", 0.6, 0.9499))


IRON = SITE.replace('iron = "0.02 mg/L"', 'iron = "0.8 mg/L"').replace(
    "[softener]", '[iron_filter]\nvessel = "13x54"\n[softener]'
).replace("salt_per_kg", "permanganate_per_kg = 7\niron_media_per_l = 2.6\nsalt_per_kg")  # fmt: skip
PLANNED = SITE.partition("[softener]")[0] + "[softener]\ninclude = true\n[prices]\n"
PLANNED += SITE.partition("[prices]\n")[2]
EQUIPMENT = {
    "en": "Vessels, tanks, valves and pumps, solution tanks and dosing pumps too, are part of this "
    "quotation only where a line names them; filter media come without their vessels.",
    "es": "Los recipientes, depósitos, válvulas y bombas, también los depósitos de solución y las "
    "bombas dosificadoras, solo forman parte de este presupuesto si figuran en una línea; los "
    "medios filtrantes se entregan sin sus recipientes.",
    "de": "Behälter, Tanks, Ventile und Pumpen, auch Lösungsbehälter und Dosierpumpen, gehören nur "
    "dann zu diesem Angebot, wenn eine Position sie nennt; Filtermedien kommen ohne ihre "
    "Behälter.",
}


OWN_LINES = (
    "",
    'lines = [{ text = "Softener vessel with valve", price = 900.5 }]',
    'lines = [{ text = "Mineral tank with control head, pump", price = 90 }]',
    'lines = [{ text = "Enthärterflasche mit Steuerkopf", price = 90, optional = true }]',
    'lines = [{ text = "Botella con depósito de sal", price = 90 }]',
)
EACH_TIME = {("en", line) for line in OWN_LINES} | {("de", OWN_LINES[3]), ("es", OWN_LINES[4])}


@pytest.mark.parametrize(
    ("more", "language"),
    [
        pytest.param(more, to, marks=[] if (to, more) in EACH_TIME else pytest.mark.thorough)
        for more in OWN_LINES
        for to in ("en", "es", "de")
    ],
)
def test_what_no_line_names_is_not_sold(pretreat, tmp_path, language, more):  # noqa: F811
    """One sentence, true whatever the lines name, so that none has to be searched for a word."""
    words = quoted(pretreat, tmp_path, f'{PLANNED}language = "{language}"\n{more}\n')
    assert words.count(EQUIPMENT[language]) == 1


@pytest.mark.parametrize("feed", ["", "[permanganate]\ninclude = true\n"])
def test_own_exclusions_stand_alone(pretreat, tmp_path, feed):  # noqa: F811
    site = PLANNED.replace("[softener]", f"{feed}[softener]")
    words = quoted(pretreat, tmp_path, f'{site}exclusions = "Electrical work"\n')
    assert "only where a line names them" not in words
    assert "Not included Electrical work" in words
    assert "Quantities are those that this water and running time call for." in words


def test_a_plant_to_be_built_names_the_vessels_of_each_medium(pretreat, tmp_path):  # noqa: F811
    """Diameter and height in whole inches, as vessels are named in the trade."""
    assert " L, for 1 vessel of 18 x 65 in" in quoted(pretreat, tmp_path, PLANNED)
    assert " vessel of " not in quoted(pretreat, tmp_path, SITE)


@pytest.mark.parametrize("visits", ["included", "optional"])
def test_supplies_that_are_not_offered_are_the_customers(pretreat, tmp_path, visits):  # noqa: F811
    none = IRON.replace('consumables = "included"', 'consumables = "none"')
    none = none.replace('visits = "included"', f'visits = "{visits}"')
    words = quoted(pretreat, tmp_path, none)
    assert "provided by you: supplies of the year: Potassium permanganate, " in (words)
    assert "from the supplies on site, and we check it at each visit: fill up permanganate, " in (
        words
    )
    assert ("If you do not order the visits, you do all of this." in words) is (
        visits == "optional"
    )
    assert "provided by you" not in quoted(pretreat, tmp_path, IRON)


def test_what_we_fill_up_of_the_customers_supplies_says_so(pretreat, tmp_path):  # noqa: F811
    monthly = IRON.replace('consumables = "included"', 'consumables = "none"')
    monthly = monthly.replace("visits_per_year = 4", "visits_per_year = 12")
    words = quoted(pretreat, tmp_path, monthly)
    assert "we do this: fill up permanganate from the supplies on site, " in words
    offered = IRON.replace("visits_per_year = 4", "visits_per_year = 12")
    assert "we do this: fill up permanganate, " in quoted(pretreat, tmp_path, offered)


def test_a_fed_solution_is_made_up_by_staff_and_its_tank_is_named(pretreat, tmp_path):  # noqa: F811
    """A solution is kept 14 days (common practice), so two visits a year do not make it up."""
    fed = PLANNED.replace('iron = "0.02 mg/L"', 'iron = "1.2 mg/L"')
    fed = fed.replace("[softener]", "[permanganate]\ninclude = true\n[softener]")
    fed = fed.replace("salt_per_kg", "permanganate_per_kg = 7\niron_media_per_l = 2.6\nsalt_per_kg")
    words = quoted(pretreat, tmp_path, fed.replace("visits_per_year = 4", "visits_per_year = 2"))
    assert "Fed from solution tanks: Potassium permanganate, made up anew about every 14 days" in (
        words
    )
    ours = words.partition("At each visit we do this: ")[2].partition("You do this")[0]
    assert "permanganate" not in ours
    assert "we check it at each visit: fill up permanganate" in words


BY_ITEM = "tax_percent = { default = 8.25, labour = 0, visit = 0 }\n"


@pytest.mark.parametrize(
    ("language", "column", "total"),
    [
        ("en", "Tax %", "Not taxed: "),
        ("de", "USt. %", "Ohne Umsatzs"),
        ("es", "Imp. %", "impuesto"),
    ],
)
def test_lines_without_tax_are_marked(pretreat, tmp_path, language, column, total):  # noqa: F811
    """Each line has its rate in a column of its own, so that no row doubles for it."""
    words = quoted(pretreat, tmp_path, f'{SITE}{BY_ITEM}language = "{language}"\n')
    assert column in words
    assert total in words
    assert " 0 % " not in words


def test_lines_of_another_rate_and_of_one_rate(pretreat, tmp_path):  # noqa: F811
    other = quoted(pretreat, tmp_path, SITE + BY_ITEM.replace("labour = 0", "labour = 5"))
    assert "start-up (" not in other
    assert "Tax 5 % on " in other
    one = quoted(pretreat, tmp_path, SITE + "tax_percent = 21\n")
    assert "Tax %" not in one
    assert "taxed)" not in one


def sheet_of(pretreat, folder, more):  # noqa: F811
    (folder / "a.toml").write_text(SITE + more, encoding="utf-8")
    pretreat("rate", "a.toml", "-o", "a.xlsx", "--date", "2026-01-09", "--draws", "0")
    return openpyxl.load_workbook(folder / "a.xlsx")["Quote"]


TERMS = 'number = "L-77"\ntax_percent = 8.375\ndiscount_percent = 12.75\nletterhead = "Corrie"\n'
TERMS += 'lines = [{ text = "Hose", price = 3.5, quantity = 2.5 }]\n'


def test_the_sheet_of_the_quote_is_ready_to_be_printed(pretreat, tmp_path):  # noqa: F811
    sheet = sheet_of(pretreat, tmp_path, TERMS)
    foot = sheet.oddFooter
    assert "L-77" in foot.left.text
    assert "Corrie" in foot.left.text
    assert re.sub(r"[\[\]a-z]+", "", foot.right.text) == "P &P  &N"
    assert "2026" not in f"{foot.left.text}{foot.center.text or ''}{foot.right.text}"
    formats = {str(row[1].number_format) for row in sheet.iter_rows() if len(row) > 1}
    assert not any(shown.endswith(".##") for shown in formats)
    hose = next(row for row in sheet.iter_rows() if row[0].value == "Hose")
    assert hose[1].number_format == "General"


def test_pieces_that_come_by_the_dozen_come_in_boxes(pretreat, tmp_path):  # noqa: F811
    """Twelve to a package is no piece: four boxes of six are not four pieces."""
    words = quoted(pretreat, tmp_path, f"{SITE}\n[packages]\ncartridge = 6\n")
    assert "boxes of 6" in words or "box of 6" in words
    assert "pieces of 6" not in words
