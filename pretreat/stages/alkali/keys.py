"""The choices for alkali feed and their keys in the site file."""

from collections.abc import Mapping
from typing import Any

from pretreat.site.keys import Table, plain, word
from pretreat.stages.dosing.figures import DELIVERED_KEY, FEEDER_KEYS, Feeder


class AlkaliDesign(Feeder, frozen=True):
    """Choices for alkali feed; without dose and target, the pH that manganese needs."""

    base: str = "caustic"
    target_ph: float | None = None


def one_target(values: Mapping[str, Any]) -> list[str]:
    """Refuse both a dose and a pH.

    Parameters
    ----------
    values : mapping
        The table as read. [-]

    Returns
    -------
    list of str
        Faults. [-]
    """
    if "dose_mg_l" in values and "target_ph" in values:
        return ["[alkali] dose and target_ph: one follows from the other; write one of them"]
    return []


TABLE = Table(
    AlkaliDesign,
    {
        **FEEDER_KEYS,
        **DELIVERED_KEY,
        "base": ("base", word("caustic", "soda_ash"), ""),
        **plain("target_ph", 6.0, 10.5),
    },
    check=one_target,
)
