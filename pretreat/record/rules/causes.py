"""What else in the record speaks for a cause, or against it."""

import math
from collections.abc import Callable, Mapping, Sequence
from statistics import median
from types import MappingProxyType

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import cites
from pretreat.record.alarms import CHLORINE_MG_L, HARD_MG_L_CACO3, IRON_MG_L
from pretreat.record.day import Day, Evidence
from pretreat.record.rules.regenerations import regenerations
from pretreat.record.rules.salt import salt_per_regeneration_kg

LAST = 3  # readings of a test that are looked at
OFF = 0.15  # RECORD_STATISTICS: further off the programme or the design a value explains a fault
RECOVERY_OFF = 0.03  # RECORD_STATISTICS: two flow meters of 2 %
SLOW_BAR = 0.5  # PRACTICE: a cartridge near its end
_UNIT = "mg/L as CaCO3"


class Clue(Struct, frozen=True):
    """Whether the record speaks for a cause, and the sentence that says why."""

    speaks_for: bool
    words: str


@cites("PRACTICE", "a cause that another gauge shows is looked at first")
def explained(found: Evidence, day: Day) -> Evidence:
    """Return a fault with the causes that the rest of the record speaks for, and against.

    Parameters
    ----------
    found : Evidence
        The fault. [-]
    day : Day
        The record up to its date. [-]

    Returns
    -------
    Evidence
        The same, with sentences of what was looked at. [-]
    """
    likely: list[str] = []
    unlikely: list[str] = []
    told: list[str] = []
    for cause, look in _CLUES.get(found.fault, {}).items():
        clue = look(day)
        if clue is None:
            continue
        (likely if clue.speaks_for else unlikely).append(cause)
        told.append(clue.words)
    return replace(
        found,
        sentences=(*found.sentences, *told),
        likely=tuple(likely),
        unlikely=tuple(unlikely),
    )


def ordered(causes: Sequence[str], found: Evidence) -> tuple[str, ...]:
    """Return causes with the likely ones first and those spoken against last.

    Parameters
    ----------
    causes : sequence of str
        Causes in their usual order. [-]
    found : Evidence
        The fault. [-]

    Returns
    -------
    tuple of str
        The same causes. [-]
    """
    return tuple(sorted(causes, key=lambda c: (c not in found.likely, c in found.unlikely)))


def _last(day: Day, gauge: str) -> float:
    read = [v for r in day.tracks.readings if math.isfinite(v := r.get(gauge))][-LAST:]
    return median(read) if read else math.nan


def _first(day: Day, gauge: str) -> float:
    read = [v for r in day.tracks.readings if math.isfinite(v := r.get(gauge))][:LAST]
    return median(read) if read else math.nan


def _little_salt(day: Day) -> Clue | None:
    wanted, used = day.reference.salt_per_regeneration_kg, salt_per_regeneration_kg(day)
    if not wanted or used is None:
        return None
    words = f"{used:.1f} kg of salt per regeneration, the programme is {wanted:.1f} kg"
    return Clue(used < (1.0 - OFF) * wanted, words)


def _harder(day: Day) -> Clue | None:
    now, design = _last(day, "raw_hardness_mg_l_caco3"), day.reference.raw_hardness_mg_l_caco3
    before = design or _first(day, "raw_hardness_mg_l_caco3")
    if not now > 0.0 or not before > 0.0:
        return None
    words = f"raw hardness {now:.0f} {_UNIT}, the design has {before:.0f} {_UNIT}"
    return Clue(now > (1.0 + OFF) * before, words)


def _hard(day: Day) -> Clue | None:
    now = _last(day, "soft_hardness_mg_l_caco3")
    if math.isnan(now):
        return None
    limit = max(HARD_MG_L_CACO3, (1.0 + OFF) * (day.reference.leakage_mg_l_caco3 or 0.0))
    return Clue(now > limit, f"hardness behind the softener {now:.0f} {_UNIT}")


