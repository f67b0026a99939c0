"""The carbon dioxide of the product: gas passes the membranes as it is."""

from pretreat.stages.train import Train

# Stages that change it and enter what is left, in the order of flow from the last.
CHANGING = ("alkali", "acid", "degasser", "weak_acid", "iron_filter", "aeration")


def co2_key(train: Train) -> str | None:
    """Return the key of the carbon dioxide of the membranes' feed, None where it is not known."""
    ledger = train.entries.ledger
    question = train.question
    order = [] if question is None else [k for k, d in question.ahead.items() if d.included]
    for key in reversed(order):
        if key in CHANGING and ledger.number(f"{key}.co2_mg_l") is not None:
            return f"{key}.co2_mg_l"
    return "water.co2_mg_l" if ledger.number("water.co2_mg_l") is not None else None
