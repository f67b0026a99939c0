"""What an analysis lacks that is no scale by itself, and what that leaves open."""

from collections.abc import Collection

from pretreat.core.tables import analytes
from pretreat.plant.verdict.case import Obstacle

# What stays open without it. The chemistry runs on, so it is a condition and no scale.
OPEN_WITHOUT = {
    "fe": "whether iron fouls resin and membranes was not judged",
    "mn": "whether manganese fouls resin and membranes was not judged",
    "mg": "hardness is not complete",
    "na": "the ion balance cannot check the analysis and the ionic strength is too low",
    "cl": "the ion balance cannot check the analysis and the ionic strength is too low",
}
TOLD_WITHOUT = {
    "k": "it matters little to scale",
    "no3": "it forms no scale; where the water is drunk it must be known",
}


def gap_obstacles(measured: Collection[str]) -> tuple[Obstacle, ...]:
    """Return a condition for each ion that belongs into an analysis and is not there.

    The ions that form scale are not among them: they are judged scale by scale.

    Parameters
    ----------
    measured : collection of str
        Keys of what the laboratory looked for, detected or not. [-]

    Returns
    -------
    tuple of Obstacle
        Conditions first, then notes. [-]
    """
    found = [
        Obstacle(
            "condition",
            f"{analytes()[k].name} is not in the analysis: {why}; measure it",
            analytes()[k].name,
        )
        for k, why in OPEN_WITHOUT.items()
        if k not in measured
    ]
    found += [
        Obstacle("note", f"{analytes()[k].name} is not in the analysis: {why}", analytes()[k].name)
        for k, why in TOLD_WITHOUT.items()
        if k not in measured
    ]
    return tuple(found)
