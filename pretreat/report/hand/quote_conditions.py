"""What must be seen to before the recovery is kept, in words that a customer reads."""

import re
from collections.abc import Sequence
from functools import lru_cache

from pretreat.core.results import Study
from pretreat.core.tables import rows
from pretreat.report.hand.quote_sentences import is_planned, stage_name, start_of, unjudged
from pretreat.report.hand.quote_words import Words
from pretreat.stages import ORDER

CONDITIONS, AGAINST = "quote.conditions", "quote.against"
MISSING, COLOUR, PERMANGANATE = "stage_missing", "colour", "permanganate"
DO_NOT_RUN = "DO NOT RUN"  # as the settings card orders
PHOSPHATE = "phosphate"  # seldom in an analysis, and quickly measured (common practice)
FURTHER = "further"  # the subject of what the table does not know
HEALTH = "health"
CALCIUM, UNSOFTENED = "calcium", "calcium_unsoftened"
SOFTENED, TO_ADD = ("softener.resin_volume_l", "softener.resin_bought_l"), "calcium_for_soil_mg_l"
LOADED, NEARLY = "loaded", "loaded_near"
OF_A_FILTER = frozenset(
    {"backwash", "bed", "contact", "larger", "salt_setting", "timer", "washing", LOADED, NEARLY}
)
NEAR_RATE = 1.1  # times the rate of a code: a filter in practice runs so (own judgement, no source)
DANGERS = ("gas_chlorine", "gas_permanganate", "gas_sulfite", HEALTH, COLOUR, "chlorine", "vented")
TRIALS = (LOADED, NEARLY)  # of a flow alone: told behind all that is sure


def subjects_of(code: str, text: str) -> tuple[str, ...]:
    """Return what a condition of the verdict is about.

    Parameters
    ----------
    code : str
        Code of the condition. [-]
    text : str
        The condition as the engineer reads it. [-]

    Returns
    -------
    tuple of str
        Names of sentences; one that says that a point is left where the code is not known. [-]
    """
    found = _table().get(code, ())
    named = tuple(subject for pattern, subject in found if pattern and re.search(pattern, text))
    return named or tuple(subject for pattern, subject in found if not pattern) or (FURTHER,)


@lru_cache(maxsize=1)
def _table() -> dict[str, tuple[tuple[str, str], ...]]:
    table: dict[str, tuple[tuple[str, str], ...]] = {}
    for row in rows("quote_conditions.csv"):
        pair = (row["pattern"], row["subject"])
        table[row["code"]] = (*table.get(row["code"], ()), pair)
    return table


def conditions(study: Study, words: Words, *, draft: bool = True) -> str:
    """Return the conditions of the verdict as one sentence; empty where there are none.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        The language. [-]
    draft : bool
        True for a draft; else the sentence before says what the machine starts at. [-]

    Returns
    -------
    str
        Such as "Conditions: the doses are set for this water ...". [-]
    """
    drunk = study.value("offer.drinking") is not None
    if not study.value("verdict.quote_sentence"):
        return words("conditions", listed=words(HEALTH, "points")) if drunk else ""
    table = study.series.get(CONDITIONS)
    pairs = () if table is None else table.rows
    found: dict[str, list[str]] = {}
    for code, text in pairs:
        for subject in subjects_of(str(code), str(text)):
            near = subject == LOADED and _nearly(study, stage_in(str(text)))
            found.setdefault(NEARLY if near else subject, []).append(str(text))
    if drunk:
        found.setdefault(HEALTH, [])
    by_weight = sorted(found, key=_place)
    said = [_told(study, words, subject, found[subject]) for subject in by_weight]
    start = start_of(study)
    if start and (draft or study.value("offer.accept_verdict") is not None):
        said.append(words("conditions_start", recovery=words.percent(start)))
    return words("conditions", listed="; ".join(said)) if said else ""


def _place(subject: str) -> int:
    """Return where a condition stands: dangers first, trials of a flow last."""
    return 0 if subject in DANGERS else 2 if subject in TRIALS else 1


def _nearly(study: Study, stage: str) -> bool:
    """Tell whether a bed runs no more than slightly over the rate of its code, as practice does."""
    rate, code, practice = (
        study.number(f"{stage}.{name}")
        for name in ("velocity_m_h", "service_max_m_h", "service_practice_m_h")
    )
    if rate is None or code is None or practice is None:
        return False
    return rate <= min(practice, NEAR_RATE * code)


