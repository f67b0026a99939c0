"""Blocks of lines under one set of headings, found by the gutters that run through them."""

from collections.abc import Sequence
from math import ceil

from pretreat.lab.read.formats.gutters.cells import (
    FEWEST_ROLES,
    HEADING_LINES,
    Block,
    column_of,
    headings,
    placed,
    row_of,
)
from pretreat.lab.read.formats.gutters.white import STEP, white_between
from pretreat.lab.read.formats.line_items import (
    QUALIFIES,
    STARTS,
    holds_result,
    name_at,
    side_by_side,
)
from pretreat.lab.read.formats.words import (
    GAP,
    NEVER_RESULTS,
    Head,
    PlacedLine,
    Word,
    fragments,
    gives_units,
    heading_pieces,
    is_heading,
    is_upper,
    roles_in,
    text_of,
)
from pretreat.lab.read.headings import heading_role
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.wording import column_role

FEWEST_LINES = 4  # with a result, for gutters to be seen
STRAY = 0.1  # share of the lines that may run through a gutter
FEWEST_COLUMNS = 3
SPREAD = 0.8  # of the lines with a result hold a wide gap
MOST_NOT_PARTED = 0.3  # of the lines, whose name and numbers stand in one column


def gutter_blocks(lines: Sequence[PlacedLine]) -> list[Block]:
    """Return the blocks whose columns are seen; none in a print without wide gaps."""
    # "Bore 12" heads the results of a well, "bore" is boron in French
    sure = [n for n, line in enumerate(lines) if holds_result(line) and not is_heading(line)]
    apart = sum(len(fragments(lines[n].words)) > 1 for n in sure)
    if apart < SPREAD * len(sure):
        return []
    blocks = _blocks(lines, sure)
    for block in blocks:
        same = [b for b in blocks if b is not block and _same_heads(lines, block, b)]
        block.alike = [n for b in same for n in b.sure]
    return [block for block in blocks if _measured(lines, block)]


def lengthen(lines: Sequence[PlacedLine], block: Block, blocks: Sequence[Block]) -> None:
    """Take lines below the last known name into a block while they stand in its columns."""
    end = min(
        (b.heads[0] if b.heads else b.first for b in blocks if b.first > block.last),
        default=len(lines),
    )
    n = block.last + 1
    while n < end and lines[n].page == lines[block.last].page:
        cells, across = placed(lines[n], block)
        if across or ":" in lines[n].text or sum(bool(c) for c in cells) < FEWEST_COLUMNS:
            break
        block.last = n
        n += 1


def _blocks(lines: Sequence[PlacedLine], sure: Sequence[int]) -> list[Block]:
    """Return runs of lines with results, parted by a line of headings or a new page."""
    blocks: list[Block] = []
    for n in sure:
        block = blocks[-1] if blocks else None
        between = range(block.last + 1, n) if block else ()
        parted = block is None or any(is_heading(lines[k]) for k in between)
        if parted or (block is not None and lines[n].page != lines[block.last].page):
            blocks.append(Block(n, n, [n]))
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
    for n in (best + 1, best + 2, best - 1, best - 2):
        close = n in roles and lines[n].page == lines[best].page
        beside = n - 1 in heads or n + 1 in heads
        alone = (_is_title if n > best else _is_page_title)(lines[n], lines[best])
        if close and beside and roles[n] and not alone and not holds_result(lines[n]):
            heads.append(n)
            heads.sort()
    return heads


def _fewest_heads(lines: Sequence[PlacedLine], block: Block) -> None:
    """Keep those lines of headings with which most columns have a heading that is known."""
    ways = [
        block.heads[a:b]
        for a in range(len(block.heads))
        for b in range(a + 1, len(block.heads) + 1)
    ]
    ways = [way for way in ways if not _cut_off(lines, block.heads, way)] or ways
    scores = []
    for way in ways:
        block.heads = way
        cells = headings(lines, block)
        scores.append((sum(map(_known, cells)), -len(way)))
    block.heads, block.mixed = ways[scores.index(max(scores))], set()


def _with_units(lines: Sequence[PlacedLine], block: Block) -> None:
    """Take a line of units right below the headings for one of them."""
    n = block.heads[-1] + 1
    pieces = fragments(lines[n].words) if n < len(lines) else []
    if n in block.heads or not pieces or not gives_units(lines[n]):
        return
    if all(column_of(word, block) != block.names for piece in pieces for word in piece):
        block.heads.append(n)
        block.first = max(block.first, n + 1)


def _is_title(line: PlacedLine, heads: PlacedLine) -> bool:
    """Tell one piece of text below headings from the rest of one of them, as "anterior" is."""
    if len(fragments(line.words)) > 1:
        return False
    rest = heading_role(line.text) in NEVER_RESULTS
    return not (rest and line.words[0].left > heads.words[0].right)


def _is_page_title(line: PlacedLine, heads: PlacedLine) -> bool:
    """Tell one piece of text above the heading of the names that is no part of it."""
    pieces = fragments(heads.words)
    over = len(fragments(line.words)) == 1 and line.words[0].left < pieces[0][-1].right
    return over and column_role(f"{line.text} {text_of(pieces[0])}") != "name"


def _cut_off(lines: Sequence[PlacedLine], heads: Sequence[int], way: Sequence[int]) -> bool:
    """Tell lines of headings without the one above whose words stand over them one by one."""
    at = heads.index(way[0])
    if not at:
        return False
    below = [
        Head(p[0].left, p[-1].right, text_of(p), heading_role(text_of(p)))
        for p in heading_pieces(lines[way[0]].words)
    ]
    return is_upper(lines[heads[at - 1]], below)


