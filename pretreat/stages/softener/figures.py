"""The softener's section: load, capacity, interval, programme, salt and what it leaves."""

from collections.abc import Mapping

from pretreat.core.errors import OutOfRangeError
from pretreat.stages.bed.programme import calendar_setting_d
from pretreat.stages.bed.programme_figures import enter_programme
from pretreat.stages.limits import train_limits
from pretreat.stages.softener import laws as sizing
from pretreat.stages.softener.arrangement import enter_arrangement
from pretreat.stages.softener.bed_figures import (
    check_salt_set,
    enter_bed,
    enter_dose,
    enter_regeneration,
    enter_required_volume,
    rated_bed,
    size_bed,
)
from pretreat.stages.softener.improvements import enter_improvements
from pretreat.stages.softener.resin import (
    CapacityTable,
    capacity_formula,
    capacity_table,
    operating_capacity_g_l,
    read_capacity_table,
)
from pretreat.stages.softener.salt_figures import (
    enter_dose_options,
    enter_salt,
    enter_settings,
    enter_waste_each,
)
from pretreat.stages.softener.water_figures import (
    enter_leakage,
    enter_waste,
    hardness_in_formula,
    softened,
)
from pretreat.stages.train import Train

P = "softener"
CODE_CEILING_G_L = 45.8  # TSS: 20 kgr/ft3
DERATED_INFO = 0.9  # PRACTICE: a tenth of the interval is within its own uncertainty


def enter_softener(train: Train, iron_key: str, manganese_key: str) -> None:
    """Enter the softener, sized or rated.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    iron_key, manganese_key : str
        Keys of the iron and manganese that reach the resin. [-]
    """
    enter_metals_in(train, iron_key, manganese_key)
    enter_load(train)
    enter_factors(train)
    if train.sizing:
        table = enter_capacity(train, enter_dose(train, None))
        bed = size_bed(train, enter_required_volume(train))
    else:
        installed = enter_installed(train)
        table = enter_capacity(train, enter_dose(train, installed))
        bed = rated_bed(train)
    enter_bed(train, bed)
    enter_interval(train)
    enter_programme(train, P, "Softener", f"{P}.interval_d", f"{P}.longest_gap_d",
                    train.design.softener.control)  # fmt: skip
    enter_salt(train)
    steps = enter_regeneration(train)
    enter_leakage(train)
    enter_waste(train)
    enter_waste_each(train)
    enter_settings(train, steps)
    enter_dose_options(train, table)
    enter_improvements(train, table)
    enter_arrangement(train)
    note_set_interval(train)


def water_behind_softener(train: Train, mg_l: Mapping[str, float]) -> dict[str, float]:
    """Return the ions behind the softener, entered as figures.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    mg_l : mapping of str to float
        Ions ahead of the softener. [mg/L]

    Returns
    -------
    dict of str to float
        Ions behind it. [mg/L]
    """
    return softened(train, mg_l)


def enter_metals_in(train: Train, iron_key: str, manganese_key: str) -> None:
    """Enter the iron and manganese onto the resin; refuse and flag by the codes' limits."""
    entries = train.entries
    iron = entries.calc(f"{P}.iron_in_mg_l", entries.value(iron_key), "mg/L",
                        "Iron onto the softener", f"{{{iron_key}}}")  # fmt: skip
    manganese = entries.calc(f"{P}.manganese_in_mg_l", entries.value(manganese_key), "mg/L",
                             "Manganese onto the softener", f"{{{manganese_key}}}")  # fmt: skip
    both = entries.calc(f"{P}.iron_manganese_in_mg_l", iron + manganese, "mg/L",
                        "Iron + manganese onto the softener",
                        f"{{{P}.iron_in_mg_l}}+{{{P}.manganese_in_mg_l}}")  # fmt: skip
    limits, filtered = train_limits(), iron_key == "iron_filter.iron_left_mg_l"
    for name in ("softener_iron_refuse", "softener_iron_flag", "iron_present"):
        entries.limit(limits[name])
    refuse, stricter = limits["softener_iron_refuse"].value, limits["softener_iron_flag"].value
    if both >= refuse:
        raise OutOfRangeError(
            f"iron and manganese onto the softener are {both:.3g} mg/L together; most codes allow "
            f"less than {refuse:g} mg/L (TSS 604.805(a)): "
            + (
                "the iron filter ahead leaves too much: correct iron_left and manganese_left, or "
                "mend the filter"
                if filtered
                else "put an iron filter ahead of it"
            )
        )
    if both > stricter:
        entries.flag("iron_to_softener", "caution",
                     f"iron and manganese onto the softener are {both:.2g} mg/L together; the "
                     f"stricter code allows {stricter:g} mg/L (12 VAC 5-590-900): the resin fouls",
                     f"{P}.iron_manganese_in_mg_l")  # fmt: skip


