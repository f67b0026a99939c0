"""The choice of a train as figures: the table, the first two, where the order turns."""

from collections import Counter

from msgspec.structs import replace

from pretreat.core.basis import Flag, Level, Series, Value
from pretreat.core.results import Ledger
from pretreat.plant.choices.choose import Choice, Learnt
from pretreat.plant.choices.exposure import open_scale, unguarded
from pretreat.plant.choices.flips import (
    hardness_flip,
    over_recovery,
    price_flips,
    recovery_flip,
)
from pretreat.plant.choices.order import DEPENDS, Row, in_order, judged_as, spoiled_by
from pretreat.plant.choices.proportion import cheaper_train, enter_cheaper
from pretreat.plant.choices.reasons import why
from pretreat.plant.choices.salt import SALT_FLAG, salt_words
from pretreat.plant.choices.words import less_salt, no_second
from pretreat.plant.verdict.case import Obstacle, VerdictCase
from pretreat.plant.verdict.judge import Judgement
from pretreat.site.design import DesignBasis

P = "choices"
JAR_TEST = "jar_test"
MOST_REASONS = 3  # named where no train suits a water
METHOD = (
    "feasible first, by verdict, then by equivalent annual cost; chances from 32 draws of each, "
    "those of the first from all"
)


def begin_choice(ledger: Ledger, choice: Choice, design: DesignBasis) -> DesignBasis:
    """Return the design with the train chosen; flag what it needs, which is a condition.

    Parameters
    ----------
    ledger : Ledger
        Where the flags go. [-]
    choice : Choice
        The trains in order. [-]
    design : DesignBasis
        The engineer's choices; returned as they are where no train could be sized. [-]

    Returns
    -------
    DesignBasis
        With the train as its stages. [-]
    """
    first = choice.chosen
    if first is None:
        _flag_no_train(ledger, choice)
        return design
    if first.candidate.needs:
        text = f"the train chosen: {first.candidate.needs}"
        ledger.flag(Flag("train_needs", "caution", text))
    salt = salt_words(first, choice.plant)
    if salt:
        level: Level = "warning" if first.too_salty else "caution"
        ledger.flag(Flag(SALT_FLAG, level, f"{salt}; {less_salt(choice)}"))
    if first.candidate.why_not:
        _flag_no_train(ledger, choice)
    return first.design


def _flag_no_train(ledger: Ledger, choice: Choice) -> None:
    """Say that no train suits the water, and why: what is sized is a guess."""
    found = Counter(row.candidate.why_not or row.why_not for row in choice.rows)
    words = "; ".join(
        f"{_whose(choice, reason)}: {reason}"
        for reason, _ in found.most_common(MOST_REASONS)
        if reason
    )
    text = (
        f"no train of the decision table suits this water ({words}): what is "
        "sized here is a first guess; jar test or pilot before anything is quoted"
    )
    ledger.flag(Flag(JAR_TEST, "warning", text))


def _whose(choice: Choice, reason: str) -> str:
    """Name the ways that a reason shuts: those for iron if all their trains have it, or scale."""
    reasons: dict[str, set[str]] = {}
    scales: list[str] = []
    for row in choice.rows:
        why = row.candidate.why_not or row.why_not
        reasons.setdefault(row.candidate.iron.name, set()).add(why)
        if why == reason:
            scales.append(row.candidate.scale.name)
    names = [name for name, every in reasons.items() if every == {reason}]
    return " or ".join(names or dict.fromkeys(scales))


def needs_jar_test(ledger: Ledger) -> bool:
    """Tell whether the train can be no more than a guess: then nothing is quoted.

    Parameters
    ----------
    ledger : Ledger
        A ledger with the choice begun. [-]

    Returns
    -------
    bool
        True where a jar test or pilot comes first. [-]
    """
    return any(flag.code == JAR_TEST for flag in ledger.study().flags)


