"""The folder of a task: files under the names that the site file gives them, and no others."""

import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from pretreat.core.errors import DesignError
from pretreat.page.task import Sent, Task

SITE_FILE = "site.toml"
LONGEST_NAME = 120
_FILES_OF_LIMITS = ("file", "sdsi_k_chart")
_FILE_NAME = re.compile(r"\.(?:csv|tsv|txt|xlsx?|xlsm|ods|pdf|docx|html?|json|toml|png|jpe?g|svg)$")


def harmless(name: str | None, default: str = "report") -> str:
    """Return the last part of a file name as a client gives it, fit for a folder and a message.

    Parameters
    ----------
    name : str or None
        The name, perhaps with folders or signs that do harm. [-]
    default : str
        The name where nothing is left. [-]

    Returns
    -------
    str
        The name. [-]
    """
    last = PureWindowsPath(name or "").name
    kept = "".join(c if c.isprintable() else "_" for c in last).strip()
    if len(kept) > LONGEST_NAME:
        stem, dot, suffix = kept.rpartition(".")
        kept = f"{stem[: LONGEST_NAME - len(suffix) - 1]}{dot}{suffix[:20]}" if dot else kept
        kept = kept[:LONGEST_NAME]
    while len(kept.encode()) > 2 * LONGEST_NAME:
        kept = kept[1:]
    return default if kept.strip(".") == "" else kept


def write_files(folder: Path, files: tuple[Sent, ...]) -> None:
    """Write the files of a task into its folder.

    Parameters
    ----------
    folder : Path
        The folder. [-]
    files : tuple of Sent
        The files. [-]

    Raises
    ------
    DesignError
        If two have the same name.
    """
    for file in files:
        if (folder / file.name).exists():
            raise DesignError(f"two files were sent under the name {file.name}: rename one")
        (folder / file.name).write_bytes(file.content)


def site_file(folder: Path, task: Task) -> Path:
    """Write the site file of a task and the files that it names; return where it is.

    Parameters
    ----------
    folder : Path
        The folder of the task; it is the current one, so that messages name files alone. [-]
    task : Task
        With the text of the site file as ``site``, and its files. [-]

    Returns
    -------
    Path
        The site file. [-]

    Raises
    ------
    DesignError
        If it is missing, or names a file outside the folder.
    """
    sent = task.of("site")
    text = sent[0].content if sent else (task.one("site") or "").encode()
    if not text.strip():
        raise DesignError("the field site is missing; send the text of the site file in it")
    write_files(folder, tuple(f for f in task.files if f.field != "site"))
    name = SITE_FILE if not sent or not sent[0].name.endswith(".toml") else sent[0].name
    while (folder / name).exists():
        name = f"_{name}"
    (folder / name).write_bytes(text)
    for where, named in _names(text):
        _put(folder, where, named)
    return folder / name


def _names(text: bytes) -> list[tuple[str, str]]:
    """Return the file names of a site file with their keys; the reader says what is broken."""
    try:
        content = tomllib.loads(text.decode("utf-8-sig"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError):
        return []
    return [
        (f"[{section}] {key}", value)
        for section, key, value in _texts(content)
        if _is_file(section, key, value)
    ]


def _texts(content: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    for section, table in content.items():
        if isinstance(table, Mapping):
            for key, value in table.items():
                if isinstance(value, str):
                    yield section, key, value


def _is_file(section: str, key: str, value: str) -> bool:
    """Tell whether a key holds the name of a file, as the catalogue of keys says."""
    from pretreat.site.keys import SECTIONS, path
    from pretreat.stages.site import tables

    if section == "limits":
        return key in _FILES_OF_LIMITS
    known: Mapping[str, Any] = SECTIONS.get(section, {})
    if not known and section in tables():
        known = tables()[section].keys
    if key in known and known[key][1] is path:
        return True
    own = section != "site" and key not in known
    return own and bool(_FILE_NAME.search(value.casefold()))


def _put(folder: Path, where: str, named: str) -> None:
    """Lay a file that was sent where the site file looks for it; refuse a place elsewhere."""
    place = PurePosixPath(named)
    windows = PureWindowsPath(named)
    shown = "".join(c if c.isprintable() else "?" for c in named)[:LONGEST_NAME]
    outside = place.is_absolute() or windows.drive or windows.root or ".." in windows.parts
    if outside or not named.isprintable():
        raise DesignError(
            f"{where} = '{shown}': only files that are sent along are read; send the file and "
            f"name it without folders, as in {harmless(named)}"
        )
    found = folder / harmless(named)
    if len(place.parts) < 2 or not found.is_file() or len(named) > 2 * LONGEST_NAME:
        return
    target = folder / place
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_bytes(found.read_bytes())
