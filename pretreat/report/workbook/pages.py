"""Where everything stands in the workbook: study -> pages with rows, before a cell is written."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pretreat.core.basis import Figure, Series, Value
from pretreat.core.results import Study
from pretreat.core.units import US_CUSTOMARY, unit_shown
from pretreat.report.plots import SWEEP, chart_rows, design_row
from pretreat.report.workbook.layout import HEAD_PREFIXES, SHEETS, SHOWN_WITH, Sheet

GRID_CHARS = 13  # characters that fit in one grid column at the font of the body
MOST_SPAN = 5
FIRST_PART_ROW = 3  # below title, note and an empty row
CASES = ("low", "likely", "high")
MOST_ROWS = 26  # figures under one heading; more go under the same heading again
VALUE_COLUMN = 1
# Keys behind the amounts for the links between cells, and words for the pages to fill in by hand.
HIDDEN = {
    ("quote.lines", "figure"),
    ("quote.lines", "quantity_figure"),
    ("quote.lines", "packages_figure"),
    ("quote.lines", "price_figure"),
    ("settings.start_up", "card"),
    ("settings.shutdown", "card"),
    ("settings.stop", "card"),
    ("settings.record_sheet", "figure"),
    ("settings.record_sheet", "figure_us"),
    ("settings.by_recovery", "card"),
}


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table as shown: the series column behind it, or its US customary twin."""

    name: str
    heading: str
    unit: str
    source: int
    us: bool
    start: int
    span: int

    @property
    def end(self) -> int:
        """Last grid column covered."""
        return self.start + self.span - 1


@dataclass(frozen=True, slots=True)
class FigurePart:
    """Rows of figures under a heading."""

    heading: str
    keys: tuple[str, ...]
    top: int


@dataclass(frozen=True, slots=True)
class TablePart:
    """A series as a table; ``live_row`` is the row that interpolates at the recovery set."""

    series: Series
    columns: tuple[Column, ...]
    top: int
    head_row: int
    live_row: int | None
    first_row: int

    @property
    def last_row(self) -> int:
        """Row of the last point."""
        return self.first_row + len(self.series.rows) - 1

    def column(self, name: str) -> Column:
        """Return a column in the unit of the study by the name it has in the series."""
        return next(c for c in self.columns if c.name == name and not c.us)


@dataclass(frozen=True, slots=True)
class ChartPart:
    """Room for a chart."""

    name: str
    top: int


@dataclass(frozen=True, slots=True)
class CasesPart:
    """Rows of figures that come as low, likely and high; a single one stands as likely."""

    heading: str
    rows: tuple[tuple[str | None, ...], ...]
    top: int

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of the figures, in order."""
        return tuple(key for row in self.rows for key in row if key is not None)


Part = FigurePart | CasesPart | TablePart | ChartPart


@dataclass(frozen=True, slots=True)
class Page:
    """One sheet with its parts in place."""

    sheet: Sheet
    parts: tuple[Part, ...]
    bottom: int

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of the figures on the page, in order."""
        blocks = (part for part in self.parts if isinstance(part, FigurePart | CasesPart))
        return tuple(key for part in blocks for key in part.keys)

    @property
    def series(self) -> tuple[str, ...]:
        """Keys of the tables on the page, in order."""
        return tuple(part.series.key for part in self.parts if isinstance(part, TablePart))


@dataclass(frozen=True, slots=True)
class Place:
    """A cell: name of the sheet, row and column from zero."""

    sheet: str
    row: int
    column: int = VALUE_COLUMN


@dataclass(frozen=True, slots=True)
class Book:
    """All pages, and the cell in which each figure stands."""

    pages: tuple[Page, ...]
    places: Mapping[str, Place]
    tables: Mapping[str, tuple[str, TablePart]]


def arrange(study: Study, *, us: bool = False) -> Book:
    """Give every figure and series of a study its sheet and row.

    Parameters
    ----------
    study : Study
        The study. [-]
    us : bool
        True where tables show US customary twins of their columns. [-]

    Returns
    -------
    Book
        Pages that have something to show, in the order of the layout. [-]
    """
    figures, tables = _claims(study)
    pages = tuple(
        page for sheet in SHEETS if (page := _page(sheet, study, (figures, tables), us)) is not None
    )
    places: dict[str, Place] = {}
    homes: dict[str, tuple[str, TablePart]] = {}
    for page in pages:
        for part in page.parts:
            if isinstance(part, FigurePart):
                places |= {
                    key: Place(page.sheet.name, part.top + 1 + i) for i, key in enumerate(part.keys)
                }
            elif isinstance(part, CasesPart):
                places |= {
                    key: Place(page.sheet.name, part.top + 1 + i, VALUE_COLUMN + j)
                    for i, row in enumerate(part.rows)
                    for j, key in enumerate(row)
                    if key is not None
                }
            elif isinstance(part, TablePart):
                homes[part.series.key] = (page.sheet.name, part)
    return Book(pages, places, homes)


_Claims = Mapping[tuple[str, int], list[tuple[int, str]]]


