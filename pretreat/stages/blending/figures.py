"""Blending: the flow of treated raw water into the product, and its hardness behind."""

from dataclasses import replace

from pretreat.core.equivalents import HARDNESS_IONS, equivalent_hardness_mg_l_caco3
from pretreat.stages.blending import laws
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P = "blending"
USUAL_SHARE = 0.05  # PRACTICE: enough to take the edge off the corrosion; hold every limit


def note_water(train: Train, stream: Stream) -> None:
    """Enter the hardness of the water that is blended: that ahead of the membranes."""
    train.entries.given(
        f"{P}.bypass_mg_l_caco3",
        equivalent_hardness_mg_l_caco3(stream.mg_l, HARDNESS_IONS),
        "mg/L as CaCO3",
        "Hardness of the water blended into the product",
        evidence="computed",
        method="the water ahead of the membranes",
    )


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter share, flow and hardness of the blend."""
    entries, choice = train.entries, train.design.blending
    own, known = choice.share, choice.product_hardness_mg_l_caco3
    entries.given(
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
        product_flow_m3_h="machine.product_flow_m3_h",
        share=f"{P}.share",
        label="Treated raw water into the product",
    )
    if f"{P}.bypass_mg_l_caco3" in entries.ledger:
        entries.given(
            f"{P}.product_mg_l_caco3",
            0.0 if known is None else known,
            "mg/L as CaCO3",
            "Hardness of the product of the membranes",
            origin="assumed" if known is None else "chosen",
        )
        entries.law(
            f"{P}.hardness_mg_l_caco3",
            laws.blended_hardness_mg_l_caco3,
            bypass_mg_l_caco3=f"{P}.bypass_mg_l_caco3",
            product_mg_l_caco3=f"{P}.product_mg_l_caco3",
            share=f"{P}.share",
            label="Hardness of the blend",
        )
    entries.flag(
        "blending",
        "warning",
        "blending carries everything of the raw water past the membranes, germs, iron, arsenic and "
        "nitrate included: filter and disinfect it, hold the blend against every limit, and defer "
        "to the health authority where anyone drinks it",
        f"{P}.share",
    )


def treat(train: Train, stream: Stream) -> Stream:
    """Note the water that the blend takes; the membranes get the same."""
    note_water(train, stream)
    return replace(stream)
