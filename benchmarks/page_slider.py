"""How long after a slider moves the chart is redrawn, in Chromium: median of 20 moves of each.

    python benchmarks/page_slider.py [SITE.toml] [--moves 20]

"Redrawn" is the chart with the numbers that stand on it; "answered" is all that the slider moves,
from the program. Recovery is read off the curve that is drawn; the others are computed.
"""

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).parents[1]
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
MOVE = """([name, back]) => {
    const slider = document.querySelector(`[data-slider="${name}"]`);
    delete document.body.dataset.redrawn;
    delete document.body.dataset.answered;
    if (back) slider.stepDown(); else slider.stepUp();
    slider.dispatchEvent(new Event("input"));
}"""


def measured(page: Page, name: str, moves: int) -> tuple[list[float], list[float]]:
    redrawn, answered = [], []
    for n in range(moves):
        page.evaluate(MOVE, [name, n % 2 == 1])
        page.wait_for_selector("body[data-answered]", timeout=60_000)
        redrawn.append(float(page.evaluate("document.body.dataset.redrawn")))
        answered.append(float(page.evaluate("document.body.dataset.answered")))
    return redrawn, answered


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    site = ROOT / "water_analyses" / "quarrow_vale.toml"
    parser.add_argument("site", nargs="?", type=Path, default=site)
    parser.add_argument("--moves", type=int, default=20)
    chosen = parser.parse_args()
    code = "from pretreat.cli import main; main()"
    command = [sys.executable, "-c", code, "page", str(chosen.site), "--port", "0", "--no-browser"]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT)
    try:
        url = server.stdout.readline().strip()
        with sync_playwright() as playwright:
            context = playwright.chromium.launch_persistent_context(
                tempfile.mkdtemp(), executable_path="/usr/bin/chromium", headless=True, args=FLAGS
            )
            page = context.new_page()
            page.goto(f"{url}/#verdict")
            page.wait_for_selector("#chart canvas", timeout=60_000)
            page.wait_for_selector("body[data-ahead]", timeout=60_000)
            print(f"{chosen.site.name}, load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
            names = page.eval_on_selector_all(
                "[data-slider]", "found => found.map(one => one.dataset.slider)"
            )
            for name in names:
                redrawn, answered = measured(page, name, chosen.moves)
                print(
                    f"{name:<30} redrawn {statistics.median(redrawn):>5.0f} ms, "
                    f"answered {statistics.median(answered):>5.0f} ms (median of {chosen.moves})"
                )
            context.close()
    finally:
        server.terminate()
        server.wait()


if __name__ == "__main__":
    main()
