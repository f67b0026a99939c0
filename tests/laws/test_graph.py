"""The graph of a study: units of what goes in, and figures that follow a change."""

from pathlib import Path

import numpy as np
import pytest

from pretreat.core.errors import PretreatError
from pretreat.core.law import Applied
from pretreat.core.names import unit_of
from pretreat.core.results import from_json, to_json
from pretreat.public import rate, size

SITES = Path(__file__).parents[2] / "water_analyses"
HOURS = "machine.hours_per_day"


@pytest.fixture(scope="module")
def installed():
    return rate(SITES / "quarrow_vale_installed.toml")


@pytest.fixture(scope="module", params=["quarrow_vale", "drover_flat", "ashfell_ridge"])
def study(request):
    return size(SITES / f"{request.param}.toml")


def _taken(node):
    for name, argument in node.arguments.items():
        for key in argument if isinstance(argument, tuple | list) else (argument,):
            if isinstance(key, str):
                yield name, key


def test_units_of_arguments_are_those_of_the_figures(study):
    """An argument named ..._kg takes a figure in kg: no factor of a thousand in between."""
    wrong = []
    for key, node in study.graph.nodes.items():
        if not isinstance(node, Applied):
            continue
        for name, taken in _taken(node):
            unit = unit_of(name)
            if unit is not None and study[taken].unit != unit:
                wrong.append(f"{key}: {name} [{unit}] takes {taken} [{study[taken].unit}]")
        own = unit_of(node.law.function.__name__)
        if own is not None and study[key].unit != own:
            wrong.append(f"{key} [{study[key].unit}]: {node.law.name} [{own}]")
    assert not wrong, "\n".join(wrong)


def test_every_calculated_figure_says_what_it_rests_on(study):
    loose = [k for k, f in study.figures.items()
             if f.origin == "calculated" and k not in study.graph.nodes]  # fmt: skip
    assert not loose


def test_every_formula_is_a_law(study):
    typed = [k for k, f in study.figures.items()
             if f.formula and not isinstance(study.graph.nodes.get(k), Applied)]  # fmt: skip
    assert not typed


def test_nothing_changed_moves_nothing(study):
    value = study.number(HOURS)
    after = study.again({HOURS: value})
    moved = [
        k for k in study.figures
        if "stale" not in after[k].flags and study[k].value != after[k].value
        and not (isinstance(study[k].value, float)
                 and after[k].value == pytest.approx(study[k].value, rel=1e-12))
    ]  # fmt: skip
    assert not moved


def test_a_change_gives_what_a_new_run_gives_or_is_stale(installed):
    design_of = __import__("pretreat").read_site
    design = design_of(SITES / "quarrow_vale_installed.toml")
    fresh = rate(design.change("machine", hours_per_day=8.0))
    after = installed.again({HOURS: 8})
    compared = 0
    for key, figure in after.figures.items():
        if "stale" in figure.flags or key not in fresh.figures:
            assert "stale" not in figure.flags or figure.value is None
            continue
        if isinstance(figure.value, float):
            compared += 1
            assert figure.value == pytest.approx(fresh.number(key), rel=1e-9), key
    assert compared > 300
    assert after.number("softener.interval_d") != installed.number("softener.interval_d")


def test_arrays_give_every_element_its_own_run(installed):
    hours = np.array([6.0, 8.0, 11.0])
    many = installed.again({HOURS: hours})
    for i, one in enumerate(hours):
        single = installed.again({HOURS: float(one)})
        for key in ("softener.interval_d", "softener.programme_days", "iron_filter.interval_d",
                    "water_balance.raw_m3_d", "softener.salt_kg_per_year"):  # fmt: skip
            assert many[key].value[i] == pytest.approx(single.number(key), rel=1e-12), key


def test_a_mistyped_key_names_its_neighbours(installed):
    with pytest.raises(PretreatError, match=r"softener\.interval_d"):
        installed["softener.intervall_d"]
    with pytest.raises(KeyError):
        installed.again({"machine.hours": 8})


def test_a_document_has_no_graph_and_keeps_the_worked_lines(installed):
    again = from_json(to_json(installed))
    key = "softener.interval_d"
    assert again.worked(key) == installed.worked(key)
    assert again.worked(key).startswith("interval = ")
    with pytest.raises(PretreatError, match="no graph"):
        again.again({HOURS: 8})


def test_a_study_is_short_to_look_at_and_can_be_searched(installed):
    assert len(repr(installed).splitlines()) <= 8
    assert "softener.interval_d" in installed.find("interval")


@pytest.mark.parametrize("key", ["iron_filter.ph", "iron_filter.co2_mg_l"])
def test_what_is_speciated_rests_on_every_ion(installed, key):
    """Calcium binds bicarbonate: pH and carbon dioxide move with it, and are stale without a run."""
    assert {"water.ca_mg_l", "water.so4_mg_l", "water.operating_temperature_c"} <= set(
        installed[key].inputs
    )


IRON_WELL = """analyte,value,unit
pH,6.5,
Temperature,12,C
Alkalinity,90,mg/L as CaCO3
Calcium,40,mg/L
Magnesium,8,mg/L
Sodium,20,mg/L
Chloride,35,mg/L
Sulfate,30,mg/L
Silica,14,mg/L
Iron,2,mg/L
Manganese,0.2,mg/L
"""
FED = """[water]
analysis = "well.csv"
operating_temperature_c = 12
[machine]
product_flow = "1 m3/h"
recovery = 0.6
hours_per_day = 10
[train]
stages = ["{stage}", "iron_filter", "cartridge"]
[{stage}]
{told}
"""


@pytest.mark.parametrize(
    ("stage", "told", "change"),
    [
        ("alkali", "target_ph = 7.4", {"alkali.target_ph": 7.6}),
        ("acid", 'dose = "10 mg/L"', {"acid.dose_mg_l": 20.0}),
    ],
)
def test_what_a_stage_does_to_the_ph_is_felt_behind_it(tmp_path, stage, told, change):
    """No pH behind it, and no limit at the membranes, stays silently old."""
    (tmp_path / "well.csv").write_text(IRON_WELL, encoding="utf-8")
    (tmp_path / "site.toml").write_text(FED.format(stage=stage, told=told), encoding="utf-8")
    again = size(tmp_path / "site.toml", draws=0).again(change)
    for key in (f"{stage}.ph", "iron_filter.ph", "concentrate.ph", "recovery.max"):
        assert again.figures[key].value is None, key
