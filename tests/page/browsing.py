"""A person before the page, in a real Chromium, with nothing but a keyboard."""

import contextlib
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ANALYSES = ROOT / "water_analyses"
CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
IN_A_BROWSER = [
    pytest.mark.browser,
    pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="Chromium is not installed"),
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]
SIZES = {"desktop": (1280, 900), "phone": (360, 740)}
AXE = Path(__file__).parent / "vendor" / "axe.min.js"
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# How many presses of Tab lead from where the focus is to a control; of a group of radio buttons
# only the chosen one is a stop. What it says is proved by where the focus then is.
STEPS = """wanted => {
    const here = document.activeElement;
    if (here === wanted) return 0;
    const shown = node => node.checkVisibility({ visibilityProperty: true });
    const stop = node => node.tabIndex >= 0 && !node.disabled && shown(node)
        && !(node.type === "radio" && !node.checked);
    const all = [...document.querySelectorAll("a[href], button, input, select, summary, [tabindex]")];
    const after = (a, b) => (a.compareDocumentPosition(b) & Node.DOCUMENT_POSITION_FOLLOWING) !== 0;
    const between = (a, b) => all.filter(n => stop(n) && after(a, n) && (n === b || after(n, b))).length;
    return here === document.body || after(here, wanted) ? between(here, wanted) : -between(wanted, here);
}"""
WELL = ANALYSES / "quarrow_vale_well_2.csv"


@contextlib.contextmanager
def serving(port=0):
    code = "from pretreat.cli import main; main()"
    arguments = [sys.executable, "-c", code, "page", "--port", str(port), "--no-browser"]
    with subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True, cwd=ROOT) as server:
        url = server.stdout.readline().strip()
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+", url)
        try:
            yield url
        finally:
            server.terminate()


@pytest.fixture(scope="module")
def address():
    with serving() as url:
        yield url


@pytest.fixture(scope="module")
def browsers(tmp_path_factory):
    sync_api = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
    with sync_api.sync_playwright() as playwright:
        opened = {
            name: playwright.chromium.launch_persistent_context(
                tmp_path_factory.mktemp(name),
                executable_path=CHROMIUM,
                headless=True,
                args=FLAGS,
                viewport={"width": size[0], "height": size[1]},
                accept_downloads=True,
            )
            for name, size in SIZES.items()
        }
        yield opened
        for context in opened.values():
            context.close()


class Person:
    """Someone before the page, with nothing but a keyboard."""

    def __init__(self, page):
        self.page = page
        self.heard = []
        page.on("console", lambda m: self.heard.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda problem: self.heard.append(str(problem)))

    def settle(self):
        self.page.wait_for_timeout(150)
        for _ in range(300):
            if self.page.locator("#busy").text_content() == "":
                return
            self.page.wait_for_timeout(100)
        raise AssertionError("the page stays busy")

    def reach(self, locator):
        """Go to a control with the Tab key alone, the shorter way round."""
        node = locator.element_handle()
        for _ in range(4):
            steps = self.page.evaluate(STEPS, node)
            if steps == 0:
                return locator
            for _ in range(abs(steps)):
                self.page.keyboard.press("Tab" if steps > 0 else "Shift+Tab")
        raise AssertionError(f"{locator} cannot be reached by the keyboard")

    def press(self, name, role="button"):
        self.reach(self.page.get_by_role(role, name=name, exact=True).first)
        self.page.keyboard.press("Enter")
        self.settle()

    def type(self, locator, text):
        self.reach(locator)
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)
        self.page.keyboard.press("Tab")
        self.page.wait_for_timeout(200)

    def step(self, name):
        self.page.locator("body").evaluate("() => document.activeElement.blur()")
        self.reach(self.page.locator(f'nav a[href="#{name}"]'))
        self.page.keyboard.press("Enter")
        self.settle()

    def download(self, name):
        button = self.reach(self.page.get_by_role("button", name=name).first)
        with self.page.expect_download() as waited:
            button.press("Enter")
        return Path(waited.value.path()).read_bytes()

    def shown(self, key):
        return self.page.locator(
            f'main section:not([hidden]) [data-key="{key}"]'
        ).first.inner_text()

    def fits(self):
        """Nothing stands wider than the screen."""
        wide = self.page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0

    def accessible(self):
        """An engine of accessibility rules finds nothing serious: each size, each unit once."""
        if (self.size, self.units) not in {("desktop", "si"), ("phone", "us")}:
            return
        self.page.evaluate(AXE.read_text("utf-8"))
        found = self.page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        assert len(found["passes"]) > 10
        grave = [
            (v["id"], [n["html"][:120] for n in v["nodes"][:3]])
            for v in found["violations"]
            if v["impact"] in {"serious", "critical"}
        ]
        assert grave == []


@pytest.fixture
def person(browsers, address, request):
    size, units = request.param
    page = browsers[size].new_page()
    someone = Person(page)
    page.goto(address)
    page.wait_for_selector("body[data-ready]")
    page.evaluate("() => { localStorage.clear(); sessionStorage.clear(); }")
    if units == "us":
        someone.reach(page.locator("input[name=units]").first)
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(300)
    someone.size, someone.units = size, units
    yield someone
    page.evaluate("() => { localStorage.clear(); sessionStorage.clear(); }")
    heard = someone.heard
    page.close()
    assert heard == []
