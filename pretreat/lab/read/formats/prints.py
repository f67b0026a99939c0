"""PDF prints as words with their places; what nobody sees on the page is left out."""

import base64
import io
import logging
import re
import time
import zlib
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from msgspec import Struct, field

from pretreat.core.errors import AnalysisError
from pretreat.core.text import lazy
from pretreat.lab.read.formats.tables import raised
from pretreat.lab.read.formats.words import PlacedLine, Word, with_powers
from pretreat.lab.read.numbers import spelled

MAX_BYTES = 32 * 1024 * 1024
MAX_UNPACKED = 96 * 1024 * 1024
MAX_SLOW_BYTES = 256 * 1024  # of streams packed in ways that only slow code unpacks
MAX_PAGES = 60
MAX_LETTERS = 300_000
MAX_PAGE_BYTES = 1_500_000  # of drawing on one page
MAX_SECONDS = 15.0
MAX_DRAWN_INSIDE = 400  # drawings called from other drawings
SMALLEST_PT = 2.8  # smaller letters are not meant to be read
RAISED_SIZE, RAISED_BY = 0.82, 0.12  # of the letter before: smaller, and higher by this much
SAME_LINE, NEW_WORD = 0.45, 0.18  # of the size of a letter
SAME_PLACE = 0.25  # of a letter's width; a letter printed twice to look bold
DRAWN_OVER, DRAWN_APART, DRAWN_TWICE = 0.3, 1.0, 0.5  # of the size of a letter
SMALL_LETTERS = 3  # before a capital that begins another heading
LETTER_WIDTH = 0.5  # of its size, on average
DARK, WHITE = 0.6, 0.93  # shades from black 0 to white 1
REMEDY = "type the results into the analysis form, or ask the lab for a spreadsheet"


class Letter(Struct):
    """A visible letter: its box on the page and its size."""

    left: float
    right: float
    bottom: float
    top: float
    size: float
    text: str
    run: int = 0  # the text that it was drawn with, counted over the page
    upwards: bool | None = None  # how a letter reads that is turned by a quarter


class Seen(Struct):
    """What was found on the pages of a print."""

    lines: list[PlacedLine] = field(default_factory=list)
    pages: int = 0
    hidden: int = 0
    more_pages: bool = False


def print_lines(name: str, data: bytes) -> Seen:
    """Read a PDF into lines of words.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    data : bytes
        Its content. [-]

    Returns
    -------
    Seen
        Lines of words with their places, counted over the pages. [-]

    Raises
    ------
    AnalysisError
        If it is too large, encrypted, damaged, or a scan without letters.
    """
    _check(name, data)
    try:
        seen = _read(name, data)
    except AnalysisError:
        raise
    except Exception as problem:  # noqa: BLE001  # damage inside the file ends up here
        kind = type(problem).__name__
        if "Password" in kind or "Encryption" in kind:
            raise AnalysisError(
                f"{name} is encrypted; open it with its password and print it to a new PDF"
            ) from None
        raise AnalysisError(f"{name} is a damaged PDF ({kind}); {REMEDY}") from None
    if not seen.lines:
        what = "only hidden text over its pictures" if seen.hidden else "no text"
        raise AnalysisError(f"{name} is a scan with {what}; {REMEDY}")
    return seen


def _check(name: str, data: bytes) -> None:
    """Refuse a file that would fill memory or time, before the library unpacks anything."""
    if len(data) > MAX_BYTES:
        raise AnalysisError(
            f"{name} has {len(data) >> 20} MB; a PDF is read up to {MAX_BYTES >> 20} MB: {REMEDY}"
        )
    left, slow = MAX_UNPACKED, 0
    for match in re.finditer(rb"stream\r?\n", data):
        end = data.find(b"endstream", match.end())
        packed = data[match.end() : end if end >= 0 else len(data)]
        head = data[max(match.start() - 600, 0) : match.start()]
        head = head[head.rfind(b"obj") + 1 :]
        if _SLOW.search(head) and b"/Image" not in head:
            slow += len(packed)
        packed = _as_bytes(head, packed)
        for _ in range(3):
            if packed[:1] not in {b"\x78", b"\x58", b"\x48", b"\x68"}:
                break
            packed = _unpacked(packed, left)
            left -= len(packed)
            if left <= 0:
                raise AnalysisError(f"{name} unpacks to far more than a lab report holds; refused")
    if slow > MAX_SLOW_BYTES:
        raise AnalysisError(f"{name} is packed in a way that is not read; print it to a new PDF")


