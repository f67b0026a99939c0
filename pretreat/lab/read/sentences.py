"""Results told in sentences, as in a letter: read where a file holds no table, always in doubt."""

import re
from collections.abc import Iterable, Iterator, Sequence

from pretreat.core.text import lazy
from pretreat.lab.read.headings import role_by_words
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Grid
from pretreat.lab.read.unit_words import is_concentration, is_conductivity, is_temperature, is_unit

LONGEST_NAME, LONGEST_UNIT = 4, 3  # words
MOST_ROWS = 3000
_CLAUSES = lazy(r"[.;:!?]\s+|,\s+|\s+(?:and|und|et|y|e|en|och|og|a|i|ve|against|while|but)\s+|[()]")
_NUMBER = lazy(r"[<>]?\s?\d+(?:[.,]\d+)?(?=\s|$)")
# Words before a number that make it a bound, not a result.
_BOUNDS = lazy(
    r"(?i)\b(?:not|exceed\w*|below|less|under|above|over|between|range|nicht|unter|über|max\w*|min\w*|"
    r"dépass\w*|inférieur\w*|menos|menor|superior|inferior|to|than|from|by)\b"
)
_DOUBT = "it is told in a sentence, not in a table"


def sentences(grids: Iterable[Grid]) -> Grid | None:
    """Return the results that stand in sentences, one a row.

    Parameters
    ----------
    grids : iterable of Grid
        The cells of a file in which no table is seen. [-]

    Returns
    -------
    Grid or None
        Name, number and unit, each row in doubt; None where no sentence tells a result. [-]
    """
    rows: list[tuple[str, ...]] = []
    lines: list[int] = []
    texts: list[str] = []
    seen: set[str] = set()
    for grid in grids:
        for n, cells in enumerate(grid.rows[:MOST_ROWS]):
            text = " ".join("; ".join(cell for cell in cells if cell).split())
            if text in seen:
                continue
            seen.add(text)
            for found in _told(text):
                rows.append(found)
                lines.append(grid.lines[n])
                texts.append(text)
    if not rows:
        return None
    doubts = dict.fromkeys(range(1, len(rows) + 1), _DOUBT)
    return Grid(
        (("Parameter", "Result", "Unit"), *rows),
        (lines[0], *lines),
        from_text=True,
        doubts=doubts,
        texts=("", *texts),
    )


def _told(text: str) -> Iterator[tuple[str, str, str]]:
    """Yield name, number and unit of each clause that names one analyte and one result."""
    for clause in _CLAUSES.split(text):
        numbers = list(_NUMBER.finditer(clause))
        if len(numbers) != 1:
            continue
        before = clause[: numbers[0].start()]
        behind = clause[numbers[0].end() :].split()
        if _BOUNDS.search(before) or role_by_words(before) in {"ignore", "limit", "previous"}:
            continue
        unit = _unit(behind)
        rest = behind[len(unit.split()) :]
        name = _name(before.split()[::-1], backwards=True) or _name(rest, backwards=False)
        key = named_analyte(name).key
        fits = {"ph": not unit, "ec": is_conductivity(unit), "temperature": is_temperature(unit)}
        if key and fits.get(key, is_concentration(unit)):
            text_of_number = numbers[0][0].replace(" ", "")
            if printed_number(text_of_number).kind in {"value", "below"}:
                yield name, text_of_number, unit


def _unit(words: Sequence[str]) -> str:
    texts = (" ".join(words[:n]) for n in range(min(LONGEST_UNIT, len(words)), 0, -1))
    return next((text for text in texts if is_unit(text)), "")


def _name(words: Sequence[str], *, backwards: bool) -> str:
    """Return the name of an analyte nearest to a number, which a few words may part from it."""
    for start in range(len(words)):
        for length in range(min(LONGEST_NAME, len(words) - start), 0, -1):
            part = words[start : start + length]
            text = " ".join(part[::-1] if backwards else part)
            if named_analyte(text).key and re.search(r"[^\W\d_]{2}", text):
                return text
    return ""
