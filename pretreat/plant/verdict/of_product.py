"""What of a product for drinking hangs on the form of a constituent, which no analysis gave."""

from math import inf

from pretreat.core.results import Ledger
from pretreat.lab.health import health_limits
from pretreat.plant.health import BINDING, DRINKING
from pretreat.plant.verdict.case import Obstacle
from pretreat.site.design import ProductUse

# Constituent, and its figure in the worse form: the membranes hold that form least.
WORSE_FORMS = (("as", "product.as_if_arsenite_mg_l", "arsenic_form"),)
OTHER_FORM = "the form of the arsenic (arsenite or arsenate), and arsenic in the product"


def product_obstacles(ledger: Ledger, use: ProductUse) -> list[Obstacle]:
    """Return a condition where the worse form of a constituent is over its limit for health.

    Parameters
    ----------
    ledger : Ledger
        With the product entered. [-]
    use : ProductUse
        What the product is for; only drinking asks for it. [-]

    Returns
    -------
    list of Obstacle
        One condition for each constituent. [-]
    """
    if use.target != DRINKING:
        return []
    found = []
    whose = BINDING.get(use.jurisdiction or "")
    for key, figure, code in WORSE_FORMS:
        worst = ledger.number(figure)
        limits = (
            x.limit
            for x in health_limits()
            if x.key == key and x.kind == "health" and whose in (None, x.jurisdiction)
        )
        if worst is None or worst <= min(limits, default=inf):
            continue
        told = next((f.text for f in ledger.study().flags if f.code == code), "")
        if told:
            text = (
                f"{told}; or oxidise it ahead (and let no oxidant reach the membranes): nobody "
                "drinks it before that"
            )
            found.append(Obstacle("condition", text, anyway=True, measure=OTHER_FORM))
    return found
