"""The site file as a form: what is typed, what is shown, what is written."""

import json
import string
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pretreat.core.errors import DesignError
from pretreat.page.folder import harmless
from pretreat.page.site_form import changed, keys_of_the_form, to_toml, unit_typed, values_of
from pretreat.page.words import in_page_words
from tests.page.conftest import ANALYSES, SITES, form_of

SITE = (ANALYSES / "quarrow_vale.toml").read_text("utf-8")
# 1 US gallon is 3.785411784 L (NIST SP 811, appendix B): 7 gpm are 1.58987 m3/h.
SEVEN_GPM_M3_H = 7 * 3.785411784 * 60 / 1000


def test_without_changes_the_file_stays_word_for_word():
    assert changed(SITE, {}, "si") == SITE


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_number_is_in_the_units_of_the_page(units):
    text = changed(SITE, {"machine.product_flow": "7"}, units)
    assert tomllib.loads(text)["machine"]["product_flow"] == f"7 {unit_typed('m3/h', units)}"
    shown = float(values_of(text, "si")["machine.product_flow"])
    assert shown == pytest.approx(7 if units == "si" else SEVEN_GPM_M3_H, rel=1e-5)


@pytest.mark.parametrize(
    ("field", "typed", "value"),
    [
        ("machine.recovery", "65 %", 0.65),
        ("machine.recovery", "0,7", 0.7),
        ("machine.product_flow", "40 L/min", "40 L/min"),
        ("water.operating_temperature", "15", "15 °C"),
        ("water.hardness", "21 gpg", "21 gpg"),
        (
            "train.stages",
            "iron_filter, softener, cartridge",
            ["iron_filter", "softener", "cartridge"],
        ),
        ("machine.recovery_range", "0.5, 0.75", [0.5, 0.75]),
        ("softener.include", "yes", True),
        # percent: a share of one is a fraction, a key in percent keeps the number
        ("softener.reserve", "20 %", 0.2),
        ("machine.recovery_range", "50 %, 75 %", [0.5, 0.75]),
        ("machine.salt_passage", "2 %", 0.02),
        ("prices.discount_rate", "5 %", 0.05),
        ("quote.discount_percent", "10 %", 10),
        ("quote.discount_percent", "12,5%", 12.5),
        ("quote.margin_percent", "20 %", 20),
        ("quote.tax_percent", "21 %", 21),
        ("limits.pct_gypsum", "230 %", 230),
        ("water.uncertainty_pct", "6 %", 6),
        ("site.name", 'a "name" \\ with signs', 'a "name" \\ with signs'),
    ],
)
def test_what_is_typed_is_what_the_site_file_reads(field, typed, value):
    table, key = field.split(".")
    assert tomllib.loads(changed("", {field: typed}, "si"))[table][key] == value


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("machine.recovery", "much", "write a number"),
        ("machine.recovery", "1.5", "0.95"),
        ("machine.product_flow", "7 apples", "not a unit"),
        ("machine.nothing", "1", "no field"),
        ("machine.hours_per_day", "10 %", "no share"),
        ("prices.salt_per_kg", "5 %", "no share"),
        ("quote.margin_percent", "120 %", "0 to 95 %"),
        ("quote.discount_percent", "ten %", "write a number"),
    ],
)
def test_what_cannot_be_used_is_told(field, typed, said):
    with pytest.raises(DesignError, match=said):
        changed(SITE, {field: typed}, "si")


# NIST SP 811, appendix B: 1 ft3 is 28.316846592 L, 1 lb is 0.45359237 kg, 1 gal is 3.785411784 L.
@pytest.mark.parametrize(
    ("field", "typed", "units", "price"),
    [
        ("resin_per_l", "150", "us", 150 / 28.316846592),
        ("resin_per_l", "150 USD/ft3", "us", 150 / 28.316846592),
        ("resin_per_l", "150 USD/ft3", "si", 150 / 28.316846592),
        ("resin_per_l", "5.3 EUR/L", "us", 5.3),
        ("salt_per_kg", "0.2", "us", 0.2 / 0.45359237),
        ("salt_per_kg", "0.2 per lb", "si", 0.2 / 0.45359237),
        ("salt_per_kg", "0,4", "si", 0.4),
        ("water_per_m3", "7.5", "us", 7.5 / 3.785411784),
        ("cartridge_each", "12", "us", 12),
    ],
)
def test_prices_are_in_the_units_of_the_page(field, typed, units, price):
    text = changed("", {f"prices.{field}": typed}, units)
    assert tomllib.loads(text)["prices"][field] == pytest.approx(price, rel=1e-9)
    if typed.isdecimal():
        assert values_of(text, units)[f"prices.{field}"] == typed


