"""The temperatures at which a design is judged."""

from pretreat.plant.uncertainty.water_draws import Season

UNKNOWN_COLDEST_C = 5.0  # PRACTICE: silica is judged here until a temperature is given
UNKNOWN_WARMEST_C = 25.0  # PRACTICE: calcite is judged here until a temperature is given


def seasons_of(
    operating_c: float,
    coldest_c: float | None = None,
    warmest_c: float | None = None,
    *,
    known: bool = True,
) -> tuple[Season, ...]:
    """Return the seasons of a plant, coldest first.

    Parameters
    ----------
    operating_c : float
        Operating temperature. [°C]
    coldest_c, warmest_c : float, optional
        Where the site file gives them. [°C]
    known : bool
        False where no temperature was given anywhere: then 5 and 25 °C stand beside it. [-]

    Returns
    -------
    tuple of Season
        "operating" and what differs from it. [-]
    """
    cold = coldest_c if coldest_c is not None else None if known else UNKNOWN_COLDEST_C
    warm = warmest_c if warmest_c is not None else None if known else UNKNOWN_WARMEST_C
    found = [Season("operating", operating_c)]
    if cold is not None and cold < operating_c:
        found.insert(0, Season("coldest", cold))
    if warm is not None and warm > operating_c:
        found.append(Season("warmest", warm))
    return tuple(found)
