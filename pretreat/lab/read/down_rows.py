"""The rows of a block: one analyte each, with one or several samples or fractions beside it."""

import re
from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct, field

from pretreat.core.text import lazy
from pretreat.lab.read.blocks import Column, Plan, Table, plan_of
from pretreat.lab.read.controls import (
    QUALITY_CONTROL,
    is_control_cell,
    names_a_control_section,
)
from pretreat.lab.read.footnotes import basis_of, number_for_mark, stray_sign, unit_of_limit
from pretreat.lab.read.formats.words import NEVER_RESULTS
from pretreat.lab.read.headings import (
    conductivity_in_heading,
    heading_role,
    may_head,
    names_a_sample,
    tells_when_taken,
    unit_in_heading,
)
from pretreat.lab.read.layout import heading_unit, looks_numeric, row_labels
from pretreat.lab.read.limit_notes import limit_beside
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Grid, PrintedResult, column_letters
from pretreat.lab.read.unit_words import are_other_kinds, is_ditto, is_unit
from pretreat.lab.read.wording import column_role, folded, words

_UNSEEN = lazy(r"[<>≤≥]|(?:ND|U|UJ|BDL)$")
_NO_RESULTS = "the headings above it give no column of results"
_NAMING = ("sample", "site", "activity")
LONGEST_LABEL = 80


class Section(Struct, frozen=True):
    """What a heading inside a table says of the rows below it."""

    fraction: str = ""
    unit: str = ""
    inside: bool = False  # said below the headings of the columns, and so in their place
    lone: bool = False  # a unit without a word, which may be that of one column

    def under(self, above: "Section", close: bool) -> "Section":
        """Return the section of a heading that stands right below another one."""
        if not close:
            return Section(self.fraction, self.unit, True, self.lone)
        unit, lone = (self.unit, self.lone) if self.unit else (above.unit, above.lone)
        return Section(self.fraction or above.fraction, unit, True, lone)


def read_rows(
    grid: Grid, table: Table, table_at: Callable[[int], Table]
) -> tuple[list[PrintedResult], list[str]]:
    """Return the results of a block, and the remarks that stand between them.

    Parameters
    ----------
    grid : Grid
        The cells. [-]
    table : Table
        The block. [-]
    table_at : callable
        Gives the columns as a row of headings further down heads them. [-]

    Returns
    -------
    tuple of list
        Results and remarks. [-]
    """
    rows = _Rows(
        grid, plan_of(grid, table), _section_above(grid, table), table_at, table.headed_below
    )
    rows.headings = table.headings
    rows.dated = _dated(grid, rows.plan, table.first_row)
    for row in range(table.first_row, len(grid.rows)):
        rows.read(row)
    return rows.results, rows.notes


