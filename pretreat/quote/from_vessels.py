"""A quote from vessel sizes alone: what is filled in, and what the trade expects anywhere."""

from pretreat.core.results import Ledger
from pretreat.life.duties import TURNS
from pretreat.life.figures import LABELS
from pretreat.life.sensitivity import NAMES
from pretreat.life.wear import wear
from pretreat.quote.figures import (
    Q,
    cost_key,
    enter_lines,
    enter_replacement_totals,
    enter_terms,
    flag_gaps,
)
from pretreat.quote.items import DISSOLVED, MEDIUM_VOLUME, enter_replacement, stages_with_media
from pretreat.quote.laws import all_beds_l
from pretreat.quote.lines import Line, Till
from pretreat.quote.offer import enter_offer
from pretreat.quote.plan import Plan, enter_media_per_year
from pretreat.quote.visits import enter_visits
from pretreat.site.design import DesignBasis
from pretreat.stages.bed.figures import nearest_vessel
from pretreat.stages.bed.vessels import nominal_vessels, vessel_area_m2
from pretreat.stages.packages import support
from pretreat.stages.train import Entries

SUPPLIES_OPEN = "offer.supplies_open"
BASIS = (
    "from vessel sizes alone, without a water analysis: what is filled in, not how long it lasts "
    "on this water; the general lives are common practice, no source"
)
ESTIMATE = (
    "Quantities are estimates from the sizes of the vessels; lives are the general range of the "
    "trade, and this water may fall outside it; they are no promise and no warranty"
)
LIVES = "common practice for small automatic units, no source: bad water to ordinary water"
CARBON_LIVES = "common practice, no source: 6 to 12 months, 24 at most"


def enter_vessel_quote(ledger: Ledger, design: DesignBasis) -> None:
    """Enter a quote for the media of vessels whose sizes are known and whose water is not.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    design : DesignBasis
        The engineer's choices, with the vessels installed. [-]
    """
    till = Till.of(Entries(ledger), design)
    enter_terms(till, BASIS, ESTIMATE)
    for stage, volume, diameter in _installed(design):
        if volume is not None:
            vessels = getattr(getattr(design, stage), "vessels", None) or 1
            _enter_installed(till.entries, stage, volume, diameter, vessels=vessels)
    stages = stages_with_media(till.entries)
    worn = tuple(stage for stage in stages if stage not in DISSOLVED)
    for stage in worn:  # how fast the water dissolves the others is not known without it
        _enter_usual_life(till.entries, stage)
    parts = {stage: enter_replacement(till, stage) for stage in stages}
    lines = enter_replacement_totals(till, parts)
    enter_lines(till, lines)
    if worn:
        _enter_per_year(till, worn, lines[-1])
    asked = design.quote.consumables
    if asked in {"included", "optional"}:
        label = "Supplies of a year asked for, which the water is not known for"
        till.entries.word(SUPPLIES_OPEN, asked, label, origin="chosen")
    enter_offer(till, design, lines, (), enter_visits(till, design, ()))
    flag_gaps(till, lines)
    till.entries.flag(
        "water_absent",
        "caution",
        "no water is given: this is a quote for media alone; intervals, salt, scaling and how long "
        "the media last need an analysis, or hardness and iron by a test kit",
        f"{Q}.basis",
    )


def _years(stage: str, end: str) -> str:
    return f"{Q}.{stage}_years_{end}"


def _enter_usual_life(entries: Entries, stage: str) -> None:
    """Enter how long the medium lasts anywhere, as the trade says."""
    age = wear()["carbon_age"]
    ends = {end: support()[f"media_years_{end}"].value for end in ("low", "high")}
    if stage == "carbon":
        ends = {"low": age.low, "high": age.high}
    for end, years in ends.items():
        entries.given(
            _years(stage, end),
            years,
            "year",
            f"{LABELS[stage]}: usual life of the trade, {end}",
            method=CARBON_LIVES if stage == "carbon" else LIVES,
        )


def _enter_per_year(till: Till, stages: tuple[str, ...], freight: Line) -> None:
    """Enter what media cost in a year at both ends of the usual life."""
    plan = Plan({s: cost_key(s) for s in stages}, {}, freight, None, "", "")
    for end, life in (("low", "high"), ("high", "low")):
        which = "long" if life == "high" else "short"
        enter_media_per_year(
            till,
            plan,
            f"{Q}.media_per_year_{end}",
            f"Media per year at the {which} end of the usual lives",
            {s: _years(s, life) for s in stages},
        )


def _installed(design: DesignBasis) -> list[tuple[str, float | None, float | None]]:
    iron, soft, carbon = design.iron_filter, design.softener, design.carbon
    calcite = design.neutralising_filter
    volume = iron.media_volume_l
    if volume is None and iron.vessel_diameter_m and iron.media_depth_m:
        volume = vessel_area_m2(iron.vessel_diameter_m) * iron.media_depth_m * 1000.0
    return [
        ("iron_filter", volume, iron.vessel_diameter_m),
        ("softener", soft.resin_volume_l, soft.vessel_diameter_m),
        ("carbon", carbon.media_volume_l, carbon.vessel_diameter_m),
        ("neutralising_filter", calcite.media_volume_l, calcite.vessel_diameter_m),
    ]


def _enter_installed(
    entries: Entries, stage: str, volume_l: float, diameter: float | None, *, vessels: int
) -> None:
    label = NAMES[stage]
    soft = stage == "softener"
    installed = "softener.resin_volume_l" if soft else f"{stage}.media_volume_l"
    entries.given(installed, volume_l, "L", f"{LABELS[stage]} installed", origin="chosen", cites=())
    number = f"{stage}.vessels"
    entries.given(number, float(vessels), "-", f"{label}: all vessels", cites=())
    if soft:
        one = f"{stage}.vessels_side_by_side"
        entries.given(one, 1.0, "-", "Vessels that share the flow", cites=())
        entries.given(TURNS, float(vessels), "-", "Vessels for each that shares it", cites=())
    if MEDIUM_VOLUME[stage] != installed:
        entries.law(
            MEDIUM_VOLUME[stage],
            all_beds_l,
            bed_l=installed,
            beds_taking_turns=number,
            label=f"{LABELS[stage]}: medium in all vessels",
        )
    known = diameter is not None
    size = (
        diameter if diameter is not None else nearest_vessel(nominal_vessels(), volume_l).diameter_m
    )
    entries.given(
        f"{stage}.vessel_diameter_m",
        size,
        "m",
        f"{label}: vessel diameter",
        origin="chosen" if known else "assumed",
        method="" if known else "nearest nominal size",
    )
