"""The softener's resin, vessel and regeneration steps."""

from pretreat.core.basis import Level
from pretreat.core.errors import DesignError
from pretreat.stages.bed.arrangement import numbers_to_try
from pretreat.stages.bed.depth import note_depth
from pretreat.stages.bed.figures import (
    Bed,
    assumed_bed,
    enter_backwash,
    enter_depth_from_volume,
    enter_velocity,
    enter_vessel,
    installed_bed,
    nearest_vessel,
)
from pretreat.stages.bed.media import media
from pretreat.stages.bed.options import choose_bed
from pretreat.stages.bed.pressure_drop import enter_pressure_drop
from pretreat.stages.bed.programme import half_day_need_d
from pretreat.stages.bed.supply_fit import choose_within_supply
from pretreat.stages.bed.vessels import MOST_IN_PARALLEL, nominal_vessels
from pretreat.stages.softener import laws, regeneration, salt_laws
from pretreat.stages.softener.keys import SoftenerDesign
from pretreat.stages.softener.laws import (
    LOW_VELOCITY_M_H,
    MOST_SERVICE_BV_H,
    interval_d,
    usable_capacity_kg_caco3,
)
from pretreat.stages.softener.salt_laws import salt_of_refill_kg
from pretreat.stages.softener.supply_fit import daily_serves, washing_of_resin
from pretreat.stages.softener.vessels import (
    SoftenerDuty,
    try_softener_vessel,
)
from pretreat.stages.train import Train

P = "softener"
LABEL = "Softener"
FAR_BELOW_M_H = 0.5 * LOW_VELOCITY_M_H  # PRACTICE: half the floor is no matter of scatter
VELOCITY_LOW = "velocity_low"  # a flag
KEEPS = " keeps it "  # words of a vessel that would do
NEARLY_M_H = 4.0  # PRACTICE: a fifth below the floor is worth a remark only
DEFAULT_DOSE_G_L = 160.0  # PRACTICE: 10 lb/ft3, the middle of the ladder
COUNTER_DOSE_G_L = 82.0  # MEMORY: the middle of 64 to 100 g/L of counter-current beds
WANTED_WITH_IRON_D = 1.0  # PRACTICE: daily where iron reaches the resin
WANTED_WITHOUT_IRON_D = 2.0  # PRACTICE: every second day otherwise


def enter_dose(train: Train, installed_l: float | None) -> float:
    """Enter the salt dose, from the site file in whichever form it is given there."""
    choice, entries = train.design.softener, train.entries
    key, unit, label = f"{P}.salt_dose_g_l", "g/L", "Salt dose per litre of resin"
    if choice.salt_dose_g_l is not None:
        return entries.given(key, choice.salt_dose_g_l, unit, label, origin="chosen", cites=())
    salt = _enter_installed_salt(train, choice)
    counter = choice.direction == "counter-current"
    usual = COUNTER_DOSE_G_L if counter else DEFAULT_DOSE_G_L
    if salt is None:
        if not train.sizing:
            entries.flag(
                "salt_dose_assumed",
                "caution",
                f"no salt dose is given: {usual:g} g/L of resin is assumed (common "
                "practice); read the salt setting of the valve and write salt_dose_g_l, "
                "salt_per_regeneration or refill_minutes with refill_flow in [softener]",
                key,
            )
        return entries.given(
            key,
            usual,
            unit,
            label,
            evidence="memory" if counter else "common practice",
            cites=("MEMORY",) if counter else ("LADDER",),
            method="middle of 64 to 100 g/L for counter-current beds"
            if counter
            else "10 lb per ft3, the middle of the ladder",
        )
    if installed_l is None:
        raise DesignError(
            "[softener] salt per regeneration rates a vessel that stands there; to size one "
            "write salt_dose_g_l = 160"
        )
    return entries.law(
        key,
        salt_laws.dose_of_salt_g_l,
        salt_kg=f"{P}.salt_set_kg",
        volume_l=f"{P}.resin_filled_l",
        label=label,
        method="salt set over resin",
    )


