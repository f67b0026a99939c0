"""What hardness, iron, chlorine and the cartridge say about the pretreatment."""

import math
from statistics import median

from pretreat.core.basis import cites
from pretreat.record.day import Day, Evidence
from pretreat.record.levels import ends

CARTRIDGE_RISE_BAR = 0.7  # PRACTICE: changed at 0.7 to 1.0 bar
BED_RISE_BAR = 0.5  # PRACTICE: a bed is backwashed at 0.35 to 0.7 bar above a clean one
BEDS = (
    ("iron_bed", "over the iron filter"),
    ("softener_bed", "over the softener"),
    ("carbon_bed", "between softener and cartridge"),
)
HARDNESS_RISE_MG_L, HARDNESS_TIMES = 8.0, 1.5  # RECORD_STATISTICS
KIT_STEP_MG_L = 17.2  # one drop of a kit that counts grains per US gallon
IRON_TIMES, IRON_LEAST_MG_L = 2.0, 0.15  # RECORD_STATISTICS
IRON_ASSUMED_MG_L = 0.1  # PRACTICE: left by a filter in good order
CHLORINE_MG_L = 0.1  # PRACTICE: what a kit shows for certain
EARLY_RUN = 0.5  # share of the meter setting: hardness before it is no exhausted bed
FEW = 3  # readings looked at
LOWEST_TAIL = (
    150  # RECORD_STATISTICS: readings in which the lowest drop is looked for, and the first
)
AGREE = 2  # of them that must be over


def _over(values: tuple[float, ...], limit: float) -> bool:
    return len(values) >= FEW and sum(v > limit for v in values) >= AGREE


def _hardness(day: Day, *, early: bool) -> tuple[float, ...]:
    """Return the last hardness readings of the first half of a run, or the others."""
    hard, run = day.track("soft_hardness"), day.track("softened")
    setting = day.reference.meter_setting_m3
    kept: list[float] = []
    for value, softened in zip(reversed(hard.values), reversed(run.values), strict=True):
        is_early = bool(setting and softened < EARLY_RUN * setting)
        if math.isfinite(value) and is_early == early:
            kept.append(value)
        if len(kept) == FEW:
            break
    return tuple(reversed(kept))


def resin(day: Day) -> Evidence | None:
    """Judge whether the resin holds less than it did."""
    leakage = day.reference.leakage_mg_l_caco3
    if leakage is None:
        return None
    late = _hardness(day, early=False)
    read = day.track("soft_hardness").read()[:FEW]
    new = median(read) if read else leakage
    # A first level beyond what a kit tells apart is a fault from the beginning, no reference.
    base = max(leakage, new) if new <= max(_hard_limit(leakage), KIT_STEP_MG_L) else leakage
    if not _over(late, _hard_limit(base)):
        return None
    return Evidence(
        "resin_capacity",
        (
            f"hardness before regeneration {median(late):.0f} mg/L as CaCO3 in the last readings; "
            f"{new:.0f} mg/L as CaCO3 in the first ones, "
            f"{leakage:.0f} mg/L as CaCO3 in the programme",
        ),
    )


@cites("RECORD_STATISTICS", "hardness beyond what the programme leaves")
def _hard_limit(base: float) -> float:
    return max(base + HARDNESS_RISE_MG_L, HARDNESS_TIMES * base)


@cites("RECORD_STATISTICS", "one early reading over, and the last two of all")
def _both_over(day: Day, limit: float) -> bool:
    """Tell whether the last two readings of hardness are over, wherever in a run."""
    read = day.track("soft_hardness").read()[-AGREE:]
    return len(read) == AGREE and min(read) > limit


def channelled(day: Day) -> Evidence | None:
    """Judge whether hardness leaks early in a run."""
    leakage = day.reference.leakage_mg_l_caco3
    if leakage is None:
        return None
    early, limit = _hardness(day, early=True), max(2.0 * leakage, leakage + HARDNESS_RISE_MG_L)
    confirmed = early and early[-1] > limit and _both_over(day, limit)
    if not (_over(early, limit) or confirmed):
        return None
    return Evidence(
        "channelled_bed",
        (
            f"hardness {median(early):.0f} mg/L as CaCO3 in the first half of a run, the programme "
            f"leaves {leakage:.0f} mg/L as CaCO3",
        ),
    )


def iron(day: Day) -> Evidence | None:
    """Judge whether iron passes the filter: two of the last three readings, by their median."""
    left, new = day.reference.iron_left_mg_l, day.base("iron")
    usual = IRON_ASSUMED_MG_L if left is None else left
    level = usual if math.isnan(new) else min(new, usual)
    limit = max(IRON_TIMES * level, IRON_LEAST_MG_L)
    values = day.track("iron").read()[-FEW:]
    if len(values) < FEW or median(values) <= limit:
        return None
    return Evidence(
        "iron_passing",
        (
            f"iron behind the filter {median(values):.2f} mg/L in the last {FEW} readings; "
            f"{level:.2f} mg/L when new or in the design",
        ),
    )


def _rise(values: tuple[float, ...]) -> tuple[float, float] | None:
    """Return the level of the last readings, and its rise over the lowest so far."""
    values = tuple(values[i] for i in ends(values, LOWEST_TAIL))
    if len(values) < 2 * FEW:
        return None
    levels = [sorted(values[i : i + FEW])[FEW // 2] for i in range(len(values) - FEW + 1)]
    return levels[-1], levels[-1] - min(levels)


@cites("PRACTICE", "rise of pressure drop over a clean cartridge")
def cartridge(day: Day) -> Evidence | None:
    """Compare the drop of today with the lowest level so far: a clean cartridge."""
    found = _rise(day.track("cartridge").values)
    if found is None or found[1] < CARTRIDGE_RISE_BAR:
        return None
    return Evidence(
        "cartridge",
        (
            f"pressure drop of the cartridge {found[0]:.1f} bar, "
            f"{found[1]:.1f} bar above a clean one",
        ),
    )


@cites("PRACTICE", "rise of pressure drop over a clean bed")
def filter_pressure(day: Day) -> Evidence | None:
    """Compare the drops over iron filter, softener and carbon with the lowest level so far."""
    told = []
    for name, words in BEDS:
        found = _rise(day.track(name).values)
        if found is not None and found[1] >= BED_RISE_BAR:
            told.append(
                f"pressure drop {words} {found[0]:.1f} bar, {found[1]:.1f} bar "
                "above the lowest so far"
            )
    return Evidence("filter_pressure", tuple(told)) if told else None


def chlorine(day: Day) -> Evidence | None:
    """Judge the last reading of chlorine."""
    values = day.track("chlorine").read()
    if not values or values[-1] <= CHLORINE_MG_L:
        return None
    return Evidence("chlorine", (f"free chlorine {values[-1]:.2f} mg/L when last tested",))
