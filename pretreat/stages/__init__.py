"""The unit processes that a train is made of, in the order of flow."""

import re

from pretreat.stages.acid.stage import ACID
from pretreat.stages.aeration.stage import AERATION
from pretreat.stages.alkali.stage import ALKALI
from pretreat.stages.bisulfite.stage import BISULFITE
from pretreat.stages.blending.stage import BLENDING
from pretreat.stages.bypass.stage import BYPASS
from pretreat.stages.carbon.stage import CARBON
from pretreat.stages.cartridge.stage import CARTRIDGE
from pretreat.stages.chlorine.stage import CHLORINE
from pretreat.stages.contact_tank.stage import CONTACT_TANK
from pretreat.stages.degasser.stage import DEGASSER
from pretreat.stages.inhibitor.stage import INHIBITOR
from pretreat.stages.iron_filter.stage import IRON_FILTER
from pretreat.stages.multimedia.stage import MULTIMEDIA
from pretreat.stages.neutralising_filter.stage import NEUTRALISING_FILTER
from pretreat.stages.permanganate.stage import PERMANGANATE
from pretreat.stages.product_alkali.stage import PRODUCT_ALKALI
from pretreat.stages.product_degasser.stage import PRODUCT_DEGASSER
from pretreat.stages.raw_tank.stage import RAW_TANK
from pretreat.stages.softener.stage import SOFTENER
from pretreat.stages.stage import Setting, Stage, resolve
from pretreat.stages.weak_acid.stage import WEAK_ACID

ORDER: tuple[Stage, ...] = (
    RAW_TANK,
    AERATION,
    CHLORINE,
    PERMANGANATE,
    CONTACT_TANK,
    IRON_FILTER,
    MULTIMEDIA,
    SOFTENER,
    BYPASS,
    WEAK_ACID,
    DEGASSER,
    CARBON,
    BISULFITE,
    ACID,
    ALKALI,
    INHIBITOR,
    CARTRIDGE,
    PRODUCT_DEGASSER,
    NEUTRALISING_FILTER,
    PRODUCT_ALKALI,
    BLENDING,
)
BY_KEY = {stage.key: stage for stage in ORDER}


def train_in_words(keys: str) -> str:
    """Return a train given by its keys with the names of its stages.

    Parameters
    ----------
    keys : str
        Keys of stages, " + " between them; another text stays as it is. [-]

    Returns
    -------
    str
        Such as "iron filter + carbon + cartridge filter". [-]
    """
    named = []
    for part in keys.split(" + "):
        key, _, how = part.partition(" (")
        words = f"{how.removesuffix(')')} {BY_KEY[key].name}".strip() if key in BY_KEY else part
        named.append(words)
    return " + ".join(named)


_KEY = r"[a-z_]+(?: \([a-z-]+\))?"  # of a stage, with how it is run
_TRAINS = re.compile(rf"\b{_KEY}(?: \+ {_KEY})+")


def trains_in_words(text: str) -> str:
    """Return a text in which every train given by its keys has the names of its stages.

    Parameters
    ----------
    text : str
        Such as "none: the next train, softener + carbon, costs more". [-]

    Returns
    -------
    str
        The text. [-]
    """
    return _TRAINS.sub(_one_train, text) if " + " in text else text


def _one_train(found: re.Match[str]) -> str:
    """Return a train in words; what is named already, as "carbon + cartridge filter", stays."""
    first, *most, last = found[0].split(" + ")
    name, start = (BY_KEY[first].name if first in BY_KEY else first), found.start()
    if not (name.endswith(first) and found.string[:start].endswith(name[: -len(first)])):
        first = train_in_words(first)  # else the end of a name, as of "softener bypass"
    name = BY_KEY[last].name if last in BY_KEY else last
    named = name.startswith(last) and found.string.startswith(name[len(last) :], found.end())
    return " + ".join([first, *map(train_in_words, most), last if named else train_in_words(last)])


__all__ = ["BY_KEY", "ORDER", "Setting", "Stage", "resolve", "train_in_words", "trains_in_words"]
