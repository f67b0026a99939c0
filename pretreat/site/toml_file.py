"""A TOML file into tables: text of a size that fits, nested no deeper than a site file is."""

import re
import tomllib
from pathlib import Path
from typing import Any

from pretreat.core.doors import LONGEST_QUOTED, Kind, check_depth, file_text, one_line
from pretreat.core.errors import DesignError

SITE_FILE = Kind(
    "the site file", "no such file; check the name, or make one with 'new'", 1, DesignError
)


def read_toml(path: Path, kind: Kind) -> dict[str, Any]:
    """Read a TOML file into tables.

    Parameters
    ----------
    path : Path
        The file. [-]
    kind : Kind
        What it is meant to be. [-]

    Returns
    -------
    dict
        Its tables. [-]

    Raises
    ------
    PretreatError
        If it cannot be read, of the class that ``kind`` names.
    """
    return tables_of(file_text(path, kind), one_line(str(path)), kind)


def tables_of(text: str, shown: str, kind: Kind = SITE_FILE) -> dict[str, Any]:
    """Read the text of a TOML file into tables.

    Parameters
    ----------
    text : str
        The text. [-]
    shown : str
        Name of the file, for messages. [-]
    kind : Kind
        What it is meant to be. [-]

    Returns
    -------
    dict
        Its tables. [-]

    Raises
    ------
    PretreatError
        If it cannot be read, of the class that ``kind`` names.
    """
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise kind.error(f"{shown}: {_broken(text, str(problem))}") from None
    except RecursionError:
        raise kind.error(f"{shown}: nests tables or lists deeper than {kind.name} does") from None
    except ValueError:  # a whole number of thousands of digits
        raise kind.error(f"{shown}: holds a number with too many digits; shorten it") from None
    check_depth(content, shown, kind)
    return content


def _broken(text: str, problem: str) -> str:
    """Say which line of a site file cannot be read, and how lines are written."""
    found = re.search(r"line (\d+)", problem)
    lines = text.splitlines()
    number = int(found[1]) if found else len(lines)
    line = one_line(lines[number - 1].strip(), LONGEST_QUOTED) if 0 < number <= len(lines) else ""
    return (
        f"line {number} cannot be read: {line}: write key = value, each key once; a value with "
        "a unit or a word in straight quotes, a number with a decimal point"
    )