def enter_load(train: Train) -> None:
    """Enter the hardness in equivalents and the load of a day; leakage is not credited."""
    entries, choice = train.entries, train.design.softener
    hardness, formula = hardness_in_formula(train)
    iron, manganese = entries.value(f"{P}.iron_in_mg_l"), entries.value(f"{P}.manganese_in_mg_l")
    fe, mn = sizing.caco3_per_mg("fe"), sizing.caco3_per_mg("mn")
    hardness += iron * fe + manganese * mn
    formula += f"+{{{P}.iron_in_mg_l}}*{fe!r}+{{{P}.manganese_in_mg_l}}*{mn!r}"
    if choice.iron_allowance_gpg:
        allowance = sizing.iron_allowance_mg_l_caco3(1.0, choice.iron_allowance_gpg)
        entries.given(f"{P}.iron_allowance_mg_l_caco3", allowance, "mg/L as CaCO3",
                      "Field allowance for each mg/L of iron and manganese", origin="chosen",
                      cites=("PRACTICE",), method=f"{choice.iron_allowance_gpg:g} gpg")  # fmt: skip
        hardness += (iron + manganese) * allowance
        formula += f"+{{{P}.iron_manganese_in_mg_l}}*{{{P}.iron_allowance_mg_l_caco3}}"
    entries.calc(f"{P}.hardness_load_mg_l_caco3", hardness, "mg/L as CaCO3",
                 "Hardness in equivalents: Ca, Mg, Sr, Ba, Fe, Mn", formula,
                 by=(sizing.equivalent_hardness_mg_l_caco3,), method="equivalents")  # fmt: skip
    load = sizing.load_kg_d(entries.value("machine.feed_m3_d"), hardness)
    entries.calc(f"{P}.load_kg_caco3_d", load, "kg/d as CaCO3", "Hardness load",
                 f"{{machine.feed_m3_d}}*{{{P}.hardness_load_mg_l_caco3}}/1000",
                 method="water times hardness; leakage not credited")  # fmt: skip


def enter_factors(train: Train) -> None:
    """Enter capacity factor and reserve."""
    entries, design = train.entries, train.design
    for name, value, label in (
        ("capacity_factor", design.softener.capacity_factor, "Capacity left by age"),
        ("reserve", design.softener.reserve, "Reserve kept back"),
    ):
        origin = design.origin(f"{P}.{name}")
        entries.given(f"{P}.{name}", value, "-", label, origin=origin,
                      cites=() if origin == "chosen" else ("PRACTICE",),
                      method="20 to 30 % for a clock, 0 to 10 % metered duplex"
                      if name == "reserve" else "new resin 1, at its end 0.75")  # fmt: skip


def enter_capacity(train: Train, dose: float) -> CapacityTable:
    """Enter the operating capacity at the salt dose."""
    path = train.design.softener.resin_table
    table = capacity_table() if path is None else read_capacity_table(path)
    check_salt_set(train, dose, table)
    capacity = operating_capacity_g_l(dose, table)
    key = f"{P}.capacity_g_caco3_l"
    train.entries.calc(key, capacity, "g/L as CaCO3", "Operating capacity of the resin",
                       capacity_formula(f"{{{P}.salt_dose_g_l}}", table), evidence=table.evidence,
                       cites=(table.source,), method=f"table '{table.name}', linear between",
    )  # fmt: skip
    if dose < table.trusted_from_g_l:
        train.entries.flag("capacity_extrapolated", "caution",
                           f"the salt dose of {dose:.3g} g/L is below the lowest rung of the "
                           "ladder (96 g/L): the capacity is extrapolated", key)  # fmt: skip
    if path is None and capacity > CODE_CEILING_G_L:
        train.entries.flag("above_code_ceiling", "info",
                           f"{capacity:.1f} g CaCO3/L is above the ceiling of 45.8 (20 kgr/ft3) of "
                           "the municipal code (TSS); small automatic units are usually set so",
                           key)  # fmt: skip
    return table


