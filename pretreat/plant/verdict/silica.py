"""Silica that only a dispersant carries: the supplier has to confirm it, and metals undo it."""

import numpy as np
from msgspec.structs import replace

from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.undetected import up_to
from pretreat.membrane.bands import Limits
from pretreat.membrane.metals import BESIDE_SILICA, thresholds
from pretreat.plant.uncertainty.bands import LimitBand
from pretreat.plant.uncertainty.spread import LIKELY
from pretreat.plant.verdict.case import NO_TRAIN, Obstacle
from pretreat.plant.verdict.judge import Question, as_analysed, judge

SATURATED, NEAR = 100.0, 75.0  # percent; below the second no spread of an analysis reaches it
FEW_DRAWS = 256  # tell nine in ten well enough for a condition
CODE, SILICA = "silica_metals", "silica"
# Figures of what takes iron or holds its rust ahead of the membranes.
TAKERS = {
    "iron filter": "iron_filter.media_volume_l",
    "softener": "softener.iron_manganese_in_mg_l",
    "multimedia filter": "multimedia.media_volume_l",
}
METALS_AHEAD = "iron and aluminium, at the outlet of the train"


def silica_obstacles(ledger: Ledger, question: Question) -> list[Obstacle]:
    """Return what a design asks for that relies on a dispersant of silica.

    Iron or aluminium undoes a dispersant: with more of either onto the membranes than it bears
    its credit falls, and without it nobody knows whether the design keeps silica dissolved.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]
    question : Question
        The design whose verdict is asked. [-]

    Returns
    -------
    list of Obstacle
        One where a season is above saturation with an inhibitor, or may be by its draws.
    """
    q = question
    if not q.inhibitor or not q.taken.scaling.get("sio2") or q.water.ph is None:
        return []
    feed, brine = as_analysed(q)
    index = np.ravel(np.broadcast_to(brine.speciation.si(SILICA), (len(q.seasons), 1)))
    found = 100.0 * 10.0**index
    if not np.all(np.isfinite(found)):
        return []
    worst = int(np.argmax(found))
    over = bool(found[worst] > SATURATED)
    if not over and not (found[worst] > NEAR and _relies(q)):
        return []
    season, least = q.seasons[worst], thresholds()["silica_metal_mg_l"]
    colder = ""
    if all(one.name != "coldest" for one in q.seasons):
        colder = "; no coldest temperature is given, and colder water holds less of it: give it"
    drawn = "" if over else ", and more than one draw in ten is above saturation"
    text = (
        f"silica stands at {found[worst]:.0f} % of saturation in the concentrate of the "
        f"{season.name} water ({season.temp_c:g} °C){drawn}: only a dispersant for silica carries "
        "that (common practice, no published limit): let the supplier of the inhibitor confirm "
        "this figure for this water in writing"
    )
    onto = {k: float(np.ravel(feed.mg_l[k])[0]) for k in BESIDE_SILICA if k in feed.mg_l}
    taken = [name for name, key in TAKERS.items() if key in ledger]
    if not taken:  # what is undissolved reaches the membranes as well
        onto = {k: max(v, q.water.total_mg_l.get(k, 0.0)) for k, v in onto.items()}
    onto = {k: v for k, v in onto.items() if v > least}
    if not onto:
        text += f"; it holds below {least:g} mg/L of iron and of aluminium only{colder}"
        return [Obstacle("condition", text, code=CODE)]
    most = {k: up_to(ledger, (k,), v, least) for k, v in onto.items()}
    sure = any(one is None for one in most.values())
    told = " and ".join(
        f"{analytes()[k].name} {f'{v:.2g}' if most[k] is None else f'up to {most[k]:.2g}'} mg/L"
        for k, v in onto.items()
    )
    undone = f"a dispersant holds below {least:g} mg/L of iron and of aluminium only"
    if sure and not taken and ledger.study().value("study.kind") != NO_TRAIN:
        text += (
            f"; {undone}, and {told} reaches the membranes: it may not be counted on: take the "
            f"metal out ahead, or keep silica below saturation by less recovery{colder}"
        )
        return [Obstacle("question", text, of_train=True, measure=METALS_AHEAD, code=CODE)]
    where = f"with the {' and '.join(taken)} ahead it is counted as {told}" if taken else told
    text += f"; {undone}, and {where}: measure both at the outlet of the train{colder}"
    return [Obstacle("condition", text, measure=METALS_AHEAD, code=CODE)]


def _relies(q: Question) -> bool:
    """Tell whether fewer than nine draws in ten keep silica below saturation by itself."""
    if not q.count or not _is_credited(q.band.low):
        return False
    plain = LimitBand(*(_saturated(q.band.of(column)) for column in ("low", "likely", "high")))
    alone = replace(q, band=plain, obstacles=(), count=min(q.count, FEW_DRAWS))
    kept = [one.kept["low"] for one in judge(alone).case.scales if one.scale == SILICA]
    return bool(kept) and kept[0] < LIKELY


def _is_credited(limits: Limits) -> bool:
    return SILICA in limits.si and float(np.asarray(limits.si[SILICA])) > 0.0


def _saturated(limits: Limits) -> Limits:
    return replace(limits, si={**limits.si, SILICA: 0.0})
