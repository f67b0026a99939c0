"""Small workbooks that would hang a library are refused by what they hold, before it loads them."""

import io
import zipfile

import openpyxl
import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab import read_analysis


def workbook(part, old, new):
    """Return a small report as a workbook with something put into one of its parts."""
    book = openpyxl.Workbook()
    for row in (("Analyte", "Result", "Unit"), ("Calcium", 142, "mg/L"), ("pH", 7.1, "")):
        book.active.append(row)
    plain, out = io.BytesIO(), io.BytesIO()
    book.save(plain)
    with zipfile.ZipFile(plain) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new_:
        for name in source.namelist():
            content = source.read(name).decode("utf-8")
            if name == part:
                assert old in content
                content = content.replace(old, new + old if old.startswith("</") else old + new)
            new_.writestr(name, content)
    return out.getvalue()


SHEET, STYLES, BOOK = "xl/worksheets/sheet1.xml", "xl/styles.xml", "xl/workbook.xml"
END = "</sheetData>"


def after_data(text):
    return workbook(SHEET, "</worksheet>", text)


def many(text, count):
    return "".join(text.format(i=i) for i in range(1, count + 1))


HOSTILE = {
    "one huge area": (
        lambda: after_data('<mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>'),
        "unmerge",
    ),
    "quotes and order of attributes": (
        lambda: after_data(
            "<mergeCells><mergeCell  id='1' ref = '$A$1:$XFD$1048576' /></mergeCells>"
        ),
        "unmerge",
    ),
    "an area upside down": (
        lambda: after_data('<mergeCells><mergeCell ref="XFD1048576:A1"/></mergeCells>'),
        "unmerge",
    ),
    "an area of columns": (
        lambda: after_data('<mergeCells><mergeCell ref="A:XFD"/></mergeCells>'),
        "unmerge",
    ),
    "60,000 areas": (
        lambda: after_data(
            "<mergeCells>" + many('<mergeCell ref="D{i}:E{i}"/>', 60_000) + "</mergeCells>"
        ),
        "unmerge",
    ),
    "300,000 styles": (
        lambda: workbook(STYLES, "</cellXfs>", '<xf numFmtId="0" fontId="0"/>' * 300_000),
        "styles",
    ),
    "90,000 fonts": (lambda: workbook(STYLES, "</fonts>", "<font/>" * 90_000), "styles"),
    "100,000 names": (
        lambda: workbook(
            BOOK,
            "</workbook>",
            "<definedNames>"
            + many('<definedName name="n{i}">Sheet!$A$1</definedName>', 100_000)
            + "</definedNames>",
        ),
        "names, links or rules",
    ),
    "rules for 100,000 areas": (
        lambda: after_data(
            f'<dataValidations><dataValidation sqref="{many("A{i} ", 100_000)}"/></dataValidations>'
        ),
        "names, links or rules",
    ),
    "parts nested deep": (lambda: after_data("<x>" * 50_000 + "</x>" * 50_000), "deeper"),
    "two million cells": (
        lambda: workbook(SHEET, END, '<row r="9">' + '<c r="A9"/>' * 2_000_000 + "</row>"),
        "cells|unpacks",
    ),
}


@pytest.mark.parametrize("name", list(HOSTILE))
def test_refused_before_it_is_loaded(tmp_path, name):
    make, says = HOSTILE[name]
    path = tmp_path / "report.xlsx"
    path.write_bytes(make())
    with pytest.raises(AnalysisError, match=says):
        read_analysis(path)


def test_a_report_with_merged_headings_is_read(tmp_path):
    path = tmp_path / "report.xlsx"
    areas = many('<mergeCell ref="D{i}:H{i}"/>', 500)
    path.write_bytes(after_data(f"<mergeCells>{areas}</mergeCells>"))
    assert read_analysis(path).mg_l["ca"] == 142
