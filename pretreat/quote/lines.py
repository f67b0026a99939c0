"""Lines of the quote: quantities as they are bought, prices of the user, amounts and gaps."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.quote.delivered import as_bought, by_weight, enter_delivered_price
from pretreat.quote.laws import amount_by_measure, amount_of_packages, package_price, total_amount
from pretreat.quote.shelf import enter_shelf_life, fresh_packages_needed
from pretreat.site.design import DesignBasis, OwnPackage, Prices
from pretreat.site.quote_keys import sold, us_packages
from pretreat.stages.packages import (
    Package,
    media_packages_needed,
    packages,
    packages_law,
    support,
)
from pretreat.stages.train import Entries

NO_CURRENCY = "currency"  # the unit where the user names none


def sold_as(item: str) -> str:
    """Return the item that has the package and price of another one: calcite to top up a bed.

    Parameters
    ----------
    item : str
        Key of data/packages.csv. [-]

    Returns
    -------
    str
        The first item of its price; itself as a rule. [-]
    """
    row = sold().get(item)
    return item if row is None else sold()[row.short].key


class Line(Struct, frozen=True):
    """One line as it is quoted; ``key`` is where the amount stands, ``item`` what is bought.

    ``price`` is that of one package, or of one unit where bought by measure. ``sources`` are
    the keys behind quantity, packages (may be empty) and price.
    """

    key: str
    item: str
    name: str
    group: str
    quantity: float | None
    unit: str
    package: str
    packages: float | None
    price: float | None
    amount: float | None
    note: str
    sources: tuple[str, str, str] = ("", "", "")

    @property
    def gap(self) -> bool:
        """Tell whether the amount is missing."""
        return self.amount is None


PIECE, BOX = "piece", "box"


class Till(Struct, frozen=True):
    """Where amounts are entered: the ledger, the prices and own packages of the user."""

    entries: Entries
    prices: Prices
    own: Mapping[str, OwnPackage] = field(default_factory=dict)
    usual: Mapping[str, OwnPackage] = field(default_factory=dict)  # of the trade of the country
    pallet: tuple[str, float, bool] = ("pallet_kg", 0.0, False)  # row, kg, given by the user

    @classmethod
    def of(cls, entries: Entries, design: DesignBasis) -> "Till":
        """Return the till of a site."""
        prices = design.prices
        if design.quote.currency:
            prices = replace(prices, currency=design.quote.currency)
        if design.quote.valid_days is not None:
            prices = replace(prices, valid_days=design.quote.valid_days)
        us, load = design.site.units == "us", design.quote.pallet_load_kg
        row = "pallet_us_kg" if us else "pallet_kg"
        pallet = (row, support()[row].value if load is None else load, load is not None)
        return cls(entries, prices, design.packages, us_packages() if us else {}, pallet)

    def package(self, item: str) -> Package:
        """Return how an item is bought: as the user says, else as the trade does."""
        row, own = as_bought(packages()[item], self.entries), self._other(item)
        if own is None:
            return row
        boxed = row.package == PIECE and own.size > 1.0  # more than one piece comes in a box
        return replace(row, size=own.size, package=own.package or (BOX if boxed else row.package))

    def own_package(self, item: str) -> OwnPackage | None:
        """Return the package of the user, by weight; None where that of the trade is bought."""
        return self._other(item) if item in self.own else None

    def _other(self, item: str) -> OwnPackage | None:
        """Return the package of the user, or that of the trade where it is another one."""
        other = self.own.get(sold_as(item), self.usual.get(item))
        found = self.own.get(item, other)
        return by_weight(found, item, self.entries) if found and found.by_volume else found

    def size_in_words(self, item: str) -> str:
        """Return what one package holds, as it was written."""
        own, row = self._other(item), self.package(item)
        if own is None and sold()[item].by_weight:
            return f"{row.size * (sold()[item].kg_per_l or 1.0):.0f} kg"
        return own.shown if own is not None else f"{row.size:g} {row.unit}".removesuffix(" -")

    def size_shown(self, item: str) -> str:
        """Return what one package holds; empty for a piece, and for what comes in none."""
        row = self.package(item)
        counted = row.unit == "-" and row.size == 1.0
        return "" if not row.size or counted else self.size_in_words(item)

    @property
    def currency(self) -> str:
        """The user's currency, or a word where none is named."""
        return self.prices.currency or NO_CURRENCY

    @property
    def silent(self) -> bool:
        """Tell whether the user gives no price at all."""
        names = (row.price for row in packages().values())
        priced = any(own.price is not None for own in self.own.values())
        return not priced and all(self.prices.of(name) is None for name in names)