def test_a_price_of_something_else_is_refused():
    with pytest.raises(DesignError, match="per L"):
        changed("", {"prices.resin_per_l": "5 EUR/m2"}, "si")


@pytest.mark.parametrize(
    ("line", "said", "fields"),
    [
        (
            "site.toml: [machine] recovery is missing; write recovery = 0.65",
            "“Recovery” (Machine) is missing; for example 0.65",
            ["machine.recovery"],
        ),
        (
            "write [softener] include = true to have it",
            "write “Softener” (Softener) as yes to have it",
            ["softener.include"],
        ),
        (
            'site.toml: give target = "drinking" in [product]',
            "give “Use of the product” (Use of the product) as drinking",
            ["product.target"],
        ),
        (
            "well.csv: does not exist; check the name of the lab report",
            "the lab report well.csv is named: choose that file in step 1",
            [],
        ),
    ],
)
def test_faults_are_said_in_the_words_of_the_form(line, said, fields):
    assert in_page_words(line) == (said, fields)


def test_a_price_list_is_laid_under_the_prices_of_the_site(client):
    site = "[prices]\nsalt_per_kg = 0.4\n"
    prices = ("list.toml", b"[prices]\nsalt_per_kg = 9\nresin_per_l = 5.3\n")
    answer = client.post("/page/site", data={"site": site}, files={"prices": prices})
    assert answer.status_code == 200, answer.text
    assert tomllib.loads(answer.json()["site"])["prices"] == {
        "salt_per_kg": 0.4,
        "resin_per_l": 5.3,
    }
    broken = ("list.toml", b"[price]\nsalt = 9\n")
    assert (
        client.post("/page/site", data={"site": site}, files={"prices": broken}).status_code == 422
    )


def test_an_empty_field_takes_the_key_out_with_its_other_spelling():
    text = changed(SITE, {"water.operating_temperature": "", "softener.reserve": ""}, "si")
    content = tomllib.loads(text)
    assert "operating_temperature_c" not in content["water"]
    assert "reserve" not in content["softener"]


@pytest.mark.parametrize("site", SITES)
def test_rewriting_keeps_all_that_is_not_changed(site):
    text = (ANALYSES / f"{site}.toml").read_text("utf-8")
    again = tomllib.loads(changed(text, {"site.place": "elsewhere"}, "us"))
    before = tomllib.loads(text)
    before["site"]["place"] = "elsewhere"
    assert again == before


_texts = st.text(max_size=30)
_values = st.recursive(
    st.booleans() | st.integers(-(10**9), 10**9) | st.floats(allow_nan=False) | _texts,
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.text(string.ascii_letters + ' ."', min_size=1, max_size=8), inner, max_size=3
        )
    ),
    max_leaves=6,
)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(_texts, st.dictionaries(_texts, _values, max_size=4), max_size=4))
def test_toml_is_read_back_the_same(content):
    assert tomllib.loads(to_toml(content)) == content


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=400))
def test_a_harmless_name_is_one_part_of_a_path(name):
    made = harmless(name)
    assert made
    assert not set("/\\\0") & set(made)
    assert made not in {".", ".."}
    assert len(made.encode()) < 255


def test_fields_have_labels_units_and_bounds():
    tables = {one["table"]: one for one in keys_of_the_form()["tables"]}
    flow = next(f for f in tables["machine"]["fields"] if f["name"] == "machine.product_flow")
    assert (flow["unit"], flow["unit_us"]) == ("m3/h", "gpm")
    assert all(f["label"] for one in tables.values() for f in one["fields"])


