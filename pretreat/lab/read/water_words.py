"""Words that tell the raw water from what was treated, from controls and from earlier analyses."""

import re
from functools import lru_cache
from typing import Literal

from pretreat.core.text import lazy
from pretreat.lab.read.controls import names_control
from pretreat.lab.read.wording import folded, words

WaterKind = Literal["raw", "treated", "previous", "control", ""]
LONGEST_PHRASE = 4  # words
_KINDS: tuple[WaterKind, ...] = ("raw", "treated", "previous")
_UNSPACED = lazy(r"[\u3040-\u30ff\u3400-\u9fff\uac00-\ud7af]")  # written without spaces


@lru_cache(maxsize=8)
def _phrases(kind: str) -> frozenset[str]:
    return words(f"{kind}_water")


@lru_cache(maxsize=4096)
def kind_of_water(text: str) -> WaterKind:
    """Return what a name says of a water: raw, treated, of an earlier campaign, or a control.

    Parameters
    ----------
    text : str
        Name of a sample or heading of a column, in any language of data/aliases.csv. [-]

    Returns
    -------
    str
        The kind; "raw" where words of both stand, as in "raw, tap before softener". [-]
    """
    if names_control("", text):
        return "control"
    parts = [folded(part) for part in re.findall(r"[^\W\d_]+", text)]
    found: set[WaterKind] = set()
    at = 0
    while at < len(parts):
        length, kind = _longest(parts, at)
        if kind:
            found.add(kind)
        at += length
    if not text.isascii() and _UNSPACED.search(text):
        found |= {k for k in _KINDS if any(p in text for p in _phrases(k) if _UNSPACED.search(p))}
    if "previous" in found:
        return "previous"
    return "raw" if "raw" in found else "treated" if "treated" in found else ""


def _longest(parts: list[str], at: int) -> tuple[int, WaterKind]:
    """Return how many words from here make the longest known phrase, and its kind."""
    for length in range(min(LONGEST_PHRASE, len(parts) - at), 0, -1):
        phrase = "".join(parts[at : at + length])
        for kind in _KINDS:
            if phrase in _phrases(kind):
                return length, kind
    return 1, ""


def names_a_place(text: str) -> bool:
    """Tell a name that holds a word such as "well" or "borehole"."""
    return any(folded(part) in words("place") for part in re.findall(r"[^\W\d_]+", text))
