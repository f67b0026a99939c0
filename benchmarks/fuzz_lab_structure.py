"""Move the parts of lab reports about and read them: right, flagged or refused, never else.

Usage: python benchmarks/fuzz_lab_structure.py [--count 100000] [--seed 1] [--show 20] [--form pdf]

Each mutant is an invented report with columns inserted, swapped and renamed, limits and earlier
results before the results, units moved from a column to headings, names, cells or sections,
pages broken and headings repeated, in one of ten forms of file. A value that differs from the
one written, without a flag on the reading, is a failure; so are a traceback, more than five
seconds, and memory above 500 MB.
"""

import argparse
import random
import resource
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from pretreat.core.errors import PretreatError
from pretreat.lab import read_analysis
from tests.lab.reports import office
from tests.lab.reports.waters import DETECTED_FROM, ENGLISH, GERMAN, LIMITS, MEADOW, SALINE, UPLAND
from tests.lab.test_reports import DOUBTS, found, same

SLOWEST_S, MOST_MB = 5.0, 500
TEXTS = ("csv", "csv", "semicolon", "tab", "bar", "aligned", "aligned", "single", "dotted")
OFFICE = ("html", "xlsx", "xls", "ods", "docx", "pdf")
RESULT_HEADS = (
    "Result", "Value", "Found", "Your water", "Value found", "Befund", "Ergebnis", "Resultado",
    "Concentration", "Measured", "Analysis result", "Ashby Mill", "2031-05-14", "Well 4", "Amount",
    "Test result", "Present result", "LW-1",
)  # fmt: skip
NAME_HEADS = ("Parameter", "Analyte", "Test", "Constituent", "Determinand", "")
UNIT_HEADS = ("Unit", "Units", "UOM", "")
DECOYS = {
    "limit": ("MCL", "Limit", "Guideline value", "Max. allowed", "Permissible limit", "Class A",
              "Standard", "Grenzwert", "Drinking water limit", ""),
    "detection": ("RL", "MDL", "Reporting limit", "LOQ", "Detection limit"),
    "previous": ("Previous", "Previous result", "Last year", "Prior value"),
    "uncertainty": ("Uncertainty", "±", "U (k=2)"),
    "method": ("Method", "Test method"),
    "date": ("Date analysed", "Analyzed"),
    "number": ("No.", "Item", "Reg. no.", ""),
    "depth": ("Depth (m)", "Depth"),
    "mark": ("Qual", "Flag", "Mark", ""),
}  # fmt: skip


def decoy(kind, key, value, n, rng):
    """Return what a column beside the results prints for one analyte."""
    if kind == "limit":
        return LIMITS.get(key, "") if rng.random() < 0.9 else ""
    if kind == "detection":
        return DETECTED_FROM.get(key, "1")
    if kind == "previous":
        return f"{value * rng.uniform(0.7, 1.4):.3g}"
    return {
        "uncertainty": f"{value * 0.1:.2g}", "method": rng.choice(("ICP-OES", "EPA 200.7", "IC")),
        "date": "15.05.2031", "number": str(n + 1), "depth": "42",
        "mark": rng.choice(("", "", "", "E", "J")),
    }[kind]  # fmt: skip


