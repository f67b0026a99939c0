"""What a plant asks for where a test kit alone measured the water, so that no scale is judged."""

from collections.abc import Sequence

from pretreat.core.basis import Series
from pretreat.core.results import Ledger
from pretreat.plant.verdict.case import Obstacle
from pretreat.plant.verdict.equipment import plant_obstacles
from pretreat.plant.verdict.obstacles import flag_obstacles

UNJUDGED = "chemistry_absent"  # flag of a study of test-kit values alone
STOPS = "stops"
AGAINST = ("stops", "doubt", "question", "unknown")
ORDER = (*AGAINST, "condition")
HEADS = ("code", "reason")


def enter_kit_points(ledger: Ledger, target: str | None) -> None:
    """Enter the conditions of the plant, and what stops it, as the verdict of an analysis does.

    So a quote on fewer measurements is never cleaner than one on more of them.

    Parameters
    ----------
    ledger : Ledger
        With the train entered; nothing is entered where scales were judged. [-]
    target : str or None
        What the product is for. [-]
    """
    if all(flag.code != UNJUDGED for flag in ledger.study().flags):
        return
    found = [*flag_obstacles(ledger, target), *plant_obstacles(ledger)]
    ordered = [one for kind in ORDER for one in found if one.kind == kind]
    _enter(ledger, "quote.conditions", "What must be seen to first", ordered)
    if any(one.kind == STOPS for one in found):
        against = [one for one in ordered if one.kind in AGAINST]
        _enter(ledger, "quote.against", "What speaks against an offer", against)


def _enter(ledger: Ledger, key: str, title: str, found: Sequence[Obstacle]) -> None:
    if found:
        rows = tuple((one.code, one.text) for one in found)
        method = "what stands in the way of the plant, scales apart"
        ledger.table(Series(key, title, HEADS, ("-", "-"), rows, method=method))
