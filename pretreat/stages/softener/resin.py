"""What a litre of softening resin holds, and what leaks past it."""

import math
from collections.abc import Sequence
from functools import lru_cache, partial
from itertools import pairwise
from pathlib import Path

from msgspec import Struct

from pretreat.core.basis import Evidence, cites
from pretreat.core.doors import Kind, csv_table, one_line
from pretreat.core.errors import DesignError, OutOfRangeError
from pretreat.core.law import Number, at_most, law, least, root, valid, when
from pretreat.core.tables import rows
from pretreat.core.units import CACO3_MG_PER_MEQ, G_L_PER_KGR_FT3, G_L_PER_LB_FT3, molar_mass
from pretreat.stages.softener.keys import SoftenerDesign

TOTAL_CAPACITY_EQ_L = 2.0  # MEMORY: new gel resin of 8 % divinylbenzene, 1.9 to 2.0 eq/L
SELECTIVITY_CA_NA = 5.16 / 1.98  # BONNER1957: affinities at 8 % divinylbenzene
COUNTER_CURRENT_LEAKAGE = 0.2  # MEMORY: 0.1 to 0.2 of co-current; the upper end is used
MG_L_CACO3_PER_EQ_L = 1000.0 * CACO3_MG_PER_MEQ
SALT_PER_CACO3 = molar_mass("NaCl") / CACO3_MG_PER_MEQ  # g/g, stoichiometric
TOP_RUNG_SLACK = 1.002  # 240.5 g/L still reads as the 240.28 g/L of the top rung (rounded print)
# LADDER: the least squares through the rungs gives 40.3 at 80 g/L; below the rungs, so flagged.
EXTRAPOLATED = (80.0, 40.3)
LOWEST_RUNG_G_L = 96.0


class CapacityTable(Struct, frozen=True):
    """Operating capacity against salt dose, in rising order; linear between the rungs.

    ``trusted_from_g_l`` is the dose below which the first rung is an extrapolation.
    """

    name: str
    dose_g_l: tuple[float, ...]
    capacity_g_l: tuple[float, ...]
    trusted_from_g_l: float
    source: str
    evidence: Evidence


@lru_cache(maxsize=8)
def capacity_table(name: str = "ladder") -> CapacityTable:
    """Return a table of data/resin_capacity.csv.

    Parameters
    ----------
    name : str
        Name of the table. [-]

    Returns
    -------
    CapacityTable
        The table. [-]
    """
    found = [row for row in rows("resin_capacity.csv") if row["table"] == name]
    if not found:
        raise DesignError(f"resin capacity table '{name}' is not known")
    dose = tuple(float(row["salt_lb_ft3"]) * G_L_PER_LB_FT3 for row in found)
    capacity = tuple(float(row["capacity_kgr_ft3"]) * G_L_PER_KGR_FT3 for row in found)
    trusted = dose[0]
    if name == "ladder":
        dose, capacity = (EXTRAPOLATED[0], *dose), (EXTRAPOLATED[1], *capacity)
        trusted = LOWEST_RUNG_G_L
    source, evidence = found[0]["source"], found[0]["evidence"]
    return CapacityTable(name, dose, capacity, trusted, source, evidence)  # type: ignore[arg-type]


_RESIN_TABLE = Kind("the resin table", "no such file; check [softener] resin_table", 4, DesignError)


def table_of(softener: SoftenerDesign) -> CapacityTable:
    """Return the capacity table of a softener.

    Parameters
    ----------
    softener : SoftenerDesign
        What the site file says of it. [-]

    Returns
    -------
    CapacityTable
        The site's own, else that of its direction. [-]
    """
    if softener.resin_table is not None:
        return read_capacity_table(softener.resin_table)
    counter = softener.direction == "counter-current"
    return capacity_table("counter-current" if counter else "ladder")


