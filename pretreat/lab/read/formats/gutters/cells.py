"""The columns of a block of lines between white gutters, and the cells of a line in them."""

from collections.abc import Container, Sequence

from msgspec import Struct, field

from pretreat.lab.read.formats.gutters.white import STEP, Span
from pretreat.lab.read.formats.line_items import (
    QUALIFIES,
    STARTS,
    holds_result,
    name_at,
    two_numbers,
)
from pretreat.lab.read.formats.words import (
    NEVER_RESULTS,
    PlacedLine,
    Word,
    fragments,
    heading_pieces,
    known_together,
    run_into_each_other,
    text_of,
)
from pretreat.lab.read.headings import heading_role, names_a_sample
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.wording import column_role

HEADING_LINES = 4  # looked through above the first result
FEWEST_ROLES = 2


class Block(Struct):
    """Lines under one set of headings: their numbers, and where their columns stand."""

    first: int
    last: int
    sure: list[int] = field(default_factory=list)
    columns: list[Span] = field(default_factory=list)
    heads: list[int] = field(default_factory=list)
    alike: list[int] = field(default_factory=list)  # lines with a result under the same headings
    names: int = 0
    mixed: set[int] = field(default_factory=set)  # lines of headings that run into each other


def column_of(word: Word, block: Block) -> int:
    """Return the column that a word stands in or nearest to."""
    away = [
        (max(left - word.right, word.left - right), n)
        for n, (left, right) in enumerate(block.columns)
    ]
    return min(away)[1]


def ordered(block: Block, cells: list[str]) -> tuple[str, ...]:
    """Return cells with the names first, so that blocks of other columns fit below each other."""
    return (cells[block.names], *cells[: block.names], *cells[block.names + 1 :])


def headings(lines: Sequence[PlacedLine], block: Block) -> tuple[str, ...]:
    """Return the headings of the columns of a block, and note lines of them that run together."""
    cells = [""] * len(block.columns)
    for n in block.heads:
        here = [""] * len(cells)
        block.mixed |= {n} if run_into_each_other(lines[n].words) else set()
        pieces = heading_pieces(lines[n].words)
        over = [_overlapped(piece, block) for piece in pieces]
        for k, piece in enumerate(pieces):
            others = [one for i, one in enumerate(over) if i != k and len(one) == 1]
            taken = {at for one in others for at in one}
            for at, text in _under_columns(piece, block, taken):
                block.mixed |= {n} if _run_together(here[at], text) else set()
                here[at] = f"{here[at]} {text}".strip()
        cells = [f"{above} {text}".strip() for above, text in zip(cells, here, strict=True)]
    return ordered(block, cells)


def _overlapped(piece: Sequence[Word], block: Block) -> dict[int, float]:
    """Return the columns that a piece stands over, and how far."""
    left, right = piece[0].left, piece[-1].right
    over = {n: min(right, b) - max(left, a) for n, (a, b) in enumerate(block.columns)}
    return {n: width for n, width in over.items() if width > 0}


def _under_columns(
    piece: Sequence[Word], block: Block, taken: Container[int]
) -> list[tuple[int, str]]:
    """Put a piece of a heading over its column; over several where each part is a heading.

    "Guideline value" stays one heading unless both of its words stand over columns; it goes to
    a column that is not taken by another heading, if it stands over one.
    """
    parts: dict[int, list[Word]] = {}
    for word in piece:
        parts.setdefault(column_of(word, block), []).append(word)
    texts = [(at, text_of(words)) for at, words in parts.items()]
    if len(parts) == 1:
        return texts
    over = _overlapped(piece, block)
    spans = {at: block.columns[at] for at in parts}
    own = all(
        any(min(w.right, spans[at][1]) > max(w.left, spans[at][0]) - NEAR for w in words)
        for at, words in parts.items()
    )
    whole = known_together(piece) or not own
    apart = all(column_role(text) for _, text in texts) or (
        len(over) > 1 and all(heading_role(text) for _, text in texts)
    )
    if apart and not whole:
        return texts
    free = {at: width for at, width in over.items() if at not in taken} or over
    return [(max(free, key=lambda at: free[at]) if free else texts[0][0], text_of(piece))]


NEAR = 1.0  # widths of a letter between a word of a heading and its column


