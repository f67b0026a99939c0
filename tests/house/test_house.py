"""Rules of the house: documented units, sourced numbers, cheap imports, layers."""

import ast
import doctest
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
from pathlib import Path

import pytest

import pretreat
from pretreat.core.law import LAWS
from pretreat.core.tables import rows, sources

PACKAGE = Path(pretreat.__file__).parent
MODULES = [
    m.name
    for m in pkgutil.walk_packages(pretreat.__path__, "pretreat.")
    if not m.name.startswith(("pretreat.cli", "pretreat.data"))
]
# Whole numbers and halves are structure (exponents, means, percent), not facts; so are the
# parts of a day and a week, and the tiny numbers that keep a division or a comparison safe.
STRUCTURE = {0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 7.0, 10.0, 24.0, 60.0, 100.0, 1000.0, 1e-3}
TINY = 1e-6
# Modules whose numbers are numerical method, not chemistry: each has named constants where
# a reader would look, and step limits and brackets in place.
NUMERICAL = {"chemistry/kernel.py", "chemistry/ccpp.py", "membrane/recovery.py"}
SCANNED = ("chemistry", "membrane", "stages", "plant", "life", "quote", "lab", "record")


def _public_functions():
    for name in MODULES:
        module = importlib.import_module(name)
        for attribute, item in vars(module).items():
            if attribute.startswith("_") or getattr(item, "__module__", "") != name:
                continue
            if inspect.isfunction(item):
                yield f"{name}.{attribute}", item


FUNCTIONS = dict(_public_functions())
# A section of the study enters figures, which carry their units: a sentence will do.
SECTION = re.compile(r"\b(Ledger|Entries|Train|Till|Bench|HandPage)\b")


@pytest.mark.parametrize("name", FUNCTIONS)
def test_docstring_parameters_equal_the_signature_and_have_units(name):
    function = FUNCTIONS[name]
    text = inspect.getdoc(function) or ""
    wanted = [p for p in inspect.signature(function).parameters if p not in {"self"}]
    annotations = " ".join(map(str, function.__annotations__.values()))
    plain = SECTION.search(annotations) or not re.search(r"float|Array|Number|Any", annotations)
    if "Parameters\n---" not in text and plain:
        assert text, f"{name} has no docstring"  # records and words alone: a sentence will do
        return
    section = re.search(r"Parameters\n-+\n(.*?)(?:\n\n[A-Z][a-z]+\n-+|\Z)", text, re.S)
    documented: list[str] = []
    if section:
        for entry in re.finditer(
            r"^(\*{0,2}\w[\w, *]*) ?(?::.*)?$\n(?:    .*\n?)*", section[1], re.M
        ):
            assert "[" in entry[0], f"{name}: {entry[1]} has no unit"
            documented += [part.strip().lstrip("*") for part in entry[1].split(",")]
    assert documented == wanted, name


def _cited(node: ast.FunctionDef) -> bool:
    return any("cites" in ast.unparse(d) for d in node.decorator_list)


def _bare_floats(tree: ast.Module):
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and not _cited(node):
            for inner in ast.walk(node):
                if isinstance(inner, ast.Constant) and isinstance(inner.value, float):
                    if abs(inner.value) not in STRUCTURE and abs(inner.value) > TINY:
                        yield node.name, inner.lineno, inner.value


def _scanned_files():
    for folder in SCANNED:
        for path in sorted((PACKAGE / folder).rglob("*.py")):
            if f"{folder}/{path.name}" not in NUMERICAL:
                yield path


