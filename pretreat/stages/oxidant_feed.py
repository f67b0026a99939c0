"""A continuous feed of chlorine or permanganate: what it is used up by and does to the water."""

from collections.abc import Mapping

from msgspec.structs import replace

from pretreat.core.units import molar_mass
from pretreat.stages.oxidation import (
    alkalinity_per_mg,
    alkalinity_used_mg_l_caco3,
    oxidant_demand_mg_l,
    oxidant_per_mg,
)
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

LABELS = {"chlorine": "Chlorine", "permanganate": "Permanganate"}


def enter_demand(train: Train, stream: Stream, oxidant: str, prefix: str) -> str:
    """Enter what iron, manganese and sulfide take of an oxidant; return the key.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]
    oxidant, prefix : str
        "chlorine" or "permanganate", and key of the stage. [-]

    Returns
    -------
    str
        Key of the demand [mg/L].
    """
    taking = _taking(train, stream)
    key = f"{prefix}.demand_mg_l"
    train.entries.law(
        key,
        oxidant_demand_mg_l,
        dissolved_mg_l=list(taking.values()),
        oxidant_mg_mg=[oxidant_per_mg(reduced, oxidant) for reduced in taking],
        label=f"{LABELS[oxidant]} that iron, manganese and sulfide (to sulfur) take",
        method="electron balance",
    )
    return key


def oxidised(train: Train, stream: Stream, oxidant: str, prefix: str) -> Stream:
    """Return the water behind a feed: metals as solids, sulfide gone, less alkalinity.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]
    oxidant, prefix : str
        "chlorine" or "permanganate", and key of the stage. [-]

    Returns
    -------
    Stream
        The water behind it. [-]
    """
    # Chlorine hardly touches manganese ahead of a coated medium.
    ions = ("fe",) if oxidant == "chlorine" else ("fe", "mn")
    metals = {k: v for k, v in _taking(train, stream).items() if k in ions}
    used = 0.0
    if metals:
        used = train.entries.law(
            f"{prefix}.alkalinity_used_mg_l_caco3",
            alkalinity_used_mg_l_caco3,
            dissolved_mg_l=list(metals.values()),
            alkalinity_mg_mg=[_alkalinity(ion, oxidant) for ion in metals],
            label=f"Alkalinity used up by the oxidation with {oxidant}",
            method="acid released; chlorine fed as hypochlorite" * (oxidant == "chlorine"),
        )
    solid = {**stream.solid_mg_l}
    for ion in metals:
        solid[ion] = solid.get(ion, 0.0) + stream.mg_l[ion]
    before = stream.alkalinity_mg_l_caco3
    return replace(
        stream,
        mg_l={k: 0.0 if k in metals else v for k, v in stream.mg_l.items()},
        solid_mg_l=solid,
        alkalinity_mg_l_caco3=None if before is None else max(before - used, 0.0),
        oxidant=oxidant,
        sulfide_mg_l=0.0,
    )


def _alkalinity(ion: str, oxidant: str) -> float:
    """Return what a milligram of metal uses [mg/mg]; hypochlorite gives some back."""
    used = alkalinity_per_mg(ion, oxidant)
    if oxidant == "chlorine":
        used -= oxidant_per_mg(ion, oxidant) * molar_mass("CaCO3") / molar_mass("Cl2")
    return used


def _taking(train: Train, stream: Stream) -> Mapping[str, str | float]:
    """Return what the oxidant meets, as keys of figures where one holds the amount."""
    entries, raw = train.entries, train.raw
    found: dict[str, str | float] = {}
    for ion in ("fe", "mn"):
        amount = stream.mg_l.get(ion, 0.0)
        if amount > 0:
            same = amount == raw.mg_l.get(ion)
            found[ion] = entries.dissolved(raw, ion) if same else amount
    if stream.sulfide_mg_l > 0:
        known = entries.ledger.number("water.h2s_mg_l") == stream.sulfide_mg_l
        found["h2s"] = "water.h2s_mg_l" if known else stream.sulfide_mg_l
    return found
