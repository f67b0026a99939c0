"""The decision table of data/train_options.csv, and the facts of a water that it asks for."""

import operator
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.equivalents import HARDNESS_IONS, equivalent_hardness_mg_l_caco3
from pretreat.core.errors import OutOfRangeError
from pretreat.core.results import Ledger
from pretreat.core.tables import rows
from pretreat.core.units import molar_mass
from pretreat.core.water import WaterAnalysis
from pretreat.lab.read.wording import shown
from pretreat.lab.water_figures import property_taken
from pretreat.plant.choices.costs import rates_of
from pretreat.site.design import DesignBasis
from pretreat.stages.aeration.laws import iron_half_life_min, iron_time_min
from pretreat.stages.limits import train_limits
from pretreat.stages.product_gas import gas_of_sulfide
from pretreat.stages.stream import RawWater

SIGNS: Mapping[str, Callable[[float, float], bool]] = {
    "<=": operator.le,
    ">=": operator.ge,
    "<": operator.lt,
    ">": operator.gt,
}
WORDS = {
    "fe": ("iron", "mg/L"),
    "mn": ("manganese", "mg/L"),
    "fe_dissolved": ("dissolved iron", "mg/L"),
    "mn_dissolved": ("dissolved manganese", "mg/L"),
    "metals_known": ("iron or manganese was not measured", ""),
    "h2s": ("hydrogen sulfide", "mg/L"),
    "h2s_gas": ("hydrogen sulfide that is a gas", "mg/L"),
    "ph": ("pH", ""),
    "o2": ("dissolved oxygen", "mg/L"),
    "nh4_n": ("ammonia as nitrogen", "mg/L"),
    "toc": ("organic carbon", "mg/L"),
    "tds": ("dissolved solids", "mg/L"),
    "hardness": ("hardness", "mg/L as CaCO3"),
    "salt_price": ("price of salt", "per kg"),
    "salt_limited": ("a limit of the drain", ""),
    "counter_current": ('[softener] direction = "counter-current" is not in the site file', ""),
    "hardness_scale": ("no scale of hardness stops the raw water", ""),
    "hardness_share": ("hardness over alkalinity", ""),
    "alkalinity": ("alkalinity", "mg/L as CaCO3"),
    "any_chlorine": ("chlorine or chloramine", "mg/L"),
    "vented": ("a vented raw tank", ""),
    "weak_acid": ("[weak_acid] include = true is not in the site file", ""),
    "air_min": ("time for the iron to oxidise by air, with its margin,", "min"),
}
# Those of which no number is shown.
CHOICES = (
    "metals_known",
    "hardness_scale",
    "vented",
    "weak_acid",
    "counter_current",
    "salt_limited",
)
EXCHANGED = frozenset({"calcite", "gypsum", "fluorite", "barite", "celestite"})  # their metal
FAILS = {"<=": "above", "<": "not below", ">=": "below", ">": "not above"}
BRACKISH_TDS_MG_L = 1500.0  # PRACTICE: ionic strength about 0.03, where rust forms slower
MARGIN, MARGIN_BRACKISH = 3.0, 5.0  # PRACTICE: on the rate law of iron by air


class Option(Struct, frozen=True):
    """A row of the table: a way to treat iron, or a way to keep scale off.

    ``when`` says for which water it is looked at, ``conditions`` what it must keep; ``needs`` is
    what has to be seen to, ``settings`` are choices of stages that it brings.
    """

    key: str
    group: str
    name: str
    stages: tuple[str, ...]
    settings: tuple[tuple[str, str, str], ...]
    when: tuple[str, ...]
    conditions: tuple[str, ...]
    needs: str
    words: str
    source: str
    evidence: str


def _parts(text: str, sign: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(sign) if part.strip())


@lru_cache(maxsize=1)
def options() -> tuple[Option, ...]:
    """Return the rows of the decision table.

    Returns
    -------
    tuple of Option
        Ways for iron, then ways for scale. [-]
    """
    found = []
    for row in rows("train_options.csv"):
        settings = []
        for part in _parts(row["settings"], ";"):
            key, _, value = part.partition("=")
            stage, _, name = key.partition(".")
            settings.append((stage, name, value))
        found.append(
            Option(
                row["key"],
                row["group"],
                row["name"],
                _parts(row["stages"], "+"),
                tuple(settings),
                _parts(row["when"], ";"),
                _parts(row["conditions"], ";"),
                row["needs"],
                row["words"],
                row["source"],
                row["evidence"],
            )
        )
    return tuple(found)


Facts = Mapping[str, float | None]


