"""The choices for the contact tank and their keys in the site file."""

from msgspec import Struct

from pretreat.site.keys import POSITIVE, YES_NO, Table, measured, plain


class ContactDesign(Struct, frozen=True):
    """Choices for the contact tank, and what is installed."""

    include: bool | None = None
    contact_min: float | None = None
    baffling: float | None = None
    volume_m3: float | None = None


TABLE = Table(
    ContactDesign,
    {
        **YES_NO,
        **measured("contact", "min", "min", 0.0, 1440.0, open_low=True),
        **plain("baffling", 0.0, 0.99, open_low=True),
        **measured("volume", "m3", "m3", 0.0, POSITIVE, open_low=True),
    },
)
