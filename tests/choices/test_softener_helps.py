"""A softener has to help a scale that decides, and is barred only where it cannot.

Mass balance: a softener takes calcium, magnesium, strontium and barium, and no silica. At pH 9.5
calcite is over saturation with 3 mg/L of calcium (carbonate is a fifth of the alkalinity there).
"""

import pytest

from tests.choices.test_ten_wells import keys
from tests.choices.wells import analysis, choices, sized

HIGH = {**analysis(ph=9.6, alkalinity=200, hardness=7.0, tds=420, temp=17.0), "SiO2": 20.0}
SANDY = {
    **analysis(ph=6.9, alkalinity=55, hardness=45, tds=210, temp=17.0),
    "SiO2": 58.0, "Al": 0.2, "Mn": 0.02, "Fe": 0.04,
}  # fmt: skip


def rows(study, with_softener=True):
    return [row for row in choices(study) if ("softener" in str(row["stages"])) is with_softener]


def test_little_hardness_bars_no_softener_where_calcite_stops_the_water(tmp_path):
    study = sized(tmp_path, HIGH, recovery=0.6, hours=12, draws=128)
    assert study.value("untreated.recovery.limited_by") == "calcite"
    assert not any("hardness of" in str(row["why_not"]) for row in rows(study))
    best = [row["verdict"] for row in choices(study) if row["verdict"]]
    asked = sized(tmp_path, HIGH, 0.6, hours=12, more="[softener]\ninclude = true\n", draws=128)
    order = ("fits", "fits with conditions", "depends", "does not fit")
    assert order.index(best[0]) <= order.index(asked.value("verdict.answer"))


@pytest.mark.parametrize("ph", [6.9, 7.4])
def test_little_hardness_bars_one_where_no_scale_of_it_stops_the_water(tmp_path, ph):
    soft = {**analysis(ph=ph, alkalinity=40, hardness=9.0, tds=160), "SiO2": 30.0, "Ba": 0.001}
    study = sized(tmp_path, soft, recovery=0.6, hours=12, draws=0)
    texts = [str(row["why_not"]) for row in rows(study)]
    assert any("no scale of hardness stops the raw water" in text for text in texts)
    assert "softener" not in keys(study)


def test_no_softener_where_silica_decides_and_metals_leave_the_verdict_open(tmp_path):
    study = sized(tmp_path, SANDY, recovery=0.5, hours=12, draws=128)
    assert study.value("recovery.limited_by") == "silica"
    assert "softener" not in keys(study)
    assert all(row["feasible"] == "no" for row in rows(study))
    assert any("helps no scale that decides" in str(row["why_not"]) for row in rows(study))
    assert "-" not in str(study.value("train.why")).split("costs ")[-1].split(" %")[0]
