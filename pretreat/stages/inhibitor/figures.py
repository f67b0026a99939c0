"""What is dosed or would be: scale inhibitor, and what hydrogen sulfide asks for."""

from pretreat.core.basis import Level
from pretreat.core.results import Ledger
from pretreat.site.design import DesignBasis
from pretreat.stages.decisions import Question
from pretreat.stages.inhibitor.laws import inhibitor_g_h, inhibitor_kg_year, inhibitor_reaches
from pretreat.stages.limits import train_limits
from pretreat.stages.packages import support
from pretreat.stages.train import Entries, Train

P = "inhibitor"
ENDS = (("low", "least"), ("high", "most"))
MUCH_SALT_KG_M3 = 2.0  # PRACTICE: above, an inhibitor is usually the cheaper way


def _feed_m3_year(train: Train) -> float:
    return train.entries.value("machine.feed_m3_d") * train.entries.value("machine.days_per_year")


def enter_inhibitor(train: Train) -> None:
    """Enter dose, flow and yearly use of the scale inhibitor, as a range.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    entries, found = train.entries, support()
    for end, word in ENDS:
        row = found[f"inhibitor_dose_{end}_mg_l"]
        dose = entries.given(f"{P}.dose_{end}_mg_l", row.value, "mg/L",
                             f"Scale inhibitor in the feed, {word}",
                             method="common practice; the maker's dose governs")  # fmt: skip
        key = f"{{{P}.dose_{end}_mg_l}}"
        entries.calc(f"{P}.feed_{end}_g_h",
                     inhibitor_g_h(entries.value("machine.feed_flow_m3_h"), dose), "g/h",
                     f"Scale inhibitor fed while running, {word}",
                     f"{{machine.feed_flow_m3_h}}*{key}", by=(inhibitor_g_h,),
                     evidence="common practice")  # fmt: skip
        entries.calc(f"{P}.{end}_kg_per_year", inhibitor_kg_year(_feed_m3_year(train), dose),
                     "kg/year", f"Scale inhibitor per year, {word}",
                     f"{{machine.feed_m3_d}}*{{machine.days_per_year}}*{key}/1000",
                     cites=("PRACTICE",), evidence="common practice")  # fmt: skip
    low, high = (entries.value(f"{P}.feed_{end}_g_h") for end, _ in ENDS)
    entries.flag("inhibitor_dosing", "info",
                 f"scale inhibitor: {low:.2g} to {high:.2g} g/h while the machine runs, fed behind "
                 "the filters and ahead of the cartridge; the maker's dose and the maker's limits "
                 "govern (common practice here); stop the machine when the dosing stops",
                 f"{P}.feed_high_g_h")  # fmt: skip


def note_inhibitor_needed(ledger: Ledger, design: DesignBasis) -> None:
    """Warn where the recovery wanted needs an inhibitor and none is chosen.

    Parameters
    ----------
    ledger : Ledger
        Where the flag goes; the membranes' recovery limits are entered before. [-]
    design : DesignBasis
        The engineer's choices. [-]
    """
    wanted, most = design.machine.recovery, ledger.number("recovery.max")
    if design.limits.inhibitor or most is None or wanted <= most:
        return
    if inhibitor_reaches(ledger.number("recovery.max_inhibited"), wanted):
        Entries(ledger).flag("inhibitor_needed", "warning",
                             f"{wanted:.0%} recovery scales without an inhibitor and none is "
                             "chosen: write [limits] inhibitor = true (dosing joins the train), "
                             "lower the recovery, or soften", "recovery.max")  # fmt: skip


def note_softener_salt(train: Train, question: Question) -> None:
    """Say what the softener's salt comes to where an inhibitor alone would do.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    question : Question
        The same, as the choice of stages asks it. [-]
    """
    entries, most = train.entries, question.recovery_inhibited
    salt = entries.ledger.number("softener.salt_kg_per_year")
    if salt is None or not inhibitor_reaches(most, train.design.machine.recovery):
        return
    product = entries.value("machine.product_m3_d") * entries.value("machine.days_per_year")
    if salt / product <= MUCH_SALT_KG_M3:
        return
    found = support()
    low, high = (
        inhibitor_kg_year(_feed_m3_year(train), found[f"inhibitor_dose_{end}_mg_l"].value)
        for end, _ in ENDS
    )
    entries.flag("inhibitor_instead", "caution",
                 f"a scale inhibitor alone would allow {most:.0%} recovery ({low:.0f} to "
                 f"{high:.0f} kg a year, common practice); the softener takes {salt / 1000:.1f} t "
                 f"of salt a year, {salt / product:.1f} kg for each m3 of product: try [softener] "
                 "include = false with [limits] inhibitor = true", "softener.salt_kg_per_year",
    )  # fmt: skip


def note_sulfide(train: Train, present: set[str]) -> None:
    """Flag hydrogen sulfide above what resin and membranes take.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    present : set of str
        Names of the stages that are in the train. [-]
    """
    limits, sulfide = train_limits(), train.raw.h2s_mg_l
    least, most = limits["sulfide"].value, limits["filter_sulfide"].value
    if sulfide <= least:
        return
    harm = (
        f"hydrogen sulfide is {sulfide:.2g} mg/L; above about {least:g} mg/L (common practice) "
        "sulfur fouls resin and membranes, and the gas passes into the product"
    )
    strip = "aeration that strips it (toxic gas: vent outdoors), with detention and a filter"
    level: Level = "warning"
    if sulfide > most:
        remedy = f"more than the {most:g} mg/L an oxidising filter takes (from memory): {strip}, "
        remedy += "ahead of the train"
    elif "iron filter" in present:
        level = "caution"
        remedy = "the iron filter's oxidant turns it to sulfur, which the bed holds back: measure "
        remedy += "behind it"
    else:
        remedy = "nothing in the train takes it: oxidant and filter ahead of the softener, or "
        remedy += strip
    train.entries.flag("sulfide", level, f"{harm}: {remedy}", "train.sulfide_removal")
