"""The section on media life: each mechanism by itself, the range, and what governs."""

import math
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Evidence, Series, citations
from pretreat.core.law import Law
from pretreat.life import laws, lives
from pretreat.life.duties import (
    MECHANISMS,
    Duties,
    Mechanisms,
    carbon_duty,
    cartridge_duty,
    enter_loads,
    filter_duty,
    softener_duty,
)
from pretreat.life.sensitivity import enter_sensitivity
from pretreat.life.wear import CASES, Case, Wear, wear
from pretreat.stages import ORDER, resolve
from pretreat.stages.stage import OwnLife
from pretreat.stages.train import Entries, Train

P = "media_life"
LABELS = {stage.key: stage.medium.label for stage in ORDER if stage.medium is not None}


class StageLife(Struct, frozen=True):
    """How a stage's medium wears: lives by case, the law of each mechanism, and of the shortest.

    ``loads`` says in words what each mechanism rests on.
    """

    stage: str
    lives: Callable[[Case], Mapping[str, float]]
    shortest: Law[..., Any]
    laws: Mechanisms
    loads: Mapping[str, str]
    cites: tuple[str, ...]

    @property
    def arguments(self) -> Mapping[str, str | float]:
        """Arguments of the law of the shortest life: those of every mechanism."""
        union = {n: a for _, found in self.laws.values() for n, a in found.items()}
        return {name: union[name] for name in self.shortest.names}


def enter_media_life(train: Train) -> None:
    """Enter how long the media of every stage in the train last.

    Parameters
    ----------
    train : Train
        Ledger, water, design, mode and decisions; its stages are entered before. [-]
    """
    ledger, question = train.entries.ledger, train.question
    behind_carbon = question is not None and question.carbon_first and "carbon.ebct_min" in ledger
    duties = enter_loads(train, 0.0 if behind_carbon else train.free_chlorine_mg_l)
    stages = _stages(train, duties)
    rows = [row for stage in stages for row in _enter_stage(train, stage)]
    ledger.table(
        Series(
            f"{P}.mechanisms",
            "What ends the life of each medium",
            ("mechanism", "low", "likely", "high", "load", "governs", "basis"),
            ("-", "year", "year", "year", "-", "-", "-"),
            tuple(rows),
            headings=("Medium and mechanism", "Low", "Likely", "High", "Load", "Governs", "Basis"),
            cites=tuple(dict.fromkeys(key for s in stages for key in s.cites)),
            method="the shortest mechanism is the life; estimates, no promise and no warranty",
        )
    )
    enter_sensitivity(train)
    train.entries.flag(
        "life_estimated",
        "info",
        "lives of media are estimates, most of them from common practice without a published "
        "source; they are no promise and no warranty: keep the dates of changes and of tests",
    )


def _stages(train: Train, duties: Duties) -> list[StageLife]:
    found: list[StageLife] = []
    if duties.softener is not None:
        resin = duties.softener
        found.append(
            StageLife(
                "softener",
                partial(lives.softener_lives, resin),
                laws.resin_life_years,
                *softener_duty(resin),
                citations(lives.softener_lives),
            )
        )
    for stage, bed in duties.filters.items():
        found.append(
            StageLife(
                stage,
                partial(lives.filter_lives, bed),
                laws.filter_life_years,
                *filter_duty(stage, bed),
                citations(lives.filter_lives),
            )
        )
    if duties.carbon is not None:
        carbon = duties.carbon
        found.append(
            StageLife(
                "carbon",
                partial(lives.carbon_lives, carbon),
                laws.carbon_life_years,
                *carbon_duty(carbon),
                citations(lives.carbon_lives),
            )
        )
    if duties.cartridge is not None:
        cartridge = duties.cartridge
        found.append(
            StageLife(
                "cartridge",
                partial(lives.cartridge_lives, cartridge),
                laws.cartridge_life_years,
                *cartridge_duty(cartridge),
                citations(lives.cartridge_lives),
            )
        )
    return found + _own_lives(train)


