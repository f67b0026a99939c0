"""Devices, pipes, gigabytes, deep and huge documents: one clear line, soon."""

import os
from pathlib import Path

import pytest

from pretreat.core.doors import Kind, csv_table, file_text
from pretreat.core.errors import PretreatError
from pretreat.site.limits import read_k_chart
from pretreat.site.toml_file import tables_of
from pretreat.stages.site import read_site
from pretreat.stages.softener.resin import read_capacity_table
from tests.cli.conftest import ANALYSES

SITE, REPORT = "quarrow_vale.toml", "quarrow_vale_well_2.csv"
pytestmark = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")


def doors(name):
    scale = ("scaling", REPORT, "--recovery", "0.5")
    return {
        "site file": ("size", name),
        "report": ("check", name),
        "limits": (*scale, "--limits", name),
        "K chart": (*scale, "--k-chart", name),
        "record": ("record", SITE, "--file", name),
        "log": ("log", SITE, "temperature=15 C", "--file", name),
        "JSON": ("workbook", name),
        "table": ("screen", name, "--recovery", "0.5"),
        "analysis": ("record", SITE, "--analysis", name),
    }


@pytest.mark.parametrize("door", list(doors("")))
def test_no_device_no_pipe(run, demo, door):
    os.mkfifo(demo / "pipe")
    assert "is not a file" in run(*doors("pipe")[door])


@pytest.mark.parametrize("door", [d for d in doors("") if d != "table"])
def test_no_gigabytes(run, demo, door):
    """A table to be screened may have any size: it streams."""
    with (demo / "sparse").open("wb") as handle:
        handle.truncate(3 * 1024**3)
    os.utime(demo / "sparse")

    class Sparse(Path):
        pass

    before = (demo / "sparse").stat()
    said = _without(run, demo, doors("sparse")[door])
    assert "MB" in said
    assert (demo / "sparse").stat().st_size == before.st_size


def _without(run, demo, words):
    """Run where the huge file lies outside the folder whose content is compared."""
    huge = demo.parent / f"{demo.name}_sparse"
    (demo / "sparse").rename(huge)
    try:
        said = run(*(str(huge) if word == "sparse" else word for word in words))
    finally:
        huge.rename(demo / "sparse")
    return said


def test_a_line_without_an_end(run, demo):
    (demo / "w.csv").write_text("id,Ca,pH\n" + "1" * 2_000_000)
    assert "longer than" in run("screen", "w.csv", "--recovery", "0.5")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("x = " + "[" * 20000, "nests"),
        ("x = " + "[" * 500 + "]" * 500, "nests|cannot be read"),
        ("[machine]\nrecovery = 1" + "0" * 5000, "too many digits"),
        ("[site]\nname = '" + "x" * 9000 + "'", "more than 5,000 characters"),
        ("[site]\n" + "x" * 9000 + " = 1", "more than 5,000 characters"),
        ("[machine]\nrecovery = ", "line 2 cannot be read"),
        ("\x1b[31m = 1", "cannot be read"),
    ],
)
def test_site_files_beyond_reason(text, says):
    with pytest.raises(PretreatError, match=says) as caught:
        tables_of(text, "site.toml")
    assert all(fault.isprintable() and len(fault) < 1000 for fault in caught.value.faults)


def changed(tmp_path, old, new):
    text = (ANALYSES / SITE).read_text("utf-8")
    assert old in text
    (tmp_path / REPORT).write_bytes((ANALYSES / REPORT).read_bytes())
    (tmp_path / SITE).write_text(text.replace(old, new), "utf-8")
    with pytest.raises(PretreatError) as caught:
        read_site(tmp_path / SITE)
    assert all(fault.isprintable() and len(fault) < 1000 for fault in caught.value.faults)
    return str(caught.value)


@pytest.mark.parametrize(
    "given",
    ['["a", "b"]', "[[0.1], [0.2]]", "[true, true]", "[nan, nan]", "0.5", "[0.2]", "[{}, {}]",
     "['0.5', 0.6]", "[0.7, 0.5]", "[1" + "0" * 400 + ", 2]"],
)  # fmt: skip
def test_recovery_range_of_any_shape(tmp_path, given):
    said = changed(tmp_path, "recovery_range = [0.5, 0.75]", f"recovery_range = {given}")
    assert "write two fractions" in said


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("recovery = 0.65", "recovery = 1" + "0" * 400, "recovery is inf"),
        ("hours_per_day = 16", "hours_per_day = -1" + "0" * 400, "hours_per_day is -inf"),
        ("hours_per_day = 16", "hours_per_day = nan", "hours_per_day is nan"),
        ("hours_per_day = 16", "hours_per_day = 1e-300", "must be from 0.01"),
        ('"1.6 m3/h"', '"1e-300 m3/h"', "product_flow"),
        ('"1.6 m3/h"', '"5 9**9**9 m3/h"', "product_flow"),
        (f'"{REPORT}"', '"a\\u0000b"', "not a name of a file"),
        (f'"{REPORT}"', '""', "not a name of a file"),
        ("[softener]", "[softener]\nvessels = 1" + "0" * 400, "vessels"),
        ("[machine]", "[machine]\narray = [1" + "0" * 400 + "]", "array"),
    ],
)
def test_numbers_and_names_beyond_reason(tmp_path, old, new, says):
    assert says in changed(tmp_path, old, new)


@pytest.mark.parametrize("name", ["x" * 300 + ".csv", "\udcff.csv", "a\x1b[31mb.csv", "a\nb.csv"])
def test_names_of_files_beyond_reason(run, name):
    for words in (("check", name), ("size", name), ("workbook", name)):
        run(*words)


def test_long_cells_of_tables(tmp_path):
    table = tmp_path / "t.csv"
    table.write_text(f"salt_g_l,capacity_g_caco3_l\n80,{'4' * 200_000}\n160,57\n")
    with pytest.raises(PretreatError, match="line 2: a cell is longer"):
        read_capacity_table(table)
    with pytest.raises(PretreatError, match="line 2: a cell is longer"):
        list(csv_table(table, Kind("a table")))
    table.write_text("salt_g_l,capacity_g_caco3_l\n80,40\n160,inf\n")
    with pytest.raises(PretreatError, match="needs two or more rows"):
        read_capacity_table(table)


def test_a_chart_with_holes_is_refused_soon(tmp_path):
    chart = tmp_path / "k.csv"
    rows = "\n".join(f"{i},{i},1" for i in range(50_000))
    chart.write_text(f"ionic_strength_mol_kg,temperature_c,k\n{rows}\n")
    with pytest.raises(PretreatError, match="full grid"):
        read_k_chart(chart)


def test_text_in_utf_16_is_read_and_bytes_are_not(tmp_path):
    path = tmp_path / "t.txt"
    path.write_text("grün", "utf-16")
    assert file_text(path, Kind("a text")) == "grün"
    path.write_bytes(b"good\n\xff\xfe bad")
    with pytest.raises(PretreatError, match="line 2 cannot be read as text"):
        file_text(path, Kind("a text"))
    path.write_bytes(b"a\x00b")
    with pytest.raises(PretreatError, match="zero bytes"):
        file_text(path, Kind("a text"))
