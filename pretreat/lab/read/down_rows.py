"""The rows of a block: one analyte each, with one or several samples or fractions beside it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from pretreat.lab.read.blocks import Column, Table
from pretreat.lab.read.layout import heading_unit, label_pairs, row_labels
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.report import Grid, PrintedResult
from pretreat.lab.read.unit_words import is_concentration
from pretreat.lab.read.wording import column_role, folded, words

_TEXT_ROLES = ("sample", "site", "activity", "date", "fraction", "basis", "qualifier", "condition",
    "limit_unit", "limit_type", "code", "detail", "detected", "nondetect",
    "remark_code", "filtered")  # fmt: skip
_KIND_ROLES = ("type", "value_type", "status", "statistic", "matrix", "media", "submedia")
# Columns that say something about a result which is not printed.
_SAYS_MORE = ("condition", "limit", "limit2", "detected", "nondetect", "remark_code")
LONGEST_LABEL = 80
_LABEL_ROWS = 60  # above a table; a sheet that starts lower is searched no further up


@dataclass(frozen=True, slots=True)
class Section:
    """What a heading inside a table says of the rows below it."""

    fraction: str = ""
    unit: str = ""

    def under(self, above: "Section", close: bool) -> "Section":
        """Return the section of a heading that stands right below another one."""
        return Section(self.fraction or above.fraction, self.unit or above.unit) if close else self


@dataclass(frozen=True, slots=True)
class Plan:
    """Which columns of a block hold what, worked out once for all its rows."""

    names: int
    values: tuple[Column, ...]
    units: Mapping[int, int]
    texts: Mapping[str, tuple[int, ...]]
    kinds: tuple[int, ...]
    limits: tuple[int, ...]
    more: tuple[int, ...]
    labels: Mapping[int, dict[str, str]]


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
    return Plan(
        table.names,
        tuple(table.role("value")),
        _unit_columns(table),
        {role: columns for role, columns in held.items() if columns},
        tuple(c.index for role in _KIND_ROLES for c in table.role(role)),
        tuple(_limit_columns(grid, table)),
        tuple(c.index for role in _SAYS_MORE for c in table.role(role)),
        _labels_above(grid, table),
    )


def read_rows(grid: Grid, table: Table) -> tuple[list[PrintedResult], list[str]]:
    """Return the results of a block, and the remarks that stand between them.

    Parameters
    ----------
    grid : Grid
        The cells. [-]
    table : Table
        The block. [-]

    Returns
    -------
    tuple of list
        Results and remarks. [-]
    """
    results: list[PrintedResult] = []
    notes: list[str] = []
    section = _section_above(grid, table)
    plan, last = plan_of(grid, table), -1  # the row of the last heading
    for row in range(table.first_row, len(grid.rows)):
        if _begins_another(grid, plan, row):
            notes.append(" ".join(cell for cell in grid.rows[row] if cell))
            continue
        values = [(c, grid.cell(row, c.index)) for c in plan.values]
        if not any(text for _, text in values) and not any(grid.cell(row, c) for c in plan.more):
            heading = _section_of(grid.rows[row])
            section = section if heading is None else heading.under(section, row - 1 == last)
            last = row if heading is not None else last
            notes.append(" ".join(cell for cell in grid.rows[row] if cell))
        elif grid.cell(row, plan.names) or "code" in plan.texts:
            said = _said(grid, plan, row, section)
            for column, text in values:
                if text or len(values) == 1:
                    results.append(_result(grid, plan, (row, column), said))
    return results, notes


def _begins_another(grid: Grid, plan: Plan, row: int) -> bool:
    """Take over the labels of another sample's table below the first; skip its headings."""
    if named_analyte(grid.cell(row, plan.names)).key:
        return False
    name = next((cell for cell in grid.rows[row] if cell), "")
    role = column_role(name.partition(":")[0].strip()) if len(name) < LONGEST_LABEL else ""
    if role == "name":
        return any(column_role(grid.cell(row, c.index)) for c in plan.values)
    said = row_labels(grid.rows[row]) if role in {"sample", "site"} else {}
    if role not in said:  # a date alone may be that of the analysis
        return False
    for column, labels in plan.labels.items():
        own = grid.cell(row, column) or said[role]
        labels.update({**said, role: own} | ({"own sample": own} if role == "sample" else {}))
    return True


def _said(grid: Grid, plan: Plan, row: int, section: Section) -> dict[str, str]:
    """Return what a row says beside its values."""
    said = {
        role: next((cell for c in columns if (cell := grid.cell(row, c))), "")
        for role, columns in plan.texts.items()
    }
    said["condition"] = _condition(said)
    said["limit"] = next((cell for c in plan.limits if (cell := grid.cell(row, c))), "")
    said["kind"] = " ".join(grid.cell(row, c) for c in plan.kinds).strip()
    filtered = folded(said.pop("filtered", ""))
    passed = "dissolved" if filtered in _YES else "total" if filtered in _NO else filtered
    said["fraction"] = said.get("fraction", "") or passed or section.fraction
    said["unit"] = section.unit
    return said


