"""The summary: the verdict in words, from figures entered before it."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from pretreat.core.graph import Again
from pretreat.core.results import Ledger
from pretreat.plant.causes import tell_once
from pretreat.plant.uncertainty.digits import recovery_shown
from pretreat.plant.verdict.gaps import NO_SETTING
from pretreat.stages import ORDER, train_in_words, trains_in_words

Reader = Callable[[str], Any]  # the value of a figure by its key, None where there is none

PERCENT, TENTHS = 100.0, 1000.0
ROUNDING = 1e-9  # what arithmetic leaves of a recovery that is a round number
WITHOUT_WATER = "water_absent"  # the flag where vessels alone are quoted
MEDIA = {s.key: s.medium.words for s in ORDER if s.medium is not None and s.medium.words}
PROGRAMMED = {s.key: s.name for s in ORDER if s.medium is not None and s.medium.interval}
QUOTE_ALONE = "Quote for the media of the vessels installed; no water is given to rate them by"
# What each sentence is told from.
VERDICT = (
    "verdict.answer",
    "verdict.reasons",
    "concentrate.recovery",
    "recovery.max",
    "recovery.max_inhibited",
    "recovery.limited_by",
)
WORST = "recovery.max_worst_season"
BAND = tuple(f"recovery.max_at_{word}_limits" for word in ("cautious", "bold"))
SEASON = (WORST, "recovery.worst_season", "recovery.worst_limited_by")
BARE = "untreated.recovery.max_bare"
RAW = tuple(f"untreated.recovery.{k}{end}" for end in ("", "_bare") for k in ("max", "limited_by"))
RECOVERY = (*VERDICT[3:], *SEASON, *BAND, *RAW)
SAME = 1e-6  # of a recovery: rounding of a search
TRAIN = (
    "train.chosen",
    "train.runner_up",
    "choices.why",
    *(
        f"choices.{which}_{name}"
        for which in ("chosen", "runner_up")
        for name in ("recovery", "cost_per_year", "overall_recovery", "salt_kg_per_year")
    ),
    "concentrate.recovery",
)
PROGRAMME = tuple(
    f"{stage}.{name}" for stage in PROGRAMMED for name in ("programme_days", "programme_in_words")
)
MEDIA_LIFE = tuple(f"media_words.{stage}" for stage in MEDIA)


UNMEASURED, DATE = "verdict.not_measured", "water.date"


def enter_summary(ledger: Ledger) -> None:
    """Enter the verdict and the sentences that a reader should see first; tell each cause once.

    Parameters
    ----------
    ledger : Ledger
        A ledger with every other section entered. [-]
    """
    tell_once(ledger)

    def value(key: str) -> Any:
        figure = ledger.figure(key)
        return None if figure is None else figure.value

    for name, label, tell, inputs in (
        ("verdict", "Verdict", _verdict_of(ledger), VERDICT),
        ("not_measured", "Not measured and not judged", _as_entered(UNMEASURED), (UNMEASURED,)),
        ("analysis", "Analysis of", _as_entered(DATE), (DATE,)),
        ("train", "Train", _train, TRAIN),
        ("recovery", "Recovery", _recovery_of(ledger), RECOVERY),
        ("ways", "Scale control options", _ways, ("compare.conclusion",)),
        ("programme", "Programme", _programme_of(ledger), PROGRAMME),
        ("media_life", "Life of the media", _media_life, MEDIA_LIFE),
    ):
        text = tell(value)
        if text:
            key = f"summary.{name}"
            ledger.put(key, text, "-", label, method="from the figures of this study")
            known = (one for one in inputs if one in ledger)
            ledger.rests(key, *known, again=_of_one_study(tell, inputs))


def _as_entered(key: str) -> Callable[[Reader], str]:
    """Return what tells a figure that is words already."""
    return lambda value: str(value(key) or "")


def _of_one_study(tell: Callable[[Reader], str], inputs: tuple[str, ...]) -> Again:
    """Return a sentence that is told again after a change; of many draws nothing is told."""

    def again(value: Reader) -> str | None:
        if any(isinstance(value(key), np.ndarray) for key in inputs):
            return None
        return tell(value) or None

    return again


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


def _verdict_of(ledger: Ledger) -> Callable[[Reader], str]:
    """Return the verdict as a function of the figures."""
    vessels_alone = any(flag.code == WITHOUT_WATER for flag in ledger.study().flags)
    judged = "verdict.answer" in ledger

    def verdict(value: Reader) -> str:
        if judged:
            answer, reasons = value("verdict.answer"), value("verdict.reasons")
            return f"{str(answer).capitalize()}: {reasons}" if answer and reasons else ""
        recovery, most = value("concentrate.recovery"), value("recovery.max")
        if recovery is None or most is None:
            if vessels_alone:
                return QUOTE_ALONE
            return "Pretreatment rated without chemistry: no scaling verdict"
        inhibited = value("recovery.max_inhibited")
        by = _word(value, "recovery.limited_by")
        if recovery <= most:
            return f"{_percent(recovery)} recovery is within the scaling limits"
        if inhibited is not None and recovery <= inhibited:
            return (
                f"{_percent(recovery)} recovery is over the limit of {by} without an inhibitor, "
                "and within it with one (common practice)"
            )
        return f"{_percent(recovery)} recovery is over the scaling limit of {by}: lower it or treat"

    return verdict


def _band(value: Reader) -> str:
    """Say for which limits the recovery holds, where these are a band."""
    ends = [value(key) for key in BAND]
    if any(end is None for end in ends):
        return ""
    low, high = (percent_down(recovery_shown(end)) for end in ends)
    return (
        f", all at the usual limits of an inhibitor: {low} at the cautious ones, {high} at the bold"
    )


def _worst(value: Reader, shown: Callable[[str, float], str]) -> str:
    """Return the recovery of the worst season, empty where that is the operating water."""
    season, most = value("recovery.worst_season"), value(WORST)
    if season is None or most is None or str(season).startswith("operating"):
        return ""
    by = _word(value, "recovery.worst_limited_by")
    limited = f", limited by {by}" if by != "none" else ""
    allowed = shown(WORST, most)
    return f"in the worst season, {season}, this feed allows {allowed}{limited}{_band(value)}"


def _recovery_of(ledger: Ledger) -> Callable[[Reader], str]:
    """Return the limits of recovery as a function of the figures, in digits their spread bears."""
    seasonal = WORST in ledger
    partial = any(flag.code == "unjudged_scale" for flag in ledger.study().flags)

    def shown(key: str, most: float) -> str:
        figure = ledger.figure(key)
        if figure is None or figure.p10 is None or figure.p90 is None:
            return percent_down(most)
        low, high = (recovery_shown(end) for end in (figure.p10, figure.p90))
        down = percent_down(recovery_shown(most, figure.p10, figure.p90))
        return f"{down} ({percent_down(low)} to {percent_down(high)}, P10 to P90)"

    def recovery(value: Reader) -> str:
        most, by = value("recovery.max"), _word(value, "recovery.limited_by")
        if most is None or (seasonal and value(WORST) is None):
            return ""  # nor of a change that the seasons do not follow
        first = _worst(value, shown)
        inhibited = value("recovery.max_inhibited")
        limited = f", limited by {by}" if by != "none" else ""
        here = "the operating water" if first else "this feed"
        parts = [first] if first else []
        parts.append(f"{here} allows {shown('recovery.max', most)}{limited}")
        if inhibited is not None and inhibited != most:
            parts.append(f"with an inhibitor {shown('recovery.max_inhibited', inhibited)}")
        parts[-1] += "" if first else _band(value)
        if partial:
            parts[0] = f"of the scales that could be judged, {parts[0]}"
        end, bare = ("_bare", " without an inhibitor") if BARE in ledger else ("", "")
        raw = value(f"untreated.recovery.max{end}")
        if raw is not None:
            word = _word(value, f"untreated.recovery.limited_by{end}")
            parts.append(f"the raw water{bare} {percent_down(raw)} ({word})")
        return "; ".join(parts)

    return recovery


def _train(value: Reader) -> str:
    chosen = value("train.chosen")
    if not chosen:
        return ""
    named = train_in_words(str(chosen))
    why = trains_in_words(str(value("choices.why") or ""))
    parts = [f"chosen {named} ({_three(value, 'chosen')})", why]
    if value("choices.runner_up_cost_per_year") is not None:
        other = train_in_words(str(value("train.runner_up")))
        parts.insert(1, f"runner-up {other} ({_three(value, 'runner_up')})")
    return "; ".join(part for part in parts if part)


def _three(value: Reader, which: str) -> str:
    """Return cost, water and salt of a train in words; at what recovery, where it reaches less."""
    costed, wanted = value(f"choices.{which}_recovery"), value("concentrate.recovery")
    short = costed is not None and wanted is not None and costed < wanted - SAME
    at = f" at {percent_down(costed)} recovery, not the {_percent(wanted)} wanted" if short else ""
    cost, water, salt = (
        value(f"choices.{which}_{name}")
        for name in ("cost_per_year", "overall_recovery", "salt_kg_per_year")
    )
    held = " with capital, energy and water" if which == "chosen" else ""
    water_and_salt = f"{_percent(water)} of the raw water, {salt:,.0f} kg of salt"
    return f"{cost:,.0f} a year{held}{at}, {water_and_salt}"


def _ways(value: Reader) -> str:
    return str(value("compare.conclusion") or "")


def _programme_of(ledger: Ledger) -> Callable[[Reader], str]:
    """Return the programme as a function of the figures, for the stages that have one."""
    stages = [stage for stage in PROGRAMMED if f"{stage}.programme_days" in ledger]
    unset = any(flag.code == "load_incomplete" for flag in ledger.study().flags)
    worded = {stage for stage in stages if f"{stage}.programme_in_words" in ledger}

    def programme(value: Reader) -> str:
        parts = []
        for stage in stages:
            if stage in worded:
                words = f"{PROGRAMMED[stage]} {value(f'{stage}.programme_in_words')}"
                parts.append(words.replace(";", ","))
                continue
            days = value(f"{stage}.programme_days")
            every = _every(days) if isinstance(days, float) else "no timer setting"
            if stage == "softener" and unset:
                every = NO_SETTING
            parts.append(f"{PROGRAMMED[stage]} {every}")
        return "; ".join(parts)

    return programme


def _media_life(value: Reader) -> str:
    words = ((name, value(f"media_words.{stage}")) for stage, name in MEDIA.items())
    return "; ".join(f"{name} {text}" for name, text in words if text is not None)


def _every(days: float) -> str:
    names = {0.5: "twice a day", 1.0: "every day", 4.0: "twice a week", 7.0: "once a week"}
    return names.get(days, f"every {days:g} days")


def _word(value: Reader, key: str) -> str:
    text = value(key)
    return "unknown" if text is None else str(text)
