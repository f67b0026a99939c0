"""The degasser of the product: carbon dioxide and hydrogen sulfide that passed the membranes."""

from pretreat.stages.product_gas import co2_key
from pretreat.stages.stripped import strip_gas
from pretreat.stages.train import Train

P = "product_degasser"


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter what it strips; the gases pass the membranes as they are."""
    entries, co2 = train.entries, co2_key(train)
    if co2 is None:
        entries.flag(
            "gas_not_judged",
            "caution",
            "degasser of the product: pH or alkalinity is not known, so what it strips is not",
        )
        return
    strip_gas(train, P, "degasser of the product", co2)
    sulfide = train.raw.h2s_mg_l
    if sulfide > 0 and not train.has("iron_filter"):
        entries.flag(
            "sulfide_in_product",
            "warning",
            f"hydrogen sulfide of {sulfide:.2g} mg/L passes the membranes as a gas: strip it from "
            "the product, outdoors, and polish behind it (carbon or a little chlorine); it is a "
            "deadly gas, and smell is no warning",
            f"{P}.co2_removed",
        )
