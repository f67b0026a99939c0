"""The quote: consumables of a year, one replacement of all media, plan and present value."""

from collections.abc import Callable, Sequence
from typing import Any

from pretreat.core.basis import Series, Value
from pretreat.core.results import Ledger
from pretreat.core.text import plain_numbers
from pretreat.core.water import TEST_KIT
from pretreat.life.figures import LABELS
from pretreat.quote.comparison import enter_compare
from pretreat.quote.items import (
    DISSOLVED,
    ONCE,
    enter_consumables,
    enter_replacement,
    stages_with_media,
)
from pretreat.quote.kit_points import enter_kit_points
from pretreat.quote.lines import (
    DISCOUNT_RATE,
    MISSING,
    Line,
    Till,
    enter_line,
    enter_total,
    without,
)
from pretreat.quote.offer import OWN, enter_offer
from pretreat.quote.plan import CONSUMABLES, Plan, enter_plan
from pretreat.quote.visits import enter_visits
from pretreat.site.design import DesignBasis
from pretreat.stages.packages import packages, support
from pretreat.stages.stream import RawWater
from pretreat.stages.train import Entries, Mode

Q = "quote"
LEAN_TIMES = 3.0  # common practice: a dose above three times the need is a waste
QUOTED_STAGES = ("softener.", "iron_filter.", "carbon.", "multimedia.", "cartridge.", "programme.")
NOT_INCLUDED = (
    "labour for changing cartridges and filling salt, service visits and travel, membranes and "
    "their cleaning, capital, tax"
)
BEFORE_MARGIN = " (internal: own cost, before the margin)"
NO_PROMISE = (
    "Quantities and lives are estimates for the water and the running time named here; they are no "
    "promise and no warranty"
)
POTABLE = (
    "Nothing here claims that the water is fit to drink: that is a matter of certified materials, "
    "local codes, the health authority and licensed practice"
)


def enter_quote(ledger: Ledger, raw: RawWater, design: DesignBasis, mode: Mode) -> None:
    """Enter consumables, replacement, totals, plan and the comparison of options.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go; train, media life and scaling are entered before. [-]
    raw : RawWater
        The water ahead of the first stage. [-]
    design : DesignBasis
        The engineer's choices. [-]
    mode : str
        "size" or "rate". [-]
    """
    till = Till.of(Entries(ledger), design)
    note = (
        "the first filling is not in the plan"
        if mode == "size"
        else ("the plan takes the media as new at its start")
    )
    end = "" if till.silent else f"; {note}"

    def named(value: Callable[[str], Any]) -> str:
        return plain_numbers(f"{_named(value, by_kit=raw.from_test_kit)}{end}")

    def entered(key: str) -> Value:
        figure = ledger.figure(key)
        return None if figure is None else figure.value

    enter_terms(till, named(entered), NO_PROMISE)
    keys = (*(key for key, *_ in _NAMED), "water.sample", "water.date")
    ledger.rests(f"{Q}.basis", *(key for key in keys if key in ledger), again=named)
    yearly = enter_consumables(till, design)
    consumables = enter_total(
        till, CONSUMABLES, "Consumables per year", yearly, f"{till.currency}/year"
    )
    stages = [s for s in stages_with_media(till.entries) if life_key(s) in ledger]
    parts = {stage: enter_replacement(till, stage) for stage in stages}
    once = enter_replacement_totals(till, parts)
    lines = (*yearly, *once)
    enter_lines(till, lines)
    enter_shares(till, yearly, once)
    worn = [s for s in parts if s not in DISSOLVED]  # the rest is topped up: a consumable
    lives = {s: till.entries.value(life_key(s)) for s in worn}
    freight = next((line for line in once if line.key == "costs.freight_amount"), NO_FREIGHT)
    at_cost = "" if design.quote.margin_percent is None else BEFORE_MARGIN
    enter_plan(
        till,
        Plan(
            {s: cost_key(s) for s in worn},
            lives,
            freight,
            consumables,
            at_cost + without(lines),
            at_cost + without(once),
        ),
    )
    enter_offer(till, design, once, yearly, enter_visits(till, design, yearly))
    flag_gaps(till, lines)
    enter_kit_points(ledger, design.product.target)
    enter_open_warnings(ledger)
    flag_leaner_permanganate(till)
    enter_compare(ledger, raw, design)


def life_key(stage: str) -> str:
    """Return the key of the likely life of a medium; a life that stays open has no figure."""
    return f"media_life.{stage}_years_likely"


