"""A hardness that was split: the maximum recovery if all of it were calcium, and magnesium."""

import math

import numpy as np
from msgspec.structs import replace

from pretreat.core.results import Ledger
from pretreat.lab.hardness_split import HardnessSplit, SplitCases, split_flag
from pretreat.membrane.feed import mapped_feed
from pretreat.membrane.limits import limits_from
from pretreat.membrane.recovery import reaches
from pretreat.plant.uncertainty.draws import drawn
from pretreat.plant.uncertainty.water_draws import drawn_water
from pretreat.plant.verdict.judge import Question, fed
from pretreat.site.design import LimitChoices

ASSUMED = "hardness_split_assumed"


def enter_extremes(
    ledger: Ledger, question: Question, choices: LimitChoices, cases: SplitCases | None
) -> None:
    """Enter the maximum recovery at both extremes of a split, and say them in its flag.

    Parameters
    ----------
    ledger : Ledger
        A ledger with the flag of the split. [-]
    question : Question
        The design whose verdict is asked. [-]
    choices : LimitChoices
        Limits of the user. [-]
    cases : SplitCases or None
        The split and its extremes; None where nothing was split. [-]
    """
    if cases is None or question.water.ph is None:
        return
    found = []
    for name, words, one in (
        ("all_calcium", "all of the hardness calcium", cases.all_calcium),
        ("all_magnesium", "all of the hardness magnesium", cases.all_magnesium),
    ):
        key = f"recovery.max_{name}"
        found.append(_largest(question, choices, one))
        if math.isfinite(found[-1]):
            ledger.put(
                key,
                found[-1],
                "-",
                f"Maximum recovery, {words}",
                method="extreme of an assumed split, limits in force",
                evidence="common practice",
                cites=("PRACTICE",),
            )
            ledger.rests(key, "water.hardness_mg_l_caco3")
    if all(math.isfinite(one) for one in found):
        flag = split_flag(cases, (found[0], found[1]))
        flags = ledger.study().flags
        ledger.retell(flag if f.code == ASSUMED and flag is not None else f for f in flags)


def _largest(question: Question, choices: LimitChoices, split: HardnessSplit) -> float:
    """Return the maximum recovery of the operating water with another split."""
    scaling = {**question.taken.scaling, "ca": split.ca_mg_l, "mg": split.mg_mg_l}
    taken = replace(question.taken, scaling=scaling)
    water = drawn_water(taken, question.water.ph or math.nan, drawn((), 0))
    at_membranes = water if question.treat is None else question.treat(water)
    seasons = [s for s in question.seasons if s.name == "operating"]
    feed = fed(replace(question, seasons=seasons), water, at_membranes)
    one = mapped_feed(feed, lambda v: np.reshape(np.asarray(v), -1)[0])
    limits = limits_from(choices, question.inhibitor)
    passage, rho, wall = question.point.membrane
    (reach,) = reaches(one, (limits,), passage, rho, wall)
    return reach.maximum
