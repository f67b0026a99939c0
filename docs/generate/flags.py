"""The catalogue of flags: every code that the program may raise, its words and what to do."""

import ast
import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from importlib import import_module
from pathlib import Path

import pretreat
from docs.generate.markdown import anchor, cell, code, generated, table
from docs.generate.studies import recorded, studies
from pretreat.core.tables import rows
from pretreat.lab.interpret.remarks import _REMARKS
from pretreat.membrane.elements.figures import GRAVE

PACKAGE = Path(pretreat.__file__).parent
ADVICE = Path(__file__).parents[1] / "flags.csv"
LEVELS = ("info", "caution", "warning")
CODE = re.compile(r"…?[a-z_][a-z0-9_]*…?")
# Codes that the source puts together from a name, spelt out.
SPELT = {
    "…_limits": ("coldest_limits", "warmest_limits"),
    "new_water_…": ("new_water_softener", "new_water_iron_filter"),
    "safety_…": (),  # in tables of their own
    "finding_…": (),
}
AREAS = {
    "lab": "The lab report",
    "core": "Everywhere",
    "chemistry": "Everywhere",
    "site": "The site file",
    "membrane": "Concentrate, membranes and product",
    "stages": "Unit processes",
    "life": "Life of the media and cost",
    "plant": "The plant as a whole",
    "quote": "The quote",
    "record": "The record",
    "study": "The plant as a whole",
}
INTRO = """
A flag says what the reader must know about a number or a water. Its code is stable: scripts may
rely on it. *Info* is good to know, *caution* asks for a look, *warning* for something to be done
before anything is built or run. A flag never changes the exit code. With `--json` they stand
under `flags`, with `code`, `level`, `text` and the `figure` that they speak of.

The words are those of the program, with … for what the run fills in.
"""


@dataclass
class Raised:
    """A flag as the source holds it."""

    area: str
    levels: set[str] = field(default_factory=set)
    texts: dict[str, None] = field(default_factory=dict)


@lru_cache(maxsize=1)
def raised() -> dict[str, Raised]:
    """Return every code of a flag that stands in the source, with its levels and words."""
    found: dict[str, Raised] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        relative = path.relative_to(PACKAGE)
        area = AREAS.get(relative.parts[0].removesuffix(".py"))
        if area is None:
            continue
        tree = ast.parse(path.read_text("utf-8"))
        for function in ast.walk(tree):
            if isinstance(function, ast.FunctionDef):
                _of_function(function, area, found, _constants_of(tree))
    found |= _of_elements()
    for one, (level, text) in _REMARKS.items():
        found.setdefault(one, Raised(AREAS["lab"], {level}, {text: None}))
    return found


def _of_elements() -> dict[str, Raised]:
    """Return the limits of elements and vessels, which are flags by a table of their own."""
    source = (PACKAGE / "membrane" / "elements" / "checks.py").read_text("utf-8")
    words: dict[str, str] = {}
    for node in ast.walk(ast.parse(source)):
        given = node.elts if isinstance(node, ast.Tuple) else getattr(node, "args", None)
        if not isinstance(given, list) or len(given) != 5:
            continue
        first, second = given[:2]
        if isinstance(first, ast.Constant) and CODE.fullmatch(str(first.value)):
            told = second.value if isinstance(second, ast.Constant) else first.value
            words[str(first.value)] = f"{str(told).replace('_', ' ')} is …, at most …"
    return {
        one: Raised(AREAS["membrane"], {"warning" if one in GRAVE else "caution"}, {text: None})
        for one, text in words.items()
    }


def _constants_of(module: ast.Module) -> dict[str, ast.expr]:
    """Return the names that a module gives to texts, and those that it imports of the package."""
    imported = {
        each.asname or each.name: ast.Constant(value)
        for node in module.body
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("pretreat.")
        for each in node.names
        if each.name.isupper()
        and isinstance(value := getattr(import_module(node.module or ""), each.name), str)
    }
    return imported | {
        target.id: node.value
        for node in module.body
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant)
        for target in node.targets
        if isinstance(target, ast.Name)
    }


def _of_function(
    function: ast.FunctionDef, area: str, found: dict[str, Raised], fixed: dict[str, ast.expr]
) -> None:
    nodes = list(ast.walk(function))
    calls = [(n.lineno, n.args) for n in nodes if isinstance(n, ast.Call) and _raises(n)]
    calls += [(n.lineno, n.elts) for n in nodes if isinstance(n, ast.Tuple) and _tells(n)]
    if not calls:
        return
    assigned = sorted((n for n in nodes if isinstance(n, ast.Assign)), key=lambda n: n.lineno)
    for line, given in calls:
        named = fixed | {
            target.id: value.value
            for value in assigned
            for target in value.targets
            if isinstance(target, ast.Name) and value.lineno < line
        }
        codes = [c for c in _constants(given[0], named) if CODE.fullmatch(c)]
        levels = {one for one in _constants(given[1], named) if one in LEVELS}
        for one in (each for found_code in codes for each in SPELT.get(found_code, (found_code,))):
            entry = found.setdefault(one, Raised(area))
            entry.levels |= levels
            entry.texts |= dict.fromkeys(filter(None, _texts(given[2], named)))


