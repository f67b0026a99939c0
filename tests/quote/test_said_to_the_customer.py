"""What a customer is told once, in number, and never better than on more measurements.

Iron and manganese onto a softener: most codes allow less than 1 mg/L (TSS 604.805(a)). Nitrate: 1 mg
of nitrogen is 4.427 mg of nitrate (62.005 / 14.007). Words for a customer: common practice, no source.
"""

import csv

import openpyxl
import pytest

from pretreat.core.results import Ledger
from pretreat.core.water import Reading, WaterAnalysis
from pretreat.quote.drinking import enter_over_limits
from pretreat.quote.stock import pallets_by_delivery
from pretreat.report.hand.quote_conditions import draft_reasons
from pretreat.report.hand.quote_print import NO_BREAK, freed, kept_together
from pretreat.report.hand.quote_words import words_of as language
from pretreat.site.design import ProductUse
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import words_of
from tests.quote.test_draft_reasons import CASE, study_of

PRICES = """
[prices]
currency = "EUR"
resin_per_l = 4
gravel_per_kg = 0.7
salt_per_kg = 0.4
permanganate_per_kg = 7
iron_media_per_l = 3
carbon_per_l = 3
cartridge_each = 6
labour_per_h = 60
disposal_per_l = 0.8
freight = 90
visit_each = 150
"""
KIT = """
[site]
name = "Alder Dairy"
[water]
hardness = "340 mg/L"
iron = "{iron}"
manganese = "{manganese}"
[machine]
product_flow = "0.7 m3/h"
recovery = 0.6
hours_per_day = 9
[softener]
vessel = "16x65"
vessels = 2
arrangement = "duplex"
salt_dose = "120 g/L"
"""
MORE = 'ph = 7.2\nalkalinity = "280 mg/L"\ntds = "560 mg/L"\n'
QUOTE = '[quote]\ncustomer = "Alder Dairy"\ndate = 2031-03-03\nvisits_per_year = 4\n'


def site(iron="0.02 mg/L", manganese="0 mg/L", **terms):
    said = "".join(f'{key} = "{value}"\n' for key, value in terms.items())
    return KIT.format(iron=iron, manganese=manganese) + PRICES + QUOTE + said


def quoted(pretreat, folder, text, *more):  # noqa: F811
    (folder / "a.toml").write_text(text, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out", *more)
    with (folder / "out" / "overview.csv").open(encoding="utf-8", newline="") as stream:
        (row,) = csv.DictReader(stream)
    return words_of(folder / "out" / "a.pdf"), row


@pytest.mark.parametrize(
    ("iron", "manganese"),
    [
        ("3.3 mg/L", "0 mg/L"),
        pytest.param("0.1 mg/L", "1.2 mg/L", marks=pytest.mark.thorough),
        pytest.param("9 mg/L", "0.4 mg/L", marks=pytest.mark.thorough),
    ],
)
def test_iron_on_a_bare_kit_is_no_cleaner_than_on_more(pretreat, tmp_path, iron, manganese):  # noqa: F811
    bare = site(iron, manganese)
    more = bare.replace("[machine]", f"{MORE}[machine]")
    for text in (bare, more):
        words, row = quoted(pretreat, tmp_path, text)
        assert words.partition("Why this is a draft: ")[2].split(".")[0].count("iron filter") == 1
        assert "Conditions: an iron filter is set ahead of the softener" in words
        assert "iron filter ahead" in row["message"]
        assert row["status"] == "draft"
    accepted, row = quoted(pretreat, tmp_path, f"{bare}accept_verdict = true\n")
    assert "an iron filter is set ahead" in accepted
    assert row["status"] == "ok"


@pytest.mark.parametrize("iron", ["0.25 mg/L", "0.7 mg/L"])
def test_iron_that_a_softener_takes_is_measured_behind_it(pretreat, tmp_path, iron):  # noqa: F811
    for more in ("", MORE):
        words, row = quoted(pretreat, tmp_path, site(iron).replace("[machine]", f"{more}[machine]"))
        assert "iron and manganese are measured behind the softener" in words
        assert more or "after the filters" not in words
        assert row["status"] == "ok"


def test_a_bare_kit_without_iron_is_an_offer(pretreat, tmp_path):  # noqa: F811
    words, row = quoted(pretreat, tmp_path, site())
    assert row["status"] == "ok"
    assert "iron filter" not in words


@pytest.mark.parametrize(
    ("tongue", "wanted", "apart"),
    [("en", "Regeneration salt, if you order it:", "is not in the total; it is agreed"),
     ("es", "Sal de regeneración, si se pide:", "no está en el total; se acuerda"),
     ("de", "Regeneriersalz, sofern bestellt:", "ist nicht im Gesamtbetrag; sie wird")],
)  # fmt: skip
def test_salt_that_may_be_ordered_is_not_promised(pretreat, tmp_path, tongue, wanted, apart):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, site(language=tongue))
    assert wanted in words
    assert words.count(apart) == 1


