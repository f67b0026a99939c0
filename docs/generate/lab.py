"""Lab reports: what is read, under which names and in which units."""

from collections.abc import Iterator

from docs.generate.markdown import cell, code, generated, table
from pretreat.core.tables import rows

LANGUAGES = {
    "ar": "Arabic", "bg": "Bulgarian", "cs": "Czech", "da": "Danish", "de": "German",
    "el": "Greek", "es": "Spanish", "et": "Estonian", "fi": "Finnish", "fr": "French",
    "hr": "Croatian", "hu": "Hungarian", "id": "Indonesian", "is": "Icelandic", "it": "Italian",
    "ja": "Japanese", "ko": "Korean", "lt": "Lithuanian", "lv": "Latvian", "nb": "Norwegian",
    "nl": "Dutch", "pl": "Polish", "pt": "Portuguese", "ro": "Romanian", "ru": "Russian",
    "sk": "Slovak", "sl": "Slovenian", "sr": "Serbian", "sv": "Swedish", "th": "Thai",
    "tr": "Turkish", "uk": "Ukrainian", "vi": "Vietnamese", "zh": "Chinese",
}  # fmt: skip
INTRO = """
A report is read as it is printed: CSV and text in any encoding and separator, XLSX, XLS, ODS,
PDF that holds text, DOCX, HTML, and text pasted into a file. Results may stand one a line, one a
column, as a card, or in a database export. Nothing is repaired in silence: what had to be
guessed is a [flag](flags.md), and `pretreat check` shows each value beside the line it came from.
A scanned picture is refused with one line.

A value such as `<0.01` or `n.d.` is a result that was not detected; its limit is kept, and
[`non_detects_scaling`](site_file.md#water-non-detects-scaling) says how it counts.
"""


def pages() -> Iterator[tuple[str, str, str]]:
    """Yield file, title and text of the page."""
    aliases: dict[str, dict[str, list[str]]] = {}
    for row in rows("aliases.csv"):
        aliases.setdefault(row["key"], {}).setdefault(row["lang"], []).append(row["alias"])
    lines = []
    for row in rows("analytes.csv"):
        names = aliases.get(row["key"], {})
        english = ", ".join(cell(n) for n in names.get("en", ())[:12])
        others = sum(len(found) for lang, found in names.items() if lang != "en")
        lines.append(
            (code(row["key"]), cell(row["name"]), cell(f"mg/L as {row['formula']}"), english,
             str(others) if others else "")
        )  # fmt: skip
    known = {row["key"] for row in rows("analytes.csv")}
    kinds = {row["key"]: row["kind"] for row in rows("aliases.csv")}
    rest = [
        (code(key), cell(kinds[key]), ", ".join(cell(n) for n in names.get("en", ())[:12]),
         str(sum(len(f) for lang, f in names.items() if lang != "en") or ""))
        for key, names in aliases.items()
        if key not in known
    ]  # fmt: skip
    langs = sorted({row["lang"] for row in rows("aliases.csv")} - {"en"})
    spoken = ", ".join(sorted(LANGUAGES.get(lang, lang) for lang in langs))
    body = (
        f"{INTRO.strip()}\n\n## Analytes\n\nNames are compared without accents, case and signs. "
        f"Beside English, names are known in these languages: {spoken}.\n\n"
        + table(("key", "analyte", "taken to", "English names", "other names"), lines)
        + "\n## Sums, readings and other rows\n\n"
        + table(("key", "kind", "English names", "other names"), rest)
        + "\n## Headings of columns\n\n"
        + table(
            ("role", "heading", "source"),
            [(code(r["role"]), cell(r["heading"]), cell(r["source"]))
             for r in rows("lab_columns.csv")],
        )
    )  # fmt: skip
    yield (
        "reference/lab.md",
        "Lab reports",
        generated("Lab reports", "`analytes.csv`, `aliases.csv` and `lab_columns.csv`", body),
    )
