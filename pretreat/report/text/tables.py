"""A series as a table of text, cut into strips where it is wider than the page."""

import textwrap

from pretreat.core.basis import Series
from pretreat.report.text.values import column_text

_GAP = 2
_WIDEST_WORDS = 34
_HEAD_CHARS = 11


def table_lines(series: Series, columns: int, *, us: bool = False) -> list[str]:
    """Return a series as lines of text under its label.

    Parameters
    ----------
    series : Series
        The series. [-]
    columns : int
        Width of the page. [characters]
    us : bool
        True to show US customary units where there are any. [-]

    Returns
    -------
    list of str
        Lines no wider than the page. [-]
    """
    cells = [_column(series, i, us) for i in range(len(series.columns))]
    lines = [series.label]
    for number, strip in enumerate(_strips(cells, columns)):
        if number:
            lines.append("")
        lines += _strip_lines(strip)
    return lines


class _Column:
    """Heading lines and cells of one column as text."""

    def __init__(self, head: list[str], cells: list[list[str]], numeric: bool) -> None:
        self.head, self.cells, self.numeric = head, cells, numeric
        self.width = max(len(line) for block in (head, *cells) for line in (block or [""]))

    def padded(self, line: str) -> str:
        return f"{line:>{self.width}}" if self.numeric else f"{line:<{self.width}}"


def _column(series: Series, index: int, us: bool) -> _Column:
    values = series.column(series.columns[index])
    heading, unit, cells = column_text(series, index, "us" if us else "si")
    numeric = any(isinstance(v, float) for v in values)
    head = textwrap.wrap(heading, _HEAD_CHARS if numeric else _WIDEST_WORDS) or [""]
    if unit:
        head += textwrap.wrap(unit, _HEAD_CHARS)
    blocks = [
        [text] if isinstance(value, float) else textwrap.wrap(text, _WIDEST_WORDS) or [""]
        for value, text in zip(values, cells, strict=True)
    ]
    return _Column(head, blocks, numeric)


def _strips(columns: list[_Column], width: int) -> list[list[_Column]]:
    first, rest = columns[0], columns[1:]
    strips: list[list[_Column]] = []
    strip: list[_Column] = [first]
    for column in rest:
        used = sum(c.width + _GAP for c in strip) + _GAP
        if len(strip) > 1 and used + column.width > width:
            strips.append(strip)
            strip = [first]
        strip.append(column)
    return [*strips, strip]


def _strip_lines(columns: list[_Column]) -> list[str]:
    high = max(len(c.head) for c in columns)
    heads = [[""] * (high - len(c.head)) + c.head for c in columns]
    lines = [_line(columns, [head[i] for head in heads]) for i in range(high)]
    lines.append(_line(columns, ["-" * c.width for c in columns]))
    for row in range(len(columns[0].cells)):
        blocks = [c.cells[row] for c in columns]
        for i in range(max(len(block) for block in blocks)):
            lines.append(_line(columns, [b[i] if i < len(b) else "" for b in blocks]))
    return lines


def _line(columns: list[_Column], texts: list[str]) -> str:
    gap = " " * _GAP
    return gap + gap.join(c.padded(t) for c, t in zip(columns, texts, strict=True)).rstrip()
