"""How far recovery may go: the limits in force, the maximum recovery, each scale by itself."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.indexes import LSI_TDS_LIMIT_MG_L
from pretreat.core.basis import Flag, Series
from pretreat.core.results import Ledger
from pretreat.core.tables import rows
from pretreat.membrane.bands import Column, Limits, default_limits, limit_bands
from pretreat.membrane.concentrate import Concentrate, Passage
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.phosphate import most_phosphate_mg_l, phosphate_that_limits_mg_l
from pretreat.membrane.recovery import Reach, reaches
from pretreat.membrane.rests import feed_keys
from pretreat.site.design import LimitChoices, LimitSet

USUAL_SALT_DOSE_G_L = 160.0  # the ladder's third rung, 10 lb/ft3
USUAL_RESERVE = 0.2  # PRACTICE
PHOSPHATE = "calcium_phosphate"
NEEDED = {
    "calcite": ("ca",),
    "gypsum": ("ca", "so4"),
    "barite": ("ba", "so4"),
    "celestite": ("sr", "so4"),
    "fluorite": ("ca", "f"),
    "silica": ("sio2",),
    PHOSPHATE: ("ca", "po4"),
}


class MembranePoint(Struct, frozen=True):
    """What the membranes do with a feed at the design point."""

    recovery: float
    passage: Passage
    rho: float = 0.0
    wall_factor: float = 1.0
    recovery_range: tuple[float, float] | None = None  # what the valves of the machine allow
    salt_dose_g_l: float = USUAL_SALT_DOSE_G_L  # of a softener thought ahead of it
    reserve: float = USUAL_RESERVE

    @property
    def membrane(self) -> tuple[Passage, float, float]:
        """Passage, recycle share and wall factor, as the membrane functions take them."""
        return self.passage, self.rho, self.wall_factor


def limits_from(choices: LimitChoices, inhibitor: bool, column: Column = "likely") -> Limits:
    """Return the limits in force: the user's own where given, else a column of the defaults.

    A limit chosen by itself holds for the way of working that was chosen; where it is the
    higher one it holds with an inhibitor too, for an inhibitor never lowers a limit.

    Parameters
    ----------
    choices : LimitChoices
        The user's choices. [-]
    inhibitor : bool
        Defaults with an inhibitor, or without. [-]
    column : {"low", "likely", "high"}
        Which of the band of each default; an own limit is the same in all three. [-]

    Returns
    -------
    Limits
        The limits. [-]
    """
    base = default_limits(inhibitor, column, choices.inhibitor_kind)
    limits = {"lsi": base.lsi, "sdsi": base.sdsi, **base.si}
    limits |= _own(choices.file_with if inhibitor else choices.file_without)
    single = LimitSet(choices.lsi, choices.sdsi, choices.percent_of_saturation)
    for key, value in _own(single).items():
        if inhibitor == choices.inhibitor:
            limits[key] = value
        elif inhibitor:
            limits[key] = max(limits[key], value)
    lsi, sdsi = limits.pop("lsi"), limits.pop("sdsi")
    return Limits(lsi, sdsi, limits, choices.k_chart)


def _own(limits: LimitSet) -> dict[str, float]:
    """Return the limits that are set, as indexes; LSI stands for S&DSI where that is not set."""
    found = {k: math.log10(v / 100.0) for k, v in limits.percent_of_saturation.items()}
    index = found.pop("calcite", None)
    lsi = limits.lsi if limits.lsi is not None else index
    sdsi = limits.sdsi if limits.sdsi is not None else lsi
    named = {"lsi": lsi, "sdsi": sdsi}
    return found | {k: v for k, v in named.items() if v is not None}


def _f(value: Any) -> float:
    return float(np.asarray(value))


def of_which(prefix: str) -> str:
    """Return the words that tell the raw water's figures from those of the treated water."""
    return ", raw water" if prefix else ""


