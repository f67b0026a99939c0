"""Real groundwater analyses against PHREEQC 3.8.6 with wateq4f.dat.

The analyses stand outside the project, in the folder named by PRETREAT_WATERS
(real_waters.csv, openly licensed, licence and source per row); without it the test is skipped.
"""

import os
from pathlib import Path

import numpy as np
import pytest

from pretreat.chemistry.second_opinion import available
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import feed_water
from tests.chemistry.phreeqc_reference import PHASES, Reference, si_of

FOLDER = os.environ.get("PRETREAT_WATERS")
pytestmark = [
    pytest.mark.skipif(not FOLDER, reason="PRETREAT_WATERS does not name a folder of analyses"),
    pytest.mark.skipif(not available(), reason="PHREEQC cannot be loaded here"),
]
PER_SOURCE = 150
SYMBOLS = {"ca": "Ca", "mg": "Mg", "na": "Na", "k": "K", "sr": "Sr", "ba": "Ba", "fe": "Fe",
           "mn": "Mn", "nh4": "NH4", "so4": "SO4", "cl": "Cl", "f": "F", "no3": "NO3",
           "sio2": "SiO2", "b": "B", "po4": "PO4", "br": "Br"}  # fmt: skip
STRONGEST = 0.5  # mol/kg


@pytest.fixture(scope="module")
def table():
    import pandas as pd

    waters = pd.read_csv(Path(FOLDER) / "real_waters.csv", low_memory=False)
    sound = waters[waters.pH.between(4, 11) & (waters.alk_mg_L_CaCO3 > 0)]
    sound = sound.assign(temp_C=sound.temp_C.fillna(25.0))
    parts = [g.sample(min(len(g), PER_SOURCE), random_state=1) for _, g in sound.groupby("source")]
    assert sum(map(len, parts)) >= 300
    assert set(sound.source) == set(pd.concat(parts).source)
    return pd.concat(parts)


def test_saturation_indexes_at_three_recoveries(table):
    """Median difference at most 0.005, 99th percentile at most 0.03, for each mineral."""
    mg_l = {key: table[name].fillna(0.0).to_numpy() for key, name in SYMBOLS.items()}
    alkalinity, temp = table.alk_mg_L_CaCO3.to_numpy(), table.temp_C.to_numpy()
    feed = feed_water(mg_l, alkalinity, table.pH.to_numpy(), temp)
    reference = Reference()
    feeds = [
        reference.feed({k: v[i] for k, v in mg_l.items()}, alkalinity[i], table.pH.iloc[i], temp[i])
        for i in range(len(table))
    ]
    differences: dict[str, list[float]] = {m: [] for m in (*PHASES, "ph")}
    for recovery in (0.0, 0.5, 0.75):
        brine = concentrate(feed, recovery)
        assert np.all(brine.speciation.converged)
        si = {m: brine.speciation.si(m) for m in PHASES}
        for i, fresh in enumerate(feeds):
            row = fresh
            if recovery > 0:
                totals = {k: v[i] for k, v in feed.speciation.totals_mol_kg.items()}
                row = reference.concentrate(fresh, totals, 1 / (1 - recovery), temp[i])
            if row["mu"] > STRONGEST:
                continue
            differences["ph"].append(abs(brine.ph[i] - row["pH"]))
            for mineral in PHASES:
                expected = si_of(row, mineral)
                if np.isfinite(expected):
                    differences[mineral].append(abs(si[mineral][i] - expected))
    for name, values in differences.items():
        assert len(values) > 100, name
        assert np.median(values) <= 0.005, name
        assert np.quantile(values, 0.99) <= (0.02 if name == "ph" else 0.03), name
