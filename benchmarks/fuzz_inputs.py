"""Damage every input but lab reports: no traceback, no hang, one clear line, no file lost.

Usage: python benchmarks/fuzz_inputs.py [--count 2000] [--seed 1] [--kind site,json,...]

Kinds: site (TOML), json (a run, read back and written as a workbook), record, limits (a table of
limits), chart (K chart), resin (capacity table), prices ([prices] of a site file), unit (texts with
a unit), entry (what is typed for the record), customers (a table of customers over a site file),
http (bodies sent to the page and its interface; needs the extra `page`). A mutant must be read, or
refused with an error of our own whose lines are short and printable, within ten seconds of
processor time; the file itself must not change.
"""

import argparse
import json
import random
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from types import FrameType

from pretreat.core.errors import PretreatError
from pretreat.core.text import one_line

SLOWEST_S, LONGEST_LINE, MOST_MB = 10, 3000, 1024
KINDS = "site,json,record,limits,chart,resin,prices,unit,entry,customers"
PROJECT = Path(__file__).resolve().parents[1]
SITES = PROJECT / "water_analyses"
SPICE = [
    "nan", "inf", "-inf", "NaN", "Infinity", "-Infinity", "1e999", "1e-300", "-1", "0", "9" * 400,
    "0x10", "1_000", "true", "null", "[]", "{}", '""', "[[[[[[[[", "{" * 30, "[" * 3000, '"' * 3,
    "\x00", "\x1b[31m", "\ufeff", "\u202e", "\uff1d1", "=1+1", "\\ud800", "\\u0000", "'", "#", ";",
    ",", "\n", "\r", "\t", "%s", "{0}", "../../x", "/dev/zero", "9**9**9", "5 gpm", "m3/h", "1,5",
    "a" * 6000, "machine", "recovery = 0.5", "[limits]", "2031-05-14", "1979-05-27T07:32:00Z",
    "0.999999", "1e6", "1e-9", "°C", "\ud7ff", "\U0001f4a7", "x" * 200, "when,", "strike ",
    '"value": "x"', '"rows": [[1]]', '"formula": "WEBSERVICE(1)"',
    '"formula": "{machine.recovery}"',
]  # fmt: skip


PARTS: tuple[object, ...] = (
    None, True, 0, -1, 1.5, 1e308, -1e308, 5e-324, 10**30, "", "x" * 30000, "=1+1", "\x1b[2J",
    "\ud800", [], {}, [[]], {"a": 1}, [1, "a", None], "{machine.recovery}*2", "1/0", "IF(1,2,3)",
    "inf", "nan", "softener.interval_d", ["softener.interval_d"] * 50, 'HYPERLINK("x")',
)  # fmt: skip


def damaged(text: str, rng: random.Random) -> str:
    """Damage a text a few times."""
    for _ in range(rng.choice((1, 1, 1, 2, 3, 8))):
        at = rng.randrange(len(text) + 1)
        end = min(len(text), at + rng.choice((0, 1, 3, 12, 80, 600)))
        lines = text.split("\n")
        kind = rng.randrange(9)
        if kind < 3:
            text = text[:at] + rng.choice(SPICE) + text[end:]
        elif kind == 3:
            text = text[:at] + text[end:]
        elif kind == 4:
            text = text[:end] + text[at:]
        elif kind == 5:  # a value
            n = rng.randrange(len(lines))
            head, sign, _ = lines[n].partition(rng.choice(("=", ":", ",")))
            lines[n] = f"{head}{sign} {rng.choice(SPICE)}"
            text = "\n".join(lines)
        elif kind == 6:  # a line moved or doubled
            line = rng.choice(lines)
            lines.insert(rng.randrange(len(lines) + 1), line)
            text = "\n".join(lines)
        elif kind == 7:
            del lines[rng.randrange(len(lines))]
            text = "\n".join(lines)
        else:
            text = text[:at] + chr(rng.randrange(0x250)) + text[at:]
    return text


def damaged_tree(tree: object, rng: random.Random) -> object:
    """Replace, remove or double parts of a JSON document, whose syntax stays whole."""
    tree = json.loads(json.dumps(tree))
    for _ in range(rng.choice((1, 1, 2, 5))):
        place, parts = tree, []
        while isinstance(place, dict | list) and place and rng.random() < 0.85:
            key = rng.choice(list(place) if isinstance(place, dict) else range(len(place)))
            parts.append((place, key))
            place = place[key]
        if not parts:
            return rng.choice((None, [], {}, 1.5, "x", [tree]))
        home, key = parts[-1]
        kind = rng.randrange(5)
        if kind < 3:
            home[key] = json.loads(json.dumps(rng.choice(PARTS)))  # never shared
        elif kind == 3:
            del home[key]
        elif isinstance(home, dict):
            name = rng.choice(("x", "a.b", "../x", "A B", "", "machine.recovery2"))
            home[name] = json.loads(json.dumps(home[key]))
        else:
            home.append(json.loads(json.dumps(home[key])))
    return tree


