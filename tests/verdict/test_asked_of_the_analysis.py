"""What an analysis leaves open by its age, origin and gaps is said at the verdict; invented wells.

Two years of age, total metals beside dissolved ones, readings that contradict the ions: common
practice, no source. P x 3.066 is PO4 (stoichiometry).
"""

import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pretreat.cli import app
from pretreat.core.release import RELEASED
from pretreat.lab.interpret.sampling import PrintedSample
from pretreat.lab.interpret.whose_water import origin_flags
from tests.verdict import test_signed_for_drinking as wells

DRUNK = wells.DRUNK + 'jurisdiction = "eu"\n'
SOFT = wells.SITE.replace('"inhibitor", "cartridge"', '"softener", "cartridge"')
ROOT = Path(__file__).parents[2]


def judged(folder, lines, site="", without=()):
    """Return a study of the benign well with lines more and some left out."""
    kept = {k: v for k, v in wells.BASE.items() if k not in without}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(wells, "BASE", kept)
        study = wells.asked(folder, lines, site)
    return study, *wells.told(study)


@pytest.mark.parametrize(
    ("day", "old"), [("2019-06-30", True), ("2024-10-01", True), ("2025-10-01", False)]
)
def test_an_old_analysis_is_a_condition(tmp_path, day, old):
    study, answer, why = judged(tmp_path, {"Sampled": f"{day},"})
    assert (answer == "fits") is not old
    assert (f"the analysis is of {day}, more than 2 years old" in why) is old
    assert wells.value(study, "summary.analysis") == day


def test_the_date_of_the_quote_ages_an_analysis(tmp_path):
    lines = {"Sampled": "2025-10-01,"}
    assert judged(tmp_path, lines, "[quote]\ndate = 2027-09-01\n")[1] == "fits"
    assert judged(tmp_path, lines, "[quote]\ndate = 2028-02-01\n")[1] == "fits with conditions"


def test_the_release_is_that_of_the_citation():
    text = (ROOT / "CITATION.cff").read_text("utf-8")
    found = re.search(r"date-released: (\d+)-(\d+)-(\d+)", text)
    assert found is not None
    assert tuple(int(part) for part in found.groups()) == RELEASED


def test_what_nobody_measured_is_one_line_and_changes_no_verdict(tmp_path):
    left = ("Turbidity", "SDI", "Ammonium", "Hydrogen sulfide")
    study, answer, why = judged(tmp_path, {}, without=left)
    assert answer == judged(tmp_path, {})[1]
    told = wells.value(study, "summary.not_measured")
    for name in (
        "turbidity",
        "silt density index",
        "ammonia",
        "hydrogen sulfide",
        "organic carbon",
    ):
        assert name in told
    assert "E. coli" not in told
    assert "not measured and not judged" not in why
    asked = ["size", str(tmp_path / "site.toml"), "--draws", "0", "-o", str(tmp_path / "site.xlsx")]
    page = CliRunner().invoke(app, asked).stdout
    assert "Not measured and not judged:" in page


def test_where_it_is_drunk_it_is_a_condition(tmp_path):
    _, answer, why = judged(tmp_path, {"Total organic carbon": "1,mg/L"}, DRUNK)
    assert answer == "fits with conditions"
    assert "not measured and not judged: E. coli, nitrite, arsenic, lead, uranium; have" in why
    every = {"Total organic carbon": "1,mg/L", "E. coli": "0,CFU/100 mL", "Nitrite": "<0.02,mg/L"}
    every |= {"Arsenic": "<1,µg/L", "Lead": "<1,µg/L", "Uranium": "<1,µg/L"}
    assert "not measured and not judged" not in judged(tmp_path, every, DRUNK)[2]


@pytest.mark.parametrize("train", [wells.SITE, SOFT])
def test_total_phosphorus_that_may_be_phosphate_asks_for_it(tmp_path, monkeypatch, train):
    monkeypatch.setattr(wells, "SITE", train)
    study, answer, why = judged(tmp_path, {"Total phosphorus": "2.6,mg/L"}, "", ("Phosphate",))
    assert answer != "fits"
    assert "8 mg/L of PO4" in why
    assert wells.value(study, "verdict.measure_next") == "orthophosphate"
    _, _, why = judged(tmp_path, {"Total phosphorus": "0.02,mg/L"}, "", ("Phosphate",))
    assert "orthophosphate" not in why


