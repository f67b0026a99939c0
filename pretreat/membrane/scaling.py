"""The scaling section: concentrate, indexes, percent saturations and how far recovery may go."""

import math
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.ccpp import calcite_equilibrium, ccpp_mg_l
from pretreat.chemistry.composition import meq_l
from pretreat.chemistry.engine_error import STRONG_MOL_KG, error_range, error_ranges
from pretreat.chemistry.ferric import si_ferric_hydroxide
from pretreat.chemistry.indexes import (
    LSI_STRENGTH,
    LSI_TDS_LIMIT_MG_L,
    SDSI_STRENGTH,
    hand_phs,
    langelier_phs,
    outside_chart,
    outside_stiff_davis_fit,
    puckorius,
    ryznar,
    stiff_davis,
    stiff_davis_k,
)
from pretreat.chemistry.kinetics import FLUSH_VOLUMES, barite_growth_nm_h
from pretreat.chemistry.second_opinion import PHASES
from pretreat.chemistry.species import minerals
from pretreat.core.basis import Flag, Series, citations
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass
from pretreat.membrane.concentrate import Concentrate, concentrate
from pretreat.membrane.feed import FeedWater, widened
from pretreat.membrane.limits import PHOSPHATE, MembranePoint, enter_limits, of_which
from pretreat.membrane.metals import enter_metals
from pretreat.membrane.opinion import enter_second_opinion
from pretreat.membrane.recovery import Reach
from pretreat.membrane.rests import feed_keys
from pretreat.membrane.scaling_laws import (
    array_recovery,
    concentration_factor_without_passage,
    percent_of_saturation,
    system_recovery,
)
from pretreat.site.design import KChart, LimitChoices

SWEEP = tuple(round(0.05 * i, 2) for i in range(20))  # 0 to 0.95
OF_IONS = "water.tds_of_ions_mg_l"  # in the ledger where major ions were not measured
STRONG = STRONG_MOL_KG
ENGINES = {
    "pitzer": "believe the Pitzer value",
    "wateq4f": "believe this program's",
    "either": "either will do",
}


class Scaled(Struct, frozen=True):
    """A concentrate, and how far its water goes without an inhibitor and with one."""

    brine: Concentrate
    reach: tuple[Reach, Reach]


