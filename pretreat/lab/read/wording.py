"""Words of ten languages: folded for comparison, words of one meaning, headings of columns."""

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache
from math import floor, isfinite, log10

from pretreat.core.tables import columns

LEAST_SHOWN, MOST_SHOWN = 1e-6, 1e9  # outside an exponent says more than zeros
_LETTERS = str.maketrans({"ı": "i", "ł": "l", "ø": "o", "đ": "d", "æ": "ae", "œ": "oe"})


@lru_cache(maxsize=20000)
def folded(text: str) -> str:
    """Return a text without case, accents, spaces and punctuation, for comparison.

    Parameters
    ----------
    text : str
        As printed. [-]

    Returns
    -------
    str
        Letters, digits and plus signs only. [-]
    """
    if text.isascii():
        bare = text.lower()
    else:
        spread = unicodedata.normalize("NFKD", text)
        bare = "".join(letter for letter in spread if not unicodedata.combining(letter))
        bare = bare.casefold().translate(_LETTERS)
    if bare.isalnum():
        return bare
    return "".join(letter for letter in bare if letter.isalnum() or letter == "+")


def folded_all(texts: Sequence[str]) -> list[str]:
    """Fold each of many short texts, none with a line end: `folded`, but of all at once.

    Parameters
    ----------
    texts : sequence of str
        As printed. [-]

    Returns
    -------
    list of str
        Each folded, in order. [-]
    """
    plain = "\n".join([text for text in texts if text.isascii()])
    others = "\n".join([text for text in texts if not text.isascii()])
    bare = iter(_signs_folded(plain).split("\n"))
    rest = iter(_signs_folded(unicodedata.normalize("NFKD", others)).split("\n"))
    return [next(bare if text.isascii() else rest) for text in texts]


def _signs_folded(spread: str) -> str:
    """Fold sign by sign: a text has many, but of few kinds."""
    return spread.translate({ord(sign): _sign_folded(sign) for sign in set(spread)})


def _sign_folded(sign: str) -> str:
    bare = "" if unicodedata.combining(sign) else sign.casefold().translate(_LETTERS)
    return "".join(letter for letter in bare if letter.isalnum() or letter in "+\n")


def aliases() -> tuple[tuple[str, ...], ...]:
    """Return key, kind, alias and basis of every row of data/aliases.csv."""
    return columns("aliases.csv", "key", "kind", "alias", "basis")


@lru_cache(maxsize=16)
def words(key: str) -> frozenset[str]:
    """Return the words of one meaning, such as "not_detected", folded.

    Parameters
    ----------
    key : str
        A key of the rows of kind "word" in data/aliases.csv. [-]

    Returns
    -------
    frozenset of str
        Folded words; those made of signs only stand as they are. [-]
    """
    found = set()
    for alias in _words_of().get(key, ()):
        bare = folded(alias)
        mark = "<" if alias.startswith("<") else ""
        found.add(mark + bare if bare else re.sub(r"\s", "", alias))
    return frozenset(found)


@lru_cache(maxsize=1)
def _words_of() -> dict[str, list[str]]:
    """Return the words of every meaning as listed."""
    found: dict[str, list[str]] = {}
    for key, kind, alias, _ in aliases():
        if kind == "word":
            found.setdefault(key, []).append(alias)
    return found


@lru_cache(maxsize=1)
def exact_words() -> dict[str, str]:
    """Return words exactly as listed to their meaning: "NR" and "n.r." are not the same."""
    found: dict[str, str] = {}
    for key, kind, alias, _ in aliases():
        if kind == "word" and key in {"not_detected", "not_measured"}:
            found.setdefault(alias, key)
    return found


@lru_cache(maxsize=1)
def _roles() -> dict[str, str]:
    table = columns("lab_columns.csv", "heading", "role")
    bare = folded_all([heading for heading, _ in table])
    return {fold or heading: role for fold, (heading, role) in zip(bare, table, strict=True)}


@lru_cache(maxsize=16384)
def column_role(heading: str) -> str:
    """Return the role of a column by its heading: name, value, unit, limit ..., or "".

    Parameters
    ----------
    heading : str
        As printed. [-]

    Returns
    -------
    str
        Role, or an empty text. [-]
    """
    bare = re.sub(r"[\[(].*?[\])]", "", heading).strip()
    for text in (heading, bare):
        role = _roles().get(folded(text) or text.strip(), "")
        if role:
            return role
    return _role_in_two_languages(bare)


MOST_WORDS = 8  # of a heading in two languages


@lru_cache(maxsize=4096)
def _role_in_two_languages(heading: str) -> str:
    """Return the role of a heading that says the same twice, as "Parameter / Paramètre"."""
    parts = re.split(r"\s*[/|\n]\s*", heading)
    spaced = len(parts) == 1
    if spaced:
        parts = heading.split()
        pairs = [(" ".join(parts[:n]), " ".join(parts[n:])) for n in range(1, len(parts))]
    else:
        pairs = [(parts[0], part) for part in parts[1:]]
    if len(parts) > MOST_WORDS:
        return ""
    for one, two in pairs:
        role = _roles().get(folded(one), "")
        if spaced and role == "ignore":  # of many meanings: "Count U" are two columns
            continue
        if role and role == _roles().get(folded(two), "") and folded(one) != folded(two):
            return role
    return ""


def shown(value: float, significant: int = 4) -> str:
    """Return a number for a sentence: few digits, never an exponent where it can be helped.

    Parameters
    ----------
    value : float
        The number. [unit]
    significant : int
        Digits that count; whole numbers keep all of theirs. [-]

    Returns
    -------
    str
        Such as "0.443" or "12346". [-]
    """
    if not value or not isfinite(value) or not LEAST_SHOWN <= abs(value) < MOST_SHOWN:
        return f"{value:.{significant}g}"
    places = max(significant - 1 - floor(log10(abs(value))), 0)
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if places else text
