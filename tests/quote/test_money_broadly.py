"""Money of an offer against decimals of its own: random prices, terms and packages.

Rounding half up to two decimals, each line, discount, and tax per rate: the arithmetic of an
invoice, done again with `decimal`. Prices and sites are invented.
"""

import json
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from pretreat.core.results import from_json, to_json
from pretreat.report.hand.quote_document import quote_document
from pretreat.report.hand.quote_words import words_of
from pretreat.site.design import Machine, OwnLine, OwnPackage, Prices, QuoteTerms, WaterBasis
from pretreat.stages.carbon.keys import CarbonDesign
from pretreat.stages.site import basis
from pretreat.stages.softener.keys import SoftenerDesign
from pretreat.study import run_study
from tests.quote.quoting import half_up

SITE = basis(
    Machine(0.8, 0.6, 10.0, 250.0),
    water=WaterBasis(hardness_mg_l_caco3=320.0, iron_mg_l=0.2),
    softener=SoftenerDesign(resin_volume_l=140.0, vessel_diameter_m=0.41, salt_dose_g_l=160.0),
    carbon=CarbonDesign(media_volume_l=142.0, vessel_diameter_m=0.46),
    chosen=frozenset({"softener.resin_volume_l", "carbon.media_volume_l"}),
)
# item -> (price of the list, package as the trade sells it, 0 where it is sold by measure)
SOLD = {
    "softener_medium": ("resin_per_l", 25),
    "carbon_medium": ("carbon_per_l", 50),
    "gravel": ("gravel_per_kg", 25),
    "labour": ("labour_per_h", 0),
    "disposal": ("disposal_per_l", 0),
    "freight": ("freight", 1),
    "salt": ("salt_per_kg", 25),
    "cartridges": ("cartridge_each", 1),
    "visit": ("visit_each", 1),
}
MONEY = st.decimals(min_value="0.01", max_value="9999.99", places=2)
FINE = st.decimals(min_value="0.001", max_value="99.999", places=3)  # a price of a kg or litre
MILLIONS = st.decimals(min_value=1, max_value=5_000_000, places=0)  # a currency without cents
PERCENT = st.decimals(min_value=0, max_value=100, places=3)
COMPANY = settings(max_examples=40, deadline=None, phases=(Phase.explicit, Phase.generate))


@st.composite
def offers(draw) -> tuple[dict[str, Decimal], dict[str, object]]:
    """Prices, some of them missing, and the terms of a quote."""
    price = draw(st.sampled_from([FINE, MONEY, MILLIONS]))
    names = {name for name, _ in SOLD.values()}
    prices = {name: draw(price) for name in sorted(names) if draw(st.integers(0, 9))}
    rates = {"default": draw(PERCENT)}
    for item in draw(st.lists(st.sampled_from(sorted(SOLD)), max_size=3, unique=True)):
        rates[item] = draw(st.sampled_from([Decimal(0), Decimal("8.875"), draw(PERCENT)]))
    terms: dict[str, object] = {
        "discount": draw(st.sampled_from([Decimal(0), Decimal("2.5"), draw(PERCENT)])),
        "margin": draw(st.none() | st.decimals(min_value=0, max_value=95, places=2)),
        "rates": draw(st.just({}) | st.just(rates)),
        "consumables": draw(st.sampled_from(["optional", "included", "none"])),
        "visits": draw(st.sampled_from(["optional", "included"])),
        "own": draw(st.lists(st.tuples(MONEY, st.integers(0, 40), st.booleans()), max_size=3)),
        "bag": draw(st.sampled_from([None, Decimal("12.5"), Decimal(20), Decimal("28.316846592")])),
    }
    return prices, terms


def sold_for(cost: Decimal, margin: Decimal | None) -> Decimal:
    """The margin is a share of the price; a price is printed in cents."""
    return half_up(cost if margin is None else cost / (1 - margin / 100))


def study_of(prices: dict[str, Decimal], terms: dict[str, object]):
    own = tuple(OwnLine(f"Part {n}", float(price), float(count), "", optional)
                for n, (price, count, optional) in enumerate(terms["own"]))  # fmt: skip
    margin, bag = terms["margin"], terms["bag"]
    quote = QuoteTerms(
        discount_percent=float(terms["discount"]),
        margin_percent=None if margin is None else float(margin),
        tax_percent={name: float(rate) for name, rate in terms["rates"].items()},
        consumables=terms["consumables"], visits=terms["visits"], lines=own, visits_per_year=3.0,
    )  # fmt: skip
    packages = {} if bag is None else {"softener_medium": OwnPackage(float(bag), f"{bag} L")}
    listed = Prices(currency="XTS", **{name: float(price) for name, price in prices.items()})
    return run_study(
        None, replace(SITE, prices=listed, quote=quote, packages=packages), "rate", draws=0
    )


