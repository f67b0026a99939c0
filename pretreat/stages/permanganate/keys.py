"""The choices for the continuous feed of permanganate and their keys in the site file."""

from pretreat.site.keys import Table
from pretreat.stages.dosing.figures import FEEDER_KEYS, Feeder

TABLE = Table(Feeder, FEEDER_KEYS)
