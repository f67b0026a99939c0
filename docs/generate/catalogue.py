"""The catalogue of figures and tables: every key with label, unit, law and sources."""

from collections.abc import Iterator

from docs.generate import method
from docs.generate.markdown import anchor, cell, code, generated, table
from docs.generate.studies import figures, laws_used, recorded, series
from pretreat.core.names import words_of

INTRO = """
`--json` prints each figure under its key; the workbook has a cell of the same name, with `_`
for `.`. A key ends in its unit, and its value is always in that unit, whatever `--units` shows.
A figure is there where a run has it: of stages that are not in the train there is none. In
Python, `study["softener.interval_d"]` gives it, `study.worked(...)` its equation with numbers
and `study.find("hardness")` the keys that speak of a word.

*Origin*: measured, calculated, assumed or chosen. *Law*: the equation behind it; a figure
without one is given, looked up, or found by the chemistry.
"""


GONE = 12


def pages() -> Iterator[tuple[str, str, str]]:
    """Yield file, title and text of the catalogue."""
    _none_is_missing()
    body = [INTRO.strip()]
    by_law = {key: name for name, key, _ in laws_used()}
    groups: dict[str, list[str]] = {}
    for key in figures():
        groups.setdefault(key.split(".")[0], []).append(key)
    for group in sorted(groups):
        lines = []
        for key in groups[group]:
            figure = figures()[key][1]
            law = by_law.get(key)
            how = ""
            if law is not None:
                words = cell(words_of(law.split(":")[1]))
                how = f"[{words}]({method.link(law, '../method/')})"
            lines.append(
                (
                    f'<span id="{anchor(key)}"></span>{code(key)}',
                    cell(figure.label),
                    cell(figure.unit),
                    figure.origin,
                    how,
                    ", ".join(f"[{s}](../method/sources.md#{anchor(s)})" for s in figure.cites),
                )
            )
        heads = ("key", "label", "unit", "origin", "law", "source")
        body.append(f"## {group}\n\n" + table(heads, lines))
    origin = "the studies of the demo sites and of trains that hold every stage"
    yield "reference/figures.md", "Figures", generated("Figures", origin, "\n\n".join(body))
    yield "reference/tables.md", "Tables", generated("Tables", origin, _tables())


def _none_is_missing() -> None:
    """Hold the catalogue against the keys that the record of the tests holds.

    A few may be gone since the record was made.
    """
    known = {key for document in recorded() for key in document.get("figures", ())}
    missing = sorted(known - set(figures()))
    if len(missing) > GONE:
        raise RuntimeError(f"figures that no study of the pages shows: {', '.join(missing)}")


def _tables() -> str:
    parts = [
        "`--json` holds them under `series`, `--csv DIR` writes one file each, and the workbook "
        "shows them on its sheets."
    ]
    for key, one in sorted(series().items()):
        lines = [
            (code(column), cell(heading), cell(unit))
            for column, heading, unit in zip(
                one.columns, one.headings or one.columns, one.units, strict=True
            )
        ]
        how = f"{cell(one.method)}\n\n" if one.method else ""
        parts.append(
            f"## {key}\n\n{cell(one.label)}\n\n{how}" + table(("column", "heading", "unit"), lines)
        )
    return "\n\n".join(parts)
