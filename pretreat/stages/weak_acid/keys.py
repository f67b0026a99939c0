"""The choices for weak acid exchange and their keys in the site file."""

from msgspec import Struct

from pretreat.site.keys import POSITIVE, YES_NO, Table, measured, plain


class WeakAcidDesign(Struct, frozen=True):
    """Choices for weak acid exchange, and what is installed."""

    include: bool | None = None
    share: float | None = None
    excess: float | None = None
    capacity_eq_l: float | None = None
    regenerate_every_days: float | None = None
    resin_volume_l: float | None = None


TABLE = Table(
    WeakAcidDesign,
    {
        **YES_NO,
        **plain("share", 0.0, 1.0, open_low=True),
        **plain("excess", 1.0, 3.0),
        **plain("capacity_eq_l", 0.2, 4.0),
        **plain("regenerate_every_days", 0.0, 14.0, open_low=True),
        **measured("resin_volume", "l", "L", 0.0, POSITIVE, open_low=True),
    },
)
