"""Numbers of spreadsheets as their format shows them: signs and words that the value lacks."""

import re
from functools import lru_cache

from pretreat.core.text import lazy

_CONDITION = lazy(r"\[(<=|>=|<>|<|>|=)\s*(-?\d+(?:\.\d+)?)\]")
_COLOUR = lazy(r"\[(?!\$)[^\]<>=]*\]")
_CURRENCY = lazy(r"\[\$([^\]-]*)[^\]]*\]")
_PLACES = lazy(r"[0#?](?:[0#?.,]|[eE][-+])*[0#?.]*|[0#?]")


def shown_number(value: float, pattern: str) -> str:
    """Return a number as a person sees it where its format adds signs, words or per cent.

    Parameters
    ----------
    value : float
        The value of the cell. [-]
    pattern : str
        Its number format, such as '"< "0.0' or '[<0.05]"ND";0.00'. [-]

    Returns
    -------
    str
        The value in full, with what the format puts before and behind it; a text alone where
        the format shows no number. [-]
    """
    text = format(value, ".15g")
    if pattern in {"", "General", "general", "@", "0", "0.00"}:
        return text
    section, signed = _section(value, pattern)
    before, number, behind = _parts(section)
    if "%" in behind or "%" in before:
        return f"{format(100 * value, '.15g')} %"
    if not number:
        return (before + behind).strip() or ("" if section == "" else text)
    if signed and "(" in before:
        return text
    text = format(abs(value), ".15g") if signed else text
    return f"{before}{text}{behind}".strip()


def _section(value: float, pattern: str) -> tuple[str, bool]:
    """Return the part of a format that holds for a value, and whether it drops the sign."""
    parts = _split(pattern)
    tests = [_CONDITION.search(part) for part in parts]
    if any(tests):
        for part, test in zip(parts, tests, strict=True):
            if test is None or _holds(value, test[1], float(test[2])):
                return part, False
        return "", False
    if value < 0 and len(parts) > 1:
        return parts[1], True
    if value == 0 and len(parts) > 2:
        return parts[2], False
    return parts[0], False


def _holds(value: float, sign: str, limit: float) -> bool:
    return {
        "<": value < limit,
        ">": value > limit,
        "<=": value <= limit,
        ">=": value >= limit,
        "=": value == limit,
        "<>": value != limit,
    }[sign]


def _split(pattern: str) -> list[str]:
    parts, quoted, current, n = [], False, "", 0
    while n < len(pattern):
        c = pattern[n]
        if c == "\\" and n + 1 < len(pattern):
            current += pattern[n : n + 2]
            n += 2
            continue
        quoted ^= c == '"'
        if c == ";" and not quoted:
            parts.append(current)
            current = ""
        else:
            current += c
        n += 1
    return [*parts, current]


@lru_cache(maxsize=512)
def _parts(section: str) -> tuple[str, str, str]:
    """Return what stands before the number, its places, and what stands behind."""
    section = _CURRENCY.sub(lambda m: m[1], _COLOUR.sub("", _CONDITION.sub("", section)))
    section = re.sub(r"(?i)general", "0", section)
    literal, mask = "", ""
    n = 0
    while n < len(section):
        c = section[n]
        if c == '"':
            end = section.find('"', n + 1)
            end = len(section) if end < 0 else end
            literal += section[n + 1 : end]
            mask += "L" * (end - n - 1)
            n = end + 1
        elif c == "\\" and n + 1 < len(section):
            literal += section[n + 1]
            mask += "L"
            n += 2
        elif c in "_*":
            n += 2
        else:
            literal += c
            mask += "0" if c in "0#?.,/" else "L"
            n += 1
    first, last = mask.find("0"), mask.rfind("0")
    if first < 0 or not re.search(r"[0#?]", literal[first : last + 1]):
        return literal, "", ""
    return literal[:first], literal[first : last + 1], re.sub(r"^E[+-]?0*", "", literal[last + 1 :])
