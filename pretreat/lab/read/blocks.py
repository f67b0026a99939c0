"""One block of a sheet: its column of names, and the columns that go with it."""

import re
from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct, field

from pretreat.lab.read.headings import heading_role
from pretreat.lab.read.wording import folded


class Column(Struct):
    """A column with its role and what its headings say."""

    index: int
    role: str = ""
    heading: str = ""
    unit: str = ""
    fraction: str = ""
    measured_in: str = ""
    guessed: bool = False  # a column of results by nothing but its content
    exact: bool = False  # its whole heading is known, not only words of it


class Table(Struct):
    """One block of a grid: a column of names and the columns that go with it."""

    names: int
    first_row: int
    top: int = 0  # where its headings begin; what stands above are remarks
    columns: list[Column] = field(default_factory=list)
    headed_below: bool = False  # its headings stand below its first rows
    headings: tuple[tuple[str, ...], ...] = ()  # the rows of them, top first
    others: list["Table"] = field(default_factory=list)  # under other headings further down

    def role(self, role: str) -> list[Column]:
        """Return the columns of one role."""
        return [column for column in self.columns if column.role == role]

    def one_beside_each(self, values: Sequence[int], columns: Sequence[int]) -> bool:
        """Tell columns of one heading of which one stands before each sample, or behind each.

        Under "Mark", "Well 4", "Q", "Well 7" both marks may be those of Well 4.
        """
        if len(columns) != len(values) or not self.headed_alike(columns):
            return False
        behind = all(a < b for a, b in zip(values, columns, strict=True))
        before = all(a > b for a, b in zip(values, columns, strict=True))
        order = sorted([*values, *columns])
        between = all((a in values) != (b in values) for a, b in pairwise(order))
        return (behind or before) and between

    def headed_alike(self, columns: Sequence[int]) -> bool:
        """Tell several columns whose lowest headings that say what they hold are the same."""
        if len(columns) < 2:
            return False
        for row in reversed(self.headings):
            texts = [row[c] if c < len(row) else "" for c in columns]
            if any(map(heading_role, texts)):
                return len({re.sub(r"\d", "", folded(text)) for text in texts}) == 1
        return True
