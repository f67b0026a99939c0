"""The scaling section: concentrate, indexes, percent saturations and how far recovery may go."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from pretreat.basis import Flag, Series, citations
from pretreat.chemistry.ccpp import ccpp_mg_l
from pretreat.chemistry.composition import meq_l
from pretreat.chemistry.indexes import (
    LSI_TDS_LIMIT_MG_L,
    hand_phs,
    langelier_phs,
    outside_stiff_davis_fit,
    puckorius,
    ryznar,
    stiff_davis,
    stiff_davis_k,
)
from pretreat.chemistry.second_opinion import PHASES, available, second_opinions
from pretreat.chemistry.species import minerals
from pretreat.design import LimitChoices
from pretreat.membrane.concentrate import Concentrate, FeedWater, Passage, concentrate
from pretreat.membrane.recovery import (
    Limits,
    RecoveryLimit,
    default_limits,
    recovery_limit,
    scale_limits,
)
from pretreat.results import Ledger
from pretreat.tables import analytes, rows
from pretreat.units import CACO3_MG_PER_MEQ, molar_mass

SWEEP = tuple(round(0.05 * i, 2) for i in range(20))  # 0 to 0.95
STRONG = 0.2  # mol/kg: above it the Pitzer value is the one to believe for the sulfates
NEEDED = {"calcite": ("ca",), "gypsum": ("ca", "so4"), "barite": ("ba", "so4"),
          "celestite": ("sr", "so4"), "fluorite": ("ca", "f"), "silica": ("sio2",)}  # fmt: skip


@dataclass(frozen=True, slots=True)
class MembranePoint:
    """What the membranes do with a feed at the design point."""

    recovery: float
    passage: Passage
    rho: float = 0.0
    wall_factor: float = 1.0


def limits_from(choices: LimitChoices, inhibitor: bool) -> Limits:
    """Return the limits in force: the user's own where given, else the defaults.

    Parameters
    ----------
    choices : LimitChoices
        The user's choices. [-]
    inhibitor : bool
        Defaults with an inhibitor, or without. [-]

    Returns
    -------
    Limits
        The limits. [-]
    """
    base = default_limits(inhibitor)
    own = {k: math.log10(v / 100.0) for k, v in choices.percent_of_saturation.items()}
    index = own.pop("calcite", None)
    lsi = choices.lsi if choices.lsi is not None else index
    sdsi = choices.sdsi if choices.sdsi is not None else lsi
    return Limits(
        base.lsi if lsi is None else lsi,
        base.sdsi if sdsi is None else sdsi,
        {**base.si, **own},
    )


def enter_scaling(
    ledger: Ledger,
    feed: FeedWater,
    point: MembranePoint,
    choices: LimitChoices,
    prefix: str = "",
) -> Concentrate:
    """Enter concentrate, indexes and recovery limits of a feed.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    feed : FeedWater
        A single feed at the operating temperature. [-]
    point : MembranePoint
        Recovery, salt passage, recycle. [-]
    choices : LimitChoices
        Limits chosen by the user. [-]
    prefix : str
        Put before every key ("untreated."). [-]

    Returns
    -------
    Concentrate
        The concentrate at the design point. [-]
    """
    brine = concentrate(feed, point.recovery, point.passage, point.rho, point.wall_factor)
    _enter_concentrate(ledger, brine, point, prefix)
    _enter_indexes(ledger, brine, prefix)
    _enter_limits(ledger, feed, brine, point, choices, prefix)
    _enter_sweep(ledger, feed, point, prefix)
    if not prefix:
        _enter_composition(ledger, feed, brine)
        _enter_second_opinion(ledger, brine)
    return brine


def _f(value: Any) -> float:
    return float(np.asarray(value))


def _enter_concentrate(
    ledger: Ledger, brine: Concentrate, point: MembranePoint, prefix: str
) -> None:
    def put(key: str, value: Any, unit: str, label: str, method: str, *cites: str) -> None:
        ledger.put(f"{prefix}concentrate.{key}", _f(value), unit, label, method=method,
                   cites=tuple(cites), inputs=(f"{prefix}concentrate.recovery",))  # fmt: skip

    ledger.put(f"{prefix}concentrate.recovery", point.recovery, "-", "System recovery",
               origin="chosen", method="product / fresh feed")  # fmt: skip
    put("array_recovery", point.recovery * (1 - point.rho), "-", "Array recovery",
        "product / (fresh feed + recycle)")  # fmt: skip
    balance = "mass balance of the membrane, CO2 passing"
    put("factor", 1.0 / (1.0 - point.recovery), "-", "Concentration factor without passage",
        "1 / (1 - recovery)", "D4582")  # fmt: skip
    put("ph", brine.ph, "-", "pH of the concentrate", "from alkalinity and total inorganic carbon",
        "WATEQ4F", "PB82")  # fmt: skip
    put("ph_d3739", brine.ph_d3739, "-", "pH of the concentrate, D3739 route",
        "from its alkalinity and the feed's CO2; serves LSI and S&DSI only", "D3739", "PB82")  # fmt: skip
    put("tds_mg_l", brine.tds_mg_l, "mg/L", "Total dissolved solids", balance, "D4582")
    put("ionic_strength_mol_kg", brine.speciation.ionic_strength_mol_kg, "mol/kg",
        "Ionic strength", "speciation", "WATEQ4F")  # fmt: skip
    put("alkalinity_mg_l_caco3", brine.alkalinity_mg_l_caco3, "mg/L as CaCO3", "Alkalinity",
        balance, "D4582")  # fmt: skip
    for key, amount in brine.mg_l.items():
        put(f"{key}_mg_l", amount, "mg/L", analytes()[key].name.capitalize(), balance, "D4582")
    bicarbonate = brine.alkalinity_mg_l_caco3 / CACO3_MG_PER_MEQ * molar_mass("HCO3")
    put("hco3_mg_l", bicarbonate, "mg/L", "Bicarbonate (all alkalinity)", balance, "D4582")


def _enter_indexes(ledger: Ledger, brine: Concentrate, prefix: str) -> None:
    ph_keys = (f"{prefix}concentrate.ph_d3739",)

    def put(key: str, value: Any, label: str, method: str, cites: tuple[str, ...],
            unit: str = "-", inputs: tuple[str, ...] = ph_keys) -> None:  # fmt: skip
        ledger.put(f"{prefix}scaling.{key}", _f(value), unit, label, method=method, cites=cites,
                   inputs=inputs)  # fmt: skip

    ph, trade = brine.ph_d3739, brine.trade
    phs = langelier_phs(trade, ph)
    put("lsi", ph - phs, "Langelier index (LSI)", "pH by the D3739 route less pHs",
        citations(langelier_phs) + ("PB82",))  # fmt: skip
    put("lsi_hand", ph - hand_phs(trade), "Langelier index, hand formula",
        "9.3 + A + B - C - D, same pH", citations(hand_phs))  # fmt: skip
    put("sdsi", brine.sdsi(), "Stiff and Davis index (S&DSI)",
        "pH less pCa, pAlk and the thermodynamic K", citations(stiff_davis, stiff_davis_k))  # fmt: skip
    put("ryznar", ryznar(phs, ph), "Ryznar index", "2 pHs - pH", citations(ryznar))
    put("puckorius", puckorius(phs, trade.alkalinity_mg_l_caco3), "Puckorius index",
        "2 pHs - pHeq", citations(puckorius))  # fmt: skip
    if np.isfinite(brine.speciation.si("calcite")):
        put("ccpp_mg_l_caco3", ccpp_mg_l(brine.speciation), "CaCO3 precipitation potential",
            "closed system; positive can precipitate", citations(ccpp_mg_l), "mg/L as CaCO3",
            (f"{prefix}concentrate.ph",))  # fmt: skip
    for key, mineral in minerals().items():
        si = _f(brine.speciation.si(key))
        if math.isnan(si) and not mineral.limit_scale:
            continue
        inputs = (f"{prefix}concentrate.ph",)
        put(f"si_{key}", si, f"SI {mineral.name}", f"log10(IAP/K) of {mineral.formula}",
            (mineral.source, "WATEQ4F"), inputs=inputs)  # fmt: skip
        if mineral.limit_scale:
            ledger.put(f"{prefix}scaling.pct_{key}", 100.0 * 10.0**si, "% of saturation",
                       f"Saturation, {mineral.name}", method="100 x 10^SI, from activities",
                       cites=(mineral.source,), inputs=(f"{prefix}scaling.si_{key}",),
                       formula=f"100*10^{{{prefix}scaling.si_{key}}}")  # fmt: skip
    _flag_indexes(ledger, brine, prefix)


def _flag_indexes(ledger: Ledger, brine: Concentrate, prefix: str) -> None:
    strength = _f(brine.speciation.ionic_strength_mol_kg)
    if strength > STRONG:
        ledger.flag(Flag("high_ionic_strength", "caution",
                         f"ionic strength of the concentrate is {strength:.2f} mol/kg, above "
                         f"{STRONG:g}: ion association shows the sulfates less saturated than "
                         "they are; believe the Pitzer values beside it",
                         f"{prefix}concentrate.ionic_strength_mol_kg"))  # fmt: skip
    if outside_stiff_davis_fit(strength, brine.trade.temp_c):
        ledger.flag(Flag("sdsi_outside_fit", "info",
                         "the K of the Stiff and Davis index is extrapolated here (fitted for "
                         "ionic strength 0.02 to 2.5 mol/kg, 5 to 45 °C)",
                         f"{prefix}scaling.sdsi"))  # fmt: skip


def _enter_limits(
    ledger: Ledger,
    feed: FeedWater,
    brine: Concentrate,
    point: MembranePoint,
    choices: LimitChoices,
    prefix: str,
) -> None:
    plain, inhibited = limits_from(choices, False), limits_from(choices, True)
    force = inhibited if choices.inhibitor else plain
    found = {
        "max": recovery_limit(feed, force, point.passage, point.rho, None, point.wall_factor),
        "max_inhibited": recovery_limit(
            feed, inhibited, point.passage, point.rho, None, point.wall_factor
        ),
    }
    alone = scale_limits(feed, force, point.passage, point.rho, point.wall_factor)
    treated = scale_limits(feed, inhibited, point.passage, point.rho, point.wall_factor)
    missing = [k for k in NEEDED if math.isnan(alone[k])]
    _enter_maximum(ledger, found["max"], missing, prefix, "")
    _enter_maximum(ledger, found["max_inhibited"], missing, prefix, "_inhibited")
    _enter_limit_table(ledger, brine, (force, choices), (alone, treated), prefix)


def _enter_maximum(
    ledger: Ledger, limit: RecoveryLimit, missing: list[str], prefix: str, suffix: str
) -> None:
    maximum, by = _f(limit.maximum), str(limit.limited_by)
    key = f"{prefix}recovery.max{suffix}"
    word = " with inhibitor" if suffix else ""
    most = "at most, " if missing else ""
    ledger.put(key, maximum, "-", f"Largest recovery{word}",
               method=f"{most}first crossing of a limit, counted from zero",
               cites=("PRACTICE",) if suffix else ("D3739", "D4692"),
               evidence="common practice" if suffix else "computed")  # fmt: skip
    ledger.put(f"{prefix}recovery.limited_by{suffix}", by or None, "-",
               f"Limited{word} by", method="the scale that reaches its limit first")  # fmt: skip
    if missing:
        ledger.flag(Flag("not_measured", "caution",
                         f"largest recovery holds at most: {', '.join(missing)} could not be "
                         "judged because an ion was not measured", key))  # fmt: skip
    if limit.supersaturated:
        ledger.flag(Flag("supersaturated_feed", "warning" if suffix else "caution",
                         f"the feed itself is already over the limit of {by}{word}; "
                         "no recovery keeps within it without treatment", key))  # fmt: skip
    if limit.at_step:
        ledger.flag(Flag("limit_at_index_step", "info",
                         "the limit falls where the index changes from LSI to S&DSI at "
                         f"{LSI_TDS_LIMIT_MG_L:,.0f} mg/L of dissolved solids", key))  # fmt: skip


def _limit_origin(choices: LimitChoices, criterion: str) -> str:
    own = criterion in choices.percent_of_saturation
    if criterion == "calcite":
        own = own or choices.lsi is not None
    if own:
        return "chosen in the site file"
    return "common practice, no source" if choices.inhibitor else "saturation, no inhibitor"


def _enter_limit_table(
    ledger: Ledger,
    brine: Concentrate,
    force: tuple[Limits, LimitChoices],
    recoveries: tuple[Mapping[str, float], Mapping[str, float]],
    prefix: str,
) -> None:
    limits, choices = force
    names = {r["criterion"]: r["name"] for r in rows("limits.csv")}
    above = bool(np.asarray(brine.tds_mg_l > LSI_TDS_LIMIT_MG_L))
    table: list[tuple[str | float | None, ...]] = []
    for key in limits.criteria():
        if key == "calcite":
            now = _f(brine.sdsi() if above else brine.lsi())
            limit, unit = (limits.sdsi if above else limits.lsi), "S&DSI" if above else "LSI"
        else:
            now = 100.0 * 10.0 ** _f(brine.speciation.si(key))
            limit, unit = 100.0 * 10.0 ** limits.si[key], "% of saturation"
        if math.isnan(now):
            verdict = "not measured"
        else:
            verdict = "within" if now <= limit else "over"
        table.append((key, names[key], unit, now, limit, verdict, recoveries[0][key],
                      recoveries[1][key], _limit_origin(choices, key)))  # fmt: skip
    ledger.table(
        Series(
            f"{prefix}scaling.limits",
            "Scales against their limits at the design recovery",
            ("scale", "name", "measure", "now", "limit", "verdict", "recovery", "recovery_inhibited",
             "origin"),
            ("-", "-", "-", "as named", "as named", "-", "-", "-", "-"),
            tuple(table),
            method="recovery at which each scale alone reaches its limit",
            cites=("D3739", "D4692", "PRACTICE"),
            headings=("Scale", "Name", "Measure", "Now", "Limit", "Verdict", "Recovery at limit",
                      "with inhibitor", "Where the limit comes from"),
        )
    )  # fmt: skip


def _enter_sweep(ledger: Ledger, feed: FeedWater, point: MembranePoint, prefix: str) -> None:
    recoveries = np.array(sorted({*SWEEP, point.recovery}))
    wide = FeedWater(
        {k: np.asarray(v)[..., None] for k, v in feed.mg_l.items()},
        np.asarray(feed.alkalinity_mg_l_caco3)[..., None],
        np.asarray(feed.temp_c)[..., None],
        feed.speciation,
    )
    brine = concentrate(wide, recoveries, point.passage, point.rho, point.wall_factor)
    si = {k: brine.speciation.si(k) for k in PHASES}
    columns: dict[str, Any] = {
        "recovery": recoveries,
        "lsi": brine.lsi(),
        "sdsi": brine.sdsi(),
        **{f"pct_{k}": 100.0 * 10.0**v for k, v in si.items()},
        "ph": brine.ph,
        "tds_mg_l": brine.tds_mg_l,
    }
    units = ("-", "-", "-", *("% of saturation",) * len(si), "-", "mg/L")
    names = {"recovery": "Recovery", "lsi": "LSI", "sdsi": "S&DSI", "ph": "pH", "tds_mg_l": "TDS"}
    names |= {f"pct_{k}": minerals()[k].name.capitalize() for k in si}
    stacked = np.broadcast_arrays(*(np.asarray(v, float) for v in columns.values()))
    ledger.table(
        Series(
            f"{prefix}scaling.sweep",
            "Indexes and percent saturation against recovery",
            tuple(columns),
            units,
            tuple(tuple(float(c[i]) for c in stacked) for i in range(len(recoveries))),
            method="speciation of the concentrate at each recovery",
            cites=("WATEQ4F", "PB82", "D3739", "D4582"),
            headings=tuple(names[c] for c in columns),
        )
    )


def _enter_composition(ledger: Ledger, feed: FeedWater, brine: Concentrate) -> None:
    table: list[tuple[str | float | None, ...]] = []
    for key, amount in feed.mg_l.items():
        ion = analytes()[key]
        rejected = _f(brine.mg_l[key])
        equivalents = (meq_l(key, _f(amount)), meq_l(key, rejected)) if ion.charge else (None, None)
        kind = "cation" if ion.charge > 0 else "anion" if ion.charge < 0 else "neutral"
        table.append((ion.symbol, kind, _f(amount), rejected, *map(_maybe, equivalents)))
    alk = (_f(feed.alkalinity_mg_l_caco3), _f(brine.alkalinity_mg_l_caco3))
    if not math.isnan(alk[0]):
        meq = [a / CACO3_MG_PER_MEQ for a in alk]
        table.append(("HCO3", "anion", *(m * molar_mass("HCO3") for m in meq), *meq))
    ledger.table(
        Series(
            "concentrate.composition",
            "Composition of the feed of the membranes and of the concentrate",
            ("ion", "kind", "feed_mg_l", "concentrate_mg_l", "feed_meq_l", "concentrate_meq_l"),
            ("-", "-", "mg/L", "mg/L", "meq/L", "meq/L"),
            tuple(table),
            method="feed times concentration factor; bicarbonate stands for all alkalinity",
            cites=("D4582",),
            headings=("Ion", "Kind", "Feed", "Concentrate", "Feed", "Concentrate"),
        )
    )


def _maybe(value: Any) -> float | None:
    return None if value is None else _f(value)


def _enter_second_opinion(ledger: Ledger, brine: Concentrate) -> None:
    water = brine.speciation
    if not available():
        ledger.flag(Flag("no_second_opinion", "info",
                         "PHREEQC cannot be loaded on this machine: no second opinion"))  # fmt: skip
        return
    if not np.isfinite(water.inorganic_carbon_mol_kg + water.alkalinity_eq_kg):
        return
    totals = {k: _f(v) for k, v in water.totals_mol_kg.items() if k != "CO3"}
    opinions = {
        o.database: o
        for o in second_opinions(
            totals, _f(water.alkalinity_eq_kg), _f(water.inorganic_carbon_mol_kg), _f(water.temp_c)
        )
    }
    table = []
    for key in PHASES:
        own = _f(water.si(key))
        others = [
            opinions[d].si.get(key) if d in opinions else None
            for d in ("wateq4f.dat", "pitzer.dat")
        ]
        table.append(
            (minerals()[key].name, own, *others, *(None if o is None else own - o for o in others))
        )
    ledger.table(
        Series(
            "second_opinion.si",
            "Saturation indexes at the design point, second opinion by PHREEQC",
            ("mineral", "own", "wateq4f", "pitzer", "less_wateq4f", "less_pitzer"),
            ("-",) * 6,
            tuple(table),
            method="same totals, alkalinity and inorganic carbon; pH solved again; barite and "
            "celestite of the Pitzer database with the constants of wateq4f.dat",
            cites=("PA13",),
            headings=("Mineral", "This program", "PHREEQC wateq4f.dat", "PHREEQC pitzer.dat",
                      "difference", "difference"),
        )
    )  # fmt: skip
    replaced = opinions["pitzer.dat"].replaced if "pitzer.dat" in opinions else ()
    if replaced:
        ledger.flag(Flag("pitzer_replaced_ions", "info",
                         f"pitzer.dat has no {', '.join(replaced)}: replaced eq for eq by Cl or "
                         "Na in the second opinion, its fluorite stays blank"))  # fmt: skip
