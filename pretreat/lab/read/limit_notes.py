"""Limits noted behind a result in its own cell, as "0.42 mg/L (limit 0.3 mg/L)", or beside it."""

import re
from functools import lru_cache

from pretreat.core.tables import rows
from pretreat.core.text import lazy

_NOTE = lazy(
    r"^(?P<result>[<>~]?\s?\d[\d.,' ]*[^\d()\[\];,]{0,24}?)\s*(?:[(\[]|[;,]\s)\s*"
    r"(?P<note>[^\d()\[\]]{2,40}?)[:=]?\s*[<>≤≥]?\s*[.,]?\d[^()\[\]]*[)\]]?$",
    needs="([;,",
)
_BOLD = lazy(r"^(\*\*|__)(?P<text>[^*_]+)\1$", needs="*_")


@lru_cache(maxsize=1)
def _limiting() -> frozenset[str]:
    """Return the words that tell a limit for drinking water or the like, not of detection."""
    return frozenset(
        row["word"] for row in rows("lab_heading_words.csv") if row["role"] == "ignore"
    )


def has_digit(text: str) -> bool:
    """Tell a text with a digit of any script: most cells have none, and are soon told."""
    return any(map(str.isdecimal, text))


def without_note(clean: str) -> str:
    """Return a result without the limit noted behind it, as "0.42 mg/L (limit 0.3 mg/L)"."""
    bold = _BOLD.match(clean)
    clean = bold["text"].strip() if bold else clean
    found = _NOTE.match(clean) if has_digit(clean) else None
    if found is None:
        return clean
    parts = re.findall(r"[^\W\d_]+", found["note"].casefold())
    return found["result"].strip() if _limiting() & set(parts) else clean


_OWN_LIMIT = lazy(
    r"(?i)(?:RL|MRL|MDL|DL|LOD|LOQ|LOR|PQL|LD|LQ|LC|BG|NG)\s*[:=]?\s*(?P<limit>[.,]?\d[\d.,]*)"
)


def limit_beside(cells: tuple[str, ...]) -> str:
    """Return a limit of detection that a cell of a row gives, as "RL 0.2"."""
    found = (_OWN_LIMIT.fullmatch(cell.strip()) for cell in cells if cell)
    return next((match["limit"] for match in found if match), "")
