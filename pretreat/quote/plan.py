"""The plan of ten years: replacements, cost by year, cost per cubic metre, present value."""

from collections.abc import Callable, Mapping
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Series
from pretreat.core.law import cents
from pretreat.life.figures import LABELS
from pretreat.life.loads import water_m3_year
from pretreat.quote.laws import (
    cost_of_water,
    cost_of_year,
    mean_amount,
    media_of_year,
    present_value,
    replacements_in_year,
    yearly_media,
)
from pretreat.quote.lines import MISSING, Line, Till, enter_price, flags_of

YEARS = tuple(range(1, 11))
CONSUMABLES = "quote.consumables_per_year"
NONE_REPLACED = "-"


class Plan(Struct, frozen=True):
    """What the plan rests on: costs of a replacement by stage, freight, consumables.

    ``costs`` holds the key of each stage's replacement, ``lives`` its likely life;
    ``without`` and ``media_without`` name what has no price, in all and in the media.
    """

    costs: Mapping[str, str]
    lives: Mapping[str, float]
    freight: Line
    consumables: float | None
    without: str
    media_without: str


def enter_plan(till: Till, plan: Plan) -> None:
    """Enter the cost of every year and what follows from it.

    Parameters
    ----------
    till : Till
        Ledger and prices. [-]
    plan : Plan
        What it rests on. [-]
    """
    media = [_enter_year(till, plan, year) for year in YEARS]
    totals = [_enter_total(till, plan, year) for year in YEARS]
    _enter_means(till, plan)
    rate = enter_price(till, "discount_rate", "-", "Discount rate")
    _enter_value(till, plan, totals, rate)
    _enter_table(till, plan, media, totals, rate)


def _enter_total(till: Till, plan: Plan, year: int) -> float | None:
    """Enter consumables and media of a year; a gap where a whole group has no amount."""
    entries, key, media = till.entries, _key(year, "total"), _key(year, "media")
    lacking = plan.consumables is None or (
        bool(plan.lives) and entries.ledger.number(media) is None
    )
    entries.law(
        key,
        cost_of_year,
        consumables=CONSUMABLES,
        media=media if plan.lives else 0.0,
        label=f"Year {year}: consumables and media",
        unit=till.currency,
        flags=(MISSING,) if lacking else (),
    )
    _enter_replaced(till, plan, year)
    return entries.ledger.number(key)


def _key(year: int, what: str) -> str:
    return f"costs.year_{year:02d}_{what}"


def _priced(till: Till, plan: Plan) -> bool:
    """Tell whether any replacement has a cost."""
    return any(till.entries.ledger.number(key) is not None for key in plan.costs.values())


def _enter_year(till: Till, plan: Plan, year: int) -> float | None:
    """Enter the media of a year; what is replaced together comes in one delivery."""
    entries, key, label = till.entries, _key(year, "media"), f"Year {year}: replacement of media"
    method = "replaced when its likely life ends; new at the start"
    if not plan.lives:
        entries.ledger.put(key, None, till.currency, label, method=method, flags=flags_of(None))
        entries.ledger.rests(key)
        return None
    entries.law(
        key,
        media_of_year,
        year=float(year),
        costs=list(plan.costs.values()),
        lives_years=[_life(stage) for stage in plan.costs],
        freight=plan.freight.key,
        label=label,
        unit=till.currency,
        method=method,
        flags=() if _priced(till, plan) else (MISSING,),
    )
    return entries.ledger.number(key)


def _enter_replaced(till: Till, plan: Plan, year: int) -> None:
    """Enter which media are replaced in a year, in words that follow the lives."""
    if not plan.lives:
        return
    key, ledger = _key(year, "replaced"), till.entries.ledger
    till.entries.word(
        key,
        _replaced(plan.lives, year),
        f"Year {year}: what is replaced",
        method="when its likely life ends",
    )

    def again(value: Callable[[str], Any]) -> str | None:
        lives = {stage: value(_life(stage)) for stage in plan.lives}
        known = all(isinstance(life, float) for life in lives.values())
        return _replaced(lives, year) if known else None  # no words for thousands of draws

    ledger.rests(key, *(_life(stage) for stage in plan.lives), again=again)


def _replaced(lives: Mapping[str, float], year: int) -> str:
    """Return which media are replaced in a year, in words."""
    due = {s: int(replacements_in_year(float(year), life)) for s, life in lives.items()}
    names = [
        LABELS[s].lower() + (f" ({times} times)" if times > 1 else "")
        for s, times in due.items()
        if times
    ]
    return ", ".join(names) or NONE_REPLACED


