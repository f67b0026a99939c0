"""The bypass of the softener: its share, and the water behind the blend."""

from msgspec.structs import replace

from pretreat.core.equivalents import HARDNESS_IONS, equivalent_hardness_mg_l_caco3
from pretreat.core.errors import DesignError
from pretreat.core.tables import analytes
from pretreat.core.undetected import up_to
from pretreat.stages.bypass import laws
from pretreat.stages.bypass.share import LEAK_MG_L_CACO3, SHARE_KEPT, share_that_keeps
from pretreat.stages.limits import train_limits
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P, SHARE = "bypass", "bypass.share"
USUAL_SHARE = 0.2  # PRACTICE: where what may pass cannot be worked out


def prepare(train: Train) -> None:
    """Enter the share beside the softener, and what the softener has to treat."""
    entries, choice = train.entries, train.design.bypass
    label = "Share of the feed that passes beside the softener"
    if not train.has("softener"):
        raise DesignError("[bypass] passes beside a softener, and the train has none: leave it out")
    if choice.target_hardness_mg_l_caco3 is not None:
        _enter_from_target(train, label)
    elif choice.share is not None:
        entries.given(SHARE, choice.share, "-", label, origin="chosen", cites=())
    else:
        _enter_what_may_pass(train, label, share_that_keeps(train))
    for name, law, water in (
        ("softened_m3_h", laws.softened_m3_h, {"flow_m3_h": "machine.feed_flow_m3_h"}),
        ("softened_m3_d", laws.softened_m3_d, {"feed_m3_d": "machine.feed_m3_d"}),
    ):
        words = "Flow" if name.endswith("h") else "Water of a day"
        text = f"{words} through the softener"
        entries.law(f"{P}.{name}", law, bypass_share=SHARE, label=text, **water)


def _enter_what_may_pass(train: Train, label: str, found: tuple[float, str] | None) -> None:
    share, limits = (USUAL_SHARE, "") if found is None else found
    how = f"{SHARE_KEPT:g} of the largest that keeps {limits} at the recovery wanted"
    train.entries.given(SHARE, share, "-", label, method=how if limits else "")
    if not share:
        train.entries.flag(
            "no_bypass",
            "caution",
            "bypass: the recovery wanted takes all of the water softened; nothing may pass beside",
            SHARE,
        )


def _enter_from_target(train: Train, label: str) -> None:
    entries, raw = train.entries, train.raw
    target = train.design.bypass.target_hardness_mg_l_caco3
    hardness = equivalent_hardness_mg_l_caco3(raw.mg_l, HARDNESS_IONS)
    leak = min(LEAK_MG_L_CACO3, hardness)
    if not leak < target < hardness:
        raise DesignError(
            f"[bypass] target_hardness = {target:g} mg/L as CaCO3: it must lie between what a "
            f"softener leaves, about {leak:g}, and the hardness of the water, {hardness:.0f}"
        )
    for name, value, text, origin in (
        ("hardness_in_mg_l_caco3", hardness, "Hardness ahead of the bypass", "calculated"),
        ("target_mg_l_caco3", target, "Hardness wanted behind the bypass", "chosen"),
        ("leakage_mg_l_caco3", leak, "Hardness behind the softener, for the bypass", "assumed"),
    ):
        entries.given(f"{P}.{name}", value, "mg/L as CaCO3", text, origin=origin)
    entries.law(
        SHARE,
        laws.bypass_share,
        hardness_mg_l_caco3=f"{P}.hardness_in_mg_l_caco3",
        target_mg_l_caco3=f"{P}.target_mg_l_caco3",
        leakage_mg_l_caco3=f"{P}.leakage_mg_l_caco3",
        label=label,
    )


def treat(train: Train, stream: Stream) -> Stream:
    """Return the blend of softened water and of what passed beside the softener."""
    entries, raw = train.entries, train.raw
    mg_l, share = dict(stream.mg_l), entries.value(SHARE)
    for ion in (*HARDNESS_IONS, "na"):
        if ion not in raw.mg_l or f"softener.out_{ion}_mg_l" not in entries.ledger:
            continue
        mg_l[ion] = entries.law(
            f"{P}.out_{ion}_mg_l",
            laws.blend_mg_l,
            raw_mg_l=entries.dissolved(raw, ion),
            softened_mg_l=f"softener.out_{ion}_mg_l",
            bypass_share=SHARE,
            label=f"{analytes()[ion].name.capitalize()} behind the bypass",
        )
    metals = stream.metal("fe") + stream.metal("mn")
    least = train_limits()["iron_present"].value
    most = up_to(entries.ledger, ("fe", "mn"), metals, least)
    told = f" of {metals:.2g} mg/L" if most is None else f", up to {most:.2g} mg/L,"
    if metals > least and share > 0:
        entries.flag(
            "bypass_iron",
            "caution",
            f"bypass: iron and manganese{told} pass beside the softener as well; "
            "a bypass is for water without iron: filter it first",
            SHARE,
        )
    return replace(stream, mg_l=mg_l)
