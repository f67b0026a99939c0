"""The tables [quote] and [packages] of the site file: terms of the supplier, own packages."""

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core import units
from pretreat.core.errors import DesignError, UnitError, one_of
from pretreat.core.tables import Row, rows
from pretreat.site.design import OwnLine, OwnPackage
from pretreat.site.keys import POSITIVE, Keys, date, flag, measured, number, path, plain, text, word

LANGUAGES, PERCENT = ("en", "es", "de"), 100.0
MOST_MARGIN, MOST_VISITS, MOST_DAYS = 95.0, 52.0, 3650.0
MOST_LETTERS, MOST_LINES = 2000, 30
DEFAULT_RATE = "default"  # of a table of tax rates
MEDIUM = "_medium"  # end of the name of an item that a filter is filled with
EQUIPMENT = "equipment"  # own lines of the plant itself, with a heading and a rate of their own
# Sold as delivered while their prices per kg are those of the pure chemical.
DELIVERED = frozenset({"acid", "alkali", "chlorine"})


def _words(where: str, value: Any, base: Path) -> str:
    """Read a text of some lines, or a list of texts, one a line."""
    parts = value if isinstance(value, list) else [value]
    rows = [
        row for part in parts for row in (part.splitlines() if isinstance(part, str) else [part])
    ]
    found = "\n".join(text(where, row, base).strip() for row in rows).strip()
    if len(found) > MOST_LETTERS or found.count("\n") >= MOST_LINES:
        raise DesignError(
            f"{where}: at most {MOST_LETTERS:,} letters on {MOST_LINES} lines; shorten it"
        )
    return found


def _number_of_quote(where: str, value: Any, base: Path) -> str:
    if isinstance(value, int) and not isinstance(value, bool):
        value = str(value)
    return text(where, value, base).strip()


def _tax(where: str, value: Any, base: Path) -> Mapping[str, float]:
    """Read one rate of tax, or rates by what is sold with ``default`` for the rest."""
    read = number(0.0, PERCENT, "%")
    if not isinstance(value, Mapping):
        return MappingProxyType({DEFAULT_RATE: float(read(where, value, base))})
    rates: dict[str, float] = {}
    for name, rate in value.items():
        key = name if name == DEFAULT_RATE else _kind(f"{where}.{name}", name)
        rates[key] = float(read(f"{where}.{name}", rate, base))
    if DEFAULT_RATE not in rates:
        raise DesignError(f"{where}: write also a rate for the rest, as in default = 19")
    return MappingProxyType(rates)


def _kind(where: str, name: str) -> str:
    """Return what is sold, by a name that a rate of tax may have."""
    names = [*sold(), EQUIPMENT]
    if name not in names:
        raise DesignError(f"{where}: not in the price list{one_of(name, names)}")
    return name if name == EQUIPMENT else item_of(where, name)


def _media(where: str, value: Any, base: Path) -> tuple[str, ...] | None:
    """Read the stages whose media are sold: all, none, or a list of them."""
    if value == "all":
        return None
    names = value if isinstance(value, list) else [] if value == "none" else str(value).split(",")
    stages = [key.removesuffix(MEDIUM) for key in sold() if key.endswith(MEDIUM)]
    found = []
    for name in (str(each).strip() for each in names):
        key = sold()[name].key.removesuffix(MEDIUM) if name in sold() else name
        if key not in stages:
            raise DesignError(
                f'{where}: write "all", "none", or stages with a medium{one_of(name, stages)}'
            )
        found.append(key)
    return tuple(dict.fromkeys(found))


def _lines(where: str, value: Any, base: Path) -> tuple[OwnLine, ...]:
    """Read lines that the supplier adds, prices as they are sold."""
    if not isinstance(value, list):
        raise DesignError(f'{where}: write lines as in [{{ text = "New valve", price = 120 }}]')
    return tuple(_line(f"{where}, line {n}", line, base) for n, line in enumerate(value, start=1))


def _line(here: str, line: Any, base: Path) -> OwnLine:
    if not isinstance(line, Mapping) or not {"text", "price"} <= set(line):
        raise DesignError(f'{here}: write text and price, as in {{ text = "Valve", price = 9 }}')
    known = list(OwnLine.__struct_fields__)
    unknown = next((key for key in line if key not in known), None)
    if unknown is not None:
        raise DesignError(f"{here}: unknown key '{unknown}'" + one_of(unknown, known))
    rate, kind = line.get("tax_percent"), line.get("kind", "")
    if isinstance(rate, str) and rate in {*sold(), EQUIPMENT}:
        raise DesignError(
            f'{here}: tax_percent is a number; write kind = "{rate}" for the rate of that kind'
        )
    not_negative, percent = number(0.0, POSITIVE, ""), number(0.0, PERCENT, "%")
    return OwnLine(
        text(f"{here}, text", line["text"], base),
        float(not_negative(f"{here}, price", line["price"], base)),
        float(not_negative(f"{here}, quantity", line.get("quantity", 1), base)),
        text(f"{here}, unit", line.get("unit", ""), base),
        flag(f"{here}, optional", line.get("optional", False), base),
        _kind(f"{here}, kind", text(f"{here}, kind", kind, base)) if kind else "",
        None if rate is None else float(percent(f"{here}, tax_percent", rate, base)),
    )


