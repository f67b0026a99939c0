"""Changes of form leave the values equal or the file refused; damage never makes a traceback."""

import importlib.util
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pretreat.core.errors import PretreatError
from pretreat.lab import read_samples
from pretreat.lab.read.numbers import printed_number

FILES = Path(__file__).parent / "files"
SCRIPT = Path(__file__).parents[2] / "benchmarks" / "fuzz_lab_files.py"
SETTINGS = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
ROWS = (
    ("pH", "7.62", ""), ("Temperature", "18.4", "°C"), ("Conductivity", "2130", "µS/cm"),
    ("Calcium", "142.5", "mg/L"),
    ("Magnesium", "48.6", "mg/L"), ("Sodium", "236", "mg/L"), ("Barium", "<48.5", "µg/L"),
    ("Iron", "0.31", "mg/L"),
    ("Alkalinity", "280", "mg/L as CaCO3"), ("Sulfate", "398", "mg/L"), ("Chloride", "287", "mg/L"),
    ("Nitrate", "4.2", "mg/L as N"), ("Silica", "28.4", "mg/L"), ("Strontium", "BDL", "mg/L"),
)  # fmt: skip


def reading(path):
    try:
        waters = read_samples(path)
    except PretreatError:
        return None
    return [
        (
            dict(w.mg_l),
            dict(w.below_mg_l),
            dict(w.properties),
            w.ph,
            w.temperature_c,
            w.alkalinity_mg_l_caco3,
        )
        for w in waters
    ]


@pytest.fixture(scope="module")
def truth(tmp_path_factory):
    path = tmp_path_factory.mktemp("truth") / "report.csv"
    path.write_text(
        "\n".join(",".join(row) for row in (("Analyte", "Result", "Unit"), *ROWS)), "utf-8"
    )
    return reading(path)


FORMS = st.fixed_dictionaries(
    {
        "rows": st.permutations(ROWS),
        "columns": st.permutations((0, 1, 2)),
        "delimiter": st.sampled_from((",", ";", "\t", "|")),
        "ends": st.sampled_from(("\n", "\r\n", "\r")),
        "encoding": st.sampled_from(
            ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252", "latin-1", "cp1254", "utf-32")
        ),
        "comma": st.booleans(),
        "header": st.booleans(),
    }
)


@SETTINGS
@given(FORMS)
def test_form_does_not_change_the_water(tmp_path, truth, form):
    """Encoding, delimiter, decimal mark, order of rows and columns: same values or refused."""
    rows = [("Analyte", "Result", "Unit")] if form["header"] else []
    rows += form["rows"]
    if form["comma"] and form["delimiter"] != ",":
        rows = [(name, result.replace(".", ","), unit) for name, result, unit in rows]
    lines = [form["delimiter"].join(row[c] for c in form["columns"]) for row in rows]
    path = tmp_path / "report.csv"
    path.write_bytes(form["ends"].join(lines).encode(form["encoding"]))
    found = reading(path)
    assert found is None or found == truth


@SETTINGS
@given(st.text(max_size=30), st.sampled_from(".,"))
def test_any_text_is_a_number_or_is_not(text, decimal):
    found = printed_number(text, decimal)
    assert found.kind in {"value", "below", "above", "missing", "date", "word"}
    if found.kind == "value":
        assert found.number is not None


@SETTINGS
@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(tmp_path, data):
    path = tmp_path / "noise.csv"
    path.write_bytes(data)
    reading(path)


def script(path):
    spec = importlib.util.spec_from_file_location(path.stem, path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_mutated_files(capsys):
    """A short run of the script in benchmarks/; its own runs are long."""
    assert script(SCRIPT).run(400, seed=20, folder=FILES) == 0, capsys.readouterr().out


def test_reports_whose_parts_are_moved_about(capsys):
    """Right, flagged or refused: a short run of the script in benchmarks/."""
    module = script(SCRIPT.with_name("fuzz_lab_structure.py"))
    assert module.run(500, seed=7, limit_mb=None) == 0, capsys.readouterr().out