def enter_scaling(
    ledger: Ledger,
    feed: FeedWater,
    point: MembranePoint,
    choices: LimitChoices,
    prefix: str = "",
) -> Scaled:
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
    Scaled
        The concentrate at the design point, and how far the water goes. [-]
    """
    brine = concentrate(feed, point.recovery, point.passage, point.rho, point.wall_factor)
    if not bool(brine.settled):
        ledger.flag(
            Flag(
                "recycle_not_settled",
                "warning",
                "the inorganic carbon of the recycling array was not found: pH and all "
                "indexes of the concentrate stay blank; try less recycle",
                f"{prefix}concentrate.ph",
            )
        )
    _enter_concentrate(ledger, feed, brine, point, prefix)
    _enter_indexes(ledger, brine, choices.k_chart, prefix)
    reach = enter_limits(ledger, feed, brine, point, choices, prefix)
    enter_metals(ledger, feed, brine, point, reach, prefix)
    _enter_kinetics(ledger, feed, brine, prefix)
    enter_sweep(ledger, feed, point, choices.k_chart, prefix)
    if not prefix:
        _enter_composition(ledger, feed, brine)
        enter_second_opinion(ledger, feed, brine, point.rho, point.wall_factor)
    return Scaled(brine, reach)


def _f(value: Any) -> float:
    return float(np.asarray(value))


def enter_recovery(ledger: Ledger, point: MembranePoint, prefix: str) -> None:
    """Enter recovery of system and array, and the factor that follows from it.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    point : MembranePoint
        The design point. [-]
    prefix : str
        Put before every key. [-]
    """
    key, label = f"{prefix}concentrate.recovery", f"System recovery{of_which(prefix)}"
    method = "product / fresh feed"
    if "machine.recovery" in ledger:
        ledger.law(key, system_recovery, recovery="machine.recovery", label=label, method=method)
    else:
        ledger.put(key, point.recovery, "-", label, origin="chosen", method=method)
    ledger.law(
        f"{prefix}concentrate.array_recovery",
        array_recovery,
        recovery=key,
        recycled_share=point.rho,
        label="Array recovery",
        method="product / (fresh feed + recycle)",
    )
    ledger.law(
        f"{prefix}concentrate.factor",
        concentration_factor_without_passage,
        recovery=key,
        label="Concentration factor without passage",
        method="1 / (1 - recovery)",
    )


def _enter_computed(
    ledger: Ledger, key: str, value: Any, *rest: Any, prefix: str, **more: Any
) -> None:
    """Enter a value that speciation gives for a feed and a recovery."""
    ledger.put(key, _f(value), *rest, **more)
    inputs = feed_keys(ledger, treated=not prefix)
    ledger.rests(key, f"{prefix}concentrate.recovery", *inputs)


def _enter_concentrate(
    ledger: Ledger, feed: FeedWater, brine: Concentrate, point: MembranePoint, prefix: str
) -> None:
    enter_recovery(ledger, point, prefix)

    def put(key: str, value: Any, unit: str, label: str, how: tuple[str, ...]) -> None:
        _enter_computed(
            ledger,
            f"{prefix}concentrate.{key}",
            value,
            unit,
            label,
            method=how[0],
            cites=how[1:],
            prefix=prefix,
        )

    balance = ("mass balance of the membrane, CO2 passing", "D4582")
    carbonate = ("from alkalinity and total inorganic carbon", "WATEQ4F", "PB82")
    route = ("from its alkalinity and the feed's CO2; for LSI and S&DSI only", "D3739", "PB82")
    put("ph", brine.ph, "-", "pH of the concentrate", carbonate)
    put("ph_d3739", brine.ph_d3739, "-", "pH of the concentrate, D3739 route", route)
    solids, label, how = _solids(ledger, feed, brine)
    put("tds_mg_l", solids, "mg/L", label, (how or balance[0], *balance[1:]))
    strength = brine.speciation.ionic_strength_mol_kg
    put("ionic_strength_mol_kg", strength, "mol/kg", "Ionic strength", ("speciation", "WATEQ4F"))
    alkalinity = brine.alkalinity_mg_l_caco3
    put("alkalinity_mg_l_caco3", alkalinity, "mg/L as CaCO3", "Alkalinity", balance)
    for key, amount in brine.mg_l.items():
        put(f"{key}_mg_l", amount, "mg/L", analytes()[key].name.capitalize(), balance)
    bicarbonate = alkalinity / CACO3_MG_PER_MEQ * molar_mass("HCO3")
    put("hco3_mg_l", bicarbonate, "mg/L", "Bicarbonate (all alkalinity)", balance)


def _solids(ledger: Ledger, feed: FeedWater, brine: Concentrate) -> tuple[Any, str, str]:
    """Return the dissolved solids with label and method: where ions are missing those of the feed.

    The sum of the ions measured may be less than what the raw water is known to hold.
    """
    label, ions = "Total dissolved solids", float(feed.tds_mg_l)
    known = ledger.number("water.tds_mg_l")
    if OF_IONS not in ledger:
        return brine.tds_mg_l, label, ""
    if known is None or not ions > 0.0:
        return brine.tds_mg_l, f"{label}, of the ions measured", ""
    how = "solids of the raw water x concentration of the ions measured; ions are missing"
    return known * brine.tds_mg_l / ions, f"{label}, estimated", how


def _enter_indexes(ledger: Ledger, brine: Concentrate, chart: KChart | None, prefix: str) -> None:
    ph, trade = brine.ph_d3739, brine.trade
    phs = langelier_phs(trade, ph)
    sources = (*citations(langelier_phs), "PB82")
    k_sources = citations(stiff_davis) + (() if chart else citations(stiff_davis_k))
    k_word = f"K of the user's chart {chart.name}" if chart else "the thermodynamic K"
    pq = puckorius(phs, trade.alkalinity_mg_l_caco3)
    for key, value, label, method, cites in (
        ("lsi", brine.lsi(), "Langelier index (LSI)", "pH by the D3739 route less pHs", sources),
        (
            "lsi_hand",
            ph - hand_phs(trade),
            "Langelier index, hand formula",
            "9.3 + A + B - C - D, same pH",
            citations(hand_phs),
        ),
        (
            "sdsi",
            brine.sdsi(chart),
            "Stiff and Davis index (S&DSI)",
            f"pH less pCa, pAlk and {k_word}",
            k_sources,
        ),
        ("ryznar", ryznar(phs, ph), "Ryznar index", "2 pHs - pH", citations(ryznar)),
        ("puckorius", pq, "Puckorius index", "2 pHs - pHeq", citations(puckorius)),
    ):
        _enter_computed(
            ledger,
            f"{prefix}scaling.{key}",
            value,
            "-",
            f"{label} of its concentrate" if prefix else label,
            method=method,
            cites=cites,
            prefix=prefix,
        )
    if np.isfinite(brine.speciation.si("calcite")):
        _enter_computed(
            ledger,
            f"{prefix}scaling.ccpp_mg_l_caco3",
            ccpp_mg_l(brine.speciation),
            "mg/L as CaCO3",
            "CaCO3 precipitation potential",
            method="closed system; positive can precipitate",
            cites=citations(calcite_equilibrium),
            prefix=prefix,
        )
    _enter_minerals(ledger, brine, prefix)
    _flag_indexes(ledger, brine, chart, prefix)


def _enter_minerals(ledger: Ledger, brine: Concentrate, prefix: str) -> None:
    strength = _f(brine.speciation.ionic_strength_mol_kg)
    for key, mineral in minerals().items():
        si = _f(brine.speciation.si(key))
        if math.isnan(si) and (not mineral.limit_scale or key == PHOSPHATE):
            continue
        word = f"; indicative: {mineral.note}" if not mineral.limit_scale and mineral.note else ""
        _enter_computed(
            ledger,
            f"{prefix}scaling.si_{key}",
            si,
            "-",
            f"SI {mineral.name}",
            method=f"log10(IAP/K) of {mineral.formula}{word}{_error_words(key, strength)}",
            cites=(mineral.source, "WATEQ4F"),
            prefix=prefix,
        )
        if mineral.limit_scale:
            percent, label = f"{prefix}scaling.pct_{key}", f"Saturation, {mineral.name}"
            found = ledger.law(
                percent,
                percent_of_saturation,
                saturation_index=f"{prefix}scaling.si_{key}",
                unit="% of saturation",
                label=label,
                method="100 x 10^SI, from activities",
                cites=(mineral.source,),
            )
            if math.isnan(found):
                text = f"{label}: not computable"
                ledger.flag(Flag("not_computable", "caution", text, percent))
    _enter_ferric(ledger, brine, prefix)


def _enter_ferric(ledger: Ledger, brine: Concentrate, prefix: str) -> None:
    si = _f(si_ferric_hydroxide(brine.speciation))
    if math.isnan(si):
        return
    _enter_computed(
        ledger,
        f"{prefix}scaling.si_ferric_hydroxide",
        si,
        "-",
        "SI ferric hydroxide, iron oxidised",
        method="log10(IAP/K) of Fe(OH)3(a) if air or an oxidant turned all dissolved iron "
        "ferric; indicative: above 0 iron must be gone before the membrane, or kept from air",
        cites=citations(si_ferric_hydroxide),
        prefix=prefix,
    )


def _flag_indexes(ledger: Ledger, brine: Concentrate, chart: KChart | None, prefix: str) -> None:
    strength = _f(brine.speciation.ionic_strength_mol_kg)
    if strength > STRONG:
        ledger.flag(
            Flag(
                "high_ionic_strength",
                "caution",
                f"ionic strength of the concentrate is {strength:.2f} mol/kg, above "
                f"{STRONG:g}, where the engines part; measured solubilities say: "
                f"{_supported(strength)}",
                f"{prefix}concentrate.ionic_strength_mol_kg",
            )
        )
    if strength > LSI_STRENGTH:
        ledger.flag(
            Flag(
                "index_outside_range",
                "warning",
                f"ionic strength of the concentrate is {strength:.2f} mol/kg: the "
                f"Langelier index is not shown above {LSI_STRENGTH:g}, Stiff and Davis' "
                f"not above {SDSI_STRENGTH[1]:g}; a recovery limited by calcite rests on "
                "an extrapolation",
                f"{prefix}scaling.lsi",
            )
        )
    if chart is not None and outside_chart(chart, strength, brine.trade.temp_c):
        low, high = chart.ionic_strength_mol_kg[0], chart.ionic_strength_mol_kg[-1]
        ledger.flag(
            Flag(
                "k_chart_ends",
                "caution",
                f"the K chart {chart.name} reaches from {low:g} to {high:g} mol/kg and "
                f"{chart.temp_c[0]:g} to {chart.temp_c[-1]:g} °C, this water is outside: "
                "the thermodynamic K is used here",
                f"{prefix}scaling.sdsi",
            )
        )
    elif (
        chart is None
        and not prefix  # once, of what the membranes get
        and _f(brine.tds_mg_l) > LSI_TDS_LIMIT_MG_L  # below, nothing is judged by the index
        and outside_stiff_davis_fit(strength, brine.trade.temp_c)
    ):
        ledger.flag(
            Flag(
                "sdsi_outside_fit",
                "info",
                "the K of the Stiff and Davis index is extrapolated here (fitted for "
                "ionic strength 0.02 to 2.5 mol/kg, 5 to 45 °C)",
                f"{prefix}scaling.sdsi",
            )
        )


def _error_words(mineral: str, strength: float) -> str:
    """Say by how much this program errs on measured solubilities at this ionic strength."""
    if mineral not in error_ranges():
        return ""
    return f"; error on measured solubilities {_signed(*error_range(mineral, strength).ours)}"


def _enter_kinetics(ledger: Ledger, feed: FeedWater, brine: Concentrate, prefix: str) -> None:
    """Enter how fast barite would grow, and what stands over saturation when the machine stops."""
    growth = barite_growth_nm_h(_f(brine.speciation.si("barite")), _f(feed.temp_c))
    if math.isfinite(growth):
        ledger.put(
            f"{prefix}scaling.barite_growth_nm_h",
            growth,
            "nm/h",
            f"Growth of barite once seeded, no inhibitor{of_which(prefix)}",
            method="exp(13.59) exp(-35000/RT) (10^SI - 1), 10 to 70 °C, SI 1.1 to 2.1; "
            "information, not a limit",
            cites=citations(barite_growth_nm_h),
            inputs=(f"{prefix}scaling.si_barite",),
        )
    if prefix:
        return
    over = [minerals()[k].name for k in PHASES if _f(brine.speciation.si(k)) > 0]
    if over:
        ledger.flag(
            Flag(
                "flush_at_stop",
                "info",
                f"the concentrate stands over saturation in {', '.join(over)}: seconds to "
                "minutes in service, hours at a stop; displace at least "
                f"{FLUSH_VOLUMES:g} volumes of the loop with feed or product within "
                "minutes of every stop (common practice)",
                "concentrate.ph",
            )
        )


def _signed(low: float, high: float) -> str:
    return f"{low:+.2f} to {high:+.2f}"


def _supported(strength: float) -> str:
    """Say mineral by mineral which engine measured solubilities support, and our own error."""
    found = [error_range(mineral, strength) for mineral in PHASES]
    return "; ".join(
        f"{minerals()[r.mineral].name} {ENGINES[r.supported]} (ours errs by {_signed(*r.ours)} in "
        f"SI)"
        for r in found
    )


def enter_sweep(
    ledger: Ledger, feed: FeedWater, point: MembranePoint, chart: KChart | None, prefix: str
) -> None:
    """Enter indexes and percent saturation against recovery.

    Parameters
    ----------
    ledger : Ledger
        Where the table goes. [-]
    feed : FeedWater
        A single feed. [-]
    point : MembranePoint
        The design point; its recovery is one of those shown. [-]
    chart : KChart or None
        The user's own K of Stiff and Davis. [-]
    prefix : str
        Put before the key. [-]
    """
    recoveries = np.array(sorted({*SWEEP, point.recovery}))
    brine = concentrate(widened(feed), recoveries, *point.membrane)
    si = {k: brine.speciation.si(k) for k in PHASES}
    columns: dict[str, Any] = {
        "recovery": recoveries,
        "lsi": brine.lsi(),
        "sdsi": brine.sdsi(chart),
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
            f"Indexes and percent saturation against recovery{of_which(prefix)}",
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
