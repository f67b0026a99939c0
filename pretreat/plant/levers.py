"""What lifts the limit: inhibitor, acid, softening and blending, each with what it costs."""

import math
from collections.abc import Callable, Mapping

import numpy as np
from msgspec import Struct

from pretreat.chemistry.species import Array
from pretreat.core.basis import Flag, Series
from pretreat.core.equivalents import equivalent_hardness_mg_l_caco3
from pretreat.core.results import Ledger
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass
from pretreat.membrane.acid import HYDROCHLORIC, SULFURIC, Acid, AcidDose, dose_for_index
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import FeedWater, exchanged
from pretreat.membrane.limits import MembranePoint, limits_from, of_which
from pretreat.membrane.recovery import CAP, Limits, Reach, excesses, recovery_limit
from pretreat.membrane.rests import feed_keys
from pretreat.site.design import LimitChoices
from pretreat.stages.softener.laws import sodium_added_mg_l
from pretreat.stages.softener.resin import (
    capacity_table,
    leakage_mg_l_caco3,
    operating_capacity_g_l,
    resin_hardness_left,
)

HARDNESS_IONS = ("ca", "mg", "sr", "ba")
STATIONS = 28  # recoveries looked at for acid, 0.035 apart
INHIBITOR_COST = "2 to 5 mg/L of feed (common practice); ask the supplier for this water"
BLENDS = 41  # shares of raw water looked at
G_PER_KG = 1000.0
TEN = 10.0
AND = " and inhibitor"
PERCENT = 100.0
CLOSE = 1e-6  # of a percent: a recovery that is whole but for rounding


class Lever(Struct, frozen=True):
    """One way to reach a higher recovery, and what it takes at the design recovery."""

    name: str
    maximum: float
    limited_by: str
    at_design: str  # what it takes at the design recovery
    cost: str  # what it uses, and what to mind


def enter_levers(
    ledger: Ledger,
    feed: FeedWater,
    point: MembranePoint,
    choices: LimitChoices,
    reach: tuple[Reach, Reach],
    prefix: str = "",
) -> None:
    """Enter the table of what lifts the limit of a water.

    Parameters
    ----------
    ledger : Ledger
        Where the table goes. [-]
    feed : FeedWater
        A single feed. [-]
    point : MembranePoint
        The design point. [-]
    choices : LimitChoices
        Limits chosen by the user. [-]
    reach : tuple of Reach
        How far the water goes without an inhibitor and with one. [-]
    prefix : str
        Put before the key. [-]
    """
    plain, inhibited = limits_from(choices, False), limits_from(choices, True)
    levers = [
        _as_found("as it is", reach[0], point, "nothing"),
        _as_found("scale inhibitor", reach[1], point, INHIBITOR_COST),
    ]
    if feed.alkalinity_mg_l_caco3 > 0:
        acids, doses = _acids(feed, point, plain, inhibited)
        levers += acids
        _enter_doses(ledger, doses, prefix)
    if {"ca", "mg"} <= set(feed.mg_l):
        soft = _softened(feed, point.salt_dose_g_l)
        levers += _softeners(feed, soft, point, (plain, inhibited))
    _enter_table(ledger, levers, point, prefix)


def _as_found(name: str, reach: Reach, point: MembranePoint, cost: str) -> Lever:
    verdict = _verdict(reach.maximum, point)
    return Lever(name, reach.maximum, reach.limited_by, verdict, cost)


def _verdict(maximum: float, point: MembranePoint) -> str:
    return "enough" if maximum >= point.recovery else "not enough"


def _acids(
    feed: FeedWater, point: MembranePoint, plain: Limits, inhibited: Limits
) -> tuple[list[Lever], dict[Acid, float]]:
    """Hold the carbonate index at its limit by acid; the other scales stop the rise.

    All acids, limits and recoveries are one batch; the design recovery comes last in each.
    """
    cases = (
        (SULFURIC, plain, ""),
        (HYDROCHLORIC, plain, ""),
        (SULFURIC, inhibited, AND),
        (HYDROCHLORIC, inhibited, AND),
    )
    stations = np.append(np.linspace(0.0, CAP, STATIONS), point.recovery)
    n = len(stations)

    def spread(pick: Callable[[Limits], float]) -> Array:
        return np.repeat(np.array([pick(limits) for _, limits, _ in cases]), n)

    every = Limits(
        spread(lambda x: x.lsi),
        spread(lambda x: x.sdsi),
        {k: spread(lambda x, k=k: x.si[k]) for k in plain.si},  # type: ignore[misc]
        plain.k_chart,
    )
    acids = [acid for acid, _, _ in cases for _ in range(n)]
    recovery = np.tile(stations, len(cases))
    dosed = dose_for_index(feed, acids, recovery, every, point.membrane)
    worst, names = _worst(dosed)
    levers, doses = [], {}
    for i, (acid, _, more) in enumerate(cases):
        part = slice(i * n, i * n + n - 1)
        maximum, by = _crossing(stations[:-1], worst[part], names[part])
        last = i * n + n - 1
        levers.append(_acid_lever(acid, more, (maximum, by), dosed, last, point))
        if not more:
            doses[acid] = float(dosed.dose_mg_l[last]) if dosed.enough[last] else math.nan
    return levers, doses


