"""The product made fit for pipes: calcite against PHREEQC, shares by hand, what it cannot do.

Worked permeates (an own script, regression): 90 % of the carbon dioxide of the fresh feed add
35.88, 29.19 and 29.73 mg/L as CaCO3; 2.274 mg of calcite to a milligram of carbon dioxide.
"""

import math

import pytest

from pretreat.chemistry.second_opinion import available
from pretreat.public import size
from tests.chemistry.phreeqc_reference import Reference
from tests.cli.test_machine_elements import FEEDS, MACHINES

with_phreeqc = pytest.mark.skipif(not available(), reason="PHREEQC cannot be loaded here")
IONS = ("ca", "mg", "na", "k", "cl", "so4", "no3", "f", "sio2", "b")
FIXED = '[train]\nstages = ["inhibitor", "cartridge"]\n'
P = "remineralisation"


@pytest.fixture
def sized(tmp_path):
    def run(name, more, train=FIXED):
        feed, temp, product, recovery, recycle, element, array, each = MACHINES[name]
        rows = [f"{k},{v},mg/L" for k, v in FEEDS[feed].items()]
        head = ["Parameter,Result,Unit", "pH,7.5,", f"Temperature,{temp},C"]
        (tmp_path / "well.csv").write_text("\n".join([*head, *rows]) + "\n", "utf-8")
        (tmp_path / "site.toml").write_text(
            f'[water]\nanalysis = "well.csv"\noperating_temperature_c = {temp}\n'
            f'[machine]\nproduct_flow = "{product} m3/h"\nrecovery = {recovery}\n'
            f'recycle_flow = "{recycle} m3/h"\nhours_per_day = 20\ndays_per_year = 300\n'
            f'element = "{element}"\narray = {array}\nelements_per_vessel = {each}\n'
            f"[softener]\ninclude = false\n{train}{more}",
            "utf-8",
        )
        return size(tmp_path / "site.toml", draws=0)

    return run


FIRST_EACH_TIME = [
    name if first else pytest.param(name, marks=pytest.mark.thorough)
    for name, first in zip(MACHINES, (True, False, False), strict=True)
]


def _with_calcite(study, temp_c, most_mol=10.0):
    """PHREEQC 3.8.6, wateq4f.dat: the product in a closed bed, to saturation or by so much."""
    engine = Reference()
    mg_l = {k: study.number(f"product.{k}_mg_l") or 0.0 for k in IONS}
    alkalinity, ph = study.number("product.alkalinity_mg_l_caco3"), study.number("product.ph")
    tried = engine.feed(mg_l, alkalinity, ph, temp_c)["m_CO2(mol/kgw)"]
    ph -= math.log10(study.number("product.co2_mg_l") / 44_010.0 / tried)  # 0.001: the same gas
    before = engine.feed(mg_l, alkalinity, ph, temp_c)
    after = engine.run(f"USE solution 1\nEQUILIBRIUM_PHASES 1\nCalcite 0 {most_mol:.12g}\n")
    per_kg = (after["Alk(eq/kgw)"] - before["Alk(eq/kgw)"]) / 2.0
    return per_kg * 100_087.0, after["pH"], after["m_CO2(mol/kgw)"] * 44_010.0


@with_phreeqc
@pytest.mark.parametrize("name", FIRST_EACH_TIME)
def test_saturation_with_calcite_by_phreeqc(name, sized):
    study = sized(name, '[product]\nleast_hardness = "30 mg/L"\n')
    dissolved, ph, _ = _with_calcite(study, MACHINES[name][1])
    assert study.number(f"{P}.equilibrium_mg_l_caco3") == pytest.approx(dissolved, rel=5e-3)
    assert study.number(f"{P}.equilibrium_ph") == pytest.approx(ph, abs=0.01)


@with_phreeqc
@pytest.mark.parametrize("name", FIRST_EACH_TIME)
def test_water_behind_by_phreeqc(name, sized):
    """The calcite that 90 % of the carbon dioxide takes up, given to PHREEQC as it is.

    A tenth is left, so that a thousandth of the carbon dioxide before is a hundredth of it.
    """
    study = sized(name, "[product]\nleast_lsi = 0\n")
    taken = study.number(f"{P}.calcite_mg_l_caco3")
    _, ph, co2 = _with_calcite(study, MACHINES[name][1], taken / 100_087.0)
    assert study.number(f"{P}.filter_share") == 1.0
    assert study.number(f"{P}.ph") == pytest.approx(ph, abs=0.005)
    assert study.number(f"{P}.co2_mg_l") == pytest.approx(co2, rel=0.01)
    assert ph < study.number(f"{P}.equilibrium_ph") - 0.5  # what the speed of dissolution costs


@pytest.mark.parametrize(
    ("name", "gain"),
    [
        ("M1", 35.88),
        pytest.param("M2", 29.19, marks=pytest.mark.thorough),
        pytest.param("M3", 29.73, marks=pytest.mark.thorough),
    ],
)
def test_calcite_that_the_carbon_dioxide_takes_up(name, gain, sized):
    study = sized(name, "[product]\nleast_lsi = 0\n")
    value = study.number
    taken = value(f"{P}.calcite_mg_l_caco3")
    assert taken == pytest.approx(2.274 * 0.9 * value("product.co2_mg_l"), rel=1e-3)
    assert taken == pytest.approx(gain, rel=0.06)  # the reference leaves out pairs and recycle
    for word in ("hardness", "alkalinity"):
        before = value(f"product.{word}_mg_l_caco3") or value(f"{P}.before_{word}_mg_l_caco3")
        assert value(f"{P}.{word}_mg_l_caco3") - before == pytest.approx(taken)
    ca = value(f"{P}.ca_mg_l") - value("product.ca_mg_l")
    assert ca == pytest.approx(taken * 40.078 / 100.087, rel=1e-4)
    product = MACHINES[name][2] * 20.0
    assert value(f"{P}.calcite_kg_per_year") == pytest.approx(product * 300 * taken / 1000)
    assert any(f.code == "calcite_kinetics" for f in study.flags)


