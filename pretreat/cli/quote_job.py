"""One customer after the other, or several at once: from the content of a site file to a PDF."""

import datetime
import hashlib
import os
import sys
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.errors import PretreatError
from pretreat.core.text import lazy
from pretreat.report.hand.overview import QuoteRow

if TYPE_CHECKING:
    from pretreat.quote.stock import Need

MOST_NAME_BYTES = 120
ALONE = 4  # as many customers are not worth a second process
_RESERVED = {"con", "prn", "aux", "nul"} | {f"{d}{n}" for d in ("com", "lpt") for n in range(10)}
_KEY = lazy(r"\[(\w+)\] (\w+)")  # in a fault of a site file
_LETTERS = "BCDFGHJKLMNPQRSTVWXZ"  # no vowels, so that no word comes of them
_UNSAFE = set('<>:"/\\|?*%')


class Order(Struct, frozen=True):
    """What is to be quoted: content of a site file, or why there is none.

    ``name`` is how messages call it, ``stem`` the name of the PDF; ``number`` counts the
    orders, for those that give no number of their own. ``site`` is the site file that a row of a
    table is laid over, ``of_site`` what the row takes from it, as "machine.recovery".
    """

    name: str
    customer: str
    content: Mapping[str, Any] | None
    base: Path
    fault: tuple[str, ...] = ()
    stem: str = ""
    number: int = 1
    site: str = ""
    of_site: frozenset[str] = frozenset()


class Terms(Struct, frozen=True):
    """What holds for all quotes of a run; units are those of each site where none are asked for."""

    folder: Path
    units: Literal["si", "us"] | None
    date: datetime.date | None
    draws: int


class Outcome(Struct, frozen=True):
    """What became of an order: its row, its faults one by one, and what is to be carried.

    ``unpriced`` says which lines have no price; it is empty where all have one, as ``why_draft``
    is for an offer.
    """

    row: QuoteRow
    faults: tuple[str, ...] = ()
    needs: "tuple[Need, ...]" = ()
    unpriced: str = ""
    why_draft: str = ""


def safe_stem(text: str) -> str:
    """Return a name that any system takes for a file, of at most 120 bytes.

    Parameters
    ----------
    text : str
        Such as the name of a customer. [-]

    Returns
    -------
    str
        The name without what a file system refuses; "quote" where nothing is left. [-]
    """
    plain = unicodedata.normalize("NFC", text)
    letters = ("-" if c in _UNSAFE else c if c.isprintable() else " " for c in plain)
    stem = " ".join("".join(letters).split()).strip(" .-").lstrip("=+@' .-")
    while len(stem.encode()) > MOST_NAME_BYTES:
        stem = stem[:-1].rstrip(" .-")
    if stem.split(".")[0].casefold() in _RESERVED:
        stem = f"_{stem}"
    return stem or "quote"


def with_own_stems(orders: Sequence[Order]) -> tuple[Order, ...]:
    """Return the orders with names of files that differ from each other in more than case.

    Parameters
    ----------
    orders : sequence of Order
        The orders. [-]

    Returns
    -------
    tuple of Order
        "Mill", "Mill-2" and so on. [-]
    """
    used: set[str] = set()
    found = []
    for order in orders:
        stem = first = safe_stem(order.stem or order.customer or order.name)
        number = 2
        while stem.casefold() in used:
            stem, number = f"{first}-{number}", number + 1
        used.add(stem.casefold())
        found.append(replace(order, stem=stem))
    return tuple(found)


def numbered(orders: Sequence[Order], folder: Path) -> tuple[tuple[Order, ...], int]:
    """Return the orders numbered on from the other quotes of the folder, and how many those are.

    Parameters
    ----------
    orders : sequence of Order
        The orders with the names of their files. [-]
    folder : Path
        Where the quotes go; it may not exist yet. [-]

    Returns
    -------
    tuple of tuple and int
        Orders; a quote that is written again keeps its number. [-]
    """
    own = {order.stem.casefold() for order in orders}
    held = {path.stem.casefold() for path in folder.glob("*.pdf")} if folder.is_dir() else set()
    others = len(held - own)
    return tuple(replace(order, number=order.number + others) for order in orders), others