class _Rows(Struct):
    """The rows of a block while they are read, one after the other."""

    grid: Grid
    plan: Plan
    section: Section
    table_at: Callable[[int], Table]
    headed_below: bool = False
    results: list[PrintedResult] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    heading: int = -1  # the row of the last heading
    name_only: tuple[int, str] = (-1, "")  # the last row that holds but the start of a name
    control: bool = False  # below the heading of the lab's own quality control
    controlled: int = -1  # the row of that heading
    joined: int = -1  # a row that belongs to the name above it
    headings: tuple[tuple[str, ...], ...] = ()  # of the first rows
    mistrusted: str = ""  # why the columns may not be those of the first rows
    dated: int = -1  # a row that says when the samples were taken

    def read(self, row: int) -> None:
        """Read one row."""
        if row in (self.joined, self.dated):
            return
        grid, plan = self.grid, self.plan
        if self._heads_again(row) or _begins_another(grid, plan, row):
            self.control = self.control and row - 1 == self.controlled
            self._note(row)
        elif not self._unheaded(row):
            self._read_result(row)

    def _read_result(self, row: int) -> None:
        """Read a row under headings that are known."""
        grid, plan = self.grid, self.plan
        values = [(c, grid.cell(row, c.index)) for c in plan.values]
        blank = not any(text for _, text in values)
        if blank and not any(grid.cell(row, c) for c in plan.more) and not self._unread(row):
            self._without_result(row)
        elif grid.cell(row, plan.names) or "code" in plan.texts:
            name = self._name(row)
            said = _said(grid, plan, row, self.section)
            said["kind"] = f"{said['kind']} {QUALITY_CONTROL if self.control else ''}".strip()
            if self.headed_below:
                said["doubt"] = said["doubt"] or "the headings of its columns stand further down"
            said["doubt"] = said["doubt"] or self.mistrusted
            # where a line can be cut otherwise, a blank of one sample may be no blank
            any_of = len(values) == 1 or self._unread(row)
            for column, text in values:
                if text or any_of:
                    own = self._own(row, column.index, said)
                    self.results.append(_result(grid, plan, (row, column), (name, own)))

    def _unheaded(self, row: int) -> bool:
        """Note an analyte with numbers beside it of which none is headed as a result."""
        names, cells = self.plan.names, enumerate(self.grid.rows[row])
        name = self.grid.cell(row, names)
        if self.plan.values or not named_analyte(name).key:
            return False
        if not any(looks_numeric(cell) for n, cell in cells if n != names):
            return False
        place = self.grid.place(row, names)
        self.results.append(PrintedResult(place, name, "", doubt=_NO_RESULTS))
        return True

    def _unread(self, row: int) -> bool:
        """Tell a line of an analyte that can be cut otherwise, so that it may hold a result."""
        named = self.grid.from_text and row in self.grid.doubts
        return named and bool(named_analyte(self.grid.cell(row, self.plan.names)).key)

    def _own(self, row: int, column: int, said: dict[str, str]) -> dict[str, str]:
        """Return what a row says of one of several samples, with the marks of its own."""
        plan = self.plan
        if plan.own:
            mine = _said(self.grid, plan.own[column], row, self.section)
            return {**mine, "kind": said["kind"], "doubt": said["doubt"] or mine["doubt"]}
        marked = any(self.grid.cell(row, c) for role in plan.shared for c in plan.texts[role])
        several = sum(bool(self.grid.cell(row, c.index)) for c in plan.values) > 1
        unseen = several and _UNSEEN.match(said.get("qualifier", "").strip())
        if (marked or unseen) and not said["doubt"]:
            return {**said, "doubt": "it is not sure which of the results its mark belongs to"}
        return said

    def _note(self, row: int) -> None:
        self.notes.append(" ".join(cell for cell in self.grid.rows[row] if cell))

    def _without_result(self, row: int) -> None:
        section = _section_of(self.grid.rows[row])
        if section is not None:
            self.control = names_a_control_section(self.grid.rows[row])
            self.controlled = row
            self.section = section.under(self.section, row - 1 == self.heading)
            self.heading = row
        if sum(bool(cell) for cell in self.grid.rows[row]) == 1:
            self.name_only = (row, self.grid.cell(row, self.plan.names))
        if not self._left_blank(row):
            self._note(row)

    def _left_blank(self, row: int) -> bool:
        """Tell a row whose result is not printed from a sentence: its unit stands in its column."""
        units = [self.grid.cell(row, c) for c in self.plan.units.values() if c >= 0]
        named = named_analyte(self.grid.cell(row, self.plan.names)).key
        return bool(named) and any(is_unit(unit) for unit in units if unit)

    def _heads_again(self, row: int) -> bool:
        """Take over the columns of a row of headings further down, with their units."""
        cells = self.grid.rows[row]
        at = [self.grid.cell(row, c.index) for c in self.plan.values]
        names = self.grid.cell(row, self.plan.names)
        if not self._says_the_same(cells):
            if named_analyte(names).key or not (any(at) or column_role(names) == "name"):
                return False
            if any(looks_numeric(cell) and not may_head(cell) for cell in cells if cell):
                return False
            roles = [heading_role(cell) for cell in cells if cell]
            if len([r for r in roles if r]) < 2 or not {"value", "name"} & set(roles):
                self._mistrust(at, roles)
                return False
        table = self.table_at(row)
        if not (table.role("value") or table.contradicts([c.index for c in self.plan.values])):
            return False
        plan, labels = plan_of(self.grid, table), self.plan.labels
        for index, own in plan.labels.items():
            above = labels.get(index) or next(iter(labels.values()), own)
            own.update({key: own[key] or text for key, text in above.items()})
        self.plan = plan
        self.headed_below, self.mistrusted = False, ""
        unit = unit_in_heading(self.grid.cell(row, plan.names))
        self.section = Section(self.section.fraction, unit)
        return True

    def _says_the_same(self, cells: Sequence[str]) -> bool:
        """Tell the headings of the first rows once more, also in another order."""
        said = sorted(cell for cell in cells if cell)
        return len(said) > 1 and any(said == sorted(filter(None, row)) for row in self.headings)

    def _mistrust(self, at: Sequence[str], roles: Sequence[str]) -> None:
        """Note words above the results below that may head them otherwise."""
        words = any(printed_number(cell).kind == "word" or may_head(cell) for cell in at if cell)
        if words and len(roles) > 1 and {"unit", *NEVER_RESULTS} & set(roles):
            self.mistrusted = "the row above it may head its columns otherwise"

    def _name(self, row: int) -> str:
        """Return the name of a row, put together with the rest of it above or below."""
        grid, names = self.grid, self.plan.names
        name = grid.cell(row, names)
        above, start = self.name_only
        if above == row - 1 and start and not named_analyte(name).key:
            whole = f"{start} {name}"
            if named_analyte(whole).key:
                return whole
        below = grid.cell(row + 1, names) if row + 1 < len(grid.rows) else ""
        alone = below and sum(bool(cell) for cell in grid.rows[row + 1]) == 1
        opened = name.count("(") > name.count(")") or below.startswith("(") or name.endswith(",")
        whole = f"{name} {below}"
        if alone and opened and len(below) < LONGEST_LABEL and named_analyte(whole).key:
            self.joined = row + 1
            return whole
        return name


