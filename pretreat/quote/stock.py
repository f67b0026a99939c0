"""What a supplier carries each month for all its customers together."""

import datetime
import itertools
from collections.abc import Iterable

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.dates import after_months, visit_date
from pretreat.core.results import Study
from pretreat.quote.offer import Q
from pretreat.quote.shelf import FRESH
from pretreat.stages.packages import packages_law

VISIT, ORDER, DELIVERY, PARTS = (
    "supplies of the year",
    "replacement, once ordered",
    "deliveries on pallets",
    "deliveries of what does not keep",
)
MONTHS = 12.0
IF_ORDERED = ", once ordered"  # of what is offered beside the total
NOT_CARRIED = frozenset({"freight", "visit"})


class Need(Struct, frozen=True):
    """What one customer needs in one month; of a solution, which it is and its strength in %."""

    month: str
    purpose: str
    item: str
    quantity: float
    unit: str
    package: str
    size_in_words: str
    size: float
    kind: str = ""
    percent: float = 0.0
    packages: float | None = None  # where more are bought than the quantity fills


class Stock(Struct, frozen=True):
    """What all customers need in a month, and the packages that hold it."""

    need: Need
    quantity: float
    packages: float
    customers: int


def needs_of(study: Study, day: datetime.date) -> tuple[Need, ...]:
    """Return what one customer needs in each month of the coming year.

    Parameters
    ----------
    study : Study
        The study of the customer. [-]
    day : date
        Date of the quote. [-]

    Returns
    -------
    tuple of Need
        Goods of a year, the first part with the order and the rest at the visits, or on pallets
        of their own; media and gravel of the replacement in the month of the quote,
        since they go out with the order; goods of a year too where no visit brings them. Nothing
        of what is not sold. [-]
    """
    dates = []
    visits = study.series.get(f"{Q}.visits")
    if visits is not None:
        pairs = zip(visits.column("months"), visits.column("days"), strict=True)
        dates = [visit_date(day, float(m or 0.0), float(d or 0.0)) for m, d in pairs]
        dates = [day, *dates[:-1]]  # what lasts until the first visit goes out with the order
    found = [*_on_pallets(study, day), *_kept_fresh(study, day)]
    wished = _wished(study)
    by_pallet = {need.item for need in found}
    goods = study.series.get(f"{Q}.visit_goods")
    for date in dates if goods is not None else ():
        for row in goods.rows:  # type: ignore[union-attr]
            item, quantity, unit, _, package, words, size = row
            if item in by_pallet:
                continue
            found.append(
                Need(
                    f"{date:%Y-%m}",
                    f"{VISIT}{IF_ORDERED}" if item in wished else VISIT,
                    str(item),
                    float(quantity or 0.0),
                    str(unit),
                    str(package),
                    str(words),
                    float(size or 0.0),
                )
            )
    brought = {need.item for need in found}
    every = (*found, *_offered(study, f"{day:%Y-%m}", brought))
    sold = _sold(study)
    return tuple(_as_delivered(study, need) for need in every if need.item in sold)


def _sold(study: Study) -> frozenset[str]:
    """Return the items that have an amount, in the total or beside it.

    All that are offered where nothing has one, as before prices are typed in.
    """
    table = study.series.get(f"{Q}.offer")
    if table is None:
        return frozenset()
    pairs = [*zip(table.column("item"), table.column("amount"), strict=True)]
    priced = frozenset(str(item) for item, amount in pairs if amount is not None)
    return priced or frozenset(str(item) for item, _ in pairs)


def _as_delivered(study: Study, need: Need) -> Need:
    """Return a need of a solution with what it is, so that no other one is counted with it."""
    kind, percent = (study.value(f"costs.{need.item}_{what}") for what in ("kind", "percent"))
    if not isinstance(kind, str) or not isinstance(percent, float):
        return need
    return replace(need, kind=kind, percent=percent)


def _wished(study: Study) -> frozenset[str]:
    """Return the items that are offered as options alone."""
    table = study.series.get(f"{Q}.offer")
    if table is None:
        return frozenset()
    pairs = zip(table.column("item"), table.column("optional"), strict=True)
    return frozenset(str(item) for item, optional in pairs if optional == "yes")


