"""Salt and brine of a train, where they have to be agreed or nobody would accept them."""

from collections.abc import Sequence

from msgspec.structs import replace

from pretreat.life.discharge import salt_over_product_kg_m3
from pretreat.plant.choices.costs import Plant
from pretreat.plant.choices.order import Row
from pretreat.stages.limits import train_limits

SALT_FLAG = "much_salt"
KG_PER_T = 1000.0


def much_salt(salt_kg_year: float, each_kg_m3: float) -> str:
    """Say what much salt comes to.

    Parameters
    ----------
    salt_kg_year : float
        Salt of a year. [kg]
    each_kg_m3 : float
        Salt for each m3 of product. [kg/m3]

    Returns
    -------
    str
        The words. [-]
    """
    limits, grave = train_limits(), out_of_proportion(each_kg_m3)
    said = f"above {limits['softener_salt'].value:g} it has to be agreed first"
    if grave:
        said = f"above {limits['softener_salt_most'].value:g} hardly anyone accepts it"
    return (
        f"the softener takes {salt_kg_year / KG_PER_T:,.3g} t of salt a year, {each_kg_m3:.1f} kg "
        f"for each m3 of product (own judgement: {said}), and its brine goes to the drain: ask who "
        "pays for it and where it may go"
    )


def out_of_proportion(each_kg_m3: float) -> bool:
    """Tell whether hardly anyone would accept the salt of a softener.

    Parameters
    ----------
    each_kg_m3 : float
        Salt for each m3 of product. [kg/m3]

    Returns
    -------
    bool
        True above the higher of the two limits. [-]
    """
    return each_kg_m3 > train_limits()["softener_salt_most"].value


def salted(rows: Sequence[Row], plant: Plant, *, asked: bool) -> list[Row]:
    """Return the trains with what their salt comes to, where that is much.

    A train that hardly anyone would accept for its salt is a question at least, though it is
    asked for, where another one reaches the recovery with less: also one that the site file
    leaves out.

    Parameters
    ----------
    rows : sequence of Row
        Trains with their reach, their year and how bare they leave the membranes. [-]
    plant : Plant
        The machine. [-]
    asked : bool
        Whether the site file asks for the softener: then it is a condition at most where
        nothing else reaches the recovery. [-]

    Returns
    -------
    list of Row
        Marked where hardly anyone would accept them. [-]
    """
    others = [row for row in rows if _reaches(row, plant) and not _grave(row, plant)]
    done = []
    for row in rows:
        spared = any(one.exposed <= row.exposed for one in others)
        grave = _grave(row, plant) and (spared or not asked)
        done.append(replace(row, salty=salt_words(row, plant), too_salty=grave))
    return done


def _grave(row: Row, plant: Plant) -> bool:
    return out_of_proportion(salt_of_row_kg_m3(row, plant))


def _reaches(row: Row, plant: Plant) -> bool:
    """Tell whether a train reaches the recovery and no rule of the table speaks against it."""
    if row.year is None or row.reach is None or row.candidate.why_not:
        return False
    return row.reach >= plant.recovery


def salt_of_row_kg_m3(row: Row, plant: Plant) -> float:
    """Return the salt of a train for each m3 of product.

    Parameters
    ----------
    row : Row
        A train. [-]
    plant : Plant
        The machine. [-]

    Returns
    -------
    float
        Salt, 0 without a softener. [kg/m3]
    """
    salt = 0.0 if row.year is None else row.year.amounts.get("salt_per_kg", 0.0)
    return float(salt_over_product_kg_m3(salt, plant.product_m3_d, plant.days)) if salt else 0.0


def salt_words(row: Row, plant: Plant) -> str:
    """Say what the salt and the brine of a train come to, where that is much.

    Parameters
    ----------
    row : Row
        A train. [-]
    plant : Plant
        The machine. [-]

    Returns
    -------
    str
        Empty where it takes less than the limit for each m3 of product. [-]
    """
    each = salt_of_row_kg_m3(row, plant)
    if row.year is None or each <= train_limits()["softener_salt"].value:
        return ""
    return much_salt(row.year.amounts["salt_per_kg"], each)