class _Late(BaseException):
    pass


def _alarm(_number: int, _frame: FrameType | None) -> None:
    raise _Late


def _site_job(folder: Path) -> tuple[list[str], Callable[[str, int], None]]:
    from pretreat.lab import read_design_water
    from pretreat.report import text_size
    from pretreat.report.workbook.book import workbook_bytes
    from pretreat.site.sheets.toml_form import site_form
    from pretreat.stages.site import read_site, tables
    from pretreat.study import run_study

    for path in SITES.glob("*.csv"):
        (folder / path.name).write_bytes(path.read_bytes())
    texts = [path.read_text("utf-8") for path in sorted(SITES.glob("*.toml"))]
    form = site_form("drover_flat.csv", tables())
    texts.append(re.sub(r"(?m)^# (?=\w+ = |\[)", "", form))
    site = folder / "site.toml"

    def job(text: str, number: int) -> None:
        site.write_text(text, "utf-8", "replace")
        mode = "size" if number % 2 else "rate"
        design = read_site(site, water_needed=mode == "size")
        if number % 10:
            return
        water, samples = read_design_water(design.water)
        study = run_study(water, design, mode, samples, 0)
        text_size(study)
        workbook_bytes(study)

    return texts, job


def _json_job(folder: Path) -> tuple[list[str], Callable[[str, int], None]]:
    from pretreat.core.results import from_json, to_json
    from pretreat.lab import read_analysis
    from pretreat.public import size
    from pretreat.report import write_csv
    from pretreat.report.workbook.book import workbook_bytes
    from pretreat.study import run_check

    small = to_json(run_check(read_analysis(SITES / "drover_flat.csv")))
    texts = [small, small, small, to_json(size(SITES / "quarrow_vale.toml"))]

    def job(text: str, number: int) -> None:
        study = from_json(text)
        to_json(study)
        if number % 3 == 0:
            workbook_bytes(study, units="us" if number % 2 else "si")
        if number % 50 == 0:
            write_csv(study, folder / "csv")

    return texts, job


def _record_job(folder: Path) -> tuple[list[str], Callable[[str, int], None]]:
    import datetime

    from pretreat.record.readings import gauges, reading
    from pretreat.record.store.book import add_readings, read_book, strike_readings

    start = folder / "start.record.csv"
    day = datetime.datetime(2031, 5, 1, 9, 30)
    for n in range(12):
        values = {g.key: g.low + (g.high - g.low) * 0.3 for g in list(gauges().values())[:12]}
        add_readings(start, reading(day + datetime.timedelta(days=n), values, f"note {n}"))
    strike_readings(start, day + datetime.timedelta(days=3), "wrong")
    record = folder / "x.record.csv"

    def job(text: str, number: int) -> None:
        record.write_text(text, "utf-8", "replace")
        before = record.read_bytes()
        try:
            read_book(record)
            if number % 4 == 0:
                add_readings(record, reading(day, {"temperature_c": 15.0}))
                read_book(record)
        finally:
            assert record.read_bytes().startswith(before) or not before, "the record was rewritten"

    return [start.read_text("utf-8")], job


def _table_jobs(folder: Path) -> dict[str, tuple[list[str], Callable[[str, int], None]]]:
    from pretreat.site.design import LimitChoices
    from pretreat.site.limits import read_k_chart, with_files
    from pretreat.stages.softener.resin import read_capacity_table

    table = folder / "table.csv"

    def through(read: Callable[[Path], object]) -> Callable[[str, int], None]:
        def job(text: str, _number: int) -> None:
            table.write_text(text, "utf-8", "replace")
            read(table)

        return job

    limits = (
        "scale,measure,without_inhibitor,with_inhibitor,source\nlsi,index,0,1.8,own\n"
        "gypsum,%,100,230,bench\nbarite,si,0,1.7,\nsilica,%,100,,\n"
    )
    chart = "ionic_strength_mol_kg,temperature_c,k\n" + "".join(
        f"{i},{t},{2 + i - t / 50}\n" for i in (0, 0.5, 1, 2) for t in (0, 10, 25, 50)
    )
    resin = "salt_g_l,capacity_g_caco3_l\n80,40\n120,50\n160,57\n240,68\n"
    return {
        "limits": (
            [limits, limits.replace(",", ";")],
            through(lambda p: with_files(LimitChoices(), p)),
        ),
        "chart": ([chart], through(read_k_chart)),
        "resin": ([resin], through(read_capacity_table)),
    }


