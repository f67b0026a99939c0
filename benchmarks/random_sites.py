"""Size and rate random sites that are valid: no NaN, nothing negative, pages agree, nothing slow.

Usage: python benchmarks/random_sites.py [--count 2000] [--seed 1]

Waters are drawn wide around those of wells, choices within the bounds of the site file. Of each
site the JSON must hold no NaN and read back to the same figures, no volume, flow, mass or interval
may be negative, and nothing may take over five seconds; of every tenth the named cells and the
formulas of the workbook must hold the values of the JSON. A site refused in one line is counted.
"""

import argparse
import io
import random
import re
import resource
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path
from typing import Any

from pretreat.core.errors import PretreatError

SLOWEST_S = 5.0
UNSIGNED = {
    "m3", "L", "m3/h", "m3/d", "L/min", "L/d", "m3/year", "kg", "kg/year", "g", "d", "h", "min",
    "m", "m2", "years", "BV/h", "m/h", "g/L", "mg/L", "mg/L as CaCO3", "bar",
}  # fmt: skip
MAY_BE_NEGATIVE = re.compile(
    r"difference|deviation|margin|spare|surplus|excess|change|net_driving|left_over|ccpp|gain|shift|"
    r"non_carbonate|balance|uncovered|saved|error"
)


def _log(rng: random.Random, low: float, high: float) -> float:
    return float(low * (high / low) ** rng.random())


def a_water(rng: random.Random) -> str:
    """Return a lab report of a random water."""
    ions = {
        "Calcium": _log(rng, 2, 600), "Magnesium": _log(rng, 1, 250), "Sodium": _log(rng, 3, 2500),
        "Potassium": _log(rng, 0.5, 60), "Sulfate": _log(rng, 1, 1800), "Iron": _log(rng, 0.01, 9),
        "Fluoride": _log(rng, 0.05, 4), "Silica": _log(rng, 3, 90), "Nitrate": _log(rng, 0.1, 90),
        "Manganese": _log(rng, 0.005, 2), "Barium": _log(rng, 0.005, 0.5),
        "Strontium": _log(rng, 0.02, 8),
    }  # fmt: skip
    alkalinity = _log(rng, 15, 500)
    meq = ions["Calcium"] / 20.04 + ions["Magnesium"] / 12.15 + ions["Sodium"] / 22.99
    meq -= alkalinity / 50.04 + ions["Sulfate"] / 48.03 + ions["Nitrate"] / 62.0
    if meq < 0:
        ions["Sodium"] -= meq * 22.99
        meq = 0.05
    ions["Chloride"] = 35.45 * meq
    for name in list(ions):
        if rng.random() < 0.06:
            del ions[name]
    lines = [f"{name},{value:.4g},mg/L" for name, value in ions.items()]
    if rng.random() < 0.1:
        lines.append("Ammonia,0.4,mg/L as N")
    if rng.random() < 0.1:
        lines.append("Hydrogen sulfide,0.3,mg/L")
    lines += [
        f"Alkalinity,{alkalinity:.4g},mg/L as CaCO3",
        f"pH,{rng.uniform(6.0, 8.6):.2f},",
        f"Temperature,{rng.uniform(4, 28):.1f},°C",
    ]
    return "Parameter,Result,Unit\n" + "\n".join(lines) + "\n"


def _some(rng: random.Random, choices: dict[str, Any], share: float) -> list[str]:
    return [f"{key} = {value()}" for key, value in choices.items() if rng.random() < share]


