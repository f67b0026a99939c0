"""`pretreat quote`: quotes as PDF, for one site or for a table of customers."""

import datetime
import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pretreat.cli.options import Day, DrawCount, Json, PriceList, SiteUnits
from pretreat.cli.terminal import Silent
from pretreat.core.doors import terminal_text
from pretreat.core.errors import DesignError, PretreatError

if TYPE_CHECKING:
    from pretreat.cli.quote_job import Order, Outcome, Terms
    from pretreat.quote.customers import Row

MOST_DRAFTS_TOLD = 10
Sites = Annotated[list[Path] | None, typer.Argument(help="Site files, TOML.", show_default=False)]
Customers = Annotated[
    Path | None,
    typer.Option(
        "--customers",
        help="Table, CSV or XLSX: a customer a row under headings such as water.hardness.",
    ),
]
Folder = Annotated[Path, typer.Option("--output", "-o", help="Folder for the quotes.")]


def quote(
    sites: Sites = None,
    output: Folder = ...,  # type: ignore[assignment]
    prices: PriceList = None,
    customers: Customers = None,
    units: SiteUnits = None,
    date: Day = None,
    draws: DrawCount = 256,
    as_json: Json = False,
) -> None:
    """Write the quote of each site, or of each customer of a table, and an overview of all.

    Example: pretreat quote site.toml --prices prices.toml --customers customers.csv -o quotes
    """
    from pretreat.cli.quote_job import Terms, numbered, outcomes, with_own_stems

    paths = sites or []
    if not paths and customers is None:
        raise typer.BadParameter("name a site file, or a table of customers with --customers")
    if customers is not None and len(paths) > 1:
        raise typer.BadParameter("a table of customers is laid over one site file, not several")
    if output.exists() and not output.is_dir():
        raise DesignError(f"{output} is a file: name a folder for the quotes")
    day = None if date is None else datetime.date.fromisoformat(date)
    orders, earlier = numbered(with_own_stems(_orders(paths, prices, customers)), output)
    terms = Terms(output, None if units is None else units.value, day, draws)
    found: list[Outcome] = []
    told: set[str] = set()
    with _progress(len(orders)) as bar:
        for order, each in zip(orders, outcomes(orders, terms), strict=True):
            found.append(each)
            bar.update(1)
            faults = [_placed(order, fault) for fault in each.faults if len(orders) > 1]
            _tell([said for said in faults if said not in told])
            told |= {*faults}  # what the site file holds is wrong for every row
    _tell(_unpriced(orders, found))
    _finish(found, orders, terms, as_json)
    if earlier and not as_json:
        typer.echo(
            f"The folder held {earlier} other quote{'s' if earlier > 1 else ''}: the overview "
            "lists those of this run"
        )


def _tell(lines: list[str]) -> None:
    for said in lines:
        typer.echo(terminal_text(f"pretreat: {said}"), err=True)


def _placed(order: "Order", fault: str) -> str:
    """Return a fault with the place that it speaks of."""
    named = fault.startswith((order.name, *([order.site] if order.site else [])))
    return fault if named else f"{order.name}: {fault}"


def _unpriced(orders: "tuple[Order, ...]", found: "list[Outcome]") -> list[str]:
    """Return which lines have no price, once for all quotes that lack the same ones."""
    names: dict[str, list[str]] = {}
    for order, each in zip(orders, found, strict=True):
        if each.unpriced:
            names.setdefault(each.unpriced, []).append(order.name)
    return [
        f"{of[0]}{f' and {len(of) - 1} more' if len(of) > 1 else ''}: {lacking}"
        for lacking, of in names.items()
    ]


def _progress(count: int) -> Any:
    """Show on a terminal how far the work is; say nothing to a file or a pipe."""
    if not sys.stderr.isatty() or count < 2:
        return Silent()
    return typer.progressbar(length=count, label="Quotes", file=sys.stderr, show_pos=True)


def _orders(paths: list[Path], prices: Path | None, customers: Path | None) -> "list[Order]":
    """Return what is to be quoted, each with its content or its fault."""
    from pretreat.cli.quote_job import Order
    from pretreat.quote.price_list import laid_under, read_price_list
    from pretreat.site.file import read_content
    from pretreat.stages.site import tables

    price_list = {} if prices is None else read_price_list(prices)
    if customers is not None:
        template = read_content(paths[0], tables())[0] if paths else {}
        return _of_table(customers, template, paths[0] if paths else None, price_list)
    found = []
    for number, path in enumerate(paths, start=1):
        fault: tuple[str, ...] = ()
        content, customer = None, path.stem
        try:
            content = laid_under(read_content(path, tables())[0], price_list, path)
            customer = _customer(content) or path.stem
        except PretreatError as problem:
            fault = problem.faults
        found.append(Order(path.name, customer, content, path.parent, fault, path.stem, number))
    return found


