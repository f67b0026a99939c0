"""The summary: the verdict in words, from figures entered before it."""

import math

from pretreat.core.results import Ledger

PERCENT, TENTHS = 100.0, 1000.0
ROUNDING = 1e-9  # what arithmetic leaves of a recovery that is a round number
WITHOUT_WATER = "water_absent"  # the flag where vessels alone are quoted
MEDIA = {"softener": "softening resin", "iron_filter": "iron filter medium",
         "multimedia": "multimedia", "carbon": "activated carbon"}  # fmt: skip


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
        ("ways", "Ways to keep scale off", _word_or_none(ledger, "compare.conclusion")),
        ("programme", "Programme", _programme(ledger)),
        ("media_life", "Life of the media", _media_life(ledger)),
    ):
        if text:
            ledger.put(f"summary.{key}", text, "-", label, method="from the figures of this study")


def percent_down(value: float) -> str:
    """Return a recovery in words, rounded down to 0.1 %: a limit is never stated too high.

    Parameters
    ----------
    value : float
        Recovery. [-]

    Returns
    -------
    str
        Such as "74.8 %". [-]
    """
    tenths = math.floor(value * TENTHS + ROUNDING) / (TENTHS / PERCENT)
    return f"{tenths:g} %"


def _percent(value: float) -> str:
    return f"{round(value * PERCENT, 1):g} %"


def _verdict(ledger: Ledger) -> str:
    recovery, most = ledger.number("concentrate.recovery"), ledger.number("recovery.max")
    if recovery is None or most is None:
        if any(flag.code == WITHOUT_WATER for flag in ledger.study().flags):
            return "Quote for the media of the vessels installed; no water is given to rate them by"
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
    parts = [
        f"this feed allows {percent_down(most)}" + (f", limited by {by}" if by != "none" else "")
    ]
    inhibited = ledger.number("recovery.max_inhibited")
    if inhibited is not None:
        parts.append(f"with an inhibitor {percent_down(inhibited)}")
    raw = ledger.number("untreated.recovery.max")
    if raw is not None:
        word = _word(ledger, "untreated.recovery.limited_by")
        parts.append(f"the raw water {percent_down(raw)} ({word})")
    return "; ".join(parts)


def _programme(ledger: Ledger) -> str:
    parts = []
    for stage, name in (("iron_filter", "iron filter"), ("softener", "softener")):
        figure = ledger.figure(f"{stage}.programme_days")
        if figure is None:
            continue
        words = ledger.figure(f"{stage}.programme_in_words")
        if words is not None:
            parts.append(f"{name} {words.value}".replace(";", ","))
            continue
        days = figure.value
        parts.append(f"{name} {_every(days) if isinstance(days, float) else 'no timer setting'}")
    return "; ".join(parts)


def _media_life(ledger: Ledger) -> str:
    words = ((name, ledger.figure(f"media_words.{stage}")) for stage, name in MEDIA.items())
    return "; ".join(f"{name} {figure.value}" for name, figure in words if figure is not None)


def _every(days: float) -> str:
    names = {0.5: "twice a day", 1.0: "every day", 4.0: "twice a week", 7.0: "once a week"}
    return names.get(days, f"every {days:g} days")


def _word_or_none(ledger: Ledger, key: str) -> str:
    figure = ledger.figure(key)
    return str(figure.value) if figure is not None and figure.value else ""


def _word(ledger: Ledger, key: str) -> str:
    figure = ledger.figure(key)
    return str(figure.value) if figure is not None and figure.value is not None else "unknown"
