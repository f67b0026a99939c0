"""What the water at the membranes asks for beside its scales: pH, silica, sulfide, a tank."""

from typing import Any

import numpy as np
from msgspec.structs import replace

from pretreat.chemistry.sulfide import si_iron_sulfide
from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.interpret.choose import SILICA_FORMS
from pretreat.membrane.concentrate import Concentrate
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.recovery import excesses
from pretreat.plant.uncertainty.spread import LIKELY
from pretreat.plant.verdict.case import GAP, NO_TRAIN, Obstacle
from pretreat.plant.verdict.judge import Judgement, Question, as_analysed, keeps_low_limits
from pretreat.stages.limits import train_limits
from pretreat.stages.raw_tank.figures import carbon_if_vented_mol_kg

SULFIDE = "h2s_mg_l"
# PRACTICE: from where on iron beside sulfide is no scatter of two results; of SI the model's own.
CLEAR_IRON_MG_L, CLEAR_SULFIDE_MG_L, CLEAR_SI = 0.05, 0.1, 0.3
FILTERED = ("iron_filter.media_volume_l", "aeration.air_to_water")
DECHLORINATED = {"carbon.media_volume_l": "carbon", "bisulfite.dose_mg_l": "bisulfite"}
WATCHED_MG_L = 0.1  # PRACTICE: of free chlorine; below it a test at the well hardly tells
NEAR_SILICA_PCT = 80.0  # PRACTICE: of saturation, from where on aluminium decides
ALUMINIUM = "aluminium"
PH_AGAIN = "pH at the well"
GROUT = (
    "acid ahead of them, or no design; above 10 is no natural groundwater: look for cement grout "
    "or lime in the well, and measure the pH again"
)
BASE = "neutralise it ahead of them, and measure the pH again"


def membrane_obstacles(ledger: Ledger, question: Question) -> list[Obstacle]:
    """Return what the water at the membranes asks for, and no scale tells.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]
    question : Question
        The design whose verdict is asked. [-]

    Returns
    -------
    list of Obstacle
        Gravest first. [-]
    """
    found = _silica_forms(question)
    if question.water.ph is None:
        return found
    feed, brine = as_analysed(question)
    return [
        *_ph(question, feed, brine),
        *found,
        *_iron_sulfide(ledger, question, brine),
        *_aluminium(question, brine),
    ]


def _highest(values: Any) -> float:
    found = np.ravel(np.asarray(values, float))
    found = found[np.isfinite(found)]
    return float(found.max()) if found.size else float("nan")


def _ph(q: Question, feed: FeedWater, brine: Concentrate) -> list[Obstacle]:
    """Return what a water outside the pH that membranes bear stops, or asks for."""
    most, least = (train_limits()[f"membrane_ph_{end}"] for end in ("most", "least"))
    ends = [np.ravel(np.asarray(w.speciation.ph, float)) for w in (feed, brine)]
    both = np.concatenate(ends)
    high, low, of_well = _highest(both), -_highest(-both), q.water.ph or 0.0
    do = GROUT if high > most.value or of_well > most.value else BASE
    range_of = f"{least.value:g} and {most.value:g} ({most.evidence}; the rating of the element"
    if high > most.value or low < least.value:
        text = (
            f"pH {_highest(ends[0]):.1f} onto the membranes, {_highest(ends[1]):.1f} in the "
            f"concentrate: polyamide runs between {range_of} decides): {do}"
        )
        return [Obstacle("stops", text, of_train=True, measure=PH_AGAIN, code="acid_water")]
    if least.value <= of_well <= most.value:
        return []
    text = (
        f"the well water has pH {of_well:.1f}, and polyamide runs between {range_of} decides): "
        "what is dosed ahead has to hold it for every litre: a pH meter behind it that stops the "
        f"machine; {do}"
    )
    return [Obstacle("condition", text, anyway=True, measure=PH_AGAIN, code="acid_water")]


def _silica_forms(question: Question) -> list[Obstacle]:
    """Return the condition of two results of silica that are clearly apart."""
    ask = "dissolved and total silica, and the silt density index"
    return [
        Obstacle("condition", flag.text, anyway=True, measure=ask, code="membrane_feed")
        for flag in question.water.flags
        if flag.code == SILICA_FORMS
    ]


