"""Tables, pictures and workbooks by command: size, rate and workbook."""

import csv
import json
from pathlib import Path

import openpyxl
import pytest

from tests.cli.conftest import ANALYSES, pretreat  # noqa: F401

SITE = ANALYSES / "quarrow_vale.toml"
DAY = "2031-05-14"
# Invented: vessels and prices, and no water at all.
VESSELS = """
[site]
name = "Three vessels"
[machine]
product_flow = "1 m3/h"
recovery = 0.6
hours_per_day = 12
[softener]
resin_volume = "140 L"
[iron_filter]
vessel_diameter = "0.61 m"
media_depth = "0.76 m"
[carbon]
media_volume = "142 L"
[prices]
currency = "EUR"
resin_per_l = 3.2
iron_media_per_l = 2.4
carbon_per_l = 1.9
labour_per_h = 62
freight = 140
"""


def test_tables_and_pictures_beside_json(pretreat, tmp_path):  # noqa: F811
    """--json keeps standard output to itself; the tables hold the same numbers."""
    done = pretreat("size", SITE, "--json", "--csv", "tables", "--figures", "drawn",
                    "--figures-format", "svg")  # fmt: skip
    study = json.loads(done.stdout)
    with (tmp_path / "tables" / "figures.csv").open(encoding="utf-8") as stream:
        rows = {row["key"]: row["value"] for row in csv.DictReader(stream)}
    for key, figure in study["figures"].items():
        if isinstance(figure["value"], float):
            assert float(rows[key]) == figure["value"]
    assert {f"{key}.csv" for key in study["series"]} <= names(tmp_path / "tables")
    assert {"scaling.svg", "cost.svg", "week.svg"} <= names(tmp_path / "drawn")
    assert not (tmp_path / "reports").exists()


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_the_workbook_command_has_help_with_an_example(pretreat):  # noqa: F811
    assert "Example: pretreat workbook" in pretreat("workbook", "--help").stdout


def test_rate_names_what_it_wrote(pretreat, tmp_path):  # noqa: F811
    site = ANALYSES / "quarrow_vale_installed.toml"
    lines = pretreat("rate", site, "--csv", "t", "--figures", "f").stdout.splitlines()
    assert lines[-3].startswith("Pictures: ")
    assert lines[-2].startswith("CSV tables: ")
    assert lines[-1].startswith("Workbook: ")
    assert (tmp_path / "f" / "scaling.png").read_bytes().startswith(b"\x89PNG")


def test_pictures_without_matplotlib_are_one_clear_line(tmp_path, monkeypatch):
    import sys

    from typer.testing import CliRunner

    from pretreat.cli import _register, app
    from pretreat.core.errors import PretreatError

    monkeypatch.setitem(sys.modules, "matplotlib", None)
    _register()
    target = tmp_path / "x.xlsx"
    done = CliRunner().invoke(
        app, ["size", str(SITE), "-o", str(target), "--figures", str(tmp_path)]
    )
    assert isinstance(done.exception, PretreatError)
    assert len(done.exception.faults) == 1
    assert "pip install 'pretreat[figures]'" in done.exception.faults[0]
    assert not target.exists()


def test_a_folder_that_is_a_file_is_one_clear_line(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "tables").write_text("")
    done = pretreat("size", SITE, "--csv", "tables", code=1)
    assert done.stderr.count("\n") == 1
    assert "cannot be written" in done.stderr


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_workbook_from_json_alone_has_the_same_bytes(pretreat, tmp_path, units):  # noqa: F811
    pretreat("size", SITE, "-o", "direct.xlsx", "--date", DAY, "--units", units)
    (tmp_path / "study.json").write_text(pretreat("size", SITE, "--json").stdout, "utf-8")
    done = pretreat("workbook", "study.json", "-o", "again.xlsx", "--date", DAY, "--units", units)
    assert done.stdout == "Workbook: again.xlsx\n"
    assert (tmp_path / "again.xlsx").read_bytes() == (tmp_path / "direct.xlsx").read_bytes()


def test_json_in_another_encoding_is_read(pretreat, tmp_path):  # noqa: F811
    """Some shells save a redirected output as UTF-16."""
    text = pretreat("check", ANALYSES / "quarrow_vale_well_2.csv", "--json").stdout
    (tmp_path / "study.json").write_text(text, "utf-16")
    pretreat("workbook", "study.json")
    assert (tmp_path / "reports" / "study.xlsx").exists()


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"schema": "another"}', '{"figures": []}',
             '{"schema": "pretreat-study-1", "figures": [], "series": {}, "flags": []}'],
)  # fmt: skip
def test_other_json_is_one_clear_line(pretreat, tmp_path, text):  # noqa: F811
    (tmp_path / "study.json").write_text(text)
    done = pretreat("workbook", "study.json", code=1)
    assert done.stderr.startswith("pretreat: ")
    assert done.stderr.count("\n") == 1


def test_a_table_cannot_leave_its_folder(pretreat, tmp_path):  # noqa: F811
    study = {"schema": "pretreat-study-1", "figures": {}, "flags": [], "series": {
        "../../escaped": {"label": "x", "columns": ["a"], "units": ["-"], "headings": [],
                          "method": "", "cites": [], "rows": [[1.0]]}}}  # fmt: skip
    (tmp_path / "study.json").write_text(json.dumps(study))
    done = pretreat("workbook", "study.json", "--csv", "t", code=1)
    assert "no name for a table" in done.stderr
    assert not list(tmp_path.parent.glob("escaped*"))


def test_a_quote_from_vessels_alone(pretreat, tmp_path):  # noqa: F811
    """140 L of resin in bags of 25 L: 6 bags, 150 L at 3.20."""
    (tmp_path / "v.toml").write_text(VESSELS)
    done = pretreat("rate", "v.toml")
    assert "no water is given" in done.stdout
    sheet = openpyxl.load_workbook(tmp_path / "reports" / "v.xlsx", data_only=True)["Estimate"]
    rows = {row[0]: row for row in sheet.iter_rows(values_only=True)}
    assert rows["Softening resin"][3] == 6
    assert rows["Softening resin"][6] == 480.0
    assert "usual life 1 to 4 years" in rows["Softening resin"][7]
    assert "vessel sizes alone" in rows["Basis"][1]
    figures = json.loads(pretreat("rate", "v.toml", "--json").stdout)["figures"]
    assert not [key for key in figures if key.startswith(("media_life.", "scaling.", "water."))]


def test_vessels_alone_are_no_basis_to_size_on(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "v.toml").write_text(VESSELS)
    assert "analysis is missing" in pretreat("size", "v.toml", code=1).stderr
    bare = VESSELS.replace('resin_volume = "140 L"', "").replace('media_volume = "142 L"', "")
    (tmp_path / "v.toml").write_text(bare.replace('media_depth = "0.76 m"', ""))
    assert "what is installed" in pretreat("rate", "v.toml", code=1).stderr