class Report:
    """A report that is moved about: its truth, its rows and how it is written."""

    def __init__(self, rng, form=None):
        self.rng = rng
        self.water = dict(rng.choice((MEADOW, SALINE, UPLAND)))
        keys = [k for k in self.water if k != "ph"] if rng.random() < 0.3 else list(self.water)
        if rng.random() < 0.3:
            keys = rng.sample(keys, rng.randint(5, len(keys)))
        if rng.random() < 0.3:
            rng.shuffle(keys)
        self.water = {k: self.water[k] for k in keys}
        self.names = rng.choice((ENGLISH, ENGLISH, GERMAN))
        self.form = rng.choice(TEXTS) if rng.random() < 0.97 else rng.choice(OFFICE)
        self.form = form or self.form
        self.expected = {}
        self.unit_at = rng.choice(("column", "column", "column", "head", "name", "cell"))
        self.comma = self.form in {"semicolon", "tab"} and rng.random() < 0.3
        self.kinds = rng.sample(sorted(DECOYS), rng.choice((0, 1, 1, 2, 3)))

    def unit(self, key):
        return {"ph": "", "temperature_c": "°C", "ec_us_cm": "µS/cm"}.get(key, "mg/L")

    def result(self, key):
        """Return what is printed, and note what should be read."""
        value, rng = self.water[key], self.rng
        micro = key in {"fe", "mn", "ba", "sr"} and self.unit_at == "column" and rng.random() < 0.3
        unit = "µg/L" if micro else self.unit(key)
        text = f"{value * 1000:g}" if micro else f"{value:g}"
        self.expected[key] = value
        if key in {"fe", "mn", "ba", "f"} and rng.random() < 0.2:
            text, self.expected[key] = f"<{text}", f"<{value:g}"
        elif value >= 1000 and rng.random() < 0.2 and not self.comma and self.form != "csv":
            text = f"{value:,.0f}".replace(",", rng.choice((",", "\N{THIN SPACE}")))
        return text.replace(".", ",") if self.comma else text, unit

    def cells(self):
        """Return headings and rows of cells."""
        rng = self.rng
        columns = ["name", "result", *(["unit"] if self.unit_at == "column" else []), *self.kinds]
        tail = columns[1:]
        rng.shuffle(tail)
        columns = ["name", *tail]
        head = {
            "name": rng.choice(NAME_HEADS), "result": rng.choice(RESULT_HEADS),
            "unit": rng.choice(UNIT_HEADS), **{k: rng.choice(DECOYS[k]) for k in self.kinds},
        }  # fmt: skip
        if self.unit_at == "head":
            head["result"] += " (mg/L)"
        rows = [[head[c] for c in columns]]
        for n, key in enumerate(self.water):
            if self.unit_at == "head" and self.unit(key) != "mg/L":
                continue
            text, unit = self.result(key)
            name = self.names[key]
            name += f" ({unit})" if self.unit_at == "name" and unit else ""
            text += f" {unit}" if self.unit_at == "cell" and unit else ""
            said = {"name": name, "result": text, "unit": unit}
            said |= {k: decoy(k, key, self.water[key], n, rng) for k in self.kinds}
            rows.append([str(said[c]) for c in columns])
        return self.moved(rows, columns)

    def moved(self, rows, columns):
        """Break pages, repeat headings, add sections and titles."""
        rng = self.rng
        if len(rows) > 6 and rng.random() < 0.25:
            at = rng.randrange(3, len(rows) - 2)
            again = [list(rows[0])] if rng.random() < 0.7 else []
            rows[at:at] = [["Report continued"] + [""] * (len(columns) - 1), *again]
        if rng.random() < 0.2:
            at = rng.randrange(1, len(rows))
            rows.insert(at, ["General chemistry"] + [""] * (len(columns) - 1))
        if rng.random() < 0.15:
            rows.pop(0)
        if rng.random() < 0.3:
            rows[0:0] = [["Analytical report 4471"], ["Sample: Ferry Lane"]]
        return rows

    def content(self):
        """Return the file's bytes and its ending."""
        rows = self.cells()
        seps = {"csv": ",", "semicolon": ";", "tab": "\t", "bar": "|"}
        if self.form in seps:
            sep = seps[self.form]
            lines = [sep.join(f'"{c}"' if sep in c else c for c in row) for row in rows]
            return "\n".join(lines).encode(), "csv"
        if self.form in {"aligned", "single", "dotted"}:
            return self.text(rows).encode(), "txt"
        return self.office(rows)

    def text(self, rows):
        wide = max(len(row) for row in rows)
        longest = [max((len(r[c]) for r in rows if len(r) > max(c, 1)), default=0)
                   for c in range(wide)]  # fmt: skip
        widths = [length + self.rng.choice((2, 3, 6)) for length in longest]
        if self.form == "aligned":
            right = self.rng.random() < 0.3
            return "\n".join(
                "".join(("  " + t.rjust(w - 2)) if right and c and len(row) > 1 else t.ljust(w)
                        for c, (t, w) in enumerate(zip(row, widths, strict=False))).rstrip()
                for row in rows
            )  # fmt: skip
        gap = " ..... " if self.form == "dotted" else " "
        return "\n".join(f"{r[0]}{gap}{' '.join(t for t in r[1:] if t)}".rstrip() for r in rows)

    def office(self, rows):
        escaped = [[c.replace("<", "&lt;") for c in row] for row in rows]
        if self.form == "html":
            return office.html(office.html_table(escaped)).encode(), "html"
        if self.form == "docx":
            return office.docx(office.word_table(escaped)), "docx"
        if self.form == "pdf":
            return self.print(rows), "pdf"
        if self.form == "ods":
            return office.ods(office.numbers(escaped)), "ods"
        cells = office.numbers(rows)
        return (office.xlsx(cells), "xlsx") if self.form == "xlsx" else (office.xls(cells), "xls")

    def print(self, rows):
        wide = max(len(r) for r in rows)
        plain = str.maketrans({"\N{THIN SPACE}": " ", "µ": "u", "°": "", "±": "Uncertainty"})
        cells = [[c.translate(plain) for c in r] + [""] * (wide - len(r)) for r in rows]
        places = [40 + 170 * bool(c) + 62 * max(c - 1, 0) for c in range(wide)]
        return office.Print().table(cells, places).done()


