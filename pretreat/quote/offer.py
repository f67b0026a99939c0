"""What is offered to the customer: lines as they are sold, discount, net, taxes and gross."""

from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Series, Value
from pretreat.membrane.limits import USUAL_SALT_DOSE_G_L
from pretreat.plant.health import DRINKING
from pretreat.quote.items import ONCE, YEARLY, of_media_sold, stage_of
from pretreat.quote.laws import amount_by_measure, gravel_of_all_kg, total_amount
from pretreat.quote.lines import MISSING, Line, Till, enter_line, sold_as
from pretreat.quote.offer_laws import (
    discount_left,
    discount_of,
    gross_of,
    net_of,
    offered_amount,
    printed_price,
    selling_price,
    tax_of,
)
from pretreat.site.design import DesignBasis, OwnLine, QuoteTerms
from pretreat.site.quote_keys import DEFAULT_RATE, EQUIPMENT
from pretreat.stages.site import tables
from pretreat.stages.train import Mode

Q, OFFER = "quote", "offer"  # prefixes of keys
OWN = frozenset({"water", "drain", "energy", "downtime"})  # paid to others, or not paid at all
DISPOSAL, DESIGNED = "disposal", "size"  # an item, and the kind of a study of a design
GRAVEL, GRAVEL_KG, FREIGHT, VISIT = "gravel", "costs.gravel_of_all_kg", "freight", "visit"
PARTS = (
    "customer",
    "address",
    "letterhead",
    "contact",
    "contact_function",
    "contact_phone",
    "contact_email",
    "terms",
    "delivery",
    "exclusions",
)
MARGIN = f"{OFFER}.margin_pct"
DISCOUNT = f"{OFFER}.discount_pct"
COLUMNS = {
    "item": "-",
    "stage": "-",
    "text": "-",
    "kind": "-",
    "quantity": "-",
    "unit": "-",
    "packages": "-",
    "package": "-",
    "size": "-",
    "price": "money",
    "amount": "money",
    "tax_percent": "%",
    "optional": "-",
    "figure": "-",
    "price_figure": "-",
    "packages_figure": "-",
    "quantity_figure": "-",
}


class Offered(Struct, frozen=True):
    """A line as it is sold; ``kind`` is packages, lump, own or equipment.

    ``keys`` are those of amount, price, packages and quantity, empty where there is none.
    """

    item: str
    stage: str
    text: str
    kind: str
    quantity: float | None
    unit: str
    packages: float | None
    package: str
    size: str
    price: float | None
    amount: float | None
    rate: float
    optional: bool
    keys: tuple[str, str, str, str]

    def row(self) -> tuple[Value, ...]:
        """Return the row of the table."""
        return (
            self.item,
            self.stage,
            self.text,
            self.kind,
            self.quantity,
            self.unit,
            self.packages,
            self.package,
            self.size,
            self.price,
            self.amount,
            self.rate,
            "yes" if self.optional else "no",
            *self.keys,
        )


def enter_offer(
    till: Till,
    design: DesignBasis,
    once: Sequence[Line],
    yearly: Sequence[Line],
    visits: Sequence[Line] = (),
) -> None:
    """Enter what is offered: one replacement of the media, else the goods of a year.

    Parameters
    ----------
    till : Till
        Ledger and prices. [-]
    design : DesignBasis
        The engineer's choices, with the terms of the quote. [-]
    once : sequence of Line
        Lines of one replacement. [-]
    yearly : sequence of Line
        Lines of a year. [-]
    visits : sequence of Line
        The visits of a year, none where a visit has no price. [-]
    """
    terms = design.quote
    _enter_terms(till, terms)
    if design.product.target == DRINKING:
        till.entries.word(f"{OFFER}.drinking", "yes", "Treated water is drunk", origin="chosen")
    if design.water.hardness_typed:
        key, typed = f"{OFFER}.hardness_typed", design.water.hardness_typed
        till.entries.word(key, typed, "Hardness as typed", origin="chosen")
    _enter_unneeded(till, yearly)
    goods = [line for line in needed(yearly) if line.item not in OWN]
    unsold = OWN if _stands(till) else OWN | {DISPOSAL}
    replaced = of_media_sold(till, terms.media, once)
    main = _gravel_at_once(till, [line for line in needed(replaced) if line.item not in unsold])
    if not main and goods:
        freight = [line for line in once if line.item == FREIGHT]
        goods = [*goods, *(freight or [_freight_of_goods(till)])]
    options: list[Line] = []
    if terms.visits == "included":
        main = [*main, *visits]
    else:
        options = [*visits]
    supplied = _supplied(terms, alone=not main and all(line.optional for line in terms.lines))
    if supplied == "included":
        main = _with_goods(main, goods)
    elif supplied == "optional":
        options = [*goods, *options]
    else:
        _enter_left(till, [line for line in goods if line.item != FREIGHT and line.quantity])
    lines = [_offered(till, terms, line, optional=False) for line in main]
    lines += [_own(till, terms, n, line) for n, line in enumerate(terms.lines, start=1)]
    lines += [_offered(till, terms, line, optional=True) for line in options]
    _enter_money(till, [line for line in lines if not line.optional])
    till.entries.ledger.table(
        Series(
            f"{Q}.offer",
            "What is offered to the customer",
            tuple(COLUMNS),
            tuple(till.currency if unit == "money" else unit for unit in COLUMNS.values()),
            tuple(line.row() for line in lines),
            cites=("PACKAGES",),
            method="prices as they are sold, before discount and tax",
        )
    )


