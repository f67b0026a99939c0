"""Record everything the program says, and compare a later program with the record.

    python tests/frozen/freeze.py record DIR [CASE...]
    python tests/frozen/freeze.py compare [--reference DIR] [CASE...]
    python tests/frozen/freeze.py differences DIR_A DIR_B [--cells]

Every case is one command line. Its JSON (or table) and every cell of its workbook are kept in
DIR, one `.json.xz` per case. `compare` runs the commands again and takes the newest reference if
none is named. `differences` lists what moved between two references, by key.

Compared: numbers to 1e-12 of the larger one, texts to the letter, and that the same keys are
there. Kept but not compared: the text of formulas and the inputs they name; whether there is a
formula is compared. The order of figures, series, rows of a series and flags is not compared by
itself: the workbook shows it, and its cells are compared by address.

Made independent of day, version and place: commands that write a workbook are given one date;
the version of the program is written `<version>`; commands run in the folder of the project with
relative paths, and should the project's or the temporary folder still be named, it is written
`<project>` or `<folder>`. Every case runs in a process of its own, forked from one that has only
loaded the libraries: PHREEQC keeps its last solution as a start for the next, so that its answers
depend, in their last digits, on what was asked of it before. Small differences between its answer
and the own one (columns `less_...` of the second opinion) therefore move by some 1e-15 where a
program asks PHREEQC in another order.
"""

import argparse
import contextlib
import csv
import io
import json
import lzma
import multiprocessing
import os
import re
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

HERE = Path(__file__).resolve().parent
PROJECT = HERE.parents[1]
DATE = "2031-05-14"
CLOSE = 1e-12  # of the larger number
NOTHING = 1e-300  # smaller numbers count as zero
SHOWN = 40  # differences of a case that are written out
LONGEST = 160  # signs of a text shown
WORKBOOK, TABLE = "<workbook>", "<table>"
NOT_COMPARED = frozenset({"formula", "inputs", "cites", "worked", "p10", "p90"})
ABSENT = "(absent)"
LIBRARIES = ["numpy", "pandas", "openpyxl", "xlsxwriter", "phreeqc", "typer", "pretreat.cli"]

TRAIN_SITES = {
    "sized": "size", "rated": "rate", "too small": "rate", "refill": "rate",
    "continuous": "size", "metered duplex": "size", "derated": "size", "counter": "size",
    "chlorinated": "size", "chloramine": "size", "no filter": "size", "leak given": "size",
    "vented": "size", "well known": "size",
}  # fmt: skip
DEMO = {
    "quarrow vale": "quarrow_vale_well_2.csv",
    "drover flat": "drover_flat.csv",
    "ashfell ridge": "ashfell_ridge.xlsx",
}
ANALYSES, SITES = "water_analyses", "tests/frozen/sites"
STUDY = ("--json", "--date", DATE, "-o", WORKBOOK)


def _file_name(case: str) -> str:
    return case.replace(" ", "_")


def _cases() -> dict[str, tuple[str, ...]]:
    site = f"{ANALYSES}/quarrow_vale.toml"
    cases: dict[str, tuple[str, ...]] = {
        name: ("size", f"{ANALYSES}/{_file_name(name)}.toml", *STUDY) for name in DEMO
    }
    cases["quarrow vale in US units"] = ("size", site, *STUDY, "--units", "us")
    cases["quarrow vale installed"] = (
        "rate", f"{ANALYSES}/quarrow_vale_installed.toml", *STUDY)  # fmt: skip
    for name, mode in TRAIN_SITES.items():
        cases[f"train {name}"] = (mode, f"{SITES}/{_file_name(name)}.toml", *STUDY)
    record = ("record", f"{SITES}/sized.toml", "--file", f"{SITES}/readings.record.csv", *STUDY)
    cases["record"] = record
    cases["record with a new analysis"] = (*record, "--analysis", f"{SITES}/harder_water.csv")
    cases["vessels alone"] = ("rate", f"{SITES}/vessels_alone.toml", *STUDY)
    for name, file in DEMO.items():
        cases[f"check {name}"] = ("check", f"{ANALYSES}/{file}", "--json")
        cases[f"scaling {name}"] = (
            "scaling", f"{ANALYSES}/{file}", "--recovery", "0.65", "--temperature", "18",
            "--json")  # fmt: skip
    cases["screen"] = (
        "screen", f"{SITES}/waters.csv", "--recovery", "0.5", "--recovery", "0.65",
        "--recovery", "0.75", "-o", TABLE)  # fmt: skip
    return cases