def _enter_doses(ledger: Ledger, doses: Mapping[Acid, float], prefix: str) -> None:
    for acid, dose in doses.items():
        key = f"{prefix}recovery.{acid.name.replace(' ', '_')}_mg_l"
        label = f"{acid.name.capitalize()} for the carbonate limit{of_which(prefix)}"
        if math.isnan(dose):
            text = f"{acid.name}: no dose brings the carbonate index to its limit"
            ledger.flag(Flag("no_acid_dose", "caution", text, key))
        ledger.put(
            key,
            None if math.isnan(dose) else dose,
            "mg/L",
            label,
            method="100 % acid in the feed, index at its limit at the design recovery",
            cites=("D3739", "PB82"),
        )
        at = f"{prefix}concentrate.recovery"
        ledger.rests(key, at, *feed_keys(ledger, treated=not prefix))


def _grams(dose: float) -> str:
    """Write a dose so that a small one does not read as none."""
    return f"{dose:.0f}" if dose >= TEN else f"{dose:.2g}"


def _acid_lever(
    acid: Acid,
    more: str,
    reach: tuple[float, str],
    dosed: AcidDose,
    at: int,
    point: MembranePoint,
) -> Lever:
    dose = float(dosed.dose_mg_l[at])
    verdict = _verdict(reach[0], point)
    if not dosed.enough[at]:
        words, cost = "no dose is enough", "-"
    elif dose == 0:
        words, cost = f"no acid needed; {verdict}", "none at the design recovery"
    else:
        words = (
            f"{_grams(dose)} mg/L of 100 % acid, feed pH {float(dosed.feed.ph[at]):.1f}, "
            f"{_grams(acid.anion_per_mg * dose)} mg/L {acid.anion_formula} added; {verdict}"
        )
        cost = (
            f"{_grams(dose)} g per m3 of feed; CO2 passes into the product; handle acid with care"
        )
    return Lever(f"{acid.name}{more}", *reach, words, cost)


def _worst(dosed: AcidDose) -> tuple[Array, Array]:
    """Return the largest excess of the scales other than calcite, and its name."""
    rows = {k: v for k, v in dosed.excesses.items() if k != "calcite"}
    rows["calcite"] = np.where(dosed.enough, -1.0, 1.0)
    names = np.array(list(rows))
    stack = np.stack([np.broadcast_to(v, dosed.dose_mg_l.shape) for v in rows.values()])
    filled = np.where(np.isfinite(stack), stack, -np.inf)
    return filled.max(axis=0), names[filled.argmax(axis=0)]


def _crossing(stations: Array, worst: Array, names: Array) -> tuple[float, str]:
    """Return the first recovery where the excess passes zero, between two stations."""
    over = np.flatnonzero(worst > 0)
    if not over.size:
        return CAP, "none"
    i = int(over[0])
    if i == 0:
        return 0.0, str(names[0])
    low, high = -np.log1p(-stations[i - 1]), -np.log1p(-stations[i])
    share = worst[i - 1] / (worst[i - 1] - worst[i])
    return float(-np.expm1(-(low + (high - low) * share))), str(names[i])


def _softened(feed: FeedWater, dose_g_l: float) -> Mapping[str, float]:
    """Return the ions behind a softener at a salt dose, leakage included."""
    mg_l = {k: float(np.asarray(v)) for k, v in feed.mg_l.items()}
    hardness = equivalent_hardness_mg_l_caco3(mg_l, HARDNESS_IONS)
    monovalent = {"na": "Na", "k": "K", "nh4": "NH4"}
    cations = hardness / CACO3_MG_PER_MEQ + sum(
        mg_l.get(k, 0.0) / molar_mass(f) for k, f in monovalent.items()
    )
    capacity = operating_capacity_g_l(dose_g_l, capacity_table())
    leak = min(leakage_mg_l_caco3(cations / G_PER_KG, resin_hardness_left(capacity)), hardness)
    kept = leak / hardness if hardness > 0.0 else 1.0
    soft = {k: v * kept if k in HARDNESS_IONS else v for k, v in mg_l.items()}
    soft["na"] = soft.get("na", 0.0) + sodium_added_mg_l(hardness - leak)
    return soft


def _mixed(feed: FeedWater, soft: Mapping[str, float], raw_share: Array) -> FeedWater:
    """Return a blend of softened and raw water: alkalinity and inorganic carbon are the raw's."""
    mg_l = {
        k: np.asarray(raw_share) * float(np.asarray(feed.mg_l.get(k, 0.0)))
        + (1.0 - raw_share) * soft[k]
        for k in soft
    }
    return exchanged(feed, mg_l)