def read_capacity_table(path: Path) -> CapacityTable:
    """Read the user's own table: CSV with the columns salt_g_l and capacity_g_caco3_l.

    Parameters
    ----------
    path : Path
        The file. [-]

    Returns
    -------
    CapacityTable
        The table. [-]

    Raises
    ------
    DesignError
        If the file cannot be read, or the doses do not rise.
    """
    try:
        heads, *lines = [cells for _, cells in csv_table(path, _RESIN_TABLE)] or [[]]
        found = [dict(zip(heads, cells, strict=False)) for cells in lines]
        points = [(float(r["salt_g_l"]), float(r["capacity_g_caco3_l"])) for r in found]
    except (KeyError, ValueError) as problem:
        raise DesignError(
            f"[softener] resin_table {path.name}: needs the columns salt_g_l and "
            f"capacity_g_caco3_l with numbers ({one_line(str(problem))})"
        ) from None
    doses, capacities = tuple(p[0] for p in points), tuple(p[1] for p in points)
    rising = all(a < b for a, b in pairwise(doses))
    growing = all(a <= b for a, b in pairwise(capacities))
    finite = all(math.isfinite(v) for p in points for v in p)
    if (
        len(points) < 2
        or not finite
        or not rising
        or not growing
        or doses[0] <= 0
        or capacities[0] <= 0
    ):
        raise DesignError(
            f"[softener] resin_table {path.name}: needs two or more rows, rising doses, and "
            "capacities above 0 that never fall"
        )
    return CapacityTable(path.name, doses, capacities, doses[0], "PRACTICE", "common practice")


@cites("LADDER", "linear between the rungs")
def operating_capacity_g_l(dose_g_l: float, table: CapacityTable) -> float:
    """Return the operating capacity of the resin at a salt dose.

    Parameters
    ----------
    dose_g_l : float
        Salt per litre of resin and regeneration. [g NaCl/L]
    table : CapacityTable
        Capacity against dose. [-]

    Returns
    -------
    float
        Capacity. [g CaCO3/L]

    Raises
    ------
    OutOfRangeError
        If the dose is outside the table, or the capacity is more than salt or resin allow.
    """
    low, high = table.dose_g_l[0], table.dose_g_l[-1]
    if not low <= dose_g_l <= high * TOP_RUNG_SLACK:
        raise OutOfRangeError(
            f"salt dose is {dose_g_l:.4g} g/L; the capacity table '{table.name}' holds from "
            f"{low:.4g} to {high:.4g} g/L: change the dose, or give your own resin_table"
        )
    capacity: float = capacity_g_caco3_l(dose_g_l, table.dose_g_l, table.capacity_g_l)
    most = min(dose_g_l / SALT_PER_CACO3, TOTAL_CAPACITY_EQ_L * CACO3_MG_PER_MEQ)
    if capacity > most:
        raise OutOfRangeError(
            f"capacity is {capacity:.4g} g CaCO3/L at {dose_g_l:.4g} g/L of salt; the salt and the "
            f"resin allow {most:.4g}: correct the table '{table.name}'"
        )
    return capacity


@law
@cites("LADDER", "linear between the rungs")
def capacity_g_caco3_l(
    salt_dose_g_l: Number, rungs_g_l: Sequence[Number], capacities_g_caco3_l: Sequence[Number]
) -> Number:
    """Operating capacity = that of the rung below + dose above it x slope to the next rung.

    The printed ladder: 10 lb/ft3 of salt give 25 kgr/ft3, which is 160.2 and 57.2 g/L; the mean
    of 8 and 10 lb/ft3 lies midway between 51.5 and 57.2.

    >>> round(capacity_g_caco3_l(144.0, (128.0, 160.0), (51.5, 57.2)), 9)
    54.35
    """
    points = list(zip(rungs_g_l, capacities_g_caco3_l, strict=True))
    found = points[-1][1]
    for (dose, capacity), (next_dose, next_capacity) in reversed(list(pairwise(points))):
        slope = (next_capacity - capacity) / (next_dose - dose)
        line = capacity + (salt_dose_g_l - dose) * slope
        found = when(at_most(salt_dose_g_l, next_dose), partial(_is, line), partial(_is, found))
    return found


def _is(value: Number) -> Number:
    return value


@cites("LADDER", "own least squares through the rungs, 80 to 240 g/L")
def capacity_by_fit_g_l(dose_g_l: float) -> float:
    """Return the capacity by the logarithmic fit through the ladder, to check against it.

    Parameters
    ----------
    dose_g_l : float
        Salt per litre of resin, 80 to 240. [g NaCl/L]

    Returns
    -------
    float
        Capacity. [g CaCO3/L]
    """
    return -70.04 + 25.19 * math.log(dose_g_l)


