"""The summary: the verdict in words, from figures entered before it."""

from pretreat.results import Ledger

PERCENT = 100.0
WARNED = "warning"


def enter_summary(ledger: Ledger) -> None:
    """Enter the verdict and the sentences that a reader should see first.

    Parameters
    ----------
    ledger : Ledger
        A ledger with every other section entered. [-]
    """
    for key, label, text in (
        ("verdict", "Verdict", _verdict(ledger)),
        ("recovery", "Recovery", _recovery(ledger)),
        ("programme", "Programme", _programme(ledger)),
    ):
        if text:
            ledger.put(f"summary.{key}", text, "-", label, method="from the figures of this study")


def _percent(value: float) -> str:
    return f"{value * PERCENT:.0f} %"


def _verdict(ledger: Ledger) -> str:
    recovery, most = ledger.number("concentrate.recovery"), ledger.number("recovery.max")
    if "water_balance.raw_m3_year" not in ledger:
        return "Quote for the media of the vessels installed; no water is given, so none is rated"
    if recovery is None or most is None:
        return "Pretreatment rated without chemistry: no scaling verdict"
    inhibited = ledger.number("recovery.max_inhibited")
    by = _word(ledger, "recovery.limited_by")
    if recovery <= most:
        return f"{_percent(recovery)} recovery is within the scaling limits"
    if inhibited is not None and recovery <= inhibited:
        return (
            f"{_percent(recovery)} recovery is over the limit of {by} without an inhibitor, "
            "and within it with one (common practice)"
        )
    return f"{_percent(recovery)} recovery is over the scaling limit of {by}: lower it or treat"


def _recovery(ledger: Ledger) -> str:
    most, by = ledger.number("recovery.max"), _word(ledger, "recovery.limited_by")
    if most is None:
        return ""
    parts = [f"this feed allows {_percent(most)}" + (f", limited by {by}" if by != "none" else "")]
    inhibited = ledger.number("recovery.max_inhibited")
    if inhibited is not None:
        parts.append(f"with an inhibitor {_percent(inhibited)}")
    raw = ledger.number("untreated.recovery.max")
    if raw is not None:
        word = _word(ledger, "untreated.recovery.limited_by")
        parts.append(f"the raw water {_percent(raw)} ({word})")
    return "; ".join(parts)


def _programme(ledger: Ledger) -> str:
    parts = []
    for stage, name in (("iron_filter", "iron filter"), ("softener", "softener")):
        figure = ledger.figure(f"{stage}.programme_days")
        if figure is None:
            continue
        days = figure.value
        parts.append(f"{name} {_every(days) if isinstance(days, float) else 'no timer setting'}")
    return "; ".join(parts)


def _every(days: float) -> str:
    names = {0.5: "twice a day", 1.0: "every day", 4.0: "twice a week", 7.0: "once a week"}
    return names.get(days, f"every {days:g} days")


def _word(ledger: Ledger, key: str) -> str:
    figure = ledger.figure(key)
    return str(figure.value) if figure is not None and figure.value is not None else "unknown"
