"""The choices for the feed of bisulfite and their keys in the site file."""

from pretreat.site.keys import Table, plain
from pretreat.stages.dosing.figures import FEEDER_KEYS, Feeder


class BisulfiteDesign(Feeder, frozen=True):
    """Choices for the feed of bisulfite, as NaHSO3."""

    excess: float | None = None


TABLE = Table(BisulfiteDesign, {**FEEDER_KEYS, **plain("excess", 1.0, 10.0)})
