"""Columns that `screen` does not use are named once; those that only name a row are not."""

import pytest


@pytest.mark.parametrize("name", ["Site", "well id", "Sample date", "Date"])
def test_columns_not_used_are_named_once(tmp_path, pretreat, name):
    rows = [f"ID,{name},pH,Ca,Alkalinity,Mystery,Odour", "a,x,7.1,60,150,3,none", "b,y,7.4,70,90,,"]
    (tmp_path / "wells.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    found = pretreat("screen", str(tmp_path / "wells.csv"), "--recovery", "0.5")
    told = [line for line in found.stderr.splitlines() if "not used" in line]
    assert len(told) == 1
    assert told[0].endswith("columns not used: Mystery, Odour")
    assert len(found.stdout.splitlines()) == 3
