"""What is no scale and still takes a green verdict away (common practice, no source)."""

import pytest

from tests.choices.wells import analysis, sized

WATER = {"ph": 7.4, "alkalinity": 150, "hardness": 160, "tds": 600}
BARE = '[train]\nstages = ["inhibitor", "cartridge"]\n'


def answer(folder, water, more=BARE, **options):
    return sized(folder, water, recovery=0.5, more=more, draws=256, **options)


def test_the_water_itself_fits(tmp_path):
    study = answer(tmp_path, analysis(**WATER))
    assert study.value("verdict.answer") in {"fits", "fits with conditions"}
    assert "silt density index" in study.value("verdict.measure_next")


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ({"Turbidity": 8.0}, "does not fit"),
        ({"TOC": 12.0}, "depends"),
        ({"H2S": 0.5}, "does not fit"),
    ],
)
def test_what_fouls_soon_is_no_green_verdict(tmp_path, more, expected):
    study = answer(tmp_path, {**analysis(**WATER), **more})
    assert study.value("verdict.answer") == expected


def test_a_well_that_yields_less_than_the_day_takes_does_not_fit(tmp_path):
    more = '[supply]\nwell_yield = "0.5 m3/h"\n' + BARE
    study = answer(tmp_path, analysis(**WATER), more=more)
    assert study.value("verdict.answer") == "does not fit"
    assert study.value("verdict.reasons").startswith("the train needs")


@pytest.mark.parametrize(("product", "elements"), [(0.32, 1), (0.55, 2), (1.1, 3)])
def test_elements_driven_too_hard_are_a_condition_with_a_cure(tmp_path, product, elements):
    """A 4x40 element has some 7.4 to 8 m2; wells of low silt take 27 L/m2/h (13 to 16 gfd)."""
    machine = f'element = "4x40"\narray = [1]\nelements_per_vessel = {elements}\n'
    machine += 'recycle_flow = "1.6 m3/h"\n'
    study = answer(tmp_path, analysis(**WATER), more=machine + BARE, product=product)
    assert study.value("verdict.answer") == "fits with conditions"
    (text,) = [
        str(row[-1])
        for row in study.series["verdict.why"].rows
        if str(row[-1]).startswith("average flux is")
    ]
    area, most = study.number("machine.element_area_m2"), 27.0
    wanted = 1
    while product * 1000.0 / (wanted * area) > most:
        wanted += 1
    assert f"{wanted} elements instead of {elements} ({wanted - elements} more)" in text
    assert f"{most * elements * area / 1000.0:.3g} m3/h of product at most" in text
