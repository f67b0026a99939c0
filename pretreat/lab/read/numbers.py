"""Numbers as labs print them: qualifiers, non-detects, decimal commas, digits of any script."""

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from math import isfinite
from typing import Literal

from msgspec import Struct

from pretreat.core.text import lazy
from pretreat.lab.read.limit_notes import has_digit, without_note
from pretreat.lab.read.report import DateCell, FormulaCell
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.wording import exact_words, folded, words

Kind = Literal["value", "below", "above", "missing", "date", "word"]


class PrintedNumber(Struct, frozen=True):
    """What a printed cell says: its kind, its number and the letters that came with it."""

    kind: Kind
    number: float | None = None
    unit: str = ""
    qualifier: str = ""
    approximate: bool = False
    odd_mark: bool = False  # written with the other decimal mark than the file's


_SIGNS = str.maketrans(
    {
        **dict.fromkeys(
            "\N{LESS-THAN OR SLANTED EQUAL TO}\N{SMALL LESS-THAN SIGN}"
            "\N{SINGLE LEFT-POINTING ANGLE QUOTATION MARK}\N{MODIFIER LETTER LEFT ARROWHEAD}"
            "\N{LESS-THAN OVER EQUAL TO}\N{LEFT-POINTING ANGLE BRACKET}\N{LEFT ANGLE BRACKET}",
            "<",
        ),
        **dict.fromkeys(
            "\N{GREATER-THAN OR SLANTED EQUAL TO}\N{SMALL GREATER-THAN SIGN}"
            "\N{SINGLE RIGHT-POINTING ANGLE QUOTATION MARK}\N{GREATER-THAN OVER EQUAL TO}",
            ">",
        ),
        **dict.fromkeys(
            "\N{EN QUAD}\N{EN SPACE}\N{EM SPACE}\N{THREE-PER-EM SPACE}"
            "\N{FOUR-PER-EM SPACE}\N{SIX-PER-EM SPACE}\N{FIGURE SPACE}\N{PUNCTUATION SPACE}"
            "\N{HAIR SPACE}\N{MEDIUM MATHEMATICAL SPACE}",
            " ",
        ),
        "\N{FIGURE DASH}": "-",
        "\N{NON-BREAKING HYPHEN}": "-",
        "\N{HYPHEN}": "-",
        "\N{SOFT HYPHEN}": "",
        "\N{WORD JOINER}": "",
        "\N{ZERO WIDTH JOINER}": "",
        "\N{FULLWIDTH FULL STOP}": ".",
        "\N{FULLWIDTH COMMA}": ",",
        "\N{MODIFIER LETTER APOSTROPHE}": "'",
        "\N{LEFT SINGLE QUOTATION MARK}": "'",
        "\N{MINUS SIGN}": "-",
        "\N{FULLWIDTH LESS-THAN SIGN}": "<",
        "\N{FULLWIDTH GREATER-THAN SIGN}": ">",
        "\N{LESS-THAN OR EQUAL TO}": "<",
        "\N{GREATER-THAN OR EQUAL TO}": ">",
        "\N{ARABIC DECIMAL SEPARATOR}": ".",
        "\N{ARABIC THOUSANDS SEPARATOR}": "'",
        "\N{RIGHT SINGLE QUOTATION MARK}": "'",
        "\N{ALMOST EQUAL TO}": "~",
        "\N{EN DASH}": "-",
        "\N{ARABIC COMMA}": ",",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{TILDE OPERATOR}": "~",
        "\N{THIN SPACE}": " ",
        "\N{NO-BREAK SPACE}": " ",
        "\ufeff": "",
        "\u200b": "",
        "\u200e": "",
        "\u200f": "",
    }
)
_RAISED = str.maketrans("⁻⁺⁰¹²³⁴⁵⁶⁷⁸⁹", "-+0123456789")
_RAISED_POWER = lazy(r"[x×·*]\s?10([⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)", re.IGNORECASE, needs="⁰¹²³⁴⁵⁶⁷⁸⁹")
_POWER = lazy(r"(?<=\d)\s+[x×*]\s?10(?:\s?\^\s?(?P<raised>[-+]?\d{1,2})|(?P<plain>-\d{1,2}))(?!\d)")
_NUMBER = r"[-+]?(?:\d[\d.,' ]*\d|\d|[.,]\d+)[.]?(?:\s?[eE][-+]?\d+|\s?[x×*]\s?10\^?[-+]?\d+)?"
_ND = (
    r"(?:nd|n\.\s?d\.?|bdl|bql|brl|lt|not\s+detected(?:\s+at)?|below(?:\s+at)?|"
    r"<\s?(?:lod|loq|mdl|mrl|rl|pql|dl|bg|ng|ld|lq|lc|lr|lor))(?![a-z])"
)
_BRACKETED_LIMIT = lazy(
    rf"^(?P<nd>{_ND})\s*[\[(,;/]?\s*(?:(?:at|mdl|mrl|rdl|dl|rl|pql|lod|loq|lor|ld|lq|lc|bg|ng|limit)"
    r"\b)?\s*[:=]?\s*(?P<limit>[<=]?\s*[.,]?\d[^()\[\]]*)[\])]?$",
    re.IGNORECASE,
)
_PRINTED = lazy(
    rf"^(?P<nd>{_ND}\s*[@:]?|u(?=\s?[.\d<]))?\s*(?P<sign><\s?=?|>\s?=?|~|ca\.?\s|c\.\s|approx\.?|circa)?\s*"
    rf"(?P<number>{_NUMBER})\s*(?P<tail>.*)$",
    re.IGNORECASE | re.DOTALL,
)
# "less than" in words, before the number or, in Japanese, behind it.
_LESS_BEFORE = lazy(
    r"^(?:less than|menos de|menor (?:a|que)|inferior a|inf[ée]rieur[e]? [àa]|moins de|weniger als|"
    r"kleiner(?: als)?|unter|minder dan|kleiner dan|mindre (?:än|end|enn)|alle|poni[żz]ej|"
    r"m[ée]n[ěe] ne[žz]|menej ako|kevesebb mint|mai mic (?:de|dec[âa]t)|sub|inferiore a|minore di|"
    r"менее|меньше|менше|κάτω από|小于|低于)\s*(?=[.,]?\d)",
    re.IGNORECASE,
)
_LESS_BEHIND = lazy(r"^(?P<number>[\d.,]+)\s*(?:未満|以下|미만|'den az)$", needs="未以미'")
# A zero that stands for "not detected", with its limit in brackets.
_ZERO_AND_LIMIT = lazy(
    r"^0(?:[.,]0+)?\s*[\[(]\s*(?:RL|MRL|MDL|DL|LOD|LOQ|LOR|PQL|LD|LQ|LC|BG|NG)\s*[:=]?\s*"
    r"(?P<limit>[.,]?\d[\d.,]*)\s*[\])]$",
    re.IGNORECASE,
    needs="[(",
)
_WORD_AND_LIMIT = lazy(
    r"^(?P<word>\D*?[^\W\d]\D*?)\s*[\[(,;/:]\s*(?:(?:DL|LD|LQ|LC|RL|LOQ|LOD|LOR|MDL|MRL|BG|NG|TL|GO)\b)?\s*[:=]?\s*"
    r"<?\s*(?P<limit>[.,]?\d[\d.,]*)\s*(?P<unit>[^\d()\[\]]*)[\])]?\s*(?P<tail>\D*)$",
    re.IGNORECASE,
    needs="[(,;/:",
)
_CELL_ERROR = lazy(
    r"#(?:N/A|REF!|VALUE!|DIV/0!|NUM!|NAME\?|NULL!|SPILL!|CALC!|BEZUG!|WERT!|NV)", needs="#"
)
_BARE = lazy(r"-?[0-9]{1,15}(?:\.[0-9]{1,15})?")  # most cells of a large file
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
_DATES = (
    lazy(r"^\d{4}-\d{1,2}-\d{1,2}([T ].*)?$"),
    lazy(r"^\d{1,2}[./-]\d{1,2}[./-](\d{4}|\d{2})( .*)?$"),
    lazy(rf"^\d{{1,2}}[-. ]*{_MONTH}\.?$", re.IGNORECASE),
    lazy(rf"^{_MONTH}[-. ]*\d{{1,4}}$", re.IGNORECASE),
    lazy(rf"^\d{{1,2}}[- ]{_MONTH}[- ]\d{{2,4}}$", re.IGNORECASE),
)
_QUALIFIER = lazy(
    r"^[\[({]?\s*(?:[A-Z]{1,3}\d?(?:\s*[,/ ]\s*[A-Z]{1,3}\d?)*|[*#†‡^]+|(?<=[(\[])[a-z](?=[)\]])|"
    r"(?<=[(\[])\d{1,2}(?:,\s?\d{1,2}){0,3}(?=[)\]]))\s*[\])}]?$"
)
# "J 2.46", "* 12": marks before the number; "E 2" may name a sample, so a short number stays.
_MARK_BEFORE = lazy(
    r"^(?P<mark>[JE]|[*#†‡]{1,2})\s?(?P<number><?\s?(?:\d+[.,]\d+|\d{2,}|[.,]\d+)(?:[eE][-+]?\d+)?)"
    r"(?P<unit>\s.+)?$",
    needs="JE*#†‡",
)
_UNDETECTED = lazy(r"^(?:U|UJ|ND|BDL|U\d|UB|UN)$")
_ACTIVITY = lazy(r"Bq\s*/\s*(?:L|m3|m³|kg)", re.IGNORECASE, needs="qQ")
_SPREAD = lazy(
    r"\s*[(\[]?\s*(?:\+/-|±|\+-)\s*\d[\d.,]*(?:[eE][-+]?\d+)?(?:\s*%)?\s*[)\]]?(?=\s|$)",
    needs="+±",
)
_GROUPED_POINT = lazy(r"^[-+]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?$")
_GROUPED_COMMA = lazy(r"^[-+]?[1-9]\d{0,2}(?:\.\d{3})+(?:,\d+)?$")


