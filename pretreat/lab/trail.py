"""The file's own lines beside what was understood of them, for a person to compare."""

import re
import textwrap
from collections.abc import Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.water import Reading, WaterAnalysis
from pretreat.lab.interpret.traces import only_present
from pretreat.lab.named import name_and_unit
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import LabReport, one_line
from pretreat.lab.read.wording import shown

Confidence = Literal["sure", "assumed", "guessed"]
_GUESSED = ("doubt ", "column guessed", "known by its symbol")
LINE, _WIDTH = 80, 38  # of a line, and of the file's own in it


class TrailLine(Struct, frozen=True):
    """One line of a report and its reading.

    ``confidence`` is "sure" where everything is printed, "assumed" where a unit or a basis is
    not, "guessed" where the line or the column may mean something else; ``rivals`` are the
    other numbers of the line.
    """

    place: str
    printed: str
    understood: str
    confidence: Confidence
    rivals: tuple[str, ...] = ()


def trail(water: WaterAnalysis, report: LabReport) -> tuple[TrailLine, ...]:
    """Return the line of each reading beside what was made of it.

    Parameters
    ----------
    water : WaterAnalysis
        The water that was read. [-]
    report : LabReport
        The report it comes from. [-]

    Returns
    -------
    tuple of TrailLine
        In the order of the readings. [-]
    """
    lines = {r.place: r for r in report.results}
    found = []
    for reading in water.readings:
        result = lines.get(reading.place)
        if result is None:
            continue
        cells = [cell.strip() for cell in re.split(r" \| |\s{2,}", result.line)]
        found.append(
            TrailLine(
                reading.place,
                f"{reading.name}: {reading.text}" if result.header else " | ".join(cells),
                _understood(reading),
                confidence(reading),
                () if result.header else _rivals(cells, reading),
            )
        )
    return tuple(found)


def confidence(reading: Reading) -> Confidence:
    """Return how sure the reading of one result is."""
    if any(mark in reading.note for mark in _GUESSED):
        return "guessed"
    return "assumed" if "assumed " in reading.note else "sure"


def _understood(reading: Reading) -> str:
    name, unit = name_and_unit(reading.analyte)
    value = reading.value if reading.value is not None else reading.below
    sign = "" if reading.value is not None else "< "
    if only_present([replace(reading, used=True)]):
        return f"{name} present"
    number = "not detected" if value is None else f"{sign}{shown(value)} {unit}".strip()
    parts = [reading.fraction, "" if reading.used else "another result is used"]
    more = ", ".join(part for part in parts if part)
    return f"{name} {number}" + (f" ({more})" if more else "")


def _rivals(cells: Sequence[str], reading: Reading) -> tuple[str, ...]:
    return tuple(
        cell
        for cell in cells
        if cell != reading.text and printed_number(cell).kind in {"value", "below"}
    )


def trail_text(lines: Sequence[TrailLine]) -> str:
    """Return the lines of a report and their readings as a table of text.

    Parameters
    ----------
    lines : sequence of TrailLine
        From `trail`. [-]

    Returns
    -------
    str
        One line each; what was guessed is marked. [-]
    """
    out = ["As printed, and as it was read"]
    for line in lines:
        doubt = "" if line.confidence == "sure" else f" [{line.confidence}]"
        rivals = f"; also on the line: {', '.join(line.rivals)}" if line.rivals else ""
        printed = line.printed if len(line.printed) <= _WIDTH else f"{line.printed[: _WIDTH - 1]}…"
        understood = f"{line.understood}{doubt}{rivals}"
        row = f"  {line.place:<9} {printed:<{_WIDTH}}  {understood}"
        if len(row) > LINE:
            out.append(f"  {line.place:<9} {one_line(line.printed, LINE - 12)}")
            row = textwrap.fill(
                understood, LINE, initial_indent=" " * 12, subsequent_indent=" " * 14
            )
        out.append(row.rstrip())
    if any(line.confidence == "guessed" for line in lines):
        text = (
            "What is marked guessed: compare it with the report; --column, --sample and --unit "
            "settle it, and the site file keeps them ([water] column, sample, unit)"
        )
        out += textwrap.wrap(text, LINE, initial_indent="  ", subsequent_indent="  ")
    return "\n".join(out)