def _own_lives(train: Train) -> list[StageLife]:
    """Return the lives of the media whose stage says itself what ends them."""
    found: list[StageLife] = []
    for stage in ORDER:
        own = None if stage.medium is None else stage.medium.life
        if own is not None and train.has(stage.key) and _known(train, own):
            found.append(_own_life(train, stage.key, own))
    return found


def _known(train: Train, own: OwnLife) -> bool:
    """Tell whether the figures that a life rests on are there: without chemistry some are not."""
    return all(
        _coefficient(key) is not None or key in train.entries.ledger for _, key in own.arguments
    )


def _own_life(train: Train, stage: str, own: OwnLife) -> StageLife:
    law: Law[..., Any] = resolve(own.law)
    arguments: dict[str, str | float] = dict(own.arguments)

    def lives(case: Case) -> Mapping[str, float]:
        given: dict[str, float] = {}
        for name, key in own.arguments:
            row = _coefficient(key)
            given[name] = train.entries.value(key) if row is None else row.at(case)
        return {own.mechanism: law(**given)}

    mechanisms: Mechanisms = {own.mechanism: (law, arguments)}
    return StageLife(stage, lives, law, mechanisms, {own.mechanism: own.load}, citations(law))


def enter_wear(entries: Entries, row: Wear) -> None:
    """Enter a coefficient, once: one figure, or one for each case."""
    for case in CASES:
        key = wear_key(row, case)
        if key not in entries.ledger:
            word = "" if row.single else f", {case} life"
            entries.given(
                key,
                row.at(case),
                row.unit,
                f"Wear: {row.meaning}{word}",
                evidence=row.evidence,
                cites=(row.source,),
                method=row.where,
            )


def wear_key(row: Wear, case: Case) -> str:
    """Return the key under which a coefficient is entered."""
    return f"{P}.wear_{row.key}" + ("" if row.single else f"_{case}")


def _for_case(
    entries: Entries, arguments: Mapping[str, str | float], case: Case
) -> dict[str, str | float]:
    """Return arguments with the coefficients of a case: their keys, or numbers not entered."""
    found: dict[str, str | float] = {}
    for name, argument in arguments.items():
        row = _coefficient(argument)
        if row is None:
            found[name] = argument
        else:
            key = wear_key(row, case)
            found[name] = key if key in entries.ledger else row.at(case)
    return found


def _coefficient(argument: str | float) -> Wear | None:
    """Return the coefficient that an argument in brackets names."""
    if isinstance(argument, str) and argument.startswith("["):
        return wear()[argument[1:-1]]
    return None


def _enter_stage(train: Train, stage: StageLife) -> list[tuple[float | str | None, ...]]:
    entries, label = train.entries, LABELS[stage.stage]
    by_case = {case: stage.lives(case) for case in CASES}
    loaded = [name for name, years in by_case["likely"].items() if math.isfinite(years)]
    named = {n: [_coefficient(a) for a in stage.laws[n][1].values()] for n in loaded}
    used = {n: [row for row in wear().values() if row in found] for n, found in named.items()}
    cites = {name: tuple(dict.fromkeys(row.source for row in used[name])) for name in loaded}
    for row in wear().values():
        if any(row in found for found in used.values()):
            enter_wear(entries, row)
    for name in loaded:
        word, evidence = _mechanism(name)
        law, arguments = stage.laws[name]
        entries.law(
            _years(stage, name),
            law,
            label=f"{label}: life by {word}",
            unit="year",
            cites=cites[name],
            evidence=evidence,
            method=stage.loads[name],
            **_for_case(entries, arguments, "likely"),
        )
    every = tuple(dict.fromkeys(key for found in cites.values() for key in found))
    for case in CASES:
        entries.law(
            f"{P}.{stage.stage}_years_{case}",
            stage.shortest,
            label=f"{label}: life, {case}, estimated",
            unit="year",
            cites=every,
            evidence="common practice",
            method="the shortest mechanism",
            **_for_case(entries, stage.arguments, case),
        )
    governs = lives.governing(by_case["likely"])
    _enter_words(train, stage, by_case, governs, loaded)
    return [_row(name, by_case, stage, name == governs) for name in by_case["likely"]]


