"""A lab report exactly as printed, before anything is made of it."""

from collections.abc import Mapping, Sequence
from functools import lru_cache

from msgspec import Struct, field

from pretreat.core.basis import Level

Guess = tuple[Level, str]  # how grave, and what had to be guessed


class DateCell(str):
    """The text of a spreadsheet cell that holds a date; in a result column, a damaged number."""

    __slots__ = ()


class FormulaCell(str):
    """The text of a formula whose value was never stored in the file."""

    __slots__ = ()


class Grid(Struct, frozen=True):
    """A sheet or a text file as rows of cells, each row with its place in the file.

    ``spans`` holds merged cells of one row: row, first column, last column (from 0).
    """

    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    sheet: str = ""
    spans: tuple[tuple[int, int, int], ...] = ()
    remarks: tuple[str, ...] = ()
    from_text: bool = False
    doubts: Mapping[int, str] = field(default_factory=dict)  # row: why its cutting is a guess
    guesses: tuple[Guess, ...] = ()  # level and text of what had to be guessed
    pages: tuple[int, ...] = ()  # of each row, where there are pages
    texts: tuple[str, ...] = ()  # of each row, the line that it was cut from
    trust: float = 1.0  # in its cutting, against others of the same text

    def place(self, row: int, column: int) -> str:
        """Return where a cell stands, as a person would look it up."""
        if not self.sheet:
            page = f"page {self.pages[row]} " if self.pages and self.pages[row] else ""
            return f"{page}line {self.lines[row]}"
        return f"{self.sheet}!{column_letters(column)}{self.lines[row]}"

    def line(self, row: int) -> str:
        """Return a row of the file as one line, its cells with a bar between."""
        if self.texts:
            return one_line(self.texts[row], 160)
        return one_line(" | ".join(cell for cell in self.rows[row] if cell), 160)

    def cell(self, row: int, column: int) -> str:
        """Return one cell, empty where the row is shorter."""
        cells = self.rows[row]
        return cells[column] if 0 <= column < len(cells) else ""


@lru_cache(maxsize=4096)
def one_line(text: str, most: int = 80) -> str:
    """Return a text from a report fit for a message: one line, printable, not long."""
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return line if len(line) <= most else f"{line[: most - 1]}…"


def column_letters(column: int) -> str:
    """Return the letters of a spreadsheet column counted from 0."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


class Asked(Struct, frozen=True):
    """What a person has settled about a report: the column of results, and units.

    ``units`` holds "mg/L" for all results without one, or "Iron=ug/L" for one analyte.
    """

    column: str | None = None
    units: tuple[str, ...] = ()

    @classmethod
    def of(cls, column: str | None, units: str | Sequence[str] | None) -> "Asked":
        """Return what options or a site file settle; units of a site file stand between ";"."""
        listed = units.split(";") if isinstance(units, str) else units or ()
        return cls(column or None, tuple(unit.strip() for unit in listed if unit.strip()))


NOTHING_ASKED = Asked()


class PrintedResult(Struct, frozen=True):
    """One result as printed, with everything the report says about it."""

    place: str
    name: str
    text: str
    unit: str = ""
    basis: str = ""
    fraction: str = ""
    qualifier: str = ""
    condition: str = ""
    limit: str = ""
    limit_unit: str = ""
    limit_type: str = ""
    code: str = ""
    detail: str = ""
    sample: str = ""
    site: str = ""
    activity: str = ""
    date: str = ""
    kind: str = ""
    header: bool = False  # the name heads a column, so an empty cell means nothing
    column: str = ""  # where its column stands and how it is headed, as "C 'Your water'"
    guessed: bool = False  # nothing but its content says that the column holds results
    doubt: str = ""  # what else the line may mean
    line: str = ""  # the whole row of the file
    about: str = ""  # all that names the sample: its number, its name, its place, its kind


class SeenColumn(Struct, frozen=True):
    """A column with numbers that was not taken for results.

    ``results`` are what its lines would give; ``compared`` tells that they may be an analysis,
    ``doubtful`` that its heading holds words that are not known, ``a_sample`` that it names one.
    """

    column: str
    why: str
    results: tuple[PrintedResult, ...] = ()
    compared: bool = True
    doubtful: bool = False
    a_sample: bool = False


class Decisions(Struct, frozen=True):
    """What was decided about a file in order to read it."""

    encoding: str = ""
    delimiter: str = ""
    decimal: str = "."
    layout: str = ""
    sheet: str = ""
    remarks: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The decisions as one line."""
        names = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", "": ""}
        parts = [f"sheet '{self.sheet}'"] if self.sheet else []
        parts += [self.encoding] if self.encoding else []
        if self.delimiter:
            parts.append(f"{names.get(self.delimiter, self.delimiter)}-separated")
        parts.append("decimal comma" if self.decimal == "," else "decimal point")
        parts += [f"{self.layout} layout"] if self.layout else []
        return ", ".join([*parts, *self.remarks])


class LabReport(Struct, frozen=True):
    """A whole file: its results as printed, its notes, and how it was read.

    ``ambiguous`` names results whose decimal mark the file does not settle. ``left_out`` names
    rows or columns that are statistics or limits; ``statistics_only`` tells that there is
    nothing else.
    """

    source: str
    results: tuple[PrintedResult, ...]
    decisions: Decisions
    notes: tuple[str, ...] = ()
    skipped: tuple[str, ...] = field(default=())
    ambiguous: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    statistics_only: bool = False
    guesses: tuple[Guess, ...] = ()  # level and text of what had to be guessed
    unused: tuple[str, ...] = ()  # printed numbers that nothing was made of
    asked: Asked = NOTHING_ASKED
    seen: tuple[SeenColumn, ...] = ()  # columns of numbers that were not taken
    columns: tuple[str, ...] = ()  # of the results
    unread: tuple[tuple[str, str], ...] = ()  # analytes of lines that were not read, and the line