def _told(
    study: Study, words: Words, subject: str, texts: Sequence[str], group: str = "points"
) -> str:
    """Return the sentence of a subject, with the filters that it speaks of."""
    if subject == CALCIUM:
        softened = any(key in study.figures for key in SOFTENED)
        calcium = [study.number(f"{of}.{TO_ADD}") for of in ("delivered", "product")]
        amounts = [words.measure(each, "mg/L") for each in calcium if each]
        added = words("calcium_added", amount=amounts[0]) if amounts else ""
        return words(subject if softened else UNSOFTENED, group, added=added)
    said = words(subject, group)
    stages = dict.fromkeys(stage_in(text) for text in texts) if subject in OF_A_FILTER else {}
    names = ", ".join(stage_name(stage, words) for stage in stages if stage)
    return f"{said} ({names})" if names else said


def stage_in(text: str) -> str:
    """Return the stage that a condition names first.

    Parameters
    ----------
    text : str
        The condition as the engineer reads it. [-]

    Returns
    -------
    str
        Key of the stage, empty where none is named. [-]
    """
    found = []
    for stage in ORDER:
        for name in {stage.name, stage.label}:
            place = re.search(rf"\b{re.escape(name)}\b", text, re.IGNORECASE)
            if place:
                found.append((place.start(), -len(name), stage.key))
    return min(found)[2] if found else ""


def speaks_against(study: Study) -> bool:
    """Tell whether the water speaks against what is offered and nobody accepted that.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    bool
        True where the verdict makes the quote a draft. [-]
    """
    fails = study.value("verdict.answer") == "does not fit"
    stopped = is_planned(study) and study.value("settings.order") == DO_NOT_RUN
    stopped = stopped and not _measured_first(study)
    fails = fails or stopped or (unjudged(study) and AGAINST in study.series)
    return fails and study.value("offer.accept_verdict") is None


def _measured_first(study: Study) -> bool:
    """Tell whether all that is open is phosphate, which is measured before a new plant starts."""
    table = study.series.get(AGAINST)
    return table is not None and set(table.rows) == {("wanting", PHOSPHATE)}


def draft_reasons(study: Study, words: Words, first: Sequence[str] = ()) -> str:
    """Return why a quote is a draft, as a customer reads it.

    Parameters
    ----------
    study : Study
        The study of a draft. [-]
    words : Words
        The language. [-]
    first : sequence of str
        What the quote itself lacks. [-]

    Returns
    -------
    str
        One sentence; a reason that the table does not know is called an open point. [-]
    """
    table = study.series.get(AGAINST)
    pairs = () if table is None else table.rows
    said: list[str] = []
    for code, text in pairs:
        said += _reasons_of(study, words, str(code), str(text))
    found = dict.fromkeys(said) or [words(FURTHER, "reasons")]
    return words("draft_reasons", listed="; ".join((*first, *found)))


def why_draft(study: Study) -> str:
    """Return why a quote is a draft, as the engineer reads it.

    Parameters
    ----------
    study : Study
        The study of a draft. [-]

    Returns
    -------
    str
        The reasons of the verdict; before them those of a plant on a water that no laboratory
        analysed. [-]
    """
    reasons, table = str(study.value("verdict.reasons")), study.series.get(AGAINST)
    found = table.column("reason") if table is not None and unjudged(study) else ()
    new = dict.fromkeys(str(one) for one in found if str(one) not in reasons)
    return "; ".join((*new, reasons))


def _reasons_of(study: Study, words: Words, code: str, text: str) -> list[str]:
    """Return what a customer is told of one reason."""
    wanted = words.percent(study.number("machine.recovery") or 0.0)
    if code == "wanting":
        ions = _ions(study, words)
        form = code if len(ions) > 1 else f"{code}_one"
        return [words(form, "reasons", ions=words.listed(ions))]
    if code == "unsure":
        return [words(code, "reasons", wanted=wanted)]
    if code == "scale":
        return [words(code, "reasons", wanted=wanted)]
    if code != MISSING:
        subjects = subjects_of(code, text)
        return [_told(study, words, subject, (text,), "reasons") for subject in subjects]
    stage = text.partition(":")[0]
    label = {s.key: s.label for s in ORDER}
    named = {s.label.casefold(): s.key for s in ORDER} | {s.key: s.key for s in ORDER}
    key = named.get(stage.casefold(), stage)
    name = words(key, "stages") or label.get(key, stage)
    found = [words("missing", "reasons", stage=name)]
    return [*found, words(COLOUR, "reasons")] if PERMANGANATE in text else found


def _ions(study: Study, words: Words) -> tuple[str, ...]:
    """Return the names of the ions that are wanting in all, each once."""
    texts = (str(text) for code, text in study.series[AGAINST].rows if code == "wanting")
    names = dict.fromkeys(n for text in texts for n in re.split(r", | and ", text) if n)
    return tuple(words(name, "ions") or name for name in names)
