"""What a visit cannot bring: supplies of a year that come on pallets, how often and how many."""

from collections.abc import Sequence

from pretreat.core.basis import Series
from pretreat.quote.lines import Line, Till
from pretreat.quote.offer_laws import deliveries_of_year, pallets_of_delivery, pallets_of_year
from pretreat.quote.shelf import enter_shelf_life
from pretreat.stages.packages import support

DELIVERIES = "quote.deliveries"
KG = "kg"
COLUMNS = ("item", "pallets", "times", "each", "pallet_kg", "truck", "bulk")


def enter_deliveries(till: Till, goods: Sequence[Line], visits_key: str) -> frozenset[str]:
    """Enter the deliveries of what weighs more than a pallet from one visit to the next.

    Parameters
    ----------
    till : Till
        Ledger and prices. [-]
    goods : sequence of Line
        Goods of a year. [-]
    visits_key : str
        Figure of the visits of a year. [-]

    Returns
    -------
    frozenset of str
        The items that come on pallets. [-]
    """
    visits = till.entries.ledger.number(visits_key) or 1.0
    name, pallet, given = till.pallet
    heavy = [
        line
        for line in goods
        if line.unit == KG and line.sources[1] and (line.quantity or 0.0) / visits > pallet
    ]
    if not heavy:
        return frozenset()
    row = support()[name]
    till.entries.given(
        "offer.pallet_kg",
        pallet,
        row.unit,
        "One pallet carries",
        origin="chosen" if given else "assumed",
        cites=() if given else (row.source,),
        method="as given" if given else row.where,
    )
    for name, label in (
        ("truck_pallets", "Pallets on a truck"),
        ("bulk_kg_year", "Bought in bulk from"),
    ):
        row = support()[name]
        till.entries.given(f"offer.{name}", row.value, row.unit, label, method=row.where)
    ledger = till.entries.ledger
    ledger.table(
        Series(
            DELIVERIES,
            "Supplies of a year that come on pallets",
            COLUMNS,
            ("-", "-", "1/year", "-", KG, "-", "-"),
            tuple((line.item, *_enter(till, line, visits_key)) for line in heavy),
            cites=("PRACTICE",),
        )
    )
    return frozenset(line.item for line in heavy)


def _enter(till: Till, line: Line, visits_key: str) -> tuple[float | str, ...]:
    entries, stem = till.entries, f"offer.{line.item}"
    shelf = enter_shelf_life(entries, line.item, line.name)
    kept = {"shelf_months": shelf} if shelf else {}
    pallets = entries.law(
        f"{stem}_pallets_per_year",
        pallets_of_year,
        yearly_packages=line.sources[1],
        package_kg=f"costs.package_{line.item}",
        pallet_kg="offer.pallet_kg",
        label=f"{line.name}: pallets a year",
        unit="-",
        **kept,
    )
    times = entries.law(
        f"{stem}_deliveries_per_year",
        deliveries_of_year,
        yearly_pallets=f"{stem}_pallets_per_year",
        visits_per_year=visits_key,
        truck_pallets="offer.truck_pallets",
        label=f"{line.name}: deliveries a year",
        unit="1/year",
        **kept,
    )
    each = entries.law(
        f"{stem}_pallets_per_delivery",
        pallets_of_delivery,
        yearly_pallets=f"{stem}_pallets_per_year",
        deliveries_per_year=f"{stem}_deliveries_per_year",
        label=f"{line.name}: pallets of a delivery",
        unit="-",
    )
    bulk = (line.quantity or 0.0) >= support()["bulk_kg_year"].value
    return (
        pallets,
        times,
        each,
        till.pallet[1],
        support()["truck_pallets"].value,
        "yes" if bulk else "no",
    )
