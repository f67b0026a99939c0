"""A new analysis of the water against the one the site was set by: what changes, in words."""

from collections.abc import Iterator

from msgspec import Struct

from pretreat.core.basis import Flag, Level, Series, Value
from pretreat.core.errors import PretreatError
from pretreat.core.results import Ledger, Study
from pretreat.core.water import WaterAnalysis
from pretreat.membrane.gauges.setpoints import split
from pretreat.record.running import Run, as_standing, run_running
from pretreat.site.design import DesignBasis

SAME = 0.02  # RECORD_STATISTICS: a change below it is not worth a word
_QUANTITIES = (
    "water.hardness_mg_l_caco3",
    "water.alkalinity_mg_l_caco3",
    "water.ph",
    "water.tds_mg_l",
    "water.fe_mg_l",
    "water.mn_mg_l",
    "water.so4_mg_l",
    "water.cl_mg_l",
    "water.ba_mg_l",
    "water.sio2_mg_l",
    "untreated.recovery.max",
    "untreated.recovery.limited_by",
    "recovery.max",
    "recovery.limited_by",
    "recovery.max_inhibited",
    "scaling.lsi",
    "settings.osmotic_average_kpa",
    "softener.load_kg_caco3_d",
    "softener.leakage_mg_l_caco3",
    "softener.interval_d",
    "softener.programme_days",
    "softener.meter_setting_m3",
    "softener.salt_kg_per_regeneration",
    "softener.salt_kg_per_year",
    "iron_filter.interval_governing_d",
    "iron_filter.programme_days",
    "iron_filter.permanganate_kg_per_year",
)


class TwoWaters(Struct, frozen=True):
    """The site with the water it was set by, and with the new one; vessels and doses as they are.

    ``after`` is None where the train as it stands cannot be judged with the new water.
    """

    before: Study
    after: Study | None
    name: str
    fault: str = ""


def two_waters(
    old: WaterAnalysis | None, new: WaterAnalysis, design: DesignBasis, name: str, run: Run
) -> TwoWaters:
    """Return a running site with its old water and with a new one.

    Parameters
    ----------
    old : WaterAnalysis or None
        The water of the site file. [-]
    new : WaterAnalysis
        The new analysis. [-]
    design : DesignBasis
        The engineer's choices. [-]
    name : str
        Name of the new report. [-]
    run : callable
        Studies a site: water, design and mode. [-]

    Returns
    -------
    TwoWaters
        Both studies. [-]
    """
    standing = as_standing(design, run_running(old, design, run))
    before = run(old, standing, "rate")
    try:
        return TwoWaters(before, run(new, standing, "rate"), name)
    except PretreatError as problem:
        return TwoWaters(before, None, name, "; ".join(problem.faults))


def enter_new_analysis(ledger: Ledger, waters: TwoWaters) -> None:
    """Enter what a new analysis changes: a table, and flags in words.

    Parameters
    ----------
    ledger : Ledger
        Where they go. [-]
    waters : TwoWaters
        The site with either water. [-]
    """
    ledger.put("record.analysis", waters.name, "-", "New analysis", origin="measured")
    if waters.after is None:
        text = f"with the new water the train as it stands cannot be judged: {waters.fault}"
        ledger.flag(Flag("new_water_beyond_train", "warning", text, "record.analysis"))
        return
    rows = tuple(_rows(waters.before, waters.after))
    ledger.table(
        Series(
            "record.new_analysis",
            "What the new analysis changes, vessels as they are",
            ("what", "unit", "before", "now", "change"),
            ("-", "-", "", "", "-"),
            rows,
            method="the site rated with either water",
            headings=("What", "Unit", "Before", "Now", "Change"),
        )
    )
    for code, level, text in (
        *_recovery(waters.before, waters.after),
        *_programme(waters.before, waters.after),
        *_stages(waters.before, waters.after),
    ):
        ledger.flag(Flag(code, level, text, "record.analysis"))
    text = (
        f'to let the new water replace the old one, write analysis = "{waters.name}" in '
        "[water] of the site file; readings here are judged by the old programme"
    )
    ledger.flag(Flag("new_water_replace", "info", text, "record.analysis"))


_INDEXES = frozenset({"water.ph", "scaling.lsi"})  # differences, not shares
_TIMED = (
    ("softener", "softener", "interval_d"),
    ("iron_filter", "iron filter", "interval_governing_d"),
)


def _rows(before: Study, after: Study) -> Iterator[tuple[Value, ...]]:
    for key in _QUANTITIES:
        figure = before.figures.get(key) or after.figures.get(key)
        old, new = before.value(key), after.value(key)
        if figure is None or (old is None and new is None):
            continue
        yield _named(key, figure.label), figure.unit, old, new, _change(key, old, new)