def end_choice(
    ledger: Ledger, choice: Choice, judged: Judgement | None, learnt: Learnt | None
) -> bool:
    """Enter the choice; tell whether the train that was sized still comes first.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go; the verdict is entered before. [-]
    choice : Choice
        The trains in order. [-]
    judged : Judgement or None
        The verdict of the study. [-]
    learnt : Learnt or None
        Takes what a train that does not come first has taught; None lets it stand. [-]

    Returns
    -------
    bool
        False where another comes first: nothing is entered then. [-]
    """
    first = choice.chosen
    if first is None:
        return True
    told = told_after(choice, judged)
    same = told.rows[0].candidate == first.candidate and not _shut_too_soon(choice, told)
    if not same and judged is not None and learnt is not None:
        learnt.verdicts[first.candidate.name] = judged.verdict
        learnt.case = _shared(first, judged)
        learnt.spoils = learnt.spoils or _spoils(judged)
        learnt.open_scale = learnt.open_scale or open_scale(judged.case)
        return False
    enter_choice(ledger, told if same else choice)
    return True


def _shut_too_soon(choice: Choice, told: Choice) -> bool:
    """Tell whether trains were shut by the first one, and its own verdict is then a worse one.

    They were shut by what its draws said of its scales; the study judged the rest.
    """
    before, after = choice.rows[0], told.rows[0]
    if before.candidate.name in choice.known or not any(row.outdone for row in choice.rows):
        return False
    return before.answer < DEPENDS <= after.answer


def told_after(choice: Choice, judged: Judgement | None) -> Choice:
    """Return the trains with the verdict of the study on the first, and its gaps on all.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]
    judged : Judgement or None
        The verdict of the study. [-]

    Returns
    -------
    Choice
        In the order that follows. [-]
    """
    first = choice.chosen
    if first is None or judged is None:
        return choice
    common = _shared(first, judged)
    open_ended = open_scale(judged.case)
    bare = [unguarded(row.candidate.keys) if open_ended else 0 for row in choice.rows]
    spoils = _spoils(judged)
    seen = [
        replace(
            row,
            exposed=max(row.exposed, one),
            spoiled=row.spoiled or (spoils if row is first else spoiled_by(row, spoils)),
        )
        for row, one in zip(choice.rows, bare, strict=True)
    ]
    rows = [replace(seen[0], told=judged.verdict)]
    for row in seen[1:]:
        told = choice.known.get(row.candidate.name)
        if row.feasible and row.told is not None and told is None:
            told = (
                choice.judge(row, common)
                if choice.judge
                else judged_as(row, choice.plant.recovery, common)
            )
        rows.append(replace(row, told=told if row.feasible else None))
    return replace(choice, rows=tuple(in_order(rows, choice.plant.recovery)))


def _spoils(judged: Judgement) -> tuple[Obstacle, ...]:
    return tuple(o for o in judged.case.obstacles if o.of_softening)


def _shared(first: Row, judged: Judgement) -> VerdictCase:
    """Return the case of the train that was sized without what it alone needs."""
    mine = f"the train chosen: {first.candidate.needs}"
    shared = tuple(o for o in judged.case.obstacles if o.text != mine and not o.of_train)
    return replace(judged.case, obstacles=shared)


def enter_choice(ledger: Ledger, choice: Choice) -> None:
    """Enter the table of trains, the first two, where the order turns, and the recovery.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go; the verdict is entered before. [-]
    choice : Choice
        The trains in order, as `told_after` returns them. [-]
    """
    first, second = choice.chosen, choice.runner_up
    if first is None:
        return
    _enter_table(ledger, choice)
    _words(ledger, "train.chosen", first.candidate.name, "Train chosen")
    other = f"none: {no_second(choice)}" if second is None else second.candidate.name
    _words(ledger, "train.runner_up", other, "Runner-up")
    cheaper = cheaper_train(choice)
    _words(ledger, f"{P}.why", why(choice, cheaper), "Why this train")
    enter_cheaper(ledger, choice, cheaper)
    _enter_numbers(ledger, first, "chosen", "train chosen", choice)
    if second is not None:
        _enter_numbers(ledger, second, "runner_up", "runner-up", choice)
    _enter_flips(ledger, choice)
    _enter_recovery(ledger, choice)
    _flag(ledger, choice)


