"""The week's calendar: nothing overlaps, every stage gets its nights."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pretreat.plant.calendar.week import Duty, clock, first_nights, nights_of, week_of

gaps = st.sampled_from([0.5, 1.0, 1.3, 2.0, 3.0, 4.0, 5.7, 7.0])
duties = st.lists(st.tuples(gaps, st.integers(10, 120)), min_size=1, max_size=4).map(
    lambda items: tuple(Duty(f"stage {i}", gap, float(m)) for i, (gap, m) in enumerate(items))
)


@given(duties)
def test_no_two_regenerations_overlap(stages):
    slots = sorted(week_of(stages), key=lambda s: (s.day, s.start_min))
    for one, other in itertools.pairwise(slots):
        if one.day == other.day:
            assert one.end_min <= other.start_min


@given(duties)
def test_every_stage_regenerates(stages):
    names = {slot.name for slot in week_of(stages)}
    assert names == {stage.name for stage in stages}


@pytest.mark.parametrize(
    ("gap", "first", "nights"),
    [
        (1.0, 0, (0, 1, 2, 3, 4, 5, 6)), (2.0, 0, (0, 2, 4, 6)), (2.0, 1, (1, 3, 5)),
        (3.0, 1, (1, 4)), (4.0, 0, (0, 3)), (4.0, 2, (2, 5)), (7.0, 6, (6,)),
    ],
)  # fmt: skip
def test_nights(gap, first, nights):
    """Calendar by hand; twice a week leaves 3 and 4 days."""
    assert nights_of(gap, first) == nights


def test_stages_are_spread_over_the_week():
    stages = (Duty("a", 2.0, 100.0), Duty("b", 2.0, 100.0), Duty("c", 7.0, 20.0))
    slots = week_of(stages)
    by_day = [sum(s.end_min - s.start_min for s in slots if s.day == d) for d in range(7)]
    assert max(by_day) <= 120.0
    assert first_nights(stages)[0] != first_nights(stages)[1]


def test_upstream_first_and_again_at_noon():
    slots = [s for s in week_of((Duty("a", 0.5, 60.0), Duty("b", 1.0, 90.0))) if s.day == 2]
    assert [(s.name, clock(s.start_min)) for s in slots] == [
        ("a", "00:00"), ("b", "01:00"), ("a", "12:00"),
    ]  # fmt: skip
