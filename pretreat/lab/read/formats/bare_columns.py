"""Lines with several numbers each and no headings: columns whose content must tell them apart."""

from collections.abc import Sequence

from pretreat.lab.read.formats.line_items import items_of, name_end, words_left
from pretreat.lab.read.formats.pasted import without_method
from pretreat.lab.read.formats.words import PlacedLine, Word, text_of
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.report import Grid
from pretreat.lab.read.unit_words import is_unit

FEWEST_LINES, ALIKE = 4, 0.8  # lines with equally many numbers, and their share
Cut = tuple[list[list[Word]], list[list[Word]], str]


def bare_columns(lines: Sequence[PlacedLine]) -> Grid | None:
    """Cut lines of a name and the same count of numbers into columns.

    Parameters
    ----------
    lines : sequence of PlacedLine
        Lines of a text without headings. [-]

    Returns
    -------
    Grid or None
        Name, numbers and unit; None where the lines are not alike. [-]
    """
    cut = {n: found for n, line in enumerate(lines) if (found := _cut(line))}
    counts = [len(numbers) for numbers, _, _ in cut.values()]
    if len(counts) < FEWEST_LINES:
        return None
    usual = max(set(counts), key=counts.count)
    if usual < 2 or counts.count(usual) < ALIKE * len(counts):
        return None
    more = max(counts) > usual  # a column that most lines leave blank, or another beside it
    rows: list[tuple[str, ...]] = []
    doubts: dict[int, str] = {}
    for n, line in enumerate(lines):
        if n not in cut:
            rows.append((line.text,))
            continue
        numbers, others, name = cut[n]
        cells = [text_of(number) for number in numbers[:usual]]
        if len(numbers) != usual or more:
            doubts[n] = f"it holds {' and '.join(text_of(number) for number in numbers)}"
        unit = next((u for o in others if is_unit(u := text_of(o).strip("()"))), "")
        rows.append((name, *cells, *[""] * (usual - len(cells)), unit))
    return Grid(
        tuple(rows),
        tuple(line.number for line in lines),
        from_text=True,
        doubts=doubts,
        pages=tuple(line.page for line in lines),
        texts=tuple(line.text for line in lines),
    )


def _cut(line: PlacedLine) -> Cut | None:
    words = words_left(line.words, without_method(line.text, headed=False))
    end = name_end(words)
    if end is None:
        return None
    name = text_of(words[:end]).strip(" .:")
    if not named_analyte(name).key:
        return None
    numbers, others = items_of(words[end:])
    return (numbers, others, name) if numbers else None
