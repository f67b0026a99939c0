"""What is typed stays: however slow the answers, and whatever comes back for another field."""

import pytest

from tests.page.browsing import IN_A_BROWSER, WELL
from tests.page.conftest import ANALYSES

pytestmark = IN_A_BROWSER
DESKTOP = [("desktop", "si")]
SLOW_MS = 400


def _slowed(page, wait_ms):
    """Every answer about the site comes late, as over a poor connection."""

    def late(route):
        page.wait_for_timeout(wait_ms)
        route.continue_()

    page.route("**/page/site", late)


def _value(page, name):
    return page.locator(f'#site [data-field="{name}"]').first.input_value()


TYPED = {
    "site.name": "Larkmoor",
    "machine.product_flow": "3",
    "machine.recovery": "0.7",
    "machine.drain_flow": "",
    "machine.hours_per_day": "12",
    "machine.days_per_year": "365",
    "water.operating_temperature": "15",
}


@pytest.mark.parametrize("person", DESKTOP, indirect=True)
@pytest.mark.parametrize(
    ("wait_ms", "key_ms"),
    [(0, 60), pytest.param(SLOW_MS, 150, marks=pytest.mark.thorough), (SLOW_MS, 10)],
)
def test_typed_digits_stay_whatever_is_answered_meanwhile(person, wait_ms, key_ms):
    page = person.page
    if wait_ms:
        page.route(
            "**/page/site", lambda route: (page.wait_for_timeout(wait_ms), route.continue_())
        )
    person.step("site")
    person.reach(page.locator('#site [data-field="site.name"]').first)
    for name, text in TYPED.items():
        assert page.evaluate("document.activeElement.dataset.field") == name
        page.keyboard.type(text, delay=key_ms)
        page.keyboard.press("Tab")
    page.wait_for_timeout(300)
    page.wait_for_function("() => document.activeElement.blur() || true")
    page.wait_for_timeout(8 * wait_ms + 300)
    shown = {name: _value(page, name) for name in TYPED}
    assert {k: v for k, v in shown.items() if v} == {
        "site.name": "Larkmoor",
        "machine.product_flow": "3",
        "machine.recovery": "0.7",
        "machine.hours_per_day": "12",
        "machine.days_per_year": "365",
        "water.operating_temperature": "15",
    }
    page.unroute("**/page/site")
    saved = person.download("Save site file").decode()
    for line in ('product_flow = "3 m3/h"', "recovery = 0.7", "days_per_year = 365"):
        assert line in saved


@pytest.mark.parametrize("person", DESKTOP, indirect=True)
def test_the_verdict_is_of_the_last_field_though_its_answer_is_late(person):
    page = person.page
    page.locator("#open-site").set_input_files([ANALYSES / "quarrow_vale.toml", WELL])
    page.wait_for_selector("#report-found table", state="attached")
    person.settle()
    person.step("site")
    page.route("**/page/site", lambda route: (page.wait_for_timeout(SLOW_MS), route.continue_()))
    field = page.locator('#site [data-field="machine.recovery"]').first
    person.reach(field)
    page.keyboard.press("Control+a")
    page.keyboard.type("0.58")
    page.keyboard.press("Enter")  # sends the form, and goes on to the verdict
    page.wait_for_selector('#verdict-found [data-key="concentrate.recovery"]')
    person.settle()
    assert person.shown("concentrate.recovery").startswith("0.58")
    page.unroute("**/page/site")


@pytest.mark.parametrize("person", DESKTOP, indirect=True)
def test_a_field_that_is_refused_is_marked_and_named_in_its_own_words(person):
    page = person.page
    person.step("site")
    person.type(page.locator('#site [data-field="machine.hours_per_day"]').first, "30")
    page.wait_for_selector("#untaken p")
    assert "Hours per day" in page.locator("#untaken").inner_text()
    field = page.locator('#site [data-field="machine.hours_per_day"]').first
    assert field.get_attribute("aria-invalid") == "true"
    assert field.input_value() == "30"
    person.type(page.locator('#site [data-field="machine.recovery"]').first, "0.7")
    assert field.get_attribute("aria-invalid") == "true"  # still: it is still not taken
    person.type(field, "3")
    page.wait_for_function("() => !document.querySelector('#untaken p')")
    assert field.get_attribute("aria-invalid") is None


@pytest.mark.parametrize("person", DESKTOP, indirect=True)
def test_a_card_that_is_not_of_the_last_input_says_so_and_is_drawn_anew(person):
    """The softener runs 5 h a day, then 6 h are typed without a connection (before: unmarked)."""
    page = person.page
    page.locator("#open-site").set_input_files([ANALYSES / "quarrow_vale_installed.toml", WELL])
    page.wait_for_selector("#report-found table", state="attached")
    person.settle()
    person.step("machine")
    person.settle()
    before = person.shown("softener.interval_d")
    page.context.set_offline(True)
    person.step("site")
    person.type(page.locator('#site [data-field="machine.hours_per_day"]').first, "3")
    person.step("machine")
    assert person.shown("softener.interval_d") == before
    mark = page.locator("#machine .stale")
    assert mark.is_visible()
    assert "Hours per day" in mark.inner_text()
    person.heard.clear()  # the browser itself says that there is no connection
    page.context.set_offline(False)
    page.wait_for_function(
        "text => document.querySelector('#card-found [data-key=\"softener.interval_d\"]').innerText !== text",
        arg=before,
    )
    page.wait_for_selector("#machine .stale", state="hidden")
