"""The product of the warmest water: salts and boron pass more easily, the flow stays."""

from collections.abc import Mapping

import numpy as np

from pretreat.membrane.elements.machine import machine_of
from pretreat.membrane.elements.permeability import Membrane
from pretreat.membrane.elements.product import sodium_adsorption_ratio
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.permeate import Permeate
from pretreat.plant.delivered.laws import trace_passage
from pretreat.plant.delivered.rules import sums_of
from pretreat.site.design import DesignBasis
from pretreat.stages.delivered import Delivered

WARMER_C = 0.05  # NUMERICAL: less is the same water
MOST_PASSAGE = 0.999  # NUMERICAL: beyond it there is no membrane


def at_warmest(
    design: DesignBasis,
    feed: FeedWater,
    made: Permeate,
    ends: tuple[Delivered, Delivered],
    values: Mapping[str, float],
) -> dict[str, float]:
    """Return what the delivered water holds of ions and traces where the water is warmest.

    At the same flow the odds of passage go with the permeability of the membrane, which rises
    with the temperature.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]
    feed, made : FeedWater, Permeate
        Water onto the membranes and their product, operating. [-]
    ends : tuple of Delivered
        Behind the membranes, and behind the last stage. [-]
    values : mapping of str to float
        What is delivered of the operating water, by parameter of a target. [unit in the name]

    Returns
    -------
    dict of str to float
        Empty where the warmest water is the operating one. [unit in the name]
    """
    warmest, operating = design.water.warmest_temperature_c, float(np.asarray(feed.temp_c))
    if warmest is None or warmest <= operating + WARMER_C:
        return {}
    machine = machine_of(design)
    membrane = Membrane() if machine is None else machine.membrane
    more = membrane.salt_temperature_base ** (warmest - operating)
    start, last = ends
    share = 1.0 - last.raw_share
    pairs = {f"{k}_mg_l": (_one(feed.mg_l.get(k)), _one(v)) for k, v in made.mg_l.items()}
    ahead = {} if start.beside is None else start.beside.traces
    behind = {} if start.water is None else start.water.traces
    pairs |= {k: (_one(ahead.get(k)), _one(v)) for k, v in behind.items()}
    found = {}
    for key, (before, passed) in pairs.items():
        if not (before > 0.0 and passed > 0.0 and np.isfinite(values.get(key, np.nan))):
            continue
        passage = min(passed / before, MOST_PASSAGE)
        warm = float(trace_passage(passage, more, 1.0))
        found[key] = values[key] + share * passed * (warm / passage - 1.0)
    ions = {k: found.get(f"{k}_mg_l", values.get(f"{k}_mg_l", np.nan)) for k in ("na", "ca", "mg")}
    ratio = float(sodium_adsorption_ratio(ions))
    return found | ({"sar": ratio} if np.isfinite(ratio) else {}) | sums_of(found)


def _one(value: object) -> float:
    return 0.0 if value is None else float(np.squeeze(np.asarray(value, float)))
