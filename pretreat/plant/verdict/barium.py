"""Barium on a softener: what it does in the bed and in the brine."""

import numpy as np

from pretreat.core.results import Ledger
from pretreat.core.undetected import up_to
from pretreat.plant.uncertainty.draws import drawn
from pretreat.plant.uncertainty.water_draws import drawn_water, feeds
from pretreat.plant.verdict.case import Obstacle
from pretreat.plant.verdict.judge import Question

RESIN, RADIUM = "softener.resin_volume_l", "water.ra_pci_l"
MUCH_SI = 1.0  # PRACTICE: of barite in the raw water, ten times above saturation


def barium_obstacles(ledger: Ledger, question: Question) -> list[Obstacle]:
    """Return what barium asks for where a softener takes it.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]
    question : Question
        The design whose verdict is asked. [-]

    Returns
    -------
    list of Obstacle
        One condition, where barite is well above saturation in the raw water already.
    """
    q = question
    barium = q.taken.scaling.get("ba")
    if RESIN not in ledger or not barium or not q.taken.scaling.get("so4") or q.water.ph is None:
        return []
    raw = feeds(drawn_water(q.taken, q.water.ph, drawn((), 0)), q.seasons)
    found = np.ravel(np.asarray(raw.speciation.si("barite"), float))
    if not np.all(np.isfinite(found)) or float(np.max(found)) <= MUCH_SI:
        return []
    most = up_to(ledger, ("ba",), barium, 0.0)
    seen = f"barium {barium:.2g} mg/L" if most is None else f"barium, up to {most:.2g} mg/L of it,"
    text = (
        f"{seen} goes onto the resin, and barite is above saturation in the raw "
        f"water already (SI {float(np.max(found)):.1f}): where its brine meets sulfate, barite "
        "comes down in the bed and no brine takes it off: low-sulfate salt, brine made up with "
        "softened water, the bed looked at each year (common practice)"
    )
    if ledger.number(RADIUM):
        text += "; radium stays with it, in the bed and in the drain: ask the authority"
    finer = "" if most is None else "barium, with a lower limit of detection"
    if finer:
        text += f"; none of it was found: analyse {finer}"
    return [Obstacle("condition", text, measure=finer, code="barium_in_bed")]
