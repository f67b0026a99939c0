"""Of several results of what fouls or destroys membranes the highest counts, and it is told."""

from pretreat.core.tables import rows
from pretreat.lab.interpret.choose import SAME_RESULT, Sample
from pretreat.lab.read.wording import shown

# Turbidity falls and chlorine and sulfide go on the way to the laboratory; of carbon, colour and
# silt two methods, or a filtered and an unfiltered bottle, are as often apart.
FOULING = frozenset(
    {"turbidity", "sdi", "color", "toc", "tss", "h2s", "free_chlorine", "total_chlorine"}
)
DUPLICATE = "duplicate_results"


def highest_value(sample: Sample, key: str, name: str) -> float | None:
    """Return the highest detected result of what fouls, and mark it used.

    Parameters
    ----------
    sample : Sample
        Takes the flag where two results differ. [-]
    key : str
        One of `FOULING`. [-]
    name : str
        Its property. [-]

    Returns
    -------
    float or None
        None where none was detected. [unit of the property]
    """
    found = [r for r in sample.of(key) if r.value is not None]
    if not found:
        return None
    most = max(found, key=lambda r: r.value or 0.0)
    least = min(found, key=lambda r: r.value or 0.0)
    high, low = most.value or 0.0, least.value or 0.0
    if high - low > SAME_RESULT * high:
        row = next(r for r in rows("properties.csv") if r["key"] == name)
        sample.flag(
            DUPLICATE,
            "caution",
            f"{row['name']} is given as {shown(low)} ({least.name}, {least.place}) and as "
            f"{shown(high)} {row['unit']} ({most.name}, {most.place}); the higher is used",
            f"water.{name}",
        )
    return sample.take(most)
