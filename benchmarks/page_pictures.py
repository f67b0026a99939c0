"""Pictures of the page for the README, taken in Chromium: docs/page_*.png.

    python benchmarks/page_pictures.py [--all FOLDER]

With ``--all`` every step at both sizes goes into FOLDER, to be looked at.
"""

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import BrowserContext, Page, Playwright, sync_playwright

ROOT = Path(__file__).parents[1]
SIZES = {"desktop": (1280, 900), "phone": (360, 740)}
STEPS = ("report", "site", "verdict", "train", "machine", "quote")
KEPT = {
    ("desktop", "report"): "page_report.png",
    ("desktop", "verdict"): "page_verdict.png",
    ("phone", "machine"): "page_machine_phone.png",
}
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]


def opened(playwright: Playwright, size: tuple[int, int], folder: str) -> BrowserContext:
    return playwright.chromium.launch_persistent_context(
        folder,
        executable_path="/usr/bin/chromium",
        headless=True,
        args=FLAGS,
        viewport={"width": size[0], "height": size[1]},
    )


def turn(page: Page, step: str) -> None:
    page.click(f'nav a[href="#{step}"]')
    page.wait_for_timeout(400)
    for _ in range(300):
        if page.locator("#busy").text_content() == "":
            break
        page.wait_for_timeout(100)
    page.wait_for_timeout(400)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--all", type=Path)
    everything = parser.parse_args().all
    code = "from pretreat.cli import main; main()"
    site = str(ROOT / "water_analyses" / "quarrow_vale.toml")
    command = [sys.executable, "-c", code, "page", site, "--port", "0", "--no-browser"]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT)
    try:
        url = server.stdout.readline().strip()
        with sync_playwright() as playwright:
            for name, size in SIZES.items():
                context = opened(playwright, size, tempfile.mkdtemp())
                page = context.new_page()
                page.goto(url)
                page.wait_for_selector("body[data-ready]")
                for step in STEPS:
                    turn(page, step)
                    if everything is not None:
                        everything.mkdir(parents=True, exist_ok=True)
                        page.screenshot(path=everything / f"{name}_{step}.png", full_page=True)
                    if (name, step) in KEPT:
                        if step == "machine":
                            page.locator("#card-found dl").first.evaluate(
                                "node => node.scrollIntoView({behavior: 'instant'})"
                            )
                        page.screenshot(path=ROOT / "docs" / KEPT[name, step])
                context.close()
    finally:
        server.terminate()
        server.wait()


if __name__ == "__main__":
    main()
