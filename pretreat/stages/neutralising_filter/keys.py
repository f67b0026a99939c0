"""The neutralising filter's choices and their keys in the site file."""

from dataclasses import dataclass

from pretreat.site.keys import POSITIVE, YES_NO, Table, flag, measured


@dataclass(frozen=True, slots=True)
class NeutralisingFilterDesign:
    """Choices for the neutralising filter, and what is installed."""

    include: bool | None = None
    ahead_of_membranes: bool = False
    vessel_diameter_m: float | None = None
    media_volume_l: float | None = None
    contact_time_min: float | None = None


TABLE = Table(
    NeutralisingFilterDesign,
    {
        **YES_NO,
        "ahead_of_membranes": ("ahead_of_membranes", flag, ""),
        **measured("vessel_diameter", "m", "m", 0.0, 5.0, open_low=True),
        **measured("media_volume", "l", "L", 0.0, POSITIVE, open_low=True),
        **measured("contact_time", "min", "min", 0.0, 600.0, open_low=True),
    },
    installed=(frozenset({"media_volume_l"}),),
    prices=("calcite_per_l",),
)
