"""What must be seen to before the recovery is kept, in words that a customer reads."""

import re
from functools import lru_cache

from pretreat.core.results import Study
from pretreat.core.tables import rows
from pretreat.report.hand.quote_sentences import start_of
from pretreat.report.hand.quote_words import Words
from pretreat.stages import ORDER

CONDITIONS, AGAINST = "quote.conditions", "quote.against"
MISSING, COLOUR, PERMANGANATE = "stage_missing", "colour", "permanganate"
FURTHER = "further"  # the subject of what the table does not know
HEALTH = "health"


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
    subjects = dict.fromkeys(s for code, text in pairs for s in subjects_of(str(code), str(text)))
    if drunk:
        subjects[HEALTH] = None
    said = [words(subject, "points") for subject in subjects]
    start = start_of(study)
    if start and (draft or study.value("offer.accept_verdict") is not None):
        said.append(words("conditions_start", recovery=words.percent(start)))
    return words("conditions", listed="; ".join(said)) if said else ""


def draft_reasons(study: Study, words: Words) -> str:
    """Return why a quote is a draft, as a customer reads it.

    Parameters
    ----------
    study : Study
        The study of a draft. [-]
    words : Words
        The language. [-]

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
    listed = "; ".join(dict.fromkeys(said)) or words(FURTHER, "reasons")
    return words("draft_reasons", listed=listed)


def _reasons_of(study: Study, words: Words, code: str, text: str) -> list[str]:
    """Return what a customer is told of one reason."""
    wanted = words.percent(study.number("machine.recovery") or 0.0)
    if code == "wanting":
        return [words(code, "reasons", ions=_ions(study, words))]
    if code == "unsure":
        return [words(code, "reasons", wanted=wanted)]
    if code == "scale":
        return [words(code, "reasons", wanted=wanted)]
    if code != MISSING:
        return [words(subject, "reasons") for subject in subjects_of(code, text)]
    stage = text.partition(":")[0]
    label = {s.key: s.label for s in ORDER}
    named = {s.label.casefold(): s.key for s in ORDER} | {s.key: s.key for s in ORDER}
    key = named.get(stage.casefold(), stage)
    name = words(key, "stages") or label.get(key, stage)
    found = [words("missing", "reasons", stage=name)]
    return [*found, words(COLOUR, "reasons")] if PERMANGANATE in text else found


def _ions(study: Study, words: Words) -> str:
    """Return the ions that are wanting in all, each once."""
    texts = (str(text) for code, text in study.series[AGAINST].rows if code == "wanting")
    names = dict.fromkeys(n for text in texts for n in re.split(r", | and ", text) if n)
    return words.listed(tuple(words(name, "ions") or name for name in names))