def _prices_job(folder: Path) -> tuple[list[str], Callable[[str, int], None]]:
    from pretreat.stages.site import read_site

    whole = (SITES / "quarrow_vale.toml").read_text("utf-8")
    head, _, prices = whole.partition("[prices]")
    for path in SITES.glob("*.csv"):
        (folder / path.name).write_bytes(path.read_bytes())
    site = folder / "prices.toml"

    def job(text: str, _number: int) -> None:
        site.write_text(f"{head}{text}", "utf-8", "replace")
        read_site(site)

    return [f"[prices]{prices}"], job


def _word_jobs() -> dict[str, tuple[list[str], Callable[[str, int], None]]]:
    from pretreat.core.units import hardness_mg_l_caco3, mg_l, quantity
    from pretreat.record.entry import read_entries

    def unit(text: str, number: int) -> None:
        wanted = ("m3/h", "bar", "g/L", "L", "hardness", "mg/L")[number % 6]
        others = {"hardness": hardness_mg_l_caco3, "mg/L": mg_l}
        others[wanted](text) if wanted in others else quantity(text, wanted)

    return {
        "unit": (["6 gpm", "3.5 bar", "160 g/L", "1,500.5 L", "21 gpg", "4 gal/(min ft2)"], unit),
        "entry": (
            ["temperature=15 C", "feed_pressure=10.4 bar", "product_flow=26 L/min"],
            lambda text, _n: read_entries([text]) and None,
        ),
    }


def _customers_job(folder: Path) -> tuple[list[str], Callable[[str, int], None]]:
    from pretreat.quote.customers import laid_over, read_customers
    from pretreat.site.file import read_content
    from pretreat.stages.site import tables

    for path in SITES.glob("*.csv"):
        (folder / path.name).write_bytes(path.read_bytes())
    site = folder / "template.toml"
    site.write_bytes((SITES / "quarrow_vale.toml").read_bytes())
    template = read_content(site, tables())[0]
    table = folder / "customers.csv"
    rows = (
        "customer,site.name,water.hardness,machine.hours_per_day,prices.salt_per_kg,quote.number\n",
        "Ash Lane Dairy,Well 2,412 mg/L,9,0.42,Q-1\n",
        '"Fell, Moor & Co",House,18 gpg,6.5,"0,39",Q-2\n',
        "Low Garth,,290,22,,\n",
    )
    texts = ["".join(rows), "".join(rows).replace(",", ";"), "".join(rows).replace(",", "\t")]

    def job(text: str, number: int) -> None:
        table.write_text(text, "utf-8", "replace")
        for row in read_customers(table).rows[:3]:
            try:
                content = laid_over(row, template, table)
            except PretreatError:
                continue  # the others are quoted all the same
            if number % 20 == 0:
                _quoted(content, folder)

    return texts, job


def _quoted(content: object, folder: Path) -> None:
    from pretreat.cli.quote_job import Order, Terms, numbered, outcomes, with_own_stems

    orders, _ = numbered(with_own_stems([Order("x", "x", content, folder)]), folder)  # type: ignore[arg-type]
    for outcome in outcomes(orders, Terms(folder, "si", None, 0)):
        for fault in outcome.faults:
            if words := _bad_message(PretreatError(fault)):
                raise AssertionError(words)


