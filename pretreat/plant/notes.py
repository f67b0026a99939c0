"""What is said of the train as a whole: salt, sulfide, rust, and the inhibitor it would need."""

from pretreat.core.basis import Level
from pretreat.core.results import Ledger
from pretreat.plant.membrane_checks import AIRLESS_MG_L, is_closed
from pretreat.site.design import DesignBasis
from pretreat.stages.inhibitor.laws import inhibitor_kg_year
from pretreat.stages.limits import train_limits
from pretreat.stages.packages import support
from pretreat.stages.product_gas import gas_of_feed, held_as_ion, ph_of_feed
from pretreat.stages.train import Entries, Train

MUCH_SALT_KG_M3 = 2.0  # PRACTICE: above, an inhibitor is usually the cheaper way
ENDS = (("low", "least"), ("high", "most"))
SULFIDE_LEFT, MOLECULAR = "aeration.sulfide_left_mg_l", "aeration.molecular_sulfide"
CLOSED_IRON_MG_L = 0.5  # PRACTICE: of a well that is kept sealed, iron stays ferrous


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
    inhibited = ledger.number("recovery.max_inhibited")
    if inhibited is not None and inhibited >= wanted:
        Entries(ledger).flag(
            "inhibitor_needed",
            "warning",
            f"{wanted:.0%} recovery scales without an inhibitor and none is "
            "chosen: write [limits] inhibitor = true (dosing joins the train), "
            "lower the recovery, or soften",
            "recovery.max",
        )