PRODUCT, PRODUCT_DIGITS, DIGITS = "machine.product_m3_d", 4, 3  # gallons show the fourth too
# What a quantity of the quote rests on: key, what stands before the number, what after it.
_RUNNING = (
    (PRODUCT, "", "m3/d of product"),
    ("machine.hours_per_day", "in", "h a day"),
    ("machine.days_per_year", "on", "days a year"),
)
_WATER = (
    ("water.hardness_mg_l_caco3", "hardness", "mg/L as CaCO3"),
    ("water.fe_mg_l", "iron", "mg/L"),
    ("water.mn_mg_l", "manganese", "mg/L"),
)
_NAMED = (*_RUNNING, *_WATER)


def _named(value: Callable[[str], Any], *, by_kit: bool) -> str:
    """Return the water and the running time in words, from the values of figures."""

    def listed(rows: Sequence[tuple[str, str, str]]) -> list[str]:
        found = [
            (before, value(key), after, PRODUCT_DIGITS if key == PRODUCT else DIGITS)
            for key, before, after in rows
        ]
        return [
            f"{before} {number:.{digits}g} {after}".strip()
            for before, number, after, digits in found
            if isinstance(number, float)
        ]

    sample, date = value("water.sample"), value("water.date")
    of = f" of {date}" if isinstance(date, str) and date else ""
    if by_kit or sample == TEST_KIT:
        known = f"test-kit values{of}, which a laboratory analysis may change"
    else:
        name = sample.replace(str(date), "").strip(" ,") if isinstance(sample, str) else ""
        named = f" (sample {name})" if name else ""
        known = f"the water analysis{of}{named}"
    said = f"quantities from {known}, and from the design and the vessels"
    water, running = ", ".join(listed(_WATER)), " ".join(listed(_RUNNING))
    return "; ".join(part for part in (said, running, water) if part)


def cost_key(stage: str) -> str:
    """Return the key of the cost of a replacement of a stage's medium."""
    return f"costs.{stage}_replacement"


NO_FREIGHT = Line(
    "costs.freight_amount", "freight", "Freight", ONCE, None, "", "", None, None, None, ""
)


def enter_shares(till: Till, yearly: tuple[Line, ...], once: tuple[Line, ...]) -> None:
    """Enter what the supplier offers and what the site pays to others, apart."""
    per_year = f"{till.currency}/year"
    for lines, key, label, unit in (
        (yearly, f"{Q}.offered_per_year", "Of which goods offered by us, per year", per_year),
        (
            yearly,
            f"{Q}.own_per_year",
            "Of which your own water, drain and energy, per year",
            per_year,
        ),
        (once, f"{Q}.replacement_offered", "Of which offered by us", till.currency),
        (once, f"{Q}.replacement_own", "Of which your own downtime", till.currency),
    ):
        own = "own" in key
        some = tuple(line for line in lines if (line.item in OWN) == own)
        if some and len(some) < len(lines):
            enter_total(till, key, label, some, unit)


def _validity(days: float) -> str:
    """Return in words how long prices hold."""
    return f"{days:.0f} days from the date of issue written on this page"


def enter_terms(till: Till, basis: str, estimate: str) -> None:
    """Enter currency, validity, what the quote rests on, and what it does not promise."""
    entries, prices, row = till.entries, till.prices, support()["validity_days"]
    if prices.currency:
        entries.word(f"{Q}.currency", prices.currency, "Currency", origin="chosen")
    given = prices.valid_days
    days = entries.given(
        f"{Q}.valid_days",
        row.value if given is None else given,
        "d",
        "Prices hold for, from the date of issue",
        origin="assumed" if given is None else "chosen",
        cites=(row.source,) if given is None else (),
    )
    entries.word(f"{Q}.validity", _validity(days), "Valid for", origin="chosen")

    def again(value: Callable[[str], Any]) -> str | None:
        new = value(f"{Q}.valid_days")
        return _validity(new) if isinstance(new, float) else None

    entries.ledger.rests(f"{Q}.validity", f"{Q}.valid_days", again=again)
    for name, text, label in (
        ("basis", basis, "Basis"),
        ("estimate", estimate, "Estimate"),
        ("not_included", NOT_INCLUDED, "Not included"),
        ("potable", POTABLE, "Drinking water"),
    ):
        entries.word(f"{Q}.{name}", text, label)
        entries.ledger.rests(f"{Q}.{name}")


def enter_replacement_totals(till: Till, parts: dict[str, tuple[Line, ...]]) -> tuple[Line, ...]:
    """Enter each stage's replacement and all of them with one freight; return their lines."""
    for stage, lines in parts.items():
        enter_total(
            till,
            cost_key(stage),
            f"{LABELS[stage]}: one replacement, freight apart",
            lines,
            till.currency,
        )
    if not parts:
        return ()
    till.entries.given(
        "costs.deliveries",
        1.0,
        "-",
        "Deliveries of one replacement of all media",
        cites=("PACKAGES",),
    )
    freight = enter_line(till, "freight", ONCE, "costs.deliveries", note="all media together")
    every = (*(line for lines in parts.values() for line in lines), freight)
    enter_total(
        till, f"{Q}.replacement_total", "One replacement of all media", every, till.currency
    )
    return every


