"""One law, four readings: float, array, formula and worked line say the same.

The agreement proves nothing about the equation; that is what the value in each law's
docstring and the published examples are for.
"""

import math
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pretreat.core.law import Applied
from tests.laws.points import keyed, laws, points

ALL = laws()
NEAR = 1e-12


def agree(one: Any, other: Any, within: float = NEAR) -> bool:
    blank = [v is None or v == "" or (isinstance(v, float) and math.isnan(v)) for v in (one, other)]
    if any(blank):
        return all(blank)
    return math.isclose(float(one), float(other), rel_tol=within, abs_tol=1e-300)


@pytest.mark.parametrize("name", ALL)
def test_float_array_and_tree_agree(name):
    law, tried = ALL[name], 0
    for given in points(law):
        arguments, values = keyed(given)
        node = Applied(law, arguments)
        single = node.compute(values.get)
        arrays = {k: np.array([np.nan if v is None else v] * 2) for k, v in values.items()}
        many = node.compute(arrays.get)
        assert agree(single, np.asarray(many)[0]), (given, single, many)
        assert agree(law(**given), single), given
        tried += 1
    assert tried >= 5, "too few points inside the range of the law"


@pytest.mark.parametrize("name", ALL)
def test_worked_line_ends_in_the_value(name):
    law = ALL[name]
    given = next(points(law))
    arguments, values = keyed(given)
    line = Applied(law, arguments).worked("result", values.get, "")
    assert line.startswith("result = ")
    assert "{" not in line


def _last_digit(cell: Any, value: Any, given: dict[str, Any]) -> bool:
    """Tell whether a spreadsheet took a difference in the last digit for nothing, as it does."""
    if cell != 0 or not isinstance(value, float):
        return False
    sizes = [abs(one) for one in given.values() if isinstance(one, int | float)]
    return abs(value) <= 1e-15 * max(sizes, default=0.0)


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_formulas_agree_as_libreoffice_computes_them(tmp_path):
    """One workbook of all laws at all points, one recalculation."""
    import openpyxl

    book = tmp_path / "laws.xlsx"  # openpyxl writes no cached values: they must be computed
    wanted: list[tuple[str, dict[str, Any], Any]] = []
    target = openpyxl.Workbook()
    sheet = target.active
    for name, law in ALL.items():
        for given in points(law):
            arguments, values = keyed(given)
            node = Applied(law, arguments)
            text, row = node.formula, len(wanted) + 1
            for column, (key, value) in enumerate(values.items(), start=2):
                cell = sheet.cell(row, column, value)
                text = text.replace(f"{{{key}}}", cell.coordinate)
            sheet.cell(row, 1, f"={text}")
            wanted.append((name, given, node.compute(values.get)))
    target.save(book)
    done = _recalculated(book, tmp_path / "out")
    cells = openpyxl.load_workbook(done, data_only=True).worksheets[0]
    wrong = [
        f"{name} at {given}: {cells.cell(row, 1).value} instead of {value}"
        for row, (name, given, value) in enumerate(wanted, start=1)
        if not agree(cells.cell(row, 1).value, value, 1e-9)
        and not _last_digit(cells.cell(row, 1).value, value, given)
    ]
    assert not wrong, "\n".join(wrong[:20])


def _recalculated(book: Path, folder: Path) -> Path:
    folder.mkdir()
    subprocess.run(
        ["soffice", f"-env:UserInstallation=file://{folder}/profile", "--headless",
         "--convert-to", "xlsx", "--outdir", str(folder), str(book)],
        check=True, capture_output=True, timeout=300,
    )  # fmt: skip
    return folder / book.name