def needed(lines: Sequence[Line]) -> list[Line]:
    """Return the lines of which something is used; a quantity that is not known is a gap."""
    return [line for line in lines if line.quantity != 0.0]


def _enter_unneeded(till: Till, yearly: Sequence[Line]) -> None:
    """Enter what the train feeds and this water needs none of, for whoever sends the quote."""
    items = [line.item for line in yearly if line.quantity == 0.0 and line.item not in OWN]
    if items:
        label, key = "Fed by the train, none needed", f"{OFFER}.none_needed"
        till.entries.word(key, " ".join(dict.fromkeys(items)), label, origin="assumed")
        till.entries.ledger.rests(key, held=True)


def _supplied(terms: QuoteTerms, *, alone: bool) -> str:
    """Return how the supplies of a year are offered; where nothing else is sold they are the offer.

    Unless the site file says otherwise.
    """
    return terms.consumables or ("included" if alone else "optional")


def _with_goods(lines: list[Line], goods: list[Line]) -> list[Line]:
    """Return the lines with the goods of a year, and the visits behind them."""
    visits = [line for line in lines if line.item == VISIT]
    return [*(line for line in lines if line.item != VISIT), *goods, *visits]


def _enter_left(till: Till, lines: Sequence[Line]) -> None:
    """Enter the supplies of a year that are not offered, so that the customer provides them."""
    if not lines:
        return
    label, key = "Supplies that the customer provides", f"{OFFER}.supplied_by_customer"
    items = dict.fromkeys(line.item for line in lines)
    till.entries.word(key, " ".join(items), label, origin="chosen")
    till.entries.ledger.table(
        Series(
            f"{Q}.provided",
            "Supplies of a year that the customer provides",
            ("item", "quantity", "unit", "size"),
            ("-", "1/year", "-", "-"),
            tuple(
                (line.item, line.quantity, line.unit, till.size_shown(line.item)) for line in lines
            ),
        )
    )


def _stands(till: Till) -> bool:
    """Tell whether the plant stands: in one that is designed there is no old medium."""
    kind = till.entries.ledger.figure("study.kind")
    return kind is None or kind.value != DESIGNED


def _freight_of_goods(till: Till) -> Line:
    """Return the freight of goods that are sold without a replacement: one delivery."""
    till.entries.given(
        "costs.deliveries", 1.0, "-", "Deliveries of the goods of a year", cites=("PACKAGES",)
    )
    return enter_line(till, FREIGHT, YEARLY, "costs.deliveries")


def _gravel_at_once(till: Till, lines: list[Line]) -> list[Line]:
    """Return the lines with one of gravel for all vessels: a bag that is open serves the next."""
    gravel = [line for line in lines if line.item == GRAVEL and line.quantity is not None]
    if len(gravel) < 2:
        return lines
    till.entries.law(
        GRAVEL_KG,
        gravel_of_all_kg,
        amounts_kg=[line.sources[0] for line in gravel],
        label="Support gravel of all vessels",
        unit="kg",
    )
    shared = enter_line(till, GRAVEL, ONCE, GRAVEL_KG)
    first = lines.index(gravel[0])
    kept = [line for line in lines[first:] if line not in gravel]
    freight = [line for line in kept if line.item == FREIGHT]
    kept = [line for line in kept if line.item != FREIGHT]
    return [*lines[:first], *kept, shared, *freight]


