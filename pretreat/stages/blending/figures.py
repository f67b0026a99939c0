"""Blending: the flow of treated raw water into the product, and the water behind it."""

from msgspec.structs import replace

from pretreat.core.equivalents import HARDNESS_IONS, equivalent_hardness_mg_l_caco3
from pretreat.membrane.elements.product import Water, blended
from pretreat.stages.blending import laws
from pretreat.stages.delivered import Delivered, handed_on
from pretreat.stages.product_gas import co2_key
from pretreat.stages.train import Train

P, NAME = "blending", "blending"
UNLIKE_SHARE, UNLIKE_MG_L = 0.3, 5.0  # PRACTICE: apart by more, a hardness is another
MOST_SHARE = 0.3  # PRACTICE: more raw water than that is no blend to propose
USUAL_SHARE = 0.05  # PRACTICE: enough to take the edge off the corrosion; hold every limit


def deliver(train: Train, before: Delivered) -> Delivered:
    """Enter share, flow, hardness and carbon dioxide of the blend; return the blend.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    before : Delivered
        The water that is blended with the water ahead of the membranes. [-]

    Returns
    -------
    Delivered
        The blend. [-]
    """
    entries, own = train.entries, train.design.blending.share
    share = entries.given(
        f"{P}.share",
        USUAL_SHARE if own is None else own,
        "-",
        "Share of treated raw water in what is delivered",
        origin="assumed" if own is None else "chosen",
        cites=("PRACTICE",) if own is None else (),
    )
    entries.law(
        f"{P}.flow_m3_h",
        laws.blend_flow_m3_h,
        product_flow_m3_h=before.flow,
        share=f"{P}.share",
        label="Treated raw water into the product",
    )
    for name, one, label in (
        ("m3_h", before.flow, "Blend"),
        ("m3_d", before.day, "Blend of a day"),
    ):
        entries.law(
            f"{P}.delivered_{name}",
            laws.delivered,
            product=one,
            share=f"{P}.share",
            label=label,
            unit=name.replace("_", "/"),
        )
    _enter_hardness(train, before)
    behind = None
    if before.water is not None and before.beside is not None:
        behind = mixed(before.water, before.beside, share)
    elif before.co2 is not None:
        entries.law(
            f"{P}.co2_mg_l",
            laws.blended_mg_l,
            bypass_mg_l=co2_key(train),
            product_mg_l=before.co2,
            share=f"{P}.share",
            label="Carbon dioxide of the blend",
        )
    entries.flag(
        "blending",
        "warning",
        "blending carries everything of the raw water past the membranes, germs, iron, arsenic and "
        "nitrate included: filter and disinfect it, hold the blend against every limit, and defer "
        "to the health authority where anyone drinks it",
        f"{P}.share",
    )
    raw_share = share + (1.0 - share) * before.raw_share
    after = handed_on(train, before, behind, P, NAME, f"{P}.share")
    flow, day = f"{P}.delivered_m3_h", f"{P}.delivered_m3_d"
    return replace(after, raw_share=raw_share, flow=flow, day=day)


def mixed(product: Water, beside: Water, share: float) -> Water:
    """Return the blend of a water with the water ahead of the membranes.

    Parameters
    ----------
    product : Water
        The water that is blended; an ion that it lacks counts as none of it. [-]
    beside : Water
        The water ahead of the membranes. [-]
    share : float
        Share of it in the blend. [-]

    Returns
    -------
    Water
        With its own pH. [-]
    """
    own, other = product.water, beside.water
    keys = {**own.mg_l, **other.mg_l}
    filled = Water(replace(own, mg_l={k: own.mg_l.get(k, 0.0) for k in keys}), product.traces)
    added = Water(replace(other, mg_l={k: other.mg_l.get(k, 0.0) for k in keys}), beside.traces)
    return blended(filled, added, share)


def _enter_hardness(train: Train, before: Delivered) -> None:
    """Enter the hardness of the blend: from the composition, else as the site file states it."""
    if not {"ca", "mg"} & set(before.beside_mg_l):  # a test kit does not tell them apart
        return
    entries, known = train.entries, train.design.blending.product_hardness_mg_l_caco3
    entries.given(
        f"{P}.bypass_mg_l_caco3",
        equivalent_hardness_mg_l_caco3(before.beside_mg_l, HARDNESS_IONS),
        "mg/L as CaCO3",
        "Hardness of the water blended into the product",
        evidence="computed",
        method="the water ahead of the membranes",
    )
    computed = None
    if before.water is not None:
        plain = {k: float(v) for k, v in before.water.water.mg_l.items()}
        computed = equivalent_hardness_mg_l_caco3(plain, HARDNESS_IONS)
    entries.given(
        f"{P}.product_mg_l_caco3",
        known if known is not None else computed or 0.0,
        "mg/L as CaCO3",
        "Hardness of the product that is blended",
        origin="chosen" if known is not None else "assumed",
        evidence="computed" if known is None and computed is not None else "common practice",
    )
    entries.law(
        f"{P}.hardness_mg_l_caco3",
        laws.blended_hardness_mg_l_caco3,
        bypass_mg_l_caco3=f"{P}.bypass_mg_l_caco3",
        product_mg_l_caco3=f"{P}.product_mg_l_caco3",
        share=f"{P}.share",
        label="Hardness of the blend",
    )
    if (
        known is not None
        and computed
        and abs(known - computed) > max(UNLIKE_SHARE * max(known, computed), UNLIKE_MG_L)
    ):
        _flag_unlike(train, known, computed)


def _flag_unlike(train: Train, stated: float, computed: float) -> None:
    """Flag a stated hardness of the product that its own calculation contradicts."""
    entries = train.entries
    beside = entries.value(f"{P}.bypass_mg_l_caco3")
    text = (
        f"[blending] product_hardness states {stated:.3g} mg/L as CaCO3 for the product ahead of "
        f"the blend, the membranes leave {computed:.2g} by calculation: the hardness of the blend "
        "rests on the figure stated; leave it out unless it was measured"
    )
    share = (stated - computed) / (beside - computed) if beside > computed else 1.0
    if 0.0 < share <= MOST_SHARE:
        text += f"; if {stated:.3g} is wanted of the blend, share = {share:.2g} gives it"
    entries.flag("product_hardness_unlike", "caution", text, f"{P}.product_mg_l_caco3")