def test_a_corrected_reading_is_read_back(client):
    name, content = form_of("quarrow_vale")["files"][0][1]
    files = {"report": (name, content)}
    changes = json.dumps({"ca": "120", "ph": "7.5", "fe": "1.6"})
    answer = client.post("/page/correct", files=files, data={"changes": changes}).json()
    assert answer["name"] == "quarrow_vale_well_2_corrected.csv"
    again = {"report": (answer["name"], answer["csv"].encode())}
    figures = client.post("/api/check", files=again).json()["figures"]
    assert figures["water.ca_mg_l"]["value"] == 120
    assert figures["water.ph"]["value"] == 7.5
    assert figures["water.mg_mg_l"]["value"] == 34


@pytest.mark.parametrize("changes", ['{"xx": "1"}', '{"ca": "many"}', '{"ca": "-1"}', "[1]", "{"])
def test_a_wrong_correction_is_told(client, changes):
    files = {"report": form_of("quarrow_vale")["files"][0][1]}
    answer = client.post("/page/correct", files=files, data={"changes": changes})
    assert answer.status_code == 422
    assert len(answer.json()["errors"]) == 1


def test_a_change_that_is_refused_keeps_the_others(client):
    changes = json.dumps({"machine.recovery": "0.7", "machine.hours_per_day": "30"})
    told = client.post("/page/site", data={"site": SITE, "changes": changes})
    assert told.status_code == 200
    body = told.json()
    assert list(body["refused"]) == ["machine.hours_per_day"]
    assert "24" in body["refused"]["machine.hours_per_day"]
    assert tomllib.loads(body["site"])["machine"]["recovery"] == 0.7
    assert tomllib.loads(body["site"])["machine"]["hours_per_day"] != 30


def test_the_page_is_told_of_faults_without_an_error_in_the_console(client):
    form = {"data": {"site": "[machine]\nrecovery = 0.5\n"}}
    assert client.post("/page/view_size", **form).status_code == 422
    told = client.post("/page/view_size", **form, headers={"X-Faults": "told"})
    assert told.status_code == 200
    assert told.json()["errors"]


def test_a_reading_is_withdrawn_and_stays_on_file(client):
    form = form_of("quarrow_vale_installed")
    form["data"] |= {"when": "2031-05-14T09:30:12", "entry": ["temperature=15 C"]}
    body = client.post("/page/log", **form).json()
    data = {"record": body["record"], "when": body["when"], "note": "wrong unit"}
    struck = client.post("/page/strike", data=data)
    assert struck.status_code == 200, struck.text
    assert struck.json()["record"].startswith(body["record"])
    assert "wrong unit" in struck.json()["record"]
    form["data"] |= {"record": struck.json()["record"]}
    assert client.post("/page/view_record", **form).json()["readings"] == []
    assert client.post("/page/strike", data=data | {"when": "2030-01-01T00:00"}).status_code == 422


def test_a_reading_is_written_and_judged(client):
    form = form_of("quarrow_vale_installed")
    entry = ["temperature=15 C", "product_flow=26 L/min", "soft_hardness=60 mg/L"]
    form["data"] |= {"when": "2031-05-14T09:30", "entry": entry, "note": "=HYPERLINK(1)"}
    answer = client.post("/page/log", **form)
    assert answer.status_code == 200, answer.text
    body = answer.json()
    assert any("hardness" in line for line in body["alarms"])
    form["data"] |= {"record": body["record"], "when": "2031-05-21T09:30"}
    again = client.post("/page/log", **form).json()
    assert again["record"].startswith(body["record"])
    form["data"]["record"] = again["record"]
    found = client.post("/page/view_record", **form)
    assert found.status_code == 200, found.text
    assert found.json()["study"]["figures"]["record.readings"]["value"] == 2
    assert [one["when"] for one in found.json()["readings"]] == [
        "2031-05-21 09:30:00",
        "2031-05-14 09:30:00",
    ]


def test_flows_of_the_record_have_the_unit_of_the_site_form():
    known = {one["key"]: one for one in keys_of_the_form()["gauges"]}
    fields = {f["name"]: f for t in keys_of_the_form()["tables"] for f in t["fields"]}
    for gauge, field in (("product_flow", "product_flow"), ("drain_flow", "drain_flow")):
        asked = fields[f"machine.{field}"]
        assert known[gauge]["unit"] == asked["unit"] == "m3/h"
        assert known[gauge]["unit_us"].removeprefix("US ") == asked["unit_us"] == "gpm"
