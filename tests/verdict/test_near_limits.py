"""Iron and manganese, and several foulants each below its limit; through the command.

0.05 mg/L of each metal, and nearness to a limit: common practice, no source. Invented wells.
"""

import pytest

from tests.verdict.test_brown_water import judged


@pytest.mark.parametrize(
    ("iron", "manganese", "fits"),
    [("0.049", "0.049", True), ("0.03", "0.03", True), ("0.03", "0.015", True),
     ("0.06", "<0.005", False)],
)  # fmt: skip
def test_each_metal_keeps_its_limit(tmp_path, iron, manganese, fits):
    _, told, why = judged(tmp_path, {"Iron": f"{iron},mg/L", "Manganese": f"{manganese},mg/L"})
    assert (told == "fits") is fits
    assert ("0.05 is wanted" in why) is not fits


NEAR = {"SDI": "4.6,", "Hydrogen sulfide": "0.09,mg/L", "Total organic carbon": "1.9,mg/L"}


@pytest.mark.parametrize(("count", "told"), [(1, "fits"), (2, "fits"), (3, "fits with conditions")])
def test_several_near_their_limits(tmp_path, count, told):
    study, answer, why = judged(tmp_path, dict([*NEAR.items()][-count:]) | {"Iron": "0.001,mg/L"})
    assert answer == told
    assert ("each just below the limit" in why) is (count > 2)
    assert ("near_limits" in {f["code"] for f in study["flags"]}) is (count == 2)
