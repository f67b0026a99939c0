"""Where everything stands in the workbook: study -> pages with rows, before a cell is written."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Figure, Series, Value
from pretreat.core.results import Study
from pretreat.core.units import US_CUSTOMARY, unit_shown
from pretreat.report.plots import SWEEP, chart_rows, design_row
from pretreat.report.text.us_words import in_us_words
from pretreat.report.workbook.layout import HEAD_PREFIXES, ON_QUOTE, SHEETS, SHOWN_WITH, Sheet

GRID_CHARS = 14  # characters that fit in one grid column at the font of the body
MOST_SPAN = 5
MARK_COLUMN, LABEL_COLUMN, VALUE_COLUMN = 0, 1, 2
PRINT_LAST = 10  # last column on paper; tags, evidence and method stand beside it on the screen
FIRST_PART_ROW = 4  # below title, heads of the columns, note and what was changed
SI_COLUMN = PRINT_LAST + 1  # of a value shown in US customary units on paper
CASES = ("low", "likely", "high")
MOST_ROWS = 200  # figures under one heading
# Long tables to choose from or to trace by: they stay on the screen.
BULK = frozenset(
    {
        "iron_filter.options",
        "softener.options",
        "softener.dose_options",
        "carbon.options",
        "scaling.sweep",
        "untreated.scaling.sweep",
        "tanks.levels",
        "settings.by_recovery",
        "settings.osmotic",
        "settings.record_sheet",
        "train.disagreements",
        "train.recovery_cost",
        "train.flips",
        "softener.improvements",
        "train.membrane_checks",
        "quote.lines",
        "samples.each",
        "settings.start_up",
        "settings.shutdown",
        "settings.stop",
        "settings.careful",
        "compare.why",
        "media_life.mechanisms",
        "quote.years",
    }
)
# Keys behind the amounts for the links between cells, and words for the pages to fill in by hand.
HIDDEN = {
    (
        "train.choices",
        "rank",
    ),  # the rows stand in this order, and a reason says what is not feasible
    ("train.choices", "feasible"),
    ("train.choices", "capital"),
    ("train.choices", "waste_m3_per_year"),
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


class Column(Struct, frozen=True):
    """A column of a table as shown: the series column behind it, in US customary units or not."""

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


class FigurePart(Struct, frozen=True):
    """Rows of figures under a heading."""

    heading: str
    keys: tuple[str, ...]
    top: int


class TablePart(Struct, frozen=True):
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
        """Return a column by the name it has in the series."""
        return next(c for c in self.columns if c.name == name)


class ChartPart(Struct, frozen=True):
    """Room for a chart."""

    name: str
    top: int


class CasesPart(Struct, frozen=True):
    """Rows of figures that come as low, likely and high; a single one stands as likely."""

    heading: str
    rows: tuple[tuple[str | None, ...], ...]
    top: int

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of the figures, in order."""
        return tuple(key for row in self.rows for key in row if key is not None)


Part = FigurePart | CasesPart | TablePart | ChartPart