def _raises(node: ast.Call) -> bool:
    name = getattr(node.func, "attr", getattr(node.func, "id", ""))
    return name in {"flag", "Flag"} and len(node.args) > 2


def _tells(node: ast.Tuple) -> bool:
    """Tell whether a tuple is a flag to be: its code, its level, its words."""
    first, second = (*node.elts, None, None)[:2]
    return (
        len(node.elts) == 3
        and isinstance(first, ast.Constant | ast.JoinedStr)
        and (
            (isinstance(second, ast.Constant) and second.value in LEVELS)
            or (isinstance(second, ast.Name) and second.id == "level")
        )
    )


def _constants(node: ast.expr, named: dict[str, ast.expr]) -> list[str]:
    """Return the texts that an expression may be."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return [node.value]
    if isinstance(node, ast.JoinedStr):
        return [_written(node)]
    if isinstance(node, ast.IfExp):
        return _constants(node.body, named) + _constants(node.orelse, named)
    if isinstance(node, ast.Name):
        rest = {k: v for k, v in named.items() if k != node.id}
        return _constants(named[node.id], rest) if node.id in named else []
    return []


def _texts(node: ast.expr, named: dict[str, ast.expr]) -> list[str]:
    """Return the sentences that an expression may be, with dots for what is filled in."""
    if isinstance(node, ast.Name) and node.id in named:
        rest = {k: v for k, v in named.items() if k != node.id}
        return _texts(named[node.id], rest)
    if isinstance(node, ast.IfExp):
        return _texts(node.body, named) + _texts(node.orelse, named)
    text = re.sub(r"…(\W*…)+", "…", _written(node)).lstrip("…'\":; ")
    return [text] if re.search(r"[a-z]{3}", text) else []


def _written(node: ast.expr) -> str:
    if isinstance(node, ast.Constant):
        return str(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(_written(v) if isinstance(v, ast.Constant) else "…" for v in node.values)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return _written(node.left) + _written(node.right)
    return "…"


@lru_cache(maxsize=1)
def advice() -> dict[str, str]:
    """Return what to do about a flag, by its code."""
    with ADVICE.open(encoding="utf-8", newline="") as file:
        return {row["code"]: row["what_to_do"] for row in csv.DictReader(file)}


@lru_cache(maxsize=1)
def _recorded() -> dict[str, str]:
    """Return words of flags from the newest record of what the program said."""
    found: dict[str, str] = {}
    for document in recorded():
        for flag in document.get("flags", ()):
            found.setdefault(flag["code"], flag["text"])
    return found


def pages() -> Iterator[tuple[str, str, str]]:
    """Yield file, title and text of the page."""
    seen = {f.code: f.text for s in studies().values() for f in s.flags}
    parts = [INTRO.strip()]
    for one, text in seen.items():
        if one not in raised() and not one.startswith(("safety_", "finding_")):
            raise RuntimeError(f"the flag {one} is not found in the source: {text}")
    for area in dict.fromkeys(AREAS.values()):
        lines = []
        for key, entry in sorted(raised().items()):
            if entry.area != area:
                continue
            words = list(entry.texts) or [seen.get(key) or _recorded().get(key, "…")]
            lines.append(
                (
                    f'<span id="{anchor(key)}"></span>{code(key)}',
                    ", ".join(one for one in LEVELS if one in entry.levels),
                    "<br>".join(cell(text) for text in words[:3]),
                    cell(advice().get(key, "")),
                )
            )
        if lines:
            heads = ("code", "level", "words", "what to do")
            parts.append(f"## {area}\n\n" + table(heads, lines))
    parts += [_findings(), _safety()]
    body = "\n\n".join(parts)
    origin = "the source of the program, `docs/flags.csv`, `findings.csv` and `cautions.csv`"
    yield "reference/flags.md", "Flags", generated("Flags", origin, body)


def _findings() -> str:
    lines = [
        (code(f"finding_{r['key']}"), cell(r["name"]), cell(r["causes"]), cell(r["next"]))
        for r in rows("findings.csv")
    ]
    return "## Findings of the record\n\nAll are warnings.\n\n" + table(
        ("code", "finding", "may come from", "next"), lines
    )


def _safety() -> str:
    lines = [
        (code(f"safety_{r['topic']}"), r["level"], cell(r["text"])) for r in rows("cautions.csv")
    ]
    return "## Cautions\n\nSee [safety](../safety.md).\n\n" + table(
        ("code", "level", "words"), lines
    )
