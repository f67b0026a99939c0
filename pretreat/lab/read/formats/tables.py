"""Tables of documents and pages, one below the other, into grids of cells."""

from collections.abc import Iterable, Sequence

from msgspec import Struct, field

from pretreat.core.errors import AnalysisError
from pretreat.lab.read.report import Grid

MAX_CELLS = 500_000
MAX_SPAN = 200  # columns that one cell may cover
MAX_NESTED = 12  # tables inside each other


class Piece(Struct):
    """A paragraph, or a table with the rows that stand in it."""

    rows: list[tuple[str, ...]] = field(default_factory=list)
    table: bool = False
    spans: list[tuple[int, int, int]] = field(default_factory=list)


def piece_grids(name: str, pieces: Sequence[Piece]) -> tuple[Grid, ...]:
    """Return all pieces as one grid, then each table by itself under the paragraphs.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    pieces : sequence of Piece
        Paragraphs and tables in the order of the document. [-]

    Returns
    -------
    tuple of Grid
        Candidates; the layout that is understood best decides. [-]
    """
    if sum(len(row) for piece in pieces for row in piece.rows) > MAX_CELLS:
        raise AnalysisError(f"{name} holds more than {MAX_CELLS} cells; cut out the samples wanted")
    tables = [piece for piece in pieces if piece.table and piece.rows]
    whole = [_joined(pieces)]
    if 1 < len(tables) <= MAX_SPAN:
        text = [piece for piece in pieces if not piece.table]
        whole += [_joined([*text, table]) for table in tables]
    return tuple(grid for grid in whole if grid.rows)


def _joined(pieces: Iterable[Piece]) -> Grid:
    rows: list[tuple[str, ...]] = []
    spans: list[tuple[int, int, int]] = []
    for piece in pieces:
        spans += [(len(rows) + row, first, last) for row, first, last in piece.spans]
        rows += piece.rows
    kept = [n for n, row in enumerate(rows) if any(row)]
    at = {n: k for k, n in enumerate(kept)}
    return Grid(
        tuple(rows[n] for n in kept),
        tuple(n + 1 for n in kept),
        spans=tuple((at[row], first, last) for row, first, last in spans if row in at),
        from_text=True,
    )


def raised(before: str, mark: str) -> str:
    """Return a raised mark as it is written behind a text: "10" and "3" are 10^3.

    Parameters
    ----------
    before : str
        The text that the mark stands behind. [-]
    mark : str
        The raised letters. [-]

    Returns
    -------
    str
        What to add to the text. [-]
    """
    bare = before.rstrip()
    mark = mark.strip()
    if not mark:
        return ""
    if bare[-1:].isdigit() and not any(c.isalpha() for c in bare):
        power = mark.lstrip("+-\N{MINUS SIGN}").isdigit()
        return f"^{mark}" if power and bare.endswith("10") else f"({mark.upper()})"
    return mark
