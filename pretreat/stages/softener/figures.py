"""The softener's section: load, capacity, interval, programme, salt and what it leaves."""

from collections.abc import Callable
from typing import Any

from msgspec.structs import replace

from pretreat.core.equivalents import caco3_per_mg
from pretreat.core.errors import OutOfRangeError
from pretreat.core.law import Law, Number
from pretreat.core.undetected import up_to
from pretreat.stages.bed.arrangement import wanted_word
from pretreat.stages.bed.figures import enter_round
from pretreat.stages.bed.filling import filling_origin
from pretreat.stages.bed.programme import calendar_setting_d
from pretreat.stages.bed.programme_figures import enter_programme
from pretreat.stages.fixed import by_hand
from pretreat.stages.limits import train_limits
from pretreat.stages.softener import laws as sizing
from pretreat.stages.softener.arrangement import enter_arrangement, note_set_interval
from pretreat.stages.softener.bed_figures import (
    enter_bed,
    enter_dose,
    enter_regeneration,
    enter_required_of_one,
    enter_required_volume,
    rated_bed,
    size_bed,
)
from pretreat.stages.softener.improvements import enter_improvements
from pretreat.stages.softener.installed import note_oxidant, note_salt_off, reaching
from pretreat.stages.softener.lower_dose import note_lower_dose
from pretreat.stages.softener.resin import (
    CapacityTable,
    capacity_g_caco3_l,
    operating_capacity_g_l,
    table_of,
)
from pretreat.stages.softener.salt_figures import (
    enter_dose_options,
    enter_salt,
    enter_settings,
)
from pretreat.stages.softener.water_figures import (
    enter_hardness_in,
    enter_leakage,
    enter_waste,
    softened,
)
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P = "softener"
CODE_CEILING_G_L = 45.8  # TSS: 20 kgr/ft3
DERATED_INFO = 0.9  # PRACTICE: a tenth of the interval is within its own uncertainty


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the softener: what leaks, and the sodium in place of the rest.

    Ion exchange keeps alkalinity and inorganic carbon; the pH follows from them.

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
    held = {
        ion: stream.holds.get(ion) or train.entries.total(train.raw, ion) for ion in ("fe", "mn")
    }
    enter_metals_in(train, held["fe"], held["mn"])
    enter_load(train)
    enter_factors(train)
    installed = None if train.sizing else enter_installed(train)
    enter_capacity(train, enter_dose(train, installed))
    enter_leakage(train)
    note_oxidant(train, stream.free_chlorine_mg_l)
    return replace(stream, mg_l=softened(train, stream.mg_l))


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter the softener's vessel, interval, programme and salt, sized or rated.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with; it softens none of it. [-]
    """
    table = own_table(train)
    bed = size_bed(train, enter_required_volume(train)) if train.sizing else rated_bed(train)
    enter_bed(train, bed)
    if train.sizing:
        enter_required_of_one(train)
    enter_interval(train)
    enter_programme(
        train, P, "Softener", f"{P}.interval_d", f"{P}.longest_gap_d", train.design.softener.control
    )
    enter_salt(train)
    steps = enter_regeneration(train)
    enter_waste(train)
    enter_round(train, P, "waste_m3_per_regeneration", "m3", "Waste per regeneration")
    enter_settings(train, steps)
    enter_dose_options(train, table)
    note_lower_dose(train, table)
    enter_improvements(train, table)
    enter_arrangement(train)
    note_set_interval(train)


def fast_rinse_m3_h(value: Callable[[str], Any]) -> Number:
    """Return the flow of the fast rinse of one vessel, from a lookup of figures.

    Parameters
    ----------
    value : callable
        Figure by its key. [any]

    Returns
    -------
    float or array
        The flow. [m3/h]
    """
    return value(f"{P}.fast_rinse_bv_h") * value(f"{P}.resin_filled_l") / 1000.0


def fast_rinse_min(value: Callable[[str], Any]) -> Number:
    """Return the time of the fast rinse, from a lookup of figures.

    Parameters
    ----------
    value : callable
        Figure by its key. [any]

    Returns
    -------
    float or array
        The time. [min]
    """
    return value(f"{P}.fast_rinse_bv") / value(f"{P}.fast_rinse_bv_h") * 60.0


def own_table(train: Train) -> CapacityTable:
    """Return the capacity table of the site, that of the program where it gives none."""
    return table_of(train.design.softener)


def enter_metals_in(train: Train, iron_key: str, manganese_key: str) -> None:
    """Enter the iron and manganese onto the resin; refuse and flag by the codes' limits."""
    entries = train.entries
    for name, key, label in (
        ("iron", iron_key, "Iron onto the softener"),
        ("manganese", manganese_key, "Manganese onto the softener"),
    ):
        entries.law(f"{P}.{name}_in_mg_l", sizing.as_received_mg_l, amount_mg_l=key, label=label)
    both = entries.law(
        f"{P}.iron_manganese_in_mg_l",
        sizing.metals_mg_l,
        iron_mg_l=f"{P}.iron_in_mg_l",
        manganese_mg_l=f"{P}.manganese_in_mg_l",
        label="Iron + manganese onto the softener",
    )
    limits, filtered = train_limits(), iron_key == "iron_filter.iron_left_mg_l"
    for name in ("softener_iron_refuse", "softener_iron_flag", "iron_present"):
        entries.limit(limits[name])
    refuse, stricter = limits["softener_iron_refuse"].value, limits["softener_iron_flag"].value
    most = up_to(entries.ledger, ("fe", "mn"), both, stricter)
    told = f"are {both:.3g}" if most is None else f"may be up to {most:.3g}"
    if both >= refuse:
        text = (
            f"iron and manganese onto the softener {told} mg/L together; most codes allow "
            f"less than {refuse:g} mg/L (TSS 604.805(a)): "
            + (
                "the iron filter ahead leaves too much: correct iron_left and manganese_left, or "
                "mend the filter"
                if filtered
                else "put an iron filter ahead of it"
            )
        )
        if train.mode == "size" and not by_hand(train.design):
            raise OutOfRangeError(text)
        entries.flag("iron_over_code", "warning", text, f"{P}.iron_manganese_in_mg_l")
    elif both > stricter:
        entries.flag(
            "iron_to_softener",
            "caution",
            f"iron and manganese onto the softener {told} mg/L together; the "
            f"stricter code allows {stricter:g} mg/L (12 VAC 5-590-900): the resin fouls",
            f"{P}.iron_manganese_in_mg_l",
        )


