"""Cautions for people's safety, by what is in the train, from data/cautions.csv."""

from collections.abc import Collection
from typing import cast

from pretreat.core.basis import Flag, Level, Series
from pretreat.core.results import Ledger
from pretreat.core.tables import rows
from pretreat.stages import ORDER
from pretreat.stages.train import Train

ACID_DOSE = "_acid_mg_l"
LEVERS = "recovery.levers"
# Stages with a tank or vessel that somebody may enter.
ENTERED = frozenset({"raw_tank", "aeration", "contact_tank", "degasser", "neutralising_filter"})
WIDE_M = 0.6  # PRACTICE: vessels from here on have a manhole


def enter_cautions(train: Train) -> None:
    """Enter the cautions that concern this train.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    train.entries.ledger.flag(*cautions_on(_topics(train)))


def cautions_on(topics: Collection[str]) -> tuple[Flag, ...]:
    """Return the cautions on some topics, in the order of data/cautions.csv.

    Parameters
    ----------
    topics : collection of str
        Topics of the table. [-]

    Returns
    -------
    tuple of Flag
        Codes "safety_<topic>". [-]
    """
    return tuple(
        Flag(
            f"safety_{row['topic']}",
            cast("Level", row["level"]),
            f"{row['text']} ({row['source']}, {row['evidence']})",
        )
        for row in rows("cautions.csv")
        if row["topic"] in topics
    )


def enter_acid_caution(ledger: Ledger) -> None:
    """Enter the caution on acid wherever a dose of it is shown, to be fed or not.

    Parameters
    ----------
    ledger : Ledger
        With what lifts the limit entered. [-]
    """
    study = ledger.study()
    if any(f.code == "safety_acid_feed" for f in study.flags):
        return
    doses = any(
        key.endswith(ACID_DOSE) and isinstance(figure.value, float) and figure.value > 0.0
        for key, figure in study.figures.items()
    )
    told = any(
        isinstance(cell, str) and "acid" in cell
        for key, series in study.series.items()
        if key.endswith(LEVERS)
        for row in series.rows
        for cell in row
    )
    if doses or told:
        ledger.flag(*cautions_on({"acid_dose"}))


def enter_disagreements(train: Train, present: set[str]) -> None:
    """Enter where published sources disagree on this train, and what is used here.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    present : set of str
        Names of the stages that are in the train. [-]
    """
    found = [row for row in rows("disagreements.csv") if row["stage"] in present]
    if not found:
        return
    columns = ("stage", "topic", "sources_say", "used_here", "evidence")
    train.entries.ledger.table(
        Series(
            "train.disagreements",
            "Where sources disagree, and what is used here",
            columns,
            ("-",) * len(columns),
            tuple(tuple(row[name] for name in columns) for row in found),
            headings=("Stage", "Topic", "Sources say", "Used here", "Evidence"),
            cites=tuple(dict.fromkeys(row["source"] for row in found)),
        )
    )


def _topics(train: Train) -> set[str]:
    topics = {"pressure", "media_dust", "potable", "lock_out"}
    wide = (train.entries.ledger.number(f"{s.key}.vessel_diameter_m") or 0.0 for s in ORDER)
    if any(train.has(key) for key in ENTERED) or max(wide) >= WIDE_M:
        topics.add("confined_space")
    for stage in ORDER:
        if train.has(stage.key):
            topics |= set(stage.cautions)
    oxidant = "" if train.question is None else train.question.oxidant
    if oxidant in {"permanganate", "chlorine"}:
        topics |= {oxidant, "membrane_oxidant"}
    if train.design.carbon.free_chlorine_mg_l or train.raw.free_chlorine_mg_l:
        topics |= {"chlorine", "membrane_oxidant"}
    return topics
