"""Elements that are chosen keep their own rules: recovery of one, concentrate of the last.

Limits of a well: 18 % of the feed of one element; 0.7 and 2.7 m3/h of concentrate for 4 and 8
inch (common practice, no source). Reach of elements in series 1 - (1 - r)^n, by algebra.
"""

import pytest

from tests.choices.wells import analysis, sized

WATER = {"ph": 7.3, "alkalinity": 140, "hardness": 150, "tds": 520}
BARE = '[train]\nstages = ["inhibitor", "cartridge"]\n'
BROKEN = {"recycle_needed", "element_recovery", "element_concentrate", "wall_factor_range"}


def answer(folder, product, recovery, more):
    return sized(
        folder, analysis(**WATER), recovery=recovery, more=more + BARE, draws=0, product=product
    )


@pytest.mark.parametrize(
    ("size", "product", "recovery"),
    [("4x40", 0.35, 0.6), ("4x40", 0.7, 0.7), ("4x40", 2.2, 0.72), ("8x40", 9.0, 0.74)],
)
def test_what_is_chosen_keeps_its_rules(tmp_path, size, product, recovery):
    study = answer(tmp_path, product, recovery, f'element = "{size}"\n')
    assert not BROKEN & {flag.code for flag in study.flags}
    recycle = study.number("machine.recycle_flow_m3_h")
    assert recycle >= study.number("machine.recycle_needed_m3_h")
    assert study.number("machine.element_recovery_highest") <= 0.18
    last = study.series["machine.along"].rows[-1]
    columns = study.series["machine.along"].columns
    drained = last[columns.index("feed_m3_h")] - last[columns.index("product_m3_h")]
    assert drained >= {"4x40": 0.7, "8x40": 2.7}[size] * (1.0 - 1e-9)
    assert recycle * 100.0 == pytest.approx(round(recycle * 100.0))  # what a flow meter shows
    assert study.figures["machine.recycle_flow_m3_h"].origin == "assumed"
    # the product is that of the array with its recycle: saltier feed than the fresh one
    waters = study.series["machine.waters"]
    row = dict(zip(waters.columns, waters.rows[0], strict=True))
    assert (row["array_feed_mg_l"] > row["feed_mg_l"]) == (recycle > 0.0)


def test_a_recycle_that_is_given_stands(tmp_path):
    study = answer(tmp_path, 0.45, 0.7, 'element = "4x40"\nrecycle_flow = "0.2 m3/h"\n')
    assert study.number("machine.recycle_flow_m3_h") == 0.2
    assert "recycle_needed" in {flag.code for flag in study.flags}


def test_an_array_that_no_element_stands_is_no_green_verdict(tmp_path):
    """One element at 70 % recovery takes 70 % of its feed, by definition."""
    more = 'element = "4x40"\narray = [1]\nelements_per_vessel = 1\n'
    study = answer(tmp_path, 0.2, 0.7, more)
    assert study.value("verdict.answer") not in {"fits", "fits with conditions"}
    told = [str(row[-1]) for row in study.series["verdict.why"].rows if "70.0 %" in str(row[-1])]
    assert len(told) == 1
