"""The second opinion by PHREEQC beside our own saturation indexes."""

from typing import Any

import numpy as np

from pretreat.basis import Flag, Series
from pretreat.chemistry.second_opinion import PHASES, available, second_opinions
from pretreat.chemistry.species import minerals
from pretreat.membrane.concentrate import Concentrate
from pretreat.results import Ledger


def _f(value: Any) -> float:
    return float(np.asarray(value))


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
            totals, _f(water.alkalinity_eq_kg), _f(water.inorganic_carbon_mol_kg), _f(water.temp_c)
        )
    }
    table = []
    for key in PHASES:
        own = _f(water.si(key))
        others = [
            opinions[d].si.get(key) if d in opinions else None
            for d in ("wateq4f.dat", "pitzer.dat")
        ]
        table.append(
            (minerals()[key].name, own, *others, *(None if o is None else own - o for o in others))
        )
    ledger.table(
        Series(
            "second_opinion.si",
            "Saturation indexes at the design point, second opinion by PHREEQC",
            ("mineral", "own", "wateq4f", "pitzer", "less_wateq4f", "less_pitzer"),
            ("-",) * 6,
            tuple(table),
            method="same totals, alkalinity and inorganic carbon; pH solved again; barite and "
            "celestite of the Pitzer database with the constants of wateq4f.dat",
            cites=("PA13",),
            headings=("Mineral", "This program", "PHREEQC wateq4f.dat", "PHREEQC pitzer.dat",
                      "less wateq4f.dat", "less pitzer.dat"),
        )
    )  # fmt: skip
    replaced = opinions["pitzer.dat"].replaced if "pitzer.dat" in opinions else ()
    if replaced:
        ledger.flag(Flag("pitzer_replaced_ions", "info",
                         f"pitzer.dat has no {', '.join(replaced)}: replaced eq for eq by Cl or "
                         "Na in the second opinion, its fluorite stays blank"))  # fmt: skip
