"""Dissolved solids of the concentrate where a report leaves ions out (mass balance by hand)."""

import pytest

from pretreat import size

SITE = """[water]
analysis = "well.csv"
operating_temperature_c = 14
[machine]
product_flow = "0.6 m3/h"
recovery = {recovery}
hours_per_day = 9
[train]
stages = ["softener", "cartridge"]
"""


@pytest.mark.parametrize(
    ("known", "raw"),
    [(("TDS", "510", "mg/L"), 510.0), (("Conductivity", "900", "uS/cm"), 0.65 * 900.0)],
)
@pytest.mark.parametrize("recovery", [0.4, 0.7])
def test_solids_follow_those_of_the_raw_water_where_ions_are_missing(
    tmp_path, known, raw, recovery
):
    """Nothing passes the membranes: raw / (1 - recovery). 0.65 mg/L per uS/cm: common practice."""
    rows = (("pH", "7.2", ""), ("Calcium", "70", "mg/L"), ("Magnesium", "14", "mg/L"), known)
    text = "\n".join(["analyte,value,unit", *(",".join(row) for row in rows)])
    (tmp_path / "well.csv").write_text(text + "\n", encoding="utf-8")
    (tmp_path / "site.toml").write_text(SITE.format(recovery=recovery), encoding="utf-8")
    study = size(tmp_path / "site.toml", draws=0)
    assert study.number("water.tds_mg_l") == pytest.approx(raw)
    for prefix in ("", "untreated."):
        figure = study.figures[f"{prefix}concentrate.tds_mg_l"]
        assert figure.value == pytest.approx(raw / (1.0 - recovery), rel=1e-6)
        assert "estimated" in figure.label
