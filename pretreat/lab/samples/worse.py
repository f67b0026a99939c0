"""Other samples of a report that are clearly worse than the one that is judged."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from pretreat.core.basis import Flag
from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.core.water import WaterAnalysis
from pretreat.lab.hardness_split import CALCIUM_MG_PER_MEQ, MAGNESIUM_MG_PER_MEQ
from pretreat.lab.health import GERMS, SUMS, amounts_of, exceedances
from pretreat.lab.named import name_and_unit
from pretreat.lab.organic_limits import over_limits
from pretreat.lab.read.report import one_line
from pretreat.lab.read.wording import shown

WORSE, WORSE_TO_DRINK = "worse_sample", "worse_sample_to_drink"
TIMES = 1.5  # PRACTICE: from where on it is no matter of scatter
HARDNESS = "hardness_mg_l_caco3"
# PRACTICE: what decides a train, and the amount below which a rise of it decides nothing.
DECIDING = MappingProxyType(
    {
        "fe": 0.05,
        "mn": 0.05,
        "h2s_mg_l": 0.1,
        HARDNESS: 50.0,
        "ec_us_cm": 500.0,
        "sio2": 20.0,
        "ba": 0.05,
    }
)
MOST_SAMPLES = 2  # told one by one


SAME_WELL = "same_well"  # mark: the worse sample is of the well that is judged


def worse_flags(
    water: WaterAnalysis,
    others: Iterable[WaterAnalysis],
    same: Iterable[WaterAnalysis] = (),
) -> tuple[Flag, ...]:
    """Return what other samples hold clearly more of than the one that is judged.

    Parameters
    ----------
    water : WaterAnalysis
        The sample that is judged. [-]
    others : iterable of WaterAnalysis
        Other samples of the report, itself among them or not. [-]
    same : iterable of WaterAnalysis
        Those of them that are of the same well, and that the verdict has to hold for. [-]

    Returns
    -------
    tuple of Flag
        One of what decides a train, one of limits for health that only the others exceed. [-]
    """
    rest = [one for one in others if (one.sample, one.date) != (water.sample, water.date)]
    own = {_name(one) for one in same}
    flags = []
    for code, told in (
        (WORSE, {_name(one): _more(water, one) for one in rest}),
        (WORSE_TO_DRINK, {_name(one): _over(water, one) for one in rest}),
    ):
        found = sorted(((k, v) for k, v in told.items() if v), key=lambda one: -len(one[1]))
        if not found:
            continue
        each = "; ".join(f"{name}: {', '.join(what)}" for name, what in found[:MOST_SAMPLES])
        left = len(found) - MOST_SAMPLES
        each += f"; and {left} more" if left > 0 else ""
        what = "over a limit for health" if code == WORSE_TO_DRINK else "worse"
        held = code == WORSE and any(name in own for name, _ in found)
        well = ", of the same well," if held else ""
        text = (
            f"the report holds another sample{well} that is {what}: {each}; this verdict is of "
            f"{_name(water)} alone: judge the other too (sample in [water]) before anything is "
            "ordered"
        )
        flags.append(Flag(code, "caution", text, marks=frozenset({SAME_WELL} if held else ())))
    return tuple(flags)


def _name(water: WaterAnalysis) -> str:
    name, day = one_line(water.sample), water.date
    return f"'{name}' ({day})" if day and day not in name else f"'{name}'"


def _found(water: WaterAnalysis) -> Mapping[str, float]:
    found = {**water.mg_l, **water.properties, **water.total_mg_l}
    if "ca" in water.mg_l and "mg" in water.mg_l:
        meq = water.mg_l["ca"] / CALCIUM_MG_PER_MEQ + water.mg_l["mg"] / MAGNESIUM_MG_PER_MEQ
        found[HARDNESS] = meq * CACO3_MG_PER_MEQ
    return found


def _more(water: WaterAnalysis, other: WaterAnalysis) -> list[str]:
    here, there, told = _found(water), _found(other), []
    unseen = {**water.below_mg_l, **water.below_properties}
    for key, least in DECIDING.items():
        mine = here.get(key, unseen.get(key) or 0.0)
        if there.get(key, 0.0) <= max(least, TIMES * mine):
            continue
        name, unit = ("hardness", "mg/L as CaCO3") if key == HARDNESS else name_and_unit(key)
        beside = shown(here[key], 3) if key in here else "none found" if key in unseen else ""
        beside = f" (here {beside or 'not measured'})"
        told.append(f"{name} {shown(there[key], 3)} {unit}{beside}")
    return told


def _over(water: WaterAnalysis, other: WaterAnalysis) -> list[str]:
    mine = {one.key for one in exceedances(amounts_of(water), aesthetic=False)}
    germs = [
        f"{name} {shown(count, 3)} in 100 mL"
        for key, name in GERMS
        if (count := other.properties.get(key)) and not water.properties.get(key)
    ]
    here = {one.organic.key for one in over_limits(water)}
    organics = [one.shown for one in over_limits(other) if one.organic.key not in here]
    return [
        *germs,
        *(
            f"{one.name} {shown(one.amount, 3)} {one.unit}"
            for one in exceedances(amounts_of(other), aesthetic=False)
            if one.key not in mine and one.key not in SUMS
        ),
        *organics,
    ]
