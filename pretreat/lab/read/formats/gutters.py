"""Prints whose columns stand apart by the same white gutters in all their lines."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import ceil

from pretreat.lab.read.formats.line_items import (
    QUALIFIES,
    STARTS,
    holds_result,
    name_at,
    side_by_side,
    two_numbers,
)
from pretreat.lab.read.formats.pasted import labelled
from pretreat.lab.read.formats.white import STEP, Span, white_between
from pretreat.lab.read.formats.words import (
    OF_LIMITS,
    PlacedLine,
    Word,
    fragments,
    is_heading,
    roles_in,
    text_of,
)
from pretreat.lab.read.headings import heading_role
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.report import Grid
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.wording import column_role, folded

FEWEST_LINES = 4  # with a result, for gutters to be seen
STRAY = 0.1  # share of the lines that may run through a gutter
FEWEST_COLUMNS = 3
MOST_LINES = 2000  # a longer print is a table for a spreadsheet
SPREAD = 0.8  # of the lines with a result hold a wide gap
HEADING_LINES = 4  # looked through above the first result
FEWEST_ROLES = 2
MOST_NOT_PARTED = 0.3  # of the lines, whose name and numbers stand in one column
TRUST = 1.4  # over cuttings that go line by line


@dataclass(slots=True)
class _Block:
    """Lines under one set of headings: their numbers, and where their columns stand."""

    first: int
    last: int
    sure: list[int] = field(default_factory=list)
    columns: list[Span] = field(default_factory=list)
    heads: list[int] = field(default_factory=list)
    alike: list[int] = field(default_factory=list)  # lines with a result under the same headings
    names: int = 0


def by_gutters(lines: Sequence[PlacedLine]) -> Grid | None:
    """Cut the lines of a print where white runs between its columns from top to bottom.

    Parameters
    ----------
    lines : sequence of PlacedLine
        The lines of a text or of the pages of a print. [-]

    Returns
    -------
    Grid or None
        Rows of cells, names first; None where no gutters are seen. [-]
    """
    blocks = _gutter_blocks(lines) if len(lines) <= MOST_LINES else []
    if not blocks:
        return None
    rows = _Rows()
    at = 0
    for block in blocks:
        _lengthen(lines, block, blocks)
        rows.above(lines, block, at)
        for n in range(block.first, block.last + 1):
            rows.inside(lines[n], block)
        at = block.last + 1
    for line in lines[at:]:
        rows.add((line.text,), line)
    return Grid(
        tuple(rows.cells),
        tuple(line.number for line in rows.lines),
        from_text=True,
        doubts=rows.doubts,
        pages=tuple(line.page for line in rows.lines),
        texts=tuple(line.text for line in rows.lines),
        trust=TRUST,
    )


@dataclass(slots=True)
class _Rows:
    """Rows of cells with the lines that they were cut from."""

    cells: list[tuple[str, ...]] = field(default_factory=list)
    lines: list[PlacedLine] = field(default_factory=list)
    doubts: dict[int, str] = field(default_factory=dict)

    def add(self, cells: tuple[str, ...], line: PlacedLine) -> None:
        """Keep a row."""
        self.cells.append(cells)
        self.lines.append(line)

    def above(self, lines: Sequence[PlacedLine], block: _Block, at: int) -> None:
        """Keep the lines above a block and its headings."""
        for n in range(at, block.first):
            if n not in block.heads:
                for row in labelled(lines[n].text) or [_loose(lines[n], block, n)]:
                    self.add(row, lines[n])
        if block.heads:
            self.add(_headings(lines, block), lines[block.heads[-1]])

    def inside(self, line: PlacedLine, block: _Block) -> None:
        """Keep a line of a block, or join it to the name above that it ends."""
        row, doubt = _row(line, block)
        if self.cells and _wraps(row, self.cells[-1]):
            self.cells[-1] = _joined(self.cells[-1], row)
            return
        if doubt:
            self.doubts[len(self.cells)] = doubt
        self.add(row, line)


def _gutter_blocks(lines: Sequence[PlacedLine]) -> list[_Block]:
    """Return the blocks whose columns are seen; none in a print without wide gaps."""
    sure = [n for n, line in enumerate(lines) if holds_result(line)]
    apart = sum(len(fragments(lines[n].words)) > 1 for n in sure)
    if apart < SPREAD * len(sure):
        return []
    blocks = _blocks(lines, sure)
    for block in blocks:
        same = [b for b in blocks if b is not block and _same_heads(lines, block, b)]
        block.alike = [n for b in same for n in b.sure]
    return [block for block in blocks if _measured(lines, block)]


def _lengthen(lines: Sequence[PlacedLine], block: _Block, blocks: Sequence[_Block]) -> None:
    """Take lines below the last known name into a block while they stand in its columns."""
    end = min(
        (b.heads[0] if b.heads else b.first for b in blocks if b.first > block.last),
        default=len(lines),
    )
    n = block.last + 1
    while n < end and lines[n].page == lines[block.last].page:
        cells, across = _placed(lines[n], block)
        if across or ":" in lines[n].text or sum(bool(c) for c in cells) < FEWEST_COLUMNS:
            break
        block.last = n
        n += 1


def _wraps(row: tuple[str, ...], above: tuple[str, ...]) -> bool:
    """Tell a line that holds but the end of the name above it, as "elétrica a 20 °C"."""
    if len(row) < FEWEST_COLUMNS or len(above) != len(row) or not row[0] or not above[0]:
        return False
    if ":" in row[0] or any(STARTS.match(cell) for cell in row[1:]) or named_analyte(row[0]).key:
        return False
    if not any(STARTS.match(cell) for cell in above[1:]):
        return False
    whole, bare = named_analyte(f"{above[0]} {row[0]}").key, named_analyte(above[0]).key
    return bool(whole) or (not bare and not any(row[1:]))


def _joined(above: tuple[str, ...], row: tuple[str, ...]) -> tuple[str, ...]:
    return (f"{above[0]} {row[0]}".strip(), *above[1:])


def _blocks(lines: Sequence[PlacedLine], sure: Sequence[int]) -> list[_Block]:
    """Return runs of lines with results, parted by a line of headings or a new page."""
    blocks: list[_Block] = []
    for n in sure:
        block = blocks[-1] if blocks else None
        between = range(block.last + 1, n) if block else ()
        parted = block is None or any(is_heading(lines[k]) for k in between)
        if parted or (block is not None and lines[n].page != lines[block.last].page):
            blocks.append(_Block(n, n, [n]))
        elif block is not None:
            block.last = n
            block.sure.append(n)
    for before, block in zip([None, *blocks], blocks, strict=False):
        low = before.last + 1 if before else 0
        block.heads = _head_lines(lines, low, block.first)
        if block.heads:
            block.first = block.heads[-1] + 1
    return blocks


def _head_lines(lines: Sequence[PlacedLine], low: int, first: int) -> list[int]:
    """Return the lines of headings right above a block: the one with most roles and its like."""
    near = range(first - 1, max(first - 1 - HEADING_LINES, low - 1), -1)
    roles = {n: roles_in(lines[n]) for n in near}
    best = max(roles, key=lambda n: roles[n], default=-1)
    if best < 0 or roles[best] < FEWEST_ROLES:
        return []
    heads = [best]
    for n in (best + 1, best - 1, best - 2):
        close = n in roles and lines[n].page == lines[best].page
        beside = n - 1 in heads or n + 1 in heads
        alone = n > best and len(fragments(lines[n].words)) == 1
        if close and beside and roles[n] and not alone and not holds_result(lines[n]):
            heads.append(n)
            heads.sort()
    return heads


def _fewest_heads(lines: Sequence[PlacedLine], block: _Block) -> None:
    """Keep those lines of headings with which most columns have a heading that is known."""
    ways = [
        block.heads[a:b]
        for a in range(len(block.heads))
        for b in range(a + 1, len(block.heads) + 1)
    ]
    scores = []
    for way in ways:
        block.heads = way
        cells = _headings(lines, block)
        known = sum(2 if column_role(c) else 1 if heading_role(c) else 0 for c in cells if c)
        scores.append((known, -len(way)))
    block.heads = ways[scores.index(max(scores))]


def _same_heads(lines: Sequence[PlacedLine], one: _Block, two: _Block) -> bool:
    """Tell blocks under the same headings at the same places, as on the pages of one table."""
    said = [[(round(w.left), w.text) for n in b.heads for w in lines[n].words] for b in (one, two)]
    return bool(said[0]) and said[0] == said[1]


def _measured(lines: Sequence[PlacedLine], block: _Block) -> bool:
    """Find the columns of a block by the gutters between them; False where none are seen."""
    if len(block.sure) + len(block.alike) < FEWEST_LINES:
        return False
    found = [lines[n].words for n in (*block.sure, *block.alike)]
    right = max(words[-1].right for words in found)
    bins = [0] * (int(right / STEP) + 2)
    for words in found:
        covered = {
            k for w in words for k in range(int(w.left / STEP), max(ceil(w.right / STEP), 1))
        }
        for k in covered:
            bins[k] += 1
    stray = int(STRAY * len(found))
    block.columns = white_between(bins, stray)
    if len(block.columns) < FEWEST_COLUMNS:
        return False
    starts = [_column_of(words[at[0]], block) for words in found if (at := name_at(words))]
    block.names = max(set(starts), key=starts.count)
    if block.heads:
        _fewest_heads(lines, block)
    _whole_names(lines, block, found)
    numeric = [w for words in found for w in words if STARTS.match(w.text)]
    cut = [_row(lines[n], block)[0] for n in (*block.sure, *block.alike)]
    joined = sum(len(cells) == 1 or any(map(side_by_side, cells)) for cells in cut)
    if joined > MOST_NOT_PARTED * len(found):
        return False
    return len({_column_of(w, block) for w in numeric} - {block.names}) > 0


def _whole_names(
    lines: Sequence[PlacedLine], block: _Block, found: Sequence[Sequence[Word]]
) -> None:
    """Join a column behind the names that has no heading and holds but the ends of names."""
    heads = [""] * len(block.columns)
    for n in block.heads:
        for word in lines[n].words:
            heads[_column_of(word, block)] += word.text
    behind = block.names + 1
    while block.heads and behind < len(block.columns) and not heads[behind]:
        held = [w.text for words in found for w in words if _column_of(w, block) == behind]
        if any(STARTS.match(text) or is_unit(text, strict=True) for text in held):
            return
        if all(map(QUALIFIES.fullmatch, held)) and not _end_names(block, behind, found):
            return
        left, right = block.columns[block.names][0], block.columns[behind][1]
        block.columns[block.names : behind + 1] = [(left, right)]
        heads.pop(behind)


def _end_names(block: _Block, behind: int, found: Sequence[Sequence[Word]]) -> bool:
    """Tell letters that belong to names, as in "Alkalinity P", from those that mark results."""
    for words in found:
        name = text_of(w for w in words if _column_of(w, block) == block.names)
        whole = text_of(w for w in words if _column_of(w, block) in {block.names, behind})
        if whole != name and named_analyte(whole).key:
            return True
    return False


def _column_of(word: Word, block: _Block) -> int:
    away = [
        (max(left - word.right, word.left - right), n)
        for n, (left, right) in enumerate(block.columns)
    ]
    return min(away)[1]


def _ordered(block: _Block, cells: list[str]) -> tuple[str, ...]:
    """Return cells with the names first, so that blocks of other columns fit below each other."""
    return (cells[block.names], *cells[: block.names], *cells[block.names + 1 :])


def _headings(lines: Sequence[PlacedLine], block: _Block) -> tuple[str, ...]:
    cells = [""] * len(block.columns)
    for n in block.heads:
        for piece in fragments(lines[n].words):
            for at, text in _under_columns(piece, block):
                cells[at] = f"{cells[at]} {text}".strip()
    return _ordered(block, cells)


def _under_columns(piece: Sequence[Word], block: _Block) -> list[tuple[int, str]]:
    """Put a piece of a heading over its column; over several where each part is a heading.

    "Guideline value" stays one heading unless both of its words stand over columns.
    """
    parts: dict[int, list[Word]] = {}
    for word in piece:
        parts.setdefault(_column_of(word, block), []).append(word)
    texts = [(at, text_of(words)) for at, words in parts.items()]
    if len(parts) == 1:
        return texts
    left, right = piece[0].left, piece[-1].right
    over = [min(right, b) - max(left, a) for a, b in block.columns]
    whole = column_role(text_of(piece)) or folded(piece[-1].text) in OF_LIMITS
    own = all(
        any(min(w.right, block.columns[at][1]) > max(w.left, block.columns[at][0]) for w in words)
        for at, words in parts.items()
    )
    if all(column_role(text) for _, text in texts) and (own or not whole):
        return texts
    if sum(o > 0 for o in over) > 1 and all(heading_role(text) for _, text in texts):
        return texts
    return [(over.index(max(over)), text_of(piece))]


def _loose(line: PlacedLine, block: _Block, n: int) -> tuple[str, ...]:
    """Return a line above the headings: under its columns where it may name the samples."""
    near = bool(block.heads) and block.heads[0] - n <= HEADING_LINES
    pieces = fragments(line.words)
    if not near or len(pieces) < FEWEST_ROLES or ":" in line.text:
        return (line.text,)
    return _ordered(block, _placed(line, block)[0])


def _placed(line: PlacedLine, block: _Block) -> tuple[list[str], bool]:
    """Return the words of a line under their columns, and whether one runs through a gutter."""
    cells = [""] * len(block.columns)
    across = False
    for word in line.words:
        at = _column_of(word, block)
        before = block.columns[at - 1][1] if at else word.left
        behind = block.columns[at + 1][0] if at + 1 < len(cells) else word.right
        across = across or word.left < before - STEP or word.right > behind + STEP
        cells[at] = f"{cells[at]} {word.text}".strip()
    return cells, across


def _row(line: PlacedLine, block: _Block) -> tuple[tuple[str, ...], str]:
    cells, across = _placed(line, block)
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
    return _ordered(block, cells), doubt


def _name_whole(line: PlacedLine, block: _Block, *, across: bool) -> tuple[list[str], bool] | None:
    """Return the cells of a line whose long name runs into the column behind it."""
    found = name_at(line.words)
    if found is None or _column_of(line.words[found[0]], block) != block.names:
        return None
    end = next(
        (
            n
            for n in range(found[0] + 1, found[1])
            if STARTS.match(line.words[n].text)
            and _column_of(line.words[n], block) != block.names
            and named_analyte(text_of(line.words[found[0] : n])).key
        ),
        found[1],
    )
    found = (found[0], end)
    name = line.words[found[0] : found[1]]
    outside = [w for w in name if _column_of(w, block) != block.names and not is_unit(w.text)]
    if not (across or outside):
        return None
    rest = (*line.words[: found[0]], *line.words[found[1] :])
    cells, across = _placed(PlacedLine(line.number, rest, line.page), block)
    cells[block.names] = f"{text_of(name)} {cells[block.names]}".strip()
    return cells, across