@pytest.mark.parametrize("path", list(_scanned_files()), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_no_number_without_a_source(path):
    """A float that is no structure stands in a function with @cites, a table or a constant."""
    found = list(_bare_floats(ast.parse(path.read_text("utf-8"))))
    assert not found, "\n".join(
        f"{path.name}:{line} in {name}: {value}" for name, line, value in found
    )


def test_every_table_has_sources():
    for path in (PACKAGE / "data").glob("*.csv"):
        assert rows(path.name), path.name


def test_every_citation_resolves():
    for name in MODULES:
        for item in vars(importlib.import_module(name)).values():
            marks = getattr(item, "citations", ())
            for citation in marks if isinstance(marks, tuple) else ():
                assert citation.source in sources(), f"{name}: {citation.source}"


def test_every_source_is_used():
    text = "\n".join(p.read_text("utf-8") for p in PACKAGE.rglob("*.py"))
    tables = {row["source"] for path in (PACKAGE / "data").glob("*.csv") for row in rows(path.name)}
    unused = [key for key in sources() if key not in tables and f'"{key}"' not in text]
    assert not unused


@pytest.mark.parametrize("heavy", ["pandas", "numpy", "openpyxl", "xlsxwriter", "phreeqc"])
def test_help_does_not_import(heavy):
    code = (
        "import sys; sys.argv = ['pretreat', '--help']\n"
        "from pretreat.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        f"sys.exit({heavy!r} in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True).returncode == 0


def test_modules_stay_small():
    long = {
        p.name: n
        for p in PACKAGE.rglob("*.py")
        if (n := len(p.read_text("utf-8").splitlines())) > 500
    }
    assert not long


def _modules_of_laws():
    for name in MODULES:
        importlib.import_module(name)
    return LAWS


@pytest.mark.parametrize("name", list(_modules_of_laws()))
def test_law_has_an_equation_a_value_and_units(name):
    """The docstring holds the equation and one independent value; the names hold the units."""
    found = LAWS[name]
    assert ">>> " in (found.__doc__ or ""), f"{name}: no worked value"
    for argument in found.validity:
        assert argument in found.names, f"{name}: range of {argument}, which it does not take"
    failures, tried = doctest.testmod(importlib.import_module(name.split(":")[0]))
    assert not failures
    assert tried


KEY = re.compile(r"\{[a-z_]+\.[a-z0-9_.]+\}")
READ_BACK = (
    "node.formula",
    "_maybe(_text, body",
    "None",
)  # a law's own text, and that of a document


def _typed_formulas(tree: ast.Module):
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            if KEY.search(node.value):
                yield node.lineno
        if isinstance(node, ast.JoinedStr):
            parts = (v.value if isinstance(v, ast.Constant) else "a.b" for v in node.values)
            if KEY.search("".join(map(str, parts))):
                yield node.lineno
        if isinstance(node, ast.keyword) and node.arg == "formula":
            if not ast.unparse(node.value).startswith(READ_BACK):
                yield node.value.lineno


def test_no_equation_is_typed_as_a_formula():
    """No text outside the laws and the pages holds a key in braces or becomes a formula."""
    may = {"report", "chemistry"}  # chemistry speaks of formulas of minerals
    found = [
        f"{path.relative_to(PACKAGE)}:{line}"
        for path in PACKAGE.rglob("*.py")
        if path.relative_to(PACKAGE).parts[0] not in may
        and str(path.relative_to(PACKAGE)) not in {"core/law.py", "core/terms.py"}
        for line in _typed_formulas(ast.parse(path.read_text("utf-8")))
    ]
    assert not found


def test_no_room_is_crowded():
    crowded = {
        str(folder.relative_to(PACKAGE)): n
        for folder in PACKAGE.rglob("*")
        if folder.is_dir() and (n := len(list(folder.glob("*.py")))) > 21  # __init__ aside
    }
    assert not crowded


def test_formatting_is_left_to_the_formatter():
    skipped = sum(p.read_text("utf-8").count("# fmt: skip") for p in PACKAGE.rglob("*.py"))
    assert skipped < 30


def _source_fields():
    import tomllib

    for path in sorted((PACKAGE / "data").glob("sources*.toml")):
        for key, entry in tomllib.loads(path.read_text("utf-8")).items():
            yield f"{path.name}:{key}", entry


def test_every_source_has_title_year_and_place():
    for name, entry in _source_fields():
        assert set(entry) <= {"title", "year", "place", "authors", "note"}, name
        for part in ("title", "year", "place"):
            assert entry.get(part, "").strip(), f"{name}: no {part}"
        assert re.fullmatch(r"\d{4}|undated", entry["year"]), f"{name}: year {entry['year']}"
        assert len(entry["title"]) > 5, name
        assert len(entry["place"]) > 3, name


def test_no_source_stands_twice():
    keys = [name.split(":")[1] for name, _ in _source_fields()]
    assert len(keys) == len(set(keys))
    whole = [
        (e["title"].casefold(), e["place"].casefold(), e.get("authors"))
        for _, e in _source_fields()
    ]
    assert len(whole) == len(set(whole))


SECOND_HAND = re.compile(
    r"from memory|second-hand|not (?:seen|opened|read)|no document|sum it up", re.I
)
ONLY_PARTS = ("except", "the rest", "rows tagged", "of its", "scope", "(c) seen", "quoted")


def test_printed_only_where_a_page_was_read():
    """A source of which nothing was seen prints nothing, and practice has no page."""
    fields = {name.split(":")[1]: entry for name, entry in _source_fields()}
    for path in (PACKAGE / "data").glob("*.csv"):
        for row in rows(path.name):
            entry = fields[row["source"]]
            note = entry.get("note", "")
            unseen = SECOND_HAND.search(note) and not any(part in note for part in ONLY_PARTS)
            practice = "no published source" in entry["place"] or "no citable" in entry["place"]
            if unseen or practice:
                assert row["evidence"] != "printed", f"{path.name}: {row}"


def test_health_limits_cite_a_law_or_a_guideline():
    laws = ("CFR14", "EU2020_2184", "EU98_83", "EURATOM2013_51", "WHO")
    for row in rows("health_limits.csv"):
        assert row["source"].startswith(laws), row


def test_readings_on_site_and_counts_have_a_tag_of_their_own():
    """What a gauge, a meter or a test kit showed is printed nowhere."""
    speaks = re.compile(r"test kit|flow meter|counted|gauge", re.I)
    wrong = []
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call):
                said = {k.arg: ast.unparse(k.value) for k in node.keywords}
                if speaks.search(said.get("method", "")) and said.get("evidence") == "'printed'":
                    wrong.append(f"{path.name}:{node.lineno}")
    assert not wrong


def test_methods_are_known_by_authority_or_number_not_by_a_maker():
    """Names of makers of instruments and chemicals stand nowhere in code or data."""
    text = "\n".join(
        p.read_text("utf-8") for p in PACKAGE.rglob("*") if p.suffix in {".py", ".csv", ".toml"}
    )
    makers = "h" + "ach|lov" + "ibond|la" + "motte|palin" + "test|mer" + "ck|he" + "lma"
    assert not re.search(rf"(?i)\b(?:{makers})\b", text)
