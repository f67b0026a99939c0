"""Which samples of a report are repeated analyses of one site."""

import re
from collections.abc import Sequence
from pathlib import Path

from msgspec import Struct

from pretreat.core.basis import Flag
from pretreat.core.errors import AnalysisError
from pretreat.core.water import WaterAnalysis
from pretreat.lab.interpret.raw_water import chosen_flags, kind_of, preferred
from pretreat.lab.interpret.sampling import PrintedSample, samples_of
from pretreat.lab.read.report import NOTHING_ASKED, Asked, one_line
from pretreat.lab.read.wording import folded, words
from pretreat.lab.reading import (
    interpreted,
    listed,
    named_sample,
    read_report,
    usable,
)

MOST_UNNAMED = 60  # more samples than this without a site are a survey, not one well
SHOWN_PLACES = 6
UNNAMED = "one_site_assumed"  # flag: no name tells that its samples are of one well
MOST_WELLS = 12  # more samples than this with several sites are a survey
_OTHER_WATER = frozenset({"treated", "control"})  # by its name no analysis of the raw water


class SiteSamples(Struct, frozen=True):
    """The sample chosen, and all analyses of its site in the order of the file.

    ``flags`` say which sample was chosen and what does not belong to its site; the chosen
    water carries them. ``elsewhere`` holds the other wells of a report where none was asked for.
    """

    chosen: WaterAnalysis
    repeated: tuple[WaterAnalysis, ...]
    flags: tuple[Flag, ...] = ()
    elsewhere: tuple[WaterAnalysis, ...] = ()


def read_site_samples(
    path: Path | str,
    *,
    sample: str | None = None,
    sheet: str | None = None,
    encoding: str | None = None,
    decimal: str | None = None,
    asked: Asked = NOTHING_ASKED,
) -> SiteSamples:
    """Read the water of a site and the other analyses of the same site.

    Parameters
    ----------
    path : Path or str
        CSV, TSV, text or XLSX file. [-]
    sample : str, optional
        Name of the sample wanted; by default the raw water, flagged where there are others. [-]
    sheet, encoding, decimal : str, optional
        Instead of what is detected, as for `read_report`. [-]
    asked : Asked
        What a person has settled about columns and units. [-]

    Returns
    -------
    SiteSamples
        The sample, as `read_analysis` gives it, with flags on what belongs to its site. [-]

    Raises
    ------
    AnalysisError
        If the file or the sample cannot be used; one line per fault.
    """
    report = read_report(path, sheet=sheet, encoding=encoding, decimal=decimal, asked=asked)
    samples = samples_of(report)
    chosen = preferred(report, samples) if sample is None else named_sample(report, samples, sample)
    group, flags = same_site(samples, chosen)
    if sample is None and len(samples) > 1:
        flags = (*chosen_flags(report, samples, chosen), *flags)
    read = interpreted(report, samples, group)
    own = read[next(n for n, one in enumerate(group) if one is chosen)]
    if own.faults:
        raise AnalysisError(*(f"{report.source}: {fault}" for fault in own.faults))
    repeated = usable(report, read)
    flags += tuple(f for f in repeated[0].flags if f.code == "sample_refused")
    others = [] if sample is not None else _elsewhere(samples, group)
    elsewhere = tuple(one.water for one in interpreted(report, samples, others) if not one.faults)
    return SiteSamples(own.water.with_flags(*flags), repeated, flags, elsewhere)


def _elsewhere(
    samples: Sequence[PrintedSample], group: Sequence[PrintedSample]
) -> list[PrintedSample]:
    """Return the samples of other wells; none of a survey, and no treated water."""
    if len(samples) > MOST_WELLS:
        return []
    mine = {id(one) for one in group}
    return [one for one in samples if id(one) not in mine and kind_of(one) not in _OTHER_WATER]


def same_site(
    samples: Sequence[PrintedSample], chosen: PrintedSample
) -> tuple[list[PrintedSample], tuple[Flag, ...]]:
    """Return the samples of the site of one of them, and what to say about the others.

    A column or line that names the site decides; without one the place in the name of the
    sample ("Well 2, June"), or a name that stands for several dates.

    Parameters
    ----------
    samples : sequence of PrintedSample
        All samples of a report. [-]
    chosen : PrintedSample
        One of them. [-]

    Returns
    -------
    tuple of list and tuple of Flag
        Samples of the same site in the order of the file, and flags. [-]
    """
    if len(samples) == 1:
        return [chosen], ()
    alike = [one for one in samples if one is chosen or kind_of(one) not in _OTHER_WATER]
    if len(alike) < len(samples) and kind_of(chosen) not in _OTHER_WATER:
        return same_site(alike, chosen)
    places = _places(samples)
    here = places[next(n for n, one in enumerate(samples) if one is chosen)]
    if not any(places):
        return _unnamed(samples, chosen)
    group = [one for one, place in zip(samples, places, strict=True) if place == here]
    others = list(dict.fromkeys(p for p in places if p != here))
    if not others:
        return group, ()
    named = ", ".join(one_line(p) or "no site named" for p in others[:SHOWN_PLACES])
    named += f" and {len(others) - SHOWN_PLACES} more" if len(others) > SHOWN_PLACES else ""
    text = (
        f"the file holds samples of {len(others) + 1} wells or sites; those of "
        f"'{one_line(here) or chosen.name}' ({len(group)}) are analyses of one, the others "
        f"are not and stay out of its range: {named}"
    )
    return group, (Flag("several_sites", "caution", text),)


def _unnamed(
    samples: Sequence[PrintedSample], chosen: PrintedSample
) -> tuple[list[PrintedSample], tuple[Flag, ...]]:
    if len(samples) > MOST_UNNAMED:
        text = (
            f"the report names no site for its {len(samples)} samples; so many are not taken as "
            "analyses of one site: put the name of the site in a column of its own"
        )
        return [chosen], (Flag("site_not_named", "caution", text),)
    text = (
        f"the report does not say that its {len(samples)} samples come from one site "
        f"({listed(samples)}); their range holds only if they do: put the name of the site in "
        "a column of its own"
    )
    return list(samples), (Flag(UNNAMED, "caution", text),)


def _places(samples: Sequence[PrintedSample]) -> list[str]:
    """Return the place of each sample, empty where none is told."""
    places = [one.site or place_in(one.sample) for one in samples]
    if any(places):
        return places
    names = [one.sample for one in samples]
    dated = len(set(names)) < len(names) and any(one.date for one in samples)
    return names if dated and all(names) else places


def place_in(name: str) -> str:
    """Return the place that the name of a sample begins or ends with, such as "well 2".

    Parameters
    ----------
    name : str
        Such as "Well 2, June" or "Brunnen B". [-]

    Returns
    -------
    str
        The word for the place and its number, or an empty text. [-]
    """
    parts = re.findall(r"[^\W\d_]+|\d+", name.casefold())
    for n, part in enumerate(parts[:-1]):
        if folded(part) not in words("place"):
            continue
        rest = [p for p in parts[n + 1 :] if p not in {"no", "nr", "n"}]
        if rest and (rest[0].isdigit() or len(rest[0]) == 1):
            lettered = rest[0].isdigit() and len(rest) > 1 and len(rest[1]) == 1
            return f"{part} {rest[0]}{rest[1] if lettered and rest[1].isalpha() else ''}"
    return ""