def _http_job(_folder: Path) -> tuple[list[str], Callable[[str, int], None]]:
    import atexit

    from starlette.testclient import TestClient

    from pretreat.core.results import to_json
    from pretreat.lab import read_analysis
    from pretreat.page.app import create_app
    from pretreat.page.settings import Settings
    from pretreat.study import run_check

    client = TestClient(
        create_app(Settings(workers=1, quick=0)),
        base_url="http://127.0.0.1",
        raise_server_exceptions=True,
    )
    client.__enter__()
    atexit.register(client.__exit__, None, None, None)
    edge = "edge"
    report = (SITES / "quarrow_vale_well_2.csv").read_text("utf-8")
    site = (SITES / "quarrow_vale.toml").read_text("utf-8")
    parts = {
        'name="site"': site,
        'name="report"; filename="quarrow_vale_well_2.csv"': report,
        'name="draws"': "0",
        'name="recovery"': "0.6",
    }
    form = "".join(
        f"--{edge}\r\nContent-Disposition: form-data; {name}\r\n\r\n{text}\r\n"
        for name, text in parts.items()
    )
    texts = [
        f"{form}--{edge}--\r\n",
        f"report={report.replace(',', '%2C')[:900]}&recovery=0.5",
        to_json(run_check(read_analysis(SITES / "drover_flat.csv"))),
    ]
    paths = [
        *(f"/api/{name}" for name in ("check", "scaling", "size", "rate", "workbook", "card")),
        *(f"/page/{name}" for name in ("view_check", "view_size", "site", "correct", "log")),
    ]

    def job(text: str, number: int) -> None:
        path = paths[number % len(paths)]
        kinds = (
            f"multipart/form-data; boundary={edge}",
            "application/x-www-form-urlencoded",
            "application/json",
        )
        kind = kinds[0 if edge in text[:9] else 1 if text[:7] == "report=" else 2]
        answer = client.post(
            path, content=text.encode("utf-8", "replace"), headers={"content-type": kind}
        )
        if answer.status_code == 200:
            return
        assert 400 <= answer.status_code < 500, (path, answer.status_code, answer.text[:300])
        raise PretreatError(*answer.json()["errors"])

    return texts, job


def _bad_message(problem: PretreatError) -> str:
    for fault in problem.faults:
        if not fault.strip():
            return "an empty line"
        if "\n" in fault or "\x1b" in fault:
            return f"a line with commands: {fault[:200]!r}"
        if len(fault) > LONGEST_LINE:
            return f"a line of {len(fault)} characters: {fault[:200]!r}"
    return ""


def _tried(job: Callable[[str, int], None], text: str, number: int) -> tuple[str, str]:
    """Return what became of a mutant, and what is wrong with that."""
    signal.setitimer(signal.ITIMER_PROF, 2 * SLOWEST_S)
    try:
        job(text, number)
    except PretreatError as problem:
        return "refused", _bad_message(problem)
    except _Late:
        return "late", "hang"
    except Exception:  # noqa: BLE001 - this is what is looked for
        return "broken", traceback.format_exc()[-900:]
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return "read", ""


def run(
    kind: str, texts: list[str], job: Callable[[str, int], None], count: int, seed: int
) -> Counter[str]:
    """Try mutants of one kind; print those that fail, and return the counts."""
    rng = random.Random(f"{kind} {seed}")
    trees = [json.loads(text) for text in texts] if kind == "json" else []
    found: Counter[str] = Counter()
    slowest = 0.0
    for number in range(count):
        if trees and rng.random() < 0.7:
            text = json.dumps(damaged_tree(rng.choice(trees), rng))
        else:
            text = damaged(rng.choice(texts), rng)
        started = time.process_time()
        outcome, words = _tried(job, text, number)
        found[outcome] += 1
        took = time.process_time() - started
        slowest = max(slowest, took)
        if took > SLOWEST_S:
            words = words or f"{took:.1f} s"
        if words:
            found["failed"] += 1
            if found["failed"] <= 12:
                kept = Path(tempfile.gettempdir()) / f"mutant_{kind}_{seed}_{number}"
                kept.write_text(text, "utf-8", "backslashreplace")
                print(f"--- {kind} {number}: {one_line(words, 900)}\n    kept as {kept}")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{kind:8s} {count:7,d} mutants: {found['read']:6,d} read, {found['refused']:6,d} refused, "
        f"{found['failed']} failed; slowest {slowest:.2f} s, peak {peak:.0f} MB",
        flush=True,
    )
    return found


def main() -> int:
    """Run the kinds asked for; return 1 if any mutant failed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", default=KINDS)
    asked = parser.parse_args()
    signal.signal(signal.SIGPROF, _alarm)
    failed = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        makers: dict[str, Callable[[], tuple[list[str], Callable[[str, int], None]]]] = {
            "site": lambda: _site_job(folder),
            "json": lambda: _json_job(folder),
            "record": lambda: _record_job(folder),
            "prices": lambda: _prices_job(folder),
            "customers": lambda: _customers_job(folder),
            "http": lambda: _http_job(folder),
            **{k: (lambda k=k: _table_jobs(folder)[k]) for k in ("limits", "chart", "resin")},
            **{k: (lambda k=k: _word_jobs()[k]) for k in ("unit", "entry")},
        }
        for kind in asked.kind.split(","):
            failed += run(kind, *makers[kind](), asked.count, asked.seed)["failed"]
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