def _known(heading: str) -> int:
    """Return how well a heading is known; best where a word more tells that it is no result."""
    role = heading_role(heading) if heading else ""
    if role in NEVER_RESULTS and len(heading.split()) > 1:
        return 3
    return 2 if column_role(heading) else int(bool(role))


def _same_heads(lines: Sequence[PlacedLine], one: Block, two: Block) -> bool:
    """Tell blocks under the same headings at the same places, as on the pages of one table."""
    said = [[(round(w.left), w.text) for n in b.heads for w in lines[n].words] for b in (one, two)]
    return bool(said[0]) and said[0] == said[1]


def _measured(lines: Sequence[PlacedLine], block: Block) -> bool:
    """Find the columns of a block by the gutters between them; False where none are seen."""
    if len(block.sure) + len(block.alike) < FEWEST_LINES:
        return False
    rows = (*block.sure, *block.alike)
    # a sentence says nothing of the gutters, though it names an analyte and a number
    apart = [n for n in rows if len(fragments(lines[n].words)) > 1]
    found = [lines[n].words for n in apart or rows]
    right = max(word.right for words in found for word in words)
    bins = [0] * (int(right / STEP) + 2)
    for words in found:
        covered = {
            k for w in words for k in range(int(w.left / STEP), max(ceil(w.right / STEP), 1))
        }
        for k in covered:
            bins[k] += 1
    stray = int(STRAY * len(found))
    block.columns = white_between(bins, stray)
    _without_ends(lines, block, found)
    if len(block.columns) < FEWEST_COLUMNS:
        return False
    starts = [column_of(words[at[0]], block) for words in found if (at := name_at(words))]
    block.names = max(set(starts), key=starts.count)
    if block.heads:
        _fewest_heads(lines, block)
        _with_units(lines, block)
    _whole_names(lines, block, found)
    _whole_units(lines, block, found)
    numeric = [w for words in found for w in words if STARTS.match(w.text)]
    cut = [row_of(lines[n], block)[0] for n in rows]
    joined = sum(len(cells) == 1 or any(map(side_by_side, cells)) for cells in cut)
    if joined > MOST_NOT_PARTED * len(rows):
        return False
    return len({column_of(w, block) for w in numeric} - {block.names}) > 0


def _without_ends(
    lines: Sequence[PlacedLine], block: Block, found: Sequence[Sequence[Word]]
) -> None:
    """Join a last column without a heading that but the end of the longest line reaches."""
    if len(block.columns) < 2:
        return
    last = len(block.columns) - 1
    held = [words for words in found if column_of(words[-1], block) == last]
    before = [w for w in held[0] if column_of(w, block) < last] if len(held) == 1 else []
    near = bool(before) and block.columns[-1][0] - before[-1].right < GAP
    if near and not _words_above(lines, block)[-1]:
        (left, _), (_, right) = block.columns[-2:]
        block.columns[-2:] = [(left, right)]


def _whole_names(
    lines: Sequence[PlacedLine], block: Block, found: Sequence[Sequence[Word]]
) -> None:
    """Join a column behind the names that has no heading and holds but the ends of names."""
    heads = _words_above(lines, block)
    behind = block.names + 1
    while block.heads and behind < len(block.columns) and not heads[behind]:
        held = [w.text for words in found for w in words if column_of(w, block) == behind]
        if any(STARTS.match(text) or is_unit(text, strict=True) for text in held):
            return
        if all(map(QUALIFIES.fullmatch, held)) and not _end_names(block, behind, found):
            return
        left, right = block.columns[block.names][0], block.columns[behind][1]
        block.columns[block.names : behind + 1] = [(left, right)]
        heads.pop(behind)


def _words_above(lines: Sequence[PlacedLine], block: Block) -> list[str]:
    """Return the words of headings over each column of a block."""
    heads = [""] * len(block.columns)
    for n in block.heads:
        for word in lines[n].words:
            heads[column_of(word, block)] += word.text
    return heads


def _whole_units(
    lines: Sequence[PlacedLine], block: Block, found: Sequence[Sequence[Word]]
) -> None:
    """Join columns without a heading into the one before, where but the ends of units stand.

    "mg/L as N" in one line of a page looks like two columns where all others hold "mg/L".
    """
    heads = _words_above(lines, block) if block.heads else []
    at = 0
    while at + 1 < len(heads):
        end = at + 1
        while end < len(heads) and not heads[end] and end != block.names:
            end += 1
        ways = range(end - 1, at, -1) if at != block.names else ()
        last = next((n for n in ways if _end_units(block, (at, n), found)), at)
        left, right = block.columns[at][0], block.columns[last][1]
        block.columns[at : last + 1] = [(left, right)]
        block.names -= last - at if block.names > at else 0
        del heads[at + 1 : last + 1]
        at += 1


def _end_units(block: Block, span: tuple[int, int], found: Sequence[Sequence[Word]]) -> bool:
    """Tell columns whose words all end a unit that begins in the first of them or before it."""
    split = False
    for words in found:
        here = [w for w in words if span[0] <= column_of(w, block) <= span[1]]
        cut = sum(column_of(w, block) == span[0] for w in here)
        if cut == len(here):
            continue
        starts = [n for n in range(cut + 1) if is_unit(text_of(here[n:]), strict=True)]
        if not cut or not starts or len(fragments(here[starts[0] :])) > 1:
            return False
        split = split or starts[0] < cut
    return split


def _end_names(block: Block, behind: int, found: Sequence[Sequence[Word]]) -> bool:
    """Tell letters that belong to names, as in "Alkalinity P", from those that mark results."""
    for words in found:
        name = text_of(w for w in words if column_of(w, block) == block.names)
        whole = text_of(w for w in words if column_of(w, block) in {block.names, behind})
        if (key := named_analyte(whole).key) and key != named_analyte(name).key:
            return True
    return False