def _named(key: str, label: str) -> str:
    """Return the label of a figure with the name of its stage."""
    stage = {
        "softener": "Softener",
        "iron_filter": "Iron filter",
        "untreated": "Without pretreatment",
    }.get(key.partition(".")[0], "")
    inside = label[:1].lower() + label[1:]
    return label if not stage or label.startswith(stage) else f"{stage}: {inside}"


def _change(key: str, old: Value, new: Value) -> str:
    if old is None or new is None:
        return "known now" if old is None else "not known now"
    if not (isinstance(old, float) and isinstance(new, float)):
        return "same" if old == new else "changed"
    if key in _INDEXES:
        return "same" if abs(new - old) < SAME else f"{abs(new - old):.2f} {_way(old, new)}"
    if old == 0.0:
        return "same" if old == new else _way(old, new)
    share = new / old - 1.0
    return "same" if abs(share) < SAME else f"{_pct(abs(share))} {_way(old, new)}"


def _pct(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def _way(old: float, new: float) -> str:
    return "up" if new > old else "down"


def _every(days: float) -> str:
    return "every day" if days == 1.0 else f"every {days:g} days"


_Told = tuple[str, Level, str]


def _recovery(before: Study, after: Study) -> Iterator[_Told]:
    old, new = before.number("recovery.max"), after.number("recovery.max")
    running = after.number("machine.recovery")
    if old is None or new is None or running is None:
        return
    scales = before.value("recovery.limited_by"), after.value("recovery.limited_by")
    same_scale = scales[0] == scales[1]
    if abs(new / old - 1.0) >= SAME if old else new != old:
        word = "falls" if new < old else "rises"
        limit = f"limited by {scales[1]}" + ("" if same_scale else f", before by {scales[0]}")
        yield (
            "new_water_recovery",
            "caution",
            f"the maximum recovery {word} from {_pct(old)} to {_pct(new)}, {limit}",
        )
    elif not same_scale:
        yield (
            "new_water_scale",
            "caution",
            f"the maximum recovery stays near {_pct(new)}; it is limited by {scales[1]}, before "
            f"by {scales[0]}",
        )
    if running > new:
        below = int(100.0 * new) / 100.0
        how = (
            f"set at most {_pct(below)}, product to drain {split(below)}"
            if below > 0.0
            else ("no recovery is safe without an inhibitor or more pretreatment")
        )
        yield (
            "new_water_above_limit",
            "warning",
            f"the machine is set to {_pct(running)}, more than the new water allows: {how}",
        )


def _programme(before: Study, after: Study) -> Iterator[_Told]:
    old, new = (s.number("softener.load_kg_caco3_d") for s in (before, after))
    if old and new and abs(new / old - 1.0) >= SAME:
        word = "falls" if new < old else "rises"
        level: Level = "info" if new < old else "caution"
        yield (
            "new_water_load",
            level,
            f"the hardness load {word} by {_pct(abs(new / old - 1.0))}, from {old:.1f} to "
            f"{new:.1f} kg a day as CaCO3",
        )
    for stage in _TIMED:
        yield from _setting(before, after, stage)
    old, new = (s.number("softener.meter_setting_m3") for s in (before, after))
    if old and new and abs(new / old - 1.0) >= SAME:
        yield (
            "new_water_meter",
            "caution",
            f"softener on a meter: set it to {new:.1f} m3 instead of {old:.1f} m3",
        )


def _setting(before: Study, after: Study, stage: tuple[str, str, str]) -> Iterator[_Told]:
    prefix, name, interval = stage
    keys = f"{prefix}.{interval}", f"{prefix}.programme_days"
    was, now = ([s.number(key) for key in keys] for s in (before, after))
    if was[0] is None or now[0] is None:
        return
    since = f"its capacity lasts {now[0]:.2f} days, before {was[0]:.2f}"
    if was[1] == now[1]:
        if abs(now[0] / was[0] - 1.0) >= SAME:
            kept = "no timer setting suits" if now[1] is None else f"{_every(now[1])} stays"
            yield (f"new_water_{prefix}", "info", f"{name}: {since}; {kept}")
        return
    if now[1] is None:
        yield (
            f"new_water_{prefix}",
            "warning",
            f"{name}: {since}; no setting of a timer is short enough any more",
        )
        return
    old = "no setting that suits" if was[1] is None else _every(was[1])
    yield (
        f"new_water_{prefix}",
        "warning",
        f"{name}: {since}; set the timer to {_every(now[1])} instead of {old}",
    )


def _stages(before: Study, after: Study) -> Iterator[_Told]:
    was, now = (
        {str(r[0]): str(r[1]) for r in s.series["train.stages"].rows}
        if "train.stages" in s.series
        else {}
        for s in (before, after)
    )
    for stage, decision in now.items():
        if was.get(stage, decision) != decision:
            yield ("new_water_stage", "warning", f"{stage}: {decision}, before {was[stage]}")
