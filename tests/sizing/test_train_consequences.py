"""What a train says and does about sulfide, inhibitor, meters, parallel vessels and the well.

Limits of these tests are common practice, no source, where no other is named.
"""

import pytest
from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.errors import OutOfRangeError
from pretreat.core.results import Ledger, Study
from pretreat.plant.notes import note_inhibitor_needed
from pretreat.stages.bed.programme import day_override_d, delayed_setting_m3
from pretreat.stages.oxidation import oxidant_per_mg
from pretreat.stages.softener.salt_figures import usual_refill_flow_gpm, whole_minutes

SOFT = {"resin_volume": "200 L", "salt_dose_g_l": 120, "vessel_diameter": "21 in"}


def flags(study: Study, code: str) -> list[Flag]:
    return [flag for flag in study.flags if flag.code == code]


def rows(study: Study, key: str) -> dict[object, tuple[object, ...]]:
    return {row[0]: row for row in study.series[key].rows}


@pytest.fixture(name="clean")
def clean_well(well):
    """Return the well without iron and manganese."""
    return replace(well, mg_l={**well.mg_l, "fe": 0.0, "mn": 0.0}, total_mg_l={})


@pytest.mark.parametrize(
    ("sulfide", "filtered", "level"),
    [(0.05, "out", None), (2.5, "in", "warning"), (10.0, "out", "warning")],
)
def test_sulfide_asks_for_oxidant_or_for_aeration(
    study_of, design_of, clean, sulfide, filtered, level
):
    study, _ = study_of(replace(clean, h2s_mg_l=sulfide), design_of())
    stages = rows(study, "train.stages")
    assert stages["iron filter"][1] == filtered
    assert stages["sulfide removal"][3] == sulfide
    assert [flag.level for flag in flags(study, "sulfide")] == ([level] if level else [])
    check = rows(study, "train.membrane_checks")["hydrogen sulfide"]
    assert (check[4] == "within") == (level is None)
    if sulfide > 5.0:
        assert "aeration" in flags(study, "sulfide")[0].text


def test_sulfide_alone_limits_the_run_by_the_oxidation_capacity(study_of, design_of, clean):
    """0.33 g/L (2 000 to 3 000 mg/L x gal per ft3, from memory): by hand V 0.33 / (Q H2S)."""
    study, _ = study_of(replace(clean, h2s_mg_l=2.0), design_of())
    litres = study.number("iron_filter.media_volume_l")
    feed = 1.6 / 0.65
    assert study.number("iron_filter.oxidation_run_h") == pytest.approx(
        litres * 0.33 / (feed * 2.0)
    )
    assert study.number("iron_filter.solids_load_mg_l") == pytest.approx(
        2.0 * 32.06 / 34.08, rel=1e-3
    )
    assert study.value("iron_filter.limited_by") == "oxidation capacity"


def test_an_inhibitor_is_a_stage_with_its_dose(study_of, design_of, clean):
    """2 to 5 mg/L of feed; by hand 1.6/0.65 x 5 = 12.3 g/h, x 20 h x 330 d = 81.2 kg a year."""
    study, treated = study_of(
        clean, design_of(limits={"inhibitor": True}, softener={"include": False})
    )
    assert treated.stages == ("inhibitor dosing", "cartridge filter")
    assert study.number("inhibitor.feed_high_g_h") == pytest.approx(12.31, rel=1e-3)
    assert study.number("inhibitor.high_kg_per_year") == pytest.approx(81.2, rel=1e-3)
    plain, _ = study_of(clean, design_of())
    assert not [key for key in plain.figures if key.startswith("inhibitor.")]


@pytest.mark.parametrize(("chosen", "most", "raised"), [(False, 0.7, True), (True, 0.7, False),
                                                        (False, 0.6, False)])  # fmt: skip