def test_dissolved_metals_alone_behind_a_cartridge_ask_for_the_total(tmp_path):
    lines = {'"Iron, dissolved"': "<0.02,mg/L", '"Manganese, dissolved"': "<0.01,mg/L"}
    left = ("Iron", "Manganese", "Turbidity", "SDI")
    study, answer, why = judged(tmp_path, lines, "", left)
    assert answer == "fits with conditions"
    assert "iron and manganese the dissolved part alone was measured" in why
    assert wells.value(study, "verdict.measure_next") == "total iron and manganese"
    assert judged(tmp_path, lines, "", left[:3])[1] == "fits"  # the silt density index tells
    total = {'"Iron, total"': "<0.02,mg/L", '"Manganese, total"': "<0.01,mg/L"}
    assert judged(tmp_path, lines | total, "", left)[1] == "fits"


@pytest.mark.parametrize(
    ("title", "raw"),
    [
        ("Kitchen tap, behind the softener", False),
        ("Probe nach Enthärtung", False),
        ("Eau adoucie, local technique", False),
        ("Permeate of the old machine", False),
        ("Raw water, tap before softener", True),
        ("Well 7, pump house", True),
    ],
)
def test_a_heading_that_says_treated_water_is_a_condition(tmp_path, title, raw):
    wells.asked(tmp_path, {}, "")
    report = (tmp_path / "report.csv").read_text("utf-8")
    (tmp_path / "report.csv").write_text(f'"{title}",,\n{report}', encoding="utf-8")
    out = CliRunner().invoke(app, ["size", str(tmp_path / "site.toml"), "--draws", "256", "--json"])
    assert out.exit_code == 0, out.output
    answer, why = wells.told(json.loads(out.stdout))
    assert (answer == "fits") is raw, why
    assert ("that is no raw water" in why) is not raw


def test_a_heading_of_raw_water_outweighs_the_name_of_a_boiler_house():
    sample = PrintedSample("", "", "", "", name="w10 boiler")
    assert origin_flags(sample, ["Invented site"])
    assert not origin_flags(sample, ["Invented site", "Raw water at the wellhead"])
    assert origin_flags(PrintedSample("Kitchen tap", "", "", ""), ["Raw water at the wellhead"])


@pytest.mark.parametrize(("ph", "attacks"), [("6.1,", True), ("6.9,", False)])
def test_water_that_attacks_its_own_piping_is_a_caution(tmp_path, ph, attacks):
    """Below pH 6.5 and hardly buffered (common practice)."""
    acid = {"pH (field)": ph, "Alkalinity as CaCO3": "28,mg/L"}
    study = wells.asked(tmp_path, acid, "")
    told = [f["text"] for f in study["flags"] if f["code"] == "water_attacks"]
    assert bool(told) is attacks


def test_dissolved_solids_below_the_ions_are_a_contradiction(tmp_path):
    kit = '[water]\nhardness = "210 mg/L"\niron = "0.02 mg/L"\nmanganese = "0.01 mg/L"\nph = 7.3\n'
    kit += 'alkalinity = "190 mg/L"\nsilica = "12 mg/L"\ntemperature = "14 C"\ntds = "{tds} mg/L"\n'
    site = '[site]\nname = "Sandpiper cabin (invented)"\n' + kit
    site += '[machine]\nproduct_flow = "0.6 m3/h"\nrecovery = 0.6\nhours_per_day = 10\n'
    told = {}
    for tds in (90, 420):
        (tmp_path / "site.toml").write_text(site.format(tds=tds), encoding="utf-8")
        out = CliRunner().invoke(
            app, ["rate", str(tmp_path / "site.toml"), "--draws", "256", "--json"]
        )
        assert out.exit_code == 0, out.output
        told[tds] = wells.told(json.loads(out.stdout))[1]
    assert "dissolved solids is 90 mg/L and the ions measured alone are" in told[90]
    assert "contradict each other" not in told[420]
