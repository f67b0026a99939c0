"""Which results belong to one sample, and which are the lab's own quality control."""

import re
from collections.abc import Callable
from functools import lru_cache

from msgspec import Struct, field

from pretreat.core.errors import AnalysisError
from pretreat.core.text import lazy
from pretreat.lab.read.controls import names_control
from pretreat.lab.read.headings import heading_role
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.report import LabReport, PrintedResult, one_line
from pretreat.lab.read.wording import folded, words

Names = tuple[str, ...]
ROW_PER_SAMPLE = ("wide", "coded")  # layouts


_NO_WATER = frozenset({"limit", "limit2", "ignore", "uncertainty"})
_LIMIT = lazy(
    r"(?i)\b(?:limits?|guidelines?|mcls?|smcl|grenzwerte?|valeurs? limites?|límites?|limiti|"
    r"maximum|reporting|detection|criteri(?:a|on)|permissible|allowable)\b",
    needs="cCeElLmM",
)


class PrintedSample(Struct):
    """The results of one sample as printed, and what names it."""

    sample: str
    site: str
    activity: str
    date: str
    results: list[PrintedResult] = field(default_factory=list)
    name: str = ""
    about: str = ""  # all that its rows or its column say of it


def is_quality_control(result: PrintedResult) -> bool:
    """Tell whether a result belongs to a blank, spike, duplicate or the like.

    Parameters
    ----------
    result : PrintedResult
        The result. [-]

    Returns
    -------
    bool
        True where it is not the water itself. [-]
    """
    names = (result.sample, result.site, result.about)
    return any(names_control(result.kind, name) for name in names)


def is_no_sample(result: PrintedResult) -> bool:
    """Tell whether a result stands in a row or column of statistics or limits.

    Parameters
    ----------
    result : PrintedResult
        The result. [-]

    Returns
    -------
    bool
        True for what is headed "Mean", "Maximum", "Detection limit" and the like. [-]
    """
    return _names_no_sample(result.sample, result.site, result.date)


@lru_cache(maxsize=4096)
def _names_no_sample(*labels: str) -> bool:
    named = {folded(text) for text in labels if text}
    if any(_LIMIT.search(text) and heading_role(text) in _NO_WATER for text in labels):
        return True
    return any(named & words(key) for key in ("statistic", "limit_row", "detection_limit"))


def samples_of(report: LabReport) -> list[PrintedSample]:
    """Group the results of a report by sample, in the order of the file.

    Parameters
    ----------
    report : LabReport
        The report as printed. [-]

    Returns
    -------
    list of PrintedSample
        Samples with distinct names. [-]

    Raises
    ------
    AnalysisError
        If nothing but quality control is left.
    """
    groups: dict[tuple[str, ...], PrintedSample] = {}
    for result in report.results:
        line = _row(result) if report.decisions.layout in ROW_PER_SAMPLE else ""
        key = (result.sample, result.site, result.activity, result.date, line)
        if key not in groups:
            groups[key] = PrintedSample(
                _unquoted(result.sample),
                _unquoted(result.site),
                result.activity,
                result.date,
                about=result.about,
            )
        groups[key].results.append(result)
    if not groups:
        raise AnalysisError(f"{report.source} holds no results of a water, only quality control")
    merged = _merged(list(groups.values()))
    _name(merged, report.source)
    return merged


def _unquoted(text: str) -> str:
    """Return a name without the apostrophe that keeps spreadsheets from computing it."""
    return text[1:] if re.match(r"'[=+@-]", text) else text


def _row(result: PrintedResult) -> str:
    return re.sub(r"![A-Z]+", "!", result.place) if "!" in result.place else result.place


def _keys(sample: PrintedSample) -> set[tuple[str, str]]:
    return {
        (result.code or named_analyte(result.name).key, result.fraction)
        for result in sample.results
        if result.text or result.condition
    }


def _merged(samples: list[PrintedSample]) -> list[PrintedSample]:
    """Join groups of one sample or place that share no result, as field and lab rows do.

    Groups join within a date first; only where that leaves the sample's rows apart
    by date alone, and nothing is repeated, across dates too.
    """
    by_date = _joined(samples, lambda s: (s.sample, s.site, s.date))
    return _joined(by_date, lambda s: (s.sample, s.site))


def _joined(
    samples: list[PrintedSample], key: Callable[[PrintedSample], Names]
) -> list[PrintedSample]:
    groups: dict[Names, list[PrintedSample]] = {}
    for sample in samples:
        groups.setdefault(key(sample), []).append(sample)
    out: list[PrintedSample] = []
    for names, group in groups.items():
        if len(group) == 1:
            out += group
            continue
        sets = [_keys(sample) for sample in group]
        apart = sum(len(one) for one in sets) == len(set().union(*sets))
        if apart and any(names[:2]):
            main = max(group, key=lambda sample: len(sample.results))
            main.results = [result for sample in group for result in sample.results]
            out.append(main)
        else:
            out += group
    order = {id(result): n for n, result in enumerate(r for s in samples for r in s.results)}
    return sorted(out, key=lambda sample: order[id(sample.results[0])])


def _name(samples: list[PrintedSample], source: str) -> None:
    """Give each sample a short name that no other has."""
    parts = [[s.sample or s.site or s.activity, s.date, s.activity, s.site] for s in samples]
    for depth in range(1, 5):
        names = [" ".join(dict.fromkeys(p for p in part[:depth] if p)) for part in parts]
        if len(set(names)) == len(names):
            break
    seen: dict[str, int] = {}
    stem = source.rsplit(".", 1)[0]
    for sample, name in zip(samples, names, strict=True):
        base = one_line(name or stem)
        seen[base] = seen.get(base, 0) + 1
        sample.name = base if seen[base] == 1 else f"{base} ({seen[base]})"
