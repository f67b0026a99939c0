"""Move the parts of lab reports about and read them: right, flagged or refused, never else.

Usage: python benchmarks/fuzz_lab_structure.py [--count 100000] [--seed 1] [--show 20] [--form pdf]

Each mutant is an invented report with columns inserted, swapped and renamed (limits, earlier
results, methods by their number, registry numbers, dilutions, counts, percentages, statistics),
units moved from a column to headings, names, cells or sections, numbers with marks, spread or
powers of ten, names with footnotes or broken over lines, results left blank, a second well beside
the first, pages broken, headings repeated or their columns exchanged, in one of ten forms of
file. A value that differs from the one written, without a flag on the reading, is a failure; so
are a traceback, more than five seconds, and memory above 500 MB.
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
from pretreat.lab import read_analysis, read_samples
from tests.lab.reports import office
from tests.lab.reports.waters import DETECTED_FROM, ENGLISH, GERMAN, LIMITS, MEADOW, SALINE, UPLAND
from tests.lab.test_reports import DOUBTS, found, same

SLOWEST_S, MOST_MB = 5.0, 500
TEXTS = ("csv", "csv", "semicolon", "tab", "bar", "aligned", "aligned", "single", "dotted")
OFFICE = ("html", "xlsx", "xls", "ods", "docx", "pdf")
CELLED = ("csv", "semicolon", "tab", "xlsx")  # may hold a line break in a cell
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
    "detection in µg": ("RL (µg/L)", "MDL (µg/L)", "Reporting limit, µg/L"),
    "previous": ("Previous", "Previous result", "Last year", "Prior value"),
    "uncertainty": ("Uncertainty", "±", "U (k=2)"),
    "method": ("Method", "Test method"),
    "date": ("Date analysed", "Analyzed"),
    "number": ("No.", "Item", "Reg. no.", ""),
    "depth": ("Depth (m)", "Depth"),
    "mark": ("Qual", "Flag", "Mark", ""),
    "percent": ("% of limit", "Percent of MCL", "% MCL"),
    "method number": ("Method", "Test method", "Method no."),
    "registry": ("CAS", "CAS No.", "CAS number"),
    "laboratory": ("Lab ID", "Lab sample ID", "Sample no.", "Batch"),
    "dilution": ("Dilution", "DF", "Dil.", "Dilution factor"),
    "count": ("n", "N", "No. of samples", "Count", "Replicates"),
    "row": ("#", "Row", "Line", "Seq", "S.No", ""),
    "least": ("Min", "Minimum", "Min."),
    "most": ("Max", "Maximum", "Max."),
    "mean": ("Mean", "Average", "Mean value"),
    "year": ("2029", "2030", "2030 average"),
    "equivalents": ("meq/L", "me/L", "Equivalents (meq/L)"),
}  # fmt: skip
# Methods by their number and registry numbers of the substances (from memory).
METHODS = {"ph": "150.1", "temperature_c": "170.1", "ec_us_cm": "120.1", "tds_mg_l": "160.1",
           "cl": "300.0", "so4": "300.0", "no3": "300.0", "f": "300.0", "sio2": "200.7",
           "alkalinity_mg_l_caco3": "310.1"}  # fmt: skip
REGISTRY = {"ca": "7440-70-2", "mg": "7439-95-4", "na": "7440-23-5", "k": "7440-09-7",
            "fe": "7439-89-6", "mn": "7439-96-5", "ba": "7440-39-3", "sr": "7440-24-6",
            "f": "16984-48-8", "cl": "16887-00-6", "so4": "14808-79-8", "no3": "14797-55-8",
            "sio2": "7631-86-9"}  # fmt: skip
DRESSES = ("letter behind", "star behind", "letter before", "spread", "power", "times ten")
NAMED = ("footnote", "raised", "symbol", "fraction", "two lines")
SYMBOLS = {
    "ca": "Ca", "mg": "Mg", "na": "Na", "k": "K", "fe": "Fe", "mn": "Mn", "ba": "Ba", "sr": "Sr",
    "f": "F", "cl": "Cl", "so4": "SO4", "no3": "NO3", "sio2": "SiO2",
}  # fmt: skip
TRACES = ("fe", "mn", "ba", "sr", "f")
WELLS = ("Well 4", "Well 7")
PROPERTIES = ("ec_us_cm", "temperature_c", "tds_mg_l")
EQUIVALENT = {
    "ca": 20.04,
    "mg": 12.152,
    "na": 22.99,
    "k": 39.098,
    "cl": 35.453,
    "so4": 48.03,
    "no3": 62.004,
}  # mg/meq, of the molar masses and charges
NO3_PER_N = 62.004 / 14.007
PROSE = (
    "Samples were received at 4 °C on 15.05.2031.",
    "Detection limit of nitrate 0.5 mg/L; iron 0.02 mg/L by method 200.7.",
    "The supply limit for iron is 0.25 mg/L and for sodium 180 mg/L.",
    "Results apply to the sample as received. Page 1 of 2",
    "Balance of ions 1.8 %; sum of cations 9.34 meq/L",
)
CONTROLS = ("Quality control", "Laboratory control sample", "QC results")


def decoy(kind, key, value, n, rng):
    """Return what a column beside the results prints for one analyte."""
    if kind == "limit":
        return LIMITS.get(key, "") if rng.random() < 0.9 else ""
    if kind == "detection":
        return DETECTED_FROM.get(key, "1")
    if kind == "detection in µg":
        return f"{float(DETECTED_FROM.get(key, '1')) * 1000:g}"
    if kind == "previous":
        return f"{value * rng.uniform(0.7, 1.4):.3g}"
    limit = LIMITS.get(key, "").partition("-")[0]
    return {
        "uncertainty": f"{value * 0.1:.2g}", "method": rng.choice(("ICP-OES", "EPA 200.7", "IC")),
        "date": "15.05.2031", "number": str(n + 1), "depth": "42",
        "mark": rng.choice(("", "", "", "E", "J")),
        "percent": f"{100 * value / float(limit):.0f}" if limit else "",
        "method number": METHODS.get(key, "200.7"), "registry": REGISTRY.get(key, ""),
        "laboratory": "L4471-03", "row": f"{n + 1}{'.' * (n % 2)}",
        "dilution": rng.choice(("1", "1", "1", "5", "10", "50")),
        "count": rng.choice(("3", "4", "4", "5")), "least": f"{value * 0.8:.3g}",
        "most": f"{value * 1.25:.3g}", "mean": f"{value * 1.02:.3g}", "year": f"{value * 0.9:.3g}",
        "equivalents": f"{value / EQUIVALENT[key]:.3g}" if key in EQUIVALENT else "",
    }[kind]  # fmt: skip


def dressed(dress, value):
    """Return a number as some reports print it."""
    mantissa, power = f"{value:.2e}".split("e")
    exact = float(f"{mantissa}e{power}") == value
    return {
        "letter behind": f"{value:g} J", "star behind": f"{value:g}*",
        "letter before": f"J {value:g}", "spread": f"{value:g} ± {value * 0.1:.2g}",
        "power": f"{mantissa}E{power}" if exact else f"{value:g}",
        "times ten": f"{mantissa} x 10^{int(power)}" if exact else f"{value:g}",
    }[dress]  # fmt: skip


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
        self.unit_at = rng.choice(("column", "column", "column", "head", "name", "cell", "section"))
        self.dress = rng.choice(DRESSES) if rng.random() < 0.25 else ""
        self.named = rng.choice(NAMED) if rng.random() < 0.2 else ""
        ways = ("{} as N", "{}-N", "{} (as N)", *["unit"] * (self.unit_at in {"column", "cell"}))
        self.as_n = rng.choice(ways) if rng.random() < 0.1 else ""
        self.laboratory = rng.choice(("L4471-03", "447103"))
        self.numbered = rng.choice(("{}. {}", "{}) {}")) if rng.random() < 0.05 else ""
        self.second = {}
        if rng.random() < 0.08:
            self.second = {k: float(f"{v * rng.uniform(0.9, 1.1):.3g}")
                           for k, v in self.water.items() if rng.random() < 0.85}  # fmt: skip
        self.comma = self.form in {"semicolon", "tab"} and rng.random() < 0.3
        self.kinds = rng.sample(sorted(DECOYS), rng.choice((0, 1, 1, 2, 3)))
        self.blank = 0.0  # share of the results that are left out, their rows kept
        if rng.random() < 0.08 and not self.second:
            self.blank = rng.choice((0.2, 0.5))
        self.blind = rng.random() < 0.3 and not {"detection", "detection in µg"} & set(self.kinds)

    def unit(self, key):
        return {"ph": "", "temperature_c": "°C", "ec_us_cm": "µS/cm"}.get(key, "mg/L")

    def result(self, key):
        """Return what is printed, and note what should be read."""
        value, rng = self.water[key], self.rng
        micro = key in {"fe", "mn", "ba", "sr"} and self.unit_at == "column" and rng.random() < 0.3
        unit = "µg/L" if micro else self.unit(key)
        if self.expected and rng.random() < self.blank:
            return "", unit
        text = f"{value * 1000:g}" if micro else f"{value:g}"
        self.expected[key] = value
        if self.as_n and key == "no3":
            text = f"{value / NO3_PER_N:.5g}"
            unit = rng.choice(("mg/L as N", "mg/L N", "mg N/L")) if self.as_n == "unit" else unit
            return text.replace(".", ",") if self.comma else text, unit
        if self.unit_at == "section" and key in TRACES:
            text, unit = f"{value * 1000:g}", "µg/L"
        if key in {"fe", "mn", "ba", "f"} and rng.random() < 0.2:
            text, self.expected[key] = f"<{text}", f"<{value:g}"
            if {"detection", "detection in µg"} & set(self.kinds) and rng.random() < 0.5:
                least = float(DETECTED_FROM.get(key, "1"))
                text, self.expected[key] = rng.choice(("ND", "n.d.", "BDL")), f"<{least:g}"
        elif self.dress and rng.random() < 0.5 and key not in {"ph", "temperature_c"}:
            text = dressed(self.dress, float(text))
        elif value >= 1000 and rng.random() < 0.2 and not self.comma and self.form != "csv":
            text = f"{value:,.0f}".replace(",", rng.choice((",", "\N{THIN SPACE}")))
        return text.replace(".", ",") if self.comma else text, unit

    def name(self, key):
        """Return the name of an analyte, with a footnote, a symbol or a line break."""
        name, rng = self.names[key], self.rng
        if self.as_n and key == "no3" and self.as_n != "unit":
            return self.as_n.format(name)
        if not self.named or rng.random() < 0.5 or key not in SYMBOLS:
            return name
        return {
            "footnote": f"{name} ({rng.randint(1, 3)})", "raised": f"{name}{rng.choice('¹²³*')}",
            "symbol": f"{name} ({SYMBOLS[key]})", "fraction": f"{name}, total",
            "two lines": f"{name}\n({SYMBOLS[key]})" if self.form in CELLED else name,
        }[self.named]  # fmt: skip

    def beside(self, kind, key, row):
        """Return what stands beside a result, with the decimal mark of the report."""
        n, unit = row
        text = decoy(kind, key, self.water[key], n, self.rng)
        if kind == "laboratory":
            text = self.laboratory
        if kind == "detection" and unit == "µg/L":
            text = f"{float(text) * 1000:g}"
        marked = self.comma and kind not in {"method", "method number", "date", "row"}
        return text.replace(".", ",") if marked else text

    def headed(self):
        """Return the columns in their order, and their headings."""
        rng = self.rng
        tail = ["result", *(["unit"] if self.unit_at == "column" else []), *self.kinds]
        tail += ["second"] if self.second else []
        rng.shuffle(tail)
        marked = self.second and self.form not in {"single", "dotted", "pdf"} and rng.random() < 0.4
        for of in ("result", "second") if marked else ():
            tail.insert(tail.index(of) + 1, f"mark of {of}")
        head = {
            "name": rng.choice(NAME_HEADS), "result": rng.choice(RESULT_HEADS),
            "unit": rng.choice(UNIT_HEADS), **{k: rng.choice(DECOYS[k]) for k in self.kinds},
        }  # fmt: skip
        if self.second:
            head["result"], head["second"] = WELLS
            head["mark of result"] = head["mark of second"] = rng.choice(("Q", "Qual", "Flag"))
        head["result"] += " (mg/L)" if self.unit_at == "head" else ""
        return ["name", *tail], head

    def cells(self):
        """Return headings and rows of cells."""
        columns, head = self.headed()
        rows = [[head[c] for c in columns]]
        for n, key in enumerate(self.water):
            if self.unit_at == "head" and self.unit(key) != "mg/L":
                continue
            text, unit = self.result(key)
            name = self.name(key)
            name += f" ({unit})" if self.unit_at == "name" and unit else ""
            name = self.numbered.format(n + 1, name) if self.numbered else name
            behind = f" {unit}" if self.unit_at == "cell" and unit and text else ""
            said = dict.fromkeys(("second", "mark of result", "mark of second"), "")
            said |= {"name": name, "result": text + behind, "unit": unit}
            second = self.of_second(key, unit) if key in self.second else ""
            said["second"] = second + behind if second not in {"", "ND"} else second
            if "mark of result" in columns and key in {"fe", "mn", "f"} and "<" not in text:
                self.marks(said, key)
            said |= {k: self.beside(k, key, (n, unit)) for k in self.kinds}
            rows.append([str(said[c]) for c in columns])
        if self.unit_at == "section":
            return self.sections(rows, columns)
        return self.moved(rows, columns)

    def of_second(self, key, unit):
        """Return what is printed for the second well."""
        if self.blind and key in (*TRACES, "no3", "k"):
            self.second[key] = "<?"
            return "ND"
        scale = 1000 if unit == "µg/L" else 1
        scale = 1 / NO3_PER_N if self.as_n and key == "no3" else scale
        text = f"{self.second[key] * scale:.5g}"
        return text.replace(".", ",") if self.comma else text

    def marks(self, said, key):
        """Put a mark beside one of two results, which makes it a non-detect."""
        of = self.rng.choice(("result", "second", ""))
        if of == "result" and not isinstance(self.expected[key], str):
            said["mark of result"], self.expected[key] = "<", f"<{self.expected[key]:g}"
        elif of == "second" and not isinstance(self.second.get(key, ""), str):
            said["mark of second"], self.second[key] = "<", f"<{self.second[key]:g}"

    def sections(self, rows, columns):
        """Return rows under titles that give their unit."""
        said = dict(zip(self.water, rows[1:], strict=True))
        blank = [""] * (len(columns) - 1)
        traces = [row for key, row in said.items() if key in TRACES]
        ions = [said[k] for k in said if k not in TRACES and self.unit(k) == "mg/L"]
        for key in {"ph", "temperature_c", "ec_us_cm"} & set(said):
            self.expected.pop(key, None)
        parts = [("Trace metals", "µg/L", traces), ("Major ions", "mg/L", ions)]
        self.rng.shuffle(parts)
        form = self.rng.choice(("{} ({})", "{}, {}", "{} in {}", "{} [{}]"))
        return [rows[0], *(row for title, unit, part in parts if part
                           for row in ([form.format(title, unit), *blank], *part))]  # fmt: skip

    def moved(self, rows, columns):
        """Break pages, repeat headings, add sections and titles."""
        rng = self.rng
        if len(rows) > 6 and rng.random() < 0.25:
            at = rng.randrange(3, len(rows) - 2)
            again = [list(rows[0])] if rng.random() < 0.7 else []
            if again and not self.second and rng.random() < 0.2:
                rows, again = self.exchanged(rows, at)
            rows[at:at] = [["Report continued"] + [""] * (len(columns) - 1), *again]
        if rng.random() < 0.2:
            at = rng.randrange(1, len(rows))
            rows.insert(at, ["General chemistry"] + [""] * (len(columns) - 1))
        if rng.random() < 0.1:
            rows += self.controls(columns)
        if rng.random() < 0.15:
            rows += [[text] for text in rng.sample(PROSE, 2)]
        if rng.random() < 0.15:
            rows.pop(0)
        if rng.random() < 0.3:
            rows[0:0] = [["Analytical report 4471"], ["Sample: Ferry Lane"]]
        return rows

    def exchanged(self, rows, at):
        """Put the columns of a later page in another order, under headings of their own."""
        order = [0, *self.rng.sample(range(1, len(rows[0])), len(rows[0]) - 1)]
        later = [[row[c] for c in order] for row in rows[at:]]
        return [*rows[:at], *later], [[rows[0][c] for c in order]]

    def controls(self, columns):
        """Return rows of the laboratory's own quality control."""
        title = [[self.rng.choice(CONTROLS)] + [""] * (len(columns) - 1)]
        rows = [
            {"name": f"{self.names[k]} {of}", "result": text, "second": text, "unit": unit}
            for k in ("ca", "cl")
            for of, text, unit in (("blank", "<0.1", "mg/L"), ("recovery", "98", "%"))
        ]
        return title + [[row.get(c, "") for c in columns] for row in rows]

    def wide(self):
        """Return a table with the names across the top, a well in each row, limits among them."""
        rng = self.rng
        keys = list(self.water)
        units = [self.unit(k) for k in keys]
        self.second = {k: float(f"{v * rng.uniform(0.9, 1.1):.3g}") for k, v in self.water.items()}
        self.expected = dict(self.water)
        inside = rng.random() < 0.5
        names = [f"{self.names[k]} ({u})" if inside and u else self.names[k]
                 for k, u in zip(keys, units, strict=True)]  # fmt: skip
        rows = [[rng.choice(("Sample", "Well", "Location", "Sample ID")), *names]]
        rows += [] if inside else [["", *units]]
        body = [
            [well, *(f"{water[k]:g}" for k in keys)]
            for well, water in zip(WELLS, (self.water, self.second), strict=True)
        ]
        marked = rng.random() < 0.3
        for title in rng.sample(("Limit", "MCL", "Detection limit", "Mean", "Maximum"), 2):
            kind = {"Limit": "limit", "MCL": "limit", "Detection limit": "detection",
                    "Mean": "mean", "Maximum": "most"}[title]  # fmt: skip
            more = [title, *(decoy(kind, k, self.water[k], 0, rng) for k in keys)]
            body.insert(rng.randint(0, len(body)), more)
        if marked:
            rows, body = self.marked(rows, body)
        if rng.random() < 0.3:
            number = [[rng.choice(("No.", "#", "Depth (m)"))], *([[""]] * (len(rows) - 1))]
            rows = [n + row for n, row in zip(number, rows, strict=True)]
            body = [[str(n), *row] for n, row in enumerate(body, 1)]
        return rows + body

    def marked(self, rows, body):
        """Return a table across the page with a column of marks beside each of numbers."""
        head = self.rng.choice(("Q", "Flag", "{} qual", "{}_flag"))
        wide = [[row[0]] for row in rows]
        for n, row in enumerate(rows):
            for cell in row[1:]:
                wide[n] += [cell, head.format(cell) if n == 0 else ""]
        marks = {}
        for n, row in enumerate(body):
            marks[n] = [row[0]]
            for key, cell in zip(self.water, row[1:], strict=True):
                less = row[0] in WELLS and key in {"fe", "mn", "f"} and self.rng.random() < 0.3
                marks[n] += [cell, "<" if less else ""]
                if less:
                    of = self.expected if row[0] == WELLS[0] else self.second
                    of[key] = f"<{of[key]:g}"
        return wide, list(marks.values())

    def content(self):
        """Return the file's bytes and its ending."""
        across = self.form not in {"single", "dotted"} and self.rng.random() < 0.05
        rows = self.wide() if across else self.cells()
        seps = {"csv": ",", "semicolon": ";", "tab": "\t", "bar": "|"}
        if self.form in seps:
            sep = seps[self.form]
            lines = [
                sep.join(f'"{c}"' if sep in c or "\n" in c else c for c in row) for row in rows
            ]
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
        rows = [[c.replace(" ± ", " +/- ") for c in r] for r in rows]
        cells = [[c.translate(plain) for c in r] + [""] * (wide - len(r)) for r in rows]
        step = 62 if wide < 9 else 80  # print() has no paper to run out of
        places = [40 + 170 * bool(c) + step * max(c - 1, 0) for c in range(wide)]
        return office.Print().table(cells, places).done()


