"""What of arsenic, uranium and radium passes the membranes, by data/ion_permeability.csv."""

from collections.abc import Mapping

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.membrane.balance import array_factor, passage_of
from pretreat.membrane.elements.machine import machine_of, running
from pretreat.membrane.elements.permeability import REFERENCE_C, Membrane, salt_permeability_lmh
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.limits import MembranePoint
from pretreat.plant.delivered.laws import trace_passage
from pretreat.site.design import DesignBasis

SALT = "cl"  # the ion whose passage stands for that of sodium chloride
ARSENITE, ARSENIC = "as3", "as_mg_l"  # a class of ion; a parameter of a target
IF_ARSENITE = "as_if_arsenite_mg_l"  # beside arsenic whose form is not known
FORMS = ("water.as3_mg_l", "water.as5_mg_l")
LITTLE = 1e-6  # NUMERICAL: mg/L, so that a trace moves nothing
MOST_PASSAGE = 0.999  # NUMERICAL: beyond it there is no membrane
LEAST_LIMIT_MG_L = 0.010  # CFR141_62, WHO_GDWQ: arsenic
# Constituent of data/ion_permeability.csv, figure of the raw water, parameter of a target, unit,
# name, and what it is taken as.
TRACES = (
    ("as", "water.as_mg_l", "as_mg_l", "mg/L", "Arsenic", "all of it as arsenate"),
    ("u", "water.u_mg_l", "u", "mg/L", "Uranium", "as carbonate complexes"),
    ("ra", "water.ra_pci_l", "ra", "pCi/L", "Radium 226 + 228", "as barium"),
    ("ra", "water.ra226_pci_l", "ra226_pci_l", "pCi/L", "Radium 226", "as barium"),
    ("ra", "water.ra228_pci_l", "ra228_pci_l", "pCi/L", "Radium 228", "as barium"),
)


class Passed(Struct, frozen=True):
    """Traces ahead of and behind the membranes, by parameter of a target.

    Arsenic whose form is not known stands there twice: as arsenate, and as if it were arsenite.
    """

    ahead: Mapping[str, float]
    behind: Mapping[str, float]


def key_of(parameter: str) -> str:
    """Return the end of the key of a parameter: that of the figure with its unit."""
    return {"u": "u_mg_l", "ra": "ra_pci_l"}.get(parameter, parameter)


def enter_traces(
    ledger: Ledger, feed: FeedWater, point: MembranePoint, design: DesignBasis
) -> Passed:
    """Enter the traces of the product whose passage is known.

    Parameters
    ----------
    ledger : Ledger
        With the water entered. [-]
    feed : FeedWater
        Water onto the membranes; a single one. [-]
    point : MembranePoint
        The design point. [-]
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    Passed
        What was measured, ahead and behind. [unit of the figure]
    """
    found = {t[2]: (t[0], ledger.number(t[1])) for t in TRACES}
    ahead = {k: v for k, (_, v) in found.items() if v}
    if not ahead or not any(point.passage.values()):
        return Passed(ahead, {})
    keys = dict.fromkeys(found[k][0] for k in ahead)
    shares = _passages(feed, point, design, (*keys, *((ARSENITE,) if ARSENIC in ahead else ())))
    known = _arsenite_mg_l(ledger, ahead.get(ARSENIC, 0.0))
    behind, of_ahead = {}, dict(ahead)
    for key, raw, parameter, unit, name, whole in TRACES:
        if parameter not in ahead:
            continue
        amount, form = ahead[parameter] * shares[key], whole
        if key == "as" and known is not None:
            amount += known * (shares[ARSENITE] - shares[key])
            form = f"{known:.2g} mg/L of it as arsenite, as measured"
        behind[parameter] = amount
        open_form = ", were all of it arsenate" if key == "as" and known is None else ""
        ledger.put(
            f"product.{key_of(parameter)}",
            amount,
            unit,
            f"{name} in the product{open_form}",
            evidence="common practice",
            method=f"passage {amount / ahead[parameter]:.2g} by class of ion, {form}",
            cites=("PRACTICE",),
        )
        forms = [f for f in FORMS if key == "as" and f in ledger]
        ledger.rests(f"product.{key_of(parameter)}", raw, *forms, "concentrate.recovery")
    if ARSENIC in ahead and known is None:
        _enter_arsenite(ledger, ahead[ARSENIC], shares[ARSENITE])
        behind[IF_ARSENITE] = ahead[ARSENIC] * shares[ARSENITE]
        of_ahead[IF_ARSENITE] = ahead[ARSENIC]
    return Passed(of_ahead, behind)


def _arsenite_mg_l(ledger: Ledger, arsenic_mg_l: float) -> float | None:
    """Return the arsenite of an arsenic whose forms were measured, a non-detect at its limit."""
    arsenite, arsenate = map(ledger.figure, FORMS)
    if arsenite is not None:
        held = arsenite.value if isinstance(arsenite.value, float) else arsenite.below
        return None if held is None else min(held, arsenic_mg_l)
    if arsenate is not None and isinstance(arsenate.value, float):
        return max(arsenic_mg_l - arsenate.value, 0.0)
    return None


def _enter_arsenite(ledger: Ledger, amount_mg_l: float, share: float) -> None:
    key = f"product.{IF_ARSENITE}"
    ledger.put(
        key,
        amount_mg_l * share,
        "mg/L",
        "Arsenic in the product, were all of it arsenite",
        evidence="common practice",
        method=f"passage {share:.2g}: uncharged, it depends on the membrane (2 to 15 L/m2/h)",
        cites=("PRACTICE",),
    )
    ledger.rests(key, "water.as_mg_l", "concentrate.recovery")
    if amount_mg_l * share <= LEAST_LIMIT_MG_L:
        return
    text = (
        f"arsenic in the product is {ledger.number('product.as_mg_l') or 0.0:.2g} mg/L where all "
        f"of it is arsenate, {amount_mg_l * share:.2g} mg/L where all of it is arsenite: have "
        "the form analysed, and the product"
    )
    ledger.flag(Flag("arsenic_form", "caution", text, key))


def _passages(
    feed: FeedWater, point: MembranePoint, design: DesignBasis, keys: tuple[str, ...]
) -> dict[str, float]:
    """Return product / fresh feed of traces: from the elements, else from the salt passage."""
    machine = machine_of(design)
    own: Mapping[str, float] = {}
    if machine is not None:
        traced = replace(feed, mg_l={**feed.mg_l, **dict.fromkeys(keys, LITTLE)})
        run, _ = running(machine, traced)
        own = {} if run is None else run.passage
    membrane = Membrane() if machine is None else machine.membrane
    salt = min(float(np.asarray(passage_of(point.passage, SALT))), MOST_PASSAGE)
    found = {}
    for key in keys:
        passage = own.get(key)
        if passage is None or not np.isfinite(passage):
            passage = trace_passage(
                salt,
                float(salt_permeability_lmh(membrane, key, REFERENCE_C)),
                float(salt_permeability_lmh(membrane, SALT, REFERENCE_C)),
            )
        recycled = array_factor(point.recovery, passage, point.rho)
        found[key] = float(passage) * float(np.asarray(recycled))
    return found