def _iron(day: Day) -> Clue | None:
    now = _last(day, "iron_out_mg_l")
    if math.isnan(now):
        return None
    return Clue(now > IRON_MG_L, f"iron behind the filter {now:.2f} mg/L")


def _raw_iron(day: Day) -> Clue | None:
    now, before = _last(day, "raw_iron_mg_l"), _first(day, "raw_iron_mg_l")
    if not before > 0.0:
        return None
    words = f"raw iron {now:.2f} mg/L, {before:.2f} mg/L in the first readings"
    return Clue(now > (1.0 + 2.0 * OFF) * before, words)


def _no_permanganate(day: Day) -> Clue | None:
    read = [r.values.get("permanganate_filled_kg") for r in day.tracks.readings[-LAST:]]
    filled = [v for v in read if v is not None]
    if len(filled) < LAST:
        return None
    words = f"{math.fsum(filled):.2g} kg of permanganate filled at the last {LAST} readings"
    return Clue(not any(filled), words)


def _feed_m3_h(day: Day) -> float:
    fed = _last(day, "product_flow_m3_h") + _last(day, "drain_flow_m3_h")
    return _last(day, "feed_flow_m3_h") if math.isnan(fed) else fed


def _fast(day: Day) -> Clue | None:
    now, design = _feed_m3_h(day), day.reference.product_m3_h / day.reference.recovery
    if math.isnan(now):
        return None
    words = f"feed flow {now:.2f} m3/h, the design has {design:.2f} m3/h"
    return Clue(now > (1.0 + OFF) * design, words)


def _high_recovery(day: Day) -> Clue | None:
    fed, product = _feed_m3_h(day), _last(day, "product_flow_m3_h")
    if not fed > 0.0 or math.isnan(product):
        return None
    now, design = product / fed, day.reference.recovery
    words = f"recovery {100.0 * now:.0f} %, the design has {100.0 * design:.0f} %"
    return Clue(now > design + RECOVERY_OFF, words)


def _changed(day: Day) -> Clue | None:
    found = day.levels.get("conductivity")
    if found is None:
        return None
    change = math.expm1(found.change)
    words = f"feed conductivity {100.0 * change:+.0f} % against the first readings"
    return Clue(change > OFF, words)


def _chlorine(day: Day) -> Clue | None:
    read = day.track("chlorine").read()
    if not read:
        return None
    return Clue(
        max(read) > CHLORINE_MG_L, f"free chlorine at most {max(read):.2g} mg/L when tested"
    )


def _missed(day: Day) -> Clue | None:
    found = regenerations(day)
    return None if found is None else Clue(True, found.sentences[0])


def _slow_cartridge(day: Day) -> Clue | None:
    read = day.track("cartridge").read()[-LAST:]
    if not read:
        return None
    return Clue(median(read) > SLOW_BAR, f"pressure drop of the cartridge {median(read):.1f} bar")


_CLUES: Mapping[str, Mapping[str, Callable[[Day], Clue | None]]] = MappingProxyType(
    {
        "scaling": {
            "hardness past the softener": _hard,
            "recovery set too high": _high_recovery,
            "changed water": _changed,
        },
        "fouling": {"iron or manganese passing": _iron},
        "membrane_damage": {"chlorine or permanganate at the membranes": _chlorine},
        "resin_capacity": {
            "less salt than set or a salt bridge": _little_salt,
            "raw water harder": _harder,
            "iron on the resin": _iron,
        },
        "salt_use": {"regenerations missed or doubled": _missed},
        "regenerations_few": {"more water used or harder water than designed": _harder},
        "iron_passing": {
            "regeneration missed or permanganate empty": _no_permanganate,
            "raw iron up": _raw_iron,
            "flow above the design": _fast,
        },
        "cartridge": {"iron passing": _iron},
        "low_pressure": {"cartridge slow": _slow_cartridge},
        "filter_pressure": {"flow above the design": _fast},
    }
)
