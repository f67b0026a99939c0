"""What no clean well holds: much ammonium, whatever the product is for."""

from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.plant.verdict.case import Obstacle

AMMONIUM, OF_PRODUCT = "nh4", "product.nh4_mg_l"
MUCH_AMMONIUM_MG_L = 3.0  # PRACTICE: peat and marine clay bring a few, clean wells below 0.5
ASK = "ammonium again, E. coli, chloride, boron and organic carbon; and where it comes from"


def ammonium_obstacles(ledger: Ledger, water: WaterAnalysis) -> list[Obstacle]:
    """Return the condition of ammonium far above what a clean well holds.

    Parameters
    ----------
    ledger : Ledger
        With the product entered. [-]
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    list of Obstacle
        One condition at most. [-]
    """
    amount, left = water.mg_l.get(AMMONIUM, 0.0), ledger.number(OF_PRODUCT)
    if amount <= MUCH_AMMONIUM_MG_L:
        return []
    product = "some of it" if left is None else f"about {left:.2g} mg/L"
    text = (
        f"ammonium is {amount:.3g} mg/L, clean wells hold less than 0.5, peat and marine clay a "
        f"few (common practice): sewage, a landfill or manure is likely: find the source and have "
        f"germs and organic matter analysed; {product} passes into the product (0.5 mg/L is the "
        "EU's indicator where it is drunk; from memory), more of it above pH 8; it takes 8 to 15 "
        "mg of chlorine for each mg of nitrogen and feeds growth"
    )
    return [Obstacle("condition", text, anyway=True, measure=ASK, code="organics")]