def facts_of(raw: RawWater, water: WaterAnalysis, design: DesignBasis, ledger: Ledger) -> Facts:
    """Return what the decision table asks of a water; None where it was not measured.

    Parameters
    ----------
    raw : RawWater
        The water ahead of the first stage. [-]
    water : WaterAnalysis
        Its analysis. [-]
    design : DesignBasis
        The engineer's choices. [-]
    ledger : Ledger
        The study so far: its dissolved solids, and what stops it untreated. [-]

    Returns
    -------
    mapping of str to float or None
        Facts by the names of the table. [-]
    """
    tds_mg_l = ledger.number("water.tds_mg_l") or 0.0
    hardness = equivalent_hardness_mg_l_caco3(raw.mg_l, HARDNESS_IONS)
    alkalinity = raw.alkalinity_mg_l_caco3
    ammonium = raw.mg_l.get("nh4")
    total = property_taken(water, "total_chlorine_mg_l") or 0.0
    chlorine = max(
        raw.free_chlorine_mg_l,
        design.carbon.free_chlorine_mg_l or 0.0,
        design.carbon.chloramine_mg_l or 0.0,
        total,
    )
    iron = raw.total("fe")
    return MappingProxyType(
        {
            "fe": iron,
            "mn": raw.total("mn"),
            "fe_dissolved": raw.mg_l.get("fe", 0.0),
            "mn_dissolved": raw.mg_l.get("mn", 0.0),
            "metals_known": 1.0 if _looked_for(water) else 0.0,
            "h2s": raw.h2s_mg_l,
            "h2s_gas": gas_of_sulfide(raw.h2s_mg_l, raw.ph, raw.coldest_c),
            "ph": raw.ph,
            "o2": property_taken(water, "oxygen_mg_l"),
            "nh4_n": None if ammonium is None else ammonium * molar_mass("N") / molar_mass("NH4"),
            "toc": raw.toc_mg_l,
            "tds": tds_mg_l,
            "hardness": hardness,
            "hardness_scale": 1.0 if hardness > 0 and _stopped_by_hardness(ledger, design) else 0.0,
            "alkalinity": alkalinity,
            "hardness_share": hardness / alkalinity if alkalinity else None,
            "any_chlorine": chlorine,
            "weak_acid": 1.0 if _asked(design) else 0.0,
            "salt_price": rates_of(design)["salt_per_kg"],
            "salt_limited": 1.0 if _limited(design) else 0.0,
            "counter_current": 1.0 if design.softener.direction == "counter-current" else 0.0,
            "vented": 1.0 if design.supply.vented_raw_tank else 0.0,
            "air_min": _air_min(raw, iron, tds_mg_l),
        }
    )


def _stopped_by_hardness(ledger: Ledger, design: DesignBasis) -> bool:
    """Tell whether a scale that a softener takes the metal of stops the raw water."""
    most = ledger.number("untreated.recovery.max")
    by = ledger.figure("untreated.recovery.limited_by")
    reaches = most is None or most >= design.machine.recovery
    return not reaches and by is not None and by.value in EXCHANGED


def _looked_for(water: WaterAnalysis) -> bool:
    """Tell whether the laboratory looked for iron and for manganese."""
    return all(water.measured(k) or k in water.total_mg_l for k in ("fe", "mn"))


def _asked(design: DesignBasis) -> bool:
    """Tell whether the site file asks for weak acid exchange."""
    told = design.stages["weak_acid"].include if "weak_acid" in design.stages else None
    return any(k.startswith("weak_acid.") for k in design.chosen) if told is None else bool(told)


def _limited(design: DesignBasis) -> bool:
    """Tell whether the site file limits what goes to the drain."""
    own = design.stages.get("discharge")
    limits = ("chloride_mg_l", "tds_mg_l", "salt_kg_per_day")
    return any(getattr(own, name, None) is not None for name in limits)


def _air_min(raw: RawWater, iron_mg_l: float, tds_mg_l: float) -> float | None:
    """Return the time of iron by air with its margin.

    None where the rate law does not hold: the pH conditions of the table stand for it below.
    """
    if raw.ph is None or iron_mg_l <= 0:
        return None
    margin = MARGIN_BRACKISH if tds_mg_l > BRACKISH_TDS_MG_L else MARGIN
    try:
        half = iron_half_life_min(raw.ph, raw.coldest_c)
    except OutOfRangeError:
        return None
    left = train_limits()["filter_iron_left"].value
    return margin * float(iron_time_min(iron_mg_l, left, half))


NOT_KNOWN = "iron or manganese is not known, so neither is whether the cartridge is enough"