def test_the_freight_of_the_first_pallets_is_said_once(pretreat, tmp_path):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, site(consumables="included"))
    assert "The first of them comes with this order and is in the freight line above;" in words
    assert "the freight of the later ones is agreed" in words
    assert "if you order it" not in words
    free = site(consumables="included").replace("freight = 90\n", "")
    words, _ = quoted(pretreat, tmp_path, free)
    assert "the freight line above" not in words
    assert "The freight of these deliveries is not in the total" in words


@pytest.mark.parametrize("visits", ["included", "optional"])
def test_supplies_that_are_paid_for_come_without_visits_too(pretreat, tmp_path, visits):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, site(consumables="included", visits=visits))
    said = "If you do not order the visits, we deliver each part"
    assert (said in words) is (visits == "optional")


@pytest.mark.parametrize(
    ("tongue", "one", "two"),
    [("de", "fehlt Fluorid; das kann", "fehlen Fluorid und Barium; sie können"),
     ("es", "falta fluoruro, que puede", "faltan fluoruro y bario, que pueden"),
     ("en", "lacks fluoride, which may", "lacks fluoride and barium, which may")],
)  # fmt: skip
def test_one_ion_or_two(tongue, one, two):
    from msgspec.structs import replace

    from pretreat.plant.verdict.case import Unjudged

    for missing, said in (("fluoride", one), ("fluoride and barium", two)):
        case = replace(CASE, unjudged=(Unjudged("fluorite", missing, True),))
        assert said in draft_reasons(study_of(case), language(tongue))


def test_spanish_joins_and_stops():
    words = language("es")
    assert words.listed(("descuento", "impuesto")) == "descuento e impuesto"
    assert words.listed(("cobre", "hierro")) == "cobre y hierro"
    assert words.listed(("uno", "hilo")) == "uno e hilo"
    assert "detiene la máquina" in words("colour", "points")
    assert "se detiene" in words("chlorine", "points")


def test_a_plant_to_be_built_has_no_old_medium(pretreat, tmp_path):  # noqa: F811
    new = site(iron="1.7 mg/L").replace("[machine]", f"{MORE}[machine]")
    head, _, rest = new.partition("[softener]")
    words, _ = quoted(pretreat, tmp_path, head + rest[rest.index("[prices]") :])
    assert "First filling of the media" in words
    for absent in ("Disposal", "emptying", "Replacement of", "first filling are not part"):
        assert absent not in words
    words, _ = quoted(pretreat, tmp_path, site())
    assert "Replacement of the media" in words
    assert "Disposal of the old medium" in words
    assert "emptying" in words


