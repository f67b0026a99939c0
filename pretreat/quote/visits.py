"""The visits of a year: how many, when after the date of the quote, and what each takes along."""

from collections.abc import Sequence

from pretreat.core.basis import Series
from pretreat.quote.deliveries import enter_deliveries
from pretreat.quote.items import YEARLY
from pretreat.quote.lines import Line, Till, enter_line
from pretreat.quote.offer import OFFER, OWN, Q, needed
from pretreat.quote.offer_laws import amount_of_a_visit, visits_per_year
from pretreat.quote.shelf import enter_fresh
from pretreat.site.design import DesignBasis
from pretreat.stages.packages import support

VISITS = f"{OFFER}.visits_per_year"
CARTRIDGE_LIFE = "media_life.cartridge_years_likely"
MONTHS, DAYS = 12.0, 365.0
# What is looked at where: a task and the prefix of keys that says that its stage is there.
TASKS = (
    ("test_hardness", "softener."),
    ("test_iron", "iron_filter."),
)
# What is looked at of what is fed (common practice, no source): a task and items of the year.
FED_TASKS = (
    ("test_ph", {"acid", "alkali"}),
    ("look_pink", {"permanganate"}),
    ("check_stroke", {"inhibitor", "bisulfite"}),
)
CARBON_CHLORINE = "carbon.free_chlorine_mg_l"


def enter_visits(till: Till, design: DesignBasis, yearly: Sequence[Line]) -> tuple[Line, ...]:
    """Enter the visits of the coming year.

    Parameters
    ----------
    till : Till
        Ledger and prices. [-]
    design : DesignBasis
        The engineer's choices; a number of visits wins over that of the cartridges. [-]
    yearly : sequence of Line
        Lines of a year. [-]

    Returns
    -------
    tuple of Line
        What the visits of a year cost, none where there is no visit or no price for one. [-]
    """
    number = _enter_number(till, design.quote.visits_per_year)
    goods = [x for x in needed(yearly) if x.item not in OWN and x.quantity is not None]
    on_pallets = enter_deliveries(till, goods, VISITS)
    stored = [(x.item, x.name, x.sources[1]) for x in goods if x.item not in on_pallets]
    enter_fresh(till.entries, stored, VISITS)
    if number < 1.0:
        return ()
    ledger = till.entries.ledger
    found = []
    for line in goods:
        packages = line.sources[1]
        if packages and ledger.number(packages) is not None:
            till.entries.law(
                _per_visit(line),
                amount_of_a_visit,
                yearly_packages=packages,
                visits_per_year=VISITS,
                label=f"{line.name}: packages for the time to the next visit",
                unit="-",
            )
            found.append(line)
    _enter_goods(till, found, number)
    tasks = list(dict.fromkeys(line.item for line in found))
    keys = tuple(ledger.study().figures)
    tasks += [task for task, prefix in TASKS if any(k.startswith(prefix) for k in keys)]
    fed = {line.item for line in goods}
    tasks += [task for task, items in FED_TASKS if fed & items]
    tasks += _of_chlorine(till, design, fed)
    count = int(number)
    rows = tuple(
        (float(n), n * MONTHS / number, n * DAYS / number, " ".join((*tasks, "readings")))
        for n in range(1, count + 1)
    )
    ledger.table(
        Series(
            f"{Q}.visits",
            "Visits of the coming year",
            ("visit", "months", "days", "tasks"),
            ("-", "month", "d", "-"),
            rows,
            method="counted from the date of the quote, evenly over the year",
        )
    )
    if till.prices.visit_each is None:
        return ()
    return (enter_line(till, "visit", YEARLY, VISITS),)


def _of_chlorine(till: Till, design: DesignBasis, fed: set[str]) -> list[str]:
    """Return the test of free chlorine, where some is fed or comes with the water."""
    at_carbon = till.entries.ledger.number(CARBON_CHLORINE)
    if "chlorine" in fed:
        removed = at_carbon is not None or "bisulfite" in fed
        return ["test_chlorine_fed" if removed else "test_chlorine_kept"]
    if at_carbon is None and design.carbon.include is not False:
        at_carbon = design.carbon.free_chlorine_mg_l  # of vessels alone
    return ["test_chlorine"] if at_carbon or design.carbon.chloramine_mg_l else []


def _per_visit(line: Line) -> str:
    """Return the key of the packages for a visit; an item that two stages use has one for each."""
    return f"{OFFER}.{line.key.removeprefix('costs.').removesuffix('_amount')}_per_visit"


def _enter_number(till: Till, chosen: float | None) -> float:
    """Enter how many visits a year has: as chosen, else as the cartridges ask, else as usual."""
    entries, label = till.entries, "Visits per year"
    if chosen is not None:
        return entries.given(VISITS, chosen, "1/year", label, origin="chosen", cites=())
    if entries.ledger.number(CARTRIDGE_LIFE) is not None:
        return entries.law(
            VISITS,
            visits_per_year,
            cartridge_life_years=CARTRIDGE_LIFE,
            label=label,
            unit="1/year",
            method="a visit for each change of the cartridges, at most one a month",
        )
    row = support()["visits_per_year"]
    return entries.given(VISITS, row.value, row.unit, label, method=row.where)


def _enter_goods(till: Till, lines: Sequence[Line], number: float) -> None:
    """Enter what each visit takes along."""
    if not lines:
        return
    ledger = till.entries.ledger
    till.entries.ledger.table(
        Series(
            f"{Q}.visit_goods",
            "What each visit takes along",
            ("item", "quantity", "unit", "packages", "package", "size", "size_number"),
            ("-", "-", "-", "-", "-", "-", "-"),
            tuple(
                (
                    line.item,
                    (line.quantity or 0.0) / number,
                    line.unit,
                    ledger.number(_per_visit(line)),
                    till.package(line.item).package,
                    till.size_shown(line.item),
                    till.package(line.item).size,
                )
                for line in lines
            ),
        )
    )
