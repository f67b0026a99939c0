"""What a unit process is to the rest of the program: a descriptor of data alone.

Functions are named as ``module:function`` and found when the plant needs them, so that a
descriptor can be read by the pages without any of the code that computes.
"""

from functools import cache
from importlib import import_module
from typing import Any, Literal

from msgspec import Struct, field

Side = Literal["feed", "product"]


class Step(Struct, frozen=True):
    """A step of a backwash or regeneration that draws on the supply: its name, time and flow.

    ``minutes`` and ``flow`` are keys of figures of one vessel, or a ``module:function`` of a
    lookup of figures; ``flow`` may be "feed", the feed of the machine shared by the vessels.
    ``rests`` are the keys that such a function looks up.
    """

    name: str
    minutes: str
    flow: str
    rests: tuple[str, ...] = ()


class Wash(Struct, frozen=True):
    """Where the water and the times of a regeneration or backwash stand, as keys of figures."""

    water: str
    per_week: str
    minutes: tuple[str, ...]
    steps: tuple[Step, ...] = ()
    metered: bool = False  # its choices have a ``control`` that may be a meter
    treated: bool = False  # it draws on water that passed the stages ahead of it
    in_turn: bool = False  # it may have twins that keep the flow while it regenerates


class OwnLife(Struct, frozen=True):
    """What ends the life of a medium, said by its stage: a law, its arguments, and the load.

    An argument is the key of a figure, or ``[name]`` for a coefficient of data/wear.csv.
    """

    mechanism: str  # in words, joined by underscores
    law: str  # module:law, years out
    arguments: tuple[tuple[str, str], ...]
    load: str  # what it rests on, in words


class Medium(Struct, frozen=True):
    """What wears and is replaced: its name, the key of its volume, and how its life is found."""

    label: str
    volume: str
    price: str
    words: str = ""  # in sentences
    life: OwnLife | None = None  # where its stage says itself what ends it
    turns: str = ""  # key of the vessels that stand in for each other
    life_changes: tuple[str, ...] = ()  # what the likely life moves with
    interval: str = ""  # key of the interval that governs, for the table of sensitivity
    interval_changes: tuple[str, ...] = ()

    @property
    def dissolves(self) -> bool:
        """Tell whether the water dissolves it: it is topped up, and never wears out."""
        return self.life is not None and self.life.mechanism == "dissolution"


class Consumable(Struct, frozen=True):
    """What a year uses up: item of the price list, label, and the key of the amount."""

    item: str
    label: str
    amount: str
    each: Literal["cycle", "year"] = "cycle"
    in_grams: bool = False  # the amount is in grams, else in kilograms


class Setting(Struct, frozen=True):
    """A line of the settings card: words, key, and the key of its twin on a US gauge.

    ``control`` is what a valve must be run by to take it: a clock, a meter, a meter that waits
    for its hour, or one that may call while the machine runs, which its contact then stops.
    ``with_`` and ``without`` are keys of figures that must be above zero, or must not be.
    """

    words: str
    key: str
    us_key: str = ""
    control: Literal["", "clock", "meter", "wait", "stopped"] = ""
    with_: str = ""
    without: str = ""


def feed_settings(key: str) -> tuple[Setting, ...]:
    """Return what is set at a chemical feed: dose, strength of the day tank, pump.

    Parameters
    ----------
    key : str
        Key of the feed. [-]

    Returns
    -------
    tuple of Setting
        Lines of the card. [-]
    """
    return (
        Setting("Dose", f"{key}.dose_mg_l"),
        Setting("Day tank, strength", f"{key}.solution_g_l"),
        Setting("Pump, output", f"{key}.solution_l_h"),
        Setting("Pump, strokes", f"{key}.strokes_per_min"),
        Setting("Day tank lasts", f"{key}.kept_days"),
    )


class Stage(Struct, frozen=True):
    """A unit process: its names, its side of the membranes, its functions and its place.

    ``decide`` takes a `Question` and returns a `Decision`; ``treat`` takes the train and a
    stream, enters what the process makes of the water and returns the stream behind it;
    ``enter`` takes the train and the keys of the wash water of the stages behind it, and
    sizes or rates; ``deliver``, of a stage on the product side, takes the train and the water
    that reaches it (`Delivered`), sizes or rates, and returns the water behind it.
    """

    key: str
    name: str
    label: str
    decide: str
    side: Side = "feed"
    optional: bool = False  # only where the site file describes it: not listed where it is out
    prepare: str = ""  # what the stages ahead of it must know before the water flows
    treat: str = ""
    enter: str = ""
    deliver: str = ""  # of the product side, in place of ``treat`` and ``enter``
    site: str = ""  # module:TABLE, its keys in the site file
    wash: Wash | None = None
    medium: Medium | None = None
    consumables: tuple[Consumable, ...] = ()
    card: tuple[Setting, ...] = ()
    sheet: str = ""  # title of its sheet in the workbook; none where it has no sheet of its own
    sheet_title: str = ""
    shows: tuple[str, ...] = ()  # other prefixes of keys that belong on its sheet
    main: tuple[str, ...] = ()  # keys that a reader looks for first
    main_heading: str = ""  # their heading; its label where empty
    cautions: tuple[str, ...] = field(default=())  # topics of data/cautions.csv


@cache
def resolve(name: str) -> Any:
    """Return what a descriptor names as ``module:attribute``, within the package.

    Parameters
    ----------
    name : str
        Such as "pretreat.stages.softener.figures:enter". [-]

    Returns
    -------
    object
        The function or record. [-]
    """
    module, attribute = name.split(":")
    return getattr(import_module(module), attribute)