def enter_price(till: Till, name: str, unit: str, label: str) -> float | None:
    """Enter a price once; return it, None where the user gives none."""
    key = f"prices.{name}"
    value: Any = till.prices.of(name)
    if key not in till.entries.ledger:
        per = f"/{unit}" if unit != "-" else ""
        money, title = f"{till.currency}{per}", f"Price of {label[:1].lower()}{label[1:]}"
        if name == DISCOUNT_RATE:
            money, title = "-", f"{label} per year"
        till.entries.given(
            key,
            value,
            money,
            title,
            origin="chosen",
            cites=(),
            method=f"not given: [prices] {name}" if value is None else "as given",
            flags=flags_of(value),
        )
    return None if value is None else float(value)


def enter_line(till: Till, item: str, group: str, quantity_key: str, **more: str) -> Line:
    """Enter packages and amount of an item; return the line.

    ``stage`` and ``label`` name the stage a part belongs to, ``note`` says more.
    """
    entries, row = till.entries, till.package(item)
    stage = more.get("stage", "")
    key = f"costs.{stage}_{item.removeprefix(stage + '_')}" if stage else f"costs.{item}"
    part = stage and not item.endswith(_MEDIUM)
    name = f"{more['label']}: {row.name.lower()}" if part else row.name
    quantity = entries.ledger.number(quantity_key)
    price_key, price = _enter_unit_price(till, row)
    count = _enter_packages(till, item, key, quantity_key, name)
    each_key, each = _enter_each(till, item, price_key, price)
    entered = till.entries.law(
        f"{key}_amount",
        amount_of_packages if row.size else amount_by_measure,
        unit_price=price_key,
        label=f"{name}: amount",
        unit=till.currency,
        cites=(row.source,),
        method="packages bought times price" if row.size else "quantity times price",
        flags=(MISSING,) if price is None else (),
        **(
            {"packages": f"{key}_packages", "package_size": f"costs.package_{item}"}
            if row.size
            else {"quantity": quantity_key}
        ),
    )
    amount = None if math.isnan(entered) else entered
    as_priced = amount is not None or till.silent
    note = more.get("note", "") if as_priced else _gap_note(quantity, price)
    unit = "" if row.unit == "-" else row.unit
    size = till.size_shown(item)
    package = f"{row.package} of {size}" if size else row.package
    return Line(
        f"{key}_amount",
        item,
        name,
        group,
        quantity,
        unit or packages()[item].package,
        package,
        count,
        each,
        amount,
        note,
        (quantity_key, f"{key}_packages" if row.size else "", each_key),
    )


_EACH = frozenset({"cartridge_each", "freight", "visit_each"})  # prices that are not per kg, L or h
_MEDIUM = "_medium"
NOMINAL = "rounded up; up to 2 % short is full, sizes are nominal (common practice, no source)"
MISSING = "price_missing"
DISCOUNT_RATE = "discount_rate"  # stands among the prices, and is none


