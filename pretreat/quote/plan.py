"""The plan of ten years: replacements, cost by year, cost per cubic metre, present value."""

from collections.abc import Mapping
from dataclasses import dataclass

from pretreat.core.basis import Series
from pretreat.life.figures import LABELS
from pretreat.quote.laws import cents, present_value, replacements_in_year
from pretreat.quote.lines import Line, Till, enter_price, flags_of

YEARS = tuple(range(1, 11))
CONSUMABLES = "quote.consumables_per_year"
NONE_REPLACED = "-"


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
    media = [_enter_year(till, plan, year) for year in YEARS]
    totals = [_total(plan, amount) for amount in media]
    for year, total in zip(YEARS, totals, strict=True):
        parts = [f"{{{CONSUMABLES}}}", *([f"{{{_key(year, 'media')}}}"] if plan.lives else [])]
        blank = ",".join(f'{part}=""' for part in parts)
        entries.calc(_key(year, "total"), total, cur, f"Year {year}: consumables and media",
                     f'IF(OR({blank}),"",ROUND({"+".join(parts)},2))',
                     flags=flags_of(total))  # fmt: skip
        _enter_replaced(till, plan, year)
    _enter_means(till, plan, media, totals)
    rate = enter_price(till, "discount_rate", "-", "Discount rate")
    _enter_value(till, plan, totals, rate)
    _enter_table(till, plan, media, rate)


def _total(plan: Plan, media: float | None) -> float | None:
    """Return consumables and media of a year; a gap where a whole group has no amount."""
    if plan.consumables is None or (media is None and plan.lives):
        return None
    return cents((media or 0.0) + plan.consumables)


def _key(year: int, what: str) -> str:
    return f"costs.year_{year:02d}_{what}"


def due(life_key: str, year: int) -> str:
    """Return the replacements that fall due in a year as a formula."""
    return f"(INT({year}/{{{life_key}}})-INT({year - 1}/{{{life_key}}}))"


def _enter_year(till: Till, plan: Plan, year: int) -> float | None:
    """Enter the media of a year; what is replaced together comes in one delivery."""
    entries = till.entries
    times = {s: replacements_in_year(year, life) for s, life in plan.lives.items()}
    known = {s: n for s, key in plan.costs.items()
             if (n := entries.ledger.number(key)) is not None}  # fmt: skip
    amount = sum(cost * times[stage] for stage, cost in known.items())
    parts = [f"N({{{key}}})*{due(_life(stage), year)}" for stage, key in plan.costs.items()]
    if plan.lives:
        amount += (plan.freight.amount or 0.0) * max(times.values())
        inner = ",".join(due(_life(stage), year) for stage in times)
        parts.append(f"N({{{plan.freight.key}}})*MAX({inner})")
    value = cents(amount) if known else None
    every = ",".join(f"{{{key}}}" for key in plan.costs.values())
    formula = f'IF(COUNT({every})=0,"",ROUND({"+".join(parts)},2))' if parts else None
    entries.calc(_key(year, "media"), value, till.currency,
                 f"Year {year}: replacement of media", formula,
                 method="replaced when its likely life ends; new at the start",
                 flags=flags_of(value))  # fmt: skip
    return value


def _enter_replaced(till: Till, plan: Plan, year: int) -> None:
    """Enter which media are replaced in a year, in words that follow the lives."""
    if not plan.lives:
        return
    parts = []
    for stage in plan.lives:
        times, name = due(_life(stage), year), LABELS[stage].lower()
        often = f'IF({times}>1," ("&{times}&" times)","")'
        parts.append(f'IF({times}>0,", {name}"&{often},"")')
    text = _replaced(plan, year) or NONE_REPLACED
    formula = f"MID({'&'.join(parts)},3,200)"
    formula = f'IF(MAX({",".join(due(_life(s), year) for s in plan.lives)})=0,"-",{formula})'
    till.entries.calc(_key(year, "replaced"), text, "-", f"Year {year}: what is replaced", formula,
                      method="when its likely life ends")  # fmt: skip


def _replaced(plan: Plan, year: int) -> str:
    names = [
        LABELS[s].lower() + (f" ({n} times)" if n > 1 else "")
        for s, life in plan.lives.items()
        if (n := replacements_in_year(year, life))
    ]
    return ", ".join(names)


def _life(stage: str) -> str:
    return f"media_life.{stage}_years_likely"


