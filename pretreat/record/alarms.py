"""One reading so bad that it is tested again at once; a finding needs more than one."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from pretreat.core.basis import cites
from pretreat.record.readings import Reading

HARD_MG_L_CACO3 = 17.1  # PRACTICE: one grain per US gallon, above which water is not soft
IRON_MG_L = 0.3  # PRACTICE: stains; a filter in good order leaves 0.1
CHLORINE_MG_L = 0.1  # PRACTICE: what a kit shows for certain
USUAL_TIMES = 3.0  # RECORD_STATISTICS: where a site usually shows more than these
LAST = 5  # readings that tell what is usual
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
def alarms(taken: Reading, earlier: Sequence[Reading] = ()) -> tuple[str, ...]:
    """Return what is to be tested again at once.

    Parameters
    ----------
    taken : Reading
        The reading. [-]
    earlier : sequence of Reading
        Readings before it, by date: a site that always shows more is alarmed by three times that.
        [-]

    Returns
    -------
    tuple of str
        One sentence for each value. [-]
    """
    told = []
    for key, words, unit, least, then in TESTED:
        usual = [r.values[key] for r in earlier if key in r.values][-LAST:]
        limit = least
        if key != "chlorine_mg_l" and len(usual) == LAST:
            limit = max(least, USUAL_TIMES * min(usual))
        if taken.get(key) > limit:
            told.append(f"test again now: {words} is {taken.get(key):.3g} {unit}; {then}")
    return tuple(told)


def standing_alarms(
    readings: Sequence[Reading], named: Collection[str] = ()
) -> tuple[tuple[Reading, str], ...]:
    """Return the alarms that no later test has ended.

    Parameters
    ----------
    readings : sequence of Reading
        Readings by date. [-]
    named : collection of str
        Faults that stand already: what they say is not said twice. [-]

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
        told += [(last, text) for text in alarms(alone, readings[: places[-1]])]
    return tuple(told)
