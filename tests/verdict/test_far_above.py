"""What is so far above its band that nobody signs it, and what is asked: by the command.

Pressure: fibreglass vessels below 1000 kPa (Davis 2010, 8-20). Metals onto resin: below 1 mg/L
(TSS 604.805(a), printed). Limits of nitrate: 98/83/EC and 40 CFR 141 (from memory, in the table of
the limits). Shares and multiples: common practice, no source.
"""

import pytest

from tests.verdict import test_equipment
from tests.verdict.test_equipment import CARBON, SOFT, answer  # noqa: F401

BEDS = '["softener", "cartridge"]'


@pytest.mark.parametrize(
    ("command", "bar", "expected"),
    [
        ("size", 13.0, "fits with conditions"),
        ("rate", 17.0, "depends"),
        ("rate", 9.9, "fits"),
    ],
)
def test_a_pump_above_the_rating_of_the_vessels(answer, command, bar, expected):  # noqa: F811
    got, said, _ = answer(command, BEDS, SOFT if command == "rate" else "", bar=bar, product=0.6)
    assert any("one that bursts" in text for text in said) == (bar > 10.0), said
    assert got == expected or (bar < 10.0 and got.startswith("fits"))


@pytest.mark.parametrize(("iron", "ahead", "stops"), [(2.6, True, True), (0.3, True, False),
                                                      (2.6, False, False)])  # fmt: skip
def test_a_softener_ahead_of_the_iron_filter(answer, iron, ahead, stops):  # noqa: F811
    order = ["softener", "iron_filter"] if ahead else ["iron_filter", "softener"]
    stages = str([*order, "carbon", "cartridge"]).replace("'", '"')
    _, said, study = answer("size", stages, product=1.0, Fe_dissolved=iron, Mn=0.1, DO=0.1)
    told = [t for t in said if "reach the resin ahead of the iron filter" in t]
    assert bool(told) == stops, said
    if stops:
        assert study["figures"]["verdict.answer"]["value"] == "does not fit"


@pytest.mark.parametrize(("product", "beyond"), [(1.55, True), (1.25, False), (0.95, False)])
def test_elements_loaded_far_above_their_band(answer, monkeypatch, product, beyond):  # noqa: F811
    """Four elements of 7.9 m2 at 1.55 m3/h: 49 L/m2/h, by hand, and feed: both far above."""
    site = test_equipment.SITE.replace(
        "hours_per_day = 12\n",
        'hours_per_day = 12\nelement = "4x40"\narray = [1]\nelements_per_vessel = 4\n'
        'recycle_flow = "2.3 m3/h"\n',
    )
    monkeypatch.setattr(test_equipment, "SITE", site)
    got, said, study = answer("size", BEDS, product=product)
    flux = study["figures"]["machine.flux_l_m2_h"]["value"]
    assert flux > 1.4 * 27.0 or not beyond
    assert any("average flux is" in text for text in said), said
    assert (got in {"depends", "does not fit"}) == beyond, said


@pytest.mark.parametrize(
    ("calcium", "alkalinity", "asked"), [(0.9, 290.0, True), (11.0, 290.0, False),
                                         (0.9, 20.0, False)],
)  # fmt: skip
def test_a_sample_that_a_softener_may_have_left(answer, calcium, alkalinity, asked):  # noqa: F811
    """0.9 mg/L of calcium are 2.2 mg/L of hardness (SM 2340 B)."""
    sodium = 22.99 * (alkalinity / 50.04 + 40 / 35.45 + 20 / 48.03 - calcium / 20.04)
    _, said, _ = answer(
        "size", '["cartridge"]', Ca=calcium, Mg=0.1, Alkalinity=alkalinity, Na=sodium, Cl=40, SO4=20
    )
    assert any("taken behind a softener" in text for text in said) == asked, said


@pytest.mark.parametrize(("nitrate", "told"), [(290.0, True), (70.0, False)])
def test_nitrate_far_above_is_tested_in_the_product(answer, monkeypatch, nitrate, told):  # noqa: F811
    """290 mg/L are 5.8 times 50 mg/L (98/83/EC), by hand."""
    site = test_equipment.SITE.replace(
        "hours_per_day = 12\n", 'hours_per_day = 12\nelement = "4x40"\n'
    )
    monkeypatch.setattr(test_equipment, "SITE", site)
    more = SOFT + '[product]\ntarget = "drinking"\njurisdiction = "eu"\n'
    sodium = 22.99 * nitrate / 62.0 + 30.0
    _, said, study = answer("rate", BEDS, more, product=0.6, NO3=nitrate, Na=sodium)
    assert any("5.8 times" in t and "test the product" in t for t in said) == told, said
    acid = [t for t in said if t.startswith("product water: pH")]
    low = study["figures"]["product.ph"]["value"] < 6.5
    assert bool(acid) == low
    assert all("neither in this train nor in its cost" in t for t in acid), acid


@pytest.mark.parametrize(("arsenic", "asked"), [(2.7, True), (0.03, False)])
def test_the_unit_of_an_arsenic_that_no_well_holds(answer, arsenic, asked):  # noqa: F811
    _, said, _ = answer("rate", BEDS, SOFT, product=0.6, As=arsenic)
    assert any("arsenic 2.7 mg/L looks a thousand times" in t for t in said) == asked, said
