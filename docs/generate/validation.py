"""The validation: what was compared with what, from a run of the tests against outside numbers."""

import ast
import json
import math
import os
import re
import subprocess
import sys
import tempfile
import textwrap
from collections.abc import Iterator, Sequence
from pathlib import Path

from docs.generate.markdown import cell, code, generated, sentence, table
from docs.generate.method import laws
from pretreat.core.tables import sources

ROOT = Path(__file__).parents[2]
PUBLISHED = ROOT / "tests" / "published"
FENCED = re.compile(r"^```\n(\d+ waters x .*?)^```$", re.M | re.S)
SCRIPTS = re.compile(r"^\| script in `benchmarks/` .*?(?=\n\n)", re.M | re.S)
INTRO = """
`tests/published` holds nothing but numbers from outside: tables and worked examples that were
printed, and measurements. The build runs them and notes every value compared. *Difference* is
the largest of a check, beside what was expected there; a check without one compares in another
way (a range, an order). *From memory* or *computed* in the words of a check says that no printed
page stands behind it.
"""
LONGEST_TITLE = 80
ORIGINS = r"[Pp]rinted|PHREEQC|[Bb]y hand|Table \d|[Ff]rom memory|[Cc]ommon practice|[Ee]xample \d"
Compared = dict[str, tuple[bool, list[tuple[float, float]]]]


