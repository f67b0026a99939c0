"""What loses its strength in store: packages of a year, and how often they are delivered."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from types import MappingProxyType

from msgspec import Struct

from pretreat.core.basis import Evidence, Series
from pretreat.core.law import Number, law, same, valid, when, whole_up
from pretreat.core.tables import rows
from pretreat.stages.train import Entries

YEAR_MONTHS = 12.0
FRESH = "quote.fresh"
COLUMNS = ("item", "times", "packages", "months", "by_visits")


class Kept(Struct, frozen=True):
    """One row of data/quote_shelf_life.csv."""

    months: float
    source: str
    where: str
    evidence: Evidence


@lru_cache(maxsize=1)
def shelf_lives() -> Mapping[str, Kept]:
    """Return how long what is fed keeps its strength, by chemical or item.

    Returns
    -------
    mapping of str to Kept
        Rows of data/quote_shelf_life.csv. [-]
    """
    return MappingProxyType(
        {
            row["key"]: Kept(
                float(row["months"]),
                row["source"],
                row["where"],
                row["evidence"],  # type: ignore[arg-type]
            )
            for row in rows("quote_shelf_life.csv")
        }
    )


@law
@valid(quantity=[0, None], package_size=(0, None), shelf_months=(0, None))
def fresh_packages_needed(quantity: Number, package_size: Number, shelf_months: Number) -> Number:
    """Count the packages to buy = shelf lives in a year x packages that each of them uses.

    Both rounded up: what is left of a package at the end of its shelf life is used no more.
    Worked by hand: 30 kg in canisters of 25 kg that keep for three months are one a quarter, four
    a year; 140 kg are 35 kg a quarter, two canisters, eight a year.

    >>> fresh_packages_needed(30.0, 25.0, 3.0)
    4.0
    >>> fresh_packages_needed(140.0, 25.0, 3.0)
    8.0
    """
    lives = whole_up(YEAR_MONTHS / shelf_months)
    fresh = lives * whole_up(quantity / lives / package_size)
    return when(same(quantity, 0.0), lambda: 0.0, lambda: fresh)


@law
@valid(shelf_months=(0, None))
def fresh_deliveries(shelf_months: Number) -> Number:
    """Deliveries of a year, at least = a year / shelf life, rounded up.

    Worked by hand: what keeps for five months comes three times.

    >>> fresh_deliveries(5.0)
    3.0
    """
    return whole_up(YEAR_MONTHS / shelf_months)


def enter_shelf_life(entries: Entries, item: str, name: str) -> str:
    """Enter the shelf life of what keeps for less than a year, once; return its key.

    Parameters
    ----------
    entries : Entries
        Ledger of the train; which chemical an item is, is entered before. [-]
    item : str
        Key of data/packages.csv. [-]
    name : str
        Its name, for the label. [-]

    Returns
    -------
    str
        Key of the months; empty for what keeps for a year and longer. [month]
    """
    kind, key = entries.ledger.figure(f"costs.{item}_kind"), f"costs.{item}_shelf_months"
    kept = shelf_lives().get(item if kind is None else str(kind.value))
    if kept is None or kept.months >= YEAR_MONTHS:
        return ""
    if key not in entries.ledger:
        entries.given(
            key,
            kept.months,
            "month",
            f"{name}: keeps its strength in store",
            cites=(kept.source,),
            evidence=kept.evidence,
            method=kept.where,
        )
    return key


def brought_fresh(visits: float, packages: float, least: float) -> bool:
    """Tell whether visits bring what does not keep for a year, as much in each shelf life.

    Parameters
    ----------
    visits : float
        Of a year, evenly spread. [1/year]
    packages : float
        Of a year, above 0; spread over the visits one by one. [1/year]
    least : float
        Shelf lives in a year. [1/year]

    Returns
    -------
    bool
        Worked by hand: 8 canisters that keep for 3 months come at 4, 8 or 12 visits, two in each
        quarter; 6 visits fall unevenly on the quarters, and bring 12 canisters alone, two each. [-]
    """
    even = visits % least == 0.0 or packages % visits == 0.0 if visits else False
    return even and visits >= least


def enter_fresh(entries: Entries, goods: Sequence[tuple[str, str, str]], visits_key: str) -> None:
    """Enter how often what does not keep for a year is delivered.

    Parameters
    ----------
    entries : Entries
        Ledger of the train. [-]
    goods : sequence of tuple
        Item, its name, and the key of its packages of a year. [-]
    visits_key : str
        Figure of the visits of a year; they bring it where they fall often enough. [-]
    """
    found: list[tuple[str | float, ...]] = []
    visits = entries.ledger.number(visits_key) or 0.0
    for item, name, packages_key in goods:
        months = enter_shelf_life(entries, item, name)
        packages = entries.ledger.number(packages_key) if months and packages_key else None
        if not packages:
            continue
        least = entries.law(
            f"offer.{item}_fresh_deliveries",
            fresh_deliveries,
            shelf_months=months,
            label=f"{name}: deliveries a year, at least",
            unit="1/year",
        )
        kept = entries.value(months)
        brought = brought_fresh(visits, packages, least)
        times = visits if brought else least
        found.append((item, times, packages, kept, "yes" if brought else "no"))
    if found:
        entries.ledger.table(
            Series(
                FRESH,
                "Supplies of a year that do not keep for all of it",
                COLUMNS,
                ("-", "1/year", "1/year", "month", "-"),
                tuple(found),
                cites=("PRACTICE",),
            )
        )