def _words(ledger: Ledger, key: str, text: str, label: str) -> None:
    ledger.put(key, text, "-", label, method=METHOD, evidence="common practice")
    ledger.rests(key, held=True)


def _enter_table(ledger: Ledger, choice: Choice) -> None:
    money = choice.rates.currency or "currency"
    rows = []
    for number, row in enumerate(choice.rows, start=1):
        year, told = row.year, row.told
        answer = "" if told is None else told.answer
        reaches = row.reach is not None and row.reach >= choice.plant.recovery
        if told is None and not row.feasible and not reaches:
            unknown = row.reach is None and year is not None and not row.candidate.why_not
            answer = "depends" if unknown else "does not fit"
        rows.append(
            (
                float(number),
                row.candidate.name,
                "yes" if row.feasible else "no",
                row.why_not or row.candidate.needs,
                row.reach,
                None if year is None else year.overall,
                None if year is None else year.cost,
                None if year is None else year.capital,
                None if year is None else year.amounts.get("salt_per_kg", 0.0),
                None if year is None else year.drain_m3,
                answer,
                None if told is None else told.probability,
            )
        )
    ledger.table(
        Series(
            "train.choices",
            "Trains considered for this water, best first",
            (
                "rank",
                "stages",
                "feasible",
                "why_not",
                "recovery_reached",
                "overall_water_recovery",
                "cost_per_year",
                "capital",
                "salt_kg_per_year",
                "waste_m3_per_year",
                "verdict",
                "probability",
            ),
            (
                "-", "-", "-", "-", "-", "-",
                f"{money}/year", money, "kg/year", "m3/year", "-", "-",
            ),
            tuple(rows),
            method=METHOD,
            cites=("PRACTICE", "RIGGS1996", "COSTCLASS", "PRICEGUESS"),
            headings=(
                "Rank",
                "Stages",
                "Feasible",
                "Why not, or what it needs",
                "Recovery reached",
                "Product over raw water",
                "Cost per year",
                "Capital",
                "Salt per year",
                "Water to the drain per year",
                "Verdict",
                "Chance",
            ),
        )
    )  # fmt: skip


def _enter_numbers(ledger: Ledger, row: Row, name: str, label: str, choice: Choice) -> None:
    year = row.year
    if year is None:
        return
    money = choice.rates.currency or "currency"
    costed = min(row.reach or choice.plant.recovery, choice.plant.recovery)
    numbers: tuple[tuple[str, Value, str, str], ...] = (
        ("recovery", costed, "-", "recovery that it is costed at"),
        ("cost_per_year", year.cost, f"{money}/year", "equivalent annual cost"),
        ("cost_per_m3", year.cost_per_m3, f"{money}/m3", "cost of a m3 of product"),
        ("overall_recovery", year.overall, "-", "product over raw water"),
        ("salt_kg_per_year", year.amounts.get("salt_per_kg", 0.0), "kg/year", "salt"),
        ("drain_m3_year", year.drain_m3, "m3/year", "water to the drain"),
        ("things_looked_after", year.things, "-", "things to look after"),
    )
    for key, value, unit, words in numbers:
        full = f"{P}.{name}_{key}"
        ledger.put(
            full,
            value,
            unit,
            f"{label.capitalize()}: {words}",
            method="prices of the user, class estimates where there are none",
            evidence="memory" if choice.rates.guessed else "computed",
            cites=("RIGGS1996", "COSTCLASS", "PRICEGUESS"),
        )
        ledger.rests(full, held=True)
    rows = tuple((line, amount) for line, amount in year.lines.items())
    if name == "chosen":
        ledger.table(
            Series(
                f"{P}.lines",
                "Cost of a year of the train chosen, by line",
                ("line", "cost_per_year"),
                ("-", f"{money}/year"),
                rows,
                method="at the recovery of the design, or the one reached",
                cites=("RIGGS1996", "COSTCLASS", "PRICEGUESS"),
                headings=("Line", "Cost per year"),
            )
        )


