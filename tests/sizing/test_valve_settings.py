"""Flow controls and minutes by hand; a US gallon is 3.785411784 L by definition.

The series of sizes and whole minutes are common practice, no source.
"""

import pytest

from pretreat.stages.bed.valve_laws import (
    DRAIN_GPM,
    drain_control_alone_gpm,
    drain_control_gpm,
    keyed_min,
    keyed_up_min,
)

GPM_M3_H = 3.785411784 * 60 / 1000


@pytest.mark.parametrize(
    ("wanted", "largest", "size"),
    [(5.28, 9.0, 5.0), (5.0, 9.0, 5.0), (4.99, 9.0, 4.0), (9.0, 5.9, 5.0), (0.5, 9.0, None),
     (500.0, 700.0, 100.0)],
)  # fmt: skip
def test_the_next_smaller_size_never_above_what_keeps_the_medium(wanted, largest, size):
    assert drain_control_gpm(wanted * GPM_M3_H, largest * GPM_M3_H) == size


def test_every_size_is_its_own():
    assert [drain_control_alone_gpm(size * GPM_M3_H) for size in DRAIN_GPM] == list(DRAIN_GPM)


def test_a_rinse_is_never_shortened():
    assert [keyed_up_min(m) for m in (20.0, 20.1, 0.2)] == [20.0, 21.0, 1.0]
    assert [keyed_min(m) for m in (20.0, 20.2, 20.3)] == [20.0, 20.0, 21.0]


def test_the_control_keeps_the_medium_and_says_where_it_is_small(study_of, design_of, well):
    table = {"resin_volume_l": 150.0, "vessel_diameter_m": 0.41, "salt_dose_g_l": 160.0}
    study, _ = study_of(well, design_of(softener=table), "rate")
    size = study.number("softener.drain_control_gpm")
    largest = study.number("softener.backwash_flow_largest_m3_h") / GPM_M3_H
    wanted = study.number("softener.backwash_flow_m3_h") / GPM_M3_H
    assert size in DRAIN_GPM
    assert size <= min(largest, wanted)
    bigger = [s for s in DRAIN_GPM if s > size]
    assert bigger[0] > min(largest, wanted)
    litres = study.number("softener.drain_control_l_min")
    assert litres == pytest.approx(size * 3.785411784)
    told = [f for f in study.flags if f.code == "drain_control_small"]
    assert any(f.text.startswith("Softener") for f in told)


def test_refill_minutes_follow_the_flow(study_of, design_of, well):
    """Hand: 150 L at 160 g/L are 24 kg; 0.358 kg a litre of make-up (2.99 lb/gal): 67 L."""
    table = {"resin_volume_l": 150.0, "vessel_diameter_m": 0.41, "salt_dose_g_l": 160.0,
             "refill_flow_l_min": 4.0}  # fmt: skip
    study, _ = study_of(well, design_of(softener=table), "rate")
    assert study.number("softener.refill_min") == pytest.approx(24.0 / 0.358 / 4.0, rel=2e-3)
    assert study.number("softener.refill_set_min") == 17.0


def test_an_interval_just_under_a_setting_says_what_lifts_it(study_of, design_of, well):
    """Hand: the interval goes with the resin, so 5 % short of 2 d takes 2/1.9 of it."""
    table = {"resin_volume_l": 600.0, "vessel_diameter_m": 1.2, "salt_dose_g_l": 160.0}
    first, _ = study_of(well, design_of(softener=table), "rate")
    table["resin_volume_l"] = 600.0 * 1.9 / first.number("softener.interval_d")
    study, _ = study_of(well, design_of(softener=table), "rate")
    assert study.number("softener.interval_d") == pytest.approx(1.9)
    (told,) = [f for f in study.flags if f.code == "interval_just_short" and "Softener" in f.text]
    assert "5% more resin" in told.text
    assert "every 2 days" in told.text
    assert "salt to 53% of what it is" in told.text  # 1.0526 x 3.5 / 7
