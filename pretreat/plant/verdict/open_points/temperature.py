"""A water whose temperature nobody gave: the scales were judged at one that was assumed."""

from pretreat.core.results import Ledger
from pretreat.plant.verdict.case import Obstacle

CODE = "temperature_assumed"
ASK = "the temperature of the water at the well, coldest and warmest"


def temperature_obstacles(ledger: Ledger) -> list[Obstacle]:
    """Return the condition of a temperature that neither the report nor the site file gives.

    Parameters
    ----------
    ledger : Ledger
        With the water entered. [-]

    Returns
    -------
    list of Obstacle
        One condition at most. [-]
    """
    return [
        Obstacle("condition", flag.text, anyway=True, measure=ASK, code=CODE)
        for flag in ledger.study().flags
        if flag.code == CODE
    ][:1]
