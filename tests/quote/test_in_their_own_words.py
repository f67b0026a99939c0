"""A quote in the units that its reader bought, measured and typed in; who does what, and which file.

Sites, prices and the water are invented. A bag of 25 kg of calcite holds 17 L (data/packages.csv).
"""

import csv

import openpyxl
import pytest

from pretreat.core.tables import rows
from tests.cli.conftest import PROJECT, pretreat  # noqa: F401
from tests.quote.quoting import words_of
from tests.quote.test_bought_as_delivered import FEEDS
from tests.quote.test_plan_of_the_quote import SITE
from tests.quote.test_sold_and_priced import quoted

CALCITE = SITE.replace(
    "[prices]", '[neutralising_filter]\nmedia_volume = "57 L"\n[prices]\ncalcite_per_l = 2'
)
TONGUES = ("en", "es", "de")


@pytest.mark.parametrize("tongue", TONGUES)
@pytest.mark.parametrize("supplies", ["included", "none"])
def test_calcite_is_counted_in_kilograms_in_each_place(pretreat, tmp_path, tongue, supplies):  # noqa: F811
    """57 L at 25 / 17 kg a litre are 83.8 kg: four bags."""
    site = CALCITE.replace('consumables = "included"', f'consumables = "{supplies}"')
    words, _ = quoted(pretreat, tmp_path, f'{site}language = "{tongue}"\naccept_verdict = true\n')
    mark = "." if tongue == "en" else ","
    assert f"83{mark}8 kg" in words
    assert " 17 L" not in words
    name = {"en": "Calcite to top up", "es": "Calcita para reponer", "de": "Calcit zum Nachfüllen"}
    yearly = words.partition(f"{name[tongue]}, ")[2].partition(" kg")[0]
    assert yearly
    most = {"en": "at most", "es": "como máximo", "de": "höchstens"}[tongue]
    assert f"{most} {yearly} kg" in words
    sheet = openpyxl.load_workbook(tmp_path / "out" / "overview.xlsx")["Stock per month"]
    calcite = [row for row in sheet.iter_rows(values_only=True) if row[2] == "Calcite"]
    assert [row[4:7] for row in calcite] == [("kg", 4, "bag of 25 kg")]


def test_packages_of_a_nominal_size_are_what_is_sold(pretreat, tmp_path):  # noqa: F811
    """98.5 L are 3.48 ft³, sold as seven bags of half a one; 90 L, 3.18 ft³, leave half a bag over."""
    halves = SITE.replace("[quote]", '[packages]\nresin = "0.5 ft3"\n[quote]')
    halves = halves.replace("[site]", '[site]\nunits = "us"')
    site = halves.replace('"14x65"', '"14x65"\nresin_volume = "98.5 L"')
    words, _ = quoted(pretreat, tmp_path, site)
    assert "Softening resin, 3.5 ft³" in words
    assert "Disposal of the old medium, 3.5 ft³" in words
    words, _ = quoted(pretreat, tmp_path, site.replace("98.5 L", "90 L"))
    assert "Softening resin, 3.18 ft³" in words


@pytest.mark.parametrize(
    ("tongue", "two", "used"),
    [("en", "for 2 vessels of 14 x 65 in", "in use at a time"),
     ("es", "para 2 recipientes de 14 x 65", "en uso a la vez"),
     ("de", "für 2 Behälter 14 x 65", "gleichzeitig im Einsatz")],
)  # fmt: skip
def test_vessels_and_cartridges_in_use_are_counted(pretreat, tmp_path, tongue, two, used):  # noqa: F811
    site = f'{SITE}language = "{tongue}"\n'
    words, _ = quoted(pretreat, tmp_path, site.replace(
        '"14x65"', '"14x65"\nvessels = 2\narrangement = "duty-standby"'))  # fmt: skip
    assert two in words
    assert used in words
    words, _ = quoted(pretreat, tmp_path, site)
    assert two[:6] + "1 " not in words


