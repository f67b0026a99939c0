"""Invented sites, a study of each, and a small evaluator of the workbook's formulas."""

import ast
import math
import operator
import re
from collections.abc import Callable, Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from pretreat.core.results import Ledger, Study
from pretreat.life.figures import enter_media_life
from pretreat.plant.machine import enter_machine
from pretreat.plant.train import enter_train
from pretreat.quote.figures import enter_quote
from pretreat.site.design import (
    DesignBasis,
    Machine,
    Prices,
)
from pretreat.stages.carbon.keys import CarbonDesign
from pretreat.stages.iron_filter.keys import IronFilterDesign
from pretreat.stages.site import basis
from pretreat.stages.softener.keys import SoftenerDesign
from pretreat.stages.stream import RawWater

PRICES = Prices(  # invented
    currency="EUR", salt_per_kg=0.45, permanganate_per_kg=6.5, chlorine_per_kg=3.1,
    acid_per_kg=1.2, inhibitor_per_kg=8.4, resin_per_l=3.2, iron_media_per_l=2.4, carbon_per_l=1.9,
    gravel_per_kg=0.6, cartridge_each=9.0, water_per_m3=0.35, drain_per_m3=0.8,
    energy_per_kwh=0.22, labour_per_h=62.0, freight=140.0, disposal_per_l=0.5, discount_rate=0.05,
    valid_days=60.0,
)  # fmt: skip


def water(ca: float, mg: float, fe: float, mn: float, **more: Any) -> RawWater:
    """An invented well water."""
    ions = {"ca": ca, "mg": mg, "na": 60.0, "fe": fe, "mn": mn, "cl": 50.0, "so4": 40.0}
    return RawWater(mg_l=ions, alkalinity_mg_l_caco3=250.0, ph=7.4, temperature_c=15.0,
                    coldest_c=12.0, warmest_c=18.0, **more)  # fmt: skip


CLEAN = (water(25.0, 6.0, 0.02, 0.01), basis(Machine(0.5, 0.6, 5.0, 200.0)), "size")
ORDINARY = (water(90.0, 25.0, 0.8, 0.1), basis(Machine(1.0, 0.65, 12.0, 330.0)), "size")
BAD = (water(140.0, 45.0, 7.5, 0.5), basis(Machine(1.6, 0.65, 24.0)), "size")
# Small vessels, no iron filter, round the clock.
WORST = (
    water(140.0, 45.0, 0.8, 0.1),
    basis(
        Machine(1.6, 0.65, 24.0),
        iron_filter=IronFilterDesign(include=False),
        softener=SoftenerDesign(resin_volume_l=283.0, vessel_diameter_m=0.61, salt_dose_g_l=160.0),
        chosen=frozenset({"softener.resin_volume_l", "softener.salt_dose_g_l"}),
    ),
    "rate",
)
CHLORINATED = (
    water(90.0, 25.0, 0.8, 0.1, toc_mg_l=3.0),
    basis(
        Machine(1.0, 0.65, 12.0, 330.0, feed_pressure_bar=14.0),
        iron_filter=IronFilterDesign(regeneration="continuous", oxidant="chlorine"),
        carbon=CarbonDesign(include=True, free_chlorine_mg_l=0.4),
    ),
    "size",
)
CLOUDY = (
    water(90.0, 25.0, 0.05, 0.02, turbidity_ntu=4.0),
    basis(Machine(1.0, 0.65, 12.0, 330.0)),
    "size",
)
DUPLEX = (
    ORDINARY[0],
    ORDINARY[1].with_stages(softener=SoftenerDesign(arrangement="duplex", control="meter")),
    "size",
)
SOFT = (water(3.0, 1.0, 0.01, 0.0), basis(Machine(0.5, 0.6, 5.0, 200.0)), "size")
SITES = {"duplex": DUPLEX, "soft": SOFT, "clean": CLEAN, "ordinary": ORDINARY, "bad": BAD,
         "worst": WORST,
         "chlorinated": CHLORINATED, "cloudy": CLOUDY}  # fmt: skip


def study_of(site: tuple[RawWater, DesignBasis, str], prices: Prices = PRICES) -> Study:
    """Enter machine, train, life and quote as a study does."""
    raw, design, mode = site
    design = replace(design, prices=prices)
    ledger = Ledger()
    enter_machine(ledger, design)
    for key, amount in raw.mg_l.items():
        ledger.put(f"water.{key}_mg_l", amount, "mg/L", key, origin="measured")
    treated = enter_train(ledger, raw, design, mode)  # type: ignore[arg-type]
    enter_media_life(treated.train)
    enter_quote(ledger, raw, design, mode)  # type: ignore[arg-type]
    return ledger.study()