def _dated(grid: Grid, plan: Plan, first: int) -> int:
    """Return the one row among results that says when samples were taken, and label them so."""
    rows = range(first, len(grid.rows))
    found = [n for n in rows if tells_when_taken(grid.cell(n, plan.names))]
    held = {c: text for n in found for c in plan.labels if (text := grid.cell(n, c))}
    if len(found) != 1 or not all(any(map(str.isdigit, text)) for text in held.values()):
        return -1
    for column, text in held.items():
        plan.labels[column]["date"] = plan.labels[column]["date"] or text
    return found[0] if held else -1


def _begins_another(grid: Grid, plan: Plan, row: int) -> bool:
    """Take over the labels of another sample's table below the first; skip its headings."""
    if named_analyte(grid.cell(row, plan.names)).key:
        return False
    name = next((cell for cell in grid.rows[row] if cell), "")
    role = column_role(name.partition(":")[0].strip()) if len(name) < LONGEST_LABEL else ""
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
    said["basis"], unlike = basis_of(said.get("basis", ""), grid.rows[row], plan.names)
    at = next((c for c in plan.limits if grid.cell(row, c)), -1)
    said["limit"] = grid.cell(row, at) if at >= 0 else limit_beside(grid.rows[row])
    if at >= 0 and any(grid.cell(row, c.index) for c in plan.values):
        unit, beside = plan.limit_units[at]
        own = unit or (_unit_at(grid, row, beside) if beside >= 0 else "")
        said["limit_unit"] = said.get("limit_unit", "") or own
    said["kind"] = " ".join(
        [grid.cell(row, c) for c in plan.kinds] + [c for c in grid.rows[row] if is_control_cell(c)]
    ).strip()
    marks = said.get("qualifier", "").strip()
    said["doubt"] = grid.doubts.get(row, "") or number_for_mark(marks) or unlike
    if grid.from_text and not said["doubt"]:
        used = {plan.names, *(c.index for c in plan.values)}
        text = grid.texts[row] if grid.texts else ""
        said["doubt"] = stray_sign(grid.rows[row], used, plan.loose, text)
    about = [grid.cell(row, c) for role in _NAMING for c in plan.texts.get(role, ())]
    said["about"] = " ".join(dict.fromkeys(cell for cell in about if cell))
    said["line"] = grid.line(row)
    filtered = folded(said.pop("filtered", ""))
    passed = "dissolved" if filtered in _YES else "total" if filtered in _NO else filtered
    said["fraction"] = said.get("fraction", "") or passed or section.fraction
    said["unit"] = section.unit
    said["later unit"] = section.unit if section.inside else ""
    said["lone unit"] = section.unit if section.lone else ""
    return said


