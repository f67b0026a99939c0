"""Carbon dioxide and hydrogen sulfide of the product: gas passes the membranes as it is."""

from pretreat.stages import stripping
from pretreat.stages.limits import train_limits
from pretreat.stages.train import Train

# Stages that change it and enter what is left, in the order of flow from the last.
CHANGING = ("alkali", "acid", "degasser", "weak_acid", "iron_filter", "aeration")
MOVING = (*CHANGING, "bisulfite", "chlorine", "permanganate")


def co2_key(train: Train) -> str | None:
    """Return the key of the carbon dioxide of the membranes' feed, None where it is not known."""
    ledger = train.entries.ledger
    question = train.question
    order = [] if question is None else [k for k, d in question.ahead.items() if d.included]
    for key in reversed(order):
        if key in CHANGING and ledger.number(f"{key}.co2_mg_l") is not None:
            return f"{key}.co2_mg_l"
    return "water.co2_mg_l" if ledger.number("water.co2_mg_l") is not None else None


def gas_of_sulfide(sulfide_mg_l: float, ph: float | None, temperature_c: float) -> float:
    """Return the part of the sulfide that is a gas, and passes the membranes as one.

    Parameters
    ----------
    sulfide_mg_l : float
        Sulfide of all forms. [mg/L]
    ph : float or None
        pH of the membranes' feed; all counts as a gas where it is not known. [-]
    temperature_c : float
        Water temperature, the coldest, where most of it is gas. [°C]

    Returns
    -------
    float
        Molecular hydrogen sulfide. [mg/L]
    """
    if ph is None:
        return sulfide_mg_l
    warm = min(max(temperature_c, 0.0), 60.0)  # the range of the constant
    return sulfide_mg_l * float(stripping.molecular_sulfide(ph, stripping.sulfide_pk(warm)))


def ph_of_feed(train: Train) -> float | None:
    """Return the pH of the membranes' feed, as the last stage that moves it entered it.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]

    Returns
    -------
    float or None
        That of the report without one. [-]
    """
    number, question = train.entries.ledger.number, train.question
    order = [] if question is None else [k for k, d in question.ahead.items() if d.included]
    moved = (number(f"{key}.ph") for key in reversed(order) if key in MOVING)
    return next((ph for ph in moved if ph is not None), train.raw.ph)


def gas_of_feed(train: Train) -> float:
    """Return the hydrogen sulfide that passes the membranes as a gas.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]

    Returns
    -------
    float
        At the pH of their feed, in the coldest water. [mg/L]
    """
    return gas_of_sulfide(train.raw.h2s_mg_l, ph_of_feed(train), train.raw.coldest_c)


def held_as_ion(train: Train) -> bool:
    """Tell whether there is sulfide that the membranes hold back, all but what nobody smells.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]

    Returns
    -------
    bool
        False without sulfide. [-]
    """
    return train.raw.h2s_mg_l > 0 and gas_of_feed(train) <= train_limits()["sulfide_gas"].value
