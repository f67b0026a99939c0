"""One reading so bad that it is tested again at once; a finding needs more than one."""

from collections.abc import Collection, Mapping, Sequence
from statistics import median

from msgspec.structs import replace

from pretreat.core.basis import cites
from pretreat.record.readings import Reading
from pretreat.record.reference import Reference

HARD_MG_L_CACO3 = 17.1  # PRACTICE: one grain per US gallon, above which water is not soft
IRON_MG_L = 0.3  # PRACTICE: stains; a filter in good order leaves 0.1
CHLORINE_MG_L = 0.1  # PRACTICE: what a kit shows for certain
TIMES = 1.5  # RECORD_STATISTICS: of what the design leaves, or of what the site showed when new
FIRST = 3  # readings of a gauge that tell what it showed when new
TESTED = (
    (
        "soft_hardness_mg_l_caco3",
        "hardness behind the softener",
        "mg/L as CaCO3",
        HARD_MG_L_CACO3,
        "keep the membranes off this water, and look at the salt, the last regeneration and the "
        "bypass valve",
    ),
    (
        "iron_out_mg_l",
        "iron behind the iron filter",
        "mg/L",
        IRON_MG_L,
        "look at the last regeneration, the permanganate and the bypass valve",
    ),
    (
        "chlorine_mg_l",
        "free chlorine before the membranes",
        "mg/L",
        CHLORINE_MG_L,
        "stop the machine meanwhile: membranes do not recover",
    ),
)

NAMED_BY: Mapping[str, tuple[str, ...]] = {  # findings that say the same
    "soft_hardness_mg_l_caco3": ("resin_capacity", "channelled_bed"),
    "iron_out_mg_l": ("iron_passing",),
    "chlorine_mg_l": ("chlorine",),
}


@cites("PRACTICE", "limits of soft water, of iron and of chlorine at membranes")
def alarms(
    taken: Reading, earlier: Sequence[Reading] = (), reference: Reference | None = None
) -> tuple[str, ...]:
    """Return what is to be tested again at once.

    Parameters
    ----------
    taken : Reading
        The reading. [-]
    earlier : sequence of Reading
        Readings before it, by date; the first ones, where they are sound, tell what was usual when
        new. Later ones never raise the limit: a fault that grows stays said. [-]
    reference : Reference, optional
        Design of the site, which may leave more. [-]

    Returns
    -------
    tuple of str
        One sentence for each value. [-]
    """
    told = []
    for key, words, unit, least, then in TESTED:
        limit = _limit(key, least, earlier, reference)
        if taken.get(key) > limit:
            told.append(f"test again now: {words} is {taken.get(key):.3g} {unit}; {then}")
    return tuple(told)


@cites("RECORD_STATISTICS", "one and a half times the design or the first readings")
def _limit(
    key: str, least: float, earlier: Sequence[Reading], reference: Reference | None
) -> float:
    """Return the limit of a test: fixed, or by what the design or a sound start shows."""
    if key == "chlorine_mg_l":
        return least
    design = None
    if reference is not None:
        hard = key == "soft_hardness_mg_l_caco3"
        design = reference.leakage_mg_l_caco3 if hard else reference.iron_left_mg_l
    first = [r.values[key] for r in earlier if key in r.values][:FIRST]
    new = median(first) if len(first) == FIRST else 0.0
    return max(least, TIMES * (design or 0.0), TIMES * new if new <= least else 0.0)


def standing_alarms(
    readings: Sequence[Reading],
    named: Collection[str] = (),
    reference: Reference | None = None,
) -> tuple[tuple[Reading, str], ...]:
    """Return the alarms that no later test has ended.

    Parameters
    ----------
    readings : sequence of Reading
        Readings by date. [-]
    named : collection of str
        Faults that stand already: what they say is not said twice. [-]
    reference : Reference, optional
        Design of the site. [-]

    Returns
    -------
    tuple
        The reading and a sentence, for each gauge. [-]
    """
    told = []
    for key, *_ in TESTED:
        places = [i for i, r in enumerate(readings) if key in r.values]
        if not places or any(fault in named for fault in NAMED_BY[key]):
            continue
        last = readings[places[-1]]
        alone = replace(last, values={key: last.values[key]})
        told += [(last, text) for text in alarms(alone, readings[: places[-1]], reference)]
    return tuple(told)
