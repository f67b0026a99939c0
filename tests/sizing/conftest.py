"""A small evaluator of the workbook's formulas, and studies to try it on."""

import ast
import math
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from pretreat.core.results import Ledger, Study
from pretreat.plant.machine import enter_machine
from pretreat.plant.train import Treated, enter_train
from pretreat.site.design import DesignBasis
from pretreat.stages.site import design_from
from pretreat.stages.stream import RawWater

KEY = re.compile(r"\{([^{}]+)\}")
FUNCTIONS: dict[str, Callable[..., Any]] = {
    "MIN": min, "MAX": max, "AND": lambda *a: all(a), "OR": lambda *a: any(a), "FALSE": False,
    "ROUND": round, "INT": math.floor, "ABS": abs, "LOG10": math.log10,
    "COUNT": lambda *a: sum(isinstance(x, int | float) for x in a),
    "SUM": lambda *a: sum(x for x in a if x != ""), "NOT": lambda a: not a, "LN": math.log, "EXP": math.exp, "SQRT": math.sqrt,
}  # fmt: skip
OPERATORS: dict[type, Callable[[Any, Any], Any]] = {
    ast.Add: lambda a, b: a + b, ast.Sub: lambda a, b: a - b, ast.Mult: lambda a, b: a * b,
    ast.Div: lambda a, b: a / b, ast.Pow: lambda a, b: a**b,
    ast.GtE: lambda a, b: a >= b, ast.Gt: lambda a, b: a > b, ast.LtE: lambda a, b: a <= b,
    ast.Lt: lambda a, b: a < b, ast.Eq: lambda a, b: a == b, ast.NotEq: lambda a, b: a != b,
}  # fmt: skip


def evaluate(formula: str, values: Mapping[str, Any]) -> Any:
    """Evaluate a formula as a spreadsheet would; a gap is an empty text."""
    names: dict[str, Any] = {}

    def name_of(match: re.Match[str]) -> str:
        name = f"v{len(names)}"
        value = values[match.group(1)]
        names[name] = "" if value is None else value
        return name

    text = KEY.sub(name_of, formula).replace("<>", "!=").replace("^", "**")
    text = re.sub(r"(?<![<>=!])=(?!=)", "==", text)
    return _walk(ast.parse(text, mode="eval").body, names)


def _walk(node: ast.expr, names: Mapping[str, Any]) -> Any:
    match node:
        case ast.Constant(value):
            found = value
        case ast.Name(name):
            found = False if name == "FALSE" else names[name]
        case ast.UnaryOp(_, operand):
            found = -_walk(operand, names)
        case ast.BinOp(left, operator, right) | ast.Compare(left, [operator], [right]):
            found = OPERATORS[type(operator)](_walk(left, names), _walk(right, names))
        case ast.Call(ast.Name("IF"), [test, yes, no]):
            found = _walk(yes if _walk(test, names) else no, names)
        case ast.Call(ast.Name(function), arguments):
            found = FUNCTIONS[function](*(_walk(a, names) for a in arguments))
        case _:
            raise AssertionError(f"not a formula of the workbook: {ast.dump(node)}")
    return found


@pytest.fixture(name="evaluate")
def evaluate_fixture() -> Callable[[str, Mapping[str, Any]], Any]:
    return evaluate


def study_of(
    raw: RawWater, design: Any, mode: str = "size", recovery_without_softener: float | None = None
) -> tuple[Study, Treated]:
    """Run the machine's and the train's sections as a study does."""
    ledger = Ledger()
    enter_machine(ledger, design)
    hardness = design.water.hardness_mg_l_caco3
    if hardness is not None:
        ledger.put("water.hardness_mg_l_caco3", hardness, "mg/L as CaCO3", "Hardness",
                   origin="measured")  # fmt: skip
    for key, amount in raw.mg_l.items():
        ledger.put(f"water.{key}_mg_l", amount, "mg/L", key, origin="measured")
    for key, amount in raw.total_mg_l.items():
        ledger.put(f"water.{key}_total_mg_l", amount, "mg/L", key, origin="measured")
    if recovery_without_softener is not None:
        ledger.put("untreated.recovery.max", recovery_without_softener, "-", "recovery")
    treated = enter_train(ledger, raw, design, mode)  # type: ignore[arg-type]
    return ledger.study(), treated


@pytest.fixture(name="study_of")
def study_of_fixture() -> Callable[..., tuple[Study, Treated]]:
    return study_of


MACHINE = {"product_flow_m3_h": 1.6, "recovery": 0.65, "hours_per_day": 20.0, "days_per_year": 330}
WELL = RawWater(
    {"ca": 90.0, "mg": 25.0, "na": 60.0, "k": 4.0, "sr": 1.0, "ba": 0.08, "fe": 1.5, "mn": 0.2,
     "cl": 50.0, "so4": 60.0},
    {"fe": 1.7}, alkalinity_mg_l_caco3=250.0, ph=7.3, temperature_c=16.0, coldest_c=12.0,
    warmest_c=18.0,
)  # fmt: skip


def design_of(**tables: Mapping[str, Any]) -> DesignBasis:
    """Build a design basis from tables of a site file."""
    content = {"machine": MACHINE, "water": {"analysis": "well.csv"}} | tables
    return design_from(content, Path())


@pytest.fixture(name="design_of")
def design_of_fixture() -> Callable[..., DesignBasis]:
    return design_of


@pytest.fixture(name="well")
def well_fixture() -> RawWater:
    return WELL
