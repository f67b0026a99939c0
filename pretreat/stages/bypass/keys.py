"""The choices for the bypass of the softener and their keys in the site file."""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from pretreat.site.keys import POSITIVE, YES_NO, Table, measured, plain


class BypassDesign(Struct, frozen=True):
    """Choices for the bypass: its share of the feed, or the hardness wanted behind it."""

    include: bool | None = None
    share: float | None = None
    target_hardness_mg_l_caco3: float | None = None


def one_of_two(values: Mapping[str, Any]) -> list[str]:
    """Refuse both a share and a hardness.

    Parameters
    ----------
    values : mapping
        The table as read. [-]

    Returns
    -------
    list of str
        Faults. [-]
    """
    if "share" in values and "target_hardness_mg_l_caco3" in values:
        return ["[bypass] share and target_hardness: one follows from the other; write one"]
    return []


TABLE = Table(
    BypassDesign,
    {
        **YES_NO,
        **plain("share", 0.0, 0.95),
        **measured("target_hardness", "mg_l_caco3", "mg/L as CaCO3", 0.0, POSITIVE),
    },
    check=one_of_two,
)
