"""A softener that regenerates while the machine runs: pump, filters ahead, and untreated water."""

from pretreat.core.law import Number, law, valid
from pretreat.plant.water.wash_supply import WASHING, Draw, draws
from pretreat.stages.bed.arrangement import arrangement_of
from pretreat.stages.bed.laws import velocity_m_h
from pretreat.stages.train import Train

FAR_RATE = 1.5  # PRACTICE: times a limit of service that a filter bears for a quarter of an hour
DAY_D = 1.0
SOFTENER = "softener"  # the stage that a meter calls


@law
@valid(feed_m3_h=[0, None], wash_m3_h=[0, None], vessels="(0, inf)")
def flow_beside_wash_m3_h(feed_m3_h: Number, wash_m3_h: Number, vessels: Number) -> Number:
    """Flow through one vessel while one behind it is washed = (feed + wash) / vessels side by side.

    Worked by hand: 3 m3/h to the machine and 4 m3/h of a wash, through two vessels.

    >>> flow_beside_wash_m3_h(3.0, 4.0, 2.0)
    3.5
    """
    return (feed_m3_h + wash_m3_h) / vessels


def enter_wash_beside(train: Train) -> None:
    """Enter what washes in mid-run ask of pump and filters, and flag what does not bear it.

    Parameters
    ----------
    train : Train
        With pump and beds entered. [-]
    """
    ledger = train.entries.ledger
    for stage in WASHING:
        wash = WASHING[stage].wash
        if wash is None or not wash.in_turn or f"{stage}.backwash_flow_m3_h" not in ledger:
            continue
        if arrangement_of(ledger, stage) == "single":
            _note_single(train, stage)
            continue
        _compare_pump(train, stage)
        if wash.treated:
            _enter_filters_ahead(train, stage)


def _note_single(train: Train, stage: str) -> None:
    """Flag a single vessel that is called while the machine runs: too often, or by its meter."""
    entries = train.entries
    interval, hours = (
        entries.ledger.number(f"{stage}.interval_d"),
        train.entries.value("machine.hours_per_day"),
    )
    if interval is None or hours >= 24.0:  # all day long: said by the hours
        return
    if interval >= DAY_D:
        _note_meter(train, stage)
        return
    entries.flag(
        "washed_in_run",
        "caution",
        f"the {WASHING[stage].name} is one vessel that lasts {interval:.2g} d: it regenerates "
        "while the machine would run, and its valve passes raw water meanwhile: let a contact of "
        "the valve stop the machine until it is back in service, or set a second vessel beside it",
        f"{stage}.interval_d",
    )


def _note_meter(train: Train, stage: str) -> None:
    """Flag a meter that may call in mid-run, where the raw water allows no such recovery."""
    ledger, key = train.entries.ledger, f"{stage}.meter_setting_m3"
    metered = stage == SOFTENER and train.design.softener.control == "meter"
    end = "max_inhibited" if train.has("inhibitor") else "max"
    wanted, raw = train.design.machine.recovery, ledger.number(f"untreated.recovery.{end}")
    if not metered or key not in ledger or (raw is not None and raw >= wanted):
        return
    waits = ledger.number(f"{stage}.meter_setting_delayed_m3") is not None
    allows = "is not judged" if raw is None else f"allows {raw:.0%} of recovery"
    text = (
        f"the softener is one vessel on a meter: a valve that regenerates at once does so while "
        f"the machine runs and passes raw water meanwhile, which {allows} where {wanted:.0%} is "
        "wanted: "
    ).replace("%", " %")
    if waits:
        text += "take the setting of a valve that waits for the night, or "
    text += (
        "let a contact of the valve stop the machine until it is back in service, or set a second "
        "vessel beside it"
    )
    train.entries.flag("washed_in_run", "caution", text, key)


def _compare_pump(train: Train, stage: str) -> None:
    """Flag a pump that gives a wash, or the feed, but not both at once."""
    entries, pump = train.entries, train.design.supply.pump_flow_m3_h
    if pump is None:
        return
    feed = entries.value("machine.feed_flow_m3_h")
    worst = max(_steps(train, stage, feed), key=lambda step: step.flow_m3_h)
    if worst.flow_m3_h <= pump or pump < feed:
        return
    if entries.value(f"{stage}.backwash_flow_m3_h") > pump:  # alone too much, and said
        return
    entries.flag(
        "pump_beside_wash",
        "warning",
        f"{WASHING[stage].label}: its {worst.name} takes {worst.flow_m3_h - feed:.2f} m3/h while "
        f"another vessel gives the machine its {feed:.2f} m3/h, {worst.flow_m3_h:.2f} m3/h "
        f"together; the pump gives {pump:.2f} m3/h: a larger pump, or let a contact of the valve "
        "stop the machine while a vessel regenerates",
        "pump.largest_flow_m3_h",
    )


def _steps(train: Train, stage: str, feed_m3_h: float) -> list[Draw]:
    return draws(train.entries.value, (stage,), feed_m3_h)


def _enter_filters_ahead(train: Train, stage: str) -> None:
    """Enter the velocity in filters through which the water of the wash passes too."""
    entries, order = train.entries, list(WASHING)
    for ahead in order[: order.index(stage)]:
        if f"{ahead}.service_max_m_h" not in entries.ledger:
            continue
        label = WASHING[ahead].label
        flow, key = f"{ahead}.flow_beside_wash_m3_h", f"{ahead}.velocity_beside_wash_m_h"
        entries.law(
            flow,
            flow_beside_wash_m3_h,
            feed_m3_h="machine.feed_flow_m3_h",
            wash_m3_h=f"{stage}.backwash_flow_m3_h",
            vessels=f"{ahead}.vessels_side_by_side",
            label=f"{label}: flow of one vessel while the {WASHING[stage].name} is backwashed",
        )
        velocity = entries.law(
            key,
            velocity_m_h,
            flow_m3_h=flow,
            area_m2=f"{ahead}.area_m2",
            label=f"{label}: velocity while the {WASHING[stage].name} is backwashed",
            method="the water of the backwash passes it too",
        )
        most = entries.value(f"{ahead}.service_max_m_h")
        if velocity <= most:
            continue
        entries.flag(
            "filter_beside_wash",
            "caution" if velocity > FAR_RATE * most else "info",
            f"{label}: {velocity:.1f} m/h while the {WASHING[stage].name} behind it is backwashed "
            f"and the machine runs, at most {most:g} m/h in service: let a contact of the valve "
            "stop the machine meanwhile, wash with water from ahead of the filter, or a larger "
            "filter",
            key,
        )
