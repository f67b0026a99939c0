"""The reference of the site file, from the catalogue that its forms are made of."""

from collections.abc import Iterator

from docs.generate.markdown import anchor, cell, code, generated, sentence, table
from pretreat.site.sheets.catalogue import Entry, catalogue
from pretreat.stages import BY_KEY
from pretreat.stages.fixed import SYNONYMS
from pretreat.stages.site import tables

INTRO = """
`pretreat new DIR` writes a site file and a workbook form with these keys; both are read by the
same commands. Required are `water.analysis` (or the test-kit values), `machine.product_flow`,
`machine.recovery` and `machine.hours_per_day`. A quantity is a text with its unit, in any unit
of its kind (`"7 gpm"`), or a bare number under the key with its unit (`product_flow_m3_h = 1.6`).
An unknown key is refused, and the nearest known one named.
"""


def pages() -> Iterator[tuple[str, str, str]]:
    """Yield file, title and text of the reference."""
    groups: dict[str, list[Entry]] = {}
    for entry in catalogue(tables()):
        groups.setdefault(entry.table, []).append(entry)
    parts = [INTRO.strip()]
    for name, entries in groups.items():
        head = next((e for e in entries if not e.key), None)
        about = sentence(head.help) if head else ""
        if name in BY_KEY:
            method = f"[the method](../method/{name}.md)"
            about = f"{about} {BY_KEY[name].label}: {method}.".strip()
        lines = [_line(e) for e in entries if e.key]
        parts.append(
            f"## `[{name}]` {{ #{anchor(name)} }}\n\n"
            + (f"{about}\n\n" if about else "")
            + (table(("key", "what", "example", "US example", "range", "help"), lines))
        )
    parts.append(_stages())
    body = "\n\n".join(parts)
    yield "reference/site_file.md", "Site file", generated("Site file", "`site_keys.csv`", body)


def _line(entry: Entry) -> tuple[str, ...]:
    bounds = entry.bounds
    if entry.choices:
        allowed = ", ".join(code(c) for c in entry.choices)
    elif bounds:
        high = f" to {bounds[1]:,.6g}" if bounds[1] < 1e9 else " up"
        allowed = f"{bounds[0]:.6g}{high} {cell(entry.unit)}".strip()
    else:
        allowed = cell(entry.unit)
    anchored = f'<span id="{anchor(entry.table + "-" + entry.key)}"></span>{code(entry.key)}'
    return (
        anchored,
        cell(entry.label),
        code(entry.example),
        code(entry.us),
        allowed,
        cell(entry.help),
    )


def _stages() -> str:
    lines = []
    for key, stage in BY_KEY.items():
        words = sorted(word for word, meant in SYNONYMS.items() if meant == key)
        lines.append((code(key), cell(stage.label), ", ".join(code(w) for w in words)))
    return (
        "## Stages of `[train]` { #stages-of-the-train }\n\n`stages = [...]` takes these, in the "
        "order of flow.\n\n" + table(("key", "stage", "read as well"), lines)
    )
