"""What a reported number carries: its unit, where it comes from and what to mind."""

from collections.abc import Callable
from typing import Any, Literal, TypeVar

from msgspec import Struct, field

Origin = Literal["measured", "calculated", "assumed", "chosen"]
Evidence = Literal["printed", "database", "computed", "memory", "common practice", "read on site"]
Level = Literal["info", "caution", "warning"]
Value = float | str | None

F = TypeVar("F", bound=Callable[..., Any])


class Citation(Struct, frozen=True):
    """A source and the place inside it."""

    source: str  # a key of data/sources.toml
    where: str  # equation, table, page or section


def cites(source: str, where: str = "") -> Callable[[F], F]:
    """Mark a function with the source of the equation or numbers it holds.

    May be stacked; the order of the sources is the order in which they are written.

    Parameters
    ----------
    source : str
        Key of ``data/sources.toml``. [-]
    where : str
        Equation, table, page or section inside the source. [-]

    Returns
    -------
    callable
        A decorator that returns the function unchanged. [-]
    """

    def mark(function: F) -> F:
        earlier: tuple[Citation, ...] = getattr(function, "citations", ())
        function.citations = (Citation(source, where), *earlier)  # type: ignore[attr-defined]
        return function

    return mark


def citations(*functions: Callable[..., Any]) -> tuple[str, ...]:
    """Return the source keys that the functions cite, in order, each once.

    Parameters
    ----------
    *functions : callable
        Functions marked with `cites`. [-]

    Returns
    -------
    tuple of str
        Keys of ``data/sources.toml``. [-]
    """
    keys: dict[str, None] = {}
    for function in functions:
        for citation in getattr(function, "citations", ()):
            keys[citation.source] = None
    return tuple(keys)


class Flag(Struct, frozen=True):
    """Something the reader must know about a number or a water.

    ``code`` is a stable word that scripts may rely on; ``text`` is for people. ``marks`` are
    words of the program's own that tell flags of one code apart; a document does not hold them.
    """

    code: str
    level: Level
    text: str
    figure: str | None = None
    marks: frozenset[str] = frozenset()


class Figure(Struct, frozen=True):
    """One reported number with its unit, its way here and its sources.

    ``formula`` repeats the step as an expression over the keys of other figures, each in
    braces; it is the text of a law, and the workbook shows it as a live formula.
    ``below`` is the limit of a result that was not detected, in the same unit; ``p10`` and
    ``p90`` are what a tenth and nine tenths of the draws stay under; ``worked`` is the equation
    with names, then with numbers.
    """

    key: str
    value: Value
    unit: str
    label: str
    origin: Origin = "calculated"
    evidence: Evidence = "computed"
    method: str = ""
    cites: tuple[str, ...] = ()
    inputs: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    formula: str | None = None
    below: float | None = None
    p10: float | None = None
    p90: float | None = None
    worked: str | None = None


class Series(Struct, frozen=True):
    """A named table: columns of equal length, each with a unit.

    A column holds numbers, words or gaps (None); the first column is the running one.
    """

    key: str
    label: str
    columns: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[Value, ...], ...]
    method: str = ""
    cites: tuple[str, ...] = ()
    headings: tuple[str, ...] = field(default=())

    def column(self, name: str) -> tuple[Value, ...]:
        """Return one column by its name."""
        i = self.columns.index(name)
        return tuple([row[i] for row in self.rows])

    def cell(self, row: int, name: str) -> Value:
        """Return a cell by its row, from zero, and column, None where there is no such column."""
        return self.rows[row][self.columns.index(name)] if name in self.columns else None
