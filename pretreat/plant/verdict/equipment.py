"""What vessels, valves and pump put in the way of a design, by the weight of their flags."""

from typing import Literal

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger

Weight = Literal["stops", "condition", ""]
DESTROYS = frozenset({"chloramine", "contact_short"})  # membranes, for good: said first
USELESS = frozenset({"bed_shallow"}) | DESTROYS  # as warnings: a bed that does not do its work
# From a caution on: it must be seen to before the machine runs.
SEEN_TO = USELESS | {
    "drain_control_large",
    "filter_beside_wash",
    "pressure_low",
    "salt_off_table",
    "washed_in_run",
}
WEARS = frozenset({"resin_oxidant"})  # as a warning: it wears out soon
CONTACT, CHLORINE = "carbon.ebct_min", "carbon.free_chlorine_mg_l"


def equipment_kind(ledger: Ledger, flag: Flag) -> Weight:
    """Return how a flag of the equipment weighs in the verdict.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]
    flag : Flag
        A flag of the study. [-]

    Returns
    -------
    str
        "stops", "condition", or nothing where other rules judge it. [-]
    """
    grave = flag.level == "warning"
    if flag.level == "info" or (flag.code == "contact_short" and not _chlorinated(ledger, flag)):
        return ""
    if grave and flag.code in USELESS:
        return "stops"
    return "condition" if flag.code in SEEN_TO or (grave and flag.code in WEARS) else ""


def _chlorinated(ledger: Ledger, flag: Flag) -> bool:
    """Tell whether a contact time is that of carbon that chlorine reaches."""
    return flag.figure == CONTACT and (ledger.number(CHLORINE) or 0.0) > 0.0