def test_part_of_the_product_through_the_calcite(sized):
    """M1 to 20 mg/L of hardness: by hand (20 - before) / taken of it; the water mixes to 20."""
    study = sized("M1", '[product]\nleast_hardness = "20 mg/L"\n')
    value = study.number
    before, taken = value(f"{P}.before_hardness_mg_l_caco3"), value(f"{P}.calcite_mg_l_caco3")
    assert value(f"{P}.filter_share") == pytest.approx((20.0 - before) / taken)
    assert value(f"{P}.hardness_mg_l_caco3") == pytest.approx(20.0)
    rows = {row[0]: row for row in study.series[f"{P}.waters"].rows}
    assert rows["ca"][3] == pytest.approx(value(f"{P}.ca_mg_l"), rel=1e-6)
    assert rows["na"][2] == rows["na"][3]
    changed = study.again({"machine.product_m3_d": 1.0})
    assert changed.number(f"{P}.calcite_kg_per_year") == pytest.approx(
        300.0 * value(f"{P}.filter_share") * taken / 1000.0
    )


def test_langelier_index_by_part_of_the_product(sized):
    """An index of -2 takes a share between none and all; on the mixed water it is met."""
    study = sized("M3", "[product]\nleast_lsi = -2.0\n")
    assert 0.0 < study.number(f"{P}.filter_share") < 1.0
    assert study.number(f"{P}.lsi") == pytest.approx(-2.0, abs=1e-3)
    assert f"{P}.naoh_mg_l" not in study.figures


def test_what_calcite_cannot_do_is_said(sized):
    study = sized("M3", '[product]\nleast_hardness = "60 mg/L"\nleast_lsi = 0\n')
    told = [f.text for f in study.flags if f.code == "remineralisation_short"]
    assert len(told) == 2
    assert "of 60 mg/L as CaCO3" in told[0]
    assert "caustic soda" in told[1]
    short = 60.0 - study.number(f"{P}.hardness_mg_l_caco3")
    lacking = study.number(f"{P}.co2_lacking_for_hardness_mg_l")
    assert lacking == pytest.approx(short / (2.274 * 0.9), rel=1e-3)
    assert study.number(f"{P}.naoh_mg_l") == pytest.approx(2.5, abs=1.0)
    assert study.number(f"{P}.ph_with_alkali") > study.number(f"{P}.ph")


def test_blend_in_place_of_calcite(sized):
    """M3 to 40 mg/L of hardness with raw water of 547: (40 - 3.16) / (546.7 - 3.16) = 6.8 %."""
    more = '[product]\ntarget = "drinking"\njurisdiction = "us"\nleast_hardness = "40 mg/L"\n'
    study = sized("M3", more)
    assert study.number(f"{P}.blend_share") == pytest.approx(36.84 / 543.6, rel=2e-3)
    # 13.5 % by dissolved solids of 500 mg/L in the worked blends
    assert study.number(f"{P}.blend_share_allowed") == pytest.approx(0.1348, rel=5e-3)
    strict = sized("M3", more.replace("40 mg/L", "90 mg/L"))
    assert any(f.code == "blend_over_limit" for f in strict.flags)


def test_a_softened_water_gives_no_hardness(sized):
    study = sized("M1", '[product]\nleast_hardness = "40 mg/L"\n')
    assert any(f.code == "blend_cannot" for f in study.flags)
    assert f"{P}.blend_share" not in study.figures


def test_a_filter_in_the_train_has_the_water_behind_it(sized):
    study = sized("M3", "[neutralising_filter]\ninclude = true\n", "")
    assert study.number(f"{P}.filter_share") == 1.0
    assert study.number(f"{P}.ph") < study.number("neutralising_filter.ph_out")


def test_a_degasser_ahead_leaves_little_for_calcite(sized):
    more = "[product_degasser]\ninclude = true\n[neutralising_filter]\ninclude = true\n"
    study = sized("M3", more, "")
    left = study.number("product_degasser.co2_mg_l")
    assert left < 0.5 * study.number("water.co2_mg_l")
    taken = study.number(f"{P}.calcite_mg_l_caco3")
    assert taken == pytest.approx(2.274 * 0.9 * left, rel=1e-3)
    most = study.number("neutralising_filter.most_dissolved_mg_l_caco3")
    assert most == pytest.approx(2.274 * left, rel=1e-3)


def test_nothing_asked_nothing_entered(sized):
    assert not any(k.startswith(f"{P}.") for k in sized("M3", "").figures)


def test_an_unknown_product_is_said(sized, tmp_path):
    sized("M3", '[product]\nleast_hardness = "40 mg/L"\n')
    text = (tmp_path / "site.toml").read_text("utf-8")
    kept = [line for line in text.splitlines() if not line.startswith(("element", "array"))]
    (tmp_path / "site.toml").write_text("\n".join(kept), "utf-8")
    study = size(tmp_path / "site.toml", draws=0)
    assert any(f.code == "remineralisation_open" for f in study.flags)