def recomputed(study, prices: dict[str, Decimal], terms: dict[str, object]):
    """Amount, rate and choice of every line, from quantities, prices and terms alone."""
    table = study.series["quote.offer"]
    margin, rates = terms["margin"], terms["rates"]
    own = iter(terms["own"])
    for values in table.rows:
        row = dict(zip(table.columns, values, strict=True))
        item, optional = row["item"], row["optional"] == "yes"
        if item == "own":
            price, count, chosen = next(own)
            assert chosen is optional
            amount = half_up(price * count)
            yield row, amount, rates.get("default", Decimal(0)), optional
            continue
        kind = next(name for name in SOLD if str(item).endswith(name))
        name, size = SOLD[kind]
        rate = rates.get(kind, rates.get("default", Decimal(0)))
        if name not in prices:
            yield row, None, rate, optional
            continue
        quantity = Decimal(f"{row['quantity']:.15g}")  # the digits that a spreadsheet shows
        if size == 0:
            amount = sold_for(half_up(quantity * prices[name]), margin)
        else:
            bag = terms["bag"] if kind == "softener_medium" and terms["bag"] else Decimal(size)
            full = Fraction(102, 100) if str(item).endswith("_medium") else 1
            count = Decimal(-(-Fraction(quantity) // (Fraction(bag) * full)))
            amount = half_up(count * sold_for(bag * prices[name], margin))
        yield row, amount, rate, optional


@given(offers())
@COMPANY
def test_every_line_and_sum_to_the_cent(offer):
    prices, terms = offer
    study = study_of(prices, terms)
    lines = list(recomputed(study, prices, terms))
    for row, amount, rate, _ in lines:
        assert (None if row["amount"] is None else Decimal(repr(row["amount"]))) == amount, row
        assert Decimal(repr(row["tax_percent"])) == rate
    counted = [(amount, rate) for _, amount, rate, optional in lines if not optional]
    known = [amount for amount, _ in counted if amount is not None]
    if not known:
        assert study.number("quote.net") is None
        return
    total = sum(known, Decimal(0))
    off = half_up(total * terms["discount"] / 100)
    by_rate: dict[Decimal, Decimal] = {}
    for amount, rate in counted:
        by_rate[rate] = by_rate.get(rate, Decimal(0)) + (amount or Decimal(0))
    tax, left = Decimal(0), off
    for n, rate in enumerate(sorted(by_rate), start=1):
        last = n == len(by_rate)
        part = left if last else half_up(by_rate[rate] * terms["discount"] / 100)
        left -= part
        tax += half_up((by_rate[rate] - part) * rate / 100)
    found = {key: Decimal(repr(study.number(f"quote.{key}")))
             for key in ("subtotal", "discount", "net", "tax", "gross")}  # fmt: skip
    assert found == {"subtotal": total, "discount": off, "net": total - off, "tax": tax,
                     "gross": total - off + tax}  # fmt: skip


@given(offers())
@settings(COMPANY, max_examples=20)
def test_the_page_adds_up_as_it_is_printed(offer):
    """Packages x price, the sum of the lines, and net and taxes, from the printed numbers alone."""
    prices, terms = offer
    study = study_of(prices, terms)
    if study.number("quote.net") is None:
        return
    document = quote_document(from_json(to_json(study)))
    words = words_of("en")

    def printed(text: str) -> Decimal:
        return Decimal(text.replace(",", ""))

    amounts = []
    for group in document.groups:
        for line in group.lines:
            if line.amount is None:
                continue
            amounts.append(printed(words.money(line.amount)))
            count, price = printed(words.count(line.quantity)), printed(words.price(line.price))
            assert half_up(count * price) == amounts[-1], line
    shown = {t.key: printed(words.money(t.value)) for t in document.totals}
    net = shown["quote.net"]
    assert net == sum(amounts, Decimal(0)) - shown.get("quote.discount", Decimal(0))
    if "quote.gross" in shown:
        taxes = [amount for key, amount in shown.items() if key.endswith("_tax")]
        assert shown["quote.gross"] == net + sum(taxes, Decimal(0))
        nets = [printed(words.money(t.net)) for t in document.totals if t.net is not None]
        assert sum(nets, Decimal(0)) == net


@pytest.mark.parametrize("cost", ["0.005", "1.005", "2.675", "1234567.895", "86.375"])
def test_half_a_cent_goes_up_however_binary_it_is(cost):
    """2.675 is 2.67499999 in binary and 2.68 on an invoice."""
    prices = {"labour_per_h": Decimal("62"), "freight": Decimal(cost)}
    terms = {"discount": Decimal(0), "margin": Decimal(0), "rates": {}, "consumables": "none",
             "visits": "optional", "own": [], "bag": None}  # fmt: skip
    study = study_of(prices, terms)
    table = study.series["quote.offer"]
    amounts = dict(zip(table.column("item"), table.column("amount"), strict=True))
    assert Decimal(repr(amounts["freight"])) == half_up(Decimal(cost))
    assert json.loads(to_json(study))["figures"]["quote.net"]["value"] > 0