def outcomes(orders: Sequence[Order], terms: Terms) -> Iterator[Outcome]:
    """Yield what becomes of each order, in their order; large runs use the cores there are.

    Parameters
    ----------
    orders : sequence of Order
        The orders. [-]
    terms : Terms
        What holds for all of them. [-]

    Yields
    ------
    Outcome
        One an order; none raises for a fault of its input. [-]
    """
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    workers = min(cores or 1, len(orders) // ALONE)
    if workers < 2:
        for order in orders:
            yield outcome(order, terms)
        return
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    _warm()
    context = multiprocessing.get_context("fork" if sys.platform == "linux" else None)
    with ProcessPoolExecutor(workers, context) as pool:
        yield from pool.map(outcome, orders, [terms] * len(orders))


def _warm() -> None:
    """Import once, before the processes part."""
    from pretreat.report.hand.quote_fonts import font_files

    font_files()


def outcome(order: Order, terms: Terms) -> Outcome:
    """Quote one customer.

    Parameters
    ----------
    order : Order
        The order. [-]
    terms : Terms
        Where to and how. [-]

    Returns
    -------
    Outcome
        Written, a draft, or failed with its faults. [-]
    """
    if order.content is None:
        return _failed(order, order.fault)
    try:
        return _written(order, order.content, terms)
    except PretreatError as problem:
        return _failed(order, problem.faults)
    except Exception as problem:  # noqa: BLE001 - one customer must not take the others along
        kind = type(problem).__name__
        return _failed(order, (f"could not be worked out ({kind}: {problem}); check its values",))


def _failed(order: Order, faults: Sequence[str]) -> Outcome:
    said = tuple(_placed(order, " ".join(fault.split())) for fault in faults)
    row = QuoteRow(order.customer, "", "failed", None, None, None, "", "", "; ".join(said))
    return Outcome(row, said)


def _placed(order: Order, fault: str) -> str:
    """Return a fault with the name of the site file where that holds what it speaks of."""
    found = _KEY.search(fault)
    if not found or not order.site or ".".join(found.groups()) not in order.of_site:
        return fault
    return f"{order.site}: {fault[found.start() :]}"


def number_of(order: Order, day: datetime.date) -> str:
    """Return a number for a quote that is given none.

    Parameters
    ----------
    order : Order
        The order. [-]
    day : date
        Date of the quote. [-]

    Returns
    -------
    str
        Date, count in the folder, and three letters from the names of customer and site, so that
        two sites quoted apart on one day differ; the same each time. [-]
    """
    content = order.content or {}
    site = content.get("site", {})
    name = site.get("name", "") if isinstance(site, Mapping) else ""
    digest = hashlib.sha256(f"{order.customer}\n{name}".encode()).digest()
    letters = "".join(_LETTERS[byte % len(_LETTERS)] for byte in digest[:3])
    return f"{day:%Y%m%d}-{order.number:02d}-{letters}"


def _written(order: Order, content: Mapping[str, Any], terms: Terms) -> Outcome:
    from pretreat.lab import read_design_water
    from pretreat.quote.offer import as_quoted, mode_of
    from pretreat.quote.stock import needs_of
    from pretreat.report.hand.quote_conditions import speaks_against, why_draft
    from pretreat.report.hand.quote_document import day_of, is_draft, short_reasons
    from pretreat.report.hand.quote_pdf import Look, write_quote
    from pretreat.report.hand.quote_sentences import visit_dates
    from pretreat.report.hand.quote_sold import (
        lower_dose,
        no_maximum,
        old_analysis,
        own_reasons,
        supplies_open,
        unneeded,
        unpriced,
        way_out,
    )
    from pretreat.report.hand.quote_words import words_of
    from pretreat.report.text.us_words import in_us_words
    from pretreat.stages.site import design_from
    from pretreat.study import run_study

    design = as_quoted(design_from(content, order.base, order.name, water_needed=False))
    units = terms.units or ("us" if design.site.units == "us" else "si")
    design = design.change("site", units=units)  # packages are those of the trade it is shown in
    asked = terms.date or design.quote.date or datetime.date.today()
    design = design.change("quote", date=asked)  # how old an analysis is counts from here
    water, samples = read_design_water(design.water)
    study = run_study(water, design, mode_of(design), samples, terms.draws)
    day = day_of(study, terms.date)
    file = terms.folder / f"{order.stem}.pdf"
    written = write_quote(
        study,
        file,
        look=Look(units, design.quote.logo, design.quote.font),
        date=terms.date,
        number=number_of(order, day),
    )
    dates = visit_dates(study, day)
    draft = is_draft(study)
    english = words_of("en", us=units == "us")
    lacking = (unpriced(study, english), way_out(study), supplies_open(study))
    unknown = "; ".join(text for text in lacking if text)
    unused = unneeded(study, english)
    water = why_draft(study) if speaks_against(study) else no_maximum(study)
    told = (*own_reasons(study, english), water, lower_dose(study))
    said = [text for text in told if text]
    old = "" if draft else old_analysis(study)
    why = short_reasons(study, english) if draft else ""
    notes = [note for note in (unknown, unused, old) if note] + [
        in_us_words(t) if units == "us" else t for t in said
    ]
    if written.lost:
        notes.append(f"no letters for {written.lost}: name a font file in [quote] font")
    currency = study.value("quote.currency")
    row = QuoteRow(
        order.customer,
        file.name,
        "draft" if draft else "ok",
        study.number("quote.net"),
        study.number("quote.tax"),
        study.number("quote.gross"),
        currency if isinstance(currency, str) else "",
        dates[0].isoformat() if dates else "",
        "; ".join(notes),
    )
    return Outcome(row, (), () if draft else needs_of(study, day), unknown, why)
