"""The quote: consumables of a year, one replacement of all media, plan and present value."""

from pretreat.basis import Series
from pretreat.design import DesignBasis
from pretreat.results import Ledger
from pretreat.sizing.packages import support
from pretreat.sizing.streams import RawWater
from pretreat.study.compare import enter_compare
from pretreat.study.media_life import LABELS
from pretreat.study.quote_items import (
    ONCE,
    enter_consumables,
    enter_replacement,
    stages_with_media,
)
from pretreat.study.quote_lines import MISSING, Line, Till, enter_line, enter_total, without
from pretreat.study.quote_plan import CONSUMABLES, Plan, enter_plan
from pretreat.study.train_entries import Entries, Mode

Q = "quote"
FROM_ANALYSIS = "quantities from the water analysis, the design and the vessels"
FROM_TEST_KIT = "quantities from test-kit values; a laboratory analysis may change them"
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
    till = Till(Entries(ledger), design.prices)
    basis = FROM_TEST_KIT if raw.from_test_kit else FROM_ANALYSIS
    note = "the first filling is not in the plan" if mode == "size" else (
        "the plan takes the media as new at its start")  # fmt: skip
    enter_terms(till, basis if till.silent else f"{basis}; {note}", NO_PROMISE)
    yearly = enter_consumables(till, design)
    consumables = enter_total(till, CONSUMABLES, "Consumables per year", yearly,
                              f"{till.currency}/year")  # fmt: skip
    stages = stages_with_media(till.entries)
    parts = {stage: enter_replacement(till, stage) for stage in stages}
    once = enter_replacement_totals(till, parts)
    lines = (*yearly, *once)
    enter_lines(till, lines)
    if not till.silent:
        known = {s: k for s in parts if till.entries.ledger.number(k := cost_key(s)) is not None}
        lives = {s: till.entries.value(f"media_life.{s}_years_likely") for s in parts}
        freight = next((line for line in once if line.key == "costs.freight_amount"), None)
        if freight is not None or not parts:
            enter_plan(till, Plan(known, lives, freight or _no_freight(), consumables,
                                  without(lines), without(once)))  # fmt: skip
    flag_gaps(till, lines)
    enter_compare(ledger, raw, design)


def cost_key(stage: str) -> str:
    """Return the key of the cost of a replacement of a stage's medium."""
    return f"costs.{stage}_replacement"


def _no_freight() -> Line:
    return Line("costs.freight_amount", "freight", "Freight", ONCE, None, "", "", None, None, None,
                "")  # fmt: skip


def enter_terms(till: Till, basis: str, estimate: str) -> None:
    """Enter currency, validity, what the quote rests on, and what it does not promise."""
    entries, prices, row = till.entries, till.prices, support()["validity_days"]
    if prices.currency:
        entries.word(f"{Q}.currency", prices.currency, "Currency", origin="chosen")
    given = prices.valid_days
    days = entries.given(f"{Q}.valid_days", row.value if given is None else given, "d",
                         "Prices hold for, from the date of issue",
                         origin="assumed" if given is None else "chosen",
                         cites=(row.source,) if given is None else ())  # fmt: skip
    entries.word(f"{Q}.validity", f"{days:.0f} days from the date of issue written on this page",
                 "Valid for", origin="chosen")  # fmt: skip
    entries.word(f"{Q}.basis", basis, "Basis")
    entries.word(f"{Q}.estimate", estimate, "Estimate")
    entries.word(f"{Q}.potable", POTABLE, "Drinking water")


def enter_replacement_totals(till: Till, parts: dict[str, tuple[Line, ...]]) -> tuple[Line, ...]:
    """Enter each stage's replacement and all of them with one freight; return their lines."""
    for stage, lines in parts.items():
        enter_total(till, cost_key(stage), f"{LABELS[stage]}: one replacement, freight apart",
                    lines, till.currency)  # fmt: skip
    if not parts:
        return ()
    till.entries.given("costs.deliveries", 1.0, "-", "Deliveries of one replacement of all media",
                       cites=("PACKAGES",))  # fmt: skip
    freight = enter_line(till, "freight", ONCE, "costs.deliveries", note="all media together")
    every = (*(line for lines in parts.values() for line in lines), freight)
    enter_total(till, f"{Q}.replacement_total", "One replacement of all media", every,
                till.currency)  # fmt: skip
    return every


def enter_lines(till: Till, lines: tuple[Line, ...]) -> None:
    """Enter the lines of the quote as a table."""
    cur = till.currency
    rows = tuple(
        (line.name, line.group, line.quantity, line.unit, line.packages, line.package, line.price,
         line.amount, line.note, line.key) for line in lines
    )  # fmt: skip
    till.entries.ledger.table(
        Series(f"{Q}.lines", "What is bought" + without(lines),
               ("item", "when", "quantity", "unit", "packages", "package", "unit_price", "amount",
                "note", "figure"),
               ("-", "-", "-", "-", "-", "-", cur, cur, "-", "-"), rows,
               headings=("Item", "When", "Quantity", "Unit", "Packages", "Bought as", "Unit price",
                         "Amount", "Note", "Worked out at"),
               cites=("PACKAGES",),
               method="packages are rounded up; the unit price is per unit of quantity")
    )  # fmt: skip


def flag_gaps(till: Till, lines: tuple[Line, ...]) -> None:
    """Flag what has no price."""
    ledger, total = till.entries.ledger, f"{Q}.cost_per_year"
    if till.silent:
        key = next((k for k in (f"{Q}.replacement_total", CONSUMABLES) if k in ledger), None)
        till.entries.flag(MISSING, "info", "no prices are given, so nothing is priced: fill in "
                          "the table of prices of the site file", key)  # fmt: skip
    elif any(line.gap for line in lines):
        till.entries.flag("total_incomplete", "caution",
                          "the totals of the quote are " + without(lines).lstrip(", "),
                          total if total in ledger else None)  # fmt: skip
