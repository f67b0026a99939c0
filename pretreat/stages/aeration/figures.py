"""Aeration: gas stripped, oxygen taken up, and the time that iron takes to oxidise then."""

from pretreat.core.errors import OutOfRangeError
from pretreat.stages.aeration.laws import iron_half_life_min, iron_time_min
from pretreat.stages.limits import train_limits
from pretreat.stages.stream import Stream
from pretreat.stages.stripped import TEMPERATURE, strip
from pretreat.stages.train import Train

P = "aeration"


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the aerator: less carbon dioxide and sulfide, oxygen in it.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]

    Returns
    -------
    Stream
        The water behind it. [-]
    """
    behind = strip(train, stream, P, "aerator")
    if stream.mg_l.get("fe", 0.0) > 0 and train.entries.ledger.number(f"{P}.ph") is not None:
        _enter_iron(train)
    return behind


def _enter_iron(train: Train) -> None:
    entries, limit = train.entries, train_limits()["filter_iron_left"]
    half_life, label = f"{P}.iron_half_life_min", "Half-life of dissolved iron in the aerated water"
    try:
        entries.law(
            half_life, iron_half_life_min, ph=f"{P}.ph", temperature_c=TEMPERATURE, label=label
        )
    except OutOfRangeError as problem:
        entries.ledger.put(half_life, None, "min", label, inputs=(f"{P}.ph",))
        text = f"the time that iron takes to oxidise by air is not known: {problem.faults[0]}"
        entries.flag("iron_half_life_range", "caution", f"{text}; jar test", half_life)
        return
    minutes = entries.law(
        f"{P}.iron_time_min",
        iron_time_min,
        iron_mg_l=entries.dissolved(train.raw, "fe"),
        left_mg_l=entries.limit(limit),
        half_life_min=f"{P}.iron_half_life_min",
        label="Time for the iron to oxidise by air alone",
        evidence="memory",
    )
    entries.flag(
        "iron_by_air",
        "info",
        f"iron takes {minutes:.2g} min to oxidise by air at the pH behind the aerator by one rate "
        "law, and two to eleven times that by others: design on three times, five in brackish "
        "water, or pilot (common practice)",
        f"{P}.iron_time_min",
    )
