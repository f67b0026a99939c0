"""What is set on a valve is for that valve: hand calculations for every arrangement.

The hand's numbers: 150 L of resin at 96 g/L of salt hold 45.8 g CaCO3/L (the ladder of the
trade, 20 kgr/ft3 at 6 lb/ft3); a fifth is kept back, lead and lag keep nothing back. The meter
setting of one valve is volume x capacity x (1 - reserve) / hardness.
"""

import pytest

from pretreat.core.errors import DesignError

RESIN_L, DOSE_G_L = 150.0, 96.1
INSTALLED = {"resin_volume_l": RESIN_L, "vessel_diameter_m": 0.41, "salt_dose_g_l": DOSE_G_L}
# arrangement, vessels: side by side, in service, standing by
CASES = {
    ("single", 1): (1, 1, 0),
    ("parallel", 2): (2, 2, 0),
    ("parallel", 3): (3, 3, 0),
    ("duty-standby", 2): (1, 1, 1),
    ("duty-standby", 3): (2, 2, 1),
    ("lead-lag", 2): (1, 2, 0),
    ("simplex", 1): (1, 1, 0),
    ("duplex", 2): (1, 1, 1),
}


@pytest.mark.parametrize(("case", "stands"), CASES.items())
@pytest.mark.parametrize("mode", ["rate", "size"])
def test_every_arrangement_by_the_hand(study_of, design_of, well, case, stands, mode):
    arrangement, vessels = case
    side_by_side, in_service, standby = stands
    table = {"vessels": vessels, "arrangement": arrangement, "salt_dose_g_l": DOSE_G_L}
    if mode == "rate":
        table |= INSTALLED
    study, _ = study_of(well, design_of(softener=table), mode)

    def number(name):
        return study.number(f"softener.{name}")

    assert number("vessels_in_service") == in_service
    assert number("vessels_standby") == standby
    litres = RESIN_L if mode == "rate" else number("resin_filled_l")
    reserve = 0.0 if arrangement == "lead-lag" else 0.2
    held_g = litres * number("capacity_g_caco3_l") * (1.0 - reserve)
    meter = held_g / number("hardness_load_mg_l_caco3")
    assert number("meter_setting_m3") == pytest.approx(meter)
    feed = study.number("machine.feed_m3_d")
    assert number("interval_d") == pytest.approx(side_by_side * meter / feed)
    salt = litres * DOSE_G_L / 1000.0
    assert number("salt_kg_per_regeneration") == pytest.approx(salt)
    assert number("refill_l") == pytest.approx(salt / 0.358, rel=2e-3)
    year = number("regenerations_per_year")
    if year is not None:
        assert number("salt_kg_per_year") == pytest.approx(year * salt * side_by_side)
    assert number("resin_bought_l") == pytest.approx(litres * vessels)
    rows = {row[0]: row for row in study.series["softener.settings"].rows}
    assert {"backwash", "brine", "slow rinse", "fast rinse", "refill"} <= set(rows)
    assert rows["refill"][4] == pytest.approx(salt / 0.358, rel=2e-3)
    assert rows["slow rinse"][4] == pytest.approx(2.0 * litres)
    assert rows["fast rinse"][4] == pytest.approx(5.0 * litres)


def test_two_in_parallel_pass_the_flow_of_both_while_one_regenerates(study_of, design_of, well):
    table = {**INSTALLED, "vessels": 2, "arrangement": "parallel"}
    study, _ = study_of(well, design_of(softener=table), "rate")
    alone = study.number("softener.velocity_meanwhile_m_h")
    assert alone == pytest.approx(2.0 * study.number("softener.velocity_m_h"))


@pytest.mark.parametrize(
    ("arrangement", "vessels"), [("single", 2), ("lead-lag", 3), ("duty-standby", 1)]
)
def test_a_number_that_contradicts_the_arrangement_is_refused(
    study_of, design_of, well, arrangement, vessels
):
    table = {**INSTALLED, "vessels": vessels, "arrangement": arrangement}
    with pytest.raises(DesignError, match=r"\[softener\] vessels"):
        study_of(well, design_of(softener=table), "rate")


@pytest.mark.parametrize(
    ("arrangement", "vessels", "side_by_side"),
    [("single", 1, 1), ("parallel", 2, 2), ("parallel", 3, 3), ("duty-standby", 2, 1)],
)
def test_filters_with_several_vessels_by_the_hand(
    study_of, design_of, well, arrangement, vessels, side_by_side
):
    """Hand: area pi/4 d2 of one vessel, flow shared by those side by side, 2 g/L of permanganate."""
    how = {"vessels": vessels, "arrangement": arrangement}
    iron = {"vessel_diameter_m": 0.61, "media_depth_m": 0.75, **how}
    carbon = {"vessel_diameter_m": 0.5, "media_volume_l": 150.0, **how}
    study, _ = study_of(
        well, design_of(iron_filter=iron, carbon=carbon, softener=INSTALLED), "rate"
    )
    feed = study.number("machine.feed_flow_m3_h")
    for stage, diameter in (("iron_filter", 0.61), ("carbon", 0.5)):
        area = 3.141592653589793 / 4 * diameter**2
        assert study.number(f"{stage}.area_m2") == pytest.approx(area)
        each = feed / side_by_side
        assert study.number(f"{stage}.flow_each_m3_h") == pytest.approx(each)
        assert study.number(f"{stage}.velocity_m_h") == pytest.approx(each / area)
        assert study.number(f"{stage}.vessels") == vessels
    litres = 3.141592653589793 / 4 * 0.61**2 * 0.75 * 1000
    assert study.number("iron_filter.media_volume_l") == pytest.approx(litres)
    grams = study.number("iron_filter.permanganate_g_per_regeneration")
    assert grams == pytest.approx(2.0 * litres)
    assert study.number("iron_filter.media_bought_l") == pytest.approx(litres * vessels)
    assert study.number("carbon.media_bought_l") == pytest.approx(150.0 * vessels)
    assert study.number("carbon.ebct_min") == pytest.approx(150.0 * side_by_side / feed * 0.06)
    rinse = study.number("iron_filter.rinse_min")
    tall = study.number("iron_filter.vessel_height_m") * study.number("iron_filter.area_m2")
    through = rinse / 60.0 * feed / side_by_side
    assert through >= 0.999 * max(3.0 * litres / 1000.0, tall)  # no pink water left in the vessel
    assert rinse >= 20.0