def test_a_recovery_that_needs_an_inhibitor_is_a_warning(design_of, chosen, most, raised):
    ledger = Ledger()
    ledger.put("recovery.max", 0.3, "-", "recovery")
    ledger.put("recovery.max_inhibited", most, "-", "recovery")
    note_inhibitor_needed(ledger, design_of(limits={"inhibitor": chosen}))
    assert bool(flags(ledger.study(), "inhibitor_needed")) == raised


def test_salt_is_held_against_an_inhibitor(design_of, clean):
    """The softener's stage and a caution say so where an inhibitor alone reaches 65 %."""
    from pretreat.plant.machine import enter_machine
    from pretreat.plant.train import enter_train

    hard = replace(clean, mg_l={**clean.mg_l, "ca": 300.0})
    for most, raised in ((0.7, True), (0.6, False)):
        ledger = Ledger()
        enter_machine(ledger, design_of())
        for key, value in (("max", 0.2), ("max_inhibited", most)):
            ledger.put(f"untreated.recovery.{key}", value, "-", "recovery")
        enter_train(ledger, hard, design_of())
        study = ledger.study()
        assert bool(flags(study, "inhibitor_instead")) == raised
        assert ("inhibitor alone" in rows(study, "train.stages")["softener"][2]) == raised


@pytest.mark.parametrize("oxidant", ["permanganate", "chlorine"])
def test_an_oxidant_without_carbon_is_a_warning(study_of, design_of, well, oxidant):
    table = {"vessel_diameter": "30 in", "media_depth": "0.76 m", "oxidant": oxidant}
    if oxidant == "chlorine":
        table["regeneration"] = "continuous"
    study, _ = study_of(well, design_of(softener=SOFT, iron_filter=table), "rate")
    (flag,) = [f for f in flags(study, "stage_missing") if f.figure == "train.carbon"]
    assert flag.level == "warning"
    assert f"{oxidant} destroys polyamide" in flag.text


def test_manganese_at_a_low_ph_names_what_it_does(study_of, design_of, well):
    """1.822 mg CaCO3 for each mg Mn (equivalents): 0.8 mg/L load the softener with 1.5 more."""
    acid = replace(well, ph=6.8, mg_l={**well.mg_l, "mn": 0.8})
    study, _ = study_of(acid, design_of())
    (flag,) = flags(study, "manganese_ph_low")
    assert flag.level == "warning"
    assert "1.5 mg/L as CaCO3" in flag.text
    assert "pH correction ahead of the filter" in flag.text


def test_a_rating_with_too_much_iron_left_warns(study_of, design_of, well):
    table = {"vessel_diameter": "30 in", "media_depth": "0.76 m", "iron_left": "1.2 mg/L"}
    study, _ = study_of(well, design_of(softener=SOFT, iron_filter=table), "rate")
    (flag,) = flags(study, "iron_over_code")
    assert flag.level == "warning"
    assert "the iron filter ahead leaves too much" in flag.text


def test_vessels_side_by_side_hold_the_machine_for_nothing(study_of, design_of, clean):
    """One regenerates while the others serve: the machine runs, each valve has its own salt."""
    machine = {"product_flow_m3_h": 16.0, "recovery": 0.65, "hours_per_day": 12.0}
    study, _ = study_of(clean, design_of(machine=machine))
    number = study.number("softener.vessels_in_service")
    assert number > 1
    assert study.number("programme.regeneration_h_d") == 0.0
    per_year = study.number("softener.regenerations_per_year")
    assert study.number("softener.salt_kg_per_year") == pytest.approx(
        number * study.number("softener.salt_kg_per_regeneration") * per_year
    )


def test_a_metered_softener_has_no_days_of_its_own(study_of, design_of, clean):
    texts = {}
    for arrangement in ("simplex", "duplex"):
        table = {**SOFT, "control": "meter", "arrangement": arrangement, "reserve": 0.2}
        study, _ = study_of(clean, design_of(softener=table), "rate")
        texts[arrangement] = study.value("softener.programme_in_words")
        assert "programme.week" not in study.series  # 0.5 d: at any hour
        assert not [f for f in flags(study, "no_setting") if f.level == "warning"]
    assert texts["simplex"] == texts["duplex"]
    assert "no fixed days" in texts["simplex"]
    large = {**SOFT, "resin_volume": "800 L", "vessel_diameter": "36 in", "control": "meter"}
    study, _ = study_of(clean, design_of(softener=large), "rate")
    starts = {row[1] for row in study.series["programme.week"].rows}
    assert starts == {"00:00 Softener if its meter asks"}


