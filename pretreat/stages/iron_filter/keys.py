"""The iron filter's choices and their keys in the site file."""

from typing import Literal

from msgspec import Struct

from pretreat.site.keys import POSITIVE, YES_NO, Table, flag, measured, plain, text, word
from pretreat.stages.bed.arrangement import Arrangement, keys_of_vessels
from pretreat.stages.bed.nominal import keys_of_vessel, of_nominal, one_width


class IronFilterDesign(Struct, frozen=True):
    """Choices for the iron and manganese filter, and what is installed."""

    include: bool | None = None
    medium: str = "manganese greensand"
    regeneration: Literal["intermittent", "continuous"] = "intermittent"
    oxidant: Literal["permanganate", "chlorine", "air"] = "permanganate"
    vessel: str | None = None  # nominal size
    vessel_diameter_m: float | None = None
    media_depth_m: float | None = None
    media_volume_l: float | None = None
    permanganate_dose_g_l: float = 2.0
    solids_limit_g_m2: float | None = None
    iron_left_mg_l: float = 0.1
    manganese_left_mg_l: float = 0.05
    regenerate_every_days: float | None = None
    vessels: int | None = None
    arrangement: Arrangement | None = None
    # The machine stands still while permanganate is in the bed, until the rinse shows no pink.
    colour_interlock: bool = False


TABLE = Table(
    IronFilterDesign,
    {
        **YES_NO,
        "medium": ("medium", text, ""),
        "regeneration": ("regeneration", word("intermittent", "continuous"), ""),
        "oxidant": ("oxidant", word("permanganate", "chlorine", "air"), ""),
        **keys_of_vessel(),
        **measured("media_depth", "m", "m", 0.0, 5.0, open_low=True),
        **measured("media_volume", "l", "L", 0.0, POSITIVE, open_low=True),
        **measured("permanganate_dose", "g_l", "g/L", 0.0, 20.0, open_low=True),
        **plain("solids_limit_g_m2", 0.0, 5_000.0, open_low=True),
        **measured("iron_left", "mg_l", "mg/L", 0.0, 10.0),
        **measured("manganese_left", "mg_l", "mg/L", 0.0, 10.0),
        **plain("regenerate_every_days", 0.0, 30.0, open_low=True),
        **keys_of_vessels(),
        "colour_interlock": ("colour_interlock", flag, ""),
    },
    check=one_width("iron_filter"),
    fill=of_nominal("media_volume_l", "media_depth_m"),
    installed=(
        frozenset({"media_volume_l"}),
        frozenset({"vessel"}),
        frozenset({"vessel_diameter_m", "media_depth_m"}),
    ),
)
