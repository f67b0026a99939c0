"""Warnings: one line a cause, what decides first, no news of a raw water that is dealt with."""

import json
from collections import Counter

import pytest
from typer.testing import CliRunner

from pretreat.cli import _register, app

_register()

KIT = """
[water]
hardness = "24 gpg"
iron = "0.02 mg/L"
manganese = "0.01 mg/L"
ph = 7.6
[machine]
product_flow = "0.5 m3/h"
recovery = 0.5
hours_per_day = 10
[softener]
resin_volume = "100 L"
vessel_diameter = "0.35 m"
salt_dose_g_l = 160
"""
HARD = """Parameter,Result,Unit
pH (field),7.5,
Temperature,12,°C
Alkalinity as CaCO3,310,mg/L
Calcium,120,mg/L
Magnesium,30,mg/L
Sodium,40,mg/L
Potassium,3,mg/L
Chloride,45,mg/L
Sulfate,90,mg/L
Nitrate,6,mg/L
Silica,14,mg/L
Barium,0.05,mg/L
Strontium,0.6,mg/L
Fluoride,0.3,mg/L
Iron,0.02,mg/L
Manganese,0.01,mg/L
"""
PLANT = """
[water]
analysis = "report.csv"
[machine]
product_flow = "0.5 m3/h"
recovery = 0.5
hours_per_day = 10
"""


def run(folder, site, *words, report=HARD):
    (folder / "report.csv").write_text(report)
    (folder / "site.toml").write_text(site)
    command = "rate" if "resin_volume" in site else "size"
    result = CliRunner().invoke(app, [command, str(folder / "site.toml"), *words])
    assert result.exit_code == 0, result.output
    return result.stdout


def study(folder, site, **more):
    return json.loads(run(folder, site, "--json", **more))


def loud(found):
    return [f for f in found["flags"] if f["level"] != "info" and "safety" not in f["code"]]


def test_a_test_kit_raises_one_line_for_what_cannot_be_computed(tmp_path):
    found = study(tmp_path, KIT)
    assert Counter(f["code"] for f in loud(found))["not_computable"] == 1
    (line,) = [f for f in loud(found) if f["code"] == "not_computable"]
    for word in ("for want of", "barium", "alkalinity", "more"):
        assert word in line["text"]
    assert len(loud(found)) <= 12
    # The figures themselves keep the mark.
    assert found["figures"]["scaling.si_barite"]["flags"] == ["not_computable"]


def test_what_the_lab_is_asked_for_stands_on_one_line(tmp_path):
    asked = [f for f in loud(study(tmp_path, KIT)) if f["text"].startswith("ask the lab")]
    assert len(asked) == 1
    assert all(w in asked[0]["text"] for w in ("sodium", "sulfate", "silica", "alkalinity"))


def test_one_unjudged_line_names_every_scale(tmp_path):
    found = study(tmp_path, KIT)
    lines = [f for f in found["flags"] if f["code"] == "unjudged_scale"]
    assert len(lines) == 1
    assert all(w in lines[0]["text"] for w in ("calcium carbonate", "silica", "barite"))


def test_a_raw_water_over_a_limit_is_no_news_where_a_softener_takes_it(tmp_path):
    found = study(tmp_path, PLANT)
    over = [f for f in found["flags"] if f["code"] == "supersaturated_feed"]
    assert {(f["level"], f["figure"]) for f in over} == {("info", "untreated.recovery.max")}


def test_it_is_news_where_nothing_takes_it(tmp_path):
    found = study(tmp_path, PLANT + '[train]\nstages = ["cartridge"]\n')
    over = [f for f in loud(found) if f["code"] == "supersaturated_feed"]
    assert [f["figure"] for f in over] == ["recovery.max"]


def test_the_gravest_comes_first(tmp_path):
    site = PLANT.replace("[machine]", "chlorine = '1 mg/L'\n[machine]")
    found = study(tmp_path, site + '[train]\nstages = ["softener", "cartridge"]\n')
    assert found["flags"][0]["code"] == "unsafe_train"


@pytest.mark.parametrize("site", [KIT, PLANT])
def test_no_line_is_told_twice_on_the_terminal(tmp_path, site):
    text = run(tmp_path, site, "-o", str(tmp_path / "x.xlsx"))
    mind = " ".join(text.partition("Points to note")[2].partition("Safety")[0].split())
    lines = mind.replace("warning ", "\n").replace("caution ", "\n").split("\n")
    assert len(lines) == len(set(lines))
    assert mind.count("could not be judged because") <= 1


def test_an_unsafe_train_does_not_fit(tmp_path):
    site = PLANT.replace("[machine]", "chlorine = '1 mg/L'\n[machine]")
    found = study(tmp_path, site + '[train]\nstages = ["softener", "cartridge"]\n')
    assert found["figures"]["verdict.answer"]["value"] == "does not fit"
    assert "chlorine" in found["figures"]["verdict.reasons"]["value"]
    assert found["figures"]["verdict.card_recovery"]["value"] is None
