"""Text from users and files, made safe for a terminal, a CSV, a workbook, a page or JSON.

And patterns that are compiled where they are first used.
"""

import re
import unicodedata
from functools import partial
from typing import Any, AnyStr, cast

_USES = ("search", "match", "fullmatch", "sub", "subn", "split", "findall", "finditer")


_LOOKS = frozenset({"search", "match", "fullmatch", "sub"})


class _Lazy:
    """A run uses but half of the patterns that its modules name: compiled at its first use."""

    def __init__(self, text: Any, flags: int, needs: str) -> None:
        self._asked, self._needs = (text, flags), frozenset(needs)

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):  # looked for by copies and the like, and never of a pattern
            raise AttributeError(name)
        if self._needs and name in _LOOKS:
            return partial(self._look, name)
        return getattr(self._compiled(), name)

    def _compiled(self) -> re.Pattern[Any]:
        compiled = re.compile(*self._asked)
        vars(self).update({use: getattr(compiled, use) for use in _USES})
        return compiled

    def _look(self, use: str, *given: Any, **more: Any) -> Any:
        """Look at a text; one without the signs that are needed asks for no pattern."""
        text = given[1] if use == "sub" else given[0]
        if self._needs.isdisjoint(text):
            return text if use == "sub" else None
        return getattr(self._compiled(), use)(*given, **more)


def lazy(text: AnyStr, flags: int = 0, needs: str = "") -> re.Pattern[AnyStr]:
    """Return a pattern that is compiled at its first use.

    Parameters
    ----------
    text : str or bytes
        The regular expression. [-]
    flags : int
        As for `re.compile`. [-]
    needs : str
        Signs of which every match holds one: a text without them is no use. [-]

    Returns
    -------
    re.Pattern
        Used as a compiled one; to the functions of `re` give its ``pattern``. [-]
    """
    return cast("re.Pattern[AnyStr]", _Lazy(text, flags, needs))


LONGEST_SHOWN = 300  # characters of a text that is shown in a message
LONGEST_QUOTED = 100  # characters of a value that a message repeats
# Control letters, halves of surrogate pairs, and letters that turn the direction of the line.
_COMMANDS = (
    "\\x00-\\x08\\x0b-\\x1f\\x7f-\\x9f\\u061c\\u200e\\u200f\\u2028\\u2029\\u202a-\\u202e"
    "\\u2066-\\u2069\\ud800-\\udfff\\ufff9-\\ufffb\\ufffe\\uffff"
)
_UNSEEN = "\\u00ad\\u180e\\u200b\\u2060-\\u2064\\ufeff"  # of no width
_UNSAFE = lazy(f"[{_COMMANDS}]")
_UNSEEN_OR_SPACE = lazy(f"[\\s{_UNSEEN}{_COMMANDS}]+")
_PLAIN_UNSAFE = lazy(f"[\\t\\n{_UNSEEN}{_COMMANDS}]")
_SPACES = "\t\n\v\f\r\x1c\x1d\x1e\x85\u2028\u2029"
_LITTLE = lazy(r"(?<![\w.'])\d(?:\.\d+)?e-(?:0[4-9]|[1-9]\d)(?= mg/L)")
_SMALL = lazy(r"(?<![\w.'])\d(?:\.\d+)?e-0\d(?![\w'])")
_POWER_OF_TEN = lazy(r"(?<![\w.'])\d(?:\.\d+)?e\+0\d(?![\w'])")
_STARTS_A_FORMULA = ("=", "+", "-", "@", "|")
_NO_SIGN = "\N{REPLACEMENT CHARACTER}"


def terminal_text(text: str) -> str:
    """Return a text that gives a terminal no commands; its lines and tabs stay.

    Parameters
    ----------
    text : str
        Any text. [-]

    Returns
    -------
    str
        The text, each command replaced by a sign. [-]
    """
    if text.replace("\n", "").replace("\t", "").isprintable():
        return text
    return _UNSAFE.sub(_NO_SIGN, text.replace("\r\n", "\n"))


