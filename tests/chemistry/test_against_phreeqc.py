"""Speciation against PHREEQC 3.8.6 with wateq4f.dat, on waters of our own.

The differences left are those of atomic weights (the database rounds them to four or five
digits) and of the density of water.
"""

import numpy as np
import pytest

from pretreat.chemistry.second_opinion import available
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import feed_water
from tests.chemistry.phreeqc_reference import PHASES, Reference, si_of
from tests.chemistry.waters import seeded_waters

pytestmark = pytest.mark.skipif(not available(), reason="PHREEQC cannot be loaded here")
CLOSE = 2e-4  # atomic weights of the database against IUPAC 2021
N = 120


@pytest.fixture(scope="module")
def waters():
    return seeded_waters(N)


@pytest.fixture(scope="module")
def reference_feeds(waters):
    mg_l, alkalinity, ph, temp = waters
    reference = Reference()
    rows = [
        reference.feed({k: v[i] for k, v in mg_l.items()}, alkalinity[i], ph[i], temp[i])
        for i in range(N)
    ]
    return reference, rows


@pytest.mark.parametrize("recovery", [0.0, 0.5, 0.75])
def test_saturation_indexes_and_ph(waters, reference_feeds, recovery):
    mg_l, alkalinity, ph, temp = waters
    reference, feeds = reference_feeds
    feed = feed_water(mg_l, alkalinity, ph, temp)
    brine = concentrate(feed, recovery)
    assert np.all(brine.speciation.converged)
    totals = feed.speciation.totals_mol_kg
    for i in range(N):
        row = feeds[i]
        if recovery > 0:
            each = {k: v[i] for k, v in totals.items()}
            row = reference.concentrate(feeds[i], each, 1 / (1 - recovery), temp[i])
        assert brine.ph[i] == pytest.approx(row["pH"], abs=CLOSE)
        assert brine.speciation.ionic_strength_mol_kg[i] == pytest.approx(row["mu"], rel=5e-4)
        for mineral in PHASES:
            assert brine.speciation.si(mineral)[i] == pytest.approx(si_of(row, mineral), abs=CLOSE)


def test_constants_are_those_of_the_database():
    """Every log K of our table at 25 °C equals the database's, reaction by reaction."""
    from importlib.resources import files

    from pretreat.core.tables import rows

    text = files("phreeqc").joinpath("databases/wateq4f.dat").read_text("utf-8", "replace")
    start, end = text.index("SOLUTION_SPECIES"), text.index("\nPHASES")
    published: dict[str, list[str]] = {}
    for line in text[start:end].splitlines():
        clean = line.split("#")[0].strip()
        if " = " in clean:
            published[clean] = current = []
        elif clean and published:
            current.append(clean)
    for row in rows("species.csv"):
        block = published[row["reaction"]]
        log_k = next(float(entry.split()[1]) for entry in block if entry.startswith("log_k"))
        assert float(row["log_k"]) == log_k, row["species"]
        analytic = next((e.split()[1:] for e in block if e.startswith("-analytic")), None)
        if analytic:
            ours = [float(row[f"a{i}"]) for i in range(1, 1 + len(analytic))]
            assert ours == [float(a) for a in analytic], row["species"]