def enter_installed(train: Train) -> float:
    """Enter the resin that is installed."""
    volume = train.design.softener.resin_volume_l or 0.0
    train.entries.given(f"{P}.resin_filled_l", volume, "L", "Resin filled", origin="chosen",
                        cites=())  # fmt: skip
    return train.entries.calc(f"{P}.resin_volume_l", volume, "L", "Resin installed",
                              f"{{{P}.resin_filled_l}}")  # fmt: skip


def enter_interval(train: Train) -> None:
    """Enter the usable capacity and how long it lasts: new, aged, and derated for sodium."""
    entries, design = train.entries, train.design
    volume, capacity = (
        entries.value(f"{P}.resin_filled_l"),
        entries.value(f"{P}.capacity_g_caco3_l"),
    )
    factor, reserve = entries.value(f"{P}.capacity_factor"), entries.value(f"{P}.reserve")
    usable = sizing.usable_capacity_kg(volume, capacity, capacity_factor=factor, reserve=reserve)
    bed = f"{{{P}.resin_filled_l}}*{{{P}.capacity_g_caco3_l}}"
    formula = f"{bed}*{{{P}.capacity_factor}}*(1-{{{P}.reserve}})/1000"
    share, share_formula = _enter_derating(train)
    if design.softener.derate_for_sodium and share is not None:
        usable, formula = usable * share, f"{formula}*{share_formula}"
    entries.calc(f"{P}.usable_capacity_kg_caco3", usable, "kg as CaCO3", "Usable capacity",
                 formula, method="volume, capacity, age and reserve")  # fmt: skip
    load = entries.value(f"{P}.load_kg_caco3_d")
    used = f"{{{P}.usable_capacity_kg_caco3}}/{{{P}.load_kg_caco3_d}}"
    interval = sizing.interval_d(usable, load)
    entries.calc(f"{P}.interval_d", interval, "d", "Interval: usable capacity used up", used,
                 method="capacity over load")  # fmt: skip
    entries.given(f"{P}.end_of_life_factor", sizing.END_OF_LIFE_CAPACITY, "-",
                  "Capacity at the end of the resin's life", evidence="printed",
                  cites=("UFC13FN",), method="replaced at a loss of 25 %")  # fmt: skip
    entries.calc(f"{P}.interval_aged_d", interval / factor * sizing.END_OF_LIFE_CAPACITY, "d",
                 "Interval at 75 % of the capacity",
                 f"{{{P}.interval_d}}/{{{P}.capacity_factor}}*{{{P}.end_of_life_factor}}",
                 method="the same resin at the end of its life")  # fmt: skip
    if share is not None and not design.softener.derate_for_sodium:
        entries.calc(f"{P}.interval_derated_d", interval * share, "d",
                     "Interval derated for sodium", f"{{{P}.interval_d}}*{share_formula}",
                     by=(sizing.derating_for_sodium,), method="old rule H x 9000 / (9000 - TC)",
        )  # fmt: skip
        _flag_derating(train, share)
    elif share is not None:
        entries.flag("saline_feed", "info",
                     f"hard or saline water: an old rule of the trade shortens the interval to "
                     f"{share:.0%}; it is applied", f"{P}.interval_d")  # fmt: skip
    entries.calc(f"{P}.meter_setting_m3",
                 sizing.meter_setting_m3(usable, entries.value(f"{P}.hardness_load_mg_l_caco3")),
                 "m3", "Meter setting: water between two regenerations",
                 f"{{{P}.usable_capacity_kg_caco3}}*1000/{{{P}.hardness_load_mg_l_caco3}}",
                 method="the reserve is kept back")  # fmt: skip
    _enter_longest_gap(train)