def _claims(study: Study) -> tuple[_Claims, _Claims]:
    """Give figures and series to blocks: the longest prefix that fits wins."""
    figure_patterns, series_patterns = _patterns("figures"), _patterns("series")
    figures: dict[tuple[str, int], list[tuple[int, str]]] = {}
    tables: dict[tuple[str, int], list[tuple[int, str]]] = {}
    for figure in study.figures.values():
        if not _in_head(study, figure):
            _claim(figures, figure_patterns, figure.key)
    for key in study.series:
        _claim(tables, series_patterns, key)
    return figures, tables


def _in_head(study: Study, figure: Figure) -> bool:
    shown = (prefix for key, prefix in SHOWN_WITH.items() if key in study.series)
    number = isinstance(figure.value, float) or figure.formula is not None
    return figure.key.startswith((*HEAD_PREFIXES, *shown)) and not number


_Pattern = tuple[str, tuple[str, int], int]  # prefix, (sheet, block), rank inside the block


def _patterns(kind: str) -> tuple[_Pattern, ...]:
    found = [
        (prefix, (sheet.name, number), rank)
        for sheet in SHEETS
        for number, block in enumerate(sheet.blocks)
        for rank, prefix in enumerate(getattr(block, kind))
    ]
    return tuple(sorted(found, key=lambda p: -len(p[0])))


def _claim(
    claims: dict[tuple[str, int], list[tuple[int, str]]], patterns: tuple[_Pattern, ...], key: str
) -> None:
    for prefix, home, rank in patterns:
        if key.startswith(prefix):
            claims.setdefault(home, []).append((rank, key))
            return


def _page(sheet: Sheet, study: Study, claims: tuple[_Claims, _Claims], us: bool) -> Page | None:
    parts: list[Part] = []
    row = FIRST_PART_ROW
    for number, block in enumerate(sheet.blocks):
        home = (sheet.name, number)
        keys = tuple(k for _, k in sorted(claims[0].get(home, ()), key=lambda c: c[0]))
        if keys and block.cases:
            cases = CasesPart(block.heading, _by_case(keys), row)
            parts.append(cases)
            row += len(cases.rows) + 2
            keys = ()
        for heading, some in _chunks(block.heading, keys):
            parts.append(FigurePart(heading, some, row))
            row += len(some) + 2
        for _, key in sorted(claims[1].get(home, ()), key=lambda c: c[0]):
            part = _table(study, study.series[key], row, us)
            parts.append(part)
            row = part.last_row + 2
        room = chart_rows(block.chart, study)
        if room:
            parts.append(ChartPart(block.chart, row))
            row += room + 1
    shown = any(not isinstance(part, ChartPart) for part in parts)
    return Page(sheet, tuple(parts), row) if shown else None


def _by_case(keys: tuple[str, ...]) -> tuple[tuple[str | None, ...], ...]:
    """Set the keys that differ in their case alone side by side."""
    rows: dict[str, list[str | None]] = {}
    for key in keys:
        stem, _, case = key.rpartition("_")
        single = case not in CASES
        row = rows.setdefault(key if single else stem, [None] * len(CASES))
        row[CASES.index("likely" if single else case)] = key
    return tuple(tuple(row) for row in rows.values())


def _chunks(heading: str, keys: tuple[str, ...]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield a long block in parts of about the same length, so that none is longer than a page."""
    number = math.ceil(len(keys) / MOST_ROWS)
    for i in range(number):
        start, end = (len(keys) * j // number for j in (i, i + 1))
        yield heading + (" (more)" if i else ""), keys[start:end]


def _table(study: Study, series: Series, top: int, us: bool) -> TablePart:
    columns = columns_of(series, us)
    head_row = top + 1
    live = design_row(study, series.key) is not None and series.key.endswith(SWEEP)
    live_row = head_row + 1 if live else None
    return TablePart(series, columns, top, head_row, live_row, head_row + (2 if live else 1))


def columns_of(series: Series, us: bool) -> tuple[Column, ...]:
    """Return the columns of a table as shown, with the grid columns they cover.

    Parameters
    ----------
    series : Series
        The series. [-]
    us : bool
        True to set a US customary twin beside each column that has one. [-]

    Returns
    -------
    tuple of Column
        Columns from left to right. [-]
    """
    found: list[Column] = []
    start = 0
    for i, (name, unit) in enumerate(zip(series.columns, series.units, strict=True)):
        if (series.key, name) in HIDDEN:
            continue
        heading = series.headings[i] if series.headings else name.replace("_", " ")
        values = series.column(name)
        twins = [(unit, False)]
        measured = unit_shown(f"{series.key}.{name}", unit)
        if us and measured in US_CUSTOMARY and any(isinstance(v, float) for v in values):
            twins.append((US_CUSTOMARY[measured].unit, True))
        for shown_unit, twin in twins:
            span = 1 if i == 0 else _span(heading, values)
            found.append(Column(name, heading, shown_unit, i, twin, start, span))
            start += span
    return tuple(found)


def _span(heading: str, values: tuple[Value, ...]) -> int:
    longest = max((len(v) for v in values if isinstance(v, str)), default=0)
    word = max((len(w) for w in heading.split()), default=0)
    return max(1, min(math.ceil(max(longest + 2, word) / GRID_CHARS), MOST_SPAN))
