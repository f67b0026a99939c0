"""The encoding of a text file: marks, code pages by known words, two bytes a letter."""

import re

from pretreat.core.errors import AnalysisError
from pretreat.core.text import lazy
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.report import Guess
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.wording import column_role

_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
# Tried in this order where the bytes are not UTF-8; the first of the best wins.
_CODEPAGES = (
    *("cp1252", "cp1254", "cp1250", "cp1251", "cp1253", "cp1257", "cp1256", "mac_roman"),
    *("koi8_r", "cp866", "cp874", "cp850", "cp437"),
)


def decoded_with_guess(
    name: str, data: bytes, encoding: str | None
) -> tuple[str, str, tuple[Guess, ...]]:
    """Return the text of a file, its encoding, and what is to be said where that is a guess."""
    text, used = decoded(name, data, encoding)
    if encoding is not None or used not in _EAST_ASIAN:
        return text, used, ()
    said = (
        f"the encoding is a guess ({used}); names that are not spelled in Latin letters may come "
        "out wrong: settle it with --encoding"
    )
    return text, used, (("warning", said),)


def decoded(name: str, data: bytes, encoding: str | None = None) -> tuple[str, str]:
    """Return the text of a file and the encoding that was used.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    data : bytes
        Its content. [-]
    encoding : str, optional
        The encoding to use. [-]

    Returns
    -------
    tuple of str and str
        Text with line ends as newlines, and encoding. [-]

    Raises
    ------
    AnalysisError
        If the bytes are no text in that encoding, or in any that is known.
    """
    try:
        if encoding is not None:
            text, used = data.decode(encoding), encoding
        else:
            text, used = _detected(data)
    except LookupError:
        raise AnalysisError(
            f"encoding '{encoding}' is not known; use utf-8, cp1252 or the like"
        ) from None
    except UnicodeError:
        raise AnalysisError(f"{name} is not text in {encoding or 'any known encoding'}") from None
    text = text.removeprefix("\ufeff")
    if "\x00" in text:
        raise AnalysisError(f"{name} is not a text file (it holds zero bytes)")
    return text.replace("\r\n", "\n").replace("\r", "\n"), used


def _detected(data: bytes) -> tuple[str, str]:
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return data.decode(encoding), encoding
    if data[:400].count(0) > len(data[:400]) // 5:
        encoding = "utf-16-le" if data[1:400:2].count(0) > data[0:400:2].count(0) else "utf-16-be"
        return data.decode(encoding), encoding
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return _codepage(data)


# Two bytes a letter; tried where the bytes beyond ASCII stand in pairs.
_EAST_ASIAN = ("gb18030", "shift_jis", "euc_kr", "big5", "euc_jp")
PAIRED = 0.9  # of the bytes beyond ASCII, for an encoding of two bytes a letter
FEWEST_KANA = 3
PROVES = 3  # as much as three units or names with a part in ASCII
FEWEST_KNOWN = 3 * PROVES  # three names that confirm an encoding
EASTERN = 0.6  # of the letters beyond ASCII


def _east_asian(data: bytes) -> tuple[str, str] | None:
    """Return a text in two bytes a letter; names in it are read by their symbols only."""
    high = sum(byte >= 0x80 for byte in data)
    runs = [len(run) for run in re.findall(rb"[\x80-\xff]+", data)]
    even = sum(n for n in runs if n % 2 == 0)
    paired = high >= 8 and max(runs) >= 4 and even >= PAIRED * high
    best: tuple[int, float, str, str] | None = None
    for encoding in _EAST_ASIAN if high >= 8 else ():
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        foreign = [c for c in text if not c.isascii()]
        share = sum(_is_usual(c, encoding) for c in foreign) / len(foreign) if foreign else 0.0
        kana = sum("\u3040" <= c <= "\u30ff" for c in foreign)
        known = _known_words(text)
        plausible = paired or known >= FEWEST_KNOWN or (share >= PAIRED and kana >= FEWEST_KANA)
        if plausible and share >= EASTERN and (best is None or (known, share) > best[:2]):
            best = (known, share, text, encoding)
    return best[2:] if best is not None else None


# First bytes of the letters in everyday use, by encoding (the first level of each standard).
_USUAL = {
    "gb18030": (0xB0, 0xD7),
    "big5": (0xA4, 0xC6),
    "shift_jis": (0x88, 0x97),
    "euc_jp": (0xB0, 0xCF),
    "euc_kr": (0xB0, 0xC8),
}


def _is_usual(letter: str, encoding: str) -> bool:
    """Tell a letter in everyday use from the rare ones that a wrong encoding makes."""
    if "\u3040" <= letter <= "\u30ff":  # kana
        return encoding in {"shift_jis", "euc_jp"}
    if letter in "，。：；、（）！？％":
        return True
    first = letter.encode(encoding)[0]
    low, high = _USUAL[encoding]
    return low <= first <= high


# Signs of old programs under DOS: rules of box-drawing letters, and µ and ° before their letters.
_OF_DOS = lazy(rb"[\xc4\xcd]{12}|\xe6(?:[gS]/|mho)|(?<=\d)\s?\xf8[CF]\b")


def _codepage(data: bytes) -> tuple[str, str]:
    """Choose the code page in which most words beyond ASCII are known names or units."""
    dos = (data.decode("cp437"), "cp437") if _OF_DOS.search(data) else None
    known = dos or _east_asian(data)
    if known is not None:
        return known
    best, best_score = None, 0
    for encoding in _CODEPAGES:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        score = _known_words(text)
        if score > best_score:
            best, best_score = (text, encoding), score
    if best is not None:
        return best
    if _only_letters(text := data.decode("cp1252", "replace")):
        return text, "cp1252"
    from charset_normalizer import from_bytes

    guess = from_bytes(data, cp_isolation=[*_CODEPAGES, "latin_1"]).best()
    if guess is not None:
        return str(guess), guess.encoding
    return data.decode("latin-1"), "latin-1"


def _only_letters(text: str) -> bool:
    """Tell whether all that lies beyond ASCII is a letter or a sign of a report."""
    return all(c.isascii() or c.isalpha() or c in "°µ²³·±§–—’‘“”«» " for c in text)


def _known_words(text: str) -> int:
    """Count the words beyond ASCII that are known, less what is known by its ASCII part."""
    cells = {cell.strip() for cell in re.split(r"[\t;,|\r\n\"]|\s{2,}", text) if not cell.isascii()}
    return sum(_proves(cell) for cell in sorted(cells)[:400] if len(cell) < 80)


def _proves(cell: str) -> int:
    """Return how well a cell beyond ASCII proves its encoding: 0, 1 or 3."""
    if column_role(cell):
        return PROVES
    key = named_analyte(cell).key
    plain = " ".join(re.findall(r"[\x21-\x7e]+", cell))
    if key and named_analyte(plain).key != key:
        return PROVES
    return int(bool(key) or is_unit(cell))