def _enter_terms(till: Till, terms: QuoteTerms) -> None:
    """Enter margin and discount, and the words that the page of the quote shows."""
    entries = till.entries
    chosen: dict[str, Any] = {"origin": "chosen", "cites": ()}
    if terms.margin_percent is not None:
        entries.given(MARGIN, terms.margin_percent, "%", "Margin, share of the price", **chosen)
    entries.given(
        DISCOUNT,
        terms.discount_percent,
        "%",
        "Discount",
        origin="chosen" if terms.discount_percent else "assumed",
        cites=(),
    )
    for name, value, label in (
        ("number", terms.number, "Number of the quote"),
        ("date", "" if terms.date is None else terms.date.isoformat(), "Date of the quote"),
        ("language", terms.language, "Language"),
        ("accept_verdict", "yes" if terms.accept_verdict else "", "Verdict accepted"),
        ("taxed", "yes" if terms.tax_percent else "", "Tax is shown"),
    ):
        if value:
            entries.word(f"{OFFER}.{name}", value, label, origin="chosen")
    entries.ledger.table(
        Series(
            f"{Q}.words",
            "Words of the quote, line by line",
            ("part", "line"),
            ("-", "-"),
            tuple(
                (part, line.strip())
                for part in PARTS
                for line in getattr(terms, part).splitlines()
                if line.strip()
            ),
        )
    )


def _rate_of(terms: QuoteTerms, item: str) -> float:
    rates = terms.tax_percent
    return rates.get(item, rates.get(sold_as(item), rates.get(DEFAULT_RATE, 0.0)))


def _own_rate(terms: QuoteTerms, line: OwnLine) -> float:
    """Return the rate of tax of an own line: its own one, else that of its kind, else the rest."""
    return _rate_of(terms, line.kind) if line.tax_percent is None else line.tax_percent


def _offered(till: Till, terms: QuoteTerms, line: Line, *, optional: bool) -> Offered:
    """Return a line as it is sold; what is bought by measure is sold as a lump."""
    lump = line.packages is None and not till.package(line.item).size
    _, packages_key, each_key = line.sources
    amount_key, price_key = line.key, line.key if lump else each_key
    price, amount = (line.amount if lump else line.price), line.amount
    stem = f"{OFFER}.{line.key.removeprefix('costs.').removesuffix('_amount')}"
    cost = line.key if lump else each_key
    label = f"{line.name}: price as sold"
    if terms.margin_percent is not None:
        price_key = f"{stem}_price"
        price = _law(till, price_key, selling_price, label, cost=cost, margin_pct=MARGIN)
        amount_key, amount = price_key, price
    elif not lump:
        price_key = f"{stem}_price"
        price = _law(till, price_key, printed_price, label, cost=cost)
    if not lump:
        amount_key, label = f"{stem}_amount", f"{line.name}: amount as sold"
        parts = {"packages": packages_key, "selling_price": price_key}
        amount = _law(till, amount_key, offered_amount, label, **parts)
    return Offered(
        line.item,
        stage_of(line),
        "",
        "lump" if lump else "packages",
        line.quantity,
        line.unit,
        1.0 if lump else line.packages,
        "" if lump else till.package(line.item).package,
        till.size_shown(line.item),
        price,
        amount,
        _rate_of(terms, line.item),
        optional,
        (amount_key, price_key, "" if lump else packages_key, line.sources[0]),
    )


def _law(till: Till, key: str, law: Any, label: str, **arguments: Any) -> float | None:
    needed = [key for key in arguments.values() if isinstance(key, str)]
    lacking = any(till.entries.ledger.number(key) is None for key in needed)
    till.entries.law(
        key,
        law,
        label=label,
        unit=till.currency,
        flags=(MISSING,) if lacking else (),
        **arguments,
    )
    return till.entries.ledger.number(key)


