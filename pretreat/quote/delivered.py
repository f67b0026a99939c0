"""Solutions as they are bought: which chemical, its strength as delivered, kg and price of it."""

from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.errors import DesignError
from pretreat.core.law import Number, law, valid
from pretreat.site.design import DesignBasis, OwnPackage, Prices
from pretreat.site.quote_keys import DELIVERED, with_weight
from pretreat.stages.dosing.figures import Chemical, chemicals
from pretreat.stages.packages import Package
from pretreat.stages.train import Entries

C = "consumables"
PERCENT = 100.0
HYDROCHLORIC, HYPOCHLORITE = "hydrochloric", "hypochlorite"
BASED = ("alkali", "product_alkali")


@law
@valid(pure_kg_year=[0, None], percent="(0, 100]", kg_per_l=(0, None))
def delivered_kg_year(pure_kg_year: Number, percent: Number, kg_per_l: Number = 1.0) -> Number:
    """Mass to buy = pure chemical / strength as delivered; a volume percent has a density.

    Worked by hand: 186 kg of sulfuric acid are 200 kg of 93 %. 25 kg of chlorine are 200 L of
    hypochlorite of 12.5 % by volume, 240 kg at 1.2 kg/L.

    >>> round(delivered_kg_year(186.0, 93.0), 9)
    200.0
    >>> round(delivered_kg_year(25.0, 12.5, 1.2), 9)
    240.0
    """
    return pure_kg_year * PERCENT / percent * kg_per_l


@law
@valid(percent="(0, 100]", kg_per_l=(0, None))
def delivered_price(pure_price: Number, percent: Number, kg_per_l: Number = 1.0) -> Number:
    """Price of a kilogram as delivered = price of a kilogram of the pure chemical x strength.

    Worked by hand: 2 a kilogram of pure acid, of 93 %; 6 a kilogram of chlorine, of which a
    kilogram of hypochlorite at 1.2 kg/L holds 125 / 1200.

    >>> round(delivered_price(2.0, 93.0), 9)
    1.86
    >>> round(delivered_price(6.0, 12.5, 1.2), 9)
    0.625
    """
    return pure_price * percent / PERCENT / kg_per_l


class Bought(Struct, frozen=True):
    """A chemical that is bought as a solution, and its strength where the site file says it."""

    chemical: Chemical
    own_percent: float | None = None

    @property
    def percent(self) -> float:
        """Strength as delivered. [%]."""
        return self.chemical.percent if self.own_percent is None else self.own_percent


def bought(
    item: str, entries: Entries, design: DesignBasis, users: tuple[str, ...]
) -> Bought | None:
    """Return the one chemical that an item is, as it is bought.

    Parameters
    ----------
    item : str
        Key of data/packages.csv. [-]
    entries : Entries
        Ledger of the train. [-]
    design : DesignBasis
        The engineer's choices. [-]
    users : tuple of str
        Keys of what uses it. [-]

    Returns
    -------
    Bought or None
        None for what is no solution, and where its users take different ones. [-]
    """
    if item not in DELIVERED:
        return None
    stages = {key.partition(".")[0] for key in users}
    kinds = {_kind(item, stage, entries, design) for stage in stages}
    kind = kinds.pop() if len(kinds) == 1 else None
    if kind is None:
        return None
    own = [getattr(design, name).delivered_percent for name in _tables(item, kind, design)]
    return Bought(chemicals()[kind], next((one for one in own if one is not None), None))


def _kind(item: str, stage: str, entries: Entries, design: DesignBasis) -> str | None:
    if item == "chlorine":
        return HYPOCHLORITE
    if stage in BASED:
        return str(getattr(design, stage).base)
    if stage == "weak_acid":
        return HYDROCHLORIC
    kind = entries.ledger.figure("acid.kind")
    return None if kind is None else str(kind.value)


def _tables(item: str, kind: str, design: DesignBasis) -> tuple[str, ...]:
    """Return the tables of the site file that may say the strength."""
    if item == "acid":
        return ("acid",) if design.acid.acid == kind else ()
    return BASED if item == "alkali" else (item,)


