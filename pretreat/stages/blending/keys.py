"""The choices for blending and their keys in the site file."""

from msgspec import Struct

from pretreat.site.keys import POSITIVE, YES_NO, Table, measured, plain


class BlendingDesign(Struct, frozen=True):
    """Choices for blending: the share of treated raw water in what is delivered."""

    include: bool | None = None
    share: float | None = None
    product_hardness_mg_l_caco3: float | None = None


TABLE = Table(
    BlendingDesign,
    {
        **YES_NO,
        **plain("share", 0.0, 0.9),
        **measured("product_hardness", "mg_l_caco3", "mg/L as CaCO3", 0.0, POSITIVE),
    },
)