def half_up(value: float, places: float) -> float:
    """Round as a spreadsheet does: the fifteen digits that it shows, halves up."""
    unit = Decimal(1).scaleb(-int(places))
    return float(Decimal(f"{value:.15g}").quantize(unit, rounding=ROUND_HALF_UP))


FUNCTIONS: dict[str, Callable[..., Any]] = {
    "MIN": lambda *a: min(a), "MAX": lambda *a: max(a), "INT": math.floor,
    "ROUND": half_up, "SQRT": math.sqrt, "ABS": abs,
    "COUNT": lambda *a: sum(isinstance(x, float | int) for x in a),
    "SUM": lambda *a: sum(x for x in a if isinstance(x, float | int)),
    "N": lambda x: 0.0 if isinstance(x, str) else x,
    "MID": lambda text, start, size: text[start - 1 : start - 1 + size],
    "EXP": math.exp, "LN": math.log, "AND": lambda *a: all(a), "OR": lambda *a: any(a),
}  # fmt: skip
SIGNS: dict[type, Callable[[Any, Any], Any]] = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul,
    ast.Div: operator.truediv, ast.Pow: operator.pow, ast.Eq: operator.eq,
    ast.NotEq: operator.ne, ast.Gt: operator.gt, ast.GtE: operator.ge, ast.Lt: operator.lt,
    ast.LtE: operator.le, ast.BitAnd: lambda a, b: f"{a}{b}",
}  # fmt: skip


class Sheet:
    """The figures of a study as cells: inputs may be changed, formulas follow."""

    def __init__(self, study: Study, **changes: float) -> None:
        self.study = study
        self.cells: dict[str, Any] = {k.replace("__", "."): v for k, v in changes.items()}

    def value(self, key: str) -> Any:
        """Return a cell; a gap is an empty text."""
        if key not in self.cells:
            figure = self.study[key]
            shown = "" if figure.value is None else figure.value
            live = figure.formula is not None and (figure.value is not None
                                                   or '""' in figure.formula)  # fmt: skip
            self.cells[key] = self.formula(figure.formula or "") if live else shown
        return self.cells[key]

    def formula(self, text: str) -> Any:
        """Evaluate a formula."""
        keys: list[str] = []

        def name_of(match: re.Match[str]) -> str:
            keys.append(match[1])
            return f"v{len(keys) - 1}"

        body = re.sub(r"\{([^{}]+)\}", name_of, text).replace("<>", "!=").replace("^", "**")
        body = re.sub(r"(?<![<>=!])=(?!=)", "==", body)
        return self._walk(ast.parse(body, mode="eval").body, keys)

    def _walk(self, node: ast.expr, keys: Mapping[int, str] | list[str]) -> Any:
        match node:
            case ast.Constant(value):
                return value
            case ast.Name(name):
                return self.value(keys[int(name[1:])])
            case ast.UnaryOp(_, operand):
                return -self._walk(operand, keys)
            case ast.BinOp(left, sign, right) | ast.Compare(left, [sign], [right]):
                return SIGNS[type(sign)](self._walk(left, keys), self._walk(right, keys))
            case ast.Call(ast.Name("IF"), [test, yes, no]):
                return self._walk(yes if self._walk(test, keys) else no, keys)
            case ast.Call(ast.Name(function), arguments):
                return FUNCTIONS[function](*(self._walk(a, keys) for a in arguments))
        raise AssertionError(ast.dump(node))


@pytest.fixture(name="sheet", scope="session")
def sheet_fixture() -> type[Sheet]:
    return Sheet


@pytest.fixture(name="sites", scope="session")
def sites_fixture() -> Mapping[str, tuple[RawWater, DesignBasis, str]]:
    return SITES


@pytest.fixture(name="prices", scope="session")
def prices_fixture() -> Prices:
    return PRICES


@pytest.fixture(name="study_of", scope="session")
def study_of_fixture() -> Callable[..., Study]:
    return study_of


@pytest.fixture(name="studies", scope="session")
def studies_fixture() -> Mapping[str, Study]:
    return {name: study_of(site) for name, site in SITES.items()}
