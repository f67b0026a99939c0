"""What the user knows of the drain: limits of the permit, in the table [discharge]."""

from msgspec import Struct

from pretreat.site.keys import POSITIVE, Table, measured


class DischargeDesign(Struct, frozen=True):
    """Limits that the permit sets for what goes to the drain; None where there are none."""

    chloride_mg_l: float | None = None
    tds_mg_l: float | None = None
    salt_kg_per_day: float | None = None


TABLE = Table(
    DischargeDesign,
    {
        **measured("chloride", "mg_l", "mg/L", 0.0, POSITIVE, open_low=True),
        **measured("tds", "mg_l", "mg/L", 0.0, POSITIVE, open_low=True),
        **measured("salt", "kg_per_day", "kg", 0.0, POSITIVE),
    },
)
