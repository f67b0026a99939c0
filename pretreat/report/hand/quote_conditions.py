"""What must be seen to before the recovery is kept, in words that a customer reads."""

import re
from functools import lru_cache

from pretreat.core.results import Study
from pretreat.core.tables import rows
from pretreat.report.hand.quote_words import Words

CONDITIONS = "quote.conditions"
FURTHER = "further"  # the subject of what the table does not know
DEPENDS = "depends"


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


def conditions(study: Study, words: Words) -> str:
    """Return the conditions of the verdict as one sentence; empty where there are none.

    Parameters
    ----------
    study : Study
        The study. [-]
    words : Words
        The language. [-]

    Returns
    -------
    str
        Such as "Conditions: the doses are set for this water ...". [-]
    """
    if not study.value("verdict.quote_sentence"):
        return ""
    table = study.series.get(CONDITIONS)
    pairs = () if table is None else table.rows
    subjects = dict.fromkeys(s for code, text in pairs for s in subjects_of(str(code), str(text)))
    said = [words(subject, "points") for subject in subjects]
    kept, wanted = study.number("verdict.card_recovery"), study.number("machine.recovery")
    if study.value("verdict.answer") == DEPENDS and kept and wanted and kept < wanted:
        said.append(words("conditions_start", recovery=words.percent(kept)))
    return words("conditions", listed="; ".join(said)) if said else ""
