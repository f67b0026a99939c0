"""A dated reading as the fit of the elements takes it: flows, pressures, conductivities."""

import math
from typing import Any

import numpy as np

from pretreat.core.basis import cites
from pretreat.core.errors import AnalysisError
from pretreat.lab.judge.conductivity import conductivity_us_cm, molal
from pretreat.membrane.elements import fit
from pretreat.membrane.elements.feed import ElementFeed, alkalinity_mg_l_caco3, element_feed
from pretreat.membrane.elements.machine import Machine
from pretreat.record.order import spoken
from pretreat.record.readings import Reading

NEEDED = (
    "temperature_c",
    "feed_pressure_bar",
    "product_flow_m3_h",
    "feed_conductivity_us_cm",
    "product_conductivity_us_cm",
)
ROUNDS = 20
SETTLED = 1e-10  # relative miss of the feed's conductivity


def lacking(taken: Reading) -> tuple[str, ...]:
    """Return the gauges that a fit needs and that a reading lacks, in words.

    Of feed, product and drain flow two will do.

    Parameters
    ----------
    taken : Reading
        The reading. [-]

    Returns
    -------
    tuple of str
        Such as "product conductivity". [-]
    """
    flows = [taken.get(f"{name}_flow_m3_h") > 0.0 for name in ("feed", "product", "drain")]
    missing = [key for key in NEEDED if not taken.get(key) > 0.0]
    if flows[0] and flows[2] and "product_flow_m3_h" in missing:
        missing.remove("product_flow_m3_h")
    if not flows[0] and not flows[2]:
        missing.append("drain_flow_m3_h")
    return tuple(spoken(key) for key in missing)


def meter_us_cm(water: ElementFeed, amounts: Any) -> float:
    """Return what a conductivity meter shows for a water of the elements.

    The acid of a product low in alkalinity is left out: about 0.5 µS/cm at pH 5.8.

    Parameters
    ----------
    water : ElementFeed
        Whose keys the amounts have. [-]
    amounts : array
        Rows of amounts of a single water. [mmol/L]

    Returns
    -------
    float
        Conductivity at 25 °C. [µS/cm]
    """
    plain = {key: float(value) for key, value in water.mg_l(amounts).items()}
    return conductivity_us_cm(molal(plain, float(alkalinity_mg_l_caco3(water, amounts))))


@cites("MCCLESKEY2012", "the analysis, thinned or thickened to the conductivity that was read")
def water_of_the_day(analysis: ElementFeed, taken: Reading) -> tuple[ElementFeed, float]:
    """Return the fresh feed of a reading: the analysis at its temperature and conductivity.

    Parameters
    ----------
    analysis : ElementFeed
        Water onto the elements as the study has it; a single water. [-]
    taken : Reading
        The reading, with temperature and feed conductivity. [-]

    Returns
    -------
    tuple of ElementFeed and float
        The water, and its salt over that of the analysis [-].

    Raises
    ------
    AnalysisError
        If the analysis has no ions.
    OutOfRangeError
        If the temperature is outside what elements stand.
    """
    read, share = taken.get("feed_conductivity_us_cm"), 1.0
    if not meter_us_cm(analysis, analysis.amounts) > 0.0:
        raise AnalysisError("the water onto the elements has no ions: give a complete analysis")
    for _ in range(ROUNDS):
        shown = meter_us_cm(analysis, share * analysis.amounts)
        share *= read / shown
        if abs(shown / read - 1.0) < SETTLED:
            break
    mg_l = analysis.mg_l(share * analysis.amounts)
    return element_feed(mg_l, np.asarray(taken.get("temperature_c"))), share


def as_fit_reading(taken: Reading, base: Reading, machine: Machine) -> fit.Reading:
    """Return a reading as the fit takes it; nothing that it needs may be lacking.

    A recycle or product pressure that was not read is that of the baseline, else of the site
    file; without a pressure of the concentrate the drop along the elements is calculated.

    Parameters
    ----------
    taken : Reading
        The reading. [-]
    base : Reading
        The baseline. [-]
    machine : Machine
        The machine of the site file. [-]

    Returns
    -------
    fit.Reading
        Flows [m3/h], pressures [bar] and the product's conductivity [µS/cm].
    """
    feed, product, drain = (taken.get(f"{k}_flow_m3_h") for k in ("feed", "product", "drain"))
    product = _first(product, feed - drain)
    return fit.Reading(
        product_m3_h=product,
        drain_m3_h=_first(drain, feed - product),
        feed_bar=taken.get("feed_pressure_bar"),
        permeate_salt=taken.get("product_conductivity_us_cm"),
        concentrate_bar=_known(taken.get("concentrate_pressure_bar")),
        recycle_m3_h=_first(
            taken.get("recycle_flow_m3_h"),
            base.get("recycle_flow_m3_h"),
            float(np.asarray(machine.duty.recycle_m3_h)),
        ),
        product_bar=_known(
            _first(taken.get("product_pressure_bar"), base.get("product_pressure_bar"))
        ),
    )


def _first(*values: float) -> float:
    """Return the first value that was read, NaN where none was."""
    return next((v for v in values if not math.isnan(v)), math.nan)


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value
