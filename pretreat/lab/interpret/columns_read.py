"""Which column of a report the results of a sample were taken from, and which were not."""

from collections.abc import Sequence

from pretreat.core.basis import Flag
from pretreat.lab.read.report import LabReport, PrintedResult, one_line

MOST_LISTED = 8


def columns_read(report: LabReport, results: Sequence[PrintedResult]) -> Flag:
    """Return the flag that says where the results of a sample stand in its report.

    Parameters
    ----------
    report : LabReport
        The report, with the columns that were seen. [-]
    results : sequence of PrintedResult
        Those of the sample. [-]

    Returns
    -------
    Flag
        What was taken, what was seen and not taken and why, and the option that settles it. [-]
    """
    places = list(dict.fromkeys(r.place for r in results if r.place))
    span = f"{places[0]} to {places[-1]}" if len(places) > 1 else "".join(places)
    sheet = f", sheet '{report.decisions.sheet}'" if report.decisions.sheet else ""
    where = f" ({span}{sheet})" if span else ""
    if any(r.header for r in results) or report.decisions.layout != "vertical":
        layout = "names across the top" if any(r.header for r in results) else "one result a line"
        return Flag("columns_read", "info", f"results are taken from a table with {layout}{where}")
    own = list(dict.fromkeys(r.column for r in results if r.column))
    if not own:
        return Flag("columns_read", "info", f"results are taken from the text{where}")
    guessed = {r.column for r in results if r.guessed}
    named = [f"{c} (taken by its content)" if c in guessed else c for c in own]
    text = f"results are taken from column {', '.join(named)}{where}"
    samples = [column for column in report.columns if column not in own]
    left = [f"column {c} (another sample: --sample)" for c in samples]
    left += [f"column {one.column} ({one.why}: --column)" for one in report.seen]
    text += f"; seen and not taken: {_listed(left)}" if left else "; no other column holds numbers"
    units = [r for r in results if not r.unit]
    if len(units) > 1 and any(r.unit for r in results):
        return Flag("columns_read", "info", f"{text}; units of lines without one: --unit")
    return Flag("columns_read", "info", text)


def _listed(texts: Sequence[str]) -> str:
    more = f" and {len(texts) - MOST_LISTED} more" if len(texts) > MOST_LISTED else ""
    return ", ".join(one_line(text) for text in texts[:MOST_LISTED]) + more
