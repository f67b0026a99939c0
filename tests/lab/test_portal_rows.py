"""Portal rows beyond the plain result: conditions and qualifier letters of the WQX code lists."""

import csv

import pytest

from pretreat.lab import read_analysis

HEAD = ("ActivityTypeCode", "ActivityMediaName", "ActivityStartDate", "MonitoringLocationIdentifier",
        "ResultDetectionConditionText", "CharacteristicName", "ResultSampleFractionText",
        "ResultMeasureValue", "ResultMeasure/MeasureUnitCode", "MeasureQualifierCode",
        "DetectionQuantitationLimitTypeName", "DetectionQuantitationLimitMeasure/MeasureValue",
        "DetectionQuantitationLimitMeasure/MeasureUnitCode")  # fmt: skip


def read(tmp_path, *rows):
    with (tmp_path / "p.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(HEAD)
        for cells in (("", "Calcium", "", "90", "mg/L", "", "", "", ""), *rows):
            writer.writerow(("Sample-Routine", "Water", "2024-05-06", "W1", *cells))
    return read_analysis(tmp_path / "p.csv")


@pytest.mark.parametrize(
    ("condition", "below"),
    [
        ("Not Detected", True), ("*Non-detect", True), ("", True),
        ("Not Reported", False), ("Unable to Measure", False),
        ("Present Above Quantification Limit", False),
    ],
)  # fmt: skip
def test_an_empty_result_beside_a_limit(tmp_path, condition, below):
    limit = ("Laboratory Reporting Level", "100", "ug/L")
    water = read(tmp_path, (condition, "Barium", "", "", "", "", *limit))
    assert water.below_mg_l.get("ba") == (0.1 if below else None)
    assert water.measured("ba") == below


def test_letters_are_named_and_the_rejected_apart(tmp_path):
    water = read(
        tmp_path,
        ("", "Manganese", "", "5", "ug/L", "R", "", "", ""),
        ("", "Barium", "", "40", "ug/L", "J", "", "", ""),
    )
    flags = {flag.code: flag for flag in water.flags}
    assert "Manganese 'R'" in flags["result_rejected"].text
    assert "Barium 'J'" in flags["qualified_result"].text
    assert (water.mg_l["mn"], water.mg_l["ba"]) == (0.005, 0.04)