def _enter_installed_salt(train: Train, choice: SoftenerDesign) -> float | None:
    entries, key, label = train.entries, f"{P}.salt_set_kg", "Salt set per regeneration"
    if choice.salt_per_regeneration_kg is not None:
        return entries.given(
            key, choice.salt_per_regeneration_kg, "kg", label, origin="chosen", cites=()
        )
    if choice.refill_minutes is None:
        return None
    if choice.refill_flow_l_min is None:
        raise DesignError('[softener] refill_minutes needs refill_flow = "1.9 L/min" beside it')
    entries.given(
        f"{P}.refill_min",
        choice.refill_minutes,
        "min",
        "Refill of the brine tank",
        origin="chosen",
        cites=(),
    )
    entries.given(
        f"{P}.refill_flow_l_min",
        choice.refill_flow_l_min,
        "L/min",
        "Refill flow",
        origin="chosen",
        cites=(),
    )
    entries.given(
        f"{P}.salt_per_litre_kg",
        salt_of_refill_kg(1.0, 1.0),
        "kg/L",
        "Salt dissolved by a litre of refill",
        evidence="memory",
        cites=("NACLTABLE",),
        method="saturated brine, 26.4 %",
    )
    return entries.law(
        key,
        salt_of_refill_kg,
        minutes_min=f"{P}.refill_min",
        flow_l_min=f"{P}.refill_flow_l_min",
        salt_kg_l=f"{P}.salt_per_litre_kg",
        label=label,
        method="minutes, flow and saturated brine",
    )


def enter_required_volume(train: Train) -> float:
    """Enter the interval wanted and the resin that it and the flow need."""
    entries, choice = train.entries, train.design.softener
    iron = entries.value(f"{P}.iron_manganese_in_mg_l") > entries.value("train.limit_iron_present")
    default = WANTED_WITH_IRON_D if iron else WANTED_WITHOUT_IRON_D
    wanted, method = (
        choice.regenerate_every_days,
        "daily with iron on the resin, else every second day",
    )
    if wanted is None and not iron and daily_serves(train, (WANTED_WITH_IRON_D, default)):
        default = WANTED_WITH_IRON_D
        method = "daily: fewer or smaller vessels, which pump and well can wash"
    entries.given(
        f"{P}.wanted_interval_d",
        default if wanted is None else wanted,
        "d",
        "Interval wanted",
        origin="assumed" if wanted is None else "chosen",
        method=method if wanted is None else "",
        cites=("PRACTICE",) if wanted is None else (),
    )
    entries.law(
        f"{P}.resin_for_interval_l",
        laws.volume_for_interval_l,
        load_kg_caco3_d=f"{P}.load_kg_caco3_d",
        wanted_d=f"{P}.wanted_interval_d",
        capacity_g_caco3_l=f"{P}.capacity_g_caco3_l",
        capacity_factor=f"{P}.capacity_factor",
        reserve=f"{P}.reserve",
        label="Resin needed for the interval",
        method="load over usable capacity",
    )
    most = entries.given(
        f"{P}.service_max_bv_h",
        MOST_SERVICE_BV_H,
        "BV/h",
        "Fastest service",
        evidence="memory",
        cites=("CLIFFORD",),
        method="5 gpm/ft3",
    )
    entries.law(
        f"{P}.resin_for_flow_l",
        laws.volume_for_flow_l,
        flow_m3_h=train.water_of(P)[0],
        service_max_bv_h=f"{P}.service_max_bv_h",
        label="Resin needed for the flow",
        method=f"at most {most:g} BV/h",
    )
    return entries.law(
        f"{P}.resin_required_l",
        laws.required_volume_l,
        for_interval_l=f"{P}.resin_for_interval_l",
        for_flow_l=f"{P}.resin_for_flow_l",
        label="Resin required, all vessels that share the flow",
        method="the larger of the two",
    )


def enter_required_of_one(train: Train) -> None:
    """Enter the resin required in one vessel."""
    train.entries.law(
        f"{P}.resin_volume_l",
        laws.resin_of_one_l,
        required_l=f"{P}.resin_required_l",
        vessels=f"{P}.vessels_side_by_side",
        label="Resin required, one vessel",
    )


