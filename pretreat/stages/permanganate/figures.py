"""The continuous feed of permanganate: demand, dose and feeder."""

from msgspec.structs import replace

from pretreat.stages.dosing.figures import chemicals, enter_feeder
from pretreat.stages.oxidant_feed import enter_demand, oxidised
from pretreat.stages.oxidation import oxidant_demand_mg_l
from pretreat.stages.permanganate.laws import potassium_added_mg_l
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P, DOSE = "permanganate", "permanganate.dose_mg_l"
MUCH_MORE = 1.1  # PRACTICE: a tenth over what the water takes shows pink


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the feed: iron and manganese as solids, sulfide gone.

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
    entries, own = train.entries, train.design.permanganate.dose_mg_l
    demand = enter_demand(train, stream, "permanganate", P)
    label = "Dose of permanganate, as KMnO4"
    if own is None:
        entries.law(
            DOSE,
            oxidant_demand_mg_l,
            dissolved_mg_l=[demand],
            oxidant_mg_mg=[1.0],
            label=label,
            method="what iron, manganese and sulfide take: more shows pink",
        )
    else:
        entries.given(DOSE, own, "mg/L", label, origin="chosen", cites=())
    dose, needed = entries.value(DOSE), entries.value(demand)
    if dose > MUCH_MORE * needed or dose < needed:
        more = dose > needed
        entries.flag(
            "permanganate_dose",
            "warning" if more else "caution",
            f"permanganate of {dose:.3g} mg/L against {needed:.3g} mg/L that the water takes: "
            + (
                "the excess passes pink and destroys membranes: lower it, colour interlock"
                if more
                else "iron and manganese are left"
            ),
            DOSE,
        )
    potassium = entries.law(
        f"{P}.potassium_added_mg_l",
        potassium_added_mg_l,
        dose_mg_l=DOSE,
        label="Potassium that the permanganate adds",
    )
    behind = oxidised(train, stream, "permanganate", P)
    return replace(behind, mg_l={**behind.mg_l, "k": behind.mg_l.get("k", 0.0) + potassium})


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter the feeder of permanganate.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with. [-]
    """
    enter_feeder(train, P, DOSE, chemicals()["permanganate"])