def _enter_unit_price(till: Till, row: Package) -> tuple[str, float | None]:
    """Enter the price of a unit as it is bought; return its key and the price, None for a gap."""
    delivered = f"costs.{row.key}_kind" in till.entries.ledger
    label = f"{packages()[row.key].name}" if delivered else row.name
    price = enter_price(till, row.price, "-" if row.price in _EACH else row.unit, label)
    if not delivered:
        return f"prices.{row.price}", price
    own = till.own_package(row.key)
    key = enter_delivered_price(till.entries, row, till.prices, own, till.currency)
    return key, till.entries.ledger.number(key)


def _enter_packages(till: Till, item: str, key: str, quantity_key: str, name: str) -> float | None:
    """Enter the packages; return how many, None for a gap or where bought by measure."""
    entries, row = till.entries, till.package(item)
    if not row.size:
        return None
    size = f"costs.package_{item}"
    if size not in entries.ledger:
        own = bool({item, sold_as(item)} & set(till.own))
        entries.given(
            size,
            row.size,
            row.unit,
            f"{row.name}: one {row.package}",
            origin="chosen" if own else "assumed",
            cites=() if own else (row.source,),
        )
    counted, more = packages_law(item, row.unit), {}
    shelf = enter_shelf_life(entries, item, name)
    if shelf:
        counted, more = fresh_packages_needed, {"shelf_months": shelf}
    method = NOMINAL if counted is media_packages_needed else "rounded up"
    entries.law(
        f"{key}_packages",
        counted,
        quantity=quantity_key,
        package_size=size,
        label=f"{name}: packages bought",
        unit="-",
        cites=(row.source,),
        method=f"{method}, one for each shelf life at least" if shelf else method,
        **more,
    )
    return entries.ledger.number(f"{key}_packages")


def _enter_each(
    till: Till, item: str, price_key: str, price: float | None
) -> tuple[str, float | None]:
    """Return key and price of one package, entered once; that of one unit where by measure."""
    row = till.package(item)
    if row.size in {0.0, 1.0}:
        return price_key, price
    key, ledger = f"costs.package_price_{item}", till.entries.ledger
    if key not in ledger:
        till.entries.law(
            key,
            package_price,
            unit_price=price_key,
            package_size=f"costs.package_{item}",
            label=f"{row.name}: price of one {row.package}",
            unit=till.currency,
            method="price times what the package holds",
            flags=flags_of(price),
        )
    return key, ledger.number(key)


def _gap_note(quantity: float | None, price: float | None) -> str:
    if price is None:
        return "price not given"
    return "no quantity" if quantity is None else ""


def enter_total(
    till: Till, key: str, label: str, lines: tuple[Line, ...], unit: str
) -> float | None:
    """Enter the sum of lines; name what it is without. All gaps give a gap, never a zero."""
    entries, known = till.entries, [line for line in lines if not line.gap]
    if not lines:
        entries.ledger.put(key, None, unit, label, method="sum of the lines", flags=flags_of(None))
        entries.ledger.rests(key)
        return None
    entries.law(
        key,
        total_amount,
        amounts=[line.key for line in lines],
        label=label + without(lines),
        unit=unit,
        method="sum of the lines that have an amount"
        if len(known) < len(lines)
        else "sum of the lines",
        flags=() if known else (MISSING,),
    )
    return entries.ledger.number(key)


def flags_of(value: float | None) -> tuple[str, ...]:
    """Return the codes of a figure that is a gap because a price is missing.

    Parameters
    ----------
    value : float or None
        Its value. [any]

    Returns
    -------
    tuple of str
        Codes of flags. [-]
    """
    return (MISSING,) if value is None else ()


def without(lines: Sequence[Line], of: Sequence[Line] = ()) -> str:
    """Return ", without ..." for the lines that have no amount; nothing where none has one."""
    if all(line.gap for line in of or lines):
        return ""
    names = dict.fromkeys(packages()[line.item].name for line in lines if line.gap)
    if not names:
        return ""
    return ", without " + ", ".join(name[:1].lower() + name[1:] for name in names)