def _own(till: Till, terms: QuoteTerms, number: int, line: OwnLine) -> Offered:
    """Enter a line that the supplier adds."""
    stem, chosen = f"{OFFER}.own_{number:02d}", {"origin": "chosen", "cites": ()}
    till.entries.given(f"{stem}_quantity", line.quantity, "-", f"{line.text}: quantity", **chosen)
    till.entries.given(f"{stem}_price", line.price, till.currency, f"{line.text}: price", **chosen)
    amount = _law(
        till,
        f"{stem}_amount",
        amount_by_measure,
        f"{line.text}: amount",
        quantity=f"{stem}_quantity",
        unit_price=f"{stem}_price",
    )
    return Offered(
        "own",
        "",
        line.text,
        EQUIPMENT if line.kind == EQUIPMENT else "own",
        line.quantity,
        line.unit,
        line.quantity,
        line.unit,
        "",
        line.price,
        amount,
        _own_rate(terms, line),
        line.optional,
        (f"{stem}_amount", f"{stem}_price", f"{stem}_quantity", f"{stem}_quantity"),
    )


def _enter_money(till: Till, lines: Sequence[Offered]) -> None:
    """Enter discount and net of all, then net and tax of every rate."""
    by_rate: dict[float, list[str]] = {}
    for line in lines:
        by_rate.setdefault(line.rate, []).append(line.keys[0])
    rates = sorted(by_rate)
    sums = [
        _sum(till, f"{OFFER}.rate_{n}_amounts", f"Lines with tax at {rate:g} %", by_rate[rate])
        for n, rate in enumerate(rates, start=1)
    ]
    total, discount = f"{Q}.subtotal", f"{Q}.discount"
    _sum(till, total, "Offered: sum of the lines", sums)
    _law(till, discount, discount_of, "Offered: discount", amount=total, discount_pct=DISCOUNT)
    label = "Offered: net, after discount"
    _law(till, f"{Q}.net", net_of, label, amount=total, discount=discount)
    taxes: list[str] = []
    for n, rate in enumerate(rates, start=1):
        others = [f"{OFFER}.rate_{m}_discount" for m in range(1, n)]
        taxes.append(_enter_rate(till, n, rate, others if n == len(rates) else None))
    _sum(till, f"{Q}.tax", "Offered: tax on net", taxes)
    _law(till, f"{Q}.gross", gross_of, "Offered: gross", net=f"{Q}.net", tax=f"{Q}.tax")


def _enter_rate(till: Till, n: int, rate: float, others: Sequence[str] | None) -> str:
    """Enter discount, net and tax of a rate; the last rate takes what is left of the discount."""
    stem, per = f"{OFFER}.rate_{n}", f"lines with tax at {rate:g} %"
    till.entries.given(f"{stem}_pct", rate, "%", f"Rate of {per}", origin="chosen", cites=())
    label, key = f"Discount on {per}", f"{stem}_discount"
    if others is None:
        _law(till, key, discount_of, label, amount=f"{stem}_amounts", discount_pct=DISCOUNT)
    else:
        _law(till, key, discount_left, label, discount=f"{Q}.discount", others=list(others))
    _law(till, f"{stem}_net", net_of, f"Net of {per}", amount=f"{stem}_amounts", discount=key)
    _law(till, f"{stem}_tax", tax_of, f"Tax on {per}", net=f"{stem}_net", tax_pct=f"{stem}_pct")
    return f"{stem}_tax"


def _sum(till: Till, key: str, label: str, keys: Sequence[str]) -> str:
    """Enter a sum of what has an amount; a gap where nothing has."""
    known = any(till.entries.ledger.number(k) is not None for k in keys)
    if not keys:
        till.entries.ledger.put(key, None, till.currency, label, flags=(MISSING,))
        till.entries.ledger.rests(key)
        return key
    till.entries.law(
        key,
        total_amount,
        amounts=list(keys),
        label=label,
        unit=till.currency,
        flags=() if known else (MISSING,),
    )
    return key


def as_quoted(design: DesignBasis) -> DesignBasis:
    """Return a site with the usual dose of salt where a softener stands and none is given.

    A customer's table seldom holds it; the quote is an estimate and says so.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    DesignBasis
        The same, or a copy. [-]
    """
    softener = design.softener
    ways = (softener.salt_dose_g_l, softener.salt_per_regeneration_kg, softener.refill_minutes)
    if mode_of(design) == "size" or any(way is not None for way in ways):
        return design
    return design.change("softener", salt_dose_g_l=USUAL_SALT_DOSE_G_L)


def mode_of(design: DesignBasis) -> Mode:
    """Return how a site is quoted: rated where vessels are given, else sized.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    str
        "rate" or "size". [-]
    """
    for key, table in tables().items():
        for fields in table.installed:
            if all(f"{key}.{field}" in design.chosen for field in fields):
                return "rate"
    return "size"
