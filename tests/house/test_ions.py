"""An ion of the speciation has what every other part needs of it, so that none drops it in silence."""

from pretreat.chemistry.second_opinion import ELEMENTS
from pretreat.core.tables import analytes, rows

IONS = {key: ion for key, ion in analytes().items() if ion.component}
# Carbonate passes the membranes as alkalinity and inorganic carbon, and is no input of its own.
CARBONATE = {"hco3", "co3"}


def _keys(table, column="key"):
    return {row[column] for row in rows(table)}


def test_every_ion_stands_in_every_table_that_needs_it():
    others = set(IONS) - CARBONATE
    assert {ion.component for ion in IONS.values()} <= _keys("components.csv", "component")
    assert set(IONS) <= _keys("aliases.csv")
    assert others <= {r["key"] for r in rows("uncertainty.csv") if r["kind"] == "analyte"}
    assert others <= _keys("ion_permeability.csv")
    assert {IONS[key].component for key in others} <= set(ELEMENTS)
