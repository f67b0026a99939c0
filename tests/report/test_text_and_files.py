"""Terminal text, CSV files and pictures of an invented study."""

import csv
import sys

import pytest

from pretreat.core.basis import Figure
from pretreat.core.errors import PretreatError
from pretreat.core.results import Ledger
from pretreat.report import (
    text_check,
    text_rate,
    text_scaling,
    text_size,
    write_csv,
    write_figures,
)
from pretreat.report.digits import SCIENTIFIC, column_decimals, decimals, number_format, shown
from pretreat.report.workbook.formulas import column_letter


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("text", [text_check, text_scaling, text_size, text_rate])
def test_lines_fit_a_terminal(study, text, units):
    lines = text(study, units=units).splitlines()
    assert max(len(line) for line in lines) <= 80
    assert all(line == line.rstrip() for line in lines)


def test_check_shows_readings_gaps_and_flags(study):
    text = text_check(study)
    assert "< 0.05 mg/L" in text
    assert "not measured" in text
    assert "812 mg/L" in text
    assert "warning  supersaturated_feed:" in text


def test_scaling_shows_the_sweep_against_its_limits(study):
    text = text_scaling(study)
    assert "6,000" in text
    assert "0.65" in text
    assert "14,655" in text  # barite at the last recovery


def test_size_shows_us_units_when_asked(study):
    """359 mg/L / 17.118 = 20.97 gpg; 68 kg / 0.45359237 = 149.9 lb."""
    assert "21.0 gpg" in text_size(study, units="us")
    assert "150 lb" in text_size(study, units="us")
    assert "68 kg" in text_size(study)


def test_control_characters_do_not_reach_the_terminal():
    ledger = Ledger()
    ledger.put("site.name", "x\x1b[31mred", "-", "site")
    assert "\x1b" not in text_size(ledger.study())


def test_csv_holds_the_full_numbers_and_no_formula(study, tmp_path):
    files = write_csv(study, tmp_path / "out")
    assert len(files) == 2 + len(study.series)
    with files[0].open(encoding="utf-8") as stream:
        rows = {row["key"]: row for row in csv.DictReader(stream)}
    assert set(rows) == set(study.figures)
    assert float(rows["softener.interval_d"]["value"]) == study.value("softener.interval_d")
    assert rows["site.name"]["value"] == "'=1+1 & sons"
    assert rows["water.f_mg_l"]["below"] == "0.05"
    assert rows["water.sio2_mg_l"]["value"] == ""


def test_pictures_are_drawn_and_repeat(study, tmp_path):
    first = write_figures(study, tmp_path / "a", "svg")
    again = write_figures(study, tmp_path / "b", "svg")
    assert [p.name for p in first] == ["scaling.svg", "composition.svg", "lsi.svg"]
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in again]
    png = write_figures(study, tmp_path)[0]
    assert png.read_bytes().startswith(b"\x89PNG")


def test_pictures_without_matplotlib_say_what_to_install(study, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    with pytest.raises(PretreatError, match=r"pretreat\[figures\]"):
        write_figures(study, tmp_path)


@pytest.mark.parametrize(
    ("value", "text"),
    [(2.4615, "2.46"), (812.3, "812"), (12345.6, "12,346"), (0.04567, "0.0457"),
     (1e-12, "1.00e-12"), (0.65, "0.65"), (0.0, "0"), (-0.0001234, "-0.000123")],
)  # fmt: skip
def test_results_have_three_significant_digits(value, text):
    assert shown(value, decimals(Figure("a.b", value, "-", "x"))) == text


def test_given_values_keep_their_digits_and_indexes_have_two():
    assert decimals(Figure("a.b", 0.8125, "-", "x", origin="chosen")) == 4
    assert decimals(Figure("scaling.si_calcite", 1.0, "-", "x")) == 2
    assert decimals(Figure("concentrate.ph", 7.7, "-", "x")) == 2
    assert decimals(Figure("scaling.si_silica", 0.123, "-", "x")) == 2


def test_columns_align_unless_they_span_decades():
    assert column_decimals("x", (1.25, 10.0, None)) == (2, 2, 2)
    assert column_decimals("x", (0.5, 1000.25)) == (1, 0)
    assert column_decimals("x", (1.0, 300.0)) == (0, 0)


def test_number_formats():
    assert number_format(2, 1.5) == "0.00"
    assert number_format(0, 1500.0) == "#,##0"
    assert number_format(SCIENTIFIC, 1e-9) == "0.00E+00"
    assert [column_letter(i) for i in (0, 25, 26, 27, 701, 702)] == [
        "A", "Z", "AA", "AB", "ZZ", "AAA",
    ]  # fmt: skip
