"""A continuous feed of chlorine or permanganate: what it is used up by and does to the water."""

from collections.abc import Mapping

from msgspec.structs import replace

from pretreat.stages.chlorine.laws import CACO3_PER_N, NITROGEN_OF_AMMONIUM
from pretreat.stages.oxidation import (
    alkalinity_fed_per_mg,
    alkalinity_used_mg_l_caco3,
    oxidant_demand_mg_l,
    oxidant_per_mg,
)
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

LABELS = {"chlorine": "Chlorine", "permanganate": "Permanganate"}
NAMES = {"fe": "iron", "mn": "manganese"}
FED = "acid released; chlorine fed as hypochlorite"
AMMONIUM = CACO3_PER_N * NITROGEN_OF_AMMONIUM  # STOICHIOMETRY: two H+ for two ammonium


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
    metals = [k for k in ions if stream.mg_l.get(k, 0.0) > 0]
    used = alkalinity_used(train, stream, oxidant, prefix, ions)
    solid = {**stream.solid_mg_l}
    for ion in metals:
        solid[ion] = solid.get(ion, 0.0) + stream.mg_l[ion]
    return replace(
        stream,
        mg_l={k: 0.0 if k in metals else v for k, v in stream.mg_l.items()},
        solid_mg_l=solid,
        alkalinity_mg_l_caco3=alkalinity_left(train, stream, used, prefix),
        oxidant=oxidant,
        sulfide_mg_l=0.0,
    )


def alkalinity_used(
    train: Train,
    stream: Stream,
    oxidant: str,
    prefix: str,
    ions: tuple[str, ...] = ("fe", "mn"),
) -> float:
    """Enter the alkalinity that dissolved iron and manganese use up as they are oxidised.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]
    oxidant, prefix : str
        "chlorine", "permanganate" or "air", and key of the stage. [-]
    ions : tuple of str
        What is oxidised there. [-]

    Returns
    -------
    float
        0 where nothing dissolved is left. [mg/L as CaCO3]
    """
    metals = {k: v for k, v in _taking(train, stream).items() if k in ions}
    if not metals:
        return 0.0
    return train.entries.law(
        f"{prefix}.alkalinity_used_mg_l_caco3",
        alkalinity_used_mg_l_caco3,
        dissolved_mg_l=list(metals.values()),
        alkalinity_mg_mg=[alkalinity_fed_per_mg(ion, oxidant) for ion in metals],
        label=f"Alkalinity used up by {' and '.join(NAMES[ion] for ion in metals)} oxidised "
        + (f"on the filter ({oxidant})" if prefix == "iron_filter" else f"with {oxidant}"),
        method=FED if oxidant == "chlorine" else "acid released",
    )


def alkalinity_left(train: Train, stream: Stream, used: float, prefix: str) -> float | None:
    """Return the alkalinity behind an oxidation; say where there was too little of it.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]
    used : float
        What the oxidation uses up. [mg/L as CaCO3]
    prefix : str
        Key of the stage. [-]

    Returns
    -------
    float or None
        Never below 0, None where it is not known. [mg/L as CaCO3]
    """
    before = stream.alkalinity_mg_l_caco3
    if before is None:
        return None
    if used > before > 0:
        train.entries.flag(
            "alkalinity_used_up",
            "warning",
            f"oxidising iron and manganese sets free more acid than the water has alkalinity there "
            f"({used:.2g} against {before:.2g} mg/L as CaCO3): the pH falls below 4.5, the metals "
            "stay dissolved and steel corrodes: feed alkali ahead of the oxidant",
            f"{prefix}.alkalinity_used_mg_l_caco3",
        )
    return max(before - used, 0.0)


def acid_to_come(train: Train, stream: Stream, key: str) -> float:
    """Enter the alkalinity that oxidants and filter behind a stage use up; return it.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water there. [-]
    key : str
        Key of the figure, entered where something oxidises behind. [-]

    Returns
    -------
    float
        Of iron and manganese, and of ammonia up to the breakpoint. [mg/L as CaCO3]
    """
    behind = [s for s in (*LABELS, "iron_filter") if train.has(s) and s not in stream.passed]
    if not behind:
        return 0.0
    filtered = "iron_filter" in behind
    oxidant = train.design.iron_filter.oxidant if filtered else behind[0]
    every = filtered or oxidant == "permanganate"
    held = {k: v for k, v in _taking(train, stream).items() if k == "fe" or (every and k == "mn")}
    shares = [alkalinity_fed_per_mg(ion, oxidant) for ion in held]
    if "chlorine" in behind and stream.mg_l.get("nh4", 0.0) > 0:
        held["nh4"] = train.entries.dissolved(train.raw, "nh4")
        shares.append(AMMONIUM)
    if not held:
        return 0.0
    return train.entries.law(
        key,
        alkalinity_used_mg_l_caco3,
        dissolved_mg_l=list(held.values()),
        alkalinity_mg_mg=shares,
        label=f"Alkalinity that the oxidation behind uses up ({oxidant})",
        method=FED * (oxidant == "chlorine"),
    )


def without_metals(stream: Stream) -> dict[str, float]:
    """Return the ions of a water whose iron and manganese are oxidised.

    Parameters
    ----------
    stream : Stream
        The water. [-]

    Returns
    -------
    dict of str to float
        By key. [mg/L]
    """
    return {k: 0.0 if k in {"fe", "mn"} else v for k, v in stream.mg_l.items()}


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