def enter_limits(
    ledger: Ledger,
    feed: FeedWater,
    brine: Concentrate,
    point: MembranePoint,
    choices: LimitChoices,
    prefix: str,
) -> tuple[Reach, Reach]:
    """Enter the maximum recovery, what limits it, and each scale against its limit.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    feed : FeedWater
        A single feed. [-]
    brine : Concentrate
        Its concentrate at the design point. [-]
    point : MembranePoint
        The design point. [-]
    choices : LimitChoices
        Limits chosen by the user. [-]
    prefix : str
        Put before every key. [-]

    Returns
    -------
    tuple of Reach
        How far recovery may go without an inhibitor and with one. [-]
    """
    both = limits_from(choices, False), limits_from(choices, True)
    ends = limits_from(choices, True, "low"), limits_from(choices, True, "high")
    *reach, low, high = reaches(feed, (*both, *ends), point.passage, point.rho, point.wall_factor)
    now, treated = reach[choices.inhibitor], reach[1]
    for one, force, suffix in (
        (now, both[choices.inhibitor], ""),
        (treated, both[1], "_inhibited"),
    ):
        missing = [k for k in NEEDED if math.isnan(one.alone[k])]
        if PHOSPHATE in missing and _phosphate_is_no_limit(
            ledger, feed, (one, force), point, prefix
        ):
            missing.remove(PHOSPHATE)
        word = " with inhibitor" if prefix and choices.inhibitor and not suffix else ""
        _enter_maximum(ledger, one, missing, prefix, (suffix, word))
    if prefix and choices.inhibitor:
        _enter_bare(ledger, reach[0], prefix)
    _enter_band(ledger, low, high, prefix)
    alone = now.alone, treated.alone
    _enter_limit_table(ledger, brine, (choices, point.recovery), alone, prefix)
    return reach[0], reach[1]


def _phosphate_is_no_limit(
    ledger: Ledger,
    feed: FeedWater,
    limit: tuple[Reach, Limits],
    point: MembranePoint,
    prefix: str,
) -> bool:
    """Tell whether phosphate, not measured, would have to be more than well waters hold.

    Where it need not be, say how much would do at the maximum recovery.
    """
    reach, force = limit
    if "po4" in feed.mg_l or not math.isfinite(reach.maximum):
        return False
    enough = phosphate_that_limits_mg_l(feed, reach.maximum, force, point.membrane)
    if math.isnan(enough):  # no calcium, which is said elsewhere
        return False
    if enough > most_phosphate_mg_l() or reach.maximum == 0.0:  # nothing lowers a limit of 0
        return True
    ledger.flag(
        Flag(
            "phosphate_not_measured",
            "info",
            f"phosphate was not measured: from {enough:.2g} mg/L of PO4 in the feed up "
            f"calcium phosphate would stop a recovery of {reach.maximum:.2f}"
            f"{of_which(prefix)}",
            f"{prefix}recovery.max",
        )
    )
    return False


def _enter_band(ledger: Ledger, low: Reach, high: Reach, prefix: str) -> None:
    for reach, word in ((low, "low"), (high, "high")):
        ledger.put(
            f"{prefix}recovery.max_inhibited_{word}",
            reach.maximum,
            "-",
            f"Maximum recovery with inhibitor, {word} limits{of_which(prefix)}",
            method=f"first crossing of the {word} end of a band; stopped by {reach.limited_by}",
            cites=("PRACTICE",),
            evidence="common practice",
        )
        inputs = feed_keys(ledger, treated=not prefix)
        ledger.rests(f"{prefix}recovery.max_inhibited_{word}", *inputs)


def _enter_bare(ledger: Ledger, bare: Reach, prefix: str) -> None:
    """Enter the raw water without an inhibitor, where the limits in force are those with one."""
    for name, value, label in (
        ("max_bare", bare.maximum, "Maximum recovery"),
        ("limited_by_bare", bare.limited_by or None, "Limited by"),
    ):
        key = f"{prefix}recovery.{name}"
        ledger.put(
            key,
            value,
            "-",
            f"{label}{of_which(prefix)} without inhibitor",
            method="first crossing of a limit, counted from zero",
            cites=("D3739", "D4692"),
        )
        ledger.rests(key, *feed_keys(ledger, treated=not prefix))


def _enter_maximum(
    ledger: Ledger, limit: Reach, missing: list[str], prefix: str, kind: tuple[str, str]
) -> None:
    """Enter one maximum recovery; ``kind`` is the end of its key, and words behind its name."""
    suffix, behind = kind
    maximum, by = limit.maximum, limit.limited_by
    key = f"{prefix}recovery.max{suffix}"
    word = " with inhibitor" if suffix else ""
    most = "at most, " if missing else ""
    ledger.put(
        key,
        maximum,
        "-",
        f"Maximum recovery{word}{of_which(prefix)}{behind}",
        method=f"{most}first crossing of a limit, counted from zero",
        cites=("PRACTICE",) if suffix else ("D3739", "D4692"),
        evidence="common practice" if suffix else "computed",
    )
    ledger.put(
        f"{prefix}recovery.limited_by{suffix}",
        by or None,
        "-",
        f"Limited{word} by{of_which(prefix)}{behind}",
        method="the scale that reaches its limit first",
    )
    for one in (key, f"{prefix}recovery.limited_by{suffix}"):
        ledger.rests(one, *feed_keys(ledger, treated=not prefix))
    if not by:
        ledger.flag(
            Flag(
                "not_computable",
                "caution",
                "no scale could be judged, so none is named as the one that limits",
                f"{prefix}recovery.limited_by{suffix}",
            )
        )
    if missing:
        ledger.flag(
            Flag(
                "not_measured",
                "caution",
                f"maximum recovery holds at most: {', '.join(map(_in_words, missing))} could "
                "not be judged because an ion was not measured",
                key,
            )
        )
    if limit.supersaturated:
        ledger.flag(
            Flag(
                "supersaturated_feed",
                "warning" if suffix else "caution",
                f"the {'raw water' if prefix else 'feed'} itself is already over the "
                f"limit of {by}{word}; no recovery keeps within it without treatment",
                key,
            )
        )
    if limit.at_step:
        ledger.flag(
            Flag(
                "limit_at_index_step",
                "info",
                "the limit falls where the index changes from LSI to S&DSI at "
                f"{LSI_TDS_LIMIT_MG_L:,.0f} mg/L of dissolved solids",
                key,
            )
        )


