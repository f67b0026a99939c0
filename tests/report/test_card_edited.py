"""An input edited in the workbook gives the card that a new run gives, every number of it.

The other side of each comparison is the program run anew with the same change; the numbers
themselves are checked by hand in tests/sizing/test_one_valve.py and test_valve_settings.py.
"""

import io
import shutil
from pathlib import Path

import openpyxl
import pytest
from msgspec.structs import replace

from pretreat.lab import read_analysis
from pretreat.report import workbook_bytes, write_workbook
from pretreat.report.hand.card_lines import blocks
from pretreat.report.hand.settings_card import CHANGED_CARD, NAME
from pretreat.report.workbook.pages import arrange
from pretreat.stages.site import read_site
from pretreat.study import run_study

SITE = Path(__file__).parents[2] / "water_analyses" / "quarrow_vale_installed.toml"
SLOT, VALUES = 8, (3, 4)  # columns of a stage, and where a value stands: a flow, a timer
EDITS = {
    "hours": ({"machine.hours_per_day": 9.0}, ("machine", {"hours_per_day": 9.0})),
    "hardness": ({"water.ca_mg_l": 60.0}, ("water", {"ca": 60.0})),
    "resin": ({"softener.resin_filled_l": 170.0}, ("softener", {"resin_volume_l": 170.0})),
    "vessels": (
        {"softener.vessels_in_service": 2.0, "softener.vessels_side_by_side": 2.0},
        ("softener", {"vessels": 2, "arrangement": "parallel"}),
    ),
    "dose": ({"softener.salt_dose_g_l": 128.1}, ("softener", {"salt_dose_g_l": 128.1})),
    "refill": ({"softener.refill_flow_l_min": 3.2}, ("softener", {"refill_flow_l_min": 3.2})),
}


def site():
    design = read_site(SITE).change("softener", refill_flow_l_min=7.6)
    return design, read_analysis(design.water.analysis)


def on_card(sheet):
    """What stands beside each label, by slot; a label that comes again is counted."""
    found = {}
    for row in sheet.iter_rows(max_col=24):
        for start in (0, SLOT, 2 * SLOT):
            label, beside = row[start].value, (row[start + at].value for at in VALUES)
            value = next((each for each in beside if each is not None), None)
            if isinstance(label, str) and "Set to" not in str(value):
                seen = sum(1 for name, _ in found if name == label)
                found[label, seen] = value
    return found


def of_the_run(study):
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(study)), data_only=True)
    return on_card(book[NAME])


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
@pytest.mark.parametrize(
    "part", [0, *(pytest.param(n, marks=pytest.mark.thorough) for n in (1, 2))]
)
def test_six_edits_give_the_card_of_a_new_run(tmp_path, ci_script, part):
    """Every third edit each time, the others with the thorough run."""
    edits = dict(list(EDITS.items())[part::3])
    design, water = site()
    study = run_study(water, design, "rate", draws=0)
    places = arrange(study).places
    path = write_workbook(study, tmp_path / "x.xlsx")
    jobs = {
        name: {(places[k].sheet, f"C{places[k].row + 1}"): v for k, v in cells.items()}
        for name, (cells, _) in edits.items()
    }
    books = ci_script("check_workbook").recalculated_each(path, tmp_path, jobs)
    differences = []
    for name, (_, (section, change)) in edits.items():
        if section == "water":
            other = run_study(
                replace(water, mg_l={**water.mg_l, **change}), design, "rate", draws=0
            )
        else:
            other = run_study(water, design.change(section, **change), "rate", draws=0)
        card = books[name][NAME]
        shown, want = on_card(card), of_the_run(other)
        words = " ".join(str(c.value) for row in card.iter_rows() for c in row if c.value)
        assert CHANGED_CARD in words
        lines = {line.words for block in blocks(other, us=False) for line in block.lines}
        numbers = {k: v for k, v in want.items() if isinstance(v, int | float) and k[0] in lines}
        assert len(numbers) >= 20  # of a valve by the clock: no meter
        differences += [
            (name, key, shown.get(key), value)
            for key, value in numbers.items()
            if shown.get(key) != pytest.approx(value, rel=1e-9)
        ]
    assert not differences


def test_card_sheet_and_json_agree_to_the_digit():
    design, water = site()
    study = run_study(water, design, "rate", draws=0)
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(study)), data_only=True)
    places = arrange(study).places
    card = on_card(book[NAME])
    for block in blocks(study, us=False):
        for line in block.lines:
            value = study.value(line.key)
            if not isinstance(value, float):
                continue
            place = places[line.key]
            cell = book[place.sheet].cell(place.row + 1, place.column + 1).value
            assert cell == value
            beside = [v for (words, _), v in card.items() if words == line.words]
            assert value in beside