def plain(text: str) -> str:
    """Return a text with digits, signs and spaces of any script written in ASCII.

    Parameters
    ----------
    text : str
        As printed. [-]

    Returns
    -------
    str
        The same with plain digits and signs. [-]
    """
    return re.sub(r"\s+", " ", spelled(text)).strip()


def spelled(text: str) -> str:
    """Return a text with digits, signs and spaces in ASCII, as many spaces as it has."""
    if text.isascii():
        return text
    text = _RAISED_POWER.sub(lambda m: f"x10^{m[1].translate(_RAISED)}", text.translate(_SIGNS))
    if not text.isascii():
        text = "".join(_digit(letter) for letter in text)
        text = re.sub(r"(?<=\d)\N{MIDDLE DOT}(?=\d)", ".", text)
    return text


def joined_powers(text: str) -> str:
    """Return a line with "1.26 x 10^1" as one word, as long as before."""

    def one_word(found: re.Match[str]) -> str:
        return f"x10^{found['raised'] or found['plain']}".ljust(len(found[0]))

    return _POWER.sub(one_word, text) if "10" in text else text


def without_spread(text: str) -> str:
    """Return a line without the uncertainties that stand behind its numbers, as "± 8.8"."""
    return _SPREAD.sub("", text) if "±" in text or "+" in text else text


