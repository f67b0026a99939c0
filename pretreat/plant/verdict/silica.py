"""Silica above saturation, which only a dispersant carries: the supplier has to confirm it."""

import numpy as np

from pretreat.membrane.metals import thresholds
from pretreat.plant.verdict.case import Obstacle
from pretreat.plant.verdict.judge import Question, as_analysed

SATURATED = 100.0  # percent


def silica_obstacles(question: Question) -> list[Obstacle]:
    """Return what a design asks for that relies on a dispersant of silica.

    Parameters
    ----------
    question : Question
        The design whose verdict is asked. [-]

    Returns
    -------
    list of Obstacle
        One condition with the saturation, where a season is above 100 % with an inhibitor.
    """
    q = question
    if not q.inhibitor or not q.taken.scaling.get("sio2") or q.water.ph is None:
        return []
    _, brine = as_analysed(q)
    index = np.ravel(np.broadcast_to(brine.speciation.si("silica"), (len(q.seasons), 1)))
    found = 100.0 * 10.0**index
    if not np.all(np.isfinite(found)):
        return []
    worst = int(np.argmax(found))
    if not found[worst] > SATURATED:
        return []
    season, metals = q.seasons[worst], thresholds()["silica_metal_mg_l"]
    colder = ""
    if all(one.name != "coldest" for one in q.seasons):
        colder = "; no coldest temperature is given, and colder water holds less of it: give it"
    text = (
        f"silica stands at {found[worst]:.0f} % of saturation in the concentrate of the "
        f"{season.name} water ({season.temp_c:g} °C): only a dispersant for silica carries that "
        "(common practice, no published limit): let the supplier of the inhibitor confirm this "
        f"figure for this water in writing; it holds below {metals:g} mg/L of iron and of "
        f"aluminium only{colder}"
    )
    return [Obstacle("condition", text, code="silica_metals")]
