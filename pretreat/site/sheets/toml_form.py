"""The commented site file that the command ``new`` writes."""

import textwrap
from collections.abc import Mapping

from pretreat.site.keys import Table, flag
from pretreat.site.readers import Number
from pretreat.site.sheets.catalogue import Entry, catalogue

HEAD = """# Site file. Quantities are texts with a unit ("1.6 m3/h", "6 gpm", "24 in"), or bare
# numbers where the unit is part of the key (salt_dose_g_l = 160). Lines that start with #
# are comments; take the # away to use them. In US units, for example:
#   product_flow = "7 gpm"    resin_volume = "5 ft3"    vessel_diameter = "16 in"
#   salt_per_regeneration = "50 lb"    pump_pressure = "50 psi"    hardness = "21 gpg"
"""
HELP_COLUMN, WIDTH = 40, 96  # characters of a line


def literal(entry: Entry, text: str) -> str:
    """Return a value as it stands in TOML.

    Parameters
    ----------
    entry : Entry
        Its key. [-]
    text : str
        The value as typed. [-]

    Returns
    -------
    str
        With quotes where it is a text, with brackets where words have commas between. [-]
    """
    if not text and not isinstance(entry.read, Number):
        return '""'
    if not text or entry.read is flag or (isinstance(entry.read, Number) and not entry.unit):
        return text
    if text[0] in "[{" or text.replace(".", "", 1).isdigit():
        return text
    if entry.key == "stages":
        return "[" + ", ".join(f'"{word.strip()}"' for word in text.split(",")) + "]"
    return f'"{text}"'


def site_form(analysis: str, tables: Mapping[str, Table], *, us: bool = False) -> str:
    """Return the site file to fill in.

    Parameters
    ----------
    analysis : str
        Name of the analysis file. [-]
    tables : mapping of str to Table
        Tables of the unit processes by their keys. [-]
    us : bool
        Examples in US units, and US units kept in the file. [-]

    Returns
    -------
    str
        TOML text. [-]
    """
    lines = []
    for entry in catalogue(tables):
        if not entry.toml:
            continue
        if not entry.key:
            mark = "# " if entry.toml == "commented" else ""
            lines += ["", *_with_help(f"{mark}[{entry.table}]", entry.help)]
            continue
        units = (entry.table, entry.key) == ("site", "units")
        example = analysis if entry.key == "analysis" else entry.shown(us)
        mark = "" if entry.toml == "start" or (us and units) else "# "
        lines += _with_help(
            f"{mark}{entry.key} = {literal(entry, example)}".rstrip(), _words(entry)
        )
    return HEAD + "\n".join(lines) + "\n"


def _words(entry: Entry) -> str:
    """Return what stands behind a key: its help, or its label where that says more."""
    spoken = entry.label[:1].lower() + entry.label[1:]
    if entry.help:
        return entry.help
    return "" if spoken.casefold() == entry.key.replace("_", " ") else spoken


def _with_help(start: str, words: str) -> list[str]:
    if not words:
        return [start]
    free = max(WIDTH - HELP_COLUMN - 2, WIDTH - len(start) - 4)
    first, *more = textwrap.wrap(words, min(free, WIDTH - HELP_COLUMN - 2))
    return [
        f"{start.ljust(HELP_COLUMN - 1)} # {first}",
        *(f"#{' ' * (HELP_COLUMN - 1)}# {line}" for line in more),
    ]