def test_meter_settings_at_once_and_for_the_night():
    """By hand: 44 m3 clean with a fifth kept back is 35.2 at once, less 30 m3 a day is 14."""
    assert delayed_setting_m3(35.2, 0.2, 30.0) == pytest.approx(14.0)
    assert delayed_setting_m3(35.2, 0.2, 2.0) == 35.2
    assert delayed_setting_m3(35.2, 0.2, 50.0) is None  # a day leaves nothing
    assert [day_override_d(d, iron_present=False) for d in (0.54, 1.59, 20.0)] == [1.0, 2.0, 14.0]
    assert day_override_d(5.0, iron_present=True) == 3.0


def test_a_meter_that_must_not_wait_is_told(study_of, design_of, clean):
    for litres, code in (("100 L", "meter_must_not_wait"), ("800 L", "two_meter_settings")):
        table = {**SOFT, "resin_volume": litres, "vessel_diameter": "36 in", "control": "meter"}
        study, _ = study_of(clean, design_of(softener=table), "rate")
        assert [flag.level for flag in flags(study, code)] == ["caution"]
    delayed = study.number("softener.meter_setting_delayed_m3")
    day = study.number("machine.feed_m3_d")
    assert delayed == pytest.approx(study.number("softener.meter_setting_m3") / 0.8 - day)


def test_the_well_is_held_against_each_step(study_of, design_of, well):
    one = {"iron_filter": {"vessels": 1}}
    study, _ = study_of(well, design_of(supply={"well_yield": "5 m3/h"}, **one))
    (flag,) = flags(study, "well_below_wash")
    assert "backwash of the iron filter" in flag.text
    wash = study.number("iron_filter.backwash_flow_m3_h")
    least = (wash - 5.0) * study.number("iron_filter.backwash_min") / 60.0
    assert study.number("supply.raw_tank_needed_m3") >= least > 0
    stored = {"well_yield": "5 m3/h", "raw_tank_volume": "6 m3"}
    other, _ = study_of(well, design_of(supply=stored))
    assert not flags(other, "well_below_wash")


def test_salt_efficiency_is_that_of_the_programme(study_of, design_of, clean):
    table = {**SOFT, "resin_volume": "560 L", "vessel_diameter": "36 in"}
    study, _ = study_of(clean, design_of(softener=table), "rate")
    salt = study.number("softener.salt_kg_per_year")
    removed = study.number("softener.load_kg_caco3_d") * 330.0
    ratio = study.number("softener.salt_effective_g_per_g_caco3")
    assert ratio == pytest.approx(salt / removed)
    assert ratio > study.number("softener.salt_g_per_g_caco3")


def test_a_derated_interval_says_what_the_timer_does(study_of, design_of, clean):
    saline = replace(clean, mg_l={**clean.mg_l, "na": 1200.0})
    study, _ = study_of(saline, design_of())
    (flag,) = flags(study, "saline_feed")
    assert flag.level == "caution"
    assert f"{study.number('softener.interval_derated_d'):.2f} d" in flag.text
    mild = replace(clean, mg_l={**clean.mg_l, "ca": 100.0, "mg": 15.0, "na": 70.0})
    other, _ = study_of(mild, design_of())
    assert [found.level for found in flags(other, "saline_feed")] == ["info"]


def test_a_bed_no_vessel_holds_is_refused(study_of, design_of, clean):
    table = {**SOFT, "vessel_diameter": "9 mm"}
    with pytest.raises(OutOfRangeError, match=r"bed comes out .* m deep .* vessel_diameter"):
        study_of(clean, design_of(softener=table), "rate")