class Page(Struct, frozen=True):
    """One sheet with its parts in place."""

    sheet: Sheet
    parts: tuple[Part, ...]
    bottom: int
    on_paper: int  # parts that print; the others follow on the screen

    @property
    def printed(self) -> int:
        """Row below the last part that prints."""
        left = self.parts[self.on_paper :]
        return left[0].top if left else self.bottom

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of the figures on the page, in order."""
        blocks = (part for part in self.parts if isinstance(part, FigurePart | CasesPart))
        return tuple(key for part in blocks for key in part.keys)

    @property
    def series(self) -> tuple[str, ...]:
        """Keys of the tables on the page, in order."""
        return tuple(part.series.key for part in self.parts if isinstance(part, TablePart))


class Place(Struct, frozen=True):
    """A cell: name of the sheet, row and column from zero."""

    sheet: str
    row: int
    column: int = VALUE_COLUMN


class Book(Struct, frozen=True):
    """All pages, and the cell in which each figure stands."""

    pages: tuple[Page, ...]
    places: Mapping[str, Place]
    tables: Mapping[str, tuple[str, TablePart]]
    shown_us: frozenset[str] = frozenset()  # figures that show in US units beside their cell

    def shown(self, key: str) -> Place:
        """Return the cell in which a reader sees a figure, and types it where it is an input."""
        place = self.places[key]
        return replace(place, column=VALUE_COLUMN) if key in self.shown_us else place


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
    twins: set[str] = set()
    for page in pages:
        for part in page.parts:
            if isinstance(part, FigurePart):
                twins |= {key for key in part.keys if us and has_us_twin(study[key])}
                for row, key in enumerate(part.keys, start=part.top + 1):
                    column = SI_COLUMN if key in twins else VALUE_COLUMN
                    places[key] = Place(page.sheet.name, row, column)
            elif isinstance(part, CasesPart):
                places |= {
                    key: Place(page.sheet.name, part.top + 1 + i, VALUE_COLUMN + j)
                    for i, row in enumerate(part.rows)
                    for j, key in enumerate(row)
                    if key is not None
                }
            elif isinstance(part, TablePart):
                homes[part.series.key] = (page.sheet.name, part)
    return Book(pages, places, homes, frozenset(twins))


def has_us_twin(figure: Figure) -> bool:
    """Tell whether a figure has a value that is shown otherwise in US customary units.

    Parameters
    ----------
    figure : Figure
        The figure. [-]

    Returns
    -------
    bool
        True for a number, or a blank input, of a unit with a twin. [-]
    """
    measured = unit_shown(figure.key, figure.unit)
    return measured in US_CUSTOMARY and not isinstance(figure.value, str) and figure.below is None


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
        if key in ON_QUOTE:
            continue
        _claim(tables, series_patterns, key)
    return figures, tables


def _in_head(study: Study, figure: Figure) -> bool:
    if isinstance(figure.value, float) or figure.formula is not None:
        return False
    shown = (prefix for key, prefix in SHOWN_WITH.items() if key in study.series)
    return figure.key.startswith((*HEAD_PREFIXES, *shown))


_Home = tuple[tuple[str, int], int]  # (sheet, block), rank inside the block
_Patterns = Mapping[int, Mapping[str, _Home]]  # by length of the prefix, longest first


def _patterns(kind: str) -> _Patterns:
    found: dict[int, dict[str, _Home]] = {}
    for sheet in SHEETS:
        for number, block in enumerate(sheet.blocks):
            for rank, prefix in enumerate(getattr(block, kind)):
                alike = found.setdefault(len(prefix), {})
                alike.setdefault(prefix, ((sheet.name, number), rank))
    return dict(sorted(found.items(), reverse=True))


def _claim(
    claims: dict[tuple[str, int], list[tuple[int, str]]], patterns: _Patterns, key: str
) -> None:
    for length, alike in patterns.items():
        found = alike.get(key[:length])
        if found is not None:
            home, rank = found
            claims.setdefault(home, []).append((rank, key))
            return


def _page(sheet: Sheet, study: Study, claims: tuple[_Claims, _Claims], us: bool) -> Page | None:
    """Set the parts of a sheet one below the other, those that print first."""
    found: list[tuple[bool, _Placing]] = []
    for number, block in enumerate(sheet.blocks):
        home = (sheet.name, number)
        keys = tuple(k for _, k in sorted(claims[0].get(home, ()), key=lambda c: c[0]))
        off = block.screen
        if keys and block.cases:
            rows = _by_case(keys)
            found.append((off, partial(_cases_at, block.heading, rows)))
            keys = ()
        found += [(off, partial(_figures_at, *some)) for some in _chunks(block.heading, keys)]
        for _, key in sorted(claims[1].get(home, ()), key=lambda c: c[0]):
            series = study.series[key]
            columns = columns_of(series, us)
            wide = columns[-1].end > PRINT_LAST
            found.append((off or wide or key in BULK, partial(_table_at, study, series, columns)))
        room = chart_rows(block.chart, study)
        if room:
            found.append((off, partial(_chart_at, block.chart, room)))
    parts: list[Part] = []
    row = FIRST_PART_ROW
    for _, place in sorted(found, key=lambda f: f[0]):
        part, below = place(row)
        parts.append(part)
        row = below
    shown = any(not isinstance(part, ChartPart) for part in parts)
    return Page(sheet, tuple(parts), row, sum(not off for off, _ in found)) if shown else None


_Placing = Callable[[int], tuple[Part, int]]


def _cases_at(heading: str, rows: tuple[tuple[str | None, ...], ...], top: int) -> tuple[Part, int]:
    return CasesPart(heading, rows, top), top + len(rows) + 2


def _figures_at(heading: str, keys: tuple[str, ...], top: int) -> tuple[Part, int]:
    return FigurePart(heading, keys, top), top + len(keys) + 1


def _table_at(
    study: Study, series: Series, columns: tuple[Column, ...], top: int
) -> tuple[Part, int]:
    part = _table(study, series, columns, top)
    return part, part.last_row + 2


def _chart_at(name: str, room: int, top: int) -> tuple[Part, int]:
    return ChartPart(name, top), top + room + 1


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


def _table(study: Study, series: Series, columns: tuple[Column, ...], top: int) -> TablePart:
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
    for i, (name, unit) in enumerate(zip(series.columns, series.units, strict=True)):
        if (series.key, name) in HIDDEN:
            continue
        heading = series.headings[i] if series.headings else name.replace("_", " ")
        values = series.column(name)
        measured = unit_shown(f"{series.key}.{name}", unit)
        turned = us and measured in US_CUSTOMARY and any(isinstance(v, float) for v in values)
        span = 1 if not found else _span(heading, values)
        shown = US_CUSTOMARY[measured].unit if turned else in_us_words(unit) if us else unit
        found.append(Column(name, heading, shown, i, turned, LABEL_COLUMN, span))
    longest = [_longest(series.column(column.name)) for column in found]
    return _side_by_side(found, longest)


def _side_by_side(columns: list[Column], longest: Sequence[int]) -> tuple[Column, ...]:
    """Set columns beside one another; where all would not fit, that of least words gives way."""
    spans = [c.span for c in columns]
    while sum(spans) > PRINT_LAST and max(spans) > 1:
        lines = {i: longest[i] / (span - 1) for i, span in enumerate(spans) if span > 1}
        spans[min(lines, key=lambda i: (lines[i], -spans[i]))] -= 1
    starts = (LABEL_COLUMN + sum(spans[:i]) for i in range(len(spans)))
    return tuple(
        replace(column, start=start, span=span)
        for column, start, span in zip(columns, starts, spans, strict=True)
    )


def _longest(values: tuple[Value, ...]) -> int:
    return max((len(v) for v in values if isinstance(v, str)), default=0)


def _span(heading: str, values: tuple[Value, ...]) -> int:
    longest = _longest(values)
    word = max((len(w) for w in heading.split()), default=0)
    return max(1, min(math.ceil(max(longest + 2, word) / GRID_CHARS), MOST_SPAN))
