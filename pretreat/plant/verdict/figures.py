"""The verdict as figures: seasons, draws, bands of limits, and what is no scale."""

import datetime
import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.basis import Flag, Series
from pretreat.core.graph import Again
from pretreat.core.results import Ledger
from pretreat.core.water import TEST_KIT, WaterAnalysis
from pretreat.lab.activity import tell_in_becquerel
from pretreat.lab.hardness_split import SplitCases, split_cases
from pretreat.lab.water_figures import Composition
from pretreat.membrane.limits import MembranePoint
from pretreat.plant.health import DRINKING
from pretreat.plant.membrane_checks import NOT_MEASURED, SDI
from pretreat.plant.uncertainty.bands import limit_band
from pretreat.plant.uncertainty.draws import DRAWS
from pretreat.plant.uncertainty.inputs import COVERAGE, uncertain_hardness, uncertain_plant
from pretreat.plant.uncertainty.seasons import seasons_of
from pretreat.plant.uncertainty.spread import drivers, spread_of
from pretreat.plant.verdict.barium import barium_obstacles
from pretreat.plant.verdict.case import GAP, Obstacle
from pretreat.plant.verdict.equipment import plant_obstacles
from pretreat.plant.verdict.extremes import enter_extremes
from pretreat.plant.verdict.following import following, leakage_of
from pretreat.plant.verdict.gaps import softening_obstacles
from pretreat.plant.verdict.headline import enter_worst_season
from pretreat.plant.verdict.judge import Judgement, Question, judge, with_obstacles
from pretreat.plant.verdict.obstacles import (
    UNSAFE,
    flag_obstacles,
    health_obstacles,
)
from pretreat.plant.verdict.of_product import named_passing, product_obstacles
from pretreat.plant.verdict.of_report import (
    bound_obstacles,
    observed_obstacles,
    report_obstacles,
    sample_obstacles,
)
from pretreat.plant.verdict.open_points.at_membranes import (
    chlorine_obstacles,
    membrane_obstacles,
    tank_obstacles,
)
from pretreat.plant.verdict.open_points.boron import boron_obstacles
from pretreat.plant.verdict.open_points.contradictions import contradiction_obstacles
from pretreat.plant.verdict.open_points.drain import activity_obstacles, fluoride_obstacles
from pretreat.plant.verdict.open_points.far_from_clean import ammonium_obstacles
from pretreat.plant.verdict.open_points.near_limits import near_obstacles
from pretreat.plant.verdict.open_points.of_analysis import (
    metal_form_obstacles,
    old_obstacles,
    origin_obstacles,
    phosphorus_obstacles,
    solids_obstacles,
    unit_obstacles,
    unmeasured_obstacles,
)
from pretreat.plant.verdict.open_points.temperature import temperature_obstacles
from pretreat.plant.verdict.open_points.unread import unread_obstacles
from pretreat.plant.verdict.open_points.waste import waste_obstacles
from pretreat.plant.verdict.organics import organic_obstacles
from pretreat.plant.verdict.others import (
    acid_obstacles,
    heat_obstacles,
    other_obstacles,
)
from pretreat.plant.verdict.quote_words import NO_ANALYSIS, quote_sentence
from pretreat.plant.verdict.rules import REASON, no_card_words, scale_name, settled
from pretreat.plant.verdict.silica import silica_obstacles
from pretreat.plant.verdict.train_draws import train_draws
from pretreat.site.design import LimitChoices, ProductUse, WaterBasis

PERCENT = 100.0
SPREAD = ("recovery.max", "recovery.max_inhibited")


class Asked(Struct, frozen=True):
    """What the verdict is asked of: an analysis, its temperatures, and how it is treated.

    ``stream_mg_l`` is the water at the membranes, None where nothing treats it; ``plant`` holds
    values of the plant that are uncertain, by the keys of data/uncertainty.csv.
    """

    water: WaterAnalysis
    taken: Composition
    basis: WaterBasis
    point: MembranePoint
    choices: LimitChoices
    inhibitor: bool = False
    stream_mg_l: Mapping[str, float] | None = None
    carbon_lost_mol_kg: float = 0.0
    alkalinity_added_mg_l_caco3: float = 0.0
    recovery_range: tuple[float, float] | None = None
    plant: Mapping[str, float] | None = None
    count: int = DRAWS
    use: ProductUse = field(default_factory=ProductUse)
    quoted: datetime.date | None = None