def enter_delivered(entries: Entries, item: str, what: Bought) -> str:
    """Enter what is bought and how much of it a year takes; return the key of that.

    Parameters
    ----------
    entries : Entries
        Ledger of the train. [-]
    item : str
        Key of data/packages.csv. [-]
    what : Bought
        As `bought` returns. [-]

    Returns
    -------
    str
        Key of the mass as delivered. [kg/year]
    """
    chemical, own = what.chemical, what.own_percent
    name = chemical.name[0].upper() + chemical.name[1:]
    entries.word(f"costs.{item}_kind", chemical.key, f"{name} is bought", origin="assumed")
    entries.ledger.rests(f"costs.{item}_kind", held=True)
    entries.given(
        f"costs.{item}_percent",
        what.percent,
        "%",
        f"{name}: strength as delivered",
        origin="assumed" if own is None else "chosen",
        method=f"delivered as {chemical.product}" if own is None else "as given",
        cites=(chemical.source,) if own is None else (),
        evidence=chemical.evidence,
    )
    strength = entries.ledger.number(f"{item}.solution_g_l")
    if strength and strength >= chemical.product_g_l * what.percent / chemical.percent:
        entries.word(f"costs.{item}_fed", "undiluted", f"{name} is fed", origin="assumed")
        entries.ledger.rests(f"costs.{item}_fed", held=True)
    more = {}
    if chemical.kg_per_l is not None:
        more["kg_per_l"] = f"costs.{item}_kg_per_l"
        entries.given(
            more["kg_per_l"],
            chemical.kg_per_l,
            "kg/L",
            f"{name}: density as delivered",
            cites=(chemical.source,),
            evidence=chemical.evidence,
            method=chemical.where,
        )
    key = f"{C}.{item}_delivered_per_year"
    entries.law(
        key,
        delivered_kg_year,
        pure_kg_year=f"{C}.{item}_per_year",
        percent=f"costs.{item}_percent",
        **more,
        label=f"{name} per year, as delivered",
        unit="kg/year",
    )
    return key


def as_bought(row: Package, entries: Entries) -> Package:
    """Return a package with the name of the chemical that is in it.

    Parameters
    ----------
    row : Package
        Row of data/packages.csv, or the user's own package. [-]
    entries : Entries
        Ledger of the train. [-]

    Returns
    -------
    Package
        The same where it is no solution, or which one is not known. [-]
    """
    kind = entries.ledger.figure(f"costs.{row.key}_kind")
    if row.key not in DELIVERED or kind is None:
        return row
    chemical = chemicals()[str(kind.value)]
    name = f"{chemical.name[0].upper()}{chemical.name[1:]}, as delivered"
    return replace(row, name=name, package=chemical.package or row.package)


G_PER_KG = 1000.0


def by_weight(own: OwnPackage, item: str, entries: Entries) -> OwnPackage:
    """Return a package of a solution that is sold by volume with its weight.

    Parameters
    ----------
    own : OwnPackage
        Its size in litres. [-]
    item : str
        Key of data/packages.csv. [-]
    entries : Entries
        Ledger of the train; which chemical it is, is entered before. [-]

    Returns
    -------
    OwnPackage
        Its size in kg, at the density of data/chemicals.csv; both are shown. [-]

    Raises
    ------
    DesignError
        For a powder, and where it is not known which chemical it is.
    """
    kind = entries.ledger.figure(f"costs.{item}_kind")
    chemical = None if kind is None else chemicals()[str(kind.value)]
    if chemical is None or chemical.package:
        what = "which chemical it is, is not known" if chemical is None else "it is a powder"
        raise DesignError(f'[packages] {item}: {what}: write its weight, as in "25 kg"')
    density = chemical.kg_per_l or chemical.product_g_l * PERCENT / chemical.percent / G_PER_KG
    mass = own.size * density
    return replace(own, size=mass, shown=with_weight(own.shown, mass), by_volume=False)


def enter_delivered_price(
    entries: Entries, row: Package, prices: Prices, own: OwnPackage | None, currency: str
) -> str:
    """Enter the price of a kilogram as delivered, once; return its key.

    Parameters
    ----------
    entries : Entries
        Ledger of the train; the price of the pure chemical is entered. [-]
    row : Package
        The package, as `as_bought` returns. [-]
    prices : Prices
        Prices of the pure chemicals. [-]
    own : OwnPackage or None
        The package of the user; a price of it goes before that of the pure chemical. [-]
    currency : str
        The currency. [-]

    Returns
    -------
    str
        Key of the price. [currency/kg]
    """
    key, unit = f"costs.{row.key}_price_per_kg_delivered", f"{currency}/kg"
    if key in entries.ledger:
        return key
    label = f"{row.name}: price of a kilogram"
    if own is not None and own.price is not None:
        entries.given(
            key, own.price / own.size, unit, label, origin="chosen", cites=(), method="as given"
        )
        return key
    more: dict[str, Any] = {}
    if f"costs.{row.key}_kg_per_l" in entries.ledger:
        more["kg_per_l"] = f"costs.{row.key}_kg_per_l"
    known = prices.of(row.price) is not None
    entries.law(
        key,
        delivered_price,
        pure_price=f"prices.{row.price}",
        percent=f"costs.{row.key}_percent",
        **more,
        label=label,
        unit=unit,
        flags=() if known else ("price_missing",),
    )
    return key