def _mechanism(name: str) -> tuple[str, Evidence]:
    """Return what ends a life in words, and how it is known; a stage's own name speaks itself."""
    return MECHANISMS.get(name) or (name.replace("_", " "), "common practice")


def _years(stage: StageLife, mechanism: str) -> str:
    return f"{P}.{stage.stage}_{mechanism}_years"


def _enter_words(
    train: Train,
    stage: StageLife,
    by_case: Mapping[Case, Mapping[str, float]],
    governs: str,
    loaded: list[str],
) -> None:
    """Enter what ends a life, and the life as a sentence goes on."""
    entries, label = train.entries, LABELS[stage.stage]
    key, words = f"{P}.{stage.stage}_governs", f"media_words.{stage.stage}"
    entries.word(
        key,
        _mechanism(governs)[0],
        f"{label}: what ends its life",
        evidence="common practice",
        method=_reasoning(by_case["likely"], stage.loads),
    )
    likely = f"{P}.{stage.stage}_years_likely"
    entries.ledger.rests(key, likely, *(_years(stage, name) for name in loaded))
    lives = [min(by_case[case].values()) for case in CASES]
    entries.word(
        words,
        life_in_words(lives, stage.loads[governs]),
        f"{label}: life in words",
        evidence="common practice",
        method="low, likely and high life, and the load that ends it first",
    )
    entries.ledger.rests(words, key, *(f"{P}.{stage.stage}_years_{case}" for case in CASES))


def life_in_words(lives: Sequence[float], load: str) -> str:
    """Return a life as a sentence goes on: likely, its range, and what sets it.

    Parameters
    ----------
    lives : sequence of float
        Low, likely and high life. [year]
    load : str
        What the life rests on, in words. [-]

    Returns
    -------
    str
        Such as "likely 3.9 years (3.3 to 8.8), set by 330 regenerations a year". [-]
    """
    in_months = lives[1] < 1.0
    factor, unit = (laws.MONTHS_PER_YEAR, "months") if in_months else (1.0, "years")
    low, likely, high = (_two_digits(years * factor) for years in lives)
    unit = unit[:-1] if likely == "1" else unit
    return f"likely {likely} {unit} ({low} to {high}), set by {load.partition(' of each bed')[0]}"


def _two_digits(value: float) -> str:
    return f"{value:.2g}" if value < 10.0 else f"{value:.0f}"


def _reasoning(lives: Mapping[str, float], loads: Mapping[str, str]) -> str:
    """Say in one line what governs, with its load, and what would come next."""
    ranked = sorted((n for n in lives if math.isfinite(lives[n])), key=lambda n: lives[n])
    first, *others = ranked
    text = f"{_mechanism(first)[0]} at {_time(lives[first])} ({loads[first]})"
    if not others:
        return text
    return f"{text}; next {_mechanism(others[0])[0]} at {_time(lives[others[0]])}"


def _time(years: float) -> str:
    """Return a life as text in two digits, in months where it is shorter than a year."""
    if years < 1.0:
        return f"{years * laws.MONTHS_PER_YEAR:.2g} months"
    shown = _two_digits(years)
    return f"{shown} year" + ("" if shown == "1" else "s")


def _row(
    name: str, by_case: Mapping[Case, Mapping[str, float]], stage: StageLife, governs: bool
) -> tuple[float | str | None, ...]:
    word, evidence = _mechanism(name)
    years = tuple(by_case[case][name] for case in CASES)
    sets = math.isfinite(years[1])
    shown = tuple(y if math.isfinite(y) else None for y in years)
    load = stage.loads[name] if sets else "no load: sets no limit"
    return (f"{LABELS[stage.stage]}: {word}", *shown, load, "yes" if governs else "", evidence)