def _of_table(
    path: Path,
    template: Mapping[str, Any],
    site: Path | None,
    price_list: Mapping[str, Any],
) -> "list[Order]":
    from msgspec.structs import replace

    from pretreat.cli.quote_job import Order
    from pretreat.quote.customers import laid_over, read_customers
    from pretreat.quote.price_list import laid_under

    table, base = read_customers(path), (site or path).parent
    held = {
        f"{section}.{key}"
        for section, keys in template.items()
        for key in (keys if isinstance(keys, Mapping) else ())
    }
    if table.unused:
        named = ", ".join(table.unused)
        said = f"pretreat: {path.name}: not used, no key of the site file: {named}"
        typer.echo(terminal_text(said), err=True)
    found = []
    for number, row in enumerate(table.rows, start=1):
        name = f"{path.name}, row {row.number}"
        fault: tuple[str, ...] = ()
        content = None
        try:
            laid = laid_over(row, template, path)
            content = laid_under(_numbered(laid, row, number), price_list, path)
        except PretreatError as problem:
            fault = problem.faults
        customer = _named(row) or _customer(content or {}) or f"row {row.number}"
        of_site = frozenset(held - set(row.values)) if site else frozenset()
        order = Order(name, customer, content, base, fault, customer, number)
        found.append(replace(order, site=site.name if site else "", of_site=of_site))
    return found


_NAMES = ("quote.customer", "site.prepared_for", "site.name")


def _named(row: "Row") -> str:
    """Return what the row itself names: a customer, else one of the sites of a customer."""
    given = (str(row.values[key]) for key in _NAMES if row.values.get(key) is not None)
    return next((" ".join(name.split()) for name in given if name.strip()), "")


def _numbered(content: dict[str, Any], row: "Row", number: int) -> dict[str, Any]:
    """Return content in which the number of the site file does not serve for all customers."""
    terms = content.get("quote")
    if "quote.number" in row.values or not isinstance(terms, Mapping) or "number" not in terms:
        return content
    return {**content, "quote": {**terms, "number": f"{terms['number']}-{number:02d}"}}


def _customer(content: Mapping[str, Any]) -> str:
    """Return who is quoted to, else the site."""
    for section, key in (name.split(".") for name in _NAMES):
        table = content.get(section)
        value = table.get(key) if isinstance(table, Mapping) else None
        if isinstance(value, str) and value.strip():
            return " ".join(value.split())
    return ""


def _finish(
    found: "list[Outcome]", orders: "tuple[Order, ...]", terms: "Terms", as_json: bool
) -> None:
    """Write the overview, say what was done; fail where nothing was written."""
    from pretreat.quote.stock import stock_of
    from pretreat.report.files import refuse_if_open, replace_file
    from pretreat.report.hand.overview import COLUMNS, overview_csv, overview_workbook

    rows = [each.row for each in found]
    needs = ((n, need) for n, each in enumerate(found) for need in each.needs)
    book, table = (terms.folder / f"overview.{kind}" for kind in ("xlsx", "csv"))
    refuse_if_open(book)
    replace_file(book, overview_workbook(rows, stock_of(needs)))
    replace_file(table, overview_csv(rows))
    written = sum(bool(row.file) for row in rows)
    if as_json:
        quotes = [dict(zip(COLUMNS, row.values(), strict=True)) for row in rows]
        typer.echo(json.dumps({"quotes": quotes}, ensure_ascii=False, indent=1))
    if not written:
        faults = [_placed(orders[0], fault) for fault in found[0].faults]
        raise DesignError(*(faults if len(found) == 1 else ["no quote could be written"]))
    if not as_json:
        typer.echo(f"Quotes: {written} of {len(rows)} in {terms.folder}")
        drafts = [
            (row.file, each.why_draft)
            for row, each in zip(rows, found, strict=True)
            if row.status == "draft"
        ]
        if drafts:
            typer.echo(f"Drafts, not to be sent as offers: {len(drafts)} of {written}")
        for file, why in drafts[:MOST_DRAFTS_TOLD]:
            typer.echo(terminal_text(f"  {file}: {why}"))
        if len(drafts) > MOST_DRAFTS_TOLD:
            typer.echo(f"  and {len(drafts) - MOST_DRAFTS_TOLD} more, see {table.name}")
        typer.echo(f"Overview: {book} and {table.name}")


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(quote)
