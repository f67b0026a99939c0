"""Several analyses of one site: the range of each analyte."""

from collections.abc import Sequence

from pretreat.core.basis import Figure, Flag, Series
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge.quality import WARN_BALANCE_PCT, judge, whole_balance_pct
from pretreat.lab.named import name_and_unit
from pretreat.lab.samples.ranges import SampleRange, ranges
from pretreat.site.design import WaterBasis

SHOWN_SAMPLES = 4
_ENDINGS = ("_mg_l_caco3", "_mg_l", "_us_cm", "_ntu", "_mv", "_c")
_MEANINGS = (
    ("min", "lowest"),
    ("median", "median"),
    ("max", "highest"),
    ("percentile", "percentile"),
)


def enter_ranges(ledger: Ledger, waters: Sequence[WaterAnalysis], basis: WaterBasis) -> None:
    """Enter minimum, median, maximum and percentile of every analyte over the samples.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    waters : sequence of WaterAnalysis
        Repeated analyses of one site; one alone has no range. [-]
    basis : WaterBasis
        For the percentile. [-]
    """
    if len(waters) < 2:
        return
    ledger.put(
        "samples.count",
        float(len(waters)),
        "-",
        "Analyses of this site in the report",
        origin="measured",
        evidence="read on site",
        method="counted",
    )
    ledger.put(
        "samples.percentile",
        basis.percentile,
        "%",
        "Percentile shown for each analyte",
        origin="chosen" if basis.percentile != WaterBasis().percentile else "assumed",
        evidence="common practice",
        cites=("PRACTICE",),
    )
    _flag_unsound(ledger, waters)
    found = ranges(waters, basis.percentile)
    for one in found:
        _enter_range(ledger, one)
    ledger.table(
        Series(
            "samples.ranges",
            f"Range of {len(waters)} analyses of this site",
            (
                "analyte",
                "unit",
                "min",
                "median",
                "max",
                "percentile",
                "results",
                "detected",
                "lowest_in",
                "highest_in",
            ),
            ("-", "-", *("as named",) * 4, "-", "-", "-", "-"),
            tuple(_row(one) for one in found),
            method="a non-detect counts at its limit; percentile by linear interpolation",
            headings=(
                "Analyte",
                "Unit",
                "Lowest",
                "Median",
                "Highest",
                f"{basis.percentile:g} %",
                "Results",
                "Detected",
                "Lowest in",
                "Highest in",
            ),
        )
    )


def _flag_unsound(ledger: Ledger, waters: Sequence[WaterAnalysis]) -> None:
    """Flag the samples whose ions do not close: their ends of the ranges prove nothing."""
    unsound: list[str] = []
    for water in waters:
        balance = whole_balance_pct(water)
        if balance is None or abs(balance) <= WARN_BALANCE_PCT:
            continue
        culprits = judge(water).culprits[:1] if len(unsound) < SHOWN_SAMPLES else ()
        text = "".join(f", likely: {culprit}" for culprit in culprits)
        unsound.append(f"{water.sample} (ion balance {balance:+.1f} %{text})")
    if unsound:
        more = len(unsound) - SHOWN_SAMPLES
        named = "; ".join(unsound[:SHOWN_SAMPLES]) + (f" and {more} more" if more > 0 else "")
        ledger.flag(
            Flag(
                "samples_unbalanced",
                "warning",
                f"{len(unsound)} of {len(waters)} analyses of this site do not close: {named}. "
                "Ask the lab before their lowest or highest results are designed for",
                "samples.count",
            )
        )


def _label(key: str) -> str:
    if key in analytes():
        return analytes()[key].name.capitalize()
    named = {
        "ph": "pH",
        "temperature_c": "Temperature",
        "tds_mg_l": "Dissolved solids as reported",
        "hardness_mg_l_caco3": "Hardness as printed",
    }
    name = name_and_unit(key)[0].removesuffix(" as CaCO3")
    return named.get(key, f"{name[:1].upper()}{name[1:]}")


def _parts(key: str) -> tuple[str, str]:
    """Return the stem and the unit suffix of a key, so that the kind stands between them."""
    if key in analytes():
        return key, "_mg_l"
    ending = next((e for e in _ENDINGS if key.endswith(e) and key != e[1:]), "")
    return key.removesuffix(ending), ending


def _enter_range(ledger: Ledger, one: SampleRange) -> None:
    stem, suffix = _parts(one.key)
    values = (one.minimum, one.median, one.maximum, one.percentile)
    for (kind, word), value in zip(_MEANINGS, values, strict=True):
        hidden = not one.detected or (kind == "min" and not one.floor_detected)
        key = f"samples.{stem}_{kind}{suffix}"
        ledger.add(
            Figure(
                key,
                None if hidden else value,
                one.unit,
                f"{_label(one.key)}, {word} of {one.count}",
                method="over the analyses of this site; a non-detect counts at its limit",
                below=value if hidden else None,
            )
        )
        share = ("samples.percentile",) if kind == "percentile" else ()
        ledger.rests(key, "samples.count", *share)


def _row(one: SampleRange) -> tuple[float | str | None, ...]:
    def shown(value: float, *, seen: bool) -> float | str:
        return value if seen else f"< {value:.4g}"

    any_seen = one.detected > 0
    return (
        _label(one.key),
        one.unit,
        shown(one.minimum, seen=any_seen and one.floor_detected),
        shown(one.median, seen=any_seen),
        shown(one.maximum, seen=any_seen),
        shown(one.percentile, seen=any_seen),
        float(one.count),
        float(one.detected),
        one.lowest,
        one.highest,
    )
