"""The unit processes that a train is made of, in the order of flow."""

from pretreat.stages.acid.stage import ACID
from pretreat.stages.carbon.stage import CARBON
from pretreat.stages.cartridge.stage import CARTRIDGE
from pretreat.stages.inhibitor.stage import INHIBITOR
from pretreat.stages.iron_filter.stage import IRON_FILTER
from pretreat.stages.multimedia.stage import MULTIMEDIA
from pretreat.stages.raw_tank.stage import RAW_TANK
from pretreat.stages.softener.stage import SOFTENER
from pretreat.stages.stage import Stage, resolve

ORDER: tuple[Stage, ...] = (
    RAW_TANK,
    IRON_FILTER,
    MULTIMEDIA,
    SOFTENER,
    CARBON,
    ACID,
    INHIBITOR,
    CARTRIDGE,
)
BY_KEY = {stage.key: stage for stage in ORDER}

__all__ = ["BY_KEY", "ORDER", "Stage", "resolve"]
