"""What a result of a report is called, and its unit, by its key."""

from functools import lru_cache

from pretreat.core.tables import analytes, rows
from pretreat.lab.interpret.traces import traces


@lru_cache(maxsize=1)
def _properties() -> dict[str, tuple[str, str]]:
    found = {r["key"]: (r["name"], r["unit"]) for r in rows("properties.csv")}
    return found | {t.property: (t.name, t.unit) for t in traces().values()}


def name_and_unit(key: str) -> tuple[str, str]:
    """Return how a result is called and in which unit it is kept.

    Parameters
    ----------
    key : str
        Key of data/analytes.csv, data/properties.csv or of a property of data/traces.csv. [-]

    Returns
    -------
    tuple of str
        Name, as it stands within a sentence, and unit; a key that is not known is its own
        name, without a unit. [-]
    """
    ion = analytes().get(key)
    if ion is not None:
        return ion.name, "mg/L"
    return _properties().get(key, (key.replace("_", " "), ""))
