"""Iron, manganese, aluminium, magnesium: what sets no limit and must be seen to all the same."""

import math
from functools import lru_cache
from typing import Any

import numpy as np

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes, rows
from pretreat.core.undetected import up_to
from pretreat.membrane.bands import Limits
from pretreat.membrane.concentrate import Concentrate
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.limits import MembranePoint, of_which
from pretreat.membrane.recovery import NONE, Reach, recovery_limit

CARBONATES = {
    "siderite": ("ferrous carbonate (siderite)", "fe"),
    "rhodochrosite": ("manganese carbonate (rhodochrosite)", "mn"),
}
BESIDE_SILICA = ("fe", "al")


HIGH_PH = (
    ", and no limit of it or dose of inhibitor against it is computed: acid, softening or less "
    "recovery, or the word of the inhibitor's supplier for this water (common practice)"
)


@lru_cache(maxsize=1)
def thresholds() -> dict[str, float]:
    """Return the numbers of data/indicative_limits.csv.

    Returns
    -------
    dict of str to float
        SI of a phase, or concentration of a metal. [- or mg/L]
    """
    return {row["key"]: float(row["value"]) for row in rows("indicative_limits.csv")}


def recovery_at_si(feed: FeedWater, point: MembranePoint, mineral: str, si: float) -> float:
    """Return the recovery at which a mineral that sets no limit reaches an SI.

    Parameters
    ----------
    feed : FeedWater
        A single water. [-]
    point : MembranePoint
        The design point; its passage and recycle are used. [-]
    mineral : str
        Key of data/minerals.csv. [-]
    si : float
        The index. [-]

    Returns
    -------
    float
        Recovery, 0 where the feed is over it, 0.95 where nothing reaches it. [-]
    """
    alone = Limits(math.inf, math.inf, {mineral: si})
    return float(recovery_limit(feed, alone, point.passage, point.rho).maximum)


def enter_metals(
    ledger: Ledger,
    feed: FeedWater,
    brine: Concentrate,
    point: MembranePoint,
    reach: tuple[Reach, Reach],
    prefix: str = "",
) -> None:
    """Flag the carbonates of iron and manganese, magnesium silicate, and metals beside silica.

    Parameters
    ----------
    ledger : Ledger
        Where the flags go. [-]
    feed : FeedWater
        A single feed. [-]
    brine : Concentrate
        Its concentrate at the design point. [-]
    point : MembranePoint
        The design point. [-]
    reach : tuple of Reach
        How far the water goes without an inhibitor and with one. [-]
    prefix : str
        Put before every key. [-]
    """
    for mineral, (name, metal) in CARBONATES.items():
        si, limit = _f(brine.speciation.si(mineral)), thresholds()[mineral]
        if si > limit:
            at = recovery_at_si(feed, point, mineral, limit)
            ledger.flag(
                Flag(
                    "metal_carbonate",
                    "caution",
                    f"{name}: SI {si:+.2f} in the concentrate"
                    f"{of_which(prefix)} if it stays dissolved so far, with "
                    f"{_amount(ledger, metal, feed)} of {analytes()[metal].name}, above "
                    f"{limit:g} from a recovery of {at:.2f} up; it forms slowly at well "
                    "temperatures and sets no limit; where air reaches the metal, its "
                    "hydroxide is the greater danger",
                    f"{prefix}scaling.si_{mineral}",
                )
            )
    si = _f(brine.speciation.si("sepiolite_d"))
    if si > thresholds()["sepiolite_d"]:
        high = _f(brine.ph) >= thresholds()["sepiolite_ph"]
        ledger.flag(
            Flag(
                "magnesium_silicate",
                "caution" if high else "info",
                f"magnesium silicate: SI {si:+.2f} at pH {_f(brine.ph):.2f}"
                f"{of_which(prefix)}; indicative, silica with magnesium is less soluble "
                f"at such a pH than silica alone{HIGH_PH if high else ''}",
                f"{prefix}scaling.si_sepiolite_d",
            )
        )
    _flag_beside_silica(ledger, feed, point, reach, prefix)


def _flag_beside_silica(
    ledger: Ledger,
    feed: FeedWater,
    point: MembranePoint,
    reach: tuple[Reach, Reach],
    prefix: str,
) -> None:
    """Say how far silica goes without a dispersant where iron or aluminium spoils one.

    A caution where the design relies on the dispersant, else a remark.
    """
    plain, inhibited = reach
    least = thresholds()["silica_metal_mg_l"]
    found = [(k, _f(feed.mg_l[k])) for k in BESIDE_SILICA if k in feed.mg_l]
    over = [
        f"{analytes()[k].name} {_amount(ledger, k, feed, least)}" for k, v in found if v > least
    ]
    alone = plain.alone["silica"]
    if not over or math.isnan(alone) or inhibited.limited_by in {"", NONE}:
        return
    if inhibited.maximum > alone:
        ledger.flag(
            Flag(
                "silica_metals",
                "caution" if point.recovery > alone else "info",
                f"{' and '.join(over)}{of_which(prefix)}: the limit of silica with a "
                f"dispersant holds below {least:g} mg/L of iron and of aluminium only; "
                f"without it silica stops at a recovery of {alone:.2f}",
                f"{prefix}recovery.max_inhibited",
            )
        )


def _amount(ledger: Ledger, key: str, feed: FeedWater, least: float = 0.0) -> str:
    """Return a metal of the feed in words, at the most where none was found."""
    amount = _f(feed.mg_l[key])
    most = up_to(ledger, (key,), amount, least)
    return f"{amount:.3g} mg/L" if most is None else f"up to {most:.3g} mg/L"


def _f(value: Any) -> float:
    return float(np.asarray(value))