def size_bed(train: Train, required_l: float) -> Bed:
    """Choose the vessel, enter its filling and the runners-up."""
    duty = SoftenerDuty(required_l, train.entries.value(train.water_of(P)[0]))
    numbers = numbers_to_try(train.design.softener, P, MOST_IN_PARALLEL)
    options = choose_within_supply(
        train, lambda v, n: try_softener_vessel(duty, v, n), numbers, washing_of_resin(train)
    )
    chosen = options[0]
    train.entries.given(
        f"{P}.resin_filled_l",
        chosen.vessel.media_l,
        "L",
        "Resin filled, one vessel",
        origin="chosen",
        method=f"{chosen.vessel.name}, nominal filling",
    )
    stage = (P, media()["softening resin"], LABEL)
    return choose_bed(train, stage, options, lambda v, n: try_softener_vessel(duty, v, n))


def rated_bed(train: Train) -> Bed:
    """Return the bed that stands there; a diameter not given is taken from the nominal sizes."""
    choice, entries = train.design.softener, train.entries
    volume = choice.resin_volume_l or 0.0
    if choice.vessel_diameter_m is not None:
        return installed_bed(train, P, media()["softening resin"], LABEL, choice.vessel_diameter_m)
    vessel = nearest_vessel(nominal_vessels(), volume)
    entries.flag(
        "vessel_assumed",
        "caution",
        f"{LABEL}: vessel diameter not given, {vessel.name} assumed for {volume:.0f} L; "
        'add vessel_diameter = "..." to [softener]',
        f"{P}.vessel_diameter_m",
    )
    return assumed_bed(train, P, media()["softening resin"], LABEL, vessel)


def enter_bed(train: Train, bed: Bed) -> None:
    """Enter depth, velocity, rate, pressure drop and backwash of the resin."""
    entries = train.entries
    enter_vessel(train, bed)
    enter_depth_from_volume(train, bed, f"{P}.resin_filled_l")
    note_depth(train, bed)
    velocity = enter_velocity(train, bed)
    if velocity < LOW_VELOCITY_M_H:
        entries.flag(
            "velocity_low",
            _of_low(velocity),
            f"{LABEL}: {velocity:.2g} m/h in service; below {LOW_VELOCITY_M_H:g} m/h the "
            "flow may channel, and hardness slips by early (common practice): "
            f"{_faster_vessel(train)}",
            f"{P}.velocity_m_h",
        )
    rate = entries.law(
        f"{P}.service_rate_bv_h",
        laws.service_rate_bv_h,
        flow_m3_h=f"{P}.flow_each_m3_h",
        volume_l=f"{P}.resin_filled_l",
        label="Service rate",
        method="flow over resin volume",
    )
    if rate > MOST_SERVICE_BV_H:
        entries.flag(
            "service_rate_high",
            "warning",
            f"{LABEL}: {rate:.0f} BV/h, at most {MOST_SERVICE_BV_H:.0f} BV/h: more resin",
            f"{P}.service_rate_bv_h",
        )
    enter_pressure_drop(train, bed)
    enter_backwash(train, bed)


def _of_low(velocity: float) -> Level:
    """Return how grave a low velocity is: far below, a bed hardly works over its whole width."""
    if velocity < FAR_BELOW_M_H:
        return "warning"
    return "info" if velocity >= NEARLY_M_H else "caution"


def _faster_vessel(train: Train) -> str:
    """Return which vessel would keep the velocity, and how long it would last."""
    entries = train.entries
    flow = entries.value(train.water_of(P)[0])
    narrow = [v for v in nominal_vessels() if flow / v.area_m2 >= LOW_VELOCITY_M_H]
    if not narrow:
        return "no nominal vessel is narrow enough; run fewer hours at a higher flow into storage"
    vessel = narrow[-1]
    usable = usable_capacity_kg_caco3(
        vessel.media_l,
        entries.value(f"{P}.capacity_g_caco3_l"),
        capacity_factor=entries.value(f"{P}.capacity_factor"),
        reserve=entries.value(f"{P}.reserve"),
    )
    lasts = interval_d(usable, entries.value(f"{P}.load_kg_caco3_d"))
    need = half_day_need_d(entries.value("machine.hours_per_day"))
    how = ", with more regenerations" if lasts >= need else ", so two in turn on a meter"
    return f"one of {vessel.name}{KEEPS}and lasts {lasts:.2g} d at this salt dose{how}"


