"""The choices for the degasser and their keys in the site file."""

from msgspec import Struct

from pretreat.site.keys import YES_NO, Table, plain


class StripperDesign(Struct, frozen=True):
    """Choices for a device that strips gas with air."""

    include: bool | None = None
    co2_removed: float | None = None
    air_to_water: float | None = None


TABLE = Table(
    StripperDesign,
    {
        **YES_NO,
        **plain("co2_removed", 0.0, 0.99, open_low=True),
        **plain("air_to_water", 0.0, 200.0, open_low=True),
    },
)
