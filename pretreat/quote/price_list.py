"""A price list shared by many sites, laid under the prices of each."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pretreat.core.doors import Kind
from pretreat.core.errors import DesignError, one_of
from pretreat.site.file import with_metric_prices
from pretreat.site.quote_keys import DELIVERED, item_of, read_packages, sold
from pretreat.site.toml_file import read_toml

TABLES = ("prices", "packages")
PRICE_LIST = Kind("the price list", most_megabytes=1, error=DesignError)


def read_price_list(path: str | Path) -> dict[str, Any]:
    """Read a price list.

    Parameters
    ----------
    path : str or Path
        A TOML file with the tables [prices] and, for own packages, [packages]. [-]

    Returns
    -------
    dict
        Its tables; prices of packages stand among the prices, as prices of a unit. [-]

    Raises
    ------
    DesignError
        If it cannot be read, or holds something else.
    """
    path = Path(path)
    content = read_toml(path, PRICE_LIST)
    _check(path.name, content)
    return with_unit_prices(content, path)


def _check(name: str, content: Mapping[str, Any]) -> None:
    for key, table in content.items():
        if key not in TABLES:
            hint = one_of(key, list(TABLES)) if isinstance(table, Mapping) else ""
            raise DesignError(f"{name}: [{key}] is no table of a price list{hint}")
        if not isinstance(table, Mapping):
            raise DesignError(f"{name}: {key} must be a table, as in [{key}]")
    if not content:
        raise DesignError(f"{name}: no table [prices] in it")


def with_unit_prices(content: Mapping[str, Any], path: Path) -> dict[str, Any]:
    """Turn prices of packages into prices of a unit.

    Parameters
    ----------
    content : mapping
        Content of a site file or a price list. [-]
    path : Path
        The file, for messages. [-]

    Returns
    -------
    dict
        The content, in which no package but that of a solution has a price. [-]

    Raises
    ------
    DesignError
        If a package cannot be read, or has its price twice.
    """
    try:
        content = with_metric_prices(content)
    except DesignError as problem:
        raise DesignError(*(f"{path.name}: {fault}" for fault in problem.faults)) from None
    given = content.get("packages")
    prices = content.get("prices", {})
    if not isinstance(given, Mapping) or not isinstance(prices, Mapping):
        return dict(content)
    try:
        _, found = read_packages(given, path.parent)
    except DesignError as problem:
        raise DesignError(*(f"{path.name}: {fault}" for fault in problem.faults)) from None
    twice = sorted(set(found) & set(prices))
    if twice:
        raise DesignError(
            f"{path.name}: [prices] {twice[0]}: a price of its package is given too; leave one out"
        )
    packages = {
        item_of(name, name): {k: v for k, v in value.items() if k != "price"}
        if isinstance(value, Mapping) and item_of(name, name) not in DELIVERED
        else value
        for name, value in given.items()
    }
    return {**content, "prices": {**prices, **found}, "packages": packages}


def laid_under(
    content: Mapping[str, Any], price_list: Mapping[str, Any], path: Path
) -> dict[str, Any]:
    """Return the content of a site file over a price list, key by key.

    Parameters
    ----------
    content : mapping
        Content of the site file; its own prices and packages win. [-]
    price_list : mapping
        As `read_price_list` returns. [-]
    path : Path
        The site file, for messages. [-]

    Returns
    -------
    dict
        The content with what it lacked. [-]

    Raises
    ------
    DesignError
        If the site names another currency than the list: amounts are not converted.
    """
    found = with_unit_prices(content, path)
    _same_currency(found, price_list, path)
    price_list = _without_twice(price_list, found)
    for key in TABLES:
        own = found.get(key, {})
        if isinstance(own, Mapping) and (own or price_list.get(key)):
            found[key] = {**price_list.get(key, {}), **own}
    return found


def _without_twice(listed: Mapping[str, Any], content: Mapping[str, Any]) -> dict[str, Any]:
    """Return a list without the prices of solutions that a site gives in the other of two ways."""
    packages, prices = dict(listed.get("packages", {})), dict(listed.get("prices", {}))
    own_packages, own_prices = content.get("packages", {}), content.get("prices", {})
    for item in DELIVERED:
        listed_one, own, key = packages.get(item), own_packages.get(item), sold()[item].price
        if isinstance(own, Mapping) and "price" in own:
            prices.pop(key, None)
        if isinstance(listed_one, Mapping) and key in own_prices:
            packages[item] = {k: v for k, v in listed_one.items() if k != "price"}
    return {**listed, "prices": prices, "packages": packages}


def _same_currency(content: Mapping[str, Any], price_list: Mapping[str, Any], path: Path) -> None:
    """Refuse another currency than that of the list, wherever the site names it."""
    listed = price_list.get("prices", {}).get("currency")
    for table in ("prices", "quote"):
        terms = content.get(table)
        own = terms.get("currency") if isinstance(terms, Mapping) else None
        if not isinstance(own, str) or not isinstance(listed, str):
            continue
        if own.strip().casefold() != listed.strip().casefold():
            raise DesignError(
                f"{path.name}: [{table}] currency is {own.strip()}, the price list is in "
                f"{listed.strip()}: amounts are not converted; leave out [{table}] currency, or "
                f"name a price list in {own.strip()}"
            )