def _life(stage: str) -> str:
    return f"media_life.{stage}_years_likely"


def _enter_means(till: Till, plan: Plan) -> None:
    entries, per_year = till.entries, f"{till.currency}/year"
    for key, label, what in (
        (
            "media",
            f"Media replaced per year, mean of {len(YEARS)} years" + plan.media_without,
            "media",
        ),
        ("cost", f"Cost per year, mean of {len(YEARS)} years" + plan.without, "total"),
    ):
        if what == "media" and not plan.lives:
            continue
        every = [_key(year, what) for year in YEARS]
        known = any(entries.ledger.number(year) is not None for year in every)
        entries.law(
            f"quote.{key}_per_year",
            mean_amount,
            amounts=every,
            label=label,
            unit=per_year,
            method="estimate, no promise",
            flags=() if known else (MISSING,),
        )
    _enter_range(till, plan)
    entries.law(
        "costs.product_m3_per_year",
        water_m3_year,
        water_m3_d="machine.product_m3_d",
        days_per_year="machine.days_per_year",
        label="Product per year",
    )
    entries.law(
        "quote.cost_per_m3",
        cost_of_water,
        yearly_cost="quote.cost_per_year",
        product_m3_per_year="costs.product_m3_per_year",
        label="Pretreatment cost per m3 of product" + plan.without,
        unit=f"{till.currency}/m3",
        method="pretreatment alone: consumables and media; no capital, no membranes",
        flags=flags_of(entries.ledger.number("quote.cost_per_year")),
    )


def _enter_range(till: Till, plan: Plan) -> None:
    """Enter what media cost in a year should their lives turn out high, or low."""
    if not plan.lives:
        return
    for end, case in (("low", "high"), ("high", "low")):
        which = "long" if case == "high" else "short"
        label = f"Media per year at the {which} end of the estimated lives" + plan.media_without
        enter_media_per_year(
            till,
            plan,
            f"quote.media_per_year_{end}",
            label,
            {s: f"media_life.{s}_years_{case}" for s in plan.lives},
        )


def enter_media_per_year(
    till: Till, plan: Plan, key: str, label: str, lives: Mapping[str, str]
) -> None:
    """Enter what media cost in a year at given lives, freight with the shortest of them.

    Parameters
    ----------
    till : Till
        Ledger and prices. [-]
    plan : Plan
        Costs of a replacement and freight. [-]
    key : str
        Key of the figure. [-]
    label : str
        Its label. [-]
    lives : mapping of str to str
        Key of the life of each stage's medium. [-]
    """
    till.entries.law(
        key,
        yearly_media,
        costs=list(plan.costs.values()),
        lives_years=[lives[stage] for stage in plan.costs],
        freight=plan.freight.key,
        label=label,
        unit=f"{till.currency}/year",
        method="cost over life; estimate",
        flags=() if _priced(till, plan) else (MISSING,),
    )


def _enter_value(till: Till, plan: Plan, totals: list[float | None], rate: float | None) -> None:
    lacking = rate is None or all(total is None for total in totals)
    till.entries.law(
        "quote.npv",
        present_value,
        amounts=[_key(year, "total") for year in YEARS],
        discount_rate="prices.discount_rate",
        label=f"Present value of the cost of {len(YEARS)} years" + plan.without,
        unit=till.currency,
        method="each year's cost falls due at its end"
        if rate is not None
        else "no discount rate given",
        flags=(MISSING,) if lacking else (),
    )


def _enter_table(
    till: Till,
    plan: Plan,
    media: list[float | None],
    totals: list[float | None],
    rate: float | None,
) -> None:
    rows: list[tuple[float | str | None, ...]] = []
    accumulated = 0.0
    for year, amount, total in zip(YEARS, media, totals, strict=True):
        accumulated += total or 0.0
        discounted = None if rate is None or total is None else total / (1.0 + rate) ** year
        rows.append(
            (
                float(year),
                plan.consumables,
                amount if plan.lives else 0.0,
                total,
                discounted,
                None if total is None else float(cents(accumulated)),
                _replaced(plan.lives, year),
            )
        )
    cur = till.currency
    till.entries.ledger.table(
        Series(
            "quote.years",
            "Estimated cost by year" + plan.without,
            ("year", "consumables", "media", "total", "discounted", "accumulated", "replaced"),
            ("-", cur, cur, cur, cur, cur, "-"),
            tuple(rows),
            headings=(
                "Year",
                "Consumables",
                "Media replaced",
                "Total",
                "Present value",
                "Accumulated",
                "What is replaced",
            ),
            method="prices of today; media new at the start, replaced at their likely life",
        )
    )
