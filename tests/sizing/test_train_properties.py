"""Laws that hold for every plant, and every formula against its value."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from pretreat.core.results import Ledger, Study
from pretreat.plant.machine import enter_machine
from pretreat.plant.train import enter_train
from pretreat.stages.bed.programme import SETTINGS, calendar_setting_d, settings_per_week
from pretreat.stages.site import design_from
from pretreat.stages.stream import RawWater

factor = st.floats(1.05, 3.0)
EXAMPLES = 15
RATED = {
    "softener": {"resin_volume_l": 200.0, "vessel_diameter_m": 0.61, "salt_dose_g_l": 120.0},
    "iron_filter": {"vessel_diameter_m": 0.76, "media_depth_m": 0.76},
    "carbon": {"media_volume_l": 140.0, "vessel_diameter_m": 0.46},
}
MACHINE = {"product_flow_m3_h": 1.2, "recovery": 0.65, "hours_per_day": 7.0, "days_per_year": 330}
WATER = {"ca": 90.0, "mg": 25.0, "na": 60.0, "fe": 0.6, "mn": 0.1, "cl": 50.0}


def rated(water: dict[str, float] | None = None, **changes: dict[str, object]) -> Study:
    from pathlib import Path

    tables = {name: {**table, **changes.get(name, {})} for name, table in RATED.items()}
    tables["machine"] = {**MACHINE, **changes.get("machine", {})}
    tables["water"] = {"analysis": "x.csv"}
    raw = RawWater({**WATER, **(water or {})}, ph=7.3)
    ledger = Ledger()
    design = design_from(tables, Path())
    enter_machine(ledger, design)
    enter_train(ledger, raw, design, "rate")
    return ledger.study()


def intervals(study: Study) -> tuple[float, float]:
    found = study.number("softener.interval_d"), study.number("iron_filter.interval_d")
    assert found[0] is not None
    assert found[1] is not None
    return found[0], found[1]


@settings(max_examples=EXAMPLES, deadline=None)
@given(factor)
def test_more_hardness_or_iron_never_lengthens_an_interval(more):
    base = intervals(rated())
    harder = intervals(rated({"ca": 90.0 * more}))
    irony = intervals(rated({"fe": 0.6 * more}))
    assert harder[0] < base[0]
    assert harder[1] == base[1]
    assert irony[1] < base[1]
    assert irony[0] <= base[0]


@settings(max_examples=EXAMPLES, deadline=None)
@given(st.sampled_from(["product_flow_m3_h", "hours_per_day"]), factor)
def test_more_flow_or_hours_never_lengthens_an_interval(name, more):
    base = intervals(rated())
    changed = intervals(rated(machine={name: MACHINE[name] * more}))
    assert changed[0] < base[0]
    assert changed[1] < base[1]


@settings(max_examples=EXAMPLES, deadline=None)
@given(st.floats(0.0, 3000.0))
def test_more_sodium_never_lengthens_an_interval_and_leaks_more(sodium):
    base, saline = rated(), rated({"na": 60.0 + sodium})
    assert intervals(saline) == intervals(base)
    leak = [s.number("softener.leakage_mg_l_caco3") for s in (base, saline)]
    assert leak[1] >= leak[0] > 0
    assert leak[1] <= saline.number("softener.hardness_in_mg_l_caco3")


@settings(max_examples=EXAMPLES, deadline=None)
@given(st.floats(50.0, 400.0))
def test_doubling_the_vessel_doubles_the_interval(volume):
    single = rated(softener={"resin_volume_l": volume})
    double = rated(softener={"resin_volume_l": 2.0 * volume, "vessel_diameter_m": 0.61 * 2**0.5})
    assert intervals(double)[0] == pytest.approx(2.0 * intervals(single)[0], rel=1e-12)
    wide = rated(iron_filter={"vessel_diameter_m": 0.76 * 2**0.5})
    assert intervals(wide)[1] == pytest.approx(2.0 * intervals(rated())[1], rel=1e-12)


@given(st.floats(0.01, 30.0), st.floats(0.5, 24.0), st.sampled_from([3.0, 7.0]))
def test_a_setting_never_exceeds_the_interval(interval, hours, longest):
    setting = calendar_setting_d(interval, hours, longest)
    if setting is None:
        assert interval < 1.0
        return
    assert setting <= min(interval, longest)
    longer = [gap for gap, _ in SETTINGS if setting < gap <= min(interval, longest)]
    assert not longer
    if setting == 0.5:
        assert interval * hours >= min(12.0, hours) * (1 - 1e-12)


@pytest.mark.parametrize(
    ("interval", "hours", "expected"),
    [
        (0.49, 24.0, None), (0.5, 24.0, 0.5), (0.59, 20.0, None), (0.61, 20.0, 0.5),
        (0.99, 8.0, None), (1.0, 8.0, 1.0), (3.5, 24.0, 3.0), (3.99, 24.0, 3.0),
        (4.0, 24.0, 4.0), (6.9, 24.0, 4.0), (7.0, 24.0, 7.0), (99.0, 24.0, 7.0),
    ],
)  # fmt: skip
def test_settings_of_a_calendar_timer(interval, hours, expected):
    """Twice a week on fixed weekdays leaves a gap of 3 + 4 days: the longer one counts."""
    assert calendar_setting_d(interval, hours) == expected


def test_iron_shortens_the_longest_setting():
    assert calendar_setting_d(7.0, 24.0, 3.0) == 3.0


def test_settings_per_week():
    found = {gap: settings_per_week(gap) for gap, _ in SETTINGS}
    assert found == {0.5: 14.0, 1.0: 7.0, 2.0: 3.5, 3.0: 7.0 / 3.0, 4.0: 2.0, 7.0: 1.0}


SITES = {
    "sized": ({}, "size"),
    "rated": (RATED, "rate"),
    "too small": ({**RATED, "softener": {"resin_volume_l": 40.0, "salt_dose_g_l": 96.0}}, "rate"),
    "refill": (
        {"softener": {"resin_volume_l": 140.0, "refill_minutes": 9, "refill_flow_l_min": 6.0}},
        "rate",
    ),
    "continuous": ({"iron_filter": {"regeneration": "continuous", "oxidant": "chlorine"}}, "size"),
    "metered duplex": ({"softener": {"control": "meter", "arrangement": "duplex"}}, "size"),
    "derated": ({"softener": {"derate_for_sodium": True, "iron_allowance_gpg": 2}}, "size"),
    "counter": ({"softener": {"direction": "counter-current", "salt_dose_g_l": 85}}, "size"),
    "chlorinated": ({"carbon": {"free_chlorine_mg_l": 1.0}}, "size"),
    "chloramine": ({"carbon": {"chloramine_mg_l": 2.0}}, "size"),
    "no filter": ({"iron_filter": {"include": False}}, "size"),
    "leak given": ({"softener": {"leakage_mg_l_caco3": 3.0}}, "size"),
    "vented": ({"supply": {"vented_raw_tank": True, "raw_tank_volume": "4 m3"}}, "size"),
    "well known": ({"supply": {"pump_flow": "4 m3/h", "well_yield": "2 m3/h", "demand": "9 m3/d",
                               "product_tank_volume": "0.5 m3"}}, "size"),
}  # fmt: skip


@pytest.mark.parametrize("name", SITES)
def test_every_formula_gives_its_figure(study_of, design_of, well, evaluate, name):
    tables, mode = SITES[name]
    water = replace(well, mg_l={**well.mg_l, "fe": 0.4}, total_mg_l={"fe": 0.5}, h2s_mg_l=0.2)
    if name == "no filter":
        water = replace(well, mg_l={**well.mg_l, "fe": 0.4}, total_mg_l={})
    study, _ = study_of(water, design_of(**tables), mode)
    values = {key: figure.value for key, figure in study.figures.items()}
    seen = 0
    for key, figure in study.figures.items():
        if figure.formula is None:
            continue
        seen += 1
        found = evaluate(figure.formula, values)
        if figure.value is None:
            assert found == "", key
        else:
            assert found == pytest.approx(figure.value, rel=1e-9, abs=0.0), key
        assert set(figure.inputs) <= set(values), key
    assert seen > 60


@pytest.mark.parametrize("name", SITES)
def test_every_figure_has_a_label_a_unit_and_known_sources(study_of, design_of, well, name):
    from pretreat.core.tables import sources

    tables, mode = SITES[name]
    water = replace(well, mg_l={**well.mg_l, "fe": 0.4}, total_mg_l={"fe": 0.5})
    study, _ = study_of(water, design_of(**tables), mode)
    for key, figure in study.figures.items():
        assert figure.label, key
        assert figure.unit, key
        assert set(figure.cites) <= set(sources()), key
        if figure.value is None:
            assert any(flag.figure == key for flag in study.flags), key
    for key, series in study.series.items():
        assert all(len(row) == len(series.columns) for row in series.rows), key
        assert len(series.units) == len(series.columns), key
        assert set(series.cites) <= set(sources()), key
    assert all(flag.figure in study.figures for flag in study.flags if flag.figure)


def test_equivalents_are_kept(study_of, design_of, well):
    """Sodium takes the place of hardness, equivalent for equivalent; nothing else changes.

    But for the acid of iron and manganese: with permanganate 5 H+ for 3 Fe and 4 H+ for 3 Mn.
    """
    from pretreat.chemistry.composition import meq_l

    _, treated = study_of(well, design_of())
    keys = ("ca", "mg", "sr", "ba", "na", "k")
    before = sum(meq_l(key, well.mg_l[key]) for key in keys)
    after = sum(meq_l(key, treated.mg_l[key]) for key in keys)
    assert after == pytest.approx(before, rel=1e-12)
    assert treated.mg_l["cl"] == well.mg_l["cl"]
    acid = 50.04 * (5 / 3 * well.mg_l["fe"] / 55.845 + 4 / 3 * well.mg_l["mn"] / 54.938)
    left = well.alkalinity_mg_l_caco3 - acid
    assert treated.alkalinity_mg_l_caco3 == pytest.approx(left, abs=0.01)


def test_water_balance_closes(study_of, design_of, well):
    study, _ = study_of(well, design_of())
    rows = {row[0]: row[1] for row in study.series["water_balance"].rows}
    total = rows.pop("raw water")
    assert sum(rows.values()) == pytest.approx(total, rel=1e-12)
