"""The water to design for, out of several analyses of one site."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.errors import AnalysisError
from pretreat.core.tables import analytes
from pretreat.core.units import HCO3_PER_CACO3
from pretreat.core.water import Reading, WaterAnalysis
from pretreat.lab.interpret.raw_water import day_in
from pretreat.lab.read.report import Asked
from pretreat.lab.samples.ranges import (
    DEFAULT_PERCENTILE,
    SampleRange,
    percentile,
    ranges,
    severity,
)
from pretreat.lab.samples.site_samples import UNNAMED, SiteSamples, read_site_samples
from pretreat.lab.samples.worse import worse_flags
from pretreat.site.design import DesignWater, WaterBasis

WORST = 100.0
OLD_DAYS = 2 * 365  # PRACTICE: before the latest sample; a well changes
MOST = 0.8  # of the ions of the sample that is read
ROUNDING = 1e-12
# What stands in the water itself rather than among its properties.
_OWN_FIELDS = frozenset({"ph", "temperature_c", "alkalinity_mg_l_caco3"})


def read_design_water(
    basis: WaterBasis,
) -> tuple[WaterAnalysis | None, tuple[WaterAnalysis, ...]]:
    """Read the water that a site file designs for, and all analyses of its site.

    Parameters
    ----------
    basis : WaterBasis
        Report, sample, sheet and how the design water is chosen. [-]

    Returns
    -------
    tuple of WaterAnalysis or None, and tuple of WaterAnalysis
        The water, None where the site file has test-kit values only; and the samples. [-]

    Raises
    ------
    AnalysisError
        If the report or the sample cannot be used.
    """
    from pretreat.lab.site_values import kit_water, laid_over

    if basis.analysis is None:
        return kit_water(basis), ()
    asked = Asked.of(basis.column, basis.unit)
    found = read_site_samples(basis.analysis, sample=basis.sample, sheet=basis.sheet, asked=asked)
    every = (*found.repeated, *found.elsewhere)
    if basis.design_water == "sample":
        chosen = found.chosen
        same = () if basis.sample is not None else _of_one_well(found)
        chosen = chosen.with_flags(*worse_flags(chosen, every, same))
        return laid_over(chosen, basis), found.repeated
    told = {"several_samples", "sample_chosen"}  # what is designed for is said by the choice
    flags = [flag for flag in found.flags if flag.code not in told]
    water = design_water(found.repeated, basis.design_water, basis.percentile)
    water = water.with_flags(*flags, *worse_flags(water, every))
    return laid_over(water, basis), found.repeated


def _of_one_well(found: SiteSamples) -> tuple[WaterAnalysis, ...]:
    """Return the other samples of the well that is read, which its verdict has to hold for too.

    Those of other days, none long past, for a well changes, and none of a few readings alone.
    """
    if any(flag.code == UNNAMED for flag in found.flags):
        return ()
    days = [(one, day) for one in found.repeated if (day := _days(one)) is not None]
    last = max((day for _, day in days), default=0)
    late = (one for one, day in days if last - day <= OLD_DAYS)
    return tuple(one for one in late if _as_full(found.chosen, one))


def _as_full(water: WaterAnalysis, other: WaterAnalysis) -> bool:
    """Tell whether another analysis holds most of what one does; a few readings judge no scale."""
    one, two = ({*w.mg_l, *w.below_mg_l} for w in (water, other))
    return len(one & two) >= MOST * len(one) and (water.ph is None or other.ph is not None)


def _days(water: WaterAnalysis) -> int | None:
    """Return the day of a sample as a number that tells days apart; None without a date."""
    year, month, day = max(day_in(water.date), day_in(water.sample))
    return None if not year else 365 * year + 30 * month + day


def design_water(
    waters: Sequence[WaterAnalysis],
    mode: DesignWater = "severe sample",
    percent: float = DEFAULT_PERCENTILE,
) -> WaterAnalysis:
    """Return the water to design for, and say how it was chosen.

    Parameters
    ----------
    waters : sequence of WaterAnalysis
        Samples of one site. [-]
    mode : {"sample", "severe sample", "envelope", "percentile"}
        The first sample; the real sample whose severity stands at the percentile; each analyte
        at its highest; or each analyte at its own percentile. [-]
    percent : float
        The percentile. [%]

    Returns
    -------
    WaterAnalysis
        The water, with a flag that explains the choice. [-]

    Raises
    ------
    AnalysisError
        If there are no samples, or the percentile is outside 0 to 100.
    """
    if not waters:
        raise AnalysisError("there is no sample to design for")
    if mode == "sample":
        return waters[0]
    if len(waters) == 1:
        text = (
            f"the design water is to be '{mode}' of several samples, but the report holds one "
            f"of this site, '{waters[0].sample}': it is designed for as it stands"
        )
        return waters[0].with_flags(Flag("one_sample_only", "caution", text))
    if mode == "severe sample":
        return _severe(waters, percent)
    return _envelope(waters, WORST if mode == "envelope" else percent)


def _severe(waters: Sequence[WaterAnalysis], percent: float) -> WaterAnalysis:
    scores = severity(waters)
    wanted = percentile(scores, percent)
    chosen = min(
        range(len(waters)), key=lambda n: (scores[n] < wanted - ROUNDING, abs(scores[n] - wanted))
    )
    text = (
        f"of {len(waters)} samples '{waters[chosen].sample}' is designed for: a real analysis, "
        f"the mildest that is at least as severe as {percent:g} % of them (scaling products, "
        "hardness, silica, iron and manganese)"
    )
    return waters[chosen].with_flags(Flag("design_sample", "info", text))


def _envelope(waters: Sequence[WaterAnalysis], percent: float) -> WaterAnalysis:
    found = {one.key: one for one in ranges(waters, percent)}
    mg_l, below = _ions(waters, found)
    alkalinity, ph = found.get("alkalinity_mg_l_caco3"), found.get("ph")
    if alkalinity is not None and "co3" not in mg_l:
        mg_l["hco3"] = alkalinity.percentile * HCO3_PER_CACO3
    temperature = found.get("temperature_c")
    fullest = max(waters, key=lambda water: len(water.mg_l))
    return replace(
        fullest,
        sample=f"{_name(percent)} of {len(waters)} samples",
        ph=ph.percentile if ph else None,
        temperature_c=temperature.median if temperature else None,
        alkalinity_mg_l_caco3=alkalinity.percentile if alkalinity else None,
        mg_l=MappingProxyType(mg_l),
        below_mg_l=MappingProxyType(below),
        total_mg_l=_fraction([water.total_mg_l for water in waters], percent),
        dissolved_mg_l=_fraction([water.dissolved_mg_l for water in waters], percent),
        properties=_properties(found, seen=True),
        below_properties=_properties(found, seen=False),
        readings=_trail(waters),
        flags=(Flag("design_envelope", "caution", _explained(waters, percent)), *_flags(waters)),
        date=_dates(waters),
        others=tuple(line for water in waters for line in water.others),
    )


def _name(percent: float) -> str:
    return "envelope" if percent == WORST else f"{percent:g} % percentile"


def _explained(waters: Sequence[WaterAnalysis], percent: float) -> str:
    worst = percent == WORST
    each = "its highest" if worst else f"its own {percent:g} % percentile"
    severer = (
        "severer than any real sample" if worst else "severer than most real samples, not than all"
    )
    return (
        f"the design water is no water that was ever sampled: of {len(waters)} samples each "
        f"analyte stands at {each} (a non-detect at its limit), pH too, temperature at the "
        f"median. Such a water is {severer}; its highest values need not meet in one day, its "
        "ion balance, conductivity and dissolved solids need not close"
    )


def _ions(
    waters: Sequence[WaterAnalysis], found: Mapping[str, SampleRange]
) -> tuple[dict[str, float], dict[str, float | None]]:
    """Return each ion at its percentile, and those never detected with their limit."""
    mg_l = {k: found[k].percentile for k in analytes() if k in found and found[k].detected}
    below: dict[str, float | None] = {
        k: found[k].percentile for k in analytes() if k in found and not found[k].detected
    }
    for key in analytes():
        if key not in found and any(key in water.below_mg_l for water in waters):
            below[key] = None
    return mg_l, below


def _properties(found: Mapping[str, SampleRange], *, seen: bool) -> Mapping[str, float]:
    """Return what is not an ion at its percentile: what was detected, or what never was."""
    others = {k: r for k, r in found.items() if k not in {*analytes(), *_OWN_FIELDS}}
    return MappingProxyType(
        {k: r.percentile for k, r in others.items() if bool(r.detected) == seen}
    )


def _fraction(each: list[Mapping[str, float]], percent: float) -> Mapping[str, float]:
    found = {}
    for key in analytes():
        values = [of[key] for of in each if key in of]
        if values:
            found[key] = percentile(values, percent)
    return MappingProxyType(found)


def _trail(waters: Sequence[WaterAnalysis]) -> tuple[Reading, ...]:
    """Return the readings of all samples, each with the name of its sample."""
    return tuple(
        replace(r, note="; ".join(part for part in (f"sample {water.sample}", r.note) if part))
        for water in waters
        for r in water.readings
    )


def _flags(waters: Sequence[WaterAnalysis]) -> tuple[Flag, ...]:
    """Return what was flagged on reading the samples, each code and figure once."""
    first: dict[tuple[str, str | None], Flag] = {}
    count: dict[tuple[str, str | None], int] = {}
    for water in waters:
        for key in dict.fromkeys((flag.code, flag.figure) for flag in water.flags):
            count[key] = count.get(key, 0) + 1
        for flag in water.flags:
            first.setdefault((flag.code, flag.figure), flag)
    return tuple(
        flag
        if count[key] == 1
        else replace(flag, text=f"{flag.text} (and {count[key] - 1} more samples likewise)")
        for key, flag in first.items()
        if flag.code not in {"non_detect", "several_samples"}
    )


def _dates(waters: Sequence[WaterAnalysis]) -> str:
    dates = [water.date for water in waters if water.date]
    return "" if not dates else f"{dates[0]} to {dates[-1]}" if len(dates) > 1 else dates[0]