def rate_alone(terms: Mapping[str, Any]) -> list[str]:
    """Refuse a rate of tax of one line beside lines that have none, which would be "not taxed".

    Parameters
    ----------
    terms : mapping
        The table [quote] as it was read. [-]

    Returns
    -------
    list of str
        Faults, none as a rule. [-]
    """
    lone = [line for line in terms.get("lines", ()) if line.tax_percent is not None]
    if not lone or terms.get("tax_percent"):
        return []
    return [
        f"[quote] lines: '{lone[0].text}' has a rate of tax and the rest has none; write the rate "
        "of the rest too, as in tax_percent = 19"
    ]


QUOTE: Keys = {
    **{name: (name, _words, "") for name in ("customer", "address", "terms", "letterhead")},
    **{
        f"contact{part}": (f"contact{part}", text, "")
        for part in ("", "_function", "_phone", "_email")
    },
    "exclusions": ("exclusions", _words, ""),
    "delivery": ("delivery", _words, ""),
    "number": ("number", _number_of_quote, ""),
    "date": ("date", date, ""),
    "logo": ("logo", path, ""),
    "font": ("font", path, ""),
    "language": ("language", word(*LANGUAGES), ""),
    "currency": ("currency", text, ""),
    "tax_percent": ("tax_percent", _tax, ""),
    "discount_percent": ("discount_percent", number(0.0, PERCENT, "%"), "bare"),
    "margin_percent": ("margin_percent", number(0.0, MOST_MARGIN, "%"), "bare"),
    **plain("visits_per_year", 0.0, MOST_VISITS),
    **plain("valid_days", 1.0, MOST_DAYS),
    **measured("pallet_load", "kg", "kg", 0.0, POSITIVE, open_low=True),
    "consumables": ("consumables", word("optional", "included", "none"), ""),
    "visits": ("visits", word("optional", "included"), ""),
    "media": ("media", _media, ""),
    "lines": ("lines", _lines, ""),
    "accept_verdict": ("accept_verdict", flag, ""),
}


class Sold(Struct, frozen=True):
    """An item of the price list: its size and unit, the word of its package, its price key.

    ``us`` is the size in the US trade and ``us_package`` its word where it is another one,
    ``kg_per_l`` the mass of what is sold by weight and by volume.
    """

    key: str
    size: float
    unit: str
    package: str
    price: str
    us: str = ""
    us_package: str = ""
    kg_per_l: float | None = None

    @property
    def by_weight(self) -> bool:
        """Whether its bags are called by their weight, though its price is that of a litre."""
        return self.unit == "L" and self.kg_per_l is not None and self.us.endswith("lb")

    @property
    def short(self) -> str:
        """Name that its price has, as in [packages]."""
        return self.price.partition("_per_")[0].removesuffix("_each")


@lru_cache(maxsize=1)
def sold() -> Mapping[str, Sold]:
    """Return the items of the price list by key, and by the short name that their price has.

    Returns
    -------
    mapping of str to Sold
        "softener_medium" and, after "resin_per_l", "resin". [-]
    """
    found: dict[str, Sold] = {}
    table: tuple[Row, ...] = rows("packages.csv")
    for row in table:
        by_mass = float(row["kg_per_l"]) if row["kg_per_l"] else None
        key, size = row["key"], float(row["size"])
        item = Sold(
            key,
            size,
            row["unit"],
            row["package"],
            row["price"],
            row["us"],
            row["us_package"],
            by_mass,
        )
        found[item.key] = item
    for item in tuple(found.values()):
        found.setdefault(item.short, item)
    return MappingProxyType(found)


def item_of(where: str, name: str) -> str:
    """Return the key of an item of the price list by either of its names.

    Parameters
    ----------
    where : str
        Place, for messages. [-]
    name : str
        Such as "resin" or "softener_medium". [-]

    Returns
    -------
    str
        Key of data/packages.csv. [-]
    """
    item = sold().get(name)
    if item is None:
        raise DesignError(f"{where}: not in the price list{one_of(name, list(sold()))}")
    return item.key


def read_packages(table: Any, base: Path) -> tuple[dict[str, OwnPackage], dict[str, float]]:
    """Read own packages, and prices of a unit that follow from prices of packages.

    Parameters
    ----------
    table : mapping
        The table [packages]: a size such as "25 kg", or a table of size, package and price. [-]
    base : Path
        Folder of the file. [-]

    Returns
    -------
    tuple of dict
        Packages by item, and prices by their keys; a package of a solution keeps its price. [-]

    Raises
    ------
    DesignError
        One line per fault.
    """
    if not isinstance(table, Mapping):
        raise DesignError('[packages]: write sizes as in resin = "25 L"')
    found: dict[str, OwnPackage] = {}
    prices: dict[str, float] = {}
    faults: list[str] = []
    for name, value in table.items():
        where = f"[packages] {name}"
        try:
            item = sold()[item_of(where, name)]
            found[item.key], price = _package(where, item, value, base)
        except DesignError as problem:
            faults.extend(problem.faults)
            continue
        if price is not None and item.key in DELIVERED:
            found[item.key] = replace(found[item.key], price=price)
        elif price is not None:
            prices[item.price] = price / found[item.key].size
    if faults:
        raise DesignError(*faults)
    return found, prices