_SLOW = lazy(rb"/(?:LZW|LZWDecode|RunLengthDecode|RL)\b")


def _as_bytes(head: bytes, packed: bytes) -> bytes:
    """Undo the writing of bytes as letters, which only hides what is packed inside."""
    try:
        if re.search(rb"/(?:ASCII85Decode|A85)\b", head):
            return base64.a85decode(packed.strip().removesuffix(b"~>"), ignorechars=b" \t\r\n")
        if re.search(rb"/(?:ASCIIHexDecode|AHx)\b", head):
            return bytes.fromhex(packed.split(b">")[0].decode("ascii", "replace"))
    except ValueError:
        return packed
    return packed


def _unpacked(packed: bytes, most: int) -> bytes:
    try:
        return zlib.decompressobj().decompress(packed, max(most, 1) + 1)
    except zlib.error:
        return b""


def _read(name: str, data: bytes) -> Seen:
    from pdfminer.pdfdocument import PDFDocument
    from pdfminer.pdfinterp import PDFResourceManager
    from pdfminer.pdfpage import PDFPage
    from pdfminer.pdfparser import PDFParser

    from pretreat.lab.read.formats.print_letters import Letters, drawing

    logging.getLogger("pdfminer").setLevel(logging.CRITICAL)  # it tells of every odd font
    document = PDFDocument(PDFParser(io.BytesIO(data)))
    manager = PDFResourceManager(caching=True)
    device = Letters(manager, time.monotonic() + MAX_SECONDS)
    interpreter = drawing(manager, device)
    seen = Seen()
    for page in PDFPage.create_pages(document):
        if seen.pages >= MAX_PAGES:
            seen.more_pages = True
            break
        seen.pages += 1
        interpreter.process_page(page)
        letters, turned, hidden = device.taken()
        if len(turned) > len(letters):  # a page that lies on its side
            letters, turned = turned, []
        seen.hidden += hidden
        first = len(seen.lines)
        seen.lines += _lines(letters, turned, first, seen.pages)
    return seen


