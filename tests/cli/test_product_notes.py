"""What is said of the product: no pH without alkalinity, acid water, passages, an open tank."""

import json

import pytest

ROWS = {
    "Calcium": 110, "Magnesium": 18, "Sodium": 25.6, "Potassium": 6, "Sulfate": 60,
    "Chloride": 70, "Nitrate": 125, "Silica": 14, "Fluoride": 0.2,
}  # fmt: skip


@pytest.fixture
def study(tmp_path, pretreat):
    def run(alkalinity=150, machine='element = "4x40"', more="", ph=7.0, besides=()):
        lines = ["Analyte,Result,Unit", f"pH,{ph},", "Temperature,13,C"]
        lines += [f"{name},{value},mg/L" for name, value in ROWS.items()]
        lines += besides
        if alkalinity is not None:
            lines.append(f"Alkalinity as CaCO3,{alkalinity},mg/L")
        (tmp_path / "well.csv").write_text("\n".join(lines) + "\n", "utf-8")
        (tmp_path / "site.toml").write_text(
            '[water]\nanalysis = "well.csv"\n[machine]\nproduct_flow = "1 m3/h"\n'
            f"recovery = 0.5\nhours_per_day = 16\n{machine}\n{more}\n",
            "utf-8",
        )
        return json.loads(pretreat("size", "site.toml", "--json", "--draws", "16").stdout)

    return run


def _codes(found):
    return {f["code"]: f["text"] for f in found["flags"]}


TARGET = '[product]\ntarget = "drinking"\njurisdiction = "us"\n'


@pytest.mark.parametrize(("alkalinity", "ph"), [(0, 4.1), (None, 7.0)])
def test_without_alkalinity_the_product_has_no_ph(study, alkalinity, ph):
    more = TARGET + "[neutralising_filter]\ninclude = true\n"
    found = study(alkalinity, more=more, ph=ph)
    figures, flags = found["figures"], _codes(found)
    for key in ("product.ph", "product.co2_mg_l", "neutralising_filter.ph_out", "water.co2_mg_l"):
        assert figures.get(key, {}).get("value") is None, key
    assert "measure alkalinity" in flags["product_ph_open"]
    assert "carbon dioxide or acidity" in flags["product_ph_open"]
    table = found["series"]["product.against_target"]
    state = table["columns"].index("state")
    rows = [row for row in table["rows"] if row[0] == "pH"]
    assert [row[state] for row in rows] == ["not judged"] * len(rows)
    assert rows


def test_acid_product_is_said_where_no_target_says_it(study):
    assert "corrosive to metal" in _codes(study())["acid_product"]
    assert "acid_product" not in _codes(study(more=TARGET))


def test_named_passages_are_kept_and_what_closes_the_balance_is_said(study):
    """125 mg/L of nitrate, 40 % of it passing: 50 mg/L by hand."""
    table = (
        "salt_passage = {ca=0.01, mg=0.01, na=0.06, k=0.06, cl=0.05, so4=0.01, hco3=0.06, no3=0.4}"
    )
    found = study(machine=table)
    assert found["figures"]["product.no3_mg_l"]["value"] == pytest.approx(50.0)
    assert "sodium" in _codes(found)["passage_balanced"]
    assert "passage_balanced" not in _codes(study(machine='salt_passage = "generic"'))


def test_a_tank_that_may_be_open_is_said(study):
    tank = '[supply]\nraw_tank_volume = "5 m3"\n'
    text = _codes(study(more=tank))["tank_co2_kept"]
    assert "50% loss" in text
    assert "vented_raw_tank" in text
    for word in ("true", "false"):
        assert "tank_co2_kept" not in _codes(study(more=f"{tank}vented_raw_tank = {word}\n"))
    assert "tank_co2_kept" not in _codes(study())


@pytest.mark.parametrize(
    ("printed", "state"), [("<2", "kept"), ("<10", "kept"), ("<25", "not measured")]
)
def test_what_was_not_detected_under_its_limit_is_kept(study, printed, state):
    """Arsenic against 10 ug/L (40 CFR 141.62): a limit of detection above that tells nothing."""
    found = study(more=TARGET, besides=[f"Arsenic,{printed},ug/L"])
    table = found["series"]["product.against_target"]
    at = table["columns"].index("state")
    assert {row[at] for row in table["rows"] if row[0] == "arsenic"} == {state}
    assert ("arsenic" in _codes(found)["product_target_open"]) == (state != "kept")


def test_germs_that_are_not_counted_are_not_said_to_be_one(study):
    found = study(more=TARGET, besides=["Total coliforms,present,"])
    assert "coliforms present (not counted)" in _codes(found)["germs"]
    assert "coliforms 1 in" not in json.dumps(found)