def _run_together(one: str, two: str) -> bool:
    """Tell two headings in one column of which one may be that of the results."""
    if not one or not two or is_unit(two.strip("()[]")):
        return False
    roles = {heading_role(one), heading_role(two)}
    if names_a_sample(one) and names_a_sample(two):  # nothing stands in the column of one
        return True
    if "value" in roles and roles & NEVER_RESULTS:
        return True
    may_be_results = bool(roles & {"value", ""}) and roles != {""}
    return may_be_results and heading_role(f"{one} {two}") not in roles & {"value", "name"}


def loose(line: PlacedLine, block: Block, n: int) -> tuple[str, ...]:
    """Return a line above the headings: under its columns where it may name the samples."""
    near = bool(block.heads) and block.heads[0] - n <= HEADING_LINES
    pieces = fragments(line.words)
    if not near or len(pieces) < FEWEST_ROLES or ":" in line.text:
        return (line.text,)
    return ordered(block, placed(line, block)[0])


def placed(line: PlacedLine, block: Block) -> tuple[list[str], bool]:
    """Return the words of a line under their columns, and whether one runs through a gutter."""
    cells = [""] * len(block.columns)
    across = False
    units = _whole_units(line, block)
    for word in line.words:
        at = units.get(word, column_of(word, block))
        if word in units:
            cells[at] = f"{cells[at]} {word.text}".strip()
            continue
        before = block.columns[at - 1][1] if at else word.left
        behind = block.columns[at + 1][0] if at + 1 < len(cells) else word.right
        across = across or word.left < before - STEP or word.right > behind + STEP
        cells[at] = f"{cells[at]} {word.text}".strip()
    return cells, across


def _whole_units(line: PlacedLine, block: Block) -> dict[Word, int]:
    """Return the columns of a unit of several words, and of a number that stands behind a unit.

    Single blanks run through a unit, as "mg/L as CaCO3", however narrow its column is; what
    stands apart behind it begins another column, where there is one.
    """
    found: dict[Word, int] = {}
    pieces = fragments(line.words)
    for n, piece in enumerate(pieces[1:], start=1):
        if not is_unit(text_of(piece)) or not STARTS.match(pieces[n - 1][-1].text):
            continue
        at, behind = column_of(piece[0], block), pieces[n + 1 : n + 2]
        if len(piece) > 1:
            found |= dict.fromkeys(piece, at)
        lone = len(behind) == 1 and len(behind[0]) == 1
        if lone and n + 2 == len(pieces) and at + 1 < len(block.columns):
            word = behind[0][0]
            marks = STARTS.match(word.text) or QUALIFIES.fullmatch(word.text)
            if marks and column_of(word, block) == at:
                found[word] = at + 1
    return found


def row_of(line: PlacedLine, block: Block) -> tuple[tuple[str, ...], str]:
    """Return the cells of a line of a block, and what is doubtful about their cutting."""
    cells, across = placed(line, block)
    cells, across = _name_whole(line, block, across=across) or (cells, across)
    named = sum(bool(c) for c in cells)
    if named == 1 or (len(fragments(line.words)) == 1 and not holds_result(line)):
        return (line.text,), ""  # a title, or the heading of a section
    doubt = ""
    if across and holds_result(line):
        doubt = "a word of it runs across two columns"
    for n, cell in enumerate(cells):
        if n != block.names and two_numbers(cell):
            doubt = f"'{cell}' may be one number or two"
    return ordered(block, cells), doubt


def _name_whole(line: PlacedLine, block: Block, *, across: bool) -> tuple[list[str], bool] | None:
    """Return the cells of a line whose long name runs into the column behind it."""
    found = name_at(line.words)
    if found is None or column_of(line.words[found[0]], block) != block.names:
        return None
    end = next(
        (
            n
            for n in range(found[0] + 1, found[1])
            if STARTS.match(line.words[n].text)
            and column_of(line.words[n], block) != block.names
            and named_analyte(text_of(line.words[found[0] : n])).key
        ),
        found[1],
    )
    found = (found[0], end)
    name = line.words[found[0] : found[1]]
    outside = [w for w in name if column_of(w, block) != block.names and not is_unit(w.text)]
    if not (across or outside):
        return None
    rest = (*line.words[: found[0]], *line.words[found[1] :])
    cells, across = placed(PlacedLine(line.number, rest, line.page), block)
    cells[block.names] = f"{text_of(name)} {cells[block.names]}".strip()
    return cells, across
