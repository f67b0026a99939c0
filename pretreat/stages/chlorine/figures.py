"""The feed of chlorine as hypochlorite: demand, dose, residual and feeder."""

from msgspec.structs import replace

from pretreat.stages.chlorine import laws
from pretreat.stages.dosing.figures import chemicals, enter_feeder
from pretreat.stages.oxidant_feed import enter_demand, oxidised
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P, DOSE = "chlorine", "chlorine.dose_mg_l"
RESIDUAL_MG_L = 0.5  # OPFLOW2021: 0.5 to 1.0 mg/L over the medium
BREAKPOINT = 10.0  # PRACTICE: 7.6 by theory, 10 to 15 in practice


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the feed: iron as rust, sulfide gone, a residual of chlorine.

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
    entries, choice = train.entries, train.design.chlorine
    demand = enter_demand(train, stream, "chlorine", P)
    ammonia: str | float = 0.0
    if stream.mg_l.get("nh4", 0.0) > 0:
        ammonia = _enter_ammonia(train)
    residual = entries.given(
        f"{P}.residual_mg_l",
        RESIDUAL_MG_L if choice.residual_mg_l is None else choice.residual_mg_l,
        "mg/L",
        "Free chlorine kept behind the feed",
        origin="assumed" if choice.residual_mg_l is None else "chosen",
        cites=("OPFLOW2021",) if choice.residual_mg_l is None else (),
    )
    needed = {"demand_mg_l": demand, "ammonia_mg_l": ammonia, "residual_mg_l": f"{P}.residual_mg_l"}
    if choice.dose_mg_l is None:
        label = "Dose of chlorine, as Cl2"
        entries.law(DOSE, laws.chlorine_dose_mg_l, label=label, **needed)
        behind = _reacted(train, oxidised(train, stream, "chlorine", P), demand)
        return replace(behind, free_chlorine_mg_l=residual)
    entries.given(
        DOSE, choice.dose_mg_l, "mg/L", "Dose of chlorine, as Cl2", origin="chosen", cites=()
    )
    taken = entries.law(
        f"{P}.needed_mg_l", laws.chlorine_dose_mg_l, label="Chlorine that it takes", **needed
    )
    if choice.dose_mg_l < taken:
        entries.flag(
            "chlorine_too_little",
            "warning",
            f"chlorine of {choice.dose_mg_l:g} mg/L does not meet what the water takes with its "
            f"residual, {taken:.3g} mg/L: iron and manganese pass the filter; raise the dose",
            DOSE,
        )
    left = max(choice.dose_mg_l - taken + residual, 0.0)
    behind = _reacted(train, oxidised(train, stream, "chlorine", P), demand)
    return replace(behind, free_chlorine_mg_l=left)


def _reacted(train: Train, stream: Stream, demand: str) -> Stream:
    """Return the water with the salt of the hypochlorite, and without the ammonia it takes."""
    entries, added = train.entries, {}
    for ion, law, label in (
        ("na", laws.sodium_added_mg_l, "Sodium that the hypochlorite brings"),
        ("cl", laws.chloride_added_mg_l, "Chloride that the hypochlorite ends as"),
    ):
        added[ion] = entries.law(
            f"{P}.{ion}_added_mg_l",
            law,
            dose_mg_l=DOSE,
            label=label,
            method="as pure hypochlorite; a commercial solution holds about as much salt again",
        )
    mg_l = {**stream.mg_l, **{k: stream.mg_l.get(k, 0.0) + v for k, v in added.items()}}
    alkalinity, nitrogen = stream.alkalinity_mg_l_caco3, f"{P}.ammonia_n_mg_l"
    if nitrogen in entries.ledger:
        left = entries.law(
            f"{P}.ammonia_left_n_mg_l",
            laws.ammonia_left_n_mg_l,
            ammonia_n_mg_l=nitrogen,
            dose_mg_l=DOSE,
            demand_mg_l=demand,
            label="Ammonia behind the chlorine, as nitrogen",
            method="none past the breakpoint, by the reaction",
        )
        used = entries.law(
            f"{P}.alkalinity_for_ammonia_mg_l_caco3",
            laws.alkalinity_for_ammonia_mg_l_caco3,
            ammonia_n_mg_l=nitrogen,
            left_n_mg_l=f"{P}.ammonia_left_n_mg_l",
            label="Alkalinity that the breakpoint uses",
        )
        mg_l["nh4"] = mg_l["nh4"] if left > 0.0 else 0.0
        alkalinity = None if alkalinity is None else max(alkalinity - used, 0.0)
    return replace(stream, mg_l=mg_l, alkalinity_mg_l_caco3=alkalinity)


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter the feeder of hypochlorite.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with. [-]
    """
    enter_feeder(train, P, DOSE, chemicals()["hypochlorite"])


def _enter_ammonia(train: Train) -> str:
    entries, own = train.entries, train.design.chlorine.breakpoint
    entries.law(
        f"{P}.ammonia_n_mg_l",
        laws.ammonia_n_mg_l,
        ammonium_mg_l=entries.dissolved(train.raw, "nh4"),
        label="Ammonia as nitrogen",
    )
    entries.given(
        f"{P}.breakpoint_mg_mg",
        BREAKPOINT if own is None else own,
        "mg/mg",
        "Chlorine that a milligram of ammonia nitrogen takes up to the breakpoint",
        origin="assumed" if own is None else "chosen",
        method="7.6 by theory, 10 to 15 in practice",
    )
    entries.law(
        f"{P}.ammonia_takes_mg_l",
        laws.ammonia_takes_mg_l,
        ammonia_n_mg_l=f"{P}.ammonia_n_mg_l",
        breakpoint_mg_mg=f"{P}.breakpoint_mg_mg",
        label="Chlorine that ammonia takes",
    )
    return f"{P}.ammonia_takes_mg_l"