@cites("HELFFERICH", "binary mass-action equilibrium")
@cites("BONNER1957", "affinities")
def leakage_mg_l_caco3(total_cations_eq_l: float, resin_hardness: float) -> float:
    """Return the hardness that leaks from a bed in equilibrium at its outlet end.

    Parameters
    ----------
    total_cations_eq_l : float
        All cations of the water. [eq/L]
    resin_hardness : float
        Fraction of the resin that keeps hardness at the outlet end, 0 to below 1. [-]

    Returns
    -------
    float
        Leakage. [mg/L as CaCO3]

    Raises
    ------
    OutOfRangeError
        If the fraction is outside 0 to 1.
    """
    if not 0 <= resin_hardness < 1:
        raise OutOfRangeError(
            f"fraction of hardness left on the resin is {resin_hardness:g}: must be 0 to below 1"
        )
    if resin_hardness == 0 or total_cations_eq_l == 0:
        return 0.0
    ratio = equilibrium_ratio(
        resin_hardness, total_cations_eq_l, SELECTIVITY_CA_NA, TOTAL_CAPACITY_EQ_L
    )
    leak: float = equilibrium_leakage_mg_l_caco3(1.0, ratio, total_cations_eq_l, math.inf)
    return leak


@law
@cites("HELFFERICH", "Y = 1 - capacity over total capacity")
@valid(total_capacity_eq_l=(0, None))
def resin_hardness_left(
    capacity_g_caco3_l: Number, total_capacity_eq_l: Number = TOTAL_CAPACITY_EQ_L
) -> Number:
    """Resin left in the hardness form, Y = 1 - capacity / (50.04 x total capacity).

    Worked by hand: 50.043 g/L of a resin of 2 eq/L is half of it.

    >>> round(resin_hardness_left(50.043, 2.0), 9)
    0.5
    """
    return 1.0 - capacity_g_caco3_l / (CACO3_MG_PER_MEQ * total_capacity_eq_l)


@law
@cites("HELFFERICH", "binary mass-action equilibrium")
@cites("BONNER1957", "affinities")
@valid(
    resin_hardness_left="[0, 1)",
    total_cations_eq_l=[0, None],
    selectivity=(0, None),
    total_capacity_eq_l=(0, None),
)
def equilibrium_ratio(
    resin_hardness_left: Number,
    total_cations_eq_l: Number,
    selectivity: Number,
    total_capacity_eq_l: Number,
) -> Number:
    """Ratio r of the equilibrium = Y / (1 - Y)² x C / (K q); the liquid's X = r (1 - X)².

    Worked by hand: Y 0.5 gives 2; C 0.01, K 2.5, q 2: 2 x 0.01 / 5.

    >>> round(equilibrium_ratio(0.5, 0.01, 2.5, 2.0), 9)
    0.004
    """
    spread = resin_hardness_left / (1.0 - resin_hardness_left) ** 2
    return spread * total_cations_eq_l / (selectivity * total_capacity_eq_l)


@law
@cites("HELFFERICH", "binary mass-action equilibrium")
@cites("BONNER1957", "affinities")
@valid(ratio=[0, None], total_cations_eq_l=[0, None])
def equilibrium_leakage_mg_l_caco3(
    share: Number, ratio: Number, total_cations_eq_l: Number, hardness_mg_l_caco3: Number
) -> Number:
    """Leakage = share x X x C x 50,043, X = 2 r / (2 r + 1 + root(4 r + 1)), at most the feed.

    Worked by hand: r 2 gives X = 4 / (5 + 3) = 0.5 (and 0.5 = 2 x 0.5²); C 0.01 eq/L.

    >>> round(equilibrium_leakage_mg_l_caco3(1.0, 2.0, 0.01, 1000.0), 3)
    250.215
    """
    liquid = 2.0 * ratio / (2.0 * ratio + 1.0 + root(4.0 * ratio + 1.0))
    leak = share * liquid * total_cations_eq_l * MG_L_CACO3_PER_EQ_L
    return least(leak, hardness_mg_l_caco3)


@cites("DAVIS2010", "Example 8-1, constant separation factor")
def separation_capacity_meq_l(
    ion_meq_l: float, other_meq_l: float, separation: float, total_capacity_eq_l: float
) -> float:
    """Return the resin's load of an ion at a constant separation factor.

    It reproduces the printed example only: at low salinity the factor is in the hundreds,
    not 1.9, so it must not be used for leakage.

    Parameters
    ----------
    ion_meq_l, other_meq_l : float
        The ion taken up and the other one. [meq/L]
    separation : float
        Separation factor of the other ion over the ion taken up. [-]
    total_capacity_eq_l : float
        Total capacity of the resin. [eq/L]

    Returns
    -------
    float
        Load. [meq/L resin]
    """
    return ion_meq_l * total_capacity_eq_l * 1000.0 / (ion_meq_l + other_meq_l * separation)
