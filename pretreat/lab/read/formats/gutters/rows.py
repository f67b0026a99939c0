"""A print cut into rows of cells where white runs between its columns."""

from collections.abc import Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.lab.read.formats.gutters.blocks import FEWEST_COLUMNS, gutter_blocks, lengthen
from pretreat.lab.read.formats.gutters.cells import Block, headings, loose, row_of
from pretreat.lab.read.formats.line_items import STARTS, several_in, with_spread
from pretreat.lab.read.formats.pasted import labelled
from pretreat.lab.read.formats.words import PlacedLine
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.report import Grid, one_line

MOST_LINES = 2000  # a longer print is a table for a spreadsheet
TRUST = 1.4  # over cuttings that go line by line


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
    lines = [replace(line, words=tuple(with_spread(line.words))) for line in lines]
    blocks = gutter_blocks(lines) if len(lines) <= MOST_LINES else []
    if not blocks:
        return None
    rows = _Rows()
    at = 0
    for block in blocks:
        lengthen(lines, block, blocks)
        rows.above(lines, block, at)
        for n in range(block.first, block.last + 1):
            rows.inside(lines[n], block)
        rows.doubt_led()
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
        guesses=tuple(
            (
                "warning",
                f"the headings of line {lines[n].number}, '{one_line(lines[n].text)}', run into "
                "each other over the columns: compare the results with the report",
            )
            for block in blocks
            for n in sorted(block.mixed & set(block.heads))
        ),
    )


class _Rows(Struct):
    """Rows of cells with the lines that they were cut from."""

    cells: list[tuple[str, ...]] = field(default_factory=list)
    lines: list[PlacedLine] = field(default_factory=list)
    doubts: dict[int, str] = field(default_factory=dict)
    begun: int = 0  # the first row of the block that is read

    def add(self, cells: tuple[str, ...], line: PlacedLine) -> None:
        """Keep a row."""
        self.cells.append(cells)
        self.lines.append(line)

    def above(self, lines: Sequence[PlacedLine], block: Block, at: int) -> None:
        """Keep the lines above a block and its headings."""
        self.begun = len(self.cells)
        for n in range(at, block.first):
            if n not in block.heads:
                for row in labelled(lines[n].text) or [loose(lines[n], block, n)]:
                    self.add(row, lines[n])
        if block.heads:
            self.add(headings(lines, block), lines[block.heads[-1]])

    def inside(self, line: PlacedLine, block: Block) -> None:
        """Keep a line of a block, or join it to the name above that it ends."""
        row, doubt = row_of(line, block)
        if self.cells and _wraps(row, self.cells[-1]):
            self.cells[-1] = _joined(self.cells[-1], row)
            return
        if doubt:
            self.doubts[len(self.cells)] = doubt
        self.add(row, line)

    def doubt_led(self) -> None:
        """Doubt all lines of a block behind dots where one has several numbers in a cell.

        Its columns are then narrower than the white that is seen by chance, or one has no heading.
        """
        led = [n for n in range(self.begun, len(self.cells)) if self.lines[n].led]
        if any(several_in(cell) for n in led for cell in self.cells[n][1:]):
            for n in led:
                self.doubts.setdefault(n, "lines beside it hold several numbers in a column")


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
