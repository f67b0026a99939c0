"""Which of several samples is the water to design for: the raw one, else the latest."""

import re
from collections.abc import Sequence
from functools import lru_cache
from types import MappingProxyType

from pretreat.core.basis import Flag
from pretreat.core.text import lazy
from pretreat.lab.interpret.day_order import MONTHS
from pretreat.lab.interpret.sampling import PrintedSample
from pretreat.lab.read.report import LabReport
from pretreat.lab.read.water_words import WaterKind, kind_of_water, names_a_place

SHOWN = 12
Day = tuple[int, int, int]  # year, month and day; 0 where it is not told
_PREFERRED: MappingProxyType[WaterKind, int] = MappingProxyType(
    {"raw": 0, "": 1, "treated": 2, "previous": 3, "control": 4}
)
_MONTHS = (
    ("jan", "ene", "gen", "sty", "led", "янв"),
    ("feb", "fév", "fev", "lut", "úno", "фев"),
    ("mar", "mär", "maa", "бер", "мар"),
    ("apr", "abr", "avr", "kwi", "апр"),
    ("may", "mai", "maj", "mag", "máj", "май"),
    ("jun", "jui", "giu", "cze", "июн"),
    ("jul", "lug", "lip", "июл"),
    ("aug", "ago", "aoû", "sie", "авг"),
    ("sep", "set", "wrz", "сен"),
    ("oct", "okt", "ott", "out", "paź", "окт"),
    ("nov", "lis", "ноя"),
    ("dec", "dez", "dic", "déc", "gru", "дек"),
)
_YEAR_FIRST = lazy(r"\b((?:19|20)\d\d)[-./](\d{1,2})(?:[-./](\d{1,2}))?\b")
_DAY_FIRST = lazy(r"\b(\d{1,2})[-./](\d{1,2})[-./]((?:19|20)?\d\d)\b")
_NAMED = lazy(
    r"(?:\b(\d{1,2})[-. ]+)?([^\W\d_]{3,10})\.?[-. ,]*(?:\d{1,2}, *)?((?:19|20)\d\d|\d\d)\b"
)
_YEAR = lazy(r"\b((?:19|20)\d\d)\b")


def kind_of(sample: PrintedSample) -> WaterKind:
    """Return what the names of a sample say of its water."""
    return kind_of_water(" ".join(dict.fromkeys([sample.about, sample.sample, sample.site])))


@lru_cache(maxsize=4096)
def day_in(text: str) -> Day:
    """Return the date in a text as year, month, day; zeros where there is none.

    Parameters
    ----------
    text : str
        Such as "11.06.2024", "2024-06-11", "Oct-2024" or "2024". [-]

    Returns
    -------
    tuple of int
        Year, month and day. [-]
    """
    if found := _YEAR_FIRST.search(text):
        return int(found[1]), int(found[2]), int(found[3] or 0)
    if found := _DAY_FIRST.search(text):
        day, month = int(found[1]), int(found[2])
        if month > MONTHS >= day:  # "03/25/2024" can only be month first
            day, month = month, day
        return _full(found[3]), month, day
    for found in _NAMED.finditer(text):
        start = found[2][:3].casefold()
        month = next((n for n, names in enumerate(_MONTHS, 1) if start in names), 0)
        if month:
            return _full(found[3]), month, int(found[1] or 0)
    year = _YEAR.search(text)
    return (int(year[1]), 0, 0) if year else (0, 0, 0)


def _full(year: str) -> int:
    return int(year) if len(year) > 2 else 2000 + int(year)


def preferred(report: LabReport, samples: Sequence[PrintedSample]) -> PrintedSample:
    """Return the sample that is read where none was asked for.

    Parameters
    ----------
    report : LabReport
        The report, for its layout. [-]
    samples : sequence of PrintedSample
        Its samples in the order of the file. [-]

    Returns
    -------
    PrintedSample
        The one whose name says raw water; among equals of one table the latest, else the first. [-]
    """
    kinds = [_PREFERRED[kind_of(s)] for s in samples]
    best = [s for s, kind in zip(samples, kinds, strict=True) if kind == min(kinds)]
    wells = [s for s in best if names_a_place(f"{s.about} {s.sample} {s.site}")]
    if min(kinds) and len(set(kinds)) > 1 and wells:
        best = wells
    placed = [s for s in best if _without_day(f"{s.sample} {s.site}")]
    if placed and report.decisions.layout == "vertical":  # a year alone is that of an old result
        best = placed
    days = [_day(s) for s in best]
    if _dated_columns(report, best):
        return best[days.index(max(days))]
    return best[0]


def _day(sample: PrintedSample) -> Day:
    return max(day_in(sample.date), day_in(sample.sample))


def _dated_columns(report: LabReport, samples: Sequence[PrintedSample]) -> bool:
    """Tell samples that are one place on several days, in columns or blocks side by side."""
    if report.decisions.layout != "vertical" or len(samples) < 2:
        return False
    names = {_without_day(f"{s.sample} {s.site}") for s in samples}
    return len({_day(s) for s in samples}) > 1 and len(names) == 1


def _different_places(samples: Sequence[PrintedSample]) -> bool:
    """Tell a report that lists a few samples by names of their own."""
    names = {_without_day(f"{s.sample} {s.site}") for s in samples}
    return len(names) > 1 and len(samples) <= SHOWN


def _without_day(text: str) -> str:
    for pattern in (_YEAR_FIRST, _DAY_FIRST, _NAMED, _YEAR):
        text = pattern.sub(" ", text)
    return " ".join(re.findall(r"[^\W_]+", text.casefold()))


def chosen_flags(
    report: LabReport, samples: Sequence[PrintedSample], chosen: PrintedSample
) -> tuple[Flag, ...]:
    """Return the flag that says which of several samples is read and why, and names the others.

    It is a caution where no name tells which of them is the raw water.
    """
    others = [s.name for s in samples if s is not chosen]
    more = f" and {len(others) - SHOWN} more" if len(others) > SHOWN else ""
    kind = kind_of(chosen)
    unlike = [s for s in samples if s is not chosen and kind_of(s) != kind]
    alike = [s for s in samples if s is not chosen and kind_of(s) == kind]
    if kind == "raw" and unlike:
        why = "its name says raw water"
    elif kind == "" and unlike and not alike:
        why = "the others are treated, earlier or control samples by their names"
    elif alike and _dated_columns(report, [chosen, *alike]):
        why = "it is the latest"
    else:
        why = "the first of the file"
    text = (
        f"the file holds {len(samples)} samples; '{chosen.name}' is read ({why}), another with "
        f"--sample. Others: {', '.join(others[:SHOWN])}{more}"
    )
    flags = (Flag("several_samples", "info", text),)
    treated = kind in {"treated", "previous", "control"}
    guessed = why.startswith("the first") and kind != "raw" and _different_places(samples)
    if treated or guessed:
        said = (
            f"no name tells for certain which sample is the raw water; '{chosen.name}' is read: "
            "choose with --sample"
        )
        return (*flags, Flag("sample_chosen", "caution", said))
    return flags
