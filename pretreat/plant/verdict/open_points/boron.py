"""Boron that crops suffer from, where nothing tells what of it passes the membranes."""

from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.health import amounts_of
from pretreat.membrane.elements.target_figures import GROWER, SUFFERED, WATERED
from pretreat.membrane.elements.targets import limits
from pretreat.plant.verdict.case import Obstacle
from pretreat.site.design import ProductUse

IRRIGATION, BORON = "irrigation", "b_mg_l"


def boron_obstacles(ledger: Ledger, water: WaterAnalysis, use: ProductUse) -> list[Obstacle]:
    """Return boron above what crops bear, where nothing tells what of it passes.

    Parameters
    ----------
    ledger : Ledger
        With the product entered. [-]
    water : WaterAnalysis
        The analysis. [-]
    use : ProductUse
        What the product is for; only watering asks for it. [-]

    Returns
    -------
    list of Obstacle
        At most one condition. [-]
    """
    boron = amounts_of(water).get("b")
    rules = [x for x in limits() if x.target == IRRIGATION and x.parameter == BORON]
    over = [x for x in rules if boron is not None and boron > x.high]
    known = any(f"{of}.{BORON}" in ledger for of in ("product", "delivered"))
    if use.target not in WATERED or known or not over:
        return []
    worst = max(over, key=lambda x: x.high)
    text = (
        f"boron is {boron:.2g} mg/L in the raw water, over the {worst.high:g} mg/L of "
        f"{worst.source} ({worst.where}, {worst.grade} restriction), passage into the product not "
        f"computed{SUFFERED[BORON]}; have the product analysed before it waters anything: {GROWER}"
    )
    return [Obstacle("condition", text, anyway=True, code="product_target")]