def _digit(letter: str) -> str:
    if letter.isascii() or unicodedata.category(letter) != "Nd":
        return letter
    return str(unicodedata.digit(letter))


@lru_cache(maxsize=20000, typed=True)  # a date cell is not the text it prints
def printed_number(text: str, decimal: str = ".") -> PrintedNumber:
    """Read one result cell.

    Parameters
    ----------
    text : str
        The cell as printed, such as "<0.02 U", "9,8", "n.n." or "2.13E+03". [-]
    decimal : str
        The decimal mark of the file. [-]

    Returns
    -------
    PrintedNumber
        Kind, number, unit inside the cell and qualifier letters. [-]
    """
    if isinstance(text, DateCell):
        return PrintedNumber("date")
    if isinstance(text, FormulaCell):
        return PrintedNumber("word")
    if decimal == "." and _BARE.fullmatch(text):
        return PrintedNumber("value", float(text))
    return _printed(without_note(_limit_signed(_mark_behind(plain(text)))), decimal)


def _mark_behind(clean: str) -> str:
    """Return a result with the mark before its number put behind it and its unit."""
    found = _MARK_BEFORE.match(clean)
    if found is None or (found["unit"] and not is_unit(found["unit"].strip())):
        return clean
    return f"{found['number']}{found['unit'] or ''} {found['mark']}"