def flag_leaner_permanganate(till: Till) -> None:
    """Say what a leaner dose of permanganate would save, where the dose is far over the need."""
    ledger, stage = till.entries.ledger, "iron_filter.permanganate"
    dose = ledger.number(f"{stage}_g_per_regeneration")
    need = ledger.number(f"{stage}_needed_g_per_regeneration")
    used = ledger.number("consumables.permanganate_per_year")
    if not dose or need is None or used is None or dose <= LEAN_TIMES * need:
        return
    price = till.prices.permanganate_per_kg
    if price is None:
        return
    saved = used * (1.0 - LEAN_TIMES * need / dose) * price
    till.entries.flag(
        "permanganate_saving",
        "info",
        f"permanganate at {LEAN_TIMES:g} times what the water needs, instead of "
        f"{dose / need:.0f} times, would save {saved:,.0f} {till.currency} a year",
        "consumables.permanganate_per_year",
    )


def enter_open_warnings(ledger: Ledger) -> None:
    """Name the warnings that are open on the plant and may change what is quoted."""
    warnings = ledger.study().flags_of("warning")
    open_ones = [f for f in warnings if (f.figure or "").startswith(QUOTED_STAGES)]
    if open_ones:
        words = "; ".join(": ".join(f.text.split(": ")[:2]) for f in open_ones)
        key = f"{Q}.open_warnings"
        ledger.put(
            key,
            f"open warnings may change these quantities: {words}",
            "-",
            "Still to be settled",
        )
        ledger.rests(key, *dict.fromkeys(f.figure for f in open_ones if f.figure))


def enter_lines(till: Till, lines: tuple[Line, ...]) -> None:
    """Enter the lines of the quote as a table."""
    cur = till.currency
    rows = tuple(
        (
            line.name,
            line.group,
            line.quantity,
            line.unit,
            line.packages,
            line.package,
            line.price,
            line.amount,
            line.note,
            line.key,
            *line.sources,
        )
        for line in lines
    )
    till.entries.ledger.table(
        Series(
            f"{Q}.lines",
            "What is bought" + without(lines),
            (
                "item",
                "when",
                "quantity",
                "unit",
                "packages",
                "package",
                "unit_price",
                "amount",
                "note",
                "figure",
                "quantity_figure",
                "packages_figure",
                "price_figure",
            ),
            ("-", "-", "-", "-", "-", "-", cur, cur, *("-",) * 5),
            rows,
            headings=(
                "Item",
                "When",
                "Quantity",
                "Unit",
                "Packages",
                "Bought as",
                "Price each",
                "Amount",
                "Note",
                "Amount is",
                "Quantity is",
                "Packages are",
                "Price is",
            ),
            cites=("PACKAGES",),
            method="packages are rounded up; the price is that of one package, or of one "
            "unit where bought by measure",
        )
    )


def flag_gaps(till: Till, lines: tuple[Line, ...]) -> None:
    """Flag what has no price in one line, and in another what is given as free."""
    ledger = till.entries.ledger
    gaps = [line for line in lines if line.gap and line.price is None]
    unknown = [line for line in lines if line.gap and line.price is not None]
    rate = f"prices.{DISCOUNT_RATE}"
    no_rate = rate in ledger and ledger.number(rate) is None
    if till.silent:
        key = next((k for k in (f"{Q}.replacement_total", CONSUMABLES) if k in ledger), None)
        till.entries.flag(
            MISSING,
            "info",
            "no prices are given, so nothing is priced: fill in "
            "the table of prices of the site file, or the cells of prices in the "
            "workbook",
            key,
        )
    elif gaps:
        names = without(gaps, lines).removeprefix(", without ") or "anything that is bought"
        more = "; no discount rate is given either" if no_rate else ""
        till.entries.flag(
            MISSING,
            "caution",
            f"no price is given for {names}; the totals are without{more}",
            f"prices.{packages()[gaps[0].item].price}",
        )
    elif no_rate:
        till.entries.flag(MISSING, "info", "no discount rate is given: no present value", rate)
    for line in unknown:
        till.entries.flag(
            MISSING,
            "caution",
            f"{line.name}: no quantity follows from what is given of its vessel; the totals are "
            "without it",
            line.key,
        )
    free = dict.fromkeys(packages()[line.item].name for line in lines if line.price == 0.0)
    if free:
        names = ", ".join(name[:1].lower() + name[1:] for name in free)
        till.entries.flag(
            "price_zero",
            "caution",
            f"a price of 0 is given for {names}: free of "
            "charge, is it meant? A price not known is left out",
            None,
        )
