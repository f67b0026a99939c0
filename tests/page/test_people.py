"""Steps on the way of the three people where a wrong number or a dead end stood once."""

import io
import re

import pytest
from pdfminer.high_level import extract_text

from tests.page.browsing import IN_A_BROWSER, WELL
from tests.page.conftest import ANALYSES

pytestmark = IN_A_BROWSER
PHONE, DESKTOP = [("phone", "si")], [("desktop", "si")]
READ = {
    "temperature": "15",
    "feed_pressure": "8",
    "concentrate_pressure": "7",
    "product_flow": "0.5",
    "drain_flow": "0.27",
    "feed_conductivity": "800",
    "product_conductivity": "20",
}


def _put(person, name, text):
    page = person.page
    field = page.locator(f'section:not([hidden]) [data-field="{name}"]').first
    field.evaluate(
        "n => { for (let d = n.closest('details'); d; d = d.parentElement.closest('details'))"
        " d.open = true; }"
    )
    field.fill(text)
    field.press("Tab")
    person.settle()


def _read(page, values):
    asked = []
    while page.locator("#gauge-value[data-gauge]").count():
        field = page.locator("#gauge-value")
        asked.append(field.get_attribute("data-gauge"))
        field.fill(values.get(asked[-1], ""))
        field.press("Enter")
        page.wait_for_timeout(20)
    return asked


@pytest.mark.parametrize("person", PHONE, indirect=True)
def test_a_technician_with_a_test_kit_and_a_softener(person):
    page = person.page
    page.locator("#kit summary").click()
    _put(person, "water.hardness", "22 °dH")
    person.step("site")
    page.locator("input[name=mode][value=rate]").check()
    for name, text in (
        ("machine.product_flow", "0.5"),
        ("machine.recovery", "65 %"),
        ("machine.hours_per_day", "10"),
        ("softener.resin_volume", "113"),
    ):
        _put(person, name, text)
    person.step("verdict")
    assert "no full analysis" in page.locator("#verdict-found").inner_text()
    person.step("machine")
    card = page.locator("#card-found")
    card.locator("summary", has_text="Settings against recovery").click()
    assert "no chemistry given" in card.inner_text()
    assert "draws" not in card.inner_text()
    asked = _read(page, READ)
    assert not {"iron_filter_in", "permanganate_filled", "interstage_pressure"} & set(asked)
    assert "soft_hardness" in asked
    assert page.locator("#counted").inner_text() == f"{len(READ)} of {len(asked)} gauges written"
    page.locator("#send-reading").click()
    page.wait_for_selector("#said .fine")
    person.press("What the record says")
    told = page.locator("#trends").inner_text()
    assert "Nothing has moved beyond the noise" in told
    assert "Against the baseline" in told
    assert re.search(r"Product flow, normalised\s+0.5\s+0.5\s+m3/h", told)
    page.locator("#trends summary", has_text="Withdraw").click()
    person.press("Withdraw it")
    assert "is withdrawn" in page.locator("#said").inner_text()
    person.fits()
    person.accessible()


@pytest.mark.parametrize("person", PHONE, indirect=True)
def test_two_readings_of_one_minute_are_two(person):
    page = person.page
    page.locator("#open-site").set_input_files([ANALYSES / "quarrow_vale_installed.toml", WELL])
    page.wait_for_selector("#report-found table", state="attached")
    person.step("machine")
    for text in ("15", "15.5"):
        page.locator("#gauge-value").fill(text)
        page.locator("#send-reading").click()
        page.wait_for_selector("#said .fine, #said .now")
        assert "another reading stands" not in page.locator("#said").inner_text()
        page.wait_for_timeout(1100)


@pytest.mark.parametrize("person", DESKTOP, indirect=True)
def test_a_salesperson_is_asked_for_what_the_quote_needs_and_no_more(person, tmp_path):
    page = person.page
    person.step("site")
    page.locator("input[name=mode][value=rate]").check()
    person.step("quote")
    for name, text in (
        ("machine.product_flow", "0.5"),
        ("machine.recovery", "65 %"),
        ("machine.hours_per_day", "10"),
    ):
        _put(person, name, text)
    person.step("site")
    _put(person, "softener.vessel", "14x65")
    person.step("quote")
    (tmp_path / "list.toml").write_text(
        '[prices]\ncurrency = "EUR"\nresin_per_l = 5.3\nlabour_per_h = 60\n'
    )
    page.locator("#open-prices").set_input_files(tmp_path / "list.toml")
    page.wait_for_selector('#quote-shown [data-key="quote.net"]')
    person.settle()
    assert "Gravel" in page.locator("#prices-missing").inner_text()
    assert "Resin" not in page.locator("#prices-missing").inner_text()
    net = float(person.shown("quote.net").split()[0].replace(",", ""))
    for name, text in (
        ("quote.discount_percent", "10 %"),
        ("quote.tax_percent", "21 %"),
        ("quote.date", "2031-05-14"),
    ):
        _put(person, name, text)
    assert float(person.shown("quote.net").split()[0].replace(",", "")) == pytest.approx(
        0.9 * net, abs=0.01
    )
    said = extract_text(io.BytesIO(person.download("Quote as PDF")))
    assert "14 May 2031" in said
    assert "10 %" in said
    person.accessible()


@pytest.mark.parametrize("person", DESKTOP, indirect=True)
def test_an_engineer_who_does_not_know_the_recovery_and_chooses_a_train(person):
    page = person.page
    page.locator("#open-report").set_input_files(WELL)
    page.wait_for_selector("#report-found table")
    person.step("site")
    _put(person, "machine.product_flow", "1.6")
    _put(person, "machine.hours_per_day", "16")
    person.step("verdict")
    assert "Recovery" in page.locator("#faults").inner_text()
    assert "site.toml" not in page.locator("#faults").inner_text()
    person.press("Begin with 50 %")
    page.wait_for_selector("#chart canvas")
    assert "usual limits" in page.locator("#verdict-found").inner_text()  # the cautious ones too
    slider, why = (page.locator(one).first for one in ("#sliders", "#verdict-found ul >> nth=1"))
    assert slider.bounding_box()["y"] < why.bounding_box()["y"]
    person.step("train")
    many = page.locator("#train-found [data-train]").count()
    page.locator("#train-found").get_by_role("button", name="Choose this train").first.click()
    page.wait_for_function("() => /As they were compared/.test(document.body.innerText)")
    assert page.locator("#train-found [data-train]").count() == many
    assert page.locator("#train-found .card.chosen").count() == 1
    person.accessible()