def enter_verdict(ledger: Ledger, asked: Asked) -> Judgement:
    """Enter the verdict, the seasons that limit and the spread of the maximum recovery.

    Parameters
    ----------
    ledger : Ledger
        A ledger with scaling, machine and train entered. [-]
    asked : Asked
        What is judged. [-]

    Returns
    -------
    Judgement
        The verdict and the draws it rests on. [-]
    """
    tell_in_becquerel(ledger, asked.water, asked.use.jurisdiction)
    question = _question(ledger, asked)
    more = (
        *silica_obstacles(ledger, question),
        *barium_obstacles(ledger, question),
        *phosphorus_obstacles(ledger, question),
        *membrane_obstacles(ledger, question),
    )
    question = replace(question, obstacles=(*question.obstacles, *more))
    found = judge(question)
    closed = tank_obstacles(ledger, question, found)
    if closed:
        question = replace(question, obstacles=(*question.obstacles, *closed))
        found = with_obstacles(found, closed)
    told = found.verdict
    enter_extremes(ledger, question, asked.choices, split_of(asked.water))
    behind = [
        k for k in ("recovery.max", "recovery.max_inhibited", "machine.recovery") if k in ledger
    ]
    for name, value, label in (
        ("answer", told.answer, "Verdict"),
        ("reasons", "; ".join(told.short), "Why"),
        ("probability", told.probability, "Share of draws that keep every limit"),
        (
            "measure_next",
            told.measure_next or _nothing_next(ledger, found),
            "Measure next",
        ),
        ("card_recovery", told.card_recovery, "Recovery kept in 90 % of the draws"),
        (
            "kept_recovery",
            found.case.safe_recovery,
            "Highest recovery kept in 90 % of the draws",
        ),
    ):
        key = f"verdict.{name}"
        if value is None and name != "kept_recovery":
            text = (
                "it cannot be judged: see the reasons of the verdict"
                if name == "probability"
                else no_card_words(found.case)
            )
            ledger.flag(Flag("not_computable", "info", f"{label}: {text}", key))
        ledger.put(
            key,
            value,
            "-",
            label,
            method="worst of the seasons, at the low limits",
            evidence="common practice",
            cites=("PRACTICE",),
        )
        follows = _kept_again(ledger, found) if name == "probability" else None
        ledger.rests(key, *behind, again=follows)
    ledger.flag(*told.flags)
    blind = [
        f"{scale_name(one.scale)} for want of {one.missing}"
        for one in found.case.unjudged
        if one.could_limit
    ]
    if blind:
        text = f"not judged, and it could limit: {'; '.join(blind)}"
        ledger.flag(Flag("unjudged_scale", "warning", text, "verdict.answer"))
    unseen = any(one.could_limit and not one.held for one in found.case.unjudged)
    sentence = quote_sentence(
        told.answer,
        str(ledger.study().value("water.date") or ""),
        asked.point.recovery,
        math.nan if unseen or not found.case.judged else found.case.nominal["likely"],
        by_kit=asked.water.sample == TEST_KIT,
    )
    _enter_quote_sentence(ledger, sentence)
    _enter_conditions(ledger, told.conditions)
    _enter_against(ledger, told.grave)
    _enter_decides(ledger, told.decides)
    _enter_reasons(ledger, told.reasons)
    _enter_recovery_spread(ledger, found, asked)
    enter_worst_season(ledger, found, [k for k in SPREAD if k in ledger])
    _enter_drivers(ledger, found)
    return found


def _kept_again(ledger: Ledger, found: Judgement) -> Again | None:
    """Return how the probability follows another recovery: it is read from the limits drawn."""
    if found.verdict.probability is None:
        return None
    limits = np.sort(np.nan_to_num(found.found.worst("low"), nan=0.0))
    as_drawn = ledger.number("recovery.max")

    def again(value: Callable[[str], Any]) -> Any:
        recovery, limit = value("machine.recovery"), value("recovery.max")
        if recovery is None or not isinstance(limit, float) or limit != as_drawn:
            return None  # another water: its limits were not drawn
        return 1.0 - np.searchsorted(limits, recovery, side="left") / limits.size

    return again


def _nothing_next(ledger: Ledger, found: Judgement) -> str:
    table = ledger.study().series.get("train.membrane_checks")
    rows = () if table is None else table.rows
    open_silt = any(row[0] == SDI and row[4] == NOT_MEASURED for row in rows)
    if open_silt and found.verdict.answer != "does not fit":
        return f"{SDI}, behind the cartridge filter"
    if settled(found.case):
        return "nothing: what decides is known"
    return "nothing: no one measurement would narrow it"


def _enter_quote_sentence(ledger: Ledger, sentence: str | None) -> None:
    """Enter what the quote says of the recovery; nothing where the design simply fits."""
    if sentence is not None:
        ledger.put("verdict.quote_sentence", sentence, "-", "On the quote")
        ledger.rests("verdict.quote_sentence", "verdict.answer")