@pytest.mark.parametrize(
    ("tongue", "said"),
    [("en", "fill up chemicals (only whoever is trained for it)"),
     ("es", "reponer los productos químicos (solo quien esté formado para ello)"),
     ("de", "Chemikalien nachfüllen (nur wer dafür geschult ist)")],
)  # fmt: skip
def test_chemicals_are_filled_up_by_those_trained(pretreat, tmp_path, tongue, said):  # noqa: F811
    """As the note on the same page says."""
    for visits in (0, 2):
        site = FEEDS.replace("visits_per_year = 0", f"visits_per_year = {visits}")
        words, _ = quoted(pretreat, tmp_path, f'{site}language = "{tongue}"\n')
        assert said in words
        assert words.count(said.partition(" (")[0]) == 1


@pytest.mark.parametrize(
    ("tongue", "typed", "shown"),
    [("en", "24 gpg", "411 mg/L as CaCO3 (24 gpg)"), ("es", "18.5 °dH", "mg/L como CaCO3 (18,5 °dH)"),
     ("de", "24 gpg", "411 mg/L als CaCO3 (24 gpg)"), ("de", "300 mg/L", "300 mg/L als CaCO3 (16,8 °dH)"),
     ("en", "300 mg/L", "300 mg/L as CaCO3;")],
)  # fmt: skip
def test_a_hardness_is_told_as_it_was_measured_too(pretreat, tmp_path, tongue, typed, shown):  # noqa: F811
    site = SITE.replace('"300 mg/L"', f'"{typed}"').replace(
        'iron = "0.02 mg/L"\nmanganese = "0.01 mg/L"\n', ""
    )
    words, _ = quoted(pretreat, tmp_path, f'{site}language = "{tongue}"\n')
    assert shown in words


def test_a_fault_of_the_site_file_is_named_with_it_and_once(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "a.toml").write_text(SITE.replace('"0.8 m3/h"', '"fast"'), encoding="utf-8")
    table = "site.name,water.hardness\nA,300 mg/L\nB,12 gpg\n"
    (tmp_path / "c.csv").write_text(table, encoding="utf-8")
    ran = pretreat("quote", "a.toml", "--customers", "c.csv", "-o", "out", code=1)
    assert ran.stderr.count("a.toml: [machine] product_flow") == 1
    assert "c.csv, row" not in ran.stderr
    with (tmp_path / "out" / "overview.csv").open(encoding="utf-8") as stream:
        assert all(row["message"].startswith("a.toml: ") for row in csv.DictReader(stream))
    (tmp_path / "a.toml").write_text(SITE, encoding="utf-8")
    (tmp_path / "c.csv").write_text(table.replace("12 gpg", "hard"), encoding="utf-8")
    ran = pretreat("quote", "a.toml", "--customers", "c.csv", "-o", "out")
    assert "c.csv, row 3: [water] hardness" in ran.stderr


def test_numbers_of_two_sites_differ_and_stay(pretreat, tmp_path):  # noqa: F811
    found = []
    for name, folder in (("Larch Yard", "p"), ("Alder Yard", "q"), ("Larch Yard", "r")):
        site = SITE.replace("Larch Yard", name)
        (tmp_path / "a.toml").write_text(site, encoding="utf-8")
        pretreat("quote", "a.toml", "-o", folder)
        words = words_of(tmp_path / folder / "a.pdf")
        found.append(next(word for word in words.split() if word.startswith("20310602-01-")))
    assert found[0] == found[2] != found[1]


def test_the_oxidant_stands_where_a_salesperson_looks():
    page = (PROJECT / "docs" / "first_hour" / "salesperson.md").read_text(encoding="utf-8")
    assert "`[iron_filter] oxidant`" in page
    keys = [
        row
        for row in rows("site_keys.csv")
        if (row["table"], row["key"]) == ("iron_filter", "oxidant")
    ]
    assert [row["toml"] for row in keys] == ["yes"]