def compared() -> Compared:
    """Run the tests against outside numbers; return what each compared, by its name."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "compared.json"
        command = [sys.executable, "-m", "pytest", "-n", "0", "-p", "docs.generate.measure"]
        environment = {**os.environ, "PRETREAT_COMPARED": str(out), "PYTHONPATH": str(ROOT)}
        done = subprocess.run(
            [*command, "tests/published", f"--basetemp={folder}/tests"],
            cwd=ROOT,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode:
            raise RuntimeError(f"the published checks fail\n{done.stdout[-3000:]}")
        noted = json.loads(out.read_text("utf-8"))
    return {name: (entry["passed"], entry["pairs"]) for name, entry in noted.items()}


def pages() -> Iterator[tuple[str, str, str]]:
    """Yield file, title and text of the page."""
    noted = compared()
    checks = sum(len(pairs) for _, pairs in noted.values())
    parts = [
        INTRO.strip(),
        f"This build: {len(noted)} checks, {checks:,} numbers compared, all held.",
    ]
    parts += [_module(path, noted) for path in sorted(PUBLISHED.glob("test_*.py"))]
    parts += [_phreeqc(), _laws(), _benchmarks(), _elsewhere(), _folders()]
    body = "\n\n".join(filter(None, parts))
    origin = "a run of `tests/published`, the laws and `DEVELOPERS.md`"
    yield "validation.md", "Validation", generated("Validation", origin, body)


def _module(path: Path, noted: Compared) -> str:
    tree = ast.parse(path.read_text("utf-8"))
    doc = " ".join((ast.get_docstring(tree) or path.stem).split())
    lines = []
    for node in tree.body:
        if not isinstance(node, ast.FunctionDef) or not node.name.startswith("test_"):
            continue
        start = f"tests/published/{path.name}::{node.name}"
        mine = [v for k, v in noted.items() if k == start or k.startswith(f"{start}[")]
        if not mine:
            continue
        pairs = [pair for _, found in mine for pair in found]
        said = cell(sentence(ast.get_docstring(node) or "as above"))
        lines.append((_words(node), said, str(len(pairs) or ""), *_largest(pairs)))
    heads = ("check", "source and place", "numbers", "largest difference", "expected there")
    return f"## {_title(doc)}\n\n{cell(sentence(doc))}\n\n" + table(heads, lines)


def _title(doc: str) -> str:
    """Return the beginning of a docstring as a heading."""
    doc = re.sub(r"^[A-Z]+\d+[A-Z]*: ", "", doc)  # the key of a source
    first = re.split(r"(?<=[a-z0-9)][a-z0-9)][a-z0-9)])[.:;] |, (?=doi)", doc)[0]
    return textwrap.shorten(first.rstrip(".:"), LONGEST_TITLE, placeholder=" …")


def _largest(pairs: Sequence[tuple[float, float]]) -> tuple[str, str]:
    """Return the largest difference, absolute and relative, and what was expected there."""
    known = [(f, e) for f, e in pairs if math.isfinite(f) and math.isfinite(e)]
    if not known:
        return "", ""
    found, expected = max(known, key=lambda p: abs(p[0] - p[1]) / max(abs(p[1]), 1.0))
    apart = abs(found - expected)
    if apart <= 1e-12 * max(abs(expected), 1.0):
        return "none", f"{expected:.5g}"
    share = f" ({100 * apart / abs(expected):.2g} %)" if expected else ""
    return f"{apart:.2g}{share}", f"{expected:.5g}"


def _phreeqc() -> str:
    match = FENCED.search((ROOT / "DEVELOPERS.md").read_text("utf-8"))
    if match is None:
        return ""
    return (
        "## PHREEQC 3.8.6 with wateq4f.dat, on real groundwaters\n\n"
        "As last seen from `benchmarks/against_phreeqc.py`: the difference of every saturation "
        "index (log units) and of pH between the own engine and PHREEQC, feed and concentrates. "
        "The waters are openly licensed analyses of public agencies.\n\n"
        f"```text\n{match[1].rstrip()}\n```"
    )


def _laws() -> str:
    cited = sum(1 for law in laws().values() if law.citations)
    return (
        "## Every equation\n\n"
        f"Each of the {len(laws())} equations of [the method](method/index.md) stands with one "
        "value from outside, printed or worked by hand, which the tests compute; "
        f"{cited} cite a source, the others are definitions and balances. `tests/laws` reads "
        "each of them with numbers, with arrays and as a formula of a workbook, which "
        "LibreOffice recalculates, at many points."
    )


def _benchmarks() -> str:
    match = SCRIPTS.search((ROOT / "DEVELOPERS.md").read_text("utf-8"))
    if match is None:
        return ""
    return "## Longer runs, as last seen\n\n" + match[0]


def _elsewhere() -> str:
    """Return the checks of the other tests whose words name something outside."""
    keys = "|".join(map(re.escape, sources()))
    outside = re.compile(rf"\b(?:{keys}|{ORIGINS})")
    lines = []
    for path in sorted((ROOT / "tests").glob("*/test_*.py")):
        if path.parent.name in {"published", "house", "docs"}:
            continue
        for node in ast.parse(path.read_text("utf-8")).body:
            doc = ast.get_docstring(node) if isinstance(node, ast.FunctionDef) else None
            if doc and node.name.startswith("test_") and outside.search(doc):
                lines.append((_words(node), cell(sentence(doc)), code(path.parent.name)))
    return (
        "## Checks elsewhere in the tests\n\nThose whose words name where the expected number "
        "comes from; they hold in every run, and are not measured here.\n\n"
        + table(("check", "source and place", "in"), lines)
    )


def _words(node: ast.FunctionDef) -> str:
    """Return what a test is called, as a sentence."""
    return cell(sentence(node.name.removeprefix("test_").replace("_", " ")).rstrip("."))


def _folders() -> str:
    lines = []
    for folder in sorted(p for p in (ROOT / "tests").iterdir() if p.is_dir()):
        modules = sorted(folder.glob("test_*.py"))
        count = 0
        about = []
        for path in modules:
            tree = ast.parse(path.read_text("utf-8"))
            count += sum(
                isinstance(n, ast.FunctionDef) and n.name.startswith("test_")
                for n in ast.walk(tree)
            )
            doc = " ".join((ast.get_docstring(tree) or "").split())
            first = re.split(r"(?<=\w)[.:;] ", doc)[0].rstrip(".:")
            about.append(f"{code(path.stem.removeprefix('test_'))} {cell(first)}".strip())
        if modules:
            lines.append((code(f"tests/{folder.name}"), str(count), "<br>".join(about)))
    return "## All tests\n\n" + table(("folder", "tests", "modules, and what they hold"), lines)