def _lines(
    letters: list[Letter], turned: list[Letter], before: int, page: int
) -> Iterator[PlacedLine]:
    """Yield the lines of a page from top to bottom, texts that read upwards among their words."""
    if not letters:
        return
    sizes = sorted(letter.size for letter in letters)
    width = LETTER_WIDTH * sizes[len(sizes) // 2]
    rows = [(row[0].bottom, list(_words(row, width))) for row in _rows(letters)]
    rows = [(bottom, words) for bottom, words in rows if words]
    for low, high, added in _turned_words(turned, width):
        inside = [words for bottom, words in rows if low - width <= bottom <= high]
        if inside:
            inside[-1] += added
        else:
            rows.append((low, added))
    rows.sort(key=lambda row: -row[0])
    for number, (_, words) in enumerate(rows, start=1):
        yield PlacedLine(number, with_powers(sorted(words, key=lambda w: w.left)), page)


def _turned_words(
    turned: Iterable[Letter], width: float
) -> Iterator[tuple[float, float, list[Word]]]:
    """Yield texts that read up or down the page, those side by side together, with their height."""
    runs: dict[int, list[Letter]] = {}
    for letter in turned:
        runs.setdefault(letter.run, []).append(letter)
    found: list[tuple[float, float, list[Word]]] = []
    for run in runs.values():
        ordered = sorted(run, key=lambda c: c.left)
        text = " ".join(word.text for word in _words(ordered, width))
        ends = (ordered[0].left, ordered[-1].right, ordered[0].bottom, ordered[0].top)
        low, high, left, right = ends if ordered[0].upwards else (-ends[1], -ends[0], *ends[2:])
        if ordered[0].upwards:
            left, right = -right, -left
        word = Word(left / width, right / width, text, run[0].run)
        beside = next((n for n, one in enumerate(found) if one[0] < high and low < one[1]), None)
        if not text.strip():
            continue
        if beside is None:
            found.append((low, high, [word]))
        else:
            one = found[beside]
            found[beside] = (min(one[0], low), max(one[1], high), [*one[2], word])
    yield from found


def _rows(letters: list[Letter]) -> Iterator[list[Letter]]:
    """Yield the letters of each line; raised and lowered ones go with the line they stand in."""
    large: list[list[Letter]] = []
    middles: list[float] = []
    ordered = sorted(letters, key=lambda c: (-c.size, -(c.bottom + c.top)))
    for letter in ordered:
        middle = (letter.bottom + letter.top) / 2
        near = [
            n
            for n, m in enumerate(middles[-400:], max(len(middles) - 400, 0))
            if abs(m - middle) < SAME_LINE * max(large[n][0].size, letter.size)
        ]
        if near:
            large[min(near, key=lambda n: abs(middles[n] - middle))].append(letter)
        else:
            large.append([letter])
            middles.append(middle)
    order = sorted(range(len(large)), key=lambda n: -middles[n])
    for n in order:
        yield _in_order(large[n])


def _in_order(letters: Iterable[Letter]) -> list[Letter]:
    """Return the letters of a line from left to right, texts drawn over each other one by one."""
    found: list[list[Letter]] = []
    for piece in sorted(_pieces(letters), key=lambda p: (p[0].left, p[0].run)):
        if not any(_drawn_twice(other, piece) for other in found[-3:]):
            found.append(piece)
    return [letter for piece in found for letter in piece]


def _pieces(letters: Iterable[Letter]) -> Iterator[list[Letter]]:
    """Yield the parts of each drawn text that hang together."""
    runs: dict[int, list[Letter]] = {}
    for letter in letters:
        runs.setdefault(letter.run, []).append(letter)
    for run in runs.values():
        ordered = sorted(run, key=lambda c: c.left)
        start = 0
        for n, (before, letter) in enumerate(pairwise(ordered), start=1):
            if letter.left - before.right > DRAWN_APART * max(letter.size, before.size):
                yield ordered[start:n]
                start = n
        yield ordered[start:]


def _drawn_twice(one: Sequence[Letter], two: Sequence[Letter]) -> bool:
    """Tell the same text drawn again almost where it stands, to look bold."""
    near = abs(one[0].left - two[0].left) < DRAWN_TWICE * one[0].size
    return near and len(one) > 1 and [c.text for c in one] == [c.text for c in two]


def _printed_over(before: Letter, letter: Letter) -> bool:
    return letter.left < before.right - DRAWN_OVER * max(letter.size, before.size)


def _begins_heading(word: Sequence[Letter], letter: Letter) -> bool:
    """Tell a capital that begins a text of its own right behind another: "limit", "Result"."""
    small = [c.text for c in word[-SMALL_LETTERS:]]
    return (
        letter.run != word[-1].run
        and len(small) == SMALL_LETTERS
        and all(text.isalpha() and text.islower() for text in small)
        and letter.text.isupper()
    )


def _words(row: list[Letter], width: float) -> Iterator[Word]:
    """Yield the words of a line; a raised letter behind a number is a mark, not a digit."""
    word: list[Letter] = []
    for letter in row:
        if word and _printed_twice(word[-1], letter):
            continue
        if word and (_apart(word[-1], letter) or _begins_heading(word, letter)):
            yield from _word(word, width)
            word = []
        if letter.text.isspace():
            yield from _word(word, width)
            word = []
        else:
            word.append(letter)
    yield from _word(word, width)


def _apart(before: Letter, letter: Letter) -> bool:
    size = max(letter.size, before.size)
    over = letter.run != before.run and _printed_over(before, letter)
    return over or letter.left - before.right > NEW_WORD * size


def _printed_twice(before: Letter, letter: Letter) -> bool:
    return before.text == letter.text and abs(before.left - letter.left) < SAME_PLACE * max(
        before.right - before.left, 1.0
    )


def _word(letters: list[Letter], width: float) -> Iterator[Word]:
    if not letters:
        return
    size = max(letter.size for letter in letters)
    base = min(letter.bottom for letter in letters if letter.size == size)
    text, mark = "", ""
    for letter in letters:
        up = letter.size < RAISED_SIZE * size and letter.bottom > base + RAISED_BY * size
        if up:
            mark += letter.text
            continue
        text += raised(text, mark) + letter.text
        mark = ""
    text += raised(text, mark)
    at = letters[0].left / width
    for part in spelled(text).split():
        yield Word(at, letters[-1].right / width, part, letters[0].run)