def _limit_signed(clean: str) -> str:
    """Return a non-detect with its limit in the same cell as "<" and the limit."""
    clean = _LESS_BEHIND.sub(r"< \g<number>", clean)
    if not has_digit(clean):
        return clean
    clean = _LESS_BEFORE.sub("< ", clean)
    clean = _ZERO_AND_LIMIT.sub(r"< \g<limit>", clean)
    found = _WORD_AND_LIMIT.match(clean)
    if found and folded_mark(found["word"]) in words("not_detected"):
        return f"< {found['limit']} {found['unit'].strip() or found['tail'].strip()}".strip()
    return _BRACKETED_LIMIT.sub(r"\g<nd> \g<limit>", clean)


def _printed(clean: str, decimal: str) -> PrintedNumber:
    if is_cell_error(clean):
        return PrintedNumber("word")
    by_word = _by_word(clean)
    if by_word is not None:
        return by_word
    if not has_digit(clean):
        return PrintedNumber("word")
    if any(pattern.match(clean) for pattern in _DATES):
        return PrintedNumber("date")
    match = _PRINTED.match(clean)
    return PrintedNumber("word") if match is None else _from_match(match, decimal)


def is_cell_error(text: str) -> bool:
    """Tell whether a cell shows that a spreadsheet could not compute it, such as "#N/A"."""
    return bool(_CELL_ERROR.fullmatch(text.strip()))


def _by_word(clean: str) -> PrintedNumber | None:
    if _ACTIVITY.fullmatch(clean):  # folded it reads as "below the limit of quantification"
        return PrintedNumber("word")
    if exact_words().get(clean) == "not_detected":
        return PrintedNumber("below", qualifier=clean)
    clean = re.sub(r"^(\D*[^\W\d]\S*)\s*\(\D*\)$", r"\1", clean)  # "n.n. (nicht nachweisbar)"
    if not clean or folded_mark(clean) in words("not_measured"):
        return PrintedNumber("missing")
    if folded_mark(clean) in words("over_range"):
        return PrintedNumber("above")
    if folded_mark(clean) in words("not_detected"):
        return PrintedNumber("below", qualifier=clean)
    return None


def folded_mark(text: str) -> str:
    """Fold a word but keep a text that is all signs, such as "--" or "<LOD"."""
    bare = folded(text)
    mark = "<" if text.lstrip().startswith("<") else ""
    return mark + bare if bare else re.sub(r"\s", "", text)


def _from_match(match: re.Match[str], decimal: str) -> PrintedNumber:
    found = to_float(match["number"], decimal)
    unit, qualifier, known = _tail(match["tail"].strip())
    if found is None or not known:
        return PrintedNumber("word")
    number, odd = found
    sign = (match["sign"] or "").strip()
    kind: Kind = "value"
    if sign.startswith("<") or match["nd"] or _is_undetected(qualifier):
        kind = "below"
    elif sign.startswith(">"):
        kind = "above"
    rough = sign[:1].casefold() in {"~", "c", "a"} if sign else False
    return PrintedNumber(kind, number, unit, qualifier, rough, odd)


def _is_undetected(qualifier: str) -> bool:
    bare = re.sub(r"[\[\](){}\s]", "", qualifier)
    return any(_UNDETECTED.match(letters) for letters in re.split(r"[,/ ]", bare))


def _tail(tail: str) -> tuple[str, str, bool]:
    """Return unit, qualifier, and whether the text behind a number is understood."""
    tail = _SPREAD.sub("", tail, count=1).strip()
    if not tail:
        return "", "", True
    if _QUALIFIER.match(tail) and not is_unit(tail, strict=True):
        return "", tail, True
    if is_unit(tail):
        return tail, "", True
    head, _, last = tail.rpartition(" ")
    if head and is_unit(head) and _QUALIFIER.match(last):
        return head, last, True
    parts = tail.split(" ")
    for cut in range(1, len(parts)):
        letters, rest = " ".join(parts[:cut]), " ".join(parts[cut:])
        if _QUALIFIER.match(letters) and is_unit(rest) and not is_unit(letters, strict=True):
            return rest, letters, True
    return "", tail, False


