"""The program says what it said when the newest reference was recorded.

The reference is the program's own word: it guards a restructuring, and proves nothing about the
figures themselves, which other tests check against published sources.
"""

import json

import pytest

from tests.frozen import freeze


@pytest.mark.parametrize("case", freeze.CASES)
def test_nothing_has_moved(case):
    (found,) = freeze.compare_cases([case], freeze.newest())
    assert not found, found


def test_every_record_belongs_to_a_case():
    names = {path.name.removesuffix(".json.xz") for path in freeze.newest().glob("*.json.xz")}
    assert names == {case.replace(" ", "_") for case in freeze.CASES}


@pytest.mark.parametrize(
    ("old", "new", "equal"),
    [
        (1.0, 1.0 + 1e-13, True), (1.0, 1.0 + 1e-11, False), (0.0, 1e-301, True),
        (0.0, 1e-200, False), (2, 2.0, True), (1, True, False), (None, 0.0, False),
        ("a", "a ", False), ([1.0, "a"], [1.0, "a"], True), ([1.0], [1.0, 2.0], False),
    ],
)  # fmt: skip
def test_what_counts_as_equal(old, new, equal):
    assert freeze.same(old, new) is equal


def test_a_change_of_every_kind_is_found():
    """Each single change is told once and by its key."""
    old = freeze.read(freeze.newest(), "quarrow vale")
    key = "machine.feed_flow_m3_h"
    for place, change in (
        (("figures", key, "value"), 2.5), (("figures", key, "unit"), "L/h"),
        (("figures", key, "origin"), "chosen"), (("figures", key, "flags"), ["x"]),
        (("series", "water.trail", "units"), []), (("flags", 0, "level"), "warning"),
        (("workbook", "Summary", "values", "A1"), "another title"),
    ):  # fmt: skip
        new = json.loads(json.dumps(old))
        *way, last = place
        item = new
        for step in way:
            item = item[step]
        item[last] = change
        (found,) = freeze.compare(old, new)
        assert found.new == change
    new = json.loads(json.dumps(old))
    del new["figures"][key]["formula"]
    (found,) = freeze.compare(old, new)
    assert str(found) == f"figure {key}: has a formula: True -> False"
    new["figures"][key]["formula"] = "{another}"
    assert freeze.compare(old, new) == []
    new = json.loads(json.dumps(old))
    new["series"]["water.trail"]["rows"].pop()
    assert {one.group for one in freeze.compare(old, new)} == {"series gone"}
