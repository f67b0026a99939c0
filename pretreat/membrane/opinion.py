"""The second opinion by PHREEQC beside our own saturation indexes."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from pretreat.chemistry.second_opinion import (
    DATABASES,
    PHASES,
    Opinion,
    available,
    second_opinions,
)
from pretreat.chemistry.species import minerals
from pretreat.core.basis import Flag, Series
from pretreat.core.results import Ledger
from pretreat.membrane.concentrate import Concentrate


def _f(value: Any) -> float:
    return float(np.asarray(value))


def _maybe(opinions: Mapping[str, Opinion], database: str, pick: Any) -> float | None:
    return float(pick(opinions[database])) if database in opinions else None


def _compared(name: str, own: float, others: list[float | None]) -> tuple[str | float | None, ...]:
    return (name, own, *others, *(None if o is None else own - o for o in others))


def enter_second_opinion(ledger: Ledger, brine: Concentrate) -> None:
    """Enter the saturation indexes by PHREEQC with two databases, and the differences.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    brine : Concentrate
        The concentrate at the design point. [-]
    """
    water = brine.speciation
    if not available():
        text = "PHREEQC cannot be loaded on this machine: no second opinion"
        ledger.flag(Flag("no_second_opinion", "info", text))
        return
    if not np.isfinite(water.inorganic_carbon_mol_kg + water.alkalinity_eq_kg):
        return
    totals = {k: _f(v) for k, v in water.totals_mol_kg.items() if k != "CO3"}
    opinions = {
        o.database: o
        for o in second_opinions(
            totals,
            _f(water.alkalinity_eq_kg),
            _f(water.inorganic_carbon_mol_kg),
            _f(water.temp_c),
            _f(water.ph),
        )
    }
    for database in DATABASES:
        if database not in opinions:
            ledger.flag(Flag("no_second_opinion", "caution",
                             f"PHREEQC with {database} finds no solution for this water: its "
                             "column stays blank, and ours deserves a doubt"))  # fmt: skip
    table: list[tuple[str | float | None, ...]] = []
    for name, own, pick in (
        ("pH", _f(water.ph), lambda o: o.ph),
        ("ionic strength, mol/kg", _f(water.ionic_strength_mol_kg),
         lambda o: o.ionic_strength_mol_kg),
    ):  # fmt: skip
        table.append(_compared(name, own, [_maybe(opinions, d, pick) for d in DATABASES]))
    for key in PHASES:
        own = _f(water.si(key))
        others = [opinions[d].si.get(key) if d in opinions else None for d in DATABASES]
        table.append(_compared(f"SI {minerals()[key].name}", own, others))
    ledger.table(
        Series(
            "second_opinion.si",
            "The concentrate at the design point, second opinion by PHREEQC",
            ("quantity", "own", "wateq4f", "pitzer", "less_wateq4f", "less_pitzer"),
            ("-",) * 6,
            tuple(table),
            method="same totals, alkalinity and inorganic carbon; pH solved again; barite and "
            "celestite of the Pitzer database with the constants of wateq4f.dat",
            cites=("PA13",),
            headings=("", "This program", "PHREEQC wateq4f.dat", "PHREEQC pitzer.dat",
                      "less wateq4f.dat", "less pitzer.dat"),
        )
    )  # fmt: skip
    replaced = opinions["pitzer.dat"].replaced if "pitzer.dat" in opinions else ()
    if replaced:
        ledger.flag(Flag("pitzer_replaced_ions", "info",
                         f"pitzer.dat has no {', '.join(replaced)}: replaced eq for eq by Cl or "
                         "Na in the second opinion, its fluorite stays blank"))  # fmt: skip
