"""Salt and brine of a train that nobody would accept."""

from pretreat.life.discharge import salt_of_product_kg_m3
from pretreat.plant.choices.costs import Plant
from pretreat.plant.choices.order import Row
from pretreat.stages.limits import train_limits

SALT_FLAG = "salt_out_of_proportion"
KG_PER_T = 1000.0


def out_of_proportion(salt_kg_year: float, each_kg_m3: float) -> str:
    """Say what salt out of all proportion comes to.

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
    limit = train_limits()["softener_salt"].value
    return (
        f"the softener takes {salt_kg_year / KG_PER_T:,.0f} t of salt a year, {each_kg_m3:.1f} kg "
        f"for each m3 of product (own judgement: above {limit:g} hardly anyone accepts it), and "
        "its brine goes to the drain: ask who pays for it and where it may go"
    )


def salt_words(row: Row, plant: Plant) -> str:
    """Say what the salt and the brine of a train come to, where that is out of all proportion.

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
    salt = 0.0 if row.year is None else row.year.amounts.get("salt_per_kg", 0.0)
    if not salt:
        return ""
    each: float = salt_of_product_kg_m3(salt, plant.product_m3_d, plant.days)
    return out_of_proportion(salt, each) if each > train_limits()["softener_salt"].value else ""
