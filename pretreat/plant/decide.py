"""Which stages a train has, each deciding for itself in the order of flow."""

from types import MappingProxyType

from msgspec.structs import replace

from pretreat.core.basis import Level, Series
from pretreat.stages import BY_KEY, ORDER, Stage, resolve
from pretreat.stages.decision import Decision, Question
from pretreat.stages.fixed import chosen_train, fixed_stages
from pretreat.stages.iron_filter.decide import sulfide
from pretreat.stages.limits import train_limits
from pretreat.stages.train import Train

SULFIDE = "sulfide"  # a row of the table that is no vessel: who takes the sulfide, if any


def decided(question: Question) -> Question:
    """Return the question with the decision of every stage, in the order of flow.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    Question
        The same, with what was decided. [-]
    """
    fixed = fixed_stages(question.design)
    for stage in flow_order(question) if fixed is not None else ORDER:
        decision: Decision = resolve(stage.decide)(question)
        if fixed is not None:
            by_hand = not chosen_train(question.design)
            decision = (_as_fixed if by_hand else _as_chosen)(decision, stage.key in fixed)
            if stage.key == "carbon" and "bisulfite" in fixed:
                decision = replace(decision, overruled=False, danger="")
        ahead = {**question.ahead, stage.key: decision}
        question = replace(question, ahead=MappingProxyType(ahead))
    return question


def _as_fixed(decision: Decision, included: bool) -> Decision:
    """Return a decision as the fixed train has it; what the rules say is kept beside."""
    named = "named in [train] stages" if included else "not named in [train] stages"
    if decision.included == included and decision.overruled:
        against = ", against what the limits say"
    elif decision.included != included and not decision.included:
        against = f" ({decision.reason})"
    else:
        against = ""
    return replace(decision, included=included, reason=f"{named}{against}", missing=False)


def _as_chosen(decision: Decision, included: bool) -> Decision:
    """Return a decision as the chosen train has it."""
    where = "in" if included else "not in"
    reason = f"{where} the train chosen"
    return replace(decision, included=included, reason=reason, overruled=False, missing=False)


def flow_order(question: Question) -> tuple[Stage, ...]:
    """Return the stages in the order in which this water flows through them.

    A fixed train flows as the engineer wrote it. Else carbon stands before the softener where
    more free chlorine reaches it than resin takes.

    Parameters
    ----------
    question : Question
        What was decided. [-]

    Returns
    -------
    tuple of Stage
        All stages, in the train or not. [-]
    """
    fixed = fixed_stages(question.design)
    if fixed is not None:
        return (*(BY_KEY[key] for key in fixed), *(s for s in ORDER if s.key not in fixed))
    if not question.carbon_first:
        return ORDER
    carbon = next(s for s in ORDER if s.key == "carbon")
    others = [s for s in ORDER if s is not carbon]
    at = next(i for i, s in enumerate(others) if s.key == "softener")
    return (*others[:at], carbon, *others[at:])


def enter_decisions(train: Train, question: Question) -> None:
    """Enter every decision, its number and its limit.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    question : Question
        What was decided. [-]
    """
    limits, rows, used = train_limits(), [], set()
    for decision in _rows(question):
        word = "in" if decision.included else "out"
        limit = limits[decision.limit] if decision.limit else None
        if limit is not None:
            used.add(limit.source)
        key = f"train.{decision.name.replace(' ', '_')}"
        train.entries.word(
            key,
            f"{word}: {decision.reason}",
            decision.name.capitalize(),
            origin="calculated",
            cites=(limit.source,) if limit else (),
        )
        train.entries.ledger.rests(key, held=True)
        rows.append(
            (
                decision.name,
                word,
                decision.reason,
                decision.value,
                limit.value if limit else None,
                limit.unit if limit else "",
                limit.evidence if limit else "",
            )
        )
        _flag(train, decision)
    train.entries.ledger.table(
        Series(
            "train.stages",
            "Stages of the train, in the order of flow",
            ("stage", "decision", "reason", "value", "limit", "unit", "evidence"),
            ("-", "-", "-", "", "", "-", "-"),
            tuple(rows),
            cites=tuple(sorted(used)),
            headings=("Stage", "In the train", "Why", "Found", "Limit", "Unit", "Evidence"),
        )
    )


def _rows(question: Question) -> list[Decision]:
    rows = [
        question.ahead[stage.key]
        for stage in flow_order(question)
        if stage.side == "feed" and (question.ahead[stage.key].included or not stage.optional)
    ]
    rows.insert(1, sulfide(question, iron_filter=question.ahead["iron_filter"].included))
    return rows + [
        question.ahead[stage.key]
        for stage in flow_order(question)
        if stage.side == "product" and question.ahead[stage.key].included
    ]


def _flag(train: Train, decision: Decision) -> None:
    """Flag a stage decided against the rule or not installed; what it lets destroy is a warning."""
    key, danger = f"train.{decision.name.replace(' ', '_')}", ""
    level: Level = "caution"
    if decision.danger:
        level, danger = "warning", f"; {decision.danger}: never run without"
    if decision.overruled:
        text = f"{decision.name}: {decision.reason}{'' if decision.included else danger}"
        level_now: Level = "caution" if decision.included else level
        train.entries.flag("stage_overruled", level_now, text, key)
    if decision.missing:
        train.entries.flag(
            "stage_missing",
            level,
            f"{decision.name}: not installed, though the water or the stages ahead ask for it"
            f"{danger}",
            key,
        )
