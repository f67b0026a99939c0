"""The section on media life: each mechanism by itself, the range, and what governs."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from pretreat.core.basis import Series, citations
from pretreat.core.results import Ledger
from pretreat.life import laws as sizing
from pretreat.life.duties import (
    MECHANISMS,
    Duties,
    carbon_duty,
    cartridge_duty,
    enter_loads,
    filter_duty,
    softener_duty,
)
from pretreat.life.sensitivity import enter_sensitivity
from pretreat.life.wear import CASES, Case, Wear, wear
from pretreat.plant.train import carbon_first
from pretreat.site.design import DesignBasis
from pretreat.stages.decisions import Question, free_chlorine_mg_l
from pretreat.stages.stream import RawWater
from pretreat.stages.train import Entries, Mode, Train

P = "media_life"
LABELS = {"softener": "Softening resin", "iron_filter": "Iron filter medium",
          "multimedia": "Multimedia", "carbon": "Activated carbon",
          "cartridge": "Cartridges"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class StageLife:
    """How a stage's medium wears: lives by case, and the formula of each mechanism.

    A formula holds the keys of its coefficients with ``@`` where the case stands; ``loads``
    says in words what each mechanism rests on.
    """

    stage: str
    lives: Callable[[Case], Mapping[str, float]]
    formulas: Mapping[str, str]
    loads: Mapping[str, str]
    cites: tuple[str, ...]


def enter_media_life(ledger: Ledger, raw: RawWater, design: DesignBasis, mode: Mode) -> None:
    """Enter how long the media of every stage in the train last.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go; the train is entered before. [-]
    raw : RawWater
        The water ahead of the first stage. [-]
    design : DesignBasis
        The engineer's choices. [-]
    mode : str
        "size" or "rate". [-]
    """
    train = Train(Entries(ledger), raw, design, mode)
    question = Question(raw, design, mode)
    chlorine = free_chlorine_mg_l(question)
    onto_resin = 0.0 if carbon_first(question) and "carbon.ebct_min" in ledger else chlorine
    duties = enter_loads(train, onto_resin)
    stages = _stages(train, duties)
    rows = [row for stage in stages for row in _enter_stage(train, stage)]
    ledger.table(
        Series(f"{P}.mechanisms", "What ends the life of each medium",
               ("mechanism", "low", "likely", "high", "load", "governs", "basis"),
               ("-", "year", "year", "year", "-", "-", "-"), tuple(rows),
               headings=("Medium and mechanism", "Low", "Likely", "High", "Load", "Governs",
                         "Basis"),
               cites=tuple(dict.fromkeys(key for s in stages for key in s.cites)),
               method="the shortest mechanism is the life; estimates, no promise and no warranty")
    )  # fmt: skip
    enter_sensitivity(train, duties)
    train.entries.flag(
        "life_estimated", "info",
        "lives of media are estimates, most of them from common practice without a published "
        "source; they are no promise and no warranty: keep the dates of changes and of tests",
    )  # fmt: skip


def _stages(train: Train, duties: Duties) -> list[StageLife]:
    found: list[StageLife] = []
    if duties.softener is not None:
        resin = duties.softener
        formulas, loads = softener_duty(resin)
        found.append(StageLife("softener", lambda case: sizing.softener_lives(resin, case),
                               formulas, loads, citations(sizing.softener_lives)))  # fmt: skip
    for stage, bed in duties.filters.items():
        formulas, loads = filter_duty(stage, bed)
        found.append(StageLife(stage, lambda case, bed=bed: sizing.filter_lives(bed, case),  # type: ignore[misc]
                               formulas, loads, citations(sizing.filter_lives)))  # fmt: skip
    if duties.carbon is not None:
        carbon = duties.carbon
        formulas, loads = carbon_duty(carbon)
        found.append(StageLife("carbon", lambda case: sizing.carbon_lives(carbon, case), formulas,
                               loads, citations(sizing.carbon_lives)))  # fmt: skip
    if duties.cartridge is not None:
        cartridge = duties.cartridge
        formulas, loads = cartridge_duty(cartridge)
        found.append(StageLife("cartridge", lambda case: sizing.cartridge_lives(cartridge, case),
                               formulas, loads, citations(sizing.cartridge_lives)))  # fmt: skip
    return found


def enter_wear(entries: Entries, row: Wear) -> None:
    """Enter a coefficient, once: one figure, or one for each case."""
    for case in CASES:
        key = wear_key(row, case)
        if key not in entries.ledger:
            word = "" if row.single else f", {case} life"
            entries.given(key, row.at(case), row.unit, f"Wear: {row.meaning}{word}",
                          evidence=row.evidence, cites=(row.source,), method=row.where)  # fmt: skip


def wear_key(row: Wear, case: Case) -> str:
    """Return the key under which a coefficient is entered."""
    return f"{P}.wear_{row.key}" + ("" if row.single else f"_{case}")


def _for_case(template: str, case: Case) -> str:
    """Put the keys of the coefficients of a case into a formula: [name] stands for one."""
    text = template
    for name, row in wear().items():
        text = text.replace(f"[{name}]", f"{{{wear_key(row, case)}}}")
    return text


def _wear_in(formula: str) -> tuple[Wear, ...]:
    return tuple(row for name, row in wear().items() if f"[{name}]" in formula)


def _enter_stage(train: Train, stage: StageLife) -> list[tuple[float | str | None, ...]]:
    entries, label = train.entries, LABELS[stage.stage]
    by_case = {case: stage.lives(case) for case in CASES}
    loaded = [name for name, years in by_case["likely"].items() if math.isfinite(years)]
    used = {name: _wear_in(stage.formulas[name]) for name in loaded}
    cites = {name: tuple(dict.fromkeys(row.source for row in used[name])) for name in loaded}
    for row in wear().values():
        if any(row in found for found in used.values()):
            enter_wear(entries, row)
    for name in loaded:
        word, evidence = MECHANISMS[name]
        entries.calc(f"{P}.{stage.stage}_{name}_years", by_case["likely"][name], "year",
                     f"{label}: life by {word}", _for_case(stage.formulas[name], "likely"),
                     cites=cites[name], evidence=evidence, method=stage.loads[name])  # fmt: skip
    every = tuple(dict.fromkeys(key for found in cites.values() for key in found))
    for case in CASES:
        parts = ",".join(_for_case(stage.formulas[name], case) for name in loaded)
        entries.calc(f"{P}.{stage.stage}_years_{case}", min(by_case[case].values()), "year",
                     f"{label}: life, {case}, estimated", f"MIN({parts})", cites=every,
                     evidence="common practice", method="the shortest mechanism")  # fmt: skip
    governs = sizing.governing(by_case["likely"])
    entries.word(f"{P}.{stage.stage}_governs", MECHANISMS[governs][0],
                 f"{label}: what ends its life", evidence="common practice",
                 method=_reasoning(by_case["likely"], stage.loads))  # fmt: skip
    lives = [min(by_case[case].values()) for case in CASES]
    entries.word(f"media_words.{stage.stage}", life_in_words(lives, stage.loads[governs]),
                 f"{label}: life in words", evidence="common practice",
                 method="low, likely and high life, and the load that ends it first")  # fmt: skip
    return [_row(name, by_case, stage, name == governs) for name in by_case["likely"]]


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
    factor, unit = (sizing.MONTHS_PER_YEAR, "months") if in_months else (1.0, "years")
    low, likely, high = (_two_digits(years * factor) for years in lives)
    unit = unit[:-1] if likely == "1" else unit
    return f"likely {likely} {unit} ({low} to {high}), set by {load.partition(' of each bed')[0]}"


def _two_digits(value: float) -> str:
    return f"{value:.2g}" if value < 10.0 else f"{value:.0f}"


def _reasoning(lives: Mapping[str, float], loads: Mapping[str, str]) -> str:
    """Say in one line what governs, with its load, and what would come next."""
    ranked = sorted((n for n in lives if math.isfinite(lives[n])), key=lambda n: lives[n])
    first, *others = ranked
    text = f"{MECHANISMS[first][0]} at {_time(lives[first])} ({loads[first]})"
    if not others:
        return text
    return f"{text}; next {MECHANISMS[others[0]][0]} at {_time(lives[others[0]])}"


def _time(years: float) -> str:
    """Return a life as text in two digits, in months where it is shorter than a year."""
    if years < 1.0:
        return f"{years * sizing.MONTHS_PER_YEAR:.2g} months"
    shown = _two_digits(years)
    return f"{shown} year" + ("" if shown == "1" else "s")


def _row(
    name: str, by_case: Mapping[Case, Mapping[str, float]], stage: StageLife, governs: bool
) -> tuple[float | str | None, ...]:
    word, evidence = MECHANISMS[name]
    years = tuple(by_case[case][name] for case in CASES)
    sets = math.isfinite(years[1])
    shown = tuple(y if math.isfinite(y) else None for y in years)
    load = stage.loads[name] if sets else "no load: sets no limit"
    return (f"{LABELS[stage.stage]}: {word}", *shown, load, "yes" if governs else "", evidence)
