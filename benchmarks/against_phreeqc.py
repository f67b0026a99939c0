"""Saturation indexes of real waters against PHREEQC with wateq4f.dat.

    python benchmarks/against_phreeqc.py FOLDER

FOLDER holds real_waters.csv (one analysis per row, mg/L as the ion). Every water with pH and
alkalinity is compared at recoveries 0, 0.5 and 0.75; prints median, 99th percentile and
largest difference per mineral, for pH, and per source of the waters.
"""

import sys
from pathlib import Path

import numpy as np
import pandas as pd

PROJECT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(PROJECT))

from pretreat.membrane.concentrate import concentrate  # noqa: E402
from pretreat.membrane.feed import feed_water  # noqa: E402
from tests.chemistry.phreeqc_reference import PHASES, Reference, si_of  # noqa: E402

SYMBOLS = {"ca": "Ca", "mg": "Mg", "na": "Na", "k": "K", "sr": "Sr", "ba": "Ba", "fe": "Fe",
           "mn": "Mn", "nh4": "NH4", "so4": "SO4", "cl": "Cl", "f": "F", "no3": "NO3",
           "sio2": "SiO2", "b": "B", "po4": "PO4", "br": "Br"}  # fmt: skip
RECOVERIES = (0.0, 0.5, 0.75)


def compared(table: pd.DataFrame) -> pd.DataFrame:
    mg_l = {key: table[name].fillna(0.0).to_numpy() for key, name in SYMBOLS.items()}
    alkalinity, ph = table.alk_mg_L_CaCO3.to_numpy(), table.pH.to_numpy()
    temp = table.temp_C.fillna(25.0).to_numpy()
    feed = feed_water(mg_l, alkalinity, ph, temp)
    reference = Reference()
    feeds = [
        reference.feed({k: v[i] for k, v in mg_l.items()}, alkalinity[i], ph[i], temp[i])
        for i in range(len(table))
    ]
    rows = []
    for recovery in RECOVERIES:
        brine = concentrate(feed, recovery)
        si = {m: brine.speciation.si(m) for m in PHASES}
        for i, fresh in enumerate(feeds):
            found = fresh
            if recovery > 0:
                totals = {k: v[i] for k, v in feed.speciation.totals_mol_kg.items()}
                found = reference.concentrate(fresh, totals, 1 / (1 - recovery), temp[i])
            row = {"id": table.id.iloc[i], "source": table.source.iloc[i], "recovery": recovery,
                   "converged": bool(brine.speciation.converged[i]), "strength": found["mu"],
                   "ph": abs(brine.ph[i] - found["pH"])}  # fmt: skip
            for mineral in PHASES:
                expected = si_of(found, mineral)
                row[mineral] = abs(si[mineral][i] - expected)
                row[f"{mineral}_missing"] = bool(np.isfinite(expected) and np.isnan(si[mineral][i]))
            rows.append(row)
    return pd.DataFrame(rows)


def main() -> None:
    table = pd.read_csv(Path(sys.argv[1]) / "real_waters.csv", low_memory=False)
    table = table[table.qc.isna() & table.pH.notna() & (table.alk_mg_L_CaCO3 > 0)]
    found = compared(table)
    print(f"{len(table)} waters x {len(RECOVERIES)} recoveries; converged "
          f"{found.converged.mean():.1%}; strongest {found.strength.max():.2f} mol/kg")  # fmt: skip
    print(f"{'':12s}{'n':>8s}{'median':>12s}{'99 %':>12s}{'largest':>12s}{'missing':>9s}")
    for name in (*PHASES, "ph"):
        values = found[name].dropna()
        missing = int(found[f"{name}_missing"].sum()) if name != "ph" else 0
        print(f"{name:12s}{len(values):8d}{values.median():12.6f}{values.quantile(0.99):12.6f}"
              f"{values.max():12.6f}{missing:9d}")  # fmt: skip
    print("\nlargest difference per source, any mineral")
    for source, part in found.groupby("source"):
        worst = part[list(PHASES)].max().max()
        print(f"  {source:24s}{part.id.nunique():6d} waters{worst:12.6f}")


if __name__ == "__main__":
    main()