def _limit_origin(choices: LimitChoices, criterion: str) -> str:
    own = criterion in choices.percent_of_saturation
    if criterion == "calcite":
        own = own or choices.lsi is not None or choices.sdsi is not None
    if own:
        return "chosen in the site file"
    file = choices.file_with if choices.inhibitor else choices.file_without
    index_set = file.lsi is not None or file.sdsi is not None
    if criterion in file.percent_of_saturation or (criterion == "calcite" and index_set):
        return choices.origins[criterion]
    if choices.inhibitor:
        return "common practice, no source; ask the supplier for his figure"
    return "saturation, no inhibitor"


def shown(limits: Limits, key: str, above: bool) -> float:
    """Return a limit as it is shown: an index, or percent of saturation.

    Parameters
    ----------
    limits : Limits
        The limits in force. [-]
    key : str
        The scale. [-]
    above : bool
        Dissolved solids are above the step from LSI to S&DSI. [-]

    Returns
    -------
    float
        LSI or S&DSI of calcite [-], of the others [% of saturation].
    """
    if key == "calcite":
        return float(limits.sdsi if above else limits.lsi)
    return float(100.0 * 10.0 ** limits.si[key])


def _enter_limit_table(
    ledger: Ledger,
    brine: Concentrate,
    chosen: tuple[LimitChoices, float],
    recoveries: tuple[Mapping[str, float], Mapping[str, float]],
    prefix: str,
) -> None:
    choices, recovery = chosen
    bands = limit_bands(choices.inhibitor, choices.inhibitor_kind)
    limits, low, high = (
        limits_from(choices, choices.inhibitor, c) for c in ("likely", "low", "high")
    )
    above = bool(np.asarray(brine.tds_mg_l > LSI_TDS_LIMIT_MG_L))
    table: list[tuple[str | float | None, ...]] = []
    for key in limits.criteria():
        unit = "% of saturation"
        if key == "calcite":
            now = _f(brine.any_sdsi(limits.k_chart) if above else brine.any_lsi())
            unit = "S&DSI" if above else "LSI"
        else:
            now = 100.0 * 10.0 ** _f(brine.speciation.si(key))
        limit, least, most = (shown(each, key, above) for each in (limits, low, high))
        judged = "within" if now <= limit else "over"
        verdict = "not measured" if math.isnan(now) else judged
        left = recoveries[0][key] - recovery
        table.append(
            (
                key,
                bands[key].name,
                unit,
                now,
                limit,
                verdict,
                recoveries[0][key],
                left,
                recoveries[1][key],
                _limit_origin(choices, key),
                least,
                most,
            )
        )
    ledger.table(
        Series(
            f"{prefix}scaling.limits",
            f"Scales against their limits at the design recovery{of_which(prefix)}",
            (
                "scale",
                "name",
                "measure",
                "now",
                "limit",
                "verdict",
                "recovery",
                "recovery_left",
                "recovery_inhibited",
                "origin",
                "limit_low",
                "limit_high",
            ),
            (
                "-",
                "-",
                "-",
                "as named",
                "as named",
                "-",
                "-",
                "-",
                "-",
                "-",
                "as named",
                "as named",
            ),
            tuple(table),
            method="recovery at which each scale alone reaches its limit; what is left is "
            "that less the design recovery",
            cites=("D3739", "D4692", "PRACTICE"),
            headings=(
                "Scale",
                "Name",
                "Measure",
                "Now",
                "Limit",
                "Verdict",
                "Recovery at limit",
                "Recovery left",
                "with inhibitor",
                "Where the limit comes from",
                "Low end",
                "High end",
            ),
        )
    )


def _in_words(scale: str) -> str:
    """Return a scale as people name it, without the index that measures it."""
    named = {row["criterion"]: row["name"] for row in rows("limits.csv")}
    return named.get(scale, scale.replace("_", " ")).partition(" (LSI")[0]
