"""Raw deliveries of public agencies against their tidy reading; needs PRETREAT_WATERS."""

import csv
import os
from pathlib import Path

import pytest

from pretreat.core.water import WaterAnalysis
from pretreat.lab import read_samples
from pretreat.lab.judge.quality import judge

FOLDER = os.environ.get("PRETREAT_WATERS")
pytestmark = pytest.mark.skipif(not FOLDER, reason="PRETREAT_WATERS names no folder of analyses")
TOLERANCE = 0.006  # the tidy table is rounded to three to five figures
IONS = (
    *("Ca", "Mg", "Na", "K", "Sr", "Ba", "Fe", "Mn", "SO4", "Cl", "F", "NO3", "SiO2", "B", "NH4"),
    *("PO4", "Br", "CO3"),
)
HCO3_PER_CACO3 = 1.2193


def tidy(source=None):
    with (Path(FOLDER) / "real_waters.csv").open(encoding="utf-8") as handle:
        return [row for row in csv.DictReader(handle) if source in {None, row["source"]}]


def number(text):
    return float(text) if text else None


def water_of(row):
    """Return the water of a tidy row, its alkalinity as measured."""
    mg_l = {ion.lower(): float(row[ion]) for ion in IONS if row[ion]}
    alkalinity = number(row["alk_mg_L_CaCO3"])
    if alkalinity is None and row["HCO3_mg_L"]:
        alkalinity = float(row["HCO3_mg_L"]) / HCO3_PER_CACO3
    if alkalinity is not None:
        mg_l["hco3"] = max(alkalinity - mg_l.get("co3", 0.0) / 0.5996, 0.0) * HCO3_PER_CACO3
    properties = {"ec_us_cm": number(row["ec_uS_cm"]), "tds_mg_l": number(row["tds_mg_L"])}
    below = {}
    for entry in row["nd"].split(";"):
        ion, mark, limit = entry.partition("<")
        if mark and ion in IONS and ion.lower() not in mg_l:
            below[ion.lower()] = float(limit) or None
    return WaterAnalysis(
        sample=row["id"], source=row["source"], ph=number(row["pH"]),
        alkalinity_mg_l_caco3=alkalinity, mg_l=mg_l,
        below_mg_l=below, properties={k: v for k, v in properties.items() if v is not None},
    )  # fmt: skip


def by_calcium(waters, row):
    same = [w for w in waters if w.date == row["date"] and w.mg_l.get("ca")]
    return next((w for w in same if abs(w.mg_l["ca"] - float(row["Ca"])) < 0.01), None)


def by_site_and_date(waters, row):
    return next((w for w in waters if w.sample == f"{row['site']} {row['date']}"), None)


def by_row(waters, row):
    line = int(row["id"].removeprefix("KWALE-")) + 2
    return next((w for w in waters if w.sample == f"row {line}"), None)


@pytest.mark.parametrize(
    ("source", "name", "find"),
    [
        ("wqp_epatada_wells", "wqp_legacy_wells.csv", by_calcium),
        ("manager_gw_example", "manager_gw_example_long.csv", by_site_and_date),
        ("kwale_kenya", "kwale_water_samples.csv", by_row),
    ],
)
def test_raw_delivery(source, name, find):
    waters = read_samples(Path(FOLDER) / "raw" / name)
    rows = tidy(source)
    assert rows
    for row in rows:
        water = find(waters, row)
        assert water is not None, row["id"]
        for ion in IONS:
            if row[ion]:
                found = water.mg_l.get(ion.lower())
                assert found == pytest.approx(float(row[ion]), rel=TOLERANCE), (row["id"], ion)
        assert water.ph == number(row["pH"])
        if row["HCO3_mg_L"]:
            assert water.mg_l["hco3"] == pytest.approx(float(row["HCO3_mg_L"]), rel=TOLERANCE)


def test_units_that_the_coastal_wells_leave_out_are_told():
    flags = read_samples(Path(FOLDER) / "raw" / "kwale_water_samples.csv")[0].flags
    assert sum(flag.code == "inferred_unit" for flag in flags) == 2
    assert any(flag.code == "filler_value" and "0.7999" in flag.text for flag in flags)


def test_few_sound_waters_are_warned_of():
    """Warnings on fewer than 5 % of the waters that the table marks as clean, per source too."""
    clean = [row for row in tidy() if not row["qc"]]
    warned = {}
    for row in clean:
        flags = judge(water_of(row)).flags
        warned.setdefault(row["source"], []).append(any(f.level == "warning" for f in flags))
    for source, marks in warned.items():
        assert sum(marks) < 0.05 * len(marks), source


# Named in the notes to the table: what is wrong with each water.
KNOWN_ERRORS = {
    "OHIO-27815": "sodium 773",
    "OHIO-117274": "alkalinity 775",
    "OHIO-117304": "alkalinity 580",
    "OHIO-52151": "sulfate 929",
    "INL-20257": "conductivity 1.88",
}


@pytest.mark.parametrize("name", sorted(KNOWN_ERRORS))
def test_known_error_is_flagged_with_its_culprit(name):
    row = next(row for row in tidy() if row["id"] == name)
    judged = judge(water_of(row))
    assert any(flag.level == "warning" for flag in judged.flags)
    assert judged.culprits[0].startswith(KNOWN_ERRORS[name])