def _enter_conditions(ledger: Ledger, conditions: Sequence[tuple[str, str]]) -> None:
    """Enter what must be seen to first, by code, so that a quote can say it in its own words."""
    if conditions:
        ledger.table(
            Series(
                "quote.conditions",
                "What must be seen to before the recovery is kept",
                ("code", "reason"),
                ("-", "-"),
                tuple(conditions),
                method="conditions of the verdict",
            )
        )


def _enter_against(ledger: Ledger, grave: Sequence[tuple[str, str]]) -> None:
    """Enter what speaks against an offer, by code, so that a draft can give its reasons."""
    if grave:
        ledger.table(
            Series(
                "quote.against",
                "What speaks against an offer",
                ("code", "reason"),
                ("-", "-"),
                tuple(grave),
                method="reasons of the verdict",
            )
        )


def _enter_decides(ledger: Ledger, decides: Sequence[tuple[str, str]]) -> None:
    """Enter the points of the verdict one by one, as every page lists and counts them."""
    ledger.table(
        Series(
            "verdict.decides",
            "What decides, and what must be seen to first",
            ("number", "is", "text"),
            ("-", "-", "-"),
            tuple((float(i), *point) for i, point in enumerate(decides, start=1)),
            method="rules of the verdict, gravest first",
            headings=("Number", "Is a", "Text"),
        )
    )


def _enter_reasons(ledger: Ledger, reasons: Sequence[str]) -> None:
    ledger.table(
        Series(
            "verdict.why",
            "All reasons of the verdict, gravest first",
            ("number", "reason"),
            ("-", "-"),
            tuple((float(i), reason) for i, reason in enumerate(reasons, start=1)),
            method="rules of the verdict",
            headings=("Number", "Reason"),
        )
    )


def split_of(water: WaterAnalysis) -> SplitCases | None:
    """Return the split of a hardness whose calcium and magnesium were not measured.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis after the split. [-]

    Returns
    -------
    SplitCases or None
        None where calcium or magnesium was measured. [-]
    """
    if not any(flag.code == "hardness_split_assumed" for flag in water.flags):
        return None
    return split_cases(water.properties["hardness_mg_l_caco3"])


def _question(ledger: Ledger, asked: Asked) -> Question:
    basis, taken = asked.basis, asked.taken
    known = asked.water.temperature_c is not None or basis.operating_temperature_c is not None
    seasons = seasons_of(
        taken.operating_temp_c,
        basis.coldest_temperature_c,
        basis.warmest_temperature_c,
        known=known,
    )
    split = split_of(asked.water)
    more = (
        *(uncertain_hardness(split, _stated_hardness(basis, split)) if split else ()),
        *uncertain_plant(asked.plant or {}),  # type: ignore[arg-type]
    )
    treat, parts = None, train_draws(ledger)
    if asked.stream_mg_l is not None:
        leaks = leakage_of(ledger)
        treat = following(taken.scaling, asked.stream_mg_l, leaks, parts.exchange)
    return Question(
        asked.water,
        taken,
        seasons,
        limit_band(asked.choices, asked.inhibitor),
        asked.point,
        treat=treat,
        carbon_lost_mol_kg=asked.carbon_lost_mol_kg,
        alkalinity_added_mg_l_caco3=asked.alkalinity_added_mg_l_caco3,
        train=parts,
        inhibitor=asked.inhibitor,
        obstacles=_obstacles(ledger, asked),
        more=more,
        site_pct=_stated(basis, taken),
        count=asked.count,
    )


def _stated(basis: WaterBasis, taken: Composition) -> dict[str, float]:
    """Return the expanded uncertainties that the site file states, by analyte [%]."""
    table = basis.uncertainty_pct
    every = {k: table["default"] for k in (*taken.scaling, "alkalinity") if "default" in table}
    return every | {k: v for k, v in table.items() if k != "default"}


def _stated_hardness(basis: WaterBasis, split: SplitCases) -> float | None:
    """Return the standard uncertainty of a total hardness where the site file states one."""
    table = basis.uncertainty_pct
    pct = table.get("hardness", table.get("default"))
    total = split.taken.hardness_mg_l_caco3
    return None if pct is None else total * pct / (PERCENT * COVERAGE)