def enter_load(train: Train) -> None:
    """Enter the hardness in equivalents and the load of a day; leakage is not credited."""
    entries, choice = train.entries, train.design.softener
    enter_hardness_in(train)
    load: dict[str, Any] = {
        "hardness_mg_l_caco3": f"{P}.hardness_in_mg_l_caco3",
        "iron_mg_l": f"{P}.iron_in_mg_l",
        "manganese_mg_l": f"{P}.manganese_in_mg_l",
    }
    law: Law[..., Any] = sizing.hardness_load_mg_l_caco3
    if choice.iron_allowance_gpg:
        allowance = sizing.iron_allowance_mg_l_caco3(1.0, choice.iron_allowance_gpg)
        key = f"{P}.iron_allowance_mg_l_caco3"
        entries.given(
            key,
            allowance,
            "mg/L as CaCO3",
            "Field allowance for each mg/L of iron and manganese",
            origin="chosen",
            cites=("PRACTICE",),
            method=f"{choice.iron_allowance_gpg:g} gpg",
        )
        law = sizing.load_with_allowance_mg_l_caco3
        load |= {"metals_mg_l": f"{P}.iron_manganese_in_mg_l", "allowance_mg_l_caco3": key}
    hardness = entries.law(
        f"{P}.hardness_load_mg_l_caco3",
        law,
        label="Hardness in equivalents: Ca, Mg, Sr, Ba, Fe, Mn",
        method="equivalents",
        **load,
    )
    water = entries.value(train.water_of(P)[1])
    if not (water > 0 and hardness > 0):
        raise OutOfRangeError(
            f"softener with {water:g} m3/d and {hardness:g} mg/L as CaCO3: flow and hardness must "
            "be above 0; leave the softener out ([softener] include = false)"
        )
    entries.law(
        f"{P}.load_kg_caco3_d",
        sizing.load_kg_caco3_d,
        water_m3_d=train.water_of(P)[1],
        hardness_mg_l_caco3=f"{P}.hardness_load_mg_l_caco3",
        label="Hardness load",
        method="water times hardness; leakage not credited",
    )


def enter_factors(train: Train) -> None:
    """Enter capacity factor and reserve."""
    entries, design = train.entries, train.design
    lagged = wanted_word(design.softener) == "lead-lag"
    for name, value, label in (
        ("capacity_factor", design.softener.capacity_factor, "Capacity left by age"),
        ("reserve", 0.0 if lagged else design.softener.kept_reserve, "Reserve kept back"),
    ):
        origin = design.origin(f"{P}.{name}")
        if name == "reserve" and lagged:
            _enter_no_reserve(train, given=origin == "chosen")
            continue
        entries.given(
            f"{P}.{name}",
            value,
            "-",
            label,
            origin=origin,
            cites=() if origin == "chosen" else ("PRACTICE",),
            method="20 to 30 % for a clock, 0 to 10 % metered duplex"
            if name == "reserve"
            else "new resin 1, at its end 0.75",
        )