def judged(path, report):
    """Read a mutant and say whether it is right, flagged, refused, missing or a failure."""
    expected = report.expected
    try:
        water = read_analysis(path)
        if report.second:
            return of_two(read_samples(path), report)
    except PretreatError as refused:
        bad = [f for f in refused.faults if "\n" in f or len(f) > 2000]
        return ("bad message", str(bad)) if bad else ("refused", "")
    except Exception:  # noqa: BLE001
        return "traceback", traceback.format_exc(limit=-4)
    return compared(water, expected, report.water)


def of_two(waters, report):
    """Judge both wells of a report, by their names."""
    second = {k: v for k, v in report.second.items() if k in report.expected}
    kinds = []
    for well, expected in zip(WELLS, (report.expected, second), strict=True):
        of_well = [w for w in waters if well in w.sample]
        kinds += [compared(of_well[0], expected, {})] if of_well else [("missing", well)]
    return next((one for one in kinds if one[0] == "WRONG"), kinds[0])


def compared(water, expected, truth):
    """Say whether a water is as it was written; what is left blank may be given in meq/L."""
    off = {k: (found(water, k), v) for k, v in expected.items() if not same(found(water, k), v)}
    wrong = {k: v for k, v in off.items() if v[0] is not None}
    held = set(water.mg_l) | set(water.below_mg_l) | {k for k in PROPERTIES if found(water, k)}
    extra = held - set(expected) - {"hco3"}
    extra = {k for k in extra if k not in truth or not same(found(water, k), truth[k])}
    said = [f for f in water.flags if f.code in DOUBTS]
    if wrong and not said:  # a unit that was assumed is named with its figure
        codes = {"assumed_unit", "sample_chosen"}
        said = [f for f in water.flags if f.code in codes and f.level == "caution"]
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
            kind, text = judged(path, report)
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
