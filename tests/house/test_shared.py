"""What the tests share for speed changes nothing in what they see."""

import io

import numpy as np
import openpyxl
import pytest
from msgspec import Struct
from openpyxl.styles import Border, Protection, Side
from openpyxl.worksheet.merge import MergedCellRange

from tests import memo, merged

THICK, THIN = Side("thick"), Side("thin")


class Sums(Struct, frozen=True):
    total: float
    parts: np.ndarray


def _book():
    book = openpyxl.Workbook()
    sheet = book.active
    for row, edges in enumerate(({}, {"top": THICK}, {"left": THIN, "bottom": THICK})):
        first = 1 + 3 * row
        sheet.cell(first, 1, "a").border = Border(**edges)
        sheet.cell(first, 1).protection = Protection(locked=row != 1)
        sheet.cell(first + 1, 3).border = Border(right=THICK, bottom=THIN)
        sheet.merge_cells(start_row=first, end_row=first + 1, start_column=1, end_column=3)
    content = io.BytesIO()
    book.save(content)
    return content


def _looks(content):
    sheet = openpyxl.load_workbook(content).active
    return {
        at: (type(cell).__name__, cell.value, repr(cell.border), repr(cell.protection))
        for at, cell in sheet._cells.items()
    }


def test_merged_cells_look_as_openpyxl_makes_them(monkeypatch):
    content = _book()
    monkeypatch.setattr(MergedCellRange, "format", merged.SLOW)
    slow = _looks(content)
    monkeypatch.setattr(MergedCellRange, "format", merged.look)
    assert _looks(content) == slow
    assert len({look[2] for look in slow.values()}) >= 5


def test_what_is_remembered_is_the_answer_to_the_same_numbers():
    asked = []

    @memo.remembered
    def summed(values, factor=1.0):
        asked.append(factor)
        return Sums(float(np.sum(values)) * factor, values * factor)

    first, again = summed(np.arange(3.0)), summed(np.arange(3.0))
    assert memo.plain(first) == memo.plain(again)
    assert asked == [1.0]
    again.parts[0] = 9.0  # nobody else's
    assert summed(np.arange(3.0)).parts[0] == 0.0
    assert summed(np.arange(3.0), factor=2.0).total == 6.0
    assert asked == [1.0, 2.0]


def test_a_function_that_answers_otherwise_is_told(monkeypatch):
    monkeypatch.setattr(memo, "CHECKED", 1)
    answers = iter((0.1 + 0.2, 0.3))
    other = memo.remembered(lambda: Sums(next(answers), np.zeros(1)))
    other()
    with pytest.raises(AssertionError):
        other()
