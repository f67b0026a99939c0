"""Whether the carbon holds the water long enough for the chlorine or chloramine that it brings."""

from pretreat.core.basis import Level
from pretreat.stages.carbon import laws as sizing
from pretreat.stages.chloramine import chloramine_words
from pretreat.stages.train import Train

P = "carbon"
LABEL = "Carbon"
ROUNDING = 1e-9
TEST = "before the machine runs test total chlorine, not free chlorine alone,"


def note_contact(train: Train) -> None:
    """Flag chloramine, and a contact time that is too short for what the water brings.

    Parameters
    ----------
    train : Train
        With the contact time entered. [-]
    """
    entries = train.entries
    contact, wanted = entries.value(f"{P}.ebct_min"), entries.value(f"{P}.contact_wanted_min")
    chloramine = chloramine_words(train)
    chlorine = entries.value(f"{P}.free_chlorine_mg_l") > 0
    least = wanted
    if chlorine:
        least = max(wanted, sizing.CONTACT_LEAST_MIN)
    short = contact < least * (1.0 - ROUNDING)
    if chloramine:
        _note_chloramine(train, chloramine, contact, least if short else None)
    elif short and chlorine:
        _note_chlorine(train, contact, least)
    elif short:
        filtered = "iron_filter.medium" in entries.ledger
        slips = train.design.iron_filter.oxidant if filtered else "chlorine, should any arrive"
        risk = f"no chlorine is expected; more carbon guards better against {slips}"
        _flag(train, "caution", f"{_of(contact, wanted)}{_usual()}: {risk}")


def _note_chlorine(train: Train, contact: float, wanted: float) -> None:
    level: Level = "warning" if contact < sizing.CONTACT_LEAST_MIN else "caution"
    if train.has("bisulfite"):
        level, risk = (
            "caution",
            "set the bisulfite for what passes, and test for chlorine behind it",
        )
    elif level == "warning":
        risk = f"chlorine may reach the membranes and destroys them: {_cure(train, wanted)}"
    else:
        risk = f"test for chlorine behind it before the machine runs, or {_cure(train, wanted)}"
    _flag(train, level, f"{_of(contact, wanted)}{_usual()}: {risk}")


def _note_chloramine(train: Train, words: str, contact: float, wanted: float | None) -> None:
    """Say that carbon takes chloramine slowly, and what stands behind it."""
    guard = train.has("bisulfite")
    if wanted is None and guard:
        return
    level: Level = "caution"
    text = f"{LABEL}: {words}, {contact:.1f} min of contact: {TEST} behind the carbon"
    if wanted is not None:
        remedy = f"{_cure(train, wanted)}; {TEST} behind it"
        if guard:
            remedy = "set the bisulfite for what passes"
        elif contact < sizing.CHLORAMINE_LEAST_MIN:
            level = "warning"
            remedy = f"it passes to the membranes and destroys them: {remedy}"
        text = (
            f"{_of(contact, wanted)}: {words}, which usual carbon takes in "
            f"{sizing.CONTACT_CHLORAMINE_MIN:g} min or more (from memory): {remedy}"
        )
    train.entries.flag("chloramine", level, text, f"{P}.ebct_min")


def _cure(train: Train, wanted: float) -> str:
    """Say how much carbon a contact time takes in all, for what stands or is sized."""
    litres = sizing.volume_for_contact_l(train.entries.value("machine.feed_flow_m3_h"), wanted)
    return f"{litres:.0f} L of carbon in all, or bisulfite behind it"


def _of(contact: float, wanted: float) -> str:
    return f"{LABEL}: {contact:.1f} min of contact, {wanted:g} min wanted"


def _usual() -> str:
    low, high = sizing.CONTACT_LEAST_MIN, sizing.CONTACT_CHLORINE_MIN
    return f" ({low:g} to {high:g} min is usual)"


def _flag(train: Train, level: Level, text: str) -> None:
    train.entries.flag("contact_short", level, text, f"{P}.ebct_min")