def _package(where: str, item: Sold, value: Any, base: Path) -> tuple[OwnPackage, float | None]:
    """Return a package and its price, None where none is given."""
    given = value if isinstance(value, Mapping) else {"size": value}
    unknown = [key for key in given if key not in {"size", "package", "price"}]
    if unknown:
        raise DesignError(f"{where}: unknown key '{unknown[0]}'; write size, package and price")
    if not item.size:
        raise DesignError(f"{where}: is sold by measure, in {item.unit}, not in packages")
    if "size" not in given:
        raise DesignError(f'{where}: write its size, as in size = "25 {item.unit}"')
    size, shown, by_volume = _size(where, item, given["size"])
    package = text(f"{where}, package", given.get("package", ""), base)
    price = given.get("price")
    if price is not None:
        price = float(number(0.0, POSITIVE, "")(f"{where}, price", price, base))
    return OwnPackage(size, shown, package, by_volume=by_volume), price


def _size(where: str, item: Sold, value: Any) -> tuple[float, str, bool]:
    """Return a size in the unit of the item, as it was written, and whether it is in litres."""
    if item.unit == "-":
        size = float(number(0.0, POSITIVE, "", open_low=True)(where, value, Path()))
        return size, f"{value:g}", False
    if not isinstance(value, str):
        raise DesignError(f'{where} = {value!r}: write number and unit, as in "25 {item.unit}"')
    try:
        size, by_volume = _measured(item, value)
    except UnitError as problem:
        raise DesignError(f"{where}: {problem}") from None
    if not 0.0 < size < POSITIVE:
        raise DesignError(f"{where} = '{value}': must be above 0 {item.unit}")
    return size, _shown(item, value, size, by_volume=by_volume), by_volume


def _shown(item: Sold, value: str, size: float, *, by_volume: bool) -> str:
    """Return a size as it was written, that of a liquid with its weight."""
    try:
        units.quantity(value, "L")
    except UnitError:
        return value.strip()
    liquid = item.unit == "kg" and not by_volume
    return with_weight(value.strip(), size) if liquid else value.strip()


def with_weight(shown: str, kg: float) -> str:
    """Return a volume with the weight that it holds, as in "5 gal (50.1 lb)".

    Parameters
    ----------
    shown : str
        The volume as it was written. [-]
    kg : float
        What it weighs. [kg]

    Returns
    -------
    str
        In pounds beside gallons. [-]
    """
    unit = "lb" if shown.endswith("gal") else "kg"
    return f"{shown} ({kg / units.quantity(f'1 {unit}', 'kg'):.3g} {unit})"


def _measured(item: Sold, value: str) -> tuple[float, bool]:
    """Return a size in the unit of the item, or by weight or volume where it is sold so too.

    A volume of a solution stays one, until it is known which chemical it is.
    """
    try:
        return units.quantity(value, item.unit), False
    except UnitError:
        if item.kg_per_l is None and item.key not in DELIVERED:
            raise
        try:
            if item.key in DELIVERED:
                return units.quantity(value, "L"), True
            if item.unit == "kg":
                return units.quantity(value, "L") * (item.kg_per_l or 1.0), False
            return units.quantity(value, "kg") / (item.kg_per_l or 1.0), False
        except UnitError:
            pass
        raise


@lru_cache(maxsize=1)
def us_packages() -> Mapping[str, OwnPackage]:
    """Return the packages of the US trade, by item, where they are other ones.

    Returns
    -------
    mapping of str to OwnPackage
        Sizes in the units of the items, and as written. [-]
    """
    items = {item.key: item for item in sold().values() if item.us}
    return MappingProxyType({key: _of_us_trade(item) for key, item in items.items()})


def _of_us_trade(item: Sold) -> OwnPackage:
    size, by_volume = _measured(item, item.us)
    shown = _shown(item, item.us, size, by_volume=by_volume)
    return OwnPackage(size, shown, item.us_package, by_volume=by_volume)


class _Size(Struct, frozen=True):
    """Reads a package of the table [packages], as a form has it: a text, or a table in braces."""

    item: Sold

    def __call__(self, where: str, value: Any, base: Path) -> Any:
        """Return it as it was typed; raise DesignError where it is no package."""
        _package(where, self.item, value, base)
        return value


PACKAGES: Keys = {
    item.short: (item.short, _Size(item), "")
    for item in sold().values()
    if item.size and item.price not in {"freight", "visit_each"}
}