def _enter_no_reserve(train: Train, *, given: bool) -> None:
    """Enter that lead and lag keep no reserve; say so where the site file gives one."""
    key = f"{P}.reserve"
    method = "none: the lag is the reserve"
    train.entries.given(key, 0.0, "-", "Reserve kept back", cites=("PRACTICE",), method=method)
    if given and train.design.softener.kept_reserve > 0:
        train.entries.flag(
            "reserve_not_used",
            "info",
            f"lead and lag keep no reserve, the lag is it: [softener] reserve = "
            f"{train.design.softener.kept_reserve:g} is not used",
            key,
        )


def enter_capacity(train: Train, dose: float) -> None:
    """Enter the operating capacity at the salt dose."""
    path, table = train.design.softener.resin_table, own_table(train)
    known = table
    if not train.sizing:
        table = reaching(table, dose)
    operating_capacity_g_l(dose, table)  # refuses what salt or resin do not allow
    key = f"{P}.capacity_g_caco3_l"
    capacity = train.entries.law(
        key,
        capacity_g_caco3_l,
        salt_dose_g_l=f"{P}.salt_dose_g_l",
        rungs_g_l=table.dose_g_l,
        capacities_g_caco3_l=table.capacity_g_l,
        label="Operating capacity of the resin",
        evidence=table.evidence,
        cites=(table.source,),
        method=f"table '{table.name}', linear between",
    )
    if table is not known:
        note_salt_off(train, dose, known)
    elif dose < table.trusted_from_g_l:
        train.entries.flag(
            "capacity_extrapolated",
            "caution",
            f"the salt dose of {dose:.3g} g/L is below the lowest rung of the "
            "ladder (96 g/L): the capacity is extrapolated",
            key,
        )
    if path is None and capacity > CODE_CEILING_G_L:
        train.entries.flag(
            "above_code_ceiling",
            "info",
            f"{capacity:.1f} g CaCO3/L is above the ceiling of 45.8 g CaCO3/L (20 kgr/ft3) of "
            "the municipal code (TSS); small automatic units are usually set so",
            key,
        )


def enter_installed(train: Train) -> float:
    """Enter the resin that is installed."""
    volume = train.design.softener.resin_volume_l or 0.0
    train.entries.given(
        f"{P}.resin_filled_l",
        volume,
        "L",
        "Resin filled, one vessel",
        origin=filling_origin(train, P, "resin_volume_l"),
        cites=(),
    )
    return train.entries.law(
        f"{P}.resin_volume_l",
        sizing.installed_l,
        filled_l=f"{P}.resin_filled_l",
        label="Resin installed, one vessel",
    )


def enter_interval(train: Train) -> None:
    """Enter the usable capacity and how long it lasts: new, aged, and derated for sodium."""
    entries, design = train.entries, train.design
    share = _enter_derating(train)
    bed: dict[str, Any] = {
        "volume_l": f"{P}.resin_filled_l",
        "capacity_g_caco3_l": f"{P}.capacity_g_caco3_l",
        "capacity_factor": f"{P}.capacity_factor",
        "reserve": f"{P}.reserve",
    }
    law: Law[..., Any] = sizing.usable_capacity_kg_caco3
    if design.softener.derate_for_sodium and share is not None:
        law = sizing.derated_capacity_kg_caco3
        bed["total_cations_mg_l_caco3"] = f"{P}.total_cations_mg_l_caco3"
    entries.law(
        f"{P}.usable_capacity_kg_caco3",
        law,
        label="Usable capacity of one vessel",
        cites=(),
        method="volume, capacity, age and reserve",
        **bed,
    )
    entries.law(
        f"{P}.interval_d",
        sizing.interval_d,
        usable_kg_caco3=f"{P}.usable_capacity_kg_caco3",
        load_kg_caco3_d=f"{P}.load_kg_caco3_d",
        vessels=f"{P}.vessels_side_by_side",
        label="Interval: usable capacity used up",
        method="capacity over load",
    )
    _enter_aged(train)
    if share is not None:
        _enter_derated(train, share, applied=design.softener.derate_for_sodium)
    entries.law(
        f"{P}.meter_setting_m3",
        sizing.meter_setting_m3,
        usable_kg_caco3=f"{P}.usable_capacity_kg_caco3",
        hardness_mg_l_caco3=f"{P}.hardness_load_mg_l_caco3",
        label="Meter setting of one valve: water between two regenerations",
        method="the reserve is kept back",
    )
    limit = f"train.limit_{train_limits()['iron_present'].key}"
    entries.law(
        f"{P}.longest_gap_d",
        sizing.longest_gap_d,
        metals_mg_l=f"{P}.iron_manganese_in_mg_l",
        iron_present_mg_l=limit,
        label="Longest gap allowed",
        method="three days where iron reaches the resin",
        evidence="common practice",
    )


