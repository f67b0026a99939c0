"""A quote recalculated with decimals from what is bought, and what a PDF says, read back."""

import io
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from math import pi
from pathlib import Path

CENT = Decimal("0.01")
FULL = Decimal("1.02")  # a filling up to 2 % short is a full one (common practice, no source)


def half_up(value: Decimal) -> Decimal:
    return value.quantize(CENT, rounding=ROUND_HALF_UP)


def whole_up(value: Decimal) -> Decimal:
    return value.to_integral_value(rounding=ROUND_CEILING)


def words_of(pdf: Path | bytes) -> str:
    """The text of a PDF on one line."""
    from pdfminer.high_level import extract_text

    content = pdf if isinstance(pdf, bytes) else pdf.read_bytes()
    return " ".join(extract_text(io.BytesIO(content)).split())


def lines_of_text(pdf: Path) -> set[str]:
    """The lines of a PDF."""
    from pdfminer.high_level import extract_text

    return {line.strip() for line in extract_text(pdf).splitlines()}


def pages_of(pdf: Path) -> int:
    from pdfminer.pdfpage import PDFPage

    with pdf.open("rb") as stream:
        return sum(1 for _ in PDFPage.get_pages(stream))


@dataclass
class Bed:
    """One vessel: its medium in litres, diameter in metres, size of a bag, price of a litre."""

    litres: Decimal
    diameter_m: float
    bag_l: Decimal
    price_per_l: Decimal


@dataclass
class Prices:
    gravel_per_kg: Decimal
    labour_per_h: Decimal
    disposal_per_l: Decimal | None
    freight: Decimal


def sold(cost: Decimal, margin: Decimal | None) -> Decimal:
    """Price of a package: the margin is a share of the price (100 at 30 % sells for 142.86).

    As printed, in cents.
    """
    return half_up(cost if margin is None else cost / (1 - margin / 100))


def lines_of(beds: list[Bed], prices: Prices, margin: Decimal | None = None) -> list[Decimal]:
    """Amounts of one replacement, line by line; bags and hours as tests/quote/test_money.py."""
    found, poured = [], Decimal(0)
    for bed in beds:
        bags = whole_up(bed.litres / (bed.bag_l * FULL))
        found.append(half_up(bags * sold(bed.bag_l * bed.price_per_l, margin)))
        gravel = Decimal(pi * bed.diameter_m**3 / 24 * 1000 * 1.6)  # a 2:1 head, poured gravel
        poured += gravel
        found.append(Decimal(0))  # bags of gravel are counted for all vessels together
        hours = 2 + Decimal("1.5") * bed.litres / 100
        found.append(sold(half_up(hours * prices.labour_per_h), margin))
        if prices.disposal_per_l is not None:
            found.append(sold(half_up(bed.litres * prices.disposal_per_l), margin))
    found[1] = half_up(whole_up(poured / 25) * sold(25 * prices.gravel_per_kg, margin))
    return [*found, sold(prices.freight, margin)]


def money_of(lines: list[Decimal], discount: Decimal, tax: Decimal) -> dict[str, Decimal]:
    """Discount on the sum, tax on the net, each rounded half up."""
    total = sum(lines, Decimal(0))
    off = half_up(total * discount / 100)
    net = total - off
    levy = half_up(net * tax / 100)
    return {"subtotal": total, "discount": off, "net": net, "tax": levy, "gross": net + levy}