def worded(option: Option, facts: Facts) -> Option:
    """Return a row with the words that hold for a water.

    Parameters
    ----------
    option : Option
        A row of the table. [-]
    facts : mapping of str to float or None
        The water. [-]

    Returns
    -------
    Option
        A clause that begins with a condition in square brackets stays only where it was found
        to hold; what was not measured keeps none. [-]
    """
    held = []
    for clause in option.words.split("; "):
        condition, bracket, text = clause.removeprefix("[").partition("] ")
        if not bracket:
            held.append(clause)
            continue
        known = facts[condition.split()[0]] is not None
        if known and not failing((condition,), facts):
            held.append(text)
    return replace(option, words="; ".join(held) or NOT_KNOWN if option.words else "")


def failing(conditions: tuple[str, ...], facts: Facts) -> str:
    """Return the first condition that a water does not keep, in words; empty where all hold.

    Parameters
    ----------
    conditions : tuple of str
        Conditions of a row. [-]
    facts : mapping of str to float or None
        The water. [-]

    Returns
    -------
    str
        Such as "iron of 4.2 mg/L is above 3 mg/L". [-]
    """
    for condition in conditions:
        failed = [_one(part.strip(), facts) for part in condition.split("|")]
        if all(failed):
            return " and ".join(failed)
    return ""


def _one(condition: str, facts: Facts) -> str:
    if condition.startswith("known "):
        name = condition.removeprefix("known ")
        return "" if facts[name] is not None else f"{WORDS[name][0]} was not measured"
    name, sign, limit = condition.split()
    found: Any = facts[name]
    if found is None or SIGNS[sign](found, float(limit)):
        return ""
    words, unit = WORDS[name]
    unit = f" {unit}" if unit else ""
    if name in CHOICES:
        return words
    return f"{words} of {shown(found, 3)}{unit} is {FAILS[sign]} {float(limit):g}{unit}"


INTERLOCK = "colour interlock"  # a need of ways with permanganate that a plant may have
OPEN = ("aeration", "degasser")  # towers open to the air
REPUMP = (
    "a pump of its own behind the open tower, for feed and backwash: the pressure of the well "
    "pump is lost there"
)
IN_PLACE = ("iron_filter", "regeneration", "intermittent")


def needed(option: Option, design: DesignBasis) -> str:
    """Return what has to be seen to in a way, without what the site file says is there.

    Parameters
    ----------
    option : Option
        A row of the table. [-]
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    str
        Parts joined by semicolons. [-]
    """
    has = design.iron_filter.colour_interlock
    parts = _parts(option.needs, ";")
    return "; ".join(part for part in parts if not (has and part.startswith(INTERLOCK)))


def of_tower(keys: Sequence[str]) -> tuple[str, ...]:
    """Return what an open tower ahead of the membranes asks for.

    Parameters
    ----------
    keys : sequence of str
        Stages ahead of the membranes. [-]

    Returns
    -------
    tuple of str
        Empty where there is none. [-]
    """
    return (REPUMP,) if any(key in keys for key in OPEN) else ()


def needs_of(keys: Sequence[str], design: DesignBasis, *, by_hand: bool) -> tuple[str, ...]:
    """Return what has to be seen to in a train that was not chosen, as the table says of it.

    Vessels that stand are no list of stages: of them the oxidant of the iron filter is taken
    to be fed, and no more is asked than of the way with that filter.

    Parameters
    ----------
    keys : sequence of str
        Its stages ahead of the membranes. [-]
    design : DesignBasis
        The engineer's choices. [-]
    by_hand : bool
        Whether the stages were named one by one. [-]

    Returns
    -------
    tuple of str
        Of the ways whose stages, one of them a way with a need of its own, it holds. [-]
    """
    held = set(keys) | ({"dechlorinate"} if {"carbon", "bisulfite"} & set(keys) else set())
    filtered = design.iron_filter
    if not by_hand and filtered.regeneration == "continuous":
        held |= {filtered.oxidant, "contact_tank"}
    ways = [o for o in options() if o.stages and set(o.stages) <= held]
    if filtered.regeneration != IN_PLACE[-1]:
        ways = [o for o in ways if IN_PLACE not in o.settings]
    if not by_hand:
        ways = [o for o in ways if "iron_filter" in o.stages]
    most = {o.group: max(len(w.stages) for w in ways if w.group == o.group) for o in ways}
    found = [needed(o, design) for o in ways if len(o.stages) == most[o.group]]
    return tuple(dict.fromkeys(words for words in (*found, *of_tower(keys)) if words))