@pytest.mark.parametrize(
    ("given", "named"),
    [({"refill_minutes": 67, "refill_flow": "9 L/min"}, "(5 to 14 min of refill)"),
     ({"salt_per_regeneration": "4 kg"}, "set 16 to 48.1 kg each time")],
)  # fmt: skip
def test_a_salt_setting_outside_the_table_is_rated_and_told(
    study_of, design_of, clean, given, named
):
    """By hand: 80 to 240.3 g/L in 200 L are 16 to 48.1 kg; 9 L/min dissolve 3.22 kg a minute."""
    table = {"resin_volume": "200 L", "vessel_diameter": "21 in", **given}
    study, _ = study_of(clean, design_of(softener=table), "rate")
    (flag,) = flags(study, "salt_off_table")
    assert named in flag.text
    assert study.number("softener.interval_d") > 0.0


def test_minutes_as_a_technician_keys_them_in():
    assert [whole_minutes(m) for m in (40.03, 21.4, 10.0, 9.999999, 0.1)] == [40, 22, 10, 10, 1]
    assert [usual_refill_flow_gpm(litres) for litres in (40.0, 190.0, 5000.0)] == [0.5, 2.0, 5.0]


def test_chlorine_of_a_year_holds_the_residual(study_of, design_of, well):
    """OPFLOW2021: 0.5 to 1.0 mg/L over the medium; by hand (demand + 1.0) x feed of a year."""
    fed = {"regeneration": "continuous", "oxidant": "chlorine"}
    study, _ = study_of(well, design_of(iron_filter=fed))
    demand = 1.5 * oxidant_per_mg("fe", "chlorine") + 0.2 * oxidant_per_mg("mn", "chlorine")
    water = 1.6 / 0.65 * 20.0 * 330.0
    assert study.number("iron_filter.oxidant_kg_per_year") == pytest.approx(
        (demand + 1.0) * water / 1000.0
    )


def test_permanganate_saved_at_three_times_the_need(study_of, design_of, well):
    study, _ = study_of(well, design_of())
    (flag,) = flags(study, "permanganate_high")
    grams = study.number("iron_filter.permanganate_g_per_regeneration")
    need = study.number("iron_filter.permanganate_needed_g_per_regeneration")
    saved = (grams - 3.0 * need) * study.number("iron_filter.regenerations_per_year") / 1000.0
    assert f"saves {saved:.0f} kg a year" in flag.text
    assert [found.level for found in flags(study, "continuous_feed")] == ["info"]


def test_a_room_that_is_short_is_told_as_room(study_of, design_of, clean):
    """One temperature: no season; a 21 x 62 in vessel has room for 47 % of the 50 % wanted."""
    table = {**SOFT, "resin_volume": "198.2 L"}
    water = replace(clean, coldest_c=16.0, warmest_c=16.0)
    study, _ = study_of(water, design_of(softener=table), "rate")
    (flag,) = flags(study, "backwash_conflict")
    assert flag.level == "info"
    assert "room above the bed is 0.42 m" in flag.text
    assert "season" not in flag.text


def test_hours_that_do_not_fit_are_told_in_minutes(study_of, design_of, clean):
    machine = {"product_flow_m3_h": 1.6, "recovery": 0.65, "hours_per_day": 24.0}
    study, _ = study_of(clean, design_of(machine=machine))
    (flag,) = flags(study, "hours_exceed_day")
    assert "24 h of running leave 0 min a day" in flag.text


def test_refill_minutes_at_a_usual_flow_where_none_is_given(study_of, design_of, clean):
    """24 kg dissolve in 67 L (26.4 % brine): at 1 gpm, 3.785 L/min, by hand 17.7 minutes."""
    study, _ = study_of(clean, design_of(softener=SOFT), "rate")
    settings = rows(study, "softener.settings")
    assert settings["refill"][1] is None
    keyed, exact, flow, litres = settings["or refill, usual flow"][1:]
    assert (keyed, round(exact, 1), round(flow, 3), round(litres)) == (18.0, 17.7, 3.785, 67)
