"""The plan of ten years: replacements, cost by year, cost per cubic metre, present value."""

from collections.abc import Mapping
from dataclasses import dataclass

from pretreat.basis import Series
from pretreat.sizing.costs import cents, present_value, replacements_in_year
from pretreat.study.media_life import LABELS
from pretreat.study.quote_lines import Line, Till, enter_price, flags_of

YEARS = tuple(range(1, 11))
CONSUMABLES = "quote.consumables_per_year"


@dataclass(frozen=True, slots=True)
class Plan:
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
    entries, cur = till.entries, till.currency
    if plan.consumables is None and not plan.costs:
        return
    media = [_enter_year(till, plan, year) for year in YEARS]
    totals = [cents(amount + (plan.consumables or 0.0)) for amount in media]
    consumables = f"{{{CONSUMABLES}}}" if plan.consumables is not None else "0"
    for year, total in zip(YEARS, totals, strict=True):
        entries.calc(_key(year, "total"), total, cur, f"Year {year}: consumables and media",
                     f"ROUND({consumables}+{{{_key(year, 'media')}}},2)")  # fmt: skip
    _enter_means(till, plan, media, totals)
    rate = enter_price(till, "discount_rate", "-", "Discount rate",
                       "no present value is worked out")  # fmt: skip
    _enter_value(till, plan, totals, rate)
    _enter_table(till, plan, media, rate)


def _key(year: int, what: str) -> str:
    return f"costs.year_{year:02d}_{what}"


def due(life_key: str, year: int) -> str:
    """Return the replacements that fall due in a year as a formula."""
    return f"(INT({year}/{{{life_key}}})-INT({year - 1}/{{{life_key}}}))"


def _enter_year(till: Till, plan: Plan, year: int) -> float:
    """Enter the media of a year; what is replaced together comes in one delivery."""
    entries = till.entries
    times = {s: replacements_in_year(year, life) for s, life in plan.lives.items()}
    parts = [f"{{{key}}}*{due(_life(stage), year)}" for stage, key in plan.costs.items()]
    amount = sum(entries.value(key) * times[stage] for stage, key in plan.costs.items())
    if not plan.freight.gap and plan.lives:
        amount += (plan.freight.amount or 0.0) * max(times.values())
        inner = ",".join(due(_life(stage), year) for stage in times)
        parts.append(f"{{{plan.freight.key}}}*MAX({inner})")
    formula = f"ROUND({'+'.join(parts) or '0'},2)"
    return entries.calc(_key(year, "media"), cents(amount), till.currency,
                        f"Year {year}: replacement of media", formula,
                        method="replaced when its likely life ends; new at the start")  # fmt: skip


def _life(stage: str) -> str:
    return f"media_life.{stage}_years_likely"


def _enter_means(till: Till, plan: Plan, media: list[float], totals: list[float]) -> None:
    entries, per_year = till.entries, f"{till.currency}/year"
    for key, label, amounts, what in (
        (
            "media",
            "Media replaced per year, mean of ten years" + plan.media_without,
            media,
            "media",
        ),
        ("cost", "Cost per year, mean of ten years" + plan.without, totals, "total"),
    ):
        sum_of = "+".join(f"{{{_key(year, what)}}}" for year in YEARS)
        entries.calc(f"quote.{key}_per_year", cents(sum(amounts) / len(amounts)), per_year, label,
                     f"ROUND(({sum_of})/{len(amounts)},2)",
                     method="estimate, no promise")  # fmt: skip
    _enter_range(till, plan)
    product = entries.value("machine.product_m3_d") * entries.value("machine.days_per_year")
    entries.calc("costs.product_m3_per_year", product, "m3/year", "Product per year",
                 "{machine.product_m3_d}*{machine.days_per_year}")  # fmt: skip
    entries.calc("quote.cost_per_m3", entries.value("quote.cost_per_year") / product,
                 f"{till.currency}/m3", "Cost per cubic metre of product" + plan.without,
                 "{quote.cost_per_year}/{costs.product_m3_per_year}",
                 method="pretreatment alone: consumables and media; no capital, no membranes",
    )  # fmt: skip


def _enter_range(till: Till, plan: Plan) -> None:
    """Enter what media cost in a year should their lives turn out high, or low."""
    entries = till.entries
    for end, case in (("low", "high"), ("high", "low")):
        lives = {s: f"media_life.{s}_years_{case}" for s in plan.lives}
        if not lives:
            return
        amount = sum(entries.value(k) / entries.value(lives[s]) for s, k in plan.costs.items())
        parts = [f"{{{key}}}/{{{lives[stage]}}}" for stage, key in plan.costs.items()]
        if not plan.freight.gap:
            shortest = min(entries.value(key) for key in lives.values())
            amount += (plan.freight.amount or 0.0) / shortest
            parts.append(
                f"{{{plan.freight.key}}}/MIN({','.join(f'{{{k}}}' for k in lives.values())})"
            )
        which = "long" if case == "high" else "short"
        label = f"Media per year at the {which} end of the estimated lives" + plan.media_without
        entries.calc(f"quote.media_per_year_{end}", cents(amount), f"{till.currency}/year", label,
                     f"ROUND({'+'.join(parts) or '0'},2)", method="cost over life; estimate",
        )  # fmt: skip


def _enter_value(till: Till, plan: Plan, totals: list[float], rate: float | None) -> None:
    terms = "+".join(
        f"{{{_key(year, 'total')}}}/(1+{{prices.discount_rate}})^{year}" for year in YEARS
    )
    till.entries.calc(
        "quote.npv", None if rate is None else present_value(totals, rate), till.currency,
        f"Present value of the cost of {len(YEARS)} years" + plan.without,
        None if rate is None else f"ROUND({terms},2)",
        method="each year's cost falls due at its end" if rate is not None
        else "no discount rate given", flags=flags_of(rate),
    )  # fmt: skip


def _enter_table(till: Till, plan: Plan, media: list[float], rate: float | None) -> None:
    rows, accumulated = [], 0.0
    for year, amount in zip(YEARS, media, strict=True):
        total = cents(amount + (plan.consumables or 0.0))
        accumulated += total
        names = [
            LABELS[s].lower() + (f" ({n} times)" if n > 1 else "")
            for s, life in plan.lives.items()
            if (n := replacements_in_year(year, life))
        ]
        discounted = None if rate is None else total / (1.0 + rate) ** year
        rows.append((float(year), plan.consumables, amount, total, discounted, cents(accumulated),
                     ", ".join(names)))  # fmt: skip
    cur = till.currency
    till.entries.ledger.table(
        Series("quote.years", "Estimated cost by year" + plan.without,
               ("year", "consumables", "media", "total", "discounted", "accumulated", "replaced"),
               ("-", cur, cur, cur, cur, cur, "-"), tuple(rows),
               headings=("Year", "Consumables", "Media replaced", "Total", "Present value",
                         "Accumulated", "What is replaced"),
               method="prices of today; media new at the start, replaced at their likely life")
    )  # fmt: skip