def a_site(rng: random.Random, *, rated: bool) -> str:
    """Return a random site file, with the vessels installed where it is rated."""
    flow = _log(rng, 0.02, 120)
    cold = rng.uniform(3, 18)

    def amount(low: float, high: float, unit: str) -> Any:
        return lambda: f'"{_log(rng, low, high):.4g} {unit}"'

    def bare(low: float, high: float) -> Any:
        return lambda: f"{rng.uniform(low, high):.4g}"

    def word(*words: str) -> Any:
        return lambda: f'"{rng.choice(words)}"'

    def truth() -> str:
        return rng.choice(("true", "false"))

    tables: dict[str, list[str]] = {
        "water": ['analysis = "water.csv"', f"operating_temperature_c = {cold + 3:.1f}"]
        + _some(
            rng,
            {
                "coldest_temperature_c": lambda: f"{cold:.1f}",
                "warmest_temperature_c": lambda: f"{cold + 9:.1f}",
                "adjust_balance": word("no", "na", "cl"),
            },
            0.5,
        ),
        "machine": [
            f'product_flow = "{flow:.4g} m3/h"',
            f"recovery = {rng.uniform(0.2, 0.9):.3f}",
            f"hours_per_day = {rng.choice((0.5, 2, 6, 8, 12, 16, 20, 23.5, 24))}",
        ]
        + _some(
            rng,
            {
                "days_per_year": bare(20, 365),
                "recycle_flow": amount(flow / 10, flow * 2, "m3/h"),
                "salt_passage": bare(0, 0.1),
                "recovery_range": lambda: "[0.4, 0.9]",
                "element": word("4x40", "8x40", "2.5x40"),
                "feed_kind": word("well", "filtered", "surface"),
                "product_pressure": amount(0.1, 3, "bar"),
                "feed_pressure": amount(5, 25, "bar"),
                "saturation_at": word("bulk", "wall"),
            },
            0.25,
        ),
        "supply": _some(
            rng,
            {
                "pump_flow": amount(flow, flow * 6, "m3/h"),
                "pump_pressure": amount(1.5, 6, "bar"),
                "well_yield": amount(flow, flow * 5, "m3/h"),
                "raw_tank_volume": amount(0.2, 60, "m3"),
                "product_tank_volume": amount(0.2, 60, "m3"),
                "vented_raw_tank": truth,
                "demand": amount(flow / 2, flow * 20, "m3/d"),
                "demand_profile": word("level", "working day", "two shifts", "household"),
            },
            0.35,
        ),
        "softener": _some(
            rng,
            {
                "include": truth,
                "salt_dose_g_l": bare(85, 240),
                "reserve": bare(0, 0.5),
                "capacity_factor": bare(0.5, 1),
                "control": word("calendar", "meter"),
                "arrangement": word("single", "parallel", "duty-standby", "lead-lag"),
                "resin_volume": amount(10, 2000, "L"),
                "vessel_diameter": amount(8, 63, "in"),
            },
            0.3,
        ),
        "iron_filter": _some(
            rng,
            {
                "include": truth,
                "regeneration": word("intermittent", "continuous"),
                "vessel_diameter": amount(8, 63, "in"),
                "media_depth": amount(0.5, 1.2, "m"),
            },
            0.3,
        ),
        "carbon": _some(
            rng,
            {
                "include": truth,
                "free_chlorine_mg_l": bare(0, 3),
                "media_volume": amount(20, 900, "L"),
            },
            0.25,
        ),
        "limits": _some(rng, {"inhibitor": truth, "lsi": bare(0, 2)}, 0.3),
        "product": _some(rng, {"target": word("drinking", "irrigation", "process")}, 0.2),
        "prices": _some(
            rng,
            {"salt_per_kg": bare(0, 2), "water_per_m3": bare(0, 5), "resin_per_l": bare(1, 9)},
            0.3,
        ),
    }  # fmt: skip
    if rated:
        tables["softener"] = ['resin_volume = "140 L"', 'vessel_diameter = "16 in"']
        tables["softener"] += _some(
            rng, {"salt_dose_g_l": bare(85, 240), "reserve": bare(0, 0.5)}, 1
        )
        tables["iron_filter"] = [f'vessel_diameter = "{rng.choice((16, 24, 36))} in"']
        tables["iron_filter"].append('media_depth = "0.76 m"')
        tables["carbon"] = ['vessel_diameter = "18 in"', 'media_volume = "142 L"']
    return "\n".join(f"[{name}]\n" + "\n".join(lines) for name, lines in tables.items() if lines)


