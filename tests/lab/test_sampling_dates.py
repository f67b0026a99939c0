"""The day a sample was taken, by the labels that laboratories print; invented reports."""

import pytest

from pretreat.lab.reading import read_analysis

TABLE = """
Parameter                Result    Unit
pH value                 7.21
Calcium                  108       mg/l
Magnesium                16        mg/l
Sodium                   22        mg/l
Chloride                 44        mg/l
Sulfate                  58        mg/l
"""


def dated(folder, head, table=TABLE, name="report.txt"):
    (folder / name).write_text(f"{head}\n{table}", encoding="utf-8")
    return read_analysis(folder / name).date


@pytest.mark.parametrize(
    "label",
    [
        "Sampled", "Sampled on", "Sampling date", "Date of sampling", "DATE OF SAMPLING",
        "Date of collection", "Date and time of sampling", "Sample taken on",
        "Datum der Probenahme", "Entnahmedatum", "Date du prélèvement", "Fecha de la toma",
        "Data di prelievo", "Data pobrania próbki",
    ],
)  # fmt: skip
def test_the_day_of_sampling_is_read_by_its_label(tmp_path, label):
    client = "Laboratory report 26-1 (invented)\nClient: Harrow Bank, house well\n"
    assert dated(tmp_path, f"{client}{label}: 18.04.2026") == "18.04.2026"
    rows = "Parameter,Result,Unit\npH,7.21,\nCalcium,108,mg/l\nSodium,22,mg/l\nChloride,44,mg/l\n"
    assert dated(tmp_path, f"{label},18.04.2026", rows, "report.csv") == "18.04.2026"


def test_another_label_is_no_date(tmp_path):
    head = "Sampled: 18.04.2026    Date of report: 02.05.2026"
    assert dated(tmp_path, head) in {"", "18.04.2026"}
    assert dated(tmp_path, "Date of analysis: 19.04.2026") != "18.04.2026"