def _enter_aged(train: Train) -> None:
    entries = train.entries
    entries.given(
        f"{P}.end_of_life_factor",
        sizing.END_OF_LIFE_CAPACITY,
        "-",
        "Capacity at the end of the resin's life",
        evidence="printed",
        cites=("UFC13FN",),
        method="replaced at a loss of 25 %",
    )
    entries.law(
        f"{P}.interval_aged_d",
        sizing.aged_interval_d,
        interval_d=f"{P}.interval_d",
        capacity_factor=f"{P}.capacity_factor",
        end_of_life_factor=f"{P}.end_of_life_factor",
        label="Interval at 75 % of the capacity",
        method="the same resin at the end of its life",
    )


def _enter_derated(train: Train, share: float, *, applied: bool) -> None:
    entries = train.entries
    if applied:
        entries.flag(
            "saline_feed",
            "info",
            f"hard or saline water: an old rule of the trade shortens the interval to "
            f"{share:.0%}; it is applied",
            f"{P}.interval_d",
        )
        return
    entries.law(
        f"{P}.interval_derated_d",
        sizing.derated_interval_d,
        interval_d=f"{P}.interval_d",
        total_cations_mg_l_caco3=f"{P}.total_cations_mg_l_caco3",
        label="Interval derated for sodium",
        by=(sizing.derating_for_sodium,),
        method="old rule H x 9000 / (9000 - TC)",
    )
    _flag_derating(train, share)


def _flag_derating(train: Train, share: float) -> None:
    """Say what the old rule would make of the interval, and of the timer where it falls short."""
    entries, hours = train.entries, train.entries.value("machine.hours_per_day")
    before, after = (entries.value(f"{P}.interval_{n}") for n in ("d", "derated_d"))
    setting, derated = calendar_setting_d(before, hours), calendar_setting_d(after, hours)
    fails = ""
    if setting != derated and setting is not None and train.design.softener.control == "calendar":
        now = "no setting holds then" if derated is None else f"it asks for {derated:g} d"
        fails = f", and a timer set to {setting:g} d would be too long: {now}"
    entries.flag(
        "saline_feed",
        "info" if share >= DERATED_INFO else "caution",
        f"hard or saline water: an old rule of the trade would shorten the interval to "
        f"{share:.0%}, {before:.2f} d to {after:.2f} d{fails}; shown beside, not applied",
        f"{P}.interval_d",
    )


def _enter_derating(train: Train) -> float | None:
    """Enter what the old rule looks at; return the share it leaves, None where it is not used."""
    entries, raw = train.entries, train.raw
    wanted = train.design.softener.derate_for_sodium
    sodium = raw.mg_l.get("na", 0.0) * caco3_per_mg("na")
    potassium = raw.mg_l.get("k", 0.0) * caco3_per_mg("k")
    hardness = entries.value(f"{P}.hardness_in_mg_l_caco3")
    total = hardness + sodium + potassium
    applies = hardness > sizing.DERATING_HARDNESS_MG_L or sodium > sizing.DERATING_SODIUM_MG_L
    if not (applies or wanted):
        return None
    if total > sizing.DERATING_USABLE_MG_L and not wanted:
        entries.flag(
            "derating_out_of_range",
            "caution",
            f"total cations are {total:.0f} mg/L as CaCO3, beyond the 9000 rule: judge "
            "the softener by its leakage",
            f"{P}.interval_d",
        )
        return None
    if total > sizing.DERATING_USABLE_MG_L:
        raise OutOfRangeError(
            f"total cations are {total:.0f} mg/L as CaCO3; the 9000 rule is used up to "
            f"{sizing.DERATING_USABLE_MG_L:.0f}: judge the softener by its leakage instead"
        )
    others = [ion for ion in ("na", "k") if raw.mg_l.get(ion)]
    entries.law(
        f"{P}.total_cations_mg_l_caco3",
        sizing.cations_mg_l_caco3,
        hardness_mg_l_caco3=f"{P}.hardness_in_mg_l_caco3",
        amounts_mg_l=tuple(entries.dissolved(raw, ion) for ion in others),
        factors=tuple(caco3_per_mg(ion) for ion in others),
        label="Calcium to potassium, as CaCO3",
        cites=(),
    )
    share: float = sizing.derating_for_sodium(total)
    return share