def _enter_flips(ledger: Ledger, choice: Choice) -> None:
    hardness = ledger.number("water.hardness_mg_l_caco3") or 0.0
    flips = price_flips(choice)
    flips += [f for f in (hardness_flip(choice, hardness), recovery_flip(choice)) if f]
    if not flips:
        return
    money = choice.rates.currency or "currency"
    ledger.table(
        Series(
            "train.flips",
            "Where another train becomes the cheaper",
            ("what", "unit", "now", "turns_at", "other"),
            ("-", "-", "-", "-", "-"),
            tuple(
                (f.what, f.unit.replace("per ", f"{money}/"), f.now, f.at, f.other) for f in flips
            ),
            method="one value moved, the others as they are, of the trains compared here, by "
            "verdict and then cost (recovery: by cost of those that reach it); blank where no "
            "value turns the order, left out where it cannot be told",
            cites=("RIGGS1996",),
            headings=("What", "Unit", "Now", "Turns at", "Then the cheaper"),
        )
    )


def _enter_recovery(ledger: Ledger, choice: Choice) -> None:
    rows = over_recovery(choice)
    if not rows:
        return
    money = choice.rates.currency or "currency"
    ledger.table(
        Series(
            "train.recovery_cost",
            "Cost of product over the recovery, train chosen",
            ("recovery", "cost_per_m3", "within_limits", "mark"),
            ("-", f"{money}/m3", "-", "-"),
            tuple((r.recovery, r.cost_per_m3, "yes" if r.within else "no", r.mark) for r in rows),
            method="yearly cost per m3, and what 0.05/(1 - R) grows with the concentration from "
            "the recovery costed on; flat near its minimum: choose the lower side",
            cites=("PRICEGUESS",),
            headings=("Recovery", "Cost of product", "Within the limits", "Mark"),
        )
    )
    best = next((r for r in rows if r.mark.startswith("least")), None)
    if best is None:
        return
    for key, value, unit, label in (
        ("least_cost_recovery", best.recovery, "-", "Recovery of least cost within the limits"),
        ("least_cost_per_m3", best.cost_per_m3, f"{money}/m3", "Cost of product there"),
    ):
        full = f"{P}.{key}"
        ledger.put(full, value, unit, label, evidence="memory", cites=("PRICEGUESS",))
        ledger.rests(full, held=True)


def _flag(ledger: Ledger, choice: Choice) -> None:
    first = choice.chosen
    if first is None or first.year is None:
        return
    if choice.rates.guessed:
        names = ", ".join(name.replace("_", " ") for name in choice.rates.guessed[:4])
        more = len(choice.rates.guessed) - 4
        tail = f" and {more} more" if more > 0 else ""
        text = (
            f"trains compared with prices supplied by the program and not by the user: {names}"
            f"{tail}; give your own in [prices]"
        )
        ledger.flag(Flag("prices_by_program", "info", text, f"{P}.chosen_cost_per_year"))
    if not first.feasible and not first.candidate.why_not and first.reach is None:
        text = f"no train can be judged, the one sized protects by the hardness: {first.why_not}"
        ledger.flag(Flag("no_feasible_train", "warning", text, "train.chosen"))
    elif not first.feasible and not first.candidate.why_not:
        text = (
            f"no train reaches the recovery wanted, {choice.plant.recovery:.0%}: the one that "
            f"comes nearest {first.why_not}; lower the recovery"
        ).replace("0%", "0 %")
        ledger.flag(Flag("no_feasible_train", "warning", text, "train.chosen"))