# SANDRE, the French exchange of water data (from memory); 1 is a result as printed.
_REMARK_CODES = {
    "2": "below detection limit",
    "3": "above saturation",
    "7": "trace",
    "10": "below quantification limit",
}
_NO, _YES = frozenset({"n", "no", "0", "false", "nd"}), frozenset({"y", "yes", "1", "true", "nd"})


def _condition(said: dict[str, str]) -> str:
    """Return the condition of a result in words, out of the columns that flag it."""
    detected, missed = said.pop("detected", ""), said.pop("nondetect", "")
    code = _REMARK_CODES.get(said.pop("remark_code", "").strip(), "")
    unseen = folded(detected) in _NO or folded(missed) in _YES or missed.strip() == "<"
    return said.get("condition", "") or code or ("not detected" if unseen else "")


def _result(
    grid: Grid, plan: Plan, at: tuple[int, Column], row_says: tuple[str, Mapping[str, str]]
) -> PrintedResult:
    row, column = at
    name, said = row_says
    labels = plan.labels[column.index]
    own = labels["own sample"] or column.heading or labels["sample"]
    unit = _unit_at(grid, row, plan.units[column.index]) or (
        heading_unit(name, said["later unit"] or column.unit)
    )
    if not unit and not named_analyte(name).unit:
        unit = heading_unit(name, said["unit"])
    wells = len(plan.values) > 1 and names_a_sample(own)  # which a number of the lab goes beside
    guessed = column.guessed and not labels["own sample"]
    if guessed and not own and len(plan.values) > 1:
        own = f"column {column_letters(column.index)}"
    place, text = grid.place(row, column.index), grid.cell(row, column.index)
    noted = unit_of_limit(text, said, unit) or _not_of_all(column.unit, said["lone unit"])
    found = {
        **{key: text for key, text in said.items() if key not in {"later unit", "lone unit"}},
        "unit": unit,
        "column": f"{column_letters(column.index)} '{column.heading}'".removesuffix(" ''"),
        "fraction": column.fraction or said["fraction"],
        "doubt": said["doubt"] or _other_unit(column.unit, unit or said["later unit"]) or noted,
        "detail": said.get("detail", "") or column.measured_in,
        "sample": f"{said.get('sample', '')} {own if wells else ''}".strip() or own,
        "about": " ".join(dict.fromkeys([said["about"], own, labels["site"]])).strip(),
        "site": said.get("site", "") or labels["site"],
        "date": said.get("date", "") or labels["date"],
    }
    return PrintedResult(place, name, text, guessed=guessed, **found)  # type: ignore[arg-type]


def _other_unit(heading: str, section: str) -> str:
    """Return a doubt where a column of equivalents is given a unit of mass beside it."""
    if are_other_kinds(heading, section):
        return f"its column is headed {heading}, and {section} is printed for it"
    return ""


def _not_of_all(heading: str, lone: str) -> str:
    """Return a doubt where a unit alone on a line is not that of the heading above it."""
    if heading and lone and folded(heading) != folded(lone):
        return f"its column is headed {heading}, and {lone} stands alone on a line above it"
    return ""


def _unit_at(grid: Grid, row: int, column: int) -> str:
    """Return the unit of a row; a mark that repeats stands for the last one above it."""
    if column < 0:
        return ""
    above = (grid.cell(n, column) for n in range(row, -1, -1))
    return next((text for text in above if not (text and is_ditto(text))), "")


def _section_above(grid: Grid, table: Table) -> Section:
    """Return what the headings right above the first result announce."""
    named = [grid.cell(row, table.names) for row in range(table.top, table.first_row)]
    unit = next((unit for text in reversed(named) if (unit := unit_in_heading(text))), "")
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
    if len(cells) != 1 or len(cells[0]) > LONGEST_LABEL:
        return None
    unit = unit_in_heading(cells[0]) or conductivity_in_heading(cells[0])
    if named_analyte(cells[0]).key and not unit:
        return None
    parts = [folded(part) for part in re.split(r"[\s(),;:]+", cells[0])]
    fraction = next((f for f in ("dissolved", "total") if words(f) & set(parts)), "")
    return Section(fraction, unit, lone=bool(unit) and is_unit(cells[0].strip("[] ")))
