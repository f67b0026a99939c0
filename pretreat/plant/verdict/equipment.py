"""What vessels, valves and pump put in the way of a design: flags by their weight, and the rest."""

from typing import Literal

from pretreat.core.basis import Flag, cites
from pretreat.core.results import Ledger
from pretreat.lab.hazards import BREAKPOINT, BREAKPOINT_PRACTICE
from pretreat.plant.verdict.case import AS_INSTALLED, Obstacle
from pretreat.stages.limits import train_limits

Weight = Literal["stops", "condition", ""]
DESTROYS = frozenset({"chloramine", "contact_short"})  # membranes, for good: said first
USELESS = (
    frozenset({"bed_shallow", "calcite_contact"}) | DESTROYS
)  # as warnings: a bed that does not do its work
# From a caution on: it must be seen to before the machine runs.
SEEN_TO = USELESS | {
    "calcite_top_up",
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


LEAST_CAPACITY = 0.75  # UFC13FN: of new resin; a quarter lost and not won back by cleaning
SALT_OF_HARDNESS = "softener.salt_effective_g_per_g_caco3"  # by the programme, if it has one
SALT_USED_UP = "softener.salt_g_per_g_caco3"
METERED = "softener.programme_in_words"  # a figure of metered valves alone
AMMONIA, AMMONIA_FLAG = "chlorine.ammonia_n_mg_l", "ammonia_takes_chlorine"


def plant_obstacles(ledger: Ledger) -> list[Obstacle]:
    """Return what a plant of such vessels and valves asks for, flagged nowhere.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]

    Returns
    -------
    list of Obstacle
        Conditions: worn resin, valves that may regenerate together, chlorine on ammonia. [-]
    """
    found = (_worn_resin(ledger), _together(ledger), _breakpoint(ledger))
    return [one for one in found if one is not None]


@cites("UFC13FN", "2-2.5.1.4.4: resin is replaced when a quarter of its capacity is lost")
def _worn_resin(ledger: Ledger) -> Obstacle | None:
    """Return the condition of resin that stands, and that has lost a quarter of its capacity."""
    left, salt = ledger.number("softener.capacity_factor"), ledger.number(SALT_OF_HARDNESS)
    if ledger.study().value("study.kind") != AS_INSTALLED or left is None or left > LEAST_CAPACITY:
        return None
    used_up = ledger.number(SALT_USED_UP)  # of new resin
    if salt is None and used_up is not None:
        salt = used_up / left
    takes = "" if salt is None else f"; as it is it takes {salt:.2g} g of salt for a gram of "
    takes += "" if salt is None else "hardness (as CaCO3)"
    text = (
        f"the resin has {left:.0%} of its capacity left: resin is replaced when a quarter is lost "
        f"and cleaning does not bring it back (UFC 3-240-13FN){takes}: clean it or replace it, "
        "and measure its capacity before the meter is set"
    )
    return Obstacle("condition", text, anyway=True, code="resin_worn")


@cites("DAVIS2010", "8-13: vessels in parallel are exhausted in turn")
def _together(ledger: Ledger) -> Obstacle | None:
    """Return the condition of metered valves side by side: each asks by its own meter."""
    number = ledger.number("softener.vessels_side_by_side") or 1.0
    if number < 2.0 or METERED not in ledger:
        return None
    text = (
        f"{number:.0f} metered softeners share the flow and reach their setting within the same "
        "hour if they start alike: lock the valves against each other, so that only one "
        f"regenerates while {'the other serves' if number == 2.0 else 'the others serve'}, and "
        "start them a part of a run apart (common practice)"
    )
    return Obstacle("condition", text, of_train=True, code="regenerations_together")


def _breakpoint(ledger: Ledger) -> Obstacle | None:
    """Return the condition of chlorine fed to a water with much ammonia."""
    nitrogen, most = ledger.number(AMMONIA), train_limits()["chlorine_ammonia"]
    told = any(f.code == AMMONIA_FLAG and f.level == "warning" for f in ledger.study().flags)
    if nitrogen is None or nitrogen <= most.value or told:
        return None
    low, high = BREAKPOINT * nitrogen, BREAKPOINT_PRACTICE[1] * nitrogen
    behind = "the carbon" if "carbon.media_volume_l" in ledger else "whatever takes the chlorine"
    text = (
        f"chlorine is fed to a water with {nitrogen:.2g} mg/L of ammonia as N, above the "
        f"{most.value:g} mg/L ({most.evidence}) up to which it is chosen: {low:.2g} to {high:.2g} "
        "mg/L are taken before any stays free, and with less chloramine passes and the filter "
        f"fails without a sign: find the dose by a test at the well, test total chlorine, not free "
        f"chlorine alone, behind {behind} before the machine runs, or oxidise with permanganate"
    )
    return Obstacle("condition", text, of_train=True, code=AMMONIA_FLAG)