def _flag_derating(train: Train, share: float) -> None:
    """Say what the old rule would make of the interval, and of the timer where it falls short."""
    entries, hours = train.entries, train.entries.value("machine.hours_per_day")
    before, after = (entries.value(f"{P}.interval_{n}") for n in ("d", "derated_d"))
    setting, derated = calendar_setting_d(before, hours), calendar_setting_d(after, hours)
    fails = ""
    if setting != derated and setting is not None and train.design.softener.control == "calendar":
        now = "no setting holds then" if derated is None else f"it asks for {derated:g} d"
        fails = f", and a timer set to {setting:g} d would be too long: {now}"
    entries.flag("saline_feed", "info" if share >= DERATED_INFO else "caution",
                 f"hard or saline water: an old rule of the trade would shorten the interval to "
                 f"{share:.0%}, {before:.2f} d to {after:.2f} d{fails}; shown beside, not applied",
                 f"{P}.interval_d")  # fmt: skip


def _enter_longest_gap(train: Train) -> None:
    entries = train.entries
    present = entries.value(f"{P}.iron_manganese_in_mg_l") > train_limits()["iron_present"].value
    entries.calc(f"{P}.longest_gap_d", 3.0 if present else 7.0, "d", "Longest gap allowed",
                 f"IF({{{P}.iron_manganese_in_mg_l}}>{{train.limit_iron_present}},3,7)",
                 cites=("PRACTICE",), method="three days where iron reaches the resin",
                 evidence="common practice")  # fmt: skip


def _enter_derating(train: Train) -> tuple[float | None, str]:
    """Return the share of capacity that the old rule leaves, and its formula; flag by its terms."""
    entries, raw = train.entries, train.raw
    sodium = raw.mg_l.get("na", 0.0) * sizing.caco3_per_mg("na")
    potassium = raw.mg_l.get("k", 0.0) * sizing.caco3_per_mg("k")
    hardness = hardness_in_formula(train)[0]
    total = hardness + sodium + potassium
    applies = hardness > sizing.DERATING_HARDNESS_MG_L or sodium > sizing.DERATING_SODIUM_MG_L
    if not (applies or train.design.softener.derate_for_sodium):
        return None, ""
    if total > sizing.DERATING_USABLE_MG_L and not train.design.softener.derate_for_sodium:
        entries.flag("derating_out_of_range", "caution",
                     f"total cations are {total:.0f} mg/L as CaCO3, beyond the 9000 rule: judge "
                     "the softener by its leakage", f"{P}.interval_d")  # fmt: skip
        return None, ""
    share = sizing.derating_for_sodium(total)
    parts = [hardness_in_formula(train)[1]]
    parts += [
        f"{{{entries.dissolved(raw, ion)}}}*{sizing.caco3_per_mg(ion)!r}"
        for ion in ("na", "k")
        if raw.mg_l.get(ion)
    ]
    entries.calc(f"{P}.total_cations_mg_l_caco3", total, "mg/L as CaCO3",
                 "Calcium to potassium, as CaCO3", "+".join(parts))  # fmt: skip
    top = sizing.DERATING_TOP_MG_L
    return share, f"({top!r}-{{{P}.total_cations_mg_l_caco3}})/{top!r}"


def note_set_interval(train: Train) -> None:
    """Flag a timer that is set to a longer gap than the capacity lasts."""
    entries, given = train.entries, train.design.softener.regenerate_every_days
    interval = entries.value(f"{P}.interval_d")
    if train.sizing or given is None:
        return
    entries.given(f"{P}.set_interval_d", given, "d", "Interval set at present", origin="chosen",
                  cites=())  # fmt: skip
    if given > interval:
        entries.flag("set_too_long", "warning",
                     f"the timer is set to {given:g} d, the capacity lasts {interval:.2f} d: hard "
                     "water reaches the membranes before each regeneration",
                     f"{P}.set_interval_d")  # fmt: skip
