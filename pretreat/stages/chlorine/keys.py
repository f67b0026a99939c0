"""The choices for the feed of chlorine and their keys in the site file."""

from pretreat.site.keys import Table, measured, plain
from pretreat.stages.dosing.figures import DELIVERED_KEY, FEEDER_KEYS, Feeder


class ChlorineDesign(Feeder, frozen=True):
    """Choices for the feed of chlorine, as Cl2."""

    residual_mg_l: float | None = None
    breakpoint: float | None = None


TABLE = Table(
    ChlorineDesign,
    {
        **FEEDER_KEYS,
        **DELIVERED_KEY,
        **measured("residual", "mg_l", "mg/L", 0.0, 10.0),
        **plain("breakpoint", 5.1, 20.0),
    },
)
