"""A blend instead of calcite: the share that brings what is asked, and what the limits allow."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from pretreat.core.basis import Flag
from pretreat.core.errors import PretreatError
from pretreat.core.results import Ledger
from pretreat.lab.water_laws import hardness_mg_l_caco3
from pretreat.membrane.elements.blending import allowed_bypass
from pretreat.membrane.elements.product import Water
from pretreat.membrane.elements.targets import limits, limits_of
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.rests import feed_keys
from pretreat.plant.finished import laws
from pretreat.site.design import DesignBasis

if TYPE_CHECKING:
    from pretreat.plant.finished.figures import Asked

P = "remineralisation"
REPEALED = "eu98"


def enter_blend(
    ledger: Ledger,
    product: Water,
    feed: FeedWater,
    design: DesignBasis,
    asked: "Sequence[Asked]",
) -> None:
    """Enter the share of the membranes' feed in a blend that brings what is asked.

    Parameters
    ----------
    ledger : Ledger
        With the calcite entered. [-]
    product : Water
        The product. [-]
    feed : FeedWater
        Water onto the membranes. [-]
    design : DesignBasis
        The engineer's choices. [-]
    asked : sequence of Asked
        Least hardness, alkalinity and calcium. [-]
    """
    wanted = [one for one in asked if one.wanted is not None]
    if not wanted:
        return
    _enter_beside(ledger, feed)
    shares, cannot = [], []
    for one in wanted:
        beside = f"{P}.beside_{one.word}"
        before = f"product.{one.word}"
        if before not in ledger:
            before = f"{P}.before_{one.word}"
        if not (ledger.number(beside) or 0.0) > float(one.wanted or 0.0):
            cannot.append(one.label.lower())
            continue
        key = f"{P}.blend_for_{one.word.partition('_')[0]}"
        ledger.law(
            key,
            laws.blend_share,
            wanted=f"{P}.least_{one.word}",
            product=before,
            beside=beside,
            label=f"Share of the membranes' feed in a blend for {one.label.lower()}",
            unit="-",
        )
        shares.append(key)
    if cannot:
        text = (
            f"the water ahead of the membranes has not the {' and '.join(cannot)} that is asked of "
            "the product: no blend of it will do; raw water ahead of the softener would have to be "
            "taken"
        )
        ledger.flag(Flag("blend_cannot", "info", text))
    if shares:
        ledger.law(
            f"{P}.blend_share",
            laws.largest_share,
            shares=shares,
            label="Share of the membranes' feed in a blend in place of calcite",
        )
        _hold_limits(ledger, product, Water(feed), design)


def _enter_beside(ledger: Ledger, feed: FeedWater) -> None:
    """Enter hardness, alkalinity and calcium of the water that a blend would take."""
    for word, value, unit, label in (
        ("ca_mg_l", feed.mg_l.get("ca"), "mg/L", "Calcium"),
        ("mg_mg_l", feed.mg_l.get("mg"), "mg/L", "Magnesium"),
        ("alkalinity_mg_l_caco3", feed.alkalinity_mg_l_caco3, "mg/L as CaCO3", "Alkalinity"),
    ):
        if value is not None:
            key = f"{P}.beside_{word}"
            text = f"{label} of the water ahead of the membranes"
            ledger.put(key, float(np.asarray(value)), unit, text)
            ledger.rests(key, *feed_keys(ledger, treated=True))
    ledger.law(
        f"{P}.beside_hardness_mg_l_caco3",
        hardness_mg_l_caco3,
        ca_mg_l=f"{P}.beside_ca_mg_l",
        mg_mg_l=f"{P}.beside_mg_mg_l" if f"{P}.beside_mg_mg_l" in ledger else 0.0,
        label="Hardness of the water ahead of the membranes",
    )


def _hold_limits(ledger: Ledger, product: Water, beside: Water, design: DesignBasis) -> None:
    """Enter the share of a blend that the limits of the target allow; flag one beyond it."""
    use, wanted = design.product, ledger.number(f"{P}.blend_share")
    if use.target is None or wanted is None:
        return
    if use.jurisdiction is None:
        rules = [x for x in limits() if x.target == use.target and x.jurisdiction != REPEALED]
    else:
        rules = list(limits_of(use.target, use.jurisdiction))
    try:
        allowed = allowed_bypass(product, beside, rules)
    except PretreatError:
        return
    if np.isnan(allowed.most):
        return
    most = allowed.most if allowed.possible else 0.0
    ledger.put(
        f"{P}.blend_share_allowed",
        most,
        "-",
        "Share of the membranes' feed that the limits of the product allow in a blend",
        method="the smallest share over the limits that could be judged",
        cites=tuple(dict.fromkeys(rule.source for rule in rules)),
    )
    ledger.rests(f"{P}.blend_share_allowed", "product.tds_mg_l")
    if wanted > most:
        limit = allowed.governing.name if allowed.governing else "a limit"
        text = (
            f"a blend with {100.0 * wanted:.1f} % of the water ahead of the membranes would bring "
            f"what is asked, {100.0 * most:.1f} % is allowed by {limit}: take calcite, or both"
        )
        ledger.flag(Flag("blend_over_limit", "caution", text, f"{P}.blend_share"))
