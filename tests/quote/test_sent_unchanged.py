"""What a salesperson would change before sending a quote, mended; sites and prices are invented.

Words for a customer: common practice, no source. Conversions: NIST SP 811 (1 lb = 0.45359237 kg,
1 ft3 = 28.316847 L, 1 m/h = 0.40903 gpm/ft2); a cubic foot of resin fills a 10x54 vessel to 1.5 ft3
(common practice).
"""

import json
import re
from pathlib import Path

import openpyxl
import pytest

from pretreat.plant.verdict.quote_words import quote_sentence
from pretreat.quote.stock import Need, stock_of
from pretreat.report.hand.overview import overview_workbook
from pretreat.report.hand.quote_words import said_in
from pretreat.report.text.us_words import package_in_both
from pretreat.site.quote_keys import PACKAGES, QUOTE
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import words_of
from tests.quote.test_plan_of_the_quote import SITE

FT3, DOCS = 28.316846592, Path(__file__).parents[2] / "docs"
VESSELS = """
[site]
name = "Weir End"
[machine]
product_flow = "0.3 m3/h"
recovery = 0.5
hours_per_day = 6
{more}
[neutralising_filter]
vessel = "10x54"
[prices]
currency = "GBP"
[packages]
resin = {{ size = "25 L", price = 80 }}
calcite = {{ size = "25 kg", price = 20.25 }}
"""