@pytest.mark.parametrize(
    ("pallets", "times", "come"),
    [(5, 4, (2, 1, 1, 1)), (13, 3, (5, 4, 4)), (3, 3, (1, 1, 1)), (7, 2, (4, 3)), (232, 10, None)],
)
def test_whole_pallets_of_a_delivery(pallets, times, come):
    """By hand; whatever comes, it is never less than the share of the year that is used up."""
    found = pallets_by_delivery(pallets, times)
    assert come is None or found == come
    assert sum(found) == pallets
    assert max(found) == -(-pallets // times)
    assert all(sum(found[: n + 1]) * times >= pallets * (n + 1) for n in range(times))


def test_the_stock_counts_the_pallets_of_the_quote(pretreat, tmp_path):  # noqa: F811
    """40 sacks of 25 kg are a pallet of 1,000 kg."""
    words, _ = quoted(pretreat, tmp_path, site())
    on, times = (words.partition("sacks of 25 kg a year come on ")[2] or
                 words.partition("bags of 25 kg a year come on ")[2]).split(" deliveries")[0].split(" pallets in ")  # fmt: skip
    book = openpyxl.load_workbook(tmp_path / "out" / "overview.xlsx")
    rows = [
        row for row in book["Stock per month"].iter_rows(values_only=True) if "salt" in str(row[2])
    ]
    assert len(rows) == int(times)
    assert sum(-(-row[5] // 40) for row in rows) == int(on)
    assert {row[1] for row in rows} == {"deliveries on pallets, once ordered"}


def test_later_fillings_are_spoken_of_alike(pretreat, tmp_path):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, site())
    later = words.partition("Next replacement expected: ")[2]
    assert "What is filled then is not in this quotation." in later
    assert "that filling" not in words


@pytest.mark.parametrize(
    ("tongue", "said"),
    [("en", "4 visits"), ("es", "4 visitas"), ("de", "4 Besuche")],
)
def test_units_agree_with_their_number(pretreat, tmp_path, tongue, said):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, site(language=tongue))
    assert said in words


def test_names_of_packages_of_the_list_stay_as_written():
    words = language("de")
    assert [words.counted(n, "sack") for n in (1.0, 6.0)] == ["1 Sack", "6 Säcke"]
    assert words.counted(3.0, "Oktabin") == "3 Oktabin"
    assert language("es").counted(18.0, "piece") == "18 unidades"


def test_american_spelling_on_a_page_in_us_units(pretreat, tmp_path):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, site(), "--units", "us")
    assert "Labor: emptying" in words
    assert "a color monitor" in language("en", us=True)("colour", "points")
    assert "Labour" in quoted(pretreat, tmp_path, site())[0]


def test_a_number_keeps_its_unit_on_the_line():
    text = "hardness 340 mg/L as CaCO3; 6 m³ a day, 12 %, 3 L"
    kept = kept_together(text)
    assert kept.count(NO_BREAK) == 4
    assert freed(kept) == text
    assert NO_BREAK not in kept_together("in 300 places, 2 lines of 8 letters")


@pytest.mark.parametrize(
    ("basis", "rules", "found"),
    [("as N", "us", (12.0, "mg/L as N", 10.0)), ("", "us", (53.12, "mg/L as NO3", 44.27)),
     ("as NO3", "us", (53.12, "mg/L as NO3", 44.27)), ("as N", "eu", (12.0, "mg/L as N", 11.295))],
)  # fmt: skip
def test_nitrate_is_said_as_the_laboratory_wrote_it(basis, rules, found):
    reading = Reading("line 4", "no3", "Nitrate", "12", "mg/L", basis, "", 1.0, 53.12)
    water = WaterAnalysis("well", "lab.csv", mg_l={"no3": 53.12}, readings=(reading,))
    ledger = Ledger()
    enter_over_limits(ledger, water, ProductUse("drinking", rules))
    row = ledger.study().series["quote.over_limits"].rows[0]
    assert row[3] == found[1]
    assert (row[2], row[4]) == pytest.approx((found[0], found[2]), rel=1e-3)


def test_a_kit_without_a_date_says_so(pretreat, tmp_path):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, site())
    assert "test-kit values (no date given): hardness" in words
    words, _ = quoted(pretreat, tmp_path, site(language="de"))
    assert "Grundlage ist die Messung vor Ort mit Testbesteck (ohne Datumsangabe): Härte" in words


def test_the_sheet_names_the_customer_and_the_currency(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "a.toml").write_text(site(), encoding="utf-8")
    pretreat("rate", "a.toml", "-o", "a.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "a.xlsx")["Quote"]
    first = [row[0].value for row in sheet.iter_rows()]
    assert first[first.index("Alder Dairy") - 1] == "For"
    total = next(row for row in sheet.iter_rows() if row[0].value == "Net total")
    assert total[4].number_format.endswith('"EUR"')