# SANDRE, the French exchange of water data (from memory); 1 is a result as printed.
_REMARK_CODES = {"2": "below detection limit", "3": "above saturation",
                 "7": "trace", "10": "below quantification limit"}  # fmt: skip
_NO, _YES = frozenset({"n", "no", "0", "false", "nd"}), frozenset({"y", "yes", "1", "true", "nd"})


def _condition(said: dict[str, str]) -> str:
    """Return the condition of a result in words, out of the columns that flag it."""
    detected, missed = said.pop("detected", ""), said.pop("nondetect", "")
    code = _REMARK_CODES.get(said.pop("remark_code", "").strip(), "")
    unseen = folded(detected) in _NO or folded(missed) in _YES or missed.strip() == "<"
    return said.get("condition", "") or code or ("not detected" if unseen else "")


def _result(
    grid: Grid, plan: Plan, at: tuple[int, Column], said: Mapping[str, str]
) -> PrintedResult:
    row, column = at
    name, labels = grid.cell(row, plan.names), plan.labels[column.index]
    own = labels["own sample"] or column.heading or labels["sample"]
    unit = grid.cell(row, plan.units[column.index]) or heading_unit(name, column.unit)
    if not unit and not named_analyte(name).unit:
        unit = heading_unit(name, said["unit"])
    found = {
        **said,
        "unit": unit,
        "fraction": column.fraction or said["fraction"],
        "detail": said.get("detail", "") or column.measured_in,
        "sample": said.get("sample", "") or own,
        "site": said.get("site", "") or labels["site"],
        "date": said.get("date", "") or labels["date"],
    }
    place, text = grid.place(row, column.index), grid.cell(row, column.index)
    return PrintedResult(place, name, text, **found)  # type: ignore[arg-type]


def _section_above(grid: Grid, table: Table) -> Section:
    """Return what the headings right above the first result announce."""
    named = [grid.cell(row, table.names) for row in range(table.top, table.first_row)]
    unit = next((unit for text in reversed(named) if (unit := _unit_in(text))), "")
    for row in range(table.first_row - 1, -1, -1):
        section = _section_of(grid.rows[row])
        if section is None:
            break
        if section != Section():
            return Section(section.fraction, section.unit or unit)
    return Section(unit=unit)


def _section_of(row: tuple[str, ...]) -> Section | None:
    """Return what a row says as a heading; None where it is no heading."""
    cells = [cell for cell in row if cell]
    if len(cells) != 1 or len(cells[0]) > 60 or named_analyte(cells[0]).key:
        return None
    parts = [folded(part) for part in re.split(r"[\s(),;:]+", cells[0])]
    fraction = next((f for f in ("dissolved", "total") if words(f) & set(parts)), "")
    return Section(fraction, _unit_in(cells[0]))


def _unit_in(text: str) -> str:
    """Return the unit in the brackets or behind the comma that end a heading."""
    found = re.search(r"(?:[\[(]|,\s)([^()\[\],]+)[\])]?\s*:?$", text)
    unit = found.group(1).strip() if found else ""
    return unit if unit and is_concentration(unit) else ""


def _limit_columns(grid: Grid, table: Table) -> list[int]:
    """Return the columns of detection limits, the one that "ND" refers to first."""
    first, second = table.role("limit"), table.role("limit2")
    text = " ".join(" ".join(row) for row in grid.rows[table.first_row :][-40:]).casefold()
    if second and (
        "at the rl" in text or "at the reporting limit" in text or "below the rl" in text
    ):
        first, second = second, first
    return [column.index for column in first + second]


def _labels_above(grid: Grid, table: Table) -> dict[int, dict[str, str]]:
    """Return sample, site and date of each value column from the labelled rows above.

    A row such as "Sample ID | | LW-1 | LW-2" speaks of each column; a pair such as
    "Site: | Harrow" of all of them.
    """
    columns = [c.index for c in table.role("value")]
    own: dict[int, dict[str, str]] = {c: {"sample": "", "site": "", "date": ""} for c in columns}
    for row in range(max(table.first_row - _LABEL_ROWS, 0), table.first_row):
        texts = {c: text for c in columns if (text := grid.cell(row, c))}
        heads = (column_role(cell.rstrip(" :")) for cell in grid.rows[row][: min(columns)])
        role = next((r for r in heads if r), "")
        if role not in {"sample", "site", "date"} or len(texts) < 2:
            continue
        for column, text in texts.items():
            own[column][role] = f"{own[column][role]} {text}".strip()
    shared = label_pairs(grid, table.first_row)
    return {
        column: {
            **{role: text or shared.get(role, "") for role, text in said.items()},
            "own sample": said["sample"],
        }
        for column, said in own.items()
    }


def _unit_columns(table: Table) -> dict[int, int]:
    """Return for each column of values the column of its units, or -1."""
    units = [column.index for column in table.role("unit")]
    found: dict[int, int] = {}
    for column in table.role("value"):
        right = [u for u in units if u > column.index]
        left = [u for u in units if u < column.index]
        several = len(units) > 1
        found[column.index] = (right + left[::-1] if several else [*units, -1])[0]
    return found