def judged(path, expected):
    """Read a mutant and say whether it is right, flagged, refused, missing or a failure."""
    try:
        water = read_analysis(path)
    except PretreatError as refused:
        bad = [f for f in refused.faults if "\n" in f or len(f) > 2000]
        return ("bad message", str(bad)) if bad else ("refused", "")
    except Exception:  # noqa: BLE001
        return "traceback", traceback.format_exc(limit=-4)
    off = {k: (found(water, k), v) for k, v in expected.items() if not same(found(water, k), v)}
    wrong = {k: v for k, v in off.items() if v[0] is not None}
    extra = (set(water.mg_l) | set(water.below_mg_l)) - set(expected) - {"hco3"}
    said = [f for f in water.flags if f.code in DOUBTS]
    if wrong and not said:  # a unit that was assumed is named with its figure
        said = [f for f in water.flags if f.code == "assumed_unit" and f.level == "caution"]
    if wrong or extra:
        return ("flagged", "") if said else ("WRONG", f"{wrong} {extra}")
    if off:
        return ("flagged", "") if said else ("missing", f"{sorted(off)}")
    return ("right, flagged", "") if said else ("right", "")


def run(count, seed, show=20, limit_mb=MOST_MB, form=None):
    """Read mutants, of one form if it is given, and report; return the number of failures."""
    rng = random.Random(seed)
    tally, slowest, shown = Counter(), 0.0, 0
    with tempfile.TemporaryDirectory() as place:
        for number in range(count):
            report = Report(rng, form)
            data, ending = report.content()
            path = Path(place) / f"mutant.{ending}"
            path.write_bytes(data)
            start = time.perf_counter()
            kind, text = judged(path, report.expected)
            took = time.perf_counter() - start
            slowest = max(slowest, took)
            tally[kind] += 1
            tally["hang"] += took > SLOWEST_S
            if kind in {"WRONG", "traceback", "bad message"} and shown < show:
                shown += 1
                print(f"--- {number} {report.form}: {kind}: {text[:600]}")
                print(
                    data.decode("utf-8", "replace")[:700]
                    if report.form not in OFFICE
                    else report.form
                )
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    failures = sum(tally[k] for k in ("WRONG", "traceback", "bad message", "hang"))
    if limit_mb is not None:  # in a test process that has read much else, the peak is not ours
        failures += memory > limit_mb
    print(f"{count} mutants, seed {seed}: {dict(tally)}")
    print(f"slowest {slowest:.2f} s, peak {memory:.0f} MB, {failures} failures")
    return failures


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--show", type=int, default=20)
    parser.add_argument("--form", choices=(*sorted(set(TEXTS)), *OFFICE))
    given = parser.parse_args()
    sys.exit(1 if run(given.count, given.seed, given.show, form=given.form) else 0)
