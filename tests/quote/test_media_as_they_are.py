"""Supplies and service of a plant whose media stay as they are: [quote] media.

Sites, prices and the water are invented. What is sold and what is left out:
docs/first_hour/salesperson.md. Money is worked by hand beside each figure.
"""

import csv

import openpyxl
import pytest

from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import words_of
from tests.quote.test_plan_of_the_quote import SITE
from tests.quote.test_sold_and_priced import quoted

BARE = SITE.replace("resin_per_l = 4\ncarbon_per_l = 3\n", "")
SAID = {
    "en": ("Supplies and service of one year for your water treatment",
           "New filter media are not included for: Softener; Activated carbon filter.", "Disposal"),
    "es": ("Suministros y servicio de un año para su tratamiento de agua",
           "No se incluyen medios filtrantes nuevos para: Descalcificador; Filtro de carbón activo.", "Retirada"),
    "de": ("Verbrauchsmaterial und Service eines Jahres für Ihre Wasseraufbereitung",
           "Neue Filtermedien sind nicht enthalten für: Enthärter; Aktivkohlefilter.", "Entsorgung"),
}  # fmt: skip


def _stock(folder):
    sheet = openpyxl.load_workbook(folder / "out" / "overview.xlsx")["Stock per month"]
    return [str(row[2]) for row in sheet.iter_rows(values_only=True, min_row=2)]


@pytest.mark.parametrize("tongue", SAID)
@pytest.mark.parametrize("site", [SITE, BARE])
def test_a_year_of_supplies_and_service_without_new_media(pretreat, tmp_path, tongue, site):  # noqa: F811
    words, row = quoted(pretreat, tmp_path, f'{site}media = "none"\nlanguage = "{tongue}"\n')
    title, left, disposal = SAID[tongue]
    assert row["status"] == "ok"
    assert title in words
    assert left in words
    assert disposal not in words
    assert {"en": "90.00"}.get(tongue, "90,00") in words
    assert "replacement expected" not in words
    assert not {name for name in _stock(tmp_path) if "resin" in name or "carbon" in name}


@pytest.mark.parametrize(
    ("tongue", "title"),
    [
        ("en", "Replacement of the media of your water treatment, and the supplies of one year"),
        ("es", "Sustitución de los medios filtrantes de su tratamiento de agua y suministros de un año"),
        ("de", "Austausch der Filtermedien Ihrer Wasseraufbereitung und Verbrauchsmaterial für ein Jahr"),
    ],
)  # fmt: skip
def test_a_title_names_the_supplies_that_are_in_the_total(pretreat, tmp_path, tongue, title):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, f'{SITE}language = "{tongue}"\n')
    assert title in words
    assert words.count(title) == 1


def test_one_medium_of_two(pretreat, tmp_path):  # noqa: F811
    """An L of resin is 4: bags of 25 L at 100; of the carbon nothing is left, its gravel neither."""
    words, row = quoted(pretreat, tmp_path, f'{BARE}media = ["softener"]\n'.replace(
        "[prices]\n", "[prices]\nresin_per_l = 4\n"))  # fmt: skip
    assert row["status"] == "ok"
    assert "100.00" in words
    assert "New filter media are not included for: Activated carbon filter." in words
    assert "Activated carbon most likely" not in words
    assert "Softening resin most likely" in words
    assert "Support gravel" in words
    all_media, _ = quoted(pretreat, tmp_path, SITE)
    assert "New filter media are not included" not in all_media


@pytest.mark.parametrize(
    ("tongue", "why"),
    [("en", "the work on these media has a price, the new media have none: Activated carbon"),
     ("es", "el trabajo en estos medios tiene precio y los medios nuevos no: Carbón activo"),
     ("de", "die Arbeit an diesen Medien hat einen Preis, die neuen Medien haben keinen: Aktivkohle")],
)  # fmt: skip
def test_work_on_a_medium_without_a_price_is_no_offer(pretreat, tmp_path, tongue, why):  # noqa: F811
    site = SITE.replace("carbon_per_l = 3\n", "") + f'language = "{tongue}"\n'
    words, row = quoted(pretreat, tmp_path, site)
    assert row["status"] == "draft"
    assert why in words
    silent = site.replace("labour_per_h = 60\ndisposal_per_l = 0.8\n", "")
    words, row = quoted(pretreat, tmp_path, silent)
    assert row["status"] == "ok"  # nothing is charged for it
    likely = {"en": "Activated carbon most likely", "es": "Carbón activo:", "de": "Aktivkohle vor"}
    assert likely[tongue] not in words


def test_a_table_of_customers_may_say_it(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "a.toml").write_text(SITE, encoding="utf-8")
    rows = 'site.name,quote.customer,quote.media\nA,A,none\nB,B,"[""softener""]"\nC,C,"resin, carbon"\n'
    (tmp_path / "c.csv").write_text(rows, encoding="utf-8")
    pretreat("quote", "a.toml", "--customers", "c.csv", "-o", "out")
    with (tmp_path / "out" / "overview.csv").open(encoding="utf-8") as stream:
        assert [row["status"] for row in csv.DictReader(stream)] == ["ok"] * 3
    each = [words_of(tmp_path / "out" / f"{name}.pdf") for name in "ABC"]
    assert ["Supplies and service of one year" in words for words in each] == [True, False, False]
    assert ["New filter media are not included" in words for words in each] == [True, True, False]
    (tmp_path / "c.csv").write_text("site.name,quote.media\nA,sofener\n", encoding="utf-8")
    ran = pretreat("quote", "a.toml", "--customers", "c.csv", "-o", "out", code=1)
    assert "softener" in ran.stderr


@pytest.mark.parametrize("tongue", ["en", "es", "de"])
def test_what_the_customer_provides_is_no_stock(pretreat, tmp_path, tongue):  # noqa: F811
    """Salt and cartridges of his own are not ours to have in store, nor is what has no price."""
    own = SITE.replace('consumables = "included"', 'consumables = "none"')
    quoted(pretreat, tmp_path, f'{own}language = "{tongue}"\n')
    names = _stock(tmp_path)
    assert not [name for name in names if "salt" in name or "artridge" in name]
    assert [name for name in names if "resin" in name]
    quoted(pretreat, tmp_path, SITE.replace("salt_per_kg = 0.4\n", ""))
    names = _stock(tmp_path)
    assert not [name for name in names if "salt" in name]
    assert [name for name in names if "artridge" in name]
