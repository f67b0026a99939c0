"""The neutralising filter's choices and their keys in the site file."""

from msgspec import Struct

from pretreat.site.keys import POSITIVE, YES_NO, Table, flag, measured
from pretreat.stages.bed.nominal import keys_of_vessel, of_nominal, one_width


class NeutralisingFilterDesign(Struct, frozen=True):
    """Choices for the neutralising filter, and what is installed."""

    include: bool | None = None
    ahead_of_membranes: bool = False
    vessel: str | None = None  # nominal size
    vessel_diameter_m: float | None = None
    media_volume_l: float | None = None
    contact_time_min: float | None = None


TABLE = Table(
    NeutralisingFilterDesign,
    {
        **YES_NO,
        "ahead_of_membranes": ("ahead_of_membranes", flag, ""),
        **keys_of_vessel(),
        **measured("media_volume", "l", "L", 0.0, POSITIVE, open_low=True),
        **measured("contact_time", "min", "min", 0.0, 600.0, open_low=True),
    },
    check=one_width("neutralising_filter"),
    fill=of_nominal("media_volume_l"),
    installed=(
        frozenset({"media_volume_l"}),
        frozenset({"vessel"}),
    ),
    prices=("calcite_per_l",),
)