def note_softener_salt(train: Train) -> None:
    """Say what the softener's salt comes to where an inhibitor alone would do.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    entries, question = train.entries, train.question
    salt = entries.ledger.number("softener.salt_kg_per_year")
    if salt is None or question is None or not question.inhibitor_reaches:
        return
    most = question.recovery_inhibited
    feed, days = entries.value("machine.feed_m3_d"), entries.value("machine.days_per_year")
    product = entries.value("machine.product_m3_d") * days
    if salt / product <= MUCH_SALT_KG_M3:
        return
    found = support()
    low, high = (
        inhibitor_kg_year(feed, days, found[f"inhibitor_dose_{end}_mg_l"].value) for end, _ in ENDS
    )
    entries.flag(
        "inhibitor_instead",
        "caution",
        f"a scale inhibitor alone would allow {most:.0%} recovery ({low:.0f} to "
        f"{high:.0f} kg a year, common practice); the softener takes {salt / 1000:.1f} t "
        f"of salt a year, {salt / product:.1f} kg for each m3 of product: try [softener] "
        "include = false with [limits] inhibitor = true",
        "softener.salt_kg_per_year",
    )


# Of a train that holds sulfide dissolved up to the degasser of the product.
TANK_AIRS = (
    "the raw tank is what it fails by: air there turns sulfide into sulfur, and the train without "
    "it would hold the sulfide dissolved (leave raw_tank_volume out of [supply]: the well pump "
    "then feeds the machine, sealed)"
)


STRIPPED = "; the degasser of the product strips the gas (toxic: vent outdoors)"


def _gas_of(train: Train) -> str:
    """Say what of the sulfide passes the membranes, as the end of a clause."""
    if not held_as_ion(train):
        return ", and the gas passes into the product"
    return (
        f"; at pH {ph_of_feed(train):.1f} it is an ion that membranes hold back, and "
        f"{gas_of_feed(train):.2g} mg/L of it a gas"
    )


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
    below = train.raw.h2s_below_mg_l
    taken = "" if below is None else f"not detected below {below:g} mg/L and taken as "
    harm = (
        f"hydrogen sulfide is {taken}{sulfide:.2g} mg/L; above about {least:g} mg/L (common "
        "practice) sulfur fouls resin and membranes"
    )
    harm += _gas_of(train)
    strip = "aeration that strips it (toxic gas: vent outdoors), with detention and a filter"
    level: Level = "warning"
    if is_closed(train, present):
        remedy = "well, piping and regeneration stay sealed, without air, so that it stays "
        remedy += "dissolved" + ("" if held_as_ion(train) else STRIPPED)
    elif sulfide > most:
        remedy = f"more than the {most:g} mg/L an oxidising filter takes (from memory): {strip}, "
        remedy += "ahead of the train"
    elif "iron filter" in present:
        level, remedy = _filtered_sulfide(train, sulfide)
    elif "aeration" in present:
        level = "caution"
        remedy = "the aerator strips part of it (toxic gas: vent outdoors): measure behind it"
    elif train.has("product_degasser"):
        remedy = "the degasser of the product strips the gas behind the membranes (vent outdoors); "
        remedy += "ahead of them nothing takes it: keep well and piping sealed, without air, or "
        remedy += f"oxidant and filter, or {strip}"
        if train.has("raw_tank"):
            remedy = f"{TANK_AIRS}; {remedy}"
    else:
        ahead = "softener" if train.has("softener") else "membranes"
        remedy = f"nothing in the train takes it: oxidant and filter ahead of the {ahead}, or "
        remedy += strip
    train.entries.flag("sulfide", level, f"{harm}: {remedy}", "train.sulfide_removal")


def note_resin(train: Train, present: set[str]) -> None:
    """Flag a softener that much sulfide reaches.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    present : set of str
        Names of the stages that are in the train. [-]
    """
    sulfide = train.raw.h2s_mg_l
    reached = train.has("softener") and is_closed(train, present)
    if not reached or sulfide <= train_limits()["sulfide_pilot"].value:
        return
    train.entries.flag(
        "sulfide_on_resin",
        "warning",
        f"a softener on {sulfide:.2g} mg/L of hydrogen sulfide: its brine comes from an open "
        "tank, and the air in it makes sulfur and black iron sulfide on the resin (common "
        "practice): an inhibitor in its place, or a pilot with brine and rinse without air",
        "train.sulfide_removal",
    )


def _filtered_sulfide(train: Train, sulfide: float) -> tuple[Level, str]:
    """Say what an oxidising filter does with sulfide; much of it onto a new one is for a pilot.

    A filter that stands is its own pilot: what passes it can be measured.
    """
    fed = train.design.iron_filter.oxidant != "air"
    makes = "the iron filter's oxidant turns it" if fed else "air and filter turn part of it"
    makes += " to sulfur"
    left, most = train.entries.ledger.number(SULFIDE_LEFT), train_limits()["sulfide_pilot"]
    onto = sulfide if left is None else left
    if onto <= most.value:
        return "caution", f"{makes}, which the bed holds back: measure behind it"
    molecular = train.entries.ledger.number(MOLECULAR)
    hardly = ""
    if molecular is not None and left is not None:
        hardly = f"stripping leaves {left:.2g} mg/L of it, for only {molecular:.0%} is gas at the "
        hardly += "pH behind the aerator (acid ahead would free more, a deadly gas); "
    words = f"{hardly}{makes} so fine that much of it may pass the bed ({most.value:g} mg/L and "
    words += f"more, {most.evidence}): "
    ways = ["run a pilot of oxidant and filter before it is built"]
    if not train.sizing:
        ways = ["measure sulfide, turbidity and silt density index behind it"]
    airless = (train.raw.oxygen_mg_l or 0.0) <= AIRLESS_MG_L
    if airless and train.raw.total("fe") <= CLOSED_IRON_MG_L:
        sealed = "keep the line sealed (no tank open to the air, no air, no oxidant) and degas "
        ways.insert(0, f"{sealed}the product with a vent to the open")
    return "warning" if train.sizing else "caution", words + ", or ".join(ways)


def note_air_and_iron(train: Train, present: set[str]) -> None:
    """Flag iron that is oxidised ahead of a softener without a filter between.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    present : set of str
        Names of the stages that are in the train. [-]
    """
    aired = train.design.supply.vented_raw_tank and "iron filter" not in present
    if (
        aired
        and "softener" in present
        and train.raw.total("fe") > train_limits()["iron_present"].value
    ):
        train.entries.flag(
            "rust_to_softener",
            "warning",
            "air in the raw tank turns iron into rust that the softener cannot "
            "exchange and is fouled by; some codes forbid it: a filter between, "
            "or a closed tank",
            "softener.iron_in_mg_l",
        )
