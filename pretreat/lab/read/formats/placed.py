"""Words with their places on a line, cut into the columns that a line of headings gives."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import islice, pairwise

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.text import lazy
from pretreat.lab.read.formats.head_places import (
    METHODS,
    aligned,
    by_place,
    cut_otherwise,
    hides_a_column,
    in_another_order,
    is_sure,
    led_past_headings,
    method_as_result,
    out_of_place,
    place_method,
    place_numbers,
    place_other,
    results_at,
    under_marks,
    under_others,
    unit_elsewhere,
    units_below,
    units_in_order,
)
from pretreat.lab.read.formats.line_items import (
    STARTS,
    count_in,
    grouped,
    items_of,
    name_end,
    words_left,
)
from pretreat.lab.read.formats.pasted import (
    labelled,
    pasted_cells,
    several_numbers,
    without_method,
)
from pretreat.lab.read.formats.words import (
    DAY,
    GAP,
    MOST_HEADINGS,
    Head,
    PlacedLine,
    Word,
    fragments,
    heads_of,
    is_upper,
    run_into_each_other,
    text_of,
)
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Grid, Guess, one_line


def headed(lines: Sequence[PlacedLine]) -> Grid | None:
    """Cut lines into the columns of the headings above them.

    Parameters
    ----------
    lines : sequence of PlacedLine
        The lines of a text or of the pages of a print. [-]

    Returns
    -------
    Grid or None
        Rows of cells under the headings; None where no line is one of headings. [-]
    """
    ways = {n: found for n in range(len(lines)) if (found := heads_of(lines, n))}
    ways |= _exchanged(lines, ways)
    fitted: dict[int, tuple[list[Head], bool]] = {}
    for alike in _alike(lines, ways):
        below = _below(lines, alike)
        for n in alike:
            fitted[n] = _fitting(ways[n], lines[n], below)
            if fitted[n][0] == fitted[alike[0]][0]:  # one count of what stands below both
                fitted[n] = fitted[alike[0]]
    fitted = dict(sorted(fitted.items()))
    fitted = {n: one for n, one in fitted.items() if _heads_results(lines, n, fitted)}
    if not fitted:
        return None
    rows = _Rows({n: heads for n, (heads, _) in fitted.items()}, lines[min(fitted)])
    rows.most = {
        id(heads): max(_numeric(other) for _, other in ways[n]) for n, (heads, _) in fitted.items()
    }
    for n, line in enumerate(lines):
        rows.read(n, line)
    rows.doubt_lines()
    guesses: tuple[Guess, ...] = tuple(
        (
            "warning",
            f"the headings of line {lines[n].number}, '{one_line(lines[n].text)}', can be "
            "cut in more than one way: compare the results with the report",
        )
        for n, (_, rivals) in fitted.items()
        if rivals
    )
    return Grid(
        tuple(rows.cells),
        tuple(line.number for line in rows.lines),
        from_text=True,
        doubts=rows.doubts,
        pages=tuple(line.page for line in rows.lines),
        texts=tuple(line.text for line in rows.lines),
        guesses=guesses,
    )


def _exchanged(
    lines: Sequence[PlacedLine], ways: Mapping[int, list[tuple[str, list[Head]]]]
) -> dict[int, list[tuple[str, list[Head]]]]:
    """Return the lines that hold the words of headings in another order, as on a later page."""
    said = {tuple(sorted(w.text for w in lines[n].words)): cut for n, cut in ways.items()}
    found = {}
    for n, line in enumerate(lines):
        short = n not in ways and 1 < len(line.words) <= MOST_HEADINGS
        cut = said.get(tuple(sorted(w.text for w in line.words)), []) if short else []
        again = [(way, moved) for way, heads in cut if (moved := in_another_order(line, heads))]
        if again:
            found[n] = again
    return found


def _alike(
    lines: Sequence[PlacedLine], ways: Mapping[int, list[tuple[str, list[Head]]]]
) -> list[list[int]]:
    """Group lines of headings that say the same, as on the pages of one table."""
    found: dict[tuple[str, ...], list[int]] = {}
    for n, cut in ways.items():
        pieces = [text_of(piece) for piece in fragments(lines[n].words)]
        found.setdefault((*pieces, *(h.text for _, heads in cut for h in heads)), []).append(n)
    return list(found.values())


def _below(lines: Sequence[PlacedLine], heads: Sequence[int]) -> list[PlacedLine]:
    """Return the lines looked at below headings that say the same."""
    ends = [*heads[1:], len(lines)]
    parts = (lines[n + 1 : min(end, n + 1 + LOOKED_AT)] for n, end in zip(heads, ends, strict=True))
    return [line for part in islice(parts, MOST_PAGES) for line in part]


def _heads_results(lines: Sequence[PlacedLine], n: int, heads: Iterable[int]) -> bool:
    """Tell headings with a result below them from a title that only holds their words."""
    end = min((other for other in heads if other > n), default=len(lines))
    for line in lines[n + 1 : end]:
        name = name_end(line.words)
        if name and named_analyte(text_of(line.words[:name]).strip(" .:")).key:
            return True
    return False


class _Rows(Struct):
    """Rows of cells while the lines are read, one after the other."""

    known: Mapping[int, list[Head]]
    first_heading: PlacedLine
    cells: list[tuple[str, ...]] = field(default_factory=list)
    lines: list[PlacedLine] = field(default_factory=list)
    doubts: dict[int, str] = field(default_factory=dict)
    heads: list[Head] = field(default_factory=list)
    under: dict[int, list[Head]] = field(default_factory=dict)  # rows cut by the count of numbers
    alone: dict[int, list[Head]] = field(default_factory=dict)  # rows with but one number
    lone: dict[int, list[Head]] = field(default_factory=dict)  # of these, it stands apart
    wide: dict[int, list[Head]] = field(default_factory=dict)  # several numbers that stand apart
    tight: dict[int, list[Head]] = field(default_factory=dict)  # several that do not
    headed: bool = False
    named: int = -2  # the last line of headings
    heads_of: dict[int, list[Head]] = field(default_factory=dict)  # of all rows below some
    counts: dict[int, int] = field(default_factory=dict)  # numbers of rows that name an analyte
    most: dict[int, int] = field(default_factory=dict)  # columns of numbers, by the way of cutting

    def read(self, n: int, line: PlacedLine) -> None:
        """Read one line."""
        if self._heads(n, line):
            return
        if n + 1 in self.known and is_upper(line, self.known[n + 1]):
            return  # its words stand in the headings already
        if self.heads:
            numbers = [(w,) for w in line.words[1:] if STARTS.match(w.text)]
            apart = aligned(line, numbers)
            items = grouped(items_of(line.words[1:])[0])
            spaced = self.wide if aligned(line, items) else self.tight
            self.counts[len(self.cells)] = _count(line, self.heads)
            self.heads_of[len(self.cells)] = self.heads
            for cells, guess in _cut(line, self.heads):
                doubt = guess
                if _holds_result(cells):
                    rows = self.under if not apart else self.lone if len(numbers) == 1 else {}
                    rows[len(self.cells)] = self.heads
                if len(items) > 1 and _holds_result(cells):
                    spaced[len(self.cells)] = self.heads
                if _holds_result(cells) and _filled(cells, self.heads) == 1:
                    self.alone[len(self.cells)] = self.heads
                    doubt = doubt or _LED * bool(line.led and _numeric(self.heads) > 1)
                self._add(cells, line, doubt)
        else:
            self._above(line)

    def _heads(self, n: int, line: PlacedLine) -> bool:
        """Take a line of headings, or of the units right below one."""
        units = units_below(line, self.heads) if n == self.named + 1 else ()
        if n in self.known:
            self.heads, self.headed, self.named = self.known[n], True, n
            units = tuple(h.text for h in self.heads)
        if units:
            self._add(units, line)
        return bool(units)

    def _above(self, line: PlacedLine) -> None:
        """Read a line above the first headings, as where the pages of a print are exchanged."""
        first = self.known[min(self.known)]
        cut = _cut(line, first)
        if not self.headed and any(_holds_result(cells) for cells, _ in cut):
            self._add(tuple(h.text for h in first), self.first_heading)
            self.headed = True
        for cells, doubt in cut:
            self._add(cells, line, (doubt or _HEADED_BELOW) if _holds_result(cells) else "")

    def doubt_lines(self) -> None:
        """Doubt the lines that other lines tell not to fit their headings."""
        held = [n for n, cells in enumerate(self.cells) if _holds_result(cells)]
        self._doubt_all_if_most(held)
        self._doubt_uncounted()
        self._doubt_led()
        for heads in {id(heads): heads for heads in self.under.values()}.values():
            close = [n for n, other in self.under.items() if other is heads]
            # behind a row of dots every number stands apart; few do so of a table that is not
            lone = [n for n, other in self.lone.items() if other is heads]
            self._doubt_gaps(heads, close + lone * (len(lone) <= len(close)))
            several = sum(h.numeric and h.role != "name" for h in heads) > 1
            mostly = 2 * len(close) >= len(self._with(heads)) or self._places_say_nothing(heads)
            for n, other in self.alone.items():
                if other is heads and several and mostly:
                    self.doubts.setdefault(n, "one number under several headings")
        self._doubt_all_if_most([n for n in held if self.lines[n].led])

    def _doubt_all_if_most(self, held: Sequence[int]) -> None:
        """Doubt every line with a result where the headings do not fit most of them."""
        if held and sum(n in self.doubts for n in held) > MOSTLY * len(held):
            for n in held:
                self.doubts.setdefault(n, "the headings do not fit most lines beside it")

    def _doubt_uncounted(self) -> None:
        """Doubt all lines without gaps where one shows that a heading hides another column.

        A line as long as its headings may then have a blank, and its numbers stand under others.
        """
        alike: dict[tuple[str, ...], list[int]] = {}
        for n, heads in {**self.tight, **self.alone}.items():
            if self._places_say_nothing(heads) and self.counts.get(n):
                alike.setdefault(tuple(sorted(h.text for h in heads)), []).append(n)
        for rows in alike.values():
            heads = {**self.tight, **self.alone}[rows[0]]
            counts = {self.counts[n] for n in rows}
            fewer = min(counts) < _numeric(heads) < self.most.get(id(heads), 0)
            if max(counts) > _numeric(heads) or fewer:
                for n in rows:
                    self.doubts.setdefault(n, "lines beside it do not fit the headings")

    def _doubt_led(self) -> None:
        """Doubt all lines behind dots where one shows a column that has no heading."""
        alike: dict[tuple[str, ...], list[int]] = {}
        for n, heads in self.heads_of.items():
            words, led = self.lines[n].words, self.lines[n].led
            if 0 < led < len(words) and named_analyte(text_of(words[:led])).key:
                alike.setdefault(tuple(sorted(h.text for h in heads)), []).append(n)
        for rows in alike.values():
            heads = self.heads_of[rows[0]]
            most = max(_numeric(heads), 1)
            if any(led_past_headings(self.lines[n], self.heads_of[n], most) for n in rows):
                for n in rows:
                    self.doubts.setdefault(n, "lines beside it do not fit the headings")

    def _with(self, heads: list[Head]) -> list[int]:
        """Return the rows under headings that hold a result."""
        rows = {**self.under, **self.alone}
        return [n for n, one in rows.items() if one is heads]

    def _places_say_nothing(self, heads: list[Head]) -> bool:
        """Tell rows under headings whose numbers mostly follow each other without white."""
        wide, tight = (sum(h is heads for h in rows.values()) for rows in (self.wide, self.tight))
        return 0 < tight >= wide

    def _doubt_gaps(self, heads: Sequence[Head], alike: Sequence[int]) -> None:
        """Doubt lines without the text that others have under a heading, as their number may be it.

        Marks stand under few lines only, so their column tells nothing.
        """
        uneven = any(n in self.doubts for n in alike)
        for at, head in enumerate(heads):
            if head.numeric or head.role in _NEVER_TELL or _SPARSE.search(head.text):
                continue
            full = [n for n in alike if self.cells[n][at]]
            if len(full) >= (SOMETIMES if uneven else USUALLY) * len(alike):
                for n in set(alike) - set(full):
                    self.doubts.setdefault(n, f"nothing stands under '{head.text}' here")

    def _add(self, cells: tuple[str, ...], line: PlacedLine, doubt: str = "") -> None:
        if doubt:
            self.doubts[len(self.cells)] = doubt
        self.cells.append(cells)
        self.lines.append(line)


# Share of the lines that fill a column, for a gap in it to tell: where all lines hold as many
# numbers as there are headings, and where some do not.
USUALLY, SOMETIMES = 0.4, 0.15
_NEVER_TELL = frozenset({"name", "unit", "qualifier", "condition"})
_SPARSE = lazy(r"(?i)comment|remark|note|status|pass|^qual|^flag|^mark|^sgn|^sign|^q$|^cas")
MOSTLY = 0.5  # of the lines, for headings to fit them
_LED = "one number behind dots, under several headings"
_HEADED_BELOW = "the headings of its columns stand further down"
LOOKED_AT = 30  # lines below headings, to see how many numbers they hold
MOST_PAGES = 4  # under the same headings, for that


def _fitting(
    found: Sequence[tuple[str, list[Head]]], line: PlacedLine, below: Sequence[PlacedLine]
) -> tuple[list[Head], bool]:
    """Return the headings that are as many as the numbers of most lines below them.

    True beside them tells that the line may be cut otherwise, with another column of results.
    """
    ways = [heads for _, heads in found]
    counts = []
    spread = not any(h.role == "uncertainty" for heads in ways for h in heads)
    for row in below:
        if (count := count_in(row, spread=spread)) is not None:
            counts.append(count)
    fits = [sum(_numeric(heads) == count for count in counts) for heads in ways]
    best = max(fits)
    chosen = fits.index(best)
    pieces = len(fragments(line.words))
    if pieces > 2 and len(ways[0]) == pieces and (fits[0] or best < MOSTLY * len(counts)):
        chosen, rivals = 0, False  # wide gaps between the headings say how they are cut
    else:
        alike = {results_at(ways[n]) for n, fit in enumerate(fits) if fit == best}
        rivals = len(alike) > 1 or best < MOSTLY * len(counts)
        rivals = (rivals or found[chosen][0] != "whole") and not all(map(is_sure, ways[chosen]))
    heads = ways[chosen]
    glued = run_into_each_other(line.words) or cut_otherwise(heads) or hides_a_column(heads)
    if heads[0].role not in {"name", "other", "ignore"}:
        heads = [replace(h, role="other") if h.role == "name" else h for h in heads]
    if not any(h.role == "name" for h in heads):  # the corner above the names is empty
        heads = [Head(-1.0, -1.0, "Parameter", "name"), *heads]
    if not any(h.role == "unit" for h in heads):  # a place for those beside the numbers
        heads = [*heads, Head(float("inf"), float("inf"), "Unit", "unit")]
    return heads, glued or (rivals and len(ways) > 1)


def _count(line: PlacedLine, heads: Sequence[Head]) -> int:
    """Count the numbers of a line; thousands apart are one where the headings are fewer."""
    spread = not any(h.role == "uncertainty" for h in heads)
    count = count_in(line, spread=spread, headed=_methods_first(heads)) or 0
    if count <= _numeric(heads):
        return count
    end = name_end(line.words) or 0
    joined = grouped(items_of(line.words[end:])[0])
    return min(count, max(len(joined), 1))


def _numeric(heads: Sequence[Head]) -> int:
    return sum(h.numeric and h.role != "name" for h in heads)


def _filled(cells: Sequence[str], heads: Sequence[Head]) -> int:
    """Count the columns of numbers that hold something."""
    pairs = zip(cells, heads, strict=False)
    return sum(bool(cell) for cell, h in pairs if h.numeric and h.role != "name")


def _holds_result(cells: Sequence[str]) -> bool:
    return len(cells) > 1 and any(printed_number(c).kind in {"value", "below"} for c in cells[1:])


def _cut(line: PlacedLine, heads: Sequence[Head]) -> list[tuple[tuple[str, ...], str]]:
    """Cut one line into cells under the headings, with the reason where that is a guess."""
    labels = labelled(line.text)
    if labels:
        return [(cells, "") for cells in labels]
    names = [n for n, h in enumerate(heads) if h.role == "name"]
    if len(names) > 1:
        return _panels(line, heads, names)
    return [_cut_one(line, heads)]


def _panels(
    line: PlacedLine, heads: Sequence[Head], names: Sequence[int]
) -> list[tuple[tuple[str, ...], str]]:
    """Cut a line of tables side by side, each under headings of its own."""
    edges = [heads[n].left - GAP / 2 for n in names[1:]]
    starts = [0, *names[1:], len(heads)]
    cells = [""] * len(heads)
    doubts = []
    for panel in range(len(names)):
        low = edges[panel - 1] if panel else float("-inf")
        high = edges[panel] if panel < len(edges) else float("inf")
        words = tuple(w for w in line.words if low <= w.left < high)
        if not words:
            continue
        first, last = starts[panel], starts[panel + 1]
        part, doubt = _cut_one(replace(line, words=words), heads[first:last])
        cells[first : first + len(part)] = part
        doubts += [doubt] if doubt else []
    return [(tuple(cells[: len(heads)]), "; ".join(doubts))]


def _cut_one(line: PlacedLine, heads: Sequence[Head]) -> tuple[tuple[str, ...], str]:
    bare = without_method(line.text, headed=_methods_first(heads))
    words = words_left(line.words, bare)
    split = name_end(words)
    if split is None:
        return by_place(line.words, heads), ""
    named, rest = words[:split], words[split:]
    signs = under_marks(rest, heads)
    rest = tuple(word for word in rest if word not in signs)
    numbers, others = items_of(rest, spread=not any(h.role == "uncertainty" for h in heads))
    columns = [n for n, h in enumerate(heads) if h.numeric and h.role != "name"]
    behind = [word for word in line.words if rest and word.left >= rest[0].left]
    numbers, in_groups = _thousands_joined(numbers, behind, len(columns))
    cells = [""] * len(heads)
    moved = False
    if aligned(line, numbers):
        left = under_others(line, numbers, heads, (columns, cells))
        numbers, moved = left, len(left) < len(numbers)
    name_at = next((n for n, h in enumerate(heads) if h.role == "name"), 0)
    cells[name_at] = " ".join(w.text for w in named)
    cells = [next((w.text for w, at in signs.items() if at == n), c) for n, c in enumerate(cells)]
    doubt = ""
    if len(numbers) == len(columns):
        doubt = "a space may part two numbers or the thousands of one" if in_groups else ""
        if not doubt and aligned(line, numbers) and out_of_place(numbers, heads, columns):
            doubt = "its numbers do not stand under the headings that they follow in order"
        for column, number in zip(columns, numbers, strict=True):
            cells[column] = text_of(number)
        doubt = doubt or ("" if aligned(line, numbers) else unit_elsewhere(numbers, others, heads))
    elif moved or aligned(line, numbers):
        doubt = place_numbers(numbers, heads, (columns, cells))
    else:
        doubt = _as_pasted(bare, heads, cells, columns)
    for item in units_in_order(others, heads, cells):
        place_other(item, heads, cells)
    place_method(text_of(w for w in line.words if w not in words), heads, cells)
    return tuple(cells), doubt or method_as_result(heads, cells)


def _methods_first(heads: Sequence[Head]) -> bool:
    """Tell headings in which that of the methods stands before that of the results."""
    before = [h.role for h in heads if h.role == "value" or METHODS.search(h.text)]
    return bool(before) and before[0] != "value"


def _thousands_joined(
    numbers: list[list[Word]], behind: Sequence[Word], columns: int
) -> tuple[list[list[Word]], bool]:
    """Return numbers with their thousands joined where need be, and whether that is a guess."""
    joined = grouped(numbers)
    in_groups = len(joined) < len(numbers)
    spread = any(after.left - before.right >= GAP for before, after in pairwise(behind))
    if in_groups and (spread or len(numbers) > columns):
        return joined, not spread
    return numbers, in_groups


def _as_pasted(line: str, heads: Sequence[Head], cells: list[str], columns: Sequence[int]) -> str:
    """Read a line whose numbers are not as many as the headings by itself."""
    line = " ".join(word for word in line.split() if not DAY.match(word))
    found = pasted_cells(line)
    values = [n for n, h in enumerate(heads) if h.role == "value"]
    value = next(iter([*values, *columns]), None)
    if value is None or len(found) < 2:
        return ""
    cells[value] = found[1]
    unit = next((n for n, h in enumerate(heads) if h.role == "unit"), None)
    if unit is not None and len(found) > 2:
        cells[unit] = found[2]
    name_at = next((n for n, h in enumerate(heads) if h.role == "name"), 0)
    cells[name_at] = found[0]
    doubt = several_numbers(line)
    if len(columns) > 1 and not doubt:
        others = ", ".join(f"'{heads[n].text}'" for n in columns)
        doubt = f"one number under several headings ({others})"
    return doubt