def quoted(pretreat, folder, site, *more):  # noqa: F811
    (folder / "a.toml").write_text(site, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out", *more)
    return words_of(folder / "out" / "a.pdf")


@pytest.mark.parametrize("date", ["", "2032-07-09"])
def test_the_sentence_of_a_test_kit_names_no_analysis(date):
    for answer, most in (("depends", 0.7), ("does not fit", 0.4), ("depends", float("nan"))):
        said = str(quote_sentence(answer, date, 0.6, most, by_kit=True))
        assert said.startswith("By the readings of the test kit ")
        assert "analysis" not in said
        assert date in said
        assert "  " not in said
        assert str(quote_sentence(answer, date, 0.6, most)).startswith("By the analysis ")


def test_the_figures_of_a_test_kit_say_so(pretreat, tmp_path):  # noqa: F811
    site = SITE.replace("[water]", "[water]\nsampled = 2032-07-09")
    (tmp_path / "a.toml").write_text(site, encoding="utf-8")
    figures = json.loads(pretreat("rate", "a.toml", "--json", "--draws", "64").stdout)["figures"]
    basis = figures["quote.basis"]["value"]
    assert basis.startswith("quantities from test-kit values of 2032-07-09")
    assert "water analysis" not in basis
    assert figures["verdict.quote_sentence"]["value"].startswith("By the readings of the test kit")


@pytest.mark.parametrize("more", ["", '[softener]\nvessel = "10x54"'])
def test_calcite_of_vessels_alone(pretreat, tmp_path, more):  # noqa: F811
    """1.5 ft3 of calcite at 1.47 kg/L are 62.4 kg: three bags of 25 kg."""
    words = quoted(pretreat, tmp_path, VESSELS.format(more=more))
    assert 1.5 * FT3 * 1.47 == pytest.approx(62.4, abs=0.1)
    assert "Calcite, 62.4 kg" in words
    assert "60.75" in words
    assert "is topped up by its level in the vessel; how often depends on the water" in words
    assert ("Softening resin, 42.5 L" in words) is bool(more)
    assert ("Brine and wash water" in words) is bool(more)
    assert "How long the media last depends on the water" in words


@pytest.mark.parametrize(
    ("size", "shown"),
    [("20 kg", "20 kg (44 lb)"), ("50 lb", "50 lb"), ("28 L", "28 L (1 ft3)"), ("6", "6")],
)
def test_a_package_as_the_price_list_has_it(size, shown):
    assert package_in_both(size) == shown


def test_metric_bags_on_a_page_in_us_units(pretreat, tmp_path):  # noqa: F811
    """Those of the supplier's list as it has them, those of common practice of the US trade."""
    listed = SITE + '[packages]\nsalt = { size = "20 kg", package = "sack" }\n'
    words = quoted(pretreat, tmp_path, listed, "--units", "us")
    assert "sacks of 20 kg (44 lb)" in words
    assert "of 50 lb" in words  # of gravel
    assert "sacks of 20 kg" in quoted(pretreat, tmp_path, listed)


def test_the_message_of_a_draft_is_in_the_units_of_its_site(pretreat, tmp_path):  # noqa: F811
    narrow = SITE.replace("product_flow", "# ").replace(
        "[machine]", '[machine]\nproduct_flow = "4 m3/h"'
    )
    us = narrow.replace('name = "Larch Yard"', 'name = "Larch Yard"\nunits = "us"')
    for site, unit, other in ((narrow, r"\d m/h|m3/h", "gpm"), (us, "gpm", r"\d m/h|m3/h")):
        quoted(pretreat, tmp_path, site)
        row = (tmp_path / "out" / "overview.csv").read_text().splitlines()[1]
        assert ",draft," in row
        assert re.search(unit, row), row
        assert not re.search(other, row), row


def test_stock_in_the_units_of_its_packages():
    needs = [(0, Need("2033-02", "supplies of the year", "salt", 1000.123, "kg", "bag", "40 lb", 18.14)),
             (0, Need("2033-02", "supplies of the year", "resin", 30.9876, "L", "bag", "25 L", 25.0))]  # fmt: skip
    rows = _stock_rows(overview_workbook((), stock_of(needs)))
    salt, resin = rows[1], rows[0]
    if salt[4] != "lb":
        salt, resin = resin, salt
    assert salt[3:5] == (round(1000.123 / 0.45359237), "lb")
    assert resin[3:5] == (31.0, "L")


def _stock_rows(data):
    import io

    sheet = openpyxl.load_workbook(io.BytesIO(data))["Stock per month"]
    return list(sheet.iter_rows(min_row=2, values_only=True))


def test_options_are_said_to_be_of_a_year_where_they_are(pretreat, tmp_path):  # noqa: F811
    """A line of the supplier's own is of no year."""
    line = 'lines = [{ text = "Spare tap", price = 7, optional = true }]'
    own = SITE.replace("[quote]", f"[quote]\n{line}")
    words = quoted(pretreat, tmp_path, own)
    assert "Spare tap" in words
    assert "one year." not in words.partition("Optional, not in the total")[2].partition("Spare")[0]
    asked = own.replace('visits = "included"', 'visits = "optional"')
    assert "Visits are those of one year." in quoted(pretreat, tmp_path, asked)


@pytest.mark.parametrize("language", ["de", "es"])
def test_usual_packages_have_a_name_in_each_language(pretreat, tmp_path, language):  # noqa: F811
    packed = '[packages]\nsalt = { size = "25 kg", package = "Sack" }\ncartridge = { size = 3, package = "box" }\n'
    site = SITE.replace("[packages]\n", packed) if "[packages]" in SITE else f"{SITE}\n{packed}"
    words = quoted(pretreat, tmp_path, site.replace("[quote]", f'[quote]\nlanguage = "{language}"'))
    names = said_in(language)["packages"]
    for word in ("sack", "box"):
        assert names[word] in words
    assert " box " not in words


def test_a_new_site_file_names_every_key_of_a_quote(pretreat, tmp_path):  # noqa: F811
    pretreat("new", "site")
    written = (tmp_path / "site" / "site.toml").read_text(encoding="utf-8")
    for table, keys in (("quote", QUOTE), ("packages", PACKAGES)):
        part = written[re.search(rf"^# \[{table}\]", written, re.M).start() :].split("\n\n")[0]
        named = set(re.findall(r"^# (\w+) =", part, re.M))
        assert {key for key in keys if not key.endswith("_kg")} <= named


def test_the_page_of_a_salesperson_names_every_key_and_its_links_lead_somewhere():
    page = DOCS / "first_hour" / "salesperson.md"
    words = page.read_text(encoding="utf-8")
    assert not [key for key in QUOTE if not key.endswith("_kg") and f"`{key}`" not in words]
    for link in re.findall(r"\]\(([^)#:]+)", words):
        assert (page.parent / link).exists(), link


def test_the_card_beside_a_quote_says_why_a_recovery_is_not_set(pretreat, tmp_path):  # noqa: F811
    """Up to what 90 % of the draws keep the verdict is open; from there readings decide."""
    (tmp_path / "a.toml").write_text(SITE, encoding="utf-8")
    study = json.loads(pretreat("rate", "a.toml", "--json", "--draws", "64").stdout)
    figures = {key: figure["value"] for key, figure in study["figures"].items()}
    kept, most = figures["verdict.kept_recovery"], figures["recovery.max"]
    said = {row[0]: row[-1] for row in study["series"]["settings.by_recovery"]["rows"]}
    wanted = figures["machine.recovery"]
    for recovery, short in said.items():
        if wanted < recovery <= kept:
            assert short in {"yes", "see verdict"}
        elif kept < recovery <= most:
            assert short == "by readings"
    assert "no: verdict" not in said.values()


def test_twelve_visits_are_monthly_and_none_have_no_plan(pretreat, tmp_path):  # noqa: F811
    monthly = SITE.replace("visits_per_year = 4", "visits_per_year = 12")
    words = quoted(pretreat, tmp_path, monthly)
    assert "Visits planned: each month from July 2031 to June 2032." in words
    none = quoted(pretreat, tmp_path, SITE.replace("visits_per_year = 4", "visits_per_year = 0"))
    assert "Visit plan" not in none
    assert "Service life Next replacement expected" in none
    alone = "You do this when it is due, since no visits are planned: change the"
    assert alone in none
