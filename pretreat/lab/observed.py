"""What people saw, smelt or tasted: words of a report that a number should explain.

The words and what they ask for stand in data/observed_words.csv.
"""

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.tables import Row, rows
from pretreat.core.text import lazy
from pretreat.core.water import OtherLine, WaterAnalysis
from pretreat.lab.read.report import PrintedResult, one_line

OBSERVED, TOLD_ONLY = "seen_or_smelt", "smell_to_note"
SMELL, LOOK, REMARK = "smell", "look", "remark"
_LINES = (SMELL, LOOK, REMARK)
_WORDS = frozenset({*_LINES, "smelt", "none"})
_CLAUSES = lazy(r"[,;.:/|()]|\b(?:but|aber|mais|pero|ma|and then)\b")
REMARKS = "Remarks"  # how words are called that a report gives no name


class _Class(Struct, frozen=True):
    name: str
    pattern: re.Pattern[str]
    where: str
    settled: tuple[str, ...]
    condition: bool
    text: str


@lru_cache(maxsize=1)
def _classes() -> tuple[_Class, ...]:
    def of(row: Row) -> _Class:
        settled = tuple(part.strip() for part in row["settled"].split(";") if part.strip())
        pattern = lazy(rf"(?<!\w)(?:{row['pattern']})")
        yes = row["condition"] == "yes"
        return _Class(row["role"], pattern, row["lines"], settled, yes, row["text"])

    return tuple(of(r) for r in rows("observed_words.csv") if r["role"] not in _WORDS)


@lru_cache(maxsize=8)
def _words(role: str) -> re.Pattern[str]:
    return lazy("|".join(r["pattern"] for r in rows("observed_words.csv") if r["role"] == role))


def _folded(text: str) -> str:
    spread = unicodedata.normalize("NFKD", text.casefold().replace("œ", "oe"))
    return "".join(c for c in spread if not unicodedata.combining(c))


def _line_of(name: str) -> str:
    """Return what a line tells of, by its name: smell, look, a remark; else nothing."""
    plain = " ".join(_folded(name).replace("_", " ").split())
    return next((role for role in _LINES if _words(role).match(plain)), "")


def remarks_of(notes: Iterable[str], results: Iterable[PrintedResult]) -> tuple[OtherLine, ...]:
    """Return the lines in words above, below and beside the results of a sample.

    Parameters
    ----------
    notes : iterable of str
        Of the report. [-]
    results : iterable of PrintedResult
        Of the sample. [-]

    Returns
    -------
    tuple of OtherLine
        With the name of the line, where it has one of those of data/observed_words.csv. [-]
    """
    found = []
    for note in notes:
        label, mark, text = note.partition(":")
        if not mark or len(label.split()) > len(("general", REMARKS)):
            label, _, text = note.partition(" ")
        if text.strip() and _line_of(label):
            found.append(OtherLine(one_line(label), one_line(text, 160), ""))
    for one in results:
        beside = (one.qualifier, one.condition, one.detail)
        found += [OtherLine(REMARKS, one_line(t, 160), "") for t in beside if " " in t.strip()]
    return tuple(dict.fromkeys(found))


def _telling(line: OtherLine) -> tuple[str, tuple[str, ...]]:
    """Return what a line tells of, and its clauses that tell of something."""
    clauses = (" ".join(c.split()) for c in _CLAUSES.split(_folded(line.text)))
    none = lazy(_words("none").pattern)
    return _line_of(line.name), tuple(c for c in clauses if c and not none.search(c))


def _class_of(kind: str, clause: str) -> _Class | None:
    """Return the class of a clause; None where it tells of nothing that is known."""
    smelt = kind == SMELL or (kind == REMARK and _words("smelt").search(clause))
    holds = {"any": True, SMELL: bool(smelt), LOOK: kind == LOOK}
    return next((c for c in _classes() if holds[c.where] and c.pattern.search(clause)), None)


def _explained(one: _Class, water: WaterAnalysis) -> bool:
    """Tell whether the report holds the amount that the words speak of."""
    for rule in one.settled:
        key, _, least = rule.partition(" ")
        if key.endswith("?"):
            if water.measured(key[:-1]):
                return True
            continue
        names = (key, f"{key}_mg_l")
        found = (w.get(k) for k in names for w in (water.mg_l, water.total_mg_l, water.properties))
        amounts = [a for a in found if a is not None]
        if amounts and max(amounts) >= float(least or 0.0):
            return True
    return False


def with_observed(
    water: WaterAnalysis, notes: Iterable[str], results: Iterable[PrintedResult]
) -> WaterAnalysis:
    """Return a water with flags of what was seen or smelt and no number of it explains.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    notes : iterable of str
        Of the report. [-]
    results : iterable of PrintedResult
        Of the sample. [-]

    Returns
    -------
    WaterAnalysis
        One flag more for each class that is not explained, and the remarks beside its lines. [-]
    """
    said = remarks_of(notes, results)
    found: dict[str, tuple[_Class, list[str]]] = {}
    for line in (*(o for o in water.others if o.value is None), *said):
        kind, clauses = _telling(line)
        for one in (c for clause in clauses if kind and (c := _class_of(kind, clause))):
            told = f"{line.name} '{line.text}'"
            places = found.setdefault(one.name, (one, []))[1]
            if told not in places:
                places.append(told)
    flags = [
        Flag(
            OBSERVED if one.condition else TOLD_ONLY,
            "caution",
            one.text.format(what=", ".join(places)),
        )
        for one, places in found.values()
        if not _explained(one, water)
    ]
    return replace(water, flags=(*water.flags, *flags)) if flags else water
