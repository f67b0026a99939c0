"""Headings of columns by their words: what holds results, and what never does."""

import re
from functools import lru_cache

from pretreat.core.tables import rows
from pretreat.core.text import lazy
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.unit_words import is_concentration, is_conductivity
from pretreat.lab.read.water_words import kind_of_water
from pretreat.lab.read.wording import column_role, folded, words

# Which meaning wins where a heading holds words of several: "previous result" is no result.
_ORDER = ("previous", "limit", "ignore", "uncertainty", "value", "other")
NUMBERING = frozenset(
    {"no", "nr", "number", "id", "code", "ref", "reference", "row", "line", "page", "item"}
)
_CODE = lazy(r"^[^\W\d_]{1,5}[-_ ./#]{0,2}\d{1,6}[^\W\d_]?\b")
_STEM = r"(?:jan|feb|mar|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)[a-z]*\.?"
_MONTH = (  # alone, whole or in short: "Mark" is none
    r"(?:january?|february?|march|märz|april|may|mai|june|juni|july|juli|august|september|"
    r"o[ck]tober|november|de[cz]ember|jan|feb|mar|apr|jun|jul|aug|sept?|o[ck]t|nov|de[cz])\.?"
)
_DATE = lazy(
    r"(?i)^(?:\d{1,2}[./-]\d{1,2}[./-]\d{2,4}|\d{4}-\d{2}(?:-\d{2})?|(?:19|20)\d\d|"
    rf"(?:\d{{1,2}}[ -])?{_STEM}[ -]?\d{{1,4}}|\d{{1,2}}[ -]{_STEM}|{_MONTH}|"
    r"[^\W\d_]{3,10}\.?[ -](?:19|20)\d\d)$"
)


LONGEST_HEADING = 80
# "Result ± uncertainty" heads results that carry their uncertainty in the same cell.
_WITH_SPREAD = lazy(r"\w\s*(?:±|\+/-)\s*\w", needs="+±")


@lru_cache(maxsize=1)
def _word_roles() -> dict[str, str]:
    return {row["word"]: row["role"] for row in rows("lab_heading_words.csv")}


@lru_cache(maxsize=4096)
def heading_role(text: str) -> str:
    """Return the role of a column by its whole heading, else by the words in it.

    Parameters
    ----------
    text : str
        As printed. [-]

    Returns
    -------
    str
        A role of data/lab_columns.csv or data/lab_heading_words.csv, or an empty text. [-]
    """
    bare = without_unit(text, unit_in_heading(text))  # as in "Rapportagegrens µg/l"
    return column_role(text) or (column_role(bare) if bare else "") or role_by_words(text)


@lru_cache(maxsize=4096)
def role_by_words(text: str) -> str:
    """Return the role that the words of a heading give its column, or an empty text."""
    if not text or len(text) > LONGEST_HEADING:
        return ""
    parts = re.findall(r"[^\W\d_]+|±|%", text.casefold())
    found = {r for part in parts if (r := _word_roles().get(part))}
    place = any(folded(part) in words("place") | words("samples") for part in parts)
    if place and not {p for p in parts if p in _word_roles()} - NUMBERING:
        return ""
    if _WITH_SPREAD.search(text) and "value" in found:
        return "value"
    return next((role for role in _ORDER if role in found), "")


SHORTEST_WORD = 3  # letters


@lru_cache(maxsize=4096)
def holds_unknown(text: str) -> bool:
    """Tell a heading with a word that gives no role: it may say more than is understood."""
    parts = re.findall(r"[^\W\d_]+", text.casefold())
    return any(
        len(part) >= SHORTEST_WORD and part not in _word_roles() and not column_role(part)
        for part in parts
    )


def without_role_words(text: str) -> str:
    """Return a heading without the words that give its role: "Dissolved result" is dissolved."""
    return " ".join(w for w in text.split() if w.casefold().strip("():,") not in _word_roles())


_UNLESS = lazy(r"(?i)[\s,;(]*(?:unless|except|sauf|salvo|falls nicht|où indiqué)\b.*$")


def conductivity_in_heading(text: str) -> str:
    """Return the unit of conductivity that a title gives beside others, as "(pH / mmhos/cm)"."""
    found = re.findall(r"[^\s()\[\],;]+/c?m\b", text)
    return next((unit for unit in found if is_conductivity(unit)), "")


@lru_cache(maxsize=4096)
def unit_in_heading(text: str) -> str:
    """Return the unit that ends a heading, in brackets, behind a comma or bare."""
    clean = _UNLESS.sub("", text).strip().rstrip(":").strip()
    inner = re.search(r"[\[(]\s*(?:in\s+)?([^\[\]()]+(?:\([^()]*\))?)\s*[\])]$", clean)
    if inner and is_concentration(inner[1].strip()):
        return inner[1].strip()
    bare = clean.strip("()[]")
    for start in (m.end() for m in re.finditer(r"[\s,;:=\[(]+", bare)):
        tail = bare[start:].strip()
        if re.search(r"(?i)/|pp[mb]|gpg|\bper\b", tail) and is_concentration(tail):
            return tail
    whole = re.search(r"/|pp[mb]", bare)
    return bare if whole and is_concentration(bare) else ""


def without_unit(text: str, unit: str) -> str:
    """Return a heading without the unit that ends it: "Well 4 mg/L" is that of Well 4."""
    if not unit or unit not in text:
        return text
    return text[: text.rfind(unit)].strip(" ,;:=([-") or text


@lru_cache(maxsize=4096)
def names_a_sample(text: str) -> bool:
    """Tell a heading that names a sample: "LW-1", "Well 3", "2031-05-14", not "Class A"."""
    parts = re.findall(r"[^\W\d_]+", text.casefold())
    place = any(folded(part) in words("place") | words("samples") for part in parts)
    place = place or any(column_role(part) in {"sample", "site"} for part in parts)
    place = place or kind_of_water(text) in {"raw", "treated", "control"}
    unit = bool(unit_in_heading(text)) or bool(named_analyte(text).key)
    return bool((place or _CODE.match(text) or _DATE.match(text)) and not unit)


def may_head(text: str) -> bool:
    """Tell a cell that looks like a number or a date and may head a column: "Max.", "2029"."""
    return bool(heading_role(text)) or names_a_sample(without_unit(text, unit_in_heading(text)))


# A date alone may be that of the analysis or of the report.
_TAKEN = lazy(r"(?i)sampl|collect|probe|entnahme|prélèv|prelev|muestr|amostra|campion|monster|prov")


def tells_when_taken(name: str) -> bool:
    """Tell a row named after the day a sample was taken, as "Sampling date"."""
    bare = name.strip(" :")
    return column_role(bare) == "date" and bool(_TAKEN.search(bare))