def _enter_means(
    till: Till, plan: Plan, media: list[float | None], totals: list[float | None]
) -> None:
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
        if what == "media" and not plan.lives:
            continue
        every = ",".join(f"{{{_key(year, what)}}}" for year in YEARS)
        known = [amount for amount in amounts if amount is not None]
        value = cents(sum(known) / len(amounts)) if known else None
        entries.calc(f"quote.{key}_per_year", value, per_year, label,
                     f'IF(COUNT({every})=0,"",ROUND(SUM({every})/{len(amounts)},2))',
                     method="estimate, no promise", flags=flags_of(value))  # fmt: skip
    _enter_range(till, plan)
    product = entries.value("machine.product_m3_d") * entries.value("machine.days_per_year")
    entries.calc("costs.product_m3_per_year", product, "m3/year", "Product per year",
                 "{machine.product_m3_d}*{machine.days_per_year}")  # fmt: skip
    cost = entries.ledger.number("quote.cost_per_year")
    entries.calc("quote.cost_per_m3", None if cost is None else cost / product,
                 f"{till.currency}/m3", "Pretreatment cost per m3 of product" + plan.without,
                 'IF({quote.cost_per_year}="","",'
                 "{quote.cost_per_year}/{costs.product_m3_per_year})",
                 method="pretreatment alone: consumables and media; no capital, no membranes",
                 flags=flags_of(cost),
    )  # fmt: skip


def _enter_range(till: Till, plan: Plan) -> None:
    """Enter what media cost in a year should their lives turn out high, or low."""
    if not plan.lives:
        return
    for end, case in (("low", "high"), ("high", "low")):
        which = "long" if case == "high" else "short"
        label = f"Media per year at the {which} end of the estimated lives" + plan.media_without
        enter_media_per_year(till, plan, f"quote.media_per_year_{end}", label,
                             {s: f"media_life.{s}_years_{case}" for s in plan.lives})  # fmt: skip


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
    entries = till.entries
    known = {s: n for s, cost in plan.costs.items()
             if (n := entries.ledger.number(cost)) is not None}  # fmt: skip
    amount = sum(cost / entries.value(lives[stage]) for stage, cost in known.items())
    amount += (plan.freight.amount or 0.0) / min(entries.value(k) for k in lives.values())
    parts = [f"N({{{cost}}})/{{{lives[stage]}}}" for stage, cost in plan.costs.items()]
    shortest = ",".join(f"{{{life}}}" for life in lives.values())
    parts.append(f"N({{{plan.freight.key}}})/MIN({shortest})")
    value = cents(amount) if known else None
    every = ",".join(f"{{{cost}}}" for cost in plan.costs.values())
    entries.calc(key, value, f"{till.currency}/year", label,
                 f'IF(COUNT({every})=0,"",ROUND({"+".join(parts)},2))',
                 method="cost over life; estimate", flags=flags_of(value))  # fmt: skip


def _enter_value(till: Till, plan: Plan, totals: list[float | None], rate: float | None) -> None:
    keys = [f"{{{_key(year, 'total')}}}" for year in YEARS]
    terms = "+".join(
        f"{key}/(1+{{prices.discount_rate}})^{year}" for year, key in zip(YEARS, keys, strict=True)
    )
    known = [total for total in totals if total is not None]
    value = present_value(known, rate) if rate is not None and known else None
    till.entries.calc(
        "quote.npv", value, till.currency,
        f"Present value of the cost of {len(YEARS)} years" + plan.without,
        f'IF(OR({{prices.discount_rate}}="",COUNT({",".join(keys)})=0),"",ROUND({terms},2))',
        method="each year's cost falls due at its end" if rate is not None
        else "no discount rate given", flags=flags_of(value),
    )  # fmt: skip


def _enter_table(till: Till, plan: Plan, media: list[float | None], rate: float | None) -> None:
    rows: list[tuple[float | str | None, ...]] = []
    accumulated = 0.0
    for year, amount in zip(YEARS, media, strict=True):
        total = _total(plan, amount)
        accumulated += total or 0.0
        discounted = None if rate is None or total is None else total / (1.0 + rate) ** year
        rows.append((float(year), plan.consumables, amount if plan.lives else 0.0, total,
                     discounted, None if total is None else cents(accumulated),
                     _replaced(plan, year) or NONE_REPLACED))  # fmt: skip
    cur = till.currency
    till.entries.ledger.table(
        Series("quote.years", "Estimated cost by year" + plan.without,
               ("year", "consumables", "media", "total", "discounted", "accumulated", "replaced"),
               ("-", cur, cur, cur, cur, cur, "-"), tuple(rows),
               headings=("Year", "Consumables", "Media replaced", "Total", "Present value",
                         "Accumulated", "What is replaced"),
               method="prices of today; media new at the start, replaced at their likely life")
    )  # fmt: skip
