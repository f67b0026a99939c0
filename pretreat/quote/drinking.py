"""What a customer is told of a water that may be drunk: what is above a limit for health."""

from pretreat.core.basis import Series
from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.health import GERMS, SUMS, amounts_of, exceedances
from pretreat.plant.health import BINDING, DRINKING
from pretreat.site.design import ProductUse

OVER_LIMITS = "quote.over_limits"
COLUMNS = {"key": "-", "name": "-", "amount": "-", "unit": "-", "limit": "-", "law": "-"}


def enter_over_limits(ledger: Ledger, water: WaterAnalysis, use: ProductUse) -> None:
    """Enter what is above a limit for health in the raw water, unless nobody drinks the product.

    Parameters
    ----------
    ledger : Ledger
        Where the table goes; nothing is entered where there is nothing to say. [-]
    water : WaterAnalysis
        The analysis. [-]
    use : ProductUse
        What the product is for, and whose limits bind; all are compared where none is named. [-]
    """
    if use.target not in (None, DRINKING):
        return
    found = exceedances(amounts_of(water), BINDING.get(use.jurisdiction or ""), aesthetic=False)
    rows = [
        (one.key, one.name, one.amount, one.unit, one.limits[0].limit, one.limits[0].law)
        for one in found
        if one.key not in SUMS or not {"no3", "no2"} & {each.key for each in found}
    ]
    rows += [
        (key, name, water.properties[key], "CFU/100 mL", 0.0, "")
        for key, name in GERMS
        if water.properties.get(key)
    ]
    if rows:
        ledger.table(
            Series(
                OVER_LIMITS,
                "Above limits for health, if anyone drinks the water",
                tuple(COLUMNS),
                tuple(COLUMNS.values()),
                tuple(rows),
                method="raw water against the limits of data/health_limits.csv, strictest first",
            )
        )
