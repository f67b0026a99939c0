"""The public functions answer a bad argument with one clear error, never silence or a traceback."""

import math

import numpy as np
import pandas as pd
import pytest
from msgspec.structs import replace

from pretreat import check, rate, read_analysis, scaling, screen, size
from pretreat.core.errors import PretreatError
from pretreat.site.design import LimitChoices
from tests.cli.conftest import ANALYSES

SITE = ANALYSES / "drover_flat.toml"
WATER = read_analysis(ANALYSES / "drover_flat.csv")
FRAME = pd.DataFrame({"id": ["a"], "pH": [7.3], "Ca": [90], "Alkalinity [mg/L as CaCO3]": [250]})


@pytest.mark.parametrize(
    "recovery",
    [(-1, 1), (0.0, 1.0), (1, 2, 3), "0.5", None, [0.5], np.array([0.5]), math.nan, 1.2, True],
)
def test_recovery(recovery):
    with pytest.raises(PretreatError, match="recovery"):
        scaling(WATER, recovery)


@pytest.mark.parametrize(
    "more",
    [
        {"temperature": 30}, {"inhibitor": True}, {"saltpassage": 0.1}, {"sample": "x"},
        {"temperature_c": 61}, {"temperature_c": True}, {"temperature_c": "20"}, {"draws": 3},
        {"draws": 1000}, {"draws": 1024.0}, {"draws": -2}, {"salt_passage": "generic"},
        {"salt_passage": -0.1}, {"salt_passage": {"na": math.nan}}, {"limits": "x"},
        {"limits": LimitChoices(percent_of_saturation={"sillica": 120.0})},
        {"limits": LimitChoices(percent_of_saturation={"silica": -5.0})},
    ],
)  # fmt: skip
def test_arguments_of_scaling(more):
    with pytest.raises(PretreatError, match=next(iter(more))):
        scaling(WATER, 0.5, **more)


@pytest.mark.parametrize(
    "change",
    [
        {"ph": math.nan}, {"ph": "7"}, {"ph": 15.0}, {"alkalinity_mg_l_caco3": -5.0},
        {"alkalinity_mg_l_caco3": math.nan}, {"mg_l": {**WATER.mg_l, "ca": -1.0}},
        {"mg_l": {**WATER.mg_l, "ca": math.inf}},
    ],
)  # fmt: skip
def test_waters_that_cannot_be(change):
    water = replace(WATER, **change)
    for call in (lambda: check(water), lambda: scaling(water, 0.5), lambda: size(SITE, water)):
        with pytest.raises(PretreatError, match="of the water"):
            call()


def test_arguments_of_the_others():
    for call in (lambda: check(WATER, foo=1), lambda: check(ANALYSES / "drover_flat.csv", foo=1)):
        with pytest.raises(PretreatError, match="'foo' is no argument"):
            call()
    for run in (size, rate):
        with pytest.raises(PretreatError, match="power of two"):
            run(SITE, draws=5)


@pytest.mark.parametrize(
    ("frame", "recoveries"),
    [(FRAME, []), (FRAME, None), (FRAME, "0.5"), (FRAME, [1.5]), (None, [0.5]), ("x.csv", [0.5])],
)
def test_screen(frame, recoveries):
    with pytest.raises(PretreatError):
        screen(frame, recoveries)


def test_numbers_of_other_kinds_are_numbers():
    assert scaling(WATER, np.float64(0.5), draws=0)["scaling.lsi"].value is not None
    assert len(screen(FRAME, (0.0, np.float64(0.5)))) == 2
