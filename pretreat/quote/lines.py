"""Lines of the quote: quantities as they are bought, prices of the user, amounts and gaps."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pretreat.quote.laws import cents
from pretreat.site.design import Prices
from pretreat.stages.packages import packages, packages_needed
from pretreat.stages.train import Entries

NO_CURRENCY = "currency"  # the unit where the user names none


@dataclass(frozen=True, slots=True)
class Line:
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


@dataclass(frozen=True, slots=True)
class Till:
    """Where amounts are entered: the ledger and the prices of the user."""

    entries: Entries
    prices: Prices

    @property
    def currency(self) -> str:
        """The user's currency, or a word where none is named."""
        return self.prices.currency or NO_CURRENCY

    @property
    def silent(self) -> bool:
        """Tell whether the user gives no price at all."""
        names = (row.price for row in packages().values())
        return all(getattr(self.prices, name, None) is None for name in names)


def enter_price(till: Till, name: str, unit: str, label: str) -> float | None:
    """Enter a price once; return it, None where the user gives none."""
    key = f"prices.{name}"
    value: Any = getattr(till.prices, name, None)
    if key not in till.entries.ledger:
        per = f"/{unit}" if unit != "-" else ""
        money, title = f"{till.currency}{per}", f"Price of {label[:1].lower()}{label[1:]}"
        if name == DISCOUNT_RATE:
            money, title = "-", f"{label} per year"
        till.entries.given(key, value, money, title,
                           origin="chosen", cites=(),
                           method=f"not given: [prices] {name}" if value is None else "as given",
                           flags=flags_of(value))  # fmt: skip
    return None if value is None else float(value)


def enter_line(till: Till, item: str, group: str, quantity_key: str, **more: str) -> Line:
    """Enter packages and amount of an item; return the line.

    ``stage`` and ``label`` name the stage a part belongs to, ``note`` says more.
    """
    entries, row = till.entries, packages()[item]
    stage = more.get("stage", "")
    key = f"costs.{stage}_{item.removeprefix(stage + '_')}" if stage else f"costs.{item}"
    part = stage and not item.endswith(_MEDIUM)
    name = f"{more['label']}: {row.name.lower()}" if part else row.name
    quantity = entries.ledger.number(quantity_key)
    price = enter_price(till, row.price, "-" if row.price in _EACH else row.unit, row.name)
    bought, count = _enter_packages(till, item, key, quantity_key, name)
    amount = None if price is None or bought is None else cents(bought * price)
    text = f"{{prices.{row.price}}}"
    inner = f"{{{key}_packages}}*{{costs.package_{item}}}" if row.size else f"{{{quantity_key}}}"
    each_key, each = _enter_each(till, item, price)
    entries.calc(f"{key}_amount", amount, till.currency, f"{name}: amount",
                 f'IF({text}="","",ROUND({inner}*{text},2))', cites=(row.source,),
                 method="packages bought times price" if row.size else "quantity times price",
                 flags=flags_of(amount) if price is None else ())  # fmt: skip
    as_priced = amount is not None or till.silent
    note = more.get("note", "") if as_priced else _gap_note(quantity, price)
    unit = "" if row.unit == "-" else row.unit
    package = f"{row.package} of {row.size:g} {unit}" if row.size > 1 else row.package
    return Line(f"{key}_amount", item, name, group, quantity, unit or row.package, package, count,
                each, amount, note, (quantity_key, f"{key}_packages" if row.size else "", each_key),
    )  # fmt: skip


_EACH = frozenset({"cartridge_each", "freight"})  # prices that are not per kg, L or h
_MEDIUM = "_medium"
MISSING = "price_missing"
DISCOUNT_RATE = "discount_rate"  # stands among the prices, and is none


def _enter_packages(
    till: Till, item: str, key: str, quantity_key: str, name: str
) -> tuple[float | None, float | None]:
    """Enter the packages; return what is bought, and how many packages that are."""
    entries, row = till.entries, packages()[item]
    quantity = entries.ledger.number(quantity_key)
    if not row.size:
        return quantity, None
    if f"costs.package_{item}" not in entries.ledger:
        entries.given(f"costs.package_{item}", row.size, row.unit, f"{row.name}: one {row.package}",
                      cites=(row.source,))  # fmt: skip
    count = None if quantity is None else float(packages_needed(quantity, row.size))
    entries.calc(f"{key}_packages", count, "-", f"{name}: packages bought",
                 f"-INT(-({{{quantity_key}}}/{{costs.package_{item}}}))", cites=(row.source,),
                 method="rounded up")  # fmt: skip
    return (None if count is None else count * row.size), count


def _enter_each(till: Till, item: str, price: float | None) -> tuple[str, float | None]:
    """Return key and price of one package, entered once; that of one unit where by measure."""
    row = packages()[item]
    if row.size in {0.0, 1.0}:
        return f"prices.{row.price}", price
    key, value = f"costs.package_price_{item}", None if price is None else price * row.size
    if key not in till.entries.ledger:
        text = f"{{prices.{row.price}}}"
        till.entries.calc(key, value, till.currency, f"{row.name}: price of one {row.package}",
                          f'IF({text}="","",{text}*{{costs.package_{item}}})',
                          method="price times what the package holds",
                          flags=flags_of(value))  # fmt: skip
    return key, value


def _gap_note(quantity: float | None, price: float | None) -> str:
    if price is None:
        return "price not given"
    return "no quantity" if quantity is None else ""


def enter_total(
    till: Till, key: str, label: str, lines: tuple[Line, ...], unit: str
) -> float | None:
    """Enter the sum of lines; name what it is without. All gaps give a gap, never a zero."""
    known = [line for line in lines if not line.gap]
    value = cents(sum(line.amount or 0.0 for line in known)) if known else None
    till.entries.calc(key, value, unit, label + without(lines), sum_of([x.key for x in lines]),
                      method="sum of the lines that have an amount" if len(known) < len(lines)
                      else "sum of the lines", flags=flags_of(value))  # fmt: skip
    return value


def sum_of(keys: Sequence[str]) -> str | None:
    """Return the sum of figures as a formula: blank while none of them has a number."""
    every = ",".join(f"{{{key}}}" for key in keys)
    return f'IF(COUNT({every})=0,"",ROUND(SUM({every}),2))' if keys else None


def flags_of(value: float | None) -> tuple[str, ...]:
    """Return the codes of a figure that is a gap because a price is missing."""
    return (MISSING,) if value is None else ()


def without(lines: tuple[Line, ...]) -> str:
    """Return ", without ..." for the lines that have no amount; nothing where none has one."""
    if all(line.gap for line in lines):
        return ""
    names = dict.fromkeys(packages()[line.item].name for line in lines if line.gap)
    if not names:
        return ""
    return ", without " + ", ".join(name[:1].lower() + name[1:] for name in names)