CASES = _cases()


# Running the program


@lru_cache(maxsize=1)
def _pool(workers: int) -> ProcessPoolExecutor:
    """Return processes that run one case each, and take no state from this one."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    way = "forkserver" if "forkserver" in multiprocessing.get_all_start_methods() else "spawn"
    context = multiprocessing.get_context(way)
    if way == "forkserver":
        context.set_forkserver_preload(LIBRARIES)
    return ProcessPoolExecutor(workers, mp_context=context, max_tasks_per_child=1)


def run_all(cases: Iterable[str], workers: int = 1) -> Iterator[dict[str, Any]]:
    """Run cases, each in a fresh process; return all they say, in the order of the cases."""
    return _pool(workers).map(_run, cases)


def _run(case: str) -> dict[str, Any]:
    """Run the command of a case in this process; return all it says, as plain JSON data."""
    with tempfile.TemporaryDirectory() as folder:
        book, table = Path(folder) / "book.xlsx", Path(folder) / "table.csv"
        places = {WORKBOOK: str(book), TABLE: str(table)}
        code, out, err = _command([places.get(word, word) for word in CASES[case]])
        said: dict[str, Any] = {"command": list(CASES[case]), "exit code": code}
        said["messages"] = err.splitlines()
        if out.lstrip().startswith("{"):
            said |= json.loads(out)
        elif out:
            said["output"] = out.splitlines()
        if book.exists():
            said["workbook"] = _cells(book)
        if table.exists():
            said["series"] = {"table": _table(table)}
        return _normalised(said, folder)


def _command(words: list[str]) -> tuple[int, str, str]:
    from pretreat.cli import main

    out, err, code, before = io.StringIO(), io.StringIO(), 0, sys.argv
    with (
        contextlib.chdir(PROJECT),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        sys.argv = ["pretreat", *words]
        try:
            main()
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else int(end.code is not None)
        except Exception as fault:  # noqa: BLE001  a crash is told as such; other cases go on
            code = -1
            err.write(f"crashed: {type(fault).__name__}: {fault}\n")
        finally:
            sys.argv = before
    return code, out.getvalue(), err.getvalue()


def _cells(path: Path) -> dict[str, Any]:
    """Return values and formulas of every sheet, by address; an empty cell is left out."""
    import openpyxl

    found: dict[str, Any] = {}
    for kind, cached in (("values", True), ("formulas", False)):
        book = openpyxl.load_workbook(path, data_only=cached, read_only=True)
        for sheet in book.worksheets:
            cells = (c for row in sheet.iter_rows() for c in row if c.value is not None)
            found.setdefault(sheet.title, {})[kind] = {
                cell.coordinate: cell.value if isinstance(cell.value, float | int) else
                str(cell.value) for cell in cells if cached or cell.data_type == "f"
            }  # fmt: skip
        book.close()
    return found


def _table(path: Path) -> dict[str, Any]:
    with path.open(encoding="utf-8", newline="") as file:
        head, *rows = csv.reader(file)
    return {"columns": head, "rows": [[_number(text) for text in row] for row in rows]}


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _normalised(said: dict[str, Any], folder: str) -> dict[str, Any]:
    from pretreat import __version__

    changes = {folder: "<folder>", str(PROJECT): "<project>", __version__: "<version>"}

    def plain(item: Any) -> Any:
        if isinstance(item, str):
            for old, new in changes.items():
                item = item.replace(old, new)
            return item
        if isinstance(item, dict):
            return {key: plain(value) for key, value in item.items()}
        return [plain(value) for value in item] if isinstance(item, list) else item

    return {key: plain(value) for key, value in said.items()}


# Records on the disk


def write(folder: Path, case: str, said: Mapping[str, Any]) -> Path:
    """Write what was said; the same content gives the same bytes."""
    folder.mkdir(parents=True, exist_ok=True)
    text = json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    path = folder / f"{_file_name(case)}.json.xz"
    path.write_bytes(lzma.compress(text.encode("utf-8"), preset=9 | lzma.PRESET_EXTREME))
    return path


def read(folder: Path, case: str) -> dict[str, Any] | None:
    """Return what was recorded of a case, None if nothing was."""
    path = folder / f"{_file_name(case)}.json.xz"
    if not path.exists():
        return None
    found: dict[str, Any] = json.loads(lzma.decompress(path.read_bytes()))
    return found


def newest() -> Path:
    """Return the reference recorded last: reference_b before reference_a."""
    return max(p for p in HERE.glob("reference_*") if any(p.glob("*.json.xz")))


# Comparing


class Place(NamedTuple):
    """Where a value stands: what kind of thing, its key, and the field of it."""

    kind: str
    key: str
    field: str

    def __str__(self) -> str:
        return f"{self.kind} {self.key}: {self.field}"


@dataclass(frozen=True, slots=True)
class Difference:
    """A value that is not what it was; ABSENT for what is not there."""

    place: Place
    old: Any
    new: Any

    @property
    def group(self) -> str:
        """Return the kind of difference, to count by."""
        if ABSENT in (self.old, self.new):
            return f"{self.place.kind} {'gone' if self.new == ABSENT else 'new'}"
        if self.place.kind in {"figure", "flag"}:
            return f"{self.place.kind} {self.place.field}"
        return self.place.kind

    def __str__(self) -> str:
        return f"{self.place}: {_moved(self.old, self.new)}"


def _moved(old: Any, new: Any) -> str:
    line = f"{_short(old)} -> {_short(new)}"
    if _is_number(old) and _is_number(new) and old:
        line += f" ({100 * (new - old) / abs(old):+.3g} %)"
    return line


def _short(value: Any) -> str:
    text = value if value == ABSENT else repr(value)
    return text if len(text) <= LONGEST else f"{text[:LONGEST]}..."


def _is_number(value: Any) -> bool:
    return isinstance(value, float | int) and not isinstance(value, bool)


def same(old: Any, new: Any) -> bool:
    """Return whether two values count as equal; lists item by item."""
    if _is_number(old) and _is_number(new):
        largest = max(abs(old), abs(new))
        return largest <= NOTHING or bool(abs(old - new) <= CLOSE * largest)
    if isinstance(old, list) and isinstance(new, list):
        return len(old) == len(new) and all(same(a, b) for a, b in zip(old, new, strict=True))
    return type(old) is type(new) and bool(old == new)


def leaves(said: Mapping[str, Any]) -> dict[Place, Any]:
    """Return every single value said, by its place."""
    return dict(_leaves(said))


def _leaves(said: Mapping[str, Any]) -> Iterator[tuple[Place, Any]]:
    known = {"figures", "series", "flags", "workbook"}
    for name in sorted(said.keys() - known):
        yield Place("run", name, "text"), said[name]
    for key, figure in said.get("figures", {}).items():
        for field in sorted(figure.keys() - NOT_COMPARED):
            yield Place("figure", key, field), figure[field]
        yield Place("figure", key, "has a formula"), "formula" in figure
    for key, series in said.get("series", {}).items():
        yield from _series_leaves(key, series)
    yield from _flag_leaves(said.get("flags", []))
    yield from _cell_leaves(said.get("workbook", {}))


def _flag_leaves(flags: Iterable[Mapping[str, Any]]) -> Iterator[tuple[Place, Any]]:
    seen: Counter[str] = Counter()
    for flag in flags:
        about = f"{flag['code']}{' of ' + flag['figure'] if flag['figure'] else ''}"
        key = _numbered(about, seen)
        for field in ("level", "text"):
            yield Place("flag", key, field), flag[field]


def _cell_leaves(book: Mapping[str, Any]) -> Iterator[tuple[Place, Any]]:
    for sheet, content in book.items():
        for cell, value in content["values"].items():
            yield Place("cell", f"{sheet}!{cell}", "value"), value
        for cell in content["formulas"]:
            yield Place("cell", f"{sheet}!{cell}", "has a formula"), True


def _series_leaves(key: str, series: Mapping[str, Any]) -> Iterator[tuple[Place, Any]]:
    for field, value in series.items():
        if field != "rows":
            yield Place("series", key, field), value
    seen: Counter[str] = Counter()
    for number, row in enumerate(series["rows"], start=1):
        words = [str(v) for v in row[:1] if isinstance(v, str) and v]
        name = _numbered(f"row {words[0]!r}" if words else f"row {number}", seen)
        for column, value in zip(series["columns"], row, strict=True):
            yield Place("series", key, f"{name}, {column}"), value


def _numbered(name: str, seen: Counter[str]) -> str:
    seen[name] += 1
    return name if seen[name] == 1 else f"{name} ({seen[name]})"


def compare(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[Difference]:
    """Return the differences between two records of a case; those of cells come last."""
    before, after = leaves(old), leaves(new)
    found = [
        Difference(place, before.get(place, ABSENT), after.get(place, ABSENT))
        for place in dict.fromkeys([*before, *after])
        if place not in before or place not in after or not same(before[place], after[place])
    ]
    found = [one for one in found if not _of_no_weight(one, before)]
    return sorted(found, key=lambda one: one.place.kind == "cell")


# The mark of a row says whether what rests on it follows or needs a new run; it follows from the
# inputs named, which are not compared.
MARKS = {ABSENT, "", "input", "live", "input, new run"}
_SOURCES = re.compile(r"[A-Z0-9_]+(, [A-Z0-9_]+)*")


def _of_no_weight(one: Difference, before: Mapping[Place, Any]) -> bool:
    """Tell whether a difference is of sources, or of a formula in place of a value or a text."""
    place = one.place
    if place.field == "has a formula":
        value = before.get(place._replace(field="value"))
        return one.new is True or isinstance(value, str)
    if place.kind != "cell":
        return False
    if place.key.startswith("Sources!"):
        return True
    if {one.old, one.new} <= MARKS:
        return True
    sides = [side for side in (one.old, one.new) if side not in {ABSENT, "", None}]
    return all(isinstance(side, str) and _SOURCES.fullmatch(side) for side in sides)


def told(case: str, found: list[Difference]) -> str:
    """Return the differences of a case as text: counts by kind, and the first ones."""
    counts = Counter(one.group for one in found)
    lines = [f"{case}: {len(found)} differences ("
             + ", ".join(f"{many} {kind}" for kind, many in counts.most_common()) + ")"]  # fmt: skip
    lines += [f"  {one}" for one in found[:SHOWN]]
    if len(found) > SHOWN:
        lines.append(f"  and {len(found) - SHOWN} more")
    return "\n".join(lines)


def compare_cases(cases: list[str], folder: Path, workers: int = 1) -> Iterator[str]:
    """Compare the present program with a reference; for each case what differs, '' if nothing."""
    for case, said in zip(cases, run_all(cases, workers), strict=True):
        old = read(folder, case)
        if old is None:
            yield f"{case}: nothing is recorded of it in {folder.name}"
        else:
            found = compare(old, said)
            yield told(case, found) if found else ""


# Commands


def _chosen(names: Iterable[str]) -> list[str]:
    """Return the cases named, with spaces or underscores; all if none is named."""
    by_name = {_file_name(case): case for case in CASES}
    wanted = [_file_name(name) for name in names]
    unknown = [name for name in wanted if name not in by_name]
    if unknown:
        sys.exit(f"no case {', '.join(unknown)}; there are: {', '.join(CASES)}")
    return [by_name[name] for name in wanted] or list(CASES)


def _record(folder: Path, cases: list[str], workers: int) -> int:
    said = zip(cases, run_all(cases, workers), strict=True)
    sizes = [write(folder, case, one).stat().st_size for case, one in said]
    print(f"{folder.name}: {len(cases)} cases, {sum(sizes)} bytes")
    return 0


def _compare(folder: Path, cases: list[str], workers: int) -> int:
    different = [text for text in compare_cases(cases, folder, workers) if text]
    for text in different:
        print(f"{text}\n")
    print(f"{len(cases) - len(different)} of {len(cases)} cases as recorded in {folder.name}")
    return int(bool(different))


def _differences(old: Path, new: Path, cells: bool) -> int:
    by_key: dict[tuple[str, str], list[str]] = {}
    sheets: dict[str, tuple[Counter[str], Counter[str]]] = {}
    for case in CASES:
        before, after = read(old, case), read(new, case)
        if before is None or after is None:
            if before is not after:
                print(f"{case}: only in {old.name if after is None else new.name}")
            continue
        for one in compare(before, after):
            if one.place.kind != "cell" or cells:
                lines = by_key.setdefault((one.place.kind, one.place.key), [])
                lines.append(f"  {case}: {one.place.field}: {_moved(one.old, one.new)}")
        _count_texts(before, after, sheets)
    for (kind, key), lines in sorted(by_key.items()):
        print(f"{kind} {key}", *lines, sep="\n")
    _tell_texts(sheets)
    return int(bool(by_key or sheets))


def _count_texts(
    before: Mapping[str, Any],
    after: Mapping[str, Any],
    sheets: dict[str, tuple[Counter[str], Counter[str]]],
) -> None:
    """Collect texts of workbook cells that went or came, wherever on their sheet they stand."""
    old, new = before.get("workbook", {}), after.get("workbook", {})
    for sheet in dict.fromkeys([*old, *new]):
        was, now = (
            Counter(v for v in book.get(sheet, {}).get("values", {}).values() if isinstance(v, str))
            for book in (old, new)
        )
        if was != now:
            gone, come = sheets.setdefault(sheet, (Counter(), Counter()))
            gone.update(was - now)
            come.update(now - was)


def _tell_texts(sheets: Mapping[str, tuple[Counter[str], Counter[str]]]) -> None:
    for sheet, (gone, come) in sorted(sheets.items()):
        print(f"texts of the sheet {sheet}")
        for word, counter in (("gone", gone), ("new", come)):
            for text, many in sorted(counter.items()):
                print(f"  {word}: {_short(text)}{f' ({many} times)' if many > 1 else ''}")


def main() -> int:
    """Run the command asked for; return the exit code, 1 if something differs."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    commands = parser.add_subparsers(dest="command", required=True)
    for name in ("record", "compare"):
        one = commands.add_parser(name)
        if name == "record":
            one.add_argument("folder", type=Path)
        else:
            one.add_argument("--reference", type=Path, dest="folder", default=None)
        one.add_argument("cases", nargs="*", metavar="CASE")
        one.add_argument("--workers", type=int, default=min(2, os.cpu_count() or 1))
    two = commands.add_parser("differences")
    two.add_argument("old", type=Path)
    two.add_argument("new", type=Path)
    two.add_argument("--cells", action="store_true", help="also list cells by address")
    given = parser.parse_args()
    if given.command == "differences":
        return _differences(given.old, given.new, given.cells)
    cases = _chosen(given.cases)
    if given.command == "record":
        return _record(given.folder.resolve(), cases, given.workers)
    return _compare((given.folder or newest()).resolve(), cases, given.workers)


if __name__ == "__main__":
    sys.path.insert(0, str(PROJECT))
    sys.exit(main())
