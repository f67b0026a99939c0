"""One block of a sheet: its column of names, and the columns that go with it."""

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.lab.read.headings import heading_role
from pretreat.lab.read.layout import labels_above
from pretreat.lab.read.report import Grid
from pretreat.lab.read.wording import folded

_MAY_HOLD_RESULTS = frozenset({"", "value", "sample", "site", "summary"})


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

    def known_from(self, above: "Table") -> None:
        """Take what heads results in the tables above for that here too, wherever it stands.

        A place that is blank on a later page would say nothing by its content.
        """
        for table in (*above.others, above):
            for column in table.role("value"):
                alike = [c for c in self.columns if folded(c.heading) == folded(column.heading)]
                if folded(column.heading) and len(alike) == 1 and not alike[0].role:
                    alike[0].role, alike[0].guessed = "value", column.guessed

    def contradicts(self, values: Sequence[int]) -> bool:
        """Tell headings that give every one of some columns another role than that of results."""
        roles = {c.index: c.role for c in self.columns}
        return all(roles.get(index, "") not in _MAY_HOLD_RESULTS for index in values)

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


_TEXT_ROLES = (
    "sample",
    "site",
    "activity",
    "date",
    "fraction",
    "basis",
    "qualifier",
    "condition",
    "limit_unit",
    "limit_type",
    "code",
    "detail",
    "detected",
    "nondetect",
    "remark_code",
    "filtered",
)
_KIND_ROLES = ("type", "value_type", "status", "statistic", "matrix", "media", "submedia")
# Columns that say something about a result which is not printed.
_SAYS_MORE = ("condition", "limit", "limit2", "detected", "nondetect", "remark_code")
# Of these, samples side by side may each have a column.
_OF_A_RESULT = ("qualifier", "condition", "detected", "nondetect", "remark_code", "limit_unit")


class Plan(Struct, frozen=True):
    """Which columns of a block hold what, worked out once for all its rows."""

    names: int
    values: tuple[Column, ...]
    units: Mapping[int, int]
    texts: Mapping[str, tuple[int, ...]]
    kinds: tuple[int, ...]
    limits: tuple[int, ...]
    loose: tuple[int, ...]  # columns that hold nothing which is used
    limit_units: Mapping[int, tuple[str, int]]  # in its heading, or the column that holds it
    more: tuple[int, ...]
    labels: Mapping[int, dict[str, str]]
    own: Mapping[int, "Plan"] = field(default_factory=dict)  # of a sample with columns of its own
    shared: tuple[str, ...] = ()  # roles of several columns of which none is a sample's own


def plan_of(grid: Grid, table: Table) -> Plan:
    """Return what the columns of a block hold.

    Parameters
    ----------
    grid : Grid
        The cells. [-]
    table : Table
        The block. [-]

    Returns
    -------
    Plan
        Columns by what they hold. [-]
    """
    held = {role: tuple(c.index for c in table.role(role)) for role in _TEXT_ROLES}
    plan = Plan(
        table.names,
        tuple(table.role("value")),
        unit_columns(table),
        {role: columns for role, columns in held.items() if columns},
        tuple(c.index for role in _KIND_ROLES for c in table.role(role)),
        tuple(_limit_columns(grid, table)),
        tuple(c.index for c in table.columns if c.role in {"", "other", "ignore"}),
        _limit_units(table),
        tuple(c.index for role in _SAYS_MORE for c in table.role(role)),
        labels_above(grid, table.first_row, [c.index for c in table.role("value")]),
    )
    return _with_own(plan, table)


def _with_own(plan: Plan, table: Table) -> Plan:
    """Return a plan in which samples side by side keep the marks and limits of their own."""
    values = [c.index for c in plan.values]
    texts = {role: plan.texts[role] for role in _OF_A_RESULT if role in plan.texts}
    if len(values) < 2:  # of those headed alike, some mark results that are not read
        return replace(plan, shared=tuple(r for r, c in texts.items() if table.headed_alike(c)))
    limits = [[c.index for c in table.role(role)] for role in ("limit", "limit2")]
    paired = {r: columns for r, columns in texts.items() if table.one_beside_each(values, columns)}
    apart = [columns for columns in limits if table.one_beside_each(values, columns)]
    shared = tuple(r for r, columns in texts.items() if r not in paired and len(columns) > 1)
    own = {}
    for n, value in enumerate(values):
        narrowed = {role: (columns[n],) for role, columns in paired.items()}
        mine = {columns[n] for columns in apart}
        others = {c for columns in apart for c in columns} - mine
        kept = tuple(c for c in plan.limits if c not in others)
        own[value] = replace(plan, texts={**plan.texts, **narrowed}, limits=kept)
    return replace(plan, own=own if paired or apart else {}, shared=shared)


def _limit_columns(grid: Grid, table: Table) -> list[int]:
    """Return the columns of detection limits, the one that "ND" refers to first."""
    first, second = table.role("limit"), table.role("limit2")
    text = " ".join(" ".join(row) for row in grid.rows[table.first_row :][-40:]).casefold()
    if second and (
        "at the rl" in text or "at the reporting limit" in text or "below the rl" in text
    ):
        first, second = second, first
    return [column.index for column in first + second]


def _limit_units(table: Table) -> dict[int, tuple[str, int]]:
    """Return for each column of detection limits the unit that it has of its own, if any."""
    taken = set(unit_columns(table).values())
    free = [c.index for c in table.role("unit") if c.index not in taken]
    limits = [*table.role("limit"), *table.role("limit2")]
    beside = {c.index: next((u for u in free if abs(u - c.index) == 1), -1) for c in limits}
    return {c.index: (c.unit, beside[c.index]) for c in limits}


def unit_columns(table: Table) -> dict[int, int]:
    """Return for each column of values the column of its units, or -1."""
    units = [column.index for column in table.role("unit")]
    numbers = [c.index for c in table.columns if c.role in {"value", "limit", "limit2", "ignore"}]
    before = len(units) > 1 and len(numbers) > 1 and units[0] < numbers[0] and units[1] > numbers[0]
    found: dict[int, int] = {}
    for column in table.role("value"):
        right = [u for u in units if u > column.index]
        left = [u for u in units if u < column.index]
        near = left[::-1] + right if before else right + left[::-1]
        found[column.index] = (near if len(units) > 1 else [*units, -1])[0]
    return found