def _iron_sulfide(ledger: Ledger, q: Question, brine: Concentrate) -> list[Obstacle]:
    """Return the condition of ferrous iron beside sulfide, where nothing filters them."""
    sulfide = q.water.properties.get(SULFIDE)
    iron = max(q.water.mg_l.get("fe", 0.0), q.water.total_mg_l.get("fe", 0.0))
    if not sulfide or not iron or any(key in ledger for key in FILTERED):
        return []
    well, _ = as_analysed(replace(q, treat=None))
    of_well = _highest(si_iron_sulfide(well.speciation, sulfide))
    of_brine = _highest(si_iron_sulfide(brine.speciation, sulfide))
    worst = max(x for x in (of_well, of_brine, -np.inf) if not np.isnan(x))
    if not worst > 0.0:
        return []
    text = (
        f"iron {iron:.2g} mg/L beside sulfide {sulfide:.2g} mg/L: iron sulfide is above "
        f"saturation (FeS, SI {worst:.1f}; WATEQ4F): black, it comes down on resin, cartridges "
        "and membranes without any air: filter a sample at 0.45 µm at the well, and take the iron "
        "out ahead or run a pilot"
    )
    clearly = iron >= CLEAR_IRON_MG_L and sulfide >= CLEAR_SULFIDE_MG_L and worst >= CLEAR_SI
    if clearly and ledger.study().value("study.kind") != NO_TRAIN:
        return [Obstacle("question", text, anyway=True, code="sulfide")]
    return [Obstacle("condition", text, anyway=True, code="sulfide")]


def _aluminium(q: Question, brine: Concentrate) -> list[Obstacle]:
    """Return the condition of aluminium that nobody looked for where silica is near its limit."""
    if not q.taken.scaling.get("sio2") or q.water.measured("al") or "al" in q.water.unread:
        return []
    found = 100.0 * 10.0 ** _highest(brine.speciation.si("silica"))
    if not found > NEAR_SILICA_PCT:
        return []
    text = (
        f"{ALUMINIUM} is not in the analysis, and silica stands at {found:.0f} % of saturation in "
        "the concentrate: aluminium above 0.05 mg/L brings it down below saturation (common "
        "practice): measure aluminium"
    )
    return [Obstacle("condition", text, measure=ALUMINIUM, code=GAP)]


def chlorine_obstacles(ledger: Ledger, water: WaterAnalysis) -> list[Obstacle]:
    """Return the condition of chlorine of the well that one stage alone keeps from the membranes.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    list of Obstacle
        One condition at most; none where chlorine is fed, which has its own. [-]
    """
    found = water.properties.get("free_chlorine_mg_l") or 0.0
    taken = next((words for key, words in DECHLORINATED.items() if key in ledger), "")
    if found < WATCHED_MG_L or not taken or "chlorine.dose_mg_l" in ledger:
        return []
    text = (
        f"free chlorine is {found:.2g} mg/L in the raw water, and {taken} alone keeps it from the "
        "membranes: test free chlorine behind it and stop the machine on it; what is spent or runs "
        "out lets it through without a sign (common practice)"
    )
    return [Obstacle("condition", text, code="chlorine_of_well")]


def tank_obstacles(ledger: Ledger, question: Question, found: Judgement) -> list[Obstacle]:
    """Return the condition of a raw tank that must be closed for the verdict to hold.

    Of a tank whose venting the site file does not state, carbon dioxide is kept; a tank of a
    small plant is open as a rule (common practice).

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]
    question : Question
        The design whose verdict is asked. [-]
    found : Judgement
        Its verdict with a closed tank. [-]

    Returns
    -------
    list of Obstacle
        One condition at most, where a vented tank breaks a limit that the verdict keeps. [-]
    """
    lost = carbon_if_vented_mol_kg(ledger)
    if lost is None or not _keeps(found) or question.train.stripper is not None:
        return []
    lost += question.carbon_lost_mol_kg
    vented = replace(question, carbon_lost_mol_kg=lost, obstacles=())
    brines = [as_analysed(q)[1] for q in (question, vented)]
    closed, opened = (excesses(brine, question.band.low) for brine in brines)
    if keeps_low_limits(question, found, {k: opened[k] - closed[k] for k in closed}):
        return []
    lsi = [_highest(brine.any_lsi()) for brine in brines]
    way = "" if question.inhibitor else ", or inhibitor or acid fed"
    text = (
        f"the raw tank has to be closed to the air{way}: carbon dioxide is counted as kept, and an "
        f"open tank loses about half of it (common practice): vented, the concentrate reaches LSI "
        f"{lsi[1]:.2f} instead of {lsi[0]:.2f} and a limit that the verdict keeps is broken; for "
        "an open tank give vented_raw_tank = true in [supply], for a closed one false"
    )
    return [Obstacle("condition", text, anyway=True, code="raw_tank_small")]


def _keeps(judged: Judgement) -> bool:
    if judged.case.kept is not None:
        return judged.case.kept["low"] >= LIKELY
    kept = judged.found.nominal_kept["low"]
    return all(bool(np.all(kept[k])) for k in judged.found.scales)