def pallets_by_delivery(pallets: int, times: int) -> tuple[int, ...]:
    """Return the whole pallets of each delivery of a year, so that none is ever late.

    Parameters
    ----------
    pallets : int
        Of a year. [-]
    times : int
        Deliveries, from 1 up. [-]

    Returns
    -------
    tuple of int
        Worked by hand: 5 pallets in 4 deliveries come as 2, 1, 1 and 1. [-]
    """
    come = [-(-pallets * n // times) for n in range(times + 1)]
    return tuple(after - before for before, after in itertools.pairwise(come))


def _on_pallets(study: Study, day: datetime.date) -> Iterable[Need]:
    """Yield what comes on pallets, by whole pallets through the year, the first with the order."""
    table, offer = study.series.get(f"{Q}.deliveries"), study.series.get(f"{Q}.offer")
    if table is None or offer is None:
        return
    lines, wished = (
        [dict(zip(offer.columns, row, strict=True)) for row in offer.rows],
        _wished(study),
    )
    columns = (table.column(name) for name in ("item", "times", "pallets"))
    for item, times, pallets in zip(*columns, strict=True):
        row = next((line for line in lines if line["item"] == item), None)
        count, size = int(times or 0.0), study.number(f"costs.package_{item}")
        if row is None or not count or not size or not isinstance(row["quantity"], float):
            continue
        purpose = f"{DELIVERY}{IF_ORDERED}" if item in wished else DELIVERY
        of_year = int(pallets or 0.0)
        fresh = study.number(f"costs.{item}_shelf_months") is not None
        bought = int(study.number(str(row["packages_figure"])) or 0.0) if fresh else 0
        parts = pallets_by_delivery(bought, count) if fresh else (None,) * count
        for number, come in enumerate(pallets_by_delivery(of_year, count)):
            date = after_months(day, round(number * MONTHS / count))
            part, more = row["quantity"] * come / of_year, parts[number]
            unit, package, words = (str(row[name]) for name in ("unit", "package", "size"))
            yield Need(
                f"{date:%Y-%m}",
                purpose,
                str(item),
                part,
                unit,
                package,
                words,
                size,
                packages=None if more is None else float(more),
            )


def _kept_fresh(study: Study, day: datetime.date) -> Iterable[Need]:
    """Yield what does not keep for a year, by whole packages through the year."""
    table, offer = study.series.get(FRESH), study.series.get(f"{Q}.offer")
    if table is None or offer is None:
        return
    lines, wished = (
        [dict(zip(offer.columns, row, strict=True)) for row in offer.rows],
        _wished(study),
    )
    columns = (table.column(name) for name in ("item", "times", "by_visits"))
    for item, times, by_visits in zip(*columns, strict=True):
        row = next((line for line in lines if line["item"] == item), None)
        count, size = int(times or 0.0), study.number(f"costs.package_{item}")
        if row is None or not size or not isinstance(row["quantity"], float):
            continue
        bought = int(study.number(str(row["packages_figure"])) or 0.0)
        purpose = VISIT if by_visits == "yes" else PARTS
        purpose = f"{purpose}{IF_ORDERED}" if item in wished else purpose
        for number, come in enumerate(pallets_by_delivery(bought, count)):
            if not come:
                continue
            date = after_months(day, round(number * MONTHS / count))
            part = row["quantity"] * come / bought
            unit, package, words = (str(row[name]) for name in ("unit", "package", "size"))
            yield Need(
                f"{date:%Y-%m}",
                purpose,
                str(item),
                part,
                unit,
                package,
                words,
                size,
                packages=float(come),
            )


def _offered(study: Study, month: str, brought: set[str]) -> Iterable[Need]:
    """Yield the goods that are offered, come in packages and are brought by no visit."""
    table = study.series.get(f"{Q}.offer")
    for values in () if table is None else table.rows:
        row = dict(zip(table.columns, values, strict=True))  # type: ignore[union-attr]
        size = study.number(f"costs.package_{row['item']}")
        quantity = row["quantity"]
        if row["optional"] == "yes" or not size or not isinstance(quantity, float):
            continue
        if row["item"] in NOT_CARRIED | brought:
            continue
        yield Need(
            month,
            ORDER,
            str(row["item"]),
            quantity,
            str(row["unit"]),
            str(row["package"]),
            str(row["size"]),
            size,
        )


def stock_of(needs: Iterable[tuple[int, Need]]) -> tuple[Stock, ...]:
    """Return the stock of every month, in packages for all customers; a rest serves on.

    Parameters
    ----------
    needs : iterable of tuple
        Number of the customer, and what it needs. [-]

    Returns
    -------
    tuple of Stock
        By month, purpose and item; the packages of all months are those that each customer
        buys. [-]
    """
    found: dict[tuple[str, str, str, float, str, float], list[tuple[int, Need]]] = {}
    for customer, need in needs:
        key = (need.month, need.purpose, need.item, need.size, need.kind, need.percent)
        found.setdefault(key, []).append((customer, need))
    stock = []
    carried: dict[tuple[int, str, str, float, str, float], tuple[float, float]] = {}
    for key in sorted(found):
        group = found[key]
        quantity = sum(need.quantity for _, need in group)
        count = 0.0
        for customer, need in group:
            whose = (customer, *key[1:])
            needed, bought = carried.get(whose, (0.0, 0.0))
            needed += need.quantity
            more = need.packages
            if more is None:
                more = float(packages_law(need.item, need.unit)(needed, need.size)) - bought
            carried[whose] = (needed, bought + more)
            count += more
        customers = len({customer for customer, _ in group})
        stock.append(Stock(group[0][1], quantity, count, customers))
    return tuple(stock)