def _obstacles(ledger: Ledger, asked: Asked) -> tuple[Obstacle, ...]:
    """Return what is no scale: valves, unsafe trains, pump and well, a split hardness."""
    found = []
    valves, recovery = asked.recovery_range, asked.point.recovery
    if valves and not valves[0] <= recovery <= valves[1]:
        text = (
            f"{recovery:.0%} recovery is outside what the machine's valves allow, "
            f"{valves[0]:.0%} to {valves[1]:.0%}"
        )
        found.append(Obstacle("stops", text))
    found += acid_obstacles(ledger, asked.water)
    found += flag_obstacles(ledger, asked.use.target)
    found += plant_obstacles(ledger)
    found += organic_obstacles(ledger, asked.water)
    found += heat_obstacles(ledger, asked.taken.operating_temp_c, asked.basis.warmest_temperature_c)
    found += near_obstacles(ledger, asked.water)
    found += report_obstacles(ledger)
    found += bound_obstacles(asked.water)
    found += observed_obstacles(asked.water)
    found += origin_obstacles(ledger, asked.water)
    found += unit_obstacles(ledger)
    found += old_obstacles(ledger, asked.water, asked.quoted)
    found += solids_obstacles(ledger, asked.water)
    found += metal_form_obstacles(ledger, asked.water)
    found += unread_obstacles(asked.water, asked.use)
    found += unmeasured_obstacles(ledger, asked.water, asked.use)
    found += sample_obstacles(asked.water, drunk=asked.use.target == DRINKING)
    found += softening_obstacles(ledger, asked.water)
    found += health_obstacles(ledger, asked.water, asked.use)
    found += boron_obstacles(ledger, asked.water, asked.use)
    warmest = asked.basis.warmest_temperature_c
    warmer = 0.0 if warmest is None else warmest - asked.taken.operating_temp_c
    found += product_obstacles(ledger, asked.water, asked.use, warmer)
    named = named_passing(asked.water, asked.use)
    found += other_obstacles(ledger, asked.water, recovery, named, asked.use)
    found += chlorine_obstacles(ledger, asked.water)
    found += temperature_obstacles(ledger)
    found += ammonium_obstacles(ledger, asked.water)
    found += waste_obstacles(ledger)
    found += activity_obstacles(ledger, asked.water, recovery, asked.use.jurisdiction)
    found += fluoride_obstacles(asked.water, recovery)
    if split_of(asked.water) and "ca" not in asked.water.unread:
        text = (
            "calcium and magnesium are not in the analysis: the total hardness was split by "
            "an assumption; measure calcium"
        )
        found.append(Obstacle("condition", text, code=GAP))
    return tuple(contradiction_obstacles(ledger, asked.water, found))


def _enter_recovery_spread(ledger: Ledger, found: Judgement, asked: Asked) -> None:
    """Put P10 and P90 on the maximum recovery of the operating water under the same limits."""
    if not found.found.sound.size:
        return
    here = next(i for i, s in enumerate(found.found.seasons) if s.name == "operating")
    spread = spread_of(found.found.maximum["likely"][here])
    if spread is None:
        return
    keys = SPREAD if asked.inhibitor and asked.choices.inhibitor else SPREAD[asked.inhibitor :][:1]
    for key in keys:
        if ledger.number(key) is not None:
            ledger.amend(key, p10=float(spread.p10), p90=float(spread.p90))


def _enter_drivers(ledger: Ledger, found: Judgement) -> None:
    """Enter the table of what drives the spread of the maximum recovery."""
    if not found.found.sound.size:
        return
    rows = drivers(found.draws, found.found.worst("likely"))
    ledger.table(
        Series(
            "verdict.drivers",
            "What drives the spread of the maximum recovery",
            ("input", "share", "rank_correlation", "width_if_halved", "width_if_exact"),
            ("-", "-", "-", "-", "-"),
            tuple(
                (r.name, r.share, r.rank_correlation, r.width_if_halved, r.width_if_exact)
                for r in rows
            ),
            method="from the same draws, worst season",
            cites=("PRACTICE",),
            headings=(
                "Input",
                "Share of the variance",
                "Rank correlation",
                "P10-P90 if halved",
                "P10-P90 if exact",
            ),
        )
    )


def enter_without_analysis(ledger: Ledger) -> None:
    """Enter the verdict where the scales cannot be judged at all.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    """
    why = "no full analysis: no scale can be judged, at any recovery"
    stops = [f.text for f in ledger.study().flags if f.code in UNSAFE and f.level == "warning"]
    for name, value, label in (
        ("answer", "does not fit" if stops else "depends", "Verdict"),
        ("reasons", "; ".join((*stops, why)), "Why"),
        (
            "measure_next",
            "a full analysis by a laboratory, with the pH at the well",
            "Measure next",
        ),
        ("probability", None, "Share of draws that keep every limit"),
        ("card_recovery", None, "Recovery kept in 90 % of the draws"),
    ):
        key = f"verdict.{name}"
        ledger.put(key, value, "-", label, evidence="common practice")
        ledger.rests(key, held=True)
        if value is None:
            ledger.flag(Flag("not_computable", "info", f"{label}: it cannot be judged", key))
    _enter_quote_sentence(ledger, NO_ANALYSIS)
    _enter_decides(ledger, tuple((REASON, text) for text in (*stops, why)))
    text = f"unjudged scale: {why}; send a sample to a laboratory"
    ledger.flag(Flag("unjudged_scale", "warning", text, "verdict.answer"))