def _softeners(
    feed: FeedWater,
    soft: Mapping[str, float],
    point: MembranePoint,
    ways: tuple[Limits, Limits],
) -> list[Lever]:
    """Soften all of the feed, and as little of it as the design recovery allows.

    Without and with an inhibitor, all four waters in one search.
    """
    bypass = _largest_bypasses(feed, soft, point, ways)
    shares = np.nan_to_num(np.array([0.0, bypass[0], 0.0, bypass[1]]))
    each = Limits(
        np.repeat([w.lsi for w in ways], 2),
        np.repeat([w.sdsi for w in ways], 2),
        {k: np.repeat([w.si[k] for w in ways], 2) for k in ways[0].si},
        ways[0].k_chart,
    )
    mixed = _mixed(feed, soft, shares)
    found = recovery_limit(mixed, each, point.passage, point.rho, None, point.wall_factor)
    salt, words = _salt(feed, point)
    levers = []
    for i, more in enumerate(("", AND)):
        whole, part = (float(v) for v in found.maximum[2 * i : 2 * i + 2])
        by = [str(name) for name in found.limited_by[2 * i : 2 * i + 2]]
        cost = f"about {salt:,.0f} {words}; a calendar timer takes more; sodium, brine"
        levers.append(Lever(f"softener{more}", whole, by[0], _verdict(whole, point), cost))
        if 0 < bypass[i] < 1:
            at_design = f"{bypass[i]:.0%} of the feed may bypass".replace("%", " %")
            cost = f"about {salt * (1 - bypass[i]):,.0f} g of salt per m3 of feed"
            levers.append(Lever(f"softener with bypass{more}", part, by[1], at_design, cost))
    return levers


def _salt(feed: FeedWater, point: MembranePoint) -> tuple[float, str]:
    """Return the salt of softening all of the feed, and the words behind the number."""
    hardness = equivalent_hardness_mg_l_caco3(
        {k: float(np.asarray(feed.mg_l.get(k, 0.0))) for k in HARDNESS_IONS}, HARDNESS_IONS
    )
    dose = point.salt_dose_g_l
    capacity = operating_capacity_g_l(dose, capacity_table()) * (1.0 - point.reserve)
    share = f"{point.reserve:.0%}".replace("%", " %")
    words = f"g of salt per m3 of feed at {dose:.3g} g/L and a reserve of {share}"
    return hardness * dose / capacity, words


def _largest_bypasses(
    feed: FeedWater, soft: Mapping[str, float], point: MembranePoint, ways: tuple[Limits, Limits]
) -> list[float]:
    """Return the largest share of raw water that allows the design recovery, NaN for none."""
    shares = np.linspace(0.0, 1.0, BLENDS)
    brine = concentrate(_mixed(feed, soft, shares), point.recovery, *point.membrane)
    found = []
    for limits in ways:
        rows = excesses(brine, limits).values()
        stack = np.stack([np.broadcast_to(v, shares.shape) for v in rows])
        over = np.where(np.isfinite(stack), stack, -np.inf).max(axis=0) > 0
        last = float(shares[np.argmax(over) - 1]) if over.any() else 1.0
        found.append(math.nan if over[0] else last)
    return found


def _in_range(maximum: float, valves: tuple[float, float]) -> str:
    """Say which recovery the machine itself can be set to under a limit of the water."""
    if math.isnan(maximum):
        return "not judged"
    if maximum < valves[0]:
        return "none: below its range"
    reached = math.floor(min(maximum, valves[1]) * PERCENT + CLOSE) / PERCENT
    return f"up to {reached:.0%}".replace("%", " %")


def _enter_table(ledger: Ledger, levers: list[Lever], point: MembranePoint, prefix: str) -> None:
    valves = point.recovery_range
    columns = {
        "lever": ("Lever", [x.name for x in levers]),
        "maximum": ("Maximum recovery", [x.maximum for x in levers]),
        "limited_by": ("Limited by", [x.limited_by for x in levers]),
    }
    if valves is not None:
        span = f"{valves[0]:.0%} to {valves[1]:.0%}".replace("%", " %")
        allowed = [_in_range(x.maximum, valves) for x in levers]
        columns["machine"] = (f"Of the machine's {span}", allowed)
    columns["at_design"] = ("At the design recovery", [x.at_design for x in levers])
    columns["cost"] = ("Uses", [x.cost for x in levers])
    ledger.table(
        Series(
            f"{prefix}recovery.levers",
            f"What lifts the limit{of_which(prefix)}",
            tuple(columns),
            ("-",) * len(columns),
            tuple(zip(*(values for _, values in columns.values()), strict=True)),
            method="maximum recovery with each lever; acid holds the carbonate index at its "
            "limit, the sulfate it brings is judged again",
            cites=("D3739", "D4692", "PRACTICE"),
            headings=tuple(heading for heading, _ in columns.values()),
        )
    )
    enough = [x.name for x in levers if x.maximum >= point.recovery]
    if enough and levers[0].maximum < point.recovery:
        text = f"for {point.recovery:.0%} recovery{of_which(prefix)}: ".replace("%", " %")
        ledger.flag(
            Flag("levers", "info", text + ", ".join(enough) + " would do", f"{prefix}recovery.max")
        )
