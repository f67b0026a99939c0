"""The elements on a feed and their product against its use."""

from typing import Any

import numpy as np

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.lab.judge.conductivity import conductivity_us_cm, molal
from pretreat.membrane.elements.figures import enter_operation
from pretreat.membrane.elements.machine import machine_of, marched, running
from pretreat.membrane.elements.product import Water
from pretreat.membrane.elements.target_figures import enter_target
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.permeate import Permeate
from pretreat.site.design import DesignBasis

ACID_PH = 6.5  # CFR143_3: lower end of the secondary range, below which water is corrosive
EU_TEMPERATURE_C = 20.0  # 98/83/EC: conductivity at 20 °C


def machine_on(
    ledger: Ledger,
    feed: FeedWater,
    point: MembranePoint,
    design: DesignBasis,
    seasons_c: Any,
) -> MembranePoint:
    """Enter the elements running on a feed; return the design point with their passage.

    Parameters
    ----------
    ledger : Ledger
        Takes the figures. [-]
    feed : FeedWater
        Water onto the membranes at the operating temperature. [-]
    point : MembranePoint
        The design point. [-]
    design : DesignBasis
        The engineer's choices. [-]
    seasons_c : array or None
        Coldest and warmest water. [°C]

    Returns
    -------
    MembranePoint
        The same point where no element is named. [-]
    """
    machine = machine_of(design)
    if machine is None:
        return point
    run, problem = running(machine, feed)
    if run is None or problem is not None:
        ledger.put("machine.feed_pressure_bar", None, "bar", "Feed pressure of the elements")
        ledger.rests("machine.feed_pressure_bar")
        ledger.flag(*([] if problem is None else [problem]))
        return point
    seasons = None if seasons_c is None else running(machine, feed, seasons_c)[0]
    enter_operation(ledger, machine, run, seasons)
    return marched(point, run, machine)


def enter_use(ledger: Ledger, product: Permeate | None, design: DesignBasis) -> None:
    """Hold the product against what the site names it for.

    Parameters
    ----------
    ledger : Ledger
        Takes the figures. [-]
    product : Permeate or None
        The product, None where it is not known. [-]
    design : DesignBasis
        The engineer's choices. [-]
    """
    if product is not None:
        enter_target(ledger, design.product, _product_values(product))
        if design.product.target is None:
            _flag_acid(ledger)
    elif design.product.target is not None:
        text = (
            "the product is not known, so it is not held against its target: give element or "
            "salt_passage in [machine]"
        )
        ledger.flag(Flag("product_target_open", "caution", text))


def _flag_acid(ledger: Ledger) -> None:
    ph = ledger.number("product.ph")
    if ph is not None and ph < ACID_PH:
        text = (
            f"acid product: pH {ph:.1f}, corrosive to metal; remineralise or degas where that "
            "matters"
        )
        ledger.flag(Flag("acid_product", "info", text, "product.ph"))


def _product_values(product: Permeate) -> dict[str, float]:
    """Return what a target may limit in the product, conductivity included."""
    water = FeedWater(
        product.mg_l, product.alkalinity_mg_l_caco3, product.speciation.temp_c, product.speciation
    )
    values = {k: float(np.asarray(v)) for k, v in Water(water).values().items()}
    plain = {k: float(np.nan_to_num(np.asarray(v))) for k, v in product.mg_l.items()}
    ions = molal(plain, float(np.nan_to_num(np.asarray(product.alkalinity_mg_l_caco3))))
    at_25_c, at_20_c = conductivity_us_cm(ions), conductivity_us_cm(ions, EU_TEMPERATURE_C)
    if not np.all(np.asarray(product.alkalinity_mg_l_caco3) > 0.0):
        values["ph"] = float("nan")
    return values | {"ec_ds_m": at_25_c / 1000.0, "ec_us_cm_20": at_20_c}