def one_line(text: str, longest: int = LONGEST_SHOWN) -> str:
    """Return a text as one line of a message.

    Parameters
    ----------
    text : str
        Any text. [-]
    longest : int
        Characters kept. [-]

    Returns
    -------
    str
        One printable line. [-]
    """
    line = plain_text(text)
    return line if len(line) <= longest else f"{line[:longest]}..."


def quoted(value: object) -> str:
    """Return a value as a message repeats it.

    Parameters
    ----------
    value : object
        Any value. [any]

    Returns
    -------
    str
        One printable line, a text in quotes, cut where it is long. [-]
    """
    return one_line(repr(value), LONGEST_QUOTED)


def plain_text(text: str) -> str:
    """Return a text without commands, line ends and letters of no width.

    Parameters
    ----------
    text : str
        Any text. [-]

    Returns
    -------
    str
        One line that a workbook, a page or a PDF may hold as it is. [-]
    """
    if text.isprintable():  # no command is, nor what is of no width
        return text
    return _PLAIN_UNSAFE.sub(_plain_sign, text)


def plain_numbers(text: str) -> str:
    """Return a sentence with its numbers in digits, not with a power of ten.

    Parameters
    ----------
    text : str
        A sentence. [-]

    Returns
    -------
    str
        The same: "1.35e+04" as "13,500", "9.1e-05 mg/L" as "below 0.001 mg/L", which no
        laboratory tells from nothing, any other "2.5e-05" as "0.000025". [-]
    """
    if "e+" in text:
        text = _POWER_OF_TEN.sub(lambda found: f"{float(found[0]):,.0f}", text)
    if "e-" in text:
        text = _SMALL.sub(_in_digits, _LITTLE.sub("below 0.001", text))
    return text


def _in_digits(found: re.Match[str]) -> str:
    from decimal import Decimal

    return format(Decimal(found[0]), "f")


def first_clause(text: str) -> str:
    """Return a text up to its first semicolon that stands outside brackets.

    Parameters
    ----------
    text : str
        Clauses, "; " between them. [-]

    Returns
    -------
    str
        The first of them, whole. [-]
    """
    open_brackets = 0
    for at, sign in enumerate(text):
        open_brackets += (sign == "(") - (sign == ")")
        if open_brackets <= 0 and text.startswith("; ", at):
            return text[:at]
    return text


def _plain_sign(match: re.Match[str]) -> str:
    sign = match[0]
    if sign in _SPACES:
        return " "
    return "" if unicodedata.category(sign) == "Cf" else _NO_SIGN


def csv_text(text: str) -> str:
    """Return a text for a cell of a CSV; one that could be a formula gets an apostrophe.

    Parameters
    ----------
    text : str
        Any text. [-]

    Returns
    -------
    str
        The text that no spreadsheet takes for a formula. [-]
    """
    line = plain_text(text)
    if line in {"-", "+"}:
        return line
    start = _UNSEEN_OR_SPACE.sub("", line.replace(_NO_SIGN, "")[:100])[:1]
    hidden = text[:1] in {"\t", "\r"}
    if hidden or unicodedata.normalize("NFKC", start).startswith(_STARTS_A_FORMULA):
        return f"'{line}"
    return line


def json_text(text: str) -> str:
    """Return a JSON document whose text gives a terminal no commands; its values are the same.

    Parameters
    ----------
    text : str
        A JSON document. [-]

    Returns
    -------
    str
        The document with such letters written as escapes; half a letter as U+FFFD. [-]
    """
    if text.isascii() and "\x7f" not in text:
        return text
    return _JSON_UNSAFE.sub(_escape, text)


# What JSON itself does not escape: the control letters below space it does.
_JSON_UNSAFE = lazy(f"[{_UNSEEN}{_COMMANDS[_COMMANDS.index('x7f') - 1 :]}]")


def _escape(match: re.Match[str]) -> str:
    code = ord(match[0])
    return _NO_SIGN if 0xD800 <= code <= 0xDFFF else f"\\u{code:04x}"
