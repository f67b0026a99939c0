"""Cautions for people's safety, by what is in the train, from data/cautions.csv."""

from typing import cast

from pretreat.core.basis import Level, Series
from pretreat.core.tables import rows
from pretreat.stages import ORDER
from pretreat.stages.train import Train


def enter_cautions(train: Train, present: set[str]) -> None:
    """Enter the cautions that concern this train.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    present : set of str
        Names of the stages that are in the train. [-]
    """
    topics = _topics(train, present)
    for row in rows("cautions.csv"):
        if row["topic"] in topics:
            text = f"{row['text']} ({row['source']}, {row['evidence']})"
            train.entries.flag(f"safety_{row['topic']}", cast("Level", row["level"]), text)


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


def _topics(train: Train, present: set[str]) -> set[str]:
    topics = {"pressure", "media_dust", "potable"}
    topics |= {topic for stage in ORDER if stage.name in present for topic in stage.cautions}
    if "softener" in present:
        topics |= {"brine", "sodium"}
    oxidant = train.design.iron_filter.oxidant if "iron filter" in present else ""
    if oxidant in {"permanganate", "chlorine"}:
        topics |= {oxidant, "membrane_oxidant"}
    if train.design.carbon.free_chlorine_mg_l or train.raw.free_chlorine_mg_l:
        topics |= {"chlorine", "membrane_oxidant"}
    return topics
