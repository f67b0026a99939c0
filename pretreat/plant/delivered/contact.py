"""A calcite filter behind the membranes too small for what is counted on: contact, topping up."""

from pretreat.core.basis import Flag, Level
from pretreat.core.results import Ledger
from pretreat.stages.neutralising_filter import laws
from pretreat.stages.neutralising_filter.figures import (
    LEAST_CONTACT_MIN,
    contact_too_short,
)

P = "neutralising_filter"
SHARE = "remineralisation.filter_share"
LOST_CONTACT = 0.5  # PRACTICE: of the least contact; below it the bed does not do its work
OFTEN_D = 7.0  # PRACTICE: nobody tops up a filter oftener than once a week


def flag_contact(ledger: Ledger, flow: str) -> bool:
    """Flag a contact too short for saturation, and a charge that lasts no week.

    Parameters
    ----------
    ledger : Ledger
        With the filter entered, and the share of the product through it where one is. [-]
    flow : str
        Key of the flow of the product. [-]

    Returns
    -------
    bool
        Whether saturation may not be counted on.
    """
    known = ledger.number(SHARE)
    share = 1.0 if known is None else known
    _flag_often(ledger)
    if not contact_too_short(ledger, share):
        return False
    contact = (ledger.number(f"{P}.contact_min") or 0.0) / share
    need = laws.volume_for_contact_l(share * (ledger.number(flow) or 0.0), LEAST_CONTACT_MIN)
    filled = ledger.number(f"{P}.media_volume_l") or 0.0
    level: Level = "warning" if contact < LOST_CONTACT * LEAST_CONTACT_MIN else "caution"
    text = (
        f"Neutralising filter: {contact:.2g} min of contact; practice wants 15 to 30 min, and "
        "below 15 min no pH behind it can be stated: the water delivered is judged as without the "
        f"filter; fill {need:.3g} L of calcite at the least instead of {filled:.3g} L, or less flow"
    )
    ledger.flag(Flag("calcite_contact", level, text, f"{P}.contact_min"))
    return True


def _flag_often(ledger: Ledger) -> None:
    days = ledger.number(f"{P}.top_up_d")
    if days is None or days >= OFTEN_D:
        return
    text = (
        f"Neutralising filter: the calcite is topped up every {days:.2g} d of operation; nobody "
        "does that oftener than once a week for long (common practice): fill more calcite, or "
        "degas the product ahead of it"
    )
    ledger.flag(Flag("calcite_top_up", "caution", text, f"{P}.top_up_d"))