def to_float(text: str, decimal: str) -> tuple[float, bool] | None:
    """Return the number a text prints, and whether it uses the other decimal mark.

    Parameters
    ----------
    text : str
        Plain digits with marks, such as "2.130" or "1 234,5". [-]
    decimal : str
        The decimal mark of the file. [-]

    Returns
    -------
    tuple of float and bool, or None
        The number, and True where the mark is not the file's; None if it is not one number. [-]
    """
    body, exponent = _split_exponent(text)
    body = re.sub(r"(?<=\d)\s+(?=[.,])|(?<=[.,])\s+(?=\d)", "", body.strip().removesuffix("."))
    spaced = re.fullmatch(r"[-+]?\d{1,3}(?:[ ']\d{3})+(?:[.,]\d+)?", body)
    body = re.sub(r"[ ']", "", body) if spaced else body
    odd = False
    marks = set(re.findall(r"[.,]", body))
    if len(marks) == 2:
        decimal_here = max(marks, key=body.rfind)
        grouped = _GROUPED_POINT if decimal_here == "." else _GROUPED_COMMA
        if not grouped.match(body):
            return None
        odd = decimal_here != decimal
    elif marks:
        decimal_here, odd = _single_mark(body, marks.pop(), decimal)
    else:
        decimal_here = decimal
    other = "," if decimal_here == "." else "."
    body = body.replace(other, "").replace(decimal_here, ".")
    try:
        number = float(body + exponent)
    except ValueError:
        return None
    return (number, odd) if isfinite(number) else None


def _single_mark(body: str, mark: str, decimal: str) -> tuple[str, bool]:
    """Tell which mark is the decimal one where only one kind of mark stands in a number."""
    if mark == decimal:
        return decimal, False
    grouped = _GROUPED_POINT if mark == "," else _GROUPED_COMMA
    if grouped.match(body):
        return decimal, False
    return mark, True


def _split_exponent(text: str) -> tuple[str, str]:
    match = re.search(r"\s?(?:[eE]|[x×*]\s?10\^?)([-+]?\d+)$", text)
    if match is None:
        return text, ""
    return text[: match.start()], "e" + match.group(1)


def decimal_mark(texts: Iterable[str]) -> tuple[str | None, tuple[str, ...]]:
    """Decide the decimal mark of a file from all its numbers.

    Parameters
    ----------
    texts : iterable of str
        The result and limit cells. [-]

    Returns
    -------
    tuple of str or None, and tuple of str
        "." or ","; None where nothing settles it; and the cells that stay ambiguous. [-]
    """
    votes = {".": 0, ",": 0}
    unsettled: list[str] = []
    for text in texts:
        vote = _vote_of_cell(text)
        if vote == "?":
            unsettled.append(text)
        elif vote:
            votes[vote] += 1
    if votes["."] == votes[","]:
        return None, tuple(unsettled)
    return max(votes, key=lambda mark: votes[mark]), tuple(unsettled)


def _vote_of_cell(text: str) -> str:
    if isinstance(text, DateCell):
        return ""
    if _BARE.fullmatch(text):
        return _vote(text)
    clean = plain(text)
    if any(pattern.match(clean) for pattern in _DATES):
        return ""
    match = _PRINTED.match(_limit_signed(clean))
    return _vote(match["number"]) if match else ""


def _vote(text: str) -> str:
    """Return the decimal mark a number proves, "?" where it could be either, "" for none."""
    if text.isdecimal():
        return ""
    body = re.sub(r"[ ']", "", _split_exponent(text)[0].strip().removesuffix("."))
    marks: list[str] = re.findall(r"[.,]", body)
    if not marks:
        return ""
    if len(set(marks)) == 2:
        return max(set(marks), key=body.rfind)
    mark = marks[0]
    other = "," if mark == "." else "."
    if len(marks) > 1:
        return other
    return "?" if (_GROUPED_POINT if mark == "," else _GROUPED_COMMA).match(body) else mark
