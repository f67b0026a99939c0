"""The carbon bed's choices and their keys in the site file."""

from msgspec import Struct

from pretreat.site.keys import POSITIVE, YES_NO, Table, flag, measured
from pretreat.stages.bed.arrangement import Arrangement, keys_of_vessels
from pretreat.stages.bed.nominal import keys_of_vessel, of_nominal, one_width


class CarbonDesign(Struct, frozen=True):
    """Choices for the carbon bed, and what is installed."""

    include: bool | None = None
    vessel: str | None = None  # nominal size
    vessel_diameter_m: float | None = None
    media_volume_l: float | None = None
    free_chlorine_mg_l: float | None = None
    chloramine_mg_l: float | None = None
    contact_time_min: float | None = None
    before_softener: bool | None = None
    vessels: int | None = None
    arrangement: Arrangement | None = None


TABLE = Table(
    CarbonDesign,
    {
        **YES_NO,
        **keys_of_vessel(),
        **measured("media_volume", "l", "L", 0.0, POSITIVE, open_low=True),
        **measured("free_chlorine", "mg_l", "mg/L", 0.0, 50.0),
        **measured("chloramine", "mg_l", "mg/L", 0.0, 50.0),
        **measured("contact_time", "min", "min", 0.0, 600.0, open_low=True),
        "before_softener": ("before_softener", flag, ""),
        **keys_of_vessels(),
    },
    check=one_width("carbon"),
    fill=of_nominal("media_volume_l"),
    installed=(
        frozenset({"media_volume_l"}),
        frozenset({"vessel"}),
    ),
)
