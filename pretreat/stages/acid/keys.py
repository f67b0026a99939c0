"""The choices for acid feed and their keys in the site file."""

from collections.abc import Mapping
from typing import Any

from pretreat.site.keys import Table, plain, word
from pretreat.stages.dosing.figures import DELIVERED_KEY, FEEDER_KEYS, Feeder


class AcidDesign(Feeder, frozen=True):
    """Choices for acid feed; without dose and target, the index meets its limit.

    That is the cautious one beside an inhibitor. ``acid`` None leaves sulfuric or hydrochloric
    to the sulfates of the concentrate.
    """

    acid: str | None = None
    target_ph: float | None = None
    target_lsi: float | None = None


def fitting(values: Mapping[str, Any]) -> list[str]:
    """Refuse more than one of dose, pH and index, and a strength of an acid that is not named.

    Parameters
    ----------
    values : mapping
        The table as read. [-]

    Returns
    -------
    list of str
        Faults. [-]
    """
    faults = []
    given = [key for key in ("dose_mg_l", "target_ph", "target_lsi") if key in values]
    if len(given) > 1:
        faults += [f"[acid] {' and '.join(given)}: one follows from the other; write one of them"]
    if "delivered_percent" in values and "acid" not in values:
        faults += ['[acid] delivered_percent: of which acid? Write acid = "sulfuric" too']
    return faults


TABLE = Table(
    AcidDesign,
    {
        **FEEDER_KEYS,
        **DELIVERED_KEY,
        "acid": ("acid", word("sulfuric", "hydrochloric"), ""),
        **plain("target_ph", 4.5, 9.0),
        **plain("target_lsi", -3.0, 3.0),
    },
    check=fitting,
)
