"""What a plant asks for that no figure of it flags, and what its words say: by the command.

Invented wells and plants. Resin is replaced when a quarter of its capacity is lost: UFC
3-240-13FN, 2-2.5.1.4.4. Vessels side by side are exhausted in turn: DAVIS2010, 8-13. Ammonia takes
7.6 mg of chlorine for each mg of nitrogen up to the breakpoint: stoichiometry. About 2 bar for
valves, and the rest: common practice, no source.
"""

import pytest

from tests.verdict.test_equipment import SITE, SOFT, TWIN, answer, value
from tests.verdict.test_lime_ahead import run

from . import test_equipment

__all__ = ["answer"]  # the fixture
STAGES = '["softener", "cartridge"]'


def with_word(said, word):
    return [one for one in said if word in one]


@pytest.mark.parametrize(("left", "told"), [(0.42, True), (0.75, True), (0.9, False)])
def test_worn_resin_is_a_condition(answer, left, told):
    """160 g of salt and 57.2 g of capacity, as the table has it: 2.80 g/g by the bed that is new."""
    verdict, said, study = answer("rate", STAGES, f"{SOFT}capacity_factor = {left}\n")
    found = with_word(said, "replaced when a quarter is lost")
    assert bool(found) is told
    assert (verdict == "fits") is not told, said
    if told:
        salt = value(study, "softener.salt_effective_g_per_g_caco3") or 160.0 / 57.2 / left
        assert f"{salt:.2g} g of salt for a gram of hardness" in found[0]
        assert salt > 160.0 / 57.2 / left - 0.01


def test_a_derated_bed_of_a_new_plant_is_not_worn(answer):
    _, said, _ = answer("size", STAGES, "[softener]\ncapacity_factor = 0.6\n")
    assert not with_word(said, "replaced when a quarter is lost")


@pytest.mark.parametrize(
    ("word", "control", "told"),
    [
        ("parallel", "meter", True),
        ("parallel", "calendar", False),
        ("duty-standby", "meter", False),
    ],
)
def test_metered_valves_side_by_side_are_locked_against_each_other(answer, word, control, told):
    more = TWIN.format(word=word) + f'control = "{control}"\n'
    _, said, _ = answer("rate", STAGES, more)
    found = with_word(said, "lock the valves against each other")
    assert bool(found) is told
    assert not told or "the other serves" in found[0]


FEED = '["chlorine", "iron_filter", "carbon", "inhibitor", "cartridge"]'


@pytest.mark.parametrize(("ammonium", "told"), [(0.9, True), (0.1, False)])
def test_chlorine_fed_to_ammonia_is_a_condition(answer, ammonium, told):
    """0.9 mg/L of ammonium are 0.70 mg/L as N: 5.3 mg/L by the reaction, 15 mg per mg 10.5."""
    _, said, _ = answer("size", FEED, Fe=1.4, Mn=0.01, NH4=ammonium)
    found = with_word(said, "chlorine is fed to a water with")
    assert bool(found) is told
    if told:
        assert "0.7 mg/L of ammonia as N" in found[0]
        assert "5.3 to 10 mg/L" in found[0]
        assert "test total chlorine, not free chlorine alone, behind the carbon" in found[0]


@pytest.mark.parametrize("known", ["pump_flow", "well_yield", ""])
def test_a_pump_that_nobody_named_is_said(answer, monkeypatch, known):
    bare = SITE.replace('pump_flow = "{pump} m3/h"\n', "").replace(
        'pump_pressure = "{bar} bar"\n', ""
    )
    bare = bare.replace('well_yield = "{pump} m3/h"\n', f'{known} = "9 m3/h"\n' if known else "")
    monkeypatch.setattr(test_equipment, "SITE", bare)
    _, said, study = answer("rate", STAGES, SOFT)
    found = [f["text"] for f in study["flags"] if f["code"] == "pump_unknown"]
    assert not with_word(said, "neither pump nor well is named")  # no matter of the water
    assert bool(found) is not bool(known)
    if found:
        wash = value(study, "softener.backwash_flow_m3_h")
        assert f"the backwash of the softener takes {wash:.3g} m3/h" in found[0]
        assert "about 2 bar at its inlet" in found[0]


def test_a_train_that_washes_nothing_asks_for_no_pump(answer, monkeypatch):
    monkeypatch.setattr(
        test_equipment,
        "SITE",
        SITE.replace("[supply]", "[storage]").split("[storage]")[0]
        + "[train]\nstages = {stages}\n{more}\n",
    )
    _, _, study = answer("rate", '["inhibitor", "cartridge"]', "")
    assert not [f for f in study["flags"] if f["code"] == "pump_unknown"]


@pytest.mark.parametrize(("ph", "told"), [(6.4, True), (7.9, False)])
def test_an_acid_product_needs_no_element_to_be_named(answer, ph, told):
    """A tenth of the bicarbonate and all carbon dioxide pass: a pH lower by 1, by hand."""
    more = f'{SOFT}[product]\ntarget = "drinking"\njurisdiction = "eu"\n'
    _, said, _ = answer("rate", STAGES, more, pH=ph)
    found = with_word(said, "the product is not known")
    assert found
    assert ("acid all the same" in found[0]) is told
    if told:
        assert f"about pH {ph - 1:.1f} or less" in found[0]


@pytest.mark.parametrize(
    ("aluminium", "expected"), [(0.02, "fits"), (0.25, "depends"), (0.3, "does not fit")]
)
def test_aluminium_without_a_filter_is_judged_as_iron_is(answer, aluminium, expected):
    verdict, said, _ = answer("rate", STAGES, SOFT, Al=aluminium)
    assert verdict == expected, said


def test_a_raw_tank_that_airs_sulfide_is_named(tmp_path):
    clear = {
        "pH (field)": "7.4,",
        "Calcium": "60,mg/L",
        "Magnesium": "15,mg/L",
        "Iron": "0.01,mg/L",
    }
    clear |= {"Alkalinity as CaCO3": "200,mg/L", "Manganese": "0.004,mg/L", "Chloride": "88,mg/L"}
    clear |= {"Hydrogen sulfide": "0.6,mg/L"}
    site = '[supply]\npump_flow = "9 m3/h"\n'
    sealed = run(tmp_path, clear, site)
    tank = run(tmp_path, clear, f'{site}raw_tank_volume = "4 m3"\n')
    assert sealed["figures"]["verdict.answer"]["value"] != "does not fit"
    why = tank["figures"]["verdict.reasons"]["value"]
    assert tank["figures"]["verdict.answer"]["value"] == "does not fit"
    assert "the raw tank is what it fails by" in why
    assert "[supply]" in why


@pytest.mark.parametrize("left_out", [True, False])
def test_no_bypass_is_told_of_where_the_softener_is_left_out(tmp_path, left_out):
    site = "[softener]\ninclude = false\n" if left_out else ""
    more = {"pH (field)": "7.5,", "Calcium": "70,mg/L", "Magnesium": "14,mg/L", "Iron": "0.02,mg/L"}
    more |= {"Alkalinity as CaCO3": "190,mg/L", "Manganese": "0.005,mg/L", "Chloride": "119,mg/L"}
    study = run(tmp_path, more, site)
    text = str(study["series"]["train.choices"]["rows"]) + str(study["figures"]["choices.why"])
    assert "the train has none" not in text
    assert ("bypass" in text) is not left_out
