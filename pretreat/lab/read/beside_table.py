"""What was measured at the well and stands beside the table: as a label, or in a sentence."""

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec.structs import replace

from pretreat.core.text import lazy
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Grid, PrintedResult

_AT_THE_WELL = frozenset({"temperature", "ph", "ec"})
_BARE = frozenset({"ph"})  # needs no unit
LONGEST_LABEL = 60
LONGEST_NAME = 5  # words before a temperature
_DEGREES = lazy(
    r"(?P<number>-?\d{1,2}(?:[.,]\d{1,2})?)\s?(?:[°ºo˚]\s?|deg\.?\s?)[CС]\b|(?P<other>-?\d{1,2}(?:[.,]\d{1,2})?)\s?℃"
)

_AT_SAMPLING = lazy(
    r"(?i)\s(?:bei|beim|at|à|au|al|a la|na|vid|ved|przy|při|bij)\s+"
    r"(?:(?:the|der|time of|de)\s+)?"
    r"(?:entnahme|probenahme|sampling|collection|prélèvement|muestreo|toma|prelievo|provtagning|"
    r"prøvetagning|poborze|odběru|monstername|colheita)\b"
)
_NUMBER_NEXT = lazy(r"\s+[<>]?\d+(?:[.,]\d+)?(?:\s|$)")


def beside_table(
    grid: Grid, rows: tuple[int, int], found: Sequence[PrintedResult], notes: Sequence[str]
) -> Iterator[PrintedResult]:
    """Yield what is measured at the well and not in the table.

    Parameters
    ----------
    grid : Grid
        The cells. [-]
    rows : tuple of int
        First row above the table, and the row where it begins. [-]
    found : sequence of PrintedResult
        What the table holds; nothing is added where it speaks of several samples. [-]
    notes : sequence of str
        Lines beside the table, searched for a temperature in a sentence. [-]

    Yields
    ------
    PrintedResult
        Of the same sample as those of the table. [-]
    """
    if len({(r.sample, r.site, r.date, r.activity) for r in found}) != 1:
        return
    own = found[0]
    held = {named_analyte(r.name).key for r in found}
    same = PrintedResult(
        "", "", "", sample=own.sample, site=own.site, date=own.date, about=own.about
    )
    for row in range(*rows):
        cells = [(n, cell) for n, cell in enumerate(grid.rows[row]) if cell]
        for (_, label), (column, text) in pairwise(cells):
            key = named_analyte(label.strip(" :")).key if len(label) < LONGEST_LABEL else ""
            number = printed_number(text)
            if key not in _AT_THE_WELL - held or number.kind != "value":
                continue
            if number.unit or key in _BARE:
                held.add(key)
                yield replace(
                    same,
                    place=grid.place(row, column),
                    name=label,
                    text=text,
                    detail="field",
                    line=grid.line(row),
                    doubt=_other_numbers(cells, column),
                )
    if "temperature" not in held:
        yield from _in_sentence(notes, same)


def _other_numbers(cells: Sequence[tuple[int, str]], column: int) -> str:
    """Return a doubt where another number follows, as in a row of a table headed further down."""
    behind = next((text for n, text in cells if n > column), "")
    if printed_number(behind).kind not in {"value", "below"}:
        return ""
    return f"'{behind}' stands behind it in its row"


def _in_sentence(notes: Sequence[str], same: PrintedResult) -> Iterator[PrintedResult]:
    """Yield the temperature of the water out of a sentence, not that of another thing."""
    for note in notes:
        for match in _DEGREES.finditer(note):
            if _NUMBER_NEXT.match(note[match.end() :]):
                break  # a line of a table, with more numbers than this one
            before = re.split(r"[,;|()]|\.\s", note[: match.start()])[-1].strip(" :=")
            parts = _AT_SAMPLING.sub(" ", before.replace(":", " ")).split()
            for length in range(min(LONGEST_NAME, len(parts)), 0, -1):
                name = " ".join(parts[-length:])
                key = named_analyte(name).key
                if key == "temperature":
                    text = match["number"] or match["other"]
                    yield replace(
                        same, place="the text", name=name, text=text, unit="°C", line=note
                    )
                    return
                if key:
                    break
