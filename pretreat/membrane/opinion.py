"""The second opinion by PHREEQC beside our own saturation indexes."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from pretreat.chemistry.second_opinion import (
    DATABASES,
    PHASES,
    Concentration,
    Opinion,
    available,
    concentrate_opinions,
)
from pretreat.chemistry.species import minerals
from pretreat.core.basis import Flag, Series, citations
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.membrane.balance import (
    CARBON,
    array_factor,
    carbon_passage,
    concentration_factor,
)
from pretreat.membrane.concentrate import Concentrate
from pretreat.membrane.feed import FeedWater


def _f(value: Any) -> float:
    return float(np.asarray(value))


def concentration(brine: Concentrate, rho: float = 0.0, wall_factor: float = 1.0) -> Concentration:
    """Return what a machine does to the components of its fresh feed.

    Parameters
    ----------
    brine : Concentrate
        Concentrate of a single water at one recovery. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]
    wall_factor : float
        Concentration polarisation; 1 is bulk. [-]

    Returns
    -------
    Concentration
        Factors by component, "CO3" for the alkalinity. [-]
    """
    y = _f(brine.recovery)
    names = {k: analytes()[k].component for k in brine.passage if k != CARBON}
    own = {name: _f(brine.passage[k]) for k, name in names.items() if name}
    return Concentration(
        drain={n: concentration_factor(y, v, rho) * wall_factor for n, v in own.items()},
        array={n: array_factor(y, v, rho) for n, v in own.items()},
        carbon=concentration_factor(y * (1.0 - rho), _f(carbon_passage(brine.passage))),
        rho=rho,
        wall=wall_factor,
    )


def _maybe(opinions: Mapping[str, Opinion], database: str, pick: Any) -> float | None:
    return float(pick(opinions[database])) if database in opinions else None


def _compared(name: str, own: float, others: list[float | None]) -> tuple[str | float | None, ...]:
    return (name, own, *others, *(None if o is None else own - o for o in others))


def enter_second_opinion(
    ledger: Ledger, feed: FeedWater, brine: Concentrate, rho: float = 0.0, wall_factor: float = 1.0
) -> None:
    """Enter the saturation indexes by PHREEQC with two databases, and the differences.

    PHREEQC starts from the fresh feed and goes its own way to the concentrate.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    feed : FeedWater
        The fresh feed, a single water. [-]
    brine : Concentrate
        Its concentrate at the design point. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]
    wall_factor : float
        Concentration polarisation; 1 is bulk. [-]
    """
    water, fresh = brine.speciation, feed.speciation
    if not available():
        text = "PHREEQC cannot be loaded on this machine: no second opinion"
        ledger.flag(Flag("no_second_opinion", "info", text))
        return
    if not np.isfinite(_f(feed.alkalinity_mg_l_caco3) + _f(fresh.alkalinity_eq_kg)):
        return
    opinions = {
        o.database: o
        for o in concentrate_opinions(
            {k: _f(v) for k, v in fresh.totals_mol_kg.items() if k != "CO3"},
            _f(fresh.alkalinity_eq_kg),
            _f(fresh.ph),
            _f(fresh.temp_c),
            concentration(brine, rho, wall_factor),
        )
    }
    for database in DATABASES:
        if database not in opinions:
            ledger.flag(
                Flag(
                    "no_second_opinion",
                    "caution",
                    f"PHREEQC with {database} finds no solution for this water: its "
                    "column stays blank, and ours deserves a doubt",
                )
            )
    table: list[tuple[str | float | None, ...]] = []
    for name, own, pick in (
        ("pH", _f(water.ph), lambda o: o.ph),
        (
            "ionic strength, mol/kg",
            _f(water.ionic_strength_mol_kg),
            lambda o: o.ionic_strength_mol_kg,
        ),
    ):
        table.append(_compared(name, own, [_maybe(opinions, d, pick) for d in DATABASES]))
    for key in PHASES:
        own = _f(water.si(key))
        others = [opinions[d].si.get(key) if d in opinions else None for d in DATABASES]
        table.append(_compared(f"SI {minerals()[key].name}", own, others))
    ledger.table(
        Series(
            "second_opinion.si",
            "The concentrate at the design point, second opinion by PHREEQC",
            ("mineral", "ours", "wateq4f", "pitzer", "less_wateq4f", "less_pitzer"),
            ("-",) * 6,
            tuple(table),
            method="from the fresh feed's totals, alkalinity and pH by PHREEQC's own carbonate, "
            "recycle included; Pitzer database with barite and celestite of wateq4f.dat and the "
            "pair BaSO4(aq)",
            cites=citations(concentrate_opinions),
            headings=(
                "",
                "This program",
                "PHREEQC wateq4f.dat",
                "PHREEQC pitzer.dat",
                "less wateq4f.dat",
                "less pitzer.dat",
            ),
        )
    )
    replaced = opinions["pitzer.dat"].replaced if "pitzer.dat" in opinions else ()
    if replaced:
        ledger.flag(
            Flag(
                "pitzer_replaced_ions",
                "info",
                f"pitzer.dat has no {', '.join(replaced)}: replaced eq for eq by Cl or "
                "Na in the second opinion, its fluorite stays blank",
            )
        )
