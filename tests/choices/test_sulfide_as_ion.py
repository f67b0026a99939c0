"""Only molecular hydrogen sulfide passes membranes and strips: pK1 about 7 (phreeqc.dat, PA13).

By hand at 20 °C (pK 7.01): of 0.5 mg/L 0.41 % at pH 9.4 is 0.002 mg/L, 86 % at pH 6.2 is 0.43.
"""

import pytest

from pretreat.stages.product_gas import gas_of_sulfide
from tests.choices.test_ten_wells import keys
from tests.choices.wells import analysis, sized

SULFIDE = {"H2S": 0.5}


def well(ph, alkalinity=170, hardness=30.0):
    return {
        **analysis(ph=ph, alkalinity=alkalinity, hardness=hardness, tds=400, temp=20.0),
        **SULFIDE,
    }


@pytest.mark.parametrize(("ph", "share"), [(9.4, 0.00406), (7.01, 0.5), (6.2, 0.86), (None, 1.0)])
def test_share_that_is_gas(ph, share):
    assert gas_of_sulfide(0.5, ph, 20.0) == pytest.approx(0.5 * share, rel=0.03)


def test_an_ion_asks_for_no_degasser_of_the_product(tmp_path):
    study = sized(tmp_path, well(9.4, hardness=5.0), recovery=0.6, hours=12, draws=64)
    said = f"{study.value('verdict.reasons')} {study.value('train.why')}"
    assert "product_degasser" not in keys(study)
    assert "degas the product" not in said
    assert "passes the membranes as a gas" not in said
    assert "an ion that membranes hold back" in said
    assert "stay sealed" in said  # air would still make sulfur of it


def test_a_gas_is_stripped_from_the_product(tmp_path):
    study = sized(tmp_path, well(7.4), recovery=0.6, hours=12, draws=64)
    assert "product_degasser" in keys(study)
    text = next(f.text for f in study.flags if f.code == "sulfide_in_product")
    assert "of 0.5 mg/L, pH 7.4" in text
    assert "0.14 mg/L" in text  # 29 % at pK 7.01


def test_a_degasser_asked_for_says_what_it_is_not_needed_for(tmp_path):
    more = "[product_degasser]\nco2_removed = 0.8\n"
    study = sized(tmp_path, well(9.4, hardness=5.0), 0.6, hours=12, more=more, draws=0)
    (flag,) = [f for f in study.flags if f.code == "sulfide_in_product"]
    assert flag.level == "info"
    assert "no degasser is needed" in flag.text