def enter_regeneration(train: Train) -> tuple[regeneration.Step, ...]:
    """Enter steps, minutes and water of a regeneration; return the steps of one vessel."""
    entries = train.entries
    dose, volume = entries.value(f"{P}.salt_dose_g_l"), entries.value(f"{P}.resin_filled_l")
    flow = entries.value(f"{P}.backwash_flow_m3_h")
    steps = regeneration.regeneration_steps(volume, dose, flow)
    _enter_step_inputs(train)
    brine = entries.law(
        f"{P}.brine_bv",
        regeneration.brine_bv,
        salt_dose_g_l=f"{P}.salt_dose_g_l",
        brine_strength_g_l=f"{P}.brine_strength_g_l",
        label="Brine, 10 %",
        method="dose over brine strength",
    )
    minutes = entries.law(
        f"{P}.brine_min",
        regeneration.brine_min,
        contact_min=f"{P}.brine_contact_min",
        brine_bv=f"{P}.brine_bv",
        fastest_bv_h=f"{P}.brine_fastest_bv_h",
        label="Brining time",
        method="contact time governs, at most 5 BV/h",
    )
    names = ("backwash_min", "brine_min", "slow_rinse_bv", "brine_bv", "fast_rinse_bv")
    entries.law(
        f"{P}.regeneration_min",
        regeneration.regeneration_min,
        **{name: f"{P}.{name}" for name in (*names, "fast_rinse_bv_h")},
        label="Regeneration, out of service",
        method="sum of the steps",
    )
    if brine / minutes * 60.0 < regeneration.SLOWEST_BRINE_BV_H:
        entries.flag(
            "brine_rate_low",
            "info",
            f"brine runs at {brine / minutes * 60.0:.2f} BV/h; the printed 2 to 5 BV/h "
            "and the printed 30 min of contact do not agree at this dose, the contact "
            "time governs",
            f"{P}.brine_min",
        )
    return steps


def _enter_step_inputs(train: Train) -> None:
    entries = train.entries
    for name, value, unit, label, source, where, evidence in (
        (
            "backwash_min",
            regeneration.BACKWASH_MIN,
            "min",
            "Backwash",
            "DAVIS2010",
            "Eq. 8-23, after Clifford: 5 to 15 min",
            "printed",
        ),
        (
            "brine_strength_g_l",
            regeneration.BRINE_G_L,
            "g/L",
            "Salt in a litre of 10 % brine",
            "NACLTABLE",
            "10 % by weight",
            "memory",
        ),
        (
            "brine_contact_min",
            regeneration.CONTACT_MIN,
            "min",
            "Least brine contact",
            "DAVIS2010",
            "Eq. 8-23, after Clifford: 30 to 60 min",
            "printed",
        ),
        (
            "brine_fastest_bv_h",
            regeneration.FASTEST_BRINE_BV_H,
            "BV/h",
            "Fastest brine",
            "DAVIS2010",
            "p. 8-19",
            "printed",
        ),
        (
            "slow_rinse_bv",
            regeneration.SLOW_RINSE_BV,
            "BV",
            "Slow rinse",
            "UFC13FN",
            "1.0 to 3.0 BV",
            "printed",
        ),
        (
            "fast_rinse_bv",
            regeneration.FAST_RINSE_BV,
            "BV",
            "Fast rinse",
            "UFC13FN",
            "4.7 to 13.4 BV",
            "printed",
        ),
        (
            "fast_rinse_bv_h",
            regeneration.FAST_RINSE_BV_H,
            "BV/h",
            "Fast rinse rate",
            "UFC13FN",
            "12 to 16 BV/h",
            "printed",
        ),
    ):
        entries.given(
            f"{P}.{name}", value, unit, label, cites=(source,), method=where, evidence=evidence
        )
