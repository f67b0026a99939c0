"""The choices for the feed of bisulfite and their keys in the site file."""

from dataclasses import dataclass

from pretreat.site.keys import Table, plain
from pretreat.stages.dosing.figures import FEEDER_KEYS, Feeder


@dataclass(frozen=True, slots=True)
class BisulfiteDesign(Feeder):
    """Choices for the feed of bisulfite, as NaHSO3."""

    excess: float | None = None


TABLE = Table(BisulfiteDesign, {**FEEDER_KEYS, **plain("excess", 1.0, 10.0)})
