"""What a customer is told of a water that may be drunk: what is above a limit for health."""

from pretreat.core.basis import Series
from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.health import (
    GERMS,
    N_PER_NO2,
    N_PER_NO3,
    SUMS,
    Exceedance,
    amounts_of,
    exceedances,
)
from pretreat.plant.health import BINDING, DRINKING
from pretreat.site.design import ProductUse

OVER_LIMITS = "quote.over_limits"
COLUMNS = {"key": "-", "name": "-", "amount": "-", "unit": "-", "limit": "-", "law": "-"}


NITROGEN = {"no3": ("NO3", N_PER_NO3), "no2": ("NO2", N_PER_NO2), "no3_no2_n": ("N", 1.0)}
AS_N = "as N"


def _on_its_basis(one: Exceedance, water: WaterAnalysis) -> tuple[float, str, float]:
    """Return amount, unit and limit: nitrate as the laboratory wrote it, else as the rule does."""
    limit = one.limits[0]
    if one.key not in NITROGEN:
        return one.amount, one.unit, limit.limit
    ion, per_ion = NITROGEN[one.key]
    written = {r.basis for r in water.readings if r.analyte == one.key and r.used}
    by_rule = AS_N in limit.printed
    if by_rule and (not written or AS_N in written):
        return one.amount * per_ion, f"{one.unit} {AS_N}", float(limit.printed.split()[0])
    if by_rule or AS_N not in written:
        return one.amount, f"{one.unit} as {ion}", limit.limit
    return one.amount * per_ion, f"{one.unit} {AS_N}", limit.limit * per_ion


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
        (one.key, one.name, *_on_its_basis(one, water), one.limits[0].law)
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