def faults_of(study: Any, number: int) -> list[str]:
    """Return what is wrong with a study and its pages."""
    from pretreat.core.results import from_json, to_json
    from pretreat.report import text_rate, text_size
    from pretreat.report.workbook.book import workbook_bytes

    again = from_json(to_json(study))  # refuses NaN and infinity
    found = [
        f"{key} is {again.value(key)!r} in JSON, {figure.value!r} here"
        for key, figure in study.figures.items()
        if again.value(key) != figure.value
    ]
    found += [
        f"{key} = {figure.value:g} {figure.unit}"
        for key, figure in study.figures.items()
        if isinstance(figure.value, float)
        and figure.value < 0
        and figure.unit in UNSIGNED
        and not MAY_BE_NEGATIVE.search(key)
    ]
    text_size(study) if study.value("study.kind") == "size" else text_rate(study)
    if number % 10 == 0:
        content = workbook_bytes(study, units="us" if number % 20 else "si")
        found += _cells_that_differ(study, content)
    return found


def _cells_that_differ(study: Any, content: bytes) -> list[str]:
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(content), data_only=True)
    names = {key.replace(".", "_"): key for key in study.figures}
    found = []
    for name, area in book.defined_names.items():
        key = names.get(name)
        if key is None or not isinstance(study.value(key), float):
            continue
        sheet, _, cell = area.attr_text.rpartition("!")
        seen = book[sheet.strip("'").replace("''", "'")][cell.replace("$", "")].value
        here = study.value(key)
        if not isinstance(seen, int | float) or abs(seen - here) > 1e-9 * max(1.0, abs(here)):
            found.append(f"cell {name} shows {seen!r}, JSON {here!r}")
    return found


def tried(folder: Path, number: int) -> tuple[str, float, list[str]]:
    """Return what became of a site, the time it took [s of processor], and its faults."""
    from pretreat.lab import read_design_water
    from pretreat.stages.site import read_site
    from pretreat.study import run_study

    started = time.process_time()
    try:
        mode = "size" if number % 3 else "rate"
        design = read_site(folder / "site.toml")
        water, samples = read_design_water(design.water)
        study = run_study(water, design, mode, samples, 256 if number % 10 == 0 else 0)
        took = time.process_time() - started
        return "done", took, faults_of(study, number)
    except PretreatError as problem:
        reason = re.sub(r"[\d.]+", "#", problem.faults[0])[:110]
        return f"refused: {reason}", time.process_time() - started, []
    except Exception:  # noqa: BLE001 - this is what is looked for
        return "broken", time.process_time() - started, [traceback.format_exc()[-1200:]]


def main() -> int:
    """Try random sites; return 1 if any failed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0)
    asked = parser.parse_args()
    found: Counter[str] = Counter()
    failed, slowest = 0, 0.0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for number in range(asked.first, asked.first + asked.count):
            rng = random.Random(f"{asked.seed} {number}")
            (folder / "water.csv").write_text(a_water(rng), "utf-8")
            (folder / "site.toml").write_text(a_site(rng, rated=number % 3 == 0), "utf-8")
            outcome, took, faults = tried(folder, number)
            found[outcome] += 1
            slowest = max(slowest, took)
            faults += [f"took {took:.1f} s"] if took > SLOWEST_S else []
            if number % 50 == 49:
                print(f"{number + 1}: {found['done']} done, {failed} failed", file=sys.stderr)
            if faults:
                failed += 1
                print(f"--- site {number}: " + "\n    ".join(faults[:6]), flush=True)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{asked.count} sites: {found['done']} done, {asked.count - found['done']} refused, "
        f"{failed} failed; slowest {slowest:.2f} s, peak {peak:.0f} MB"
    )
    for reason, times in found.most_common(12):
        print(f"  {times:4d} {reason}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
