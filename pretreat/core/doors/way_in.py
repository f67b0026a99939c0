"""The one way in for files: regular, of a size that fits, text where text is meant.

Every file that was taken in is remembered, so that the way out never replaces it.
"""

import csv
import stat
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct

from pretreat.core.errors import PretreatError
from pretreat.core.text import one_line

MEGABYTE = 1 << 20
MOST_REMEMBERED = 10_000
MOST_DEPTH = 12  # tables and lists inside each other
MOST_ITEMS = 100_000
LONGEST_TEXT = 5_000  # characters of one text in a document
LONGEST_CELL = 10_000  # characters
MOST_ROWS = 100_000

_TAKEN: deque[Path] = deque(maxlen=MOST_REMEMBERED)


class Kind(Struct, frozen=True):
    """What a file is meant to be: its name, the help where it is missing, and its largest size."""

    name: str
    missing: str = "no such file; check the name"
    most_megabytes: int = 4
    error: type[PretreatError] = PretreatError


def taken_in() -> tuple[Path, ...]:
    """Return the files that were taken in so far."""
    return tuple(_TAKEN)


def remember(path: Path) -> None:
    """Remember a file as an input, so that it is never replaced.

    Parameters
    ----------
    path : Path
        The file. [-]
    """
    try:
        full = path.resolve()
    except (OSError, ValueError, RuntimeError):
        return
    if full not in _TAKEN:
        _TAKEN.append(full)


def check_regular(path: Path, kind: Kind) -> int:
    """Return the size of a regular file, and remember it as an input.

    Parameters
    ----------
    path : Path
        The file. [-]
    kind : Kind
        What it is meant to be. [-]

    Returns
    -------
    int
        Its size. [bytes]

    Raises
    ------
    PretreatError
        If it is missing or no regular file, of the class that ``kind`` names.
    """
    shown = one_line(str(path))
    try:
        status = path.stat()
    except FileNotFoundError:
        raise kind.error(f"{shown}: {kind.missing}") from None
    except ValueError:
        raise kind.error(f"{shown}: is no name of a file") from None
    except OSError as problem:
        raise kind.error(f"{shown}: cannot be opened ({problem.strerror})") from None
    if not stat.S_ISREG(status.st_mode):
        raise kind.error(f"{shown}: is not a file; name {kind.name} itself")
    remember(path)
    return status.st_size


def file_bytes(path: Path, kind: Kind) -> bytes:
    """Return the content of a file.

    Parameters
    ----------
    path : Path
        The file. [-]
    kind : Kind
        What it is meant to be. [-]

    Returns
    -------
    bytes
        Its content. [-]

    Raises
    ------
    PretreatError
        If it is missing, no regular file, too large or cannot be read, of the class that
        ``kind`` names.
    """
    shown = one_line(str(path))
    most = kind.most_megabytes * MEGABYTE
    size = check_regular(path, kind)
    data = b""
    if size <= most:
        try:
            with path.open("rb") as source:
                data = source.read(most + 1)
        except FileNotFoundError:  # it has just vanished
            raise kind.error(f"{shown}: {kind.missing}") from None
        except OSError as problem:
            raise kind.error(f"{shown}: cannot be read ({problem.strerror})") from None
    if max(size, len(data)) > most:
        raise kind.error(
            f"{shown}: has {max(size, len(data)) / MEGABYTE:,.0f} MB; {kind.name} is read up to "
            f"{kind.most_megabytes} MB: name the right file"
        )
    return data


def file_text(path: Path, kind: Kind) -> str:
    """Return the text of a file in UTF-8, or in UTF-16 with its mark.

    Parameters
    ----------
    path : Path
        The file. [-]
    kind : Kind
        What it is meant to be. [-]

    Returns
    -------
    str
        Its text, line ends as newlines. [-]

    Raises
    ------
    PretreatError
        As `file_bytes`, or if it is no such text.
    """
    return decoded(file_bytes(path, kind), one_line(str(path)), kind)


def decoded(data: bytes, shown: str, kind: Kind) -> str:
    """Return bytes as text in UTF-8, or in UTF-16 with its mark.

    Parameters
    ----------
    data : bytes
        The bytes. [-]
    shown : str
        Name of the file, for messages. [-]
    kind : Kind
        What it is meant to be. [-]

    Returns
    -------
    str
        The text, line ends as newlines. [-]

    Raises
    ------
    PretreatError
        If it is no such text, of the class that ``kind`` names.
    """
    utf_16 = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        text = data.decode("utf-16" if utf_16 else "utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data[: problem.start].count(b"\n") + 1
        raise kind.error(
            f"{shown}: line {line} cannot be read as text: save {kind.name} as UTF-8"
        ) from None
    if "\x00" in text:
        raise kind.error(f"{shown}: holds zero bytes and is no text: save {kind.name} as UTF-8")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def csv_table(path: Path, kind: Kind) -> Iterator[tuple[int, list[str]]]:
    """Yield the rows of a small CSV with their lines; blank lines and remarks (#) left out.

    Parameters
    ----------
    path : Path
        The file; cells are parted by commas, or by semicolons where its first row has one. [-]
    kind : Kind
        What it is meant to be. [-]

    Yields
    ------
    tuple of int and list of str
        Line of the file, and the cells without outer spaces. [-]

    Raises
    ------
    PretreatError
        As `file_text`, or if a row cannot be split into cells.
    """
    lines = [
        (number, line)
        for number, line in enumerate(file_text(path, kind).split("\n"), start=1)
        if line.strip() and not line.startswith("#")
    ]
    shown = one_line(str(path))
    if len(lines) > MOST_ROWS:
        raise kind.error(f"{shown}: has more than {MOST_ROWS:,} rows: name the right file")
    delimiter = ";" if lines and ";" in lines[0][1] else ","
    for number, line in lines:
        try:
            cells = next(csv.reader([line], delimiter=delimiter), [])
        except csv.Error:
            cells = [" " * (LONGEST_CELL + 1)]
        if any(len(cell) > LONGEST_CELL for cell in cells):
            raise kind.error(f"{shown}, line {number}: a cell is longer than a table holds: cut it")
        yield number, [cell.strip() for cell in cells]


def check_depth(content: Any, shown: str, kind: Kind) -> None:
    """Refuse a document whose tables and lists are nested too deep or are too many.

    Parameters
    ----------
    content : object
        Mappings, sequences and values. [-]
    shown : str
        Name of the file, for messages. [-]
    kind : Kind
        What it is meant to be. [-]

    Raises
    ------
    PretreatError
        If it is, of the class that ``kind`` names.
    """
    level: list[Any] = [content]
    seen = 0
    for _ in range(MOST_DEPTH):
        inner: list[Any] = []
        for item in level:
            if isinstance(item, Mapping):
                inner += (*item, *item.values())
            elif isinstance(item, Sequence) and not isinstance(item, str | bytes):
                inner += item
        seen += len(inner)
        if any(isinstance(item, str) and len(item) > LONGEST_TEXT for item in level):
            raise kind.error(
                f"{shown}: holds a text of more than {LONGEST_TEXT:,} characters; shorten it"
            )
        if seen > MOST_ITEMS:
            raise kind.error(f"{shown}: holds more than {MOST_ITEMS:,} values: name the right file")
        level = inner
        if not level:
            return
    raise kind.error(f"{shown}: nests tables or lists deeper than {kind.name} does")
