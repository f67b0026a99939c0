"""Weak acid exchange: what it takes from the water, its resin and its acid."""

from msgspec.structs import replace

from pretreat.core.equivalents import HARDNESS_IONS, equivalent_hardness_mg_l_caco3
from pretreat.stages.carbonate import enter_ph
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train
from pretreat.stages.weak_acid import laws

P, TAKEN, LOAD = "weak_acid", "weak_acid.taken_mg_l_caco3", "weak_acid.load_kg_caco3_d"
SHARE = 0.9  # MEMORY: of the lesser of hardness and alkalinity, over a whole run
EXCESS = 1.05  # MEMORY: 1.05 to 1.1 times theory
CAPACITY_EQ_L = 1.5  # MEMORY: 1 to 2.5 eq/L, toward the low end
EVERY_D = 1.0  # PRACTICE: sized to regenerate once a day


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the exchange: less hardness and alkalinity, the same carbon.

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
    entries, own = train.entries, train.design.weak_acid.share
    hardness = equivalent_hardness_mg_l_caco3(stream.mg_l, HARDNESS_IONS)
    alkalinity = stream.alkalinity_mg_l_caco3 or 0.0
    entries.given(
        f"{P}.share",
        SHARE if own is None else own,
        "-",
        "Share of the lesser of hardness and alkalinity that is taken",
        origin="assumed" if own is None else "chosen",
        evidence="memory",
        cites=("MEMORY",) if own is None else (),
    )
    for name, value, label in (
        ("hardness_in_mg_l_caco3", hardness, "Hardness at the weak acid exchange"),
        ("alkalinity_in_mg_l_caco3", alkalinity, "Alkalinity at the weak acid exchange"),
    ):
        entries.given(
            f"{P}.{name}",
            value,
            "mg/L as CaCO3",
            label,
            evidence="computed",
            method="the water that the stages ahead leave",
        )
    taken = entries.law(
        TAKEN,
        laws.hardness_taken_mg_l_caco3,
        hardness_mg_l_caco3=f"{P}.hardness_in_mg_l_caco3",
        alkalinity_mg_l_caco3=f"{P}.alkalinity_in_mg_l_caco3",
        share=f"{P}.share",
        label="Hardness that the exchange takes, and alkalinity with it",
    )
    left = 1.0 - taken / hardness if hardness > 0 else 1.0
    mg_l = {k: v * left if k in HARDNESS_IONS else v for k, v in stream.mg_l.items()}
    before = stream.alkalinity_mg_l_caco3
    behind = replace(
        stream, mg_l=mg_l, alkalinity_mg_l_caco3=None if before is None else before - taken
    )
    enter_ph(train, behind, P, "weak acid exchange", TAKEN)
    entries.flag(
        "weak_acid_exchange",
        "caution",
        "weak acid exchange: the water behind is acid and holds its carbon dioxide: degasser, and "
        "corrosion-resistant vessel and piping; regenerate with hydrochloric acid of 3 to 6 %, or "
        "sulfuric of 0.8 % or less, else gypsum forms in the bed; no chlorine (from memory)",
        TAKEN,
    )
    return behind


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter resin, interval and acid of a year.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with. [-]
    """
    entries, choice = train.entries, train.design.weak_acid
    load = entries.law(
        LOAD,
        laws.load_kg_caco3_d,
        taken_mg_l_caco3=TAKEN,
        feed_m3_d="machine.feed_m3_d",
        label="Hardness onto the weak acid resin in a day",
    )
    for name, own, usual, unit, label in (
        ("capacity_eq_l", choice.capacity_eq_l, CAPACITY_EQ_L, "eq/L", "Operating capacity"),
        ("excess", choice.excess, EXCESS, "-", "Acid over theory"),
    ):
        entries.given(
            f"{P}.{name}",
            usual if own is None else own,
            unit,
            label,
            origin="assumed" if own is None else "chosen",
            evidence="memory",
            cites=("MEMORY",) if own is None else (),
        )
    entries.law(
        f"{P}.acid_kg_per_year",
        laws.acid_kg_per_year,
        load_kg_caco3_d=LOAD,
        excess=f"{P}.excess",
        days_per_year="machine.days_per_year",
        label="Hydrochloric acid per year, as 100 %",
    )
    if choice.resin_volume_l is None:
        own = choice.regenerate_every_days
        entries.given(
            f"{P}.wanted_interval_d",
            EVERY_D if own is None else own,
            "d",
            "Interval wanted",
            origin="assumed" if own is None else "chosen",
        )
        entries.law(
            f"{P}.resin_volume_l",
            laws.resin_l,
            load_kg_caco3_d=LOAD,
            interval_d=f"{P}.wanted_interval_d",
            capacity_eq_l=f"{P}.capacity_eq_l",
            label="Weak acid resin",
        )
    else:
        entries.given(
            f"{P}.resin_volume_l",
            choice.resin_volume_l,
            "L",
            "Weak acid resin",
            origin="chosen",
            cites=(),
        )
    if load > 0:
        entries.law(
            f"{P}.interval_d",
            laws.interval_d,
            resin_l=f"{P}.resin_volume_l",
            capacity_eq_l=f"{P}.capacity_eq_l",
            load_kg_caco3_d=LOAD,
            label="Weak acid resin: days between regenerations",
        )
