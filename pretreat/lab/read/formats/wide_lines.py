"""Prints with the analytes across the top: one line per sample under a line of names."""

from collections.abc import Sequence

from pretreat.lab.read.formats.words import PlacedLine, Word, fragments, text_of
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Grid

FEWEST_NAMES = 2


def wide_lines(lines: Sequence[PlacedLine]) -> Grid | None:
    """Cut lines under a line of names of analytes into their columns.

    A line whose pieces do not each stand under one name is kept whole, and so not read.

    Parameters
    ----------
    lines : sequence of PlacedLine
        The lines of a print. [-]

    Returns
    -------
    Grid or None
        Rows of cells; None where no line holds names side by side. [-]
    """
    heads: list[list[Word]] = []
    rows: list[tuple[str, ...]] = []
    for line in lines:
        pieces = fragments(line.words)
        if _are_names(pieces):
            heads = pieces
            rows.append(tuple(text_of(piece) for piece in pieces))
        else:
            rows.append(_under(pieces, heads) or (line.text,))
    if not heads:
        return None
    return Grid(
        tuple(rows),
        tuple(line.number for line in lines),
        from_text=True,
        pages=tuple(line.page for line in lines),
        texts=tuple(line.text for line in lines),
    )


def _are_names(pieces: Sequence[Sequence[Word]]) -> bool:
    texts = [text_of(piece) for piece in pieces]
    named = sum(bool(named_analyte(text).key) for text in texts)
    numbers = any(printed_number(text).kind in {"value", "below"} for text in texts)
    return named >= FEWEST_NAMES and 2 * named >= len(texts) and not numbers


def _under(pieces: Sequence[Sequence[Word]], heads: Sequence[Sequence[Word]]) -> tuple[str, ...]:
    if len(pieces) < 2 or not heads:
        return ()
    cells = [""] * len(heads)
    for n, piece in enumerate(pieces):
        over = [
            k
            for k, head in enumerate(heads)
            if min(piece[-1].right, head[-1].right) > max(piece[0].left, head[0].left)
        ]
        if len(pieces) == len(heads):
            over = [n]
        if len(over) != 1 or cells[over[0]]:
            return ()
        cells[over[0]] = text_of(piece)
    return tuple(cells)
