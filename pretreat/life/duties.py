"""What wears each medium of a train: the loads as figures, and the mechanisms as laws.

An argument of a mechanism is the key of a figure, a number, or ``[name]`` for a coefficient of
data/wear.csv.
"""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Evidence
from pretreat.core.law import Law
from pretreat.life import laws, loads
from pretreat.life.laws import iron_allowed_g_l
from pretreat.life.lives import CarbonDuty, CartridgeDuty, FilterDuty, SoftenerDuty
from pretreat.life.wear import wear
from pretreat.stages.bed.laws import turns_of_each
from pretreat.stages.train import Train

P = "media_life"
WATER = f"{P}.water_m3_per_year"
ALL_WATER = "water_balance.raw_m3_year"
RESIN = "softener.resin_bought_l"  # all beds, the one on standby too
ORGANICS = f"{P}.carbon_organics_mg_l"
TURNS = "softener.vessels_per_duty"  # beds that take turns
Words = Mapping[str, str]
Mechanisms = Mapping[str, tuple[Law[..., Any], Mapping[str, str | float]]]

MECHANISMS: dict[str, tuple[str, Evidence]] = {
    "capacity": ("loss of capacity with age", "printed"),
    "age": ("age", "common practice"),
    "chlorine": ("chlorine", "common practice"),
    "cycles": ("regeneration cycles", "common practice"),
    "attrition": ("attrition by backwash", "common practice"),
    "iron": ("fouling by iron and manganese", "common practice"),
    "fouling": ("fouling by iron and manganese", "common practice"),
    "organics": ("exhaustion by organics", "memory"),
    "solids": ("solids", "common practice"),
}


class Duties(Struct, frozen=True):
    """The loads of the stages in the train; None for a stage that is not there."""

    softener: SoftenerDuty | None
    filters: Mapping[str, FilterDuty]
    carbon: CarbonDuty | None
    cartridge: CartridgeDuty | None


def enter_loads(train: Train, chlorine_onto_resin_mg_l: float) -> Duties:
    """Enter what wears the media.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    chlorine_onto_resin_mg_l : float
        Free chlorine that reaches the softener. [mg/L]

    Returns
    -------
    Duties
        The loads. [-]
    """
    entries, ledger = train.entries, train.entries.ledger
    water = entries.law(
        WATER,
        loads.water_m3_year,
        water_m3_d="machine.feed_m3_d",
        days_per_year="machine.days_per_year",
        label="Water that passes softener, carbon and cartridges in a year",
    )
    metals = _enter_metals_passing(train)
    softener, filters, carbon = None, {}, None
    if "softener.resin_filled_l" in ledger:
        softener = SoftenerDuty(
            _enter_cycles(train, "softener") / entries.value(TURNS),
            water,
            entries.value(RESIN),
            entries.value("softener.iron_manganese_in_mg_l"),
            _enter_chlorine(train, chlorine_onto_resin_mg_l),
            _enter_running_share(train),
        )
    if "iron_filter.media_volume_l" in ledger:
        small = train.design.iron_filter.regeneration == "intermittent"
        filters["iron_filter"] = FilterDuty(
            _enter_cycles(train, "iron_filter"),
            entries.value(ALL_WATER),
            entries.value("iron_filter.media_bought_l"),
            entries.value("iron_filter.solids_load_mg_l"),
            "iron_filter_age_small" if small else "iron_filter_age",
            regenerated=small,
        )
    if "multimedia.media_volume_l" in ledger:
        filters["multimedia"] = FilterDuty(
            _enter_backwashes(train, "multimedia"),
            entries.value(ALL_WATER),
            entries.value("multimedia.media_bought_l"),
            _enter_solids(train),
            "multimedia_age",
        )
    if "carbon.media_volume_l" in ledger:
        carbon = CarbonDuty(
            _enter_backwashes(train, "carbon"),
            water,
            entries.value("carbon.media_bought_l"),
            metals,
            entries.value("carbon.free_chlorine_mg_l"),
            _enter_organics(train),
        )
    cartridge = None
    if "cartridge.number" in ledger:
        cartridge = CartridgeDuty(
            water, entries.value("cartridge.number"), metals, softened=softener is not None
        )
    return Duties(softener, filters, carbon, cartridge)


def _enter_metals_passing(train: Train) -> float:
    entries, raw = train.entries, train.raw
    filtered = "iron_filter.media_volume_l" in entries.ledger
    keys = (
        ("iron_filter.iron_left_mg_l", "iron_filter.manganese_left_mg_l")
        if filtered
        else (entries.total(raw, "fe"), entries.total(raw, "mn"))
    )
    return entries.law(
        f"{P}.metals_passing_mg_l",
        loads.metals_mg_l,
        iron_mg_l=keys[0],
        manganese_mg_l=keys[1],
        label="Iron + manganese ahead of softener, carbon and cartridges",
        method="what the iron filter leaves" if filtered else "no iron filter",
    )


def _enter_cycles(train: Train, stage: str) -> float:
    label = "Softener" if stage == "softener" else "Iron filter"
    return train.entries.law(
        f"{P}.{stage}_cycles_per_year",
        loads.cycles_per_year,
        regenerations_per_year=_of_each(train, stage, "regenerations_per_year", "1/year"),
        days_per_year="machine.days_per_year",
        interval_d=f"{stage}.interval_d",
        label=f"{label}: regenerations per year that wear the medium",
        method="by the programme; without one as the interval asks, at least twice a day",
    )


def _of_each(train: Train, stage: str, name: str, unit: str) -> str:
    """Return the key of what each vessel does, where a filter has one standing by."""
    entries, key = train.entries, f"{stage}.{name}"
    if stage == "softener" or not entries.ledger.number(f"{stage}.vessels_standby"):
        return key
    if entries.ledger.number(key) is None:
        return key
    entries.law(
        f"{key}_of_each",
        turns_of_each,
        amount=key,
        vessels=f"{stage}.vessels",
        vessels_side_by_side=f"{stage}.vessels_side_by_side",
        unit=unit,
        label=f"{stage.replace('_', ' ').capitalize()}: washes of each vessel, in turn",
    )
    return f"{key}_of_each"


def _enter_backwashes(train: Train, stage: str) -> float:
    return train.entries.law(
        f"{P}.{stage}_backwashes_per_year",
        loads.backwashes_per_year,
        backwashes_per_week=_of_each(train, stage, "backwashes_per_week", "1/week"),
        days_per_year="machine.days_per_year",
        label=f"{stage.capitalize()}: backwashes per year",
    )


def _enter_chlorine(train: Train, chlorine_mg_l: float) -> float:
    entries, carbon = train.entries, "carbon.free_chlorine_mg_l"
    if entries.ledger.number(carbon) == chlorine_mg_l:
        return entries.law(
            f"{P}.softener_chlorine_mg_l",
            loads.carried_over,
            amount=carbon,
            label="Free chlorine onto the resin",
            method="as onto the carbon behind it",
        )
    return entries.given(
        f"{P}.softener_chlorine_mg_l",
        chlorine_mg_l,
        "mg/L",
        "Free chlorine onto the resin",
        cites=(),
        method="carbon stands ahead, or none in the water",
    )


def _enter_running_share(train: Train) -> float:
    return train.entries.law(
        f"{P}.running_share",
        loads.running_share,
        hours_per_day="machine.hours_per_day",
        days_per_year="machine.days_per_year",
        label="Share of the year in which the machine runs",
    )


def _enter_solids(train: Train) -> float:
    entries, raw = train.entries, train.raw
    return entries.law(
        f"{P}.multimedia_solids_mg_l",
        loads.solids_mg_l,
        iron_mg_l=entries.total(raw, "fe"),
        manganese_mg_l=entries.total(raw, "mn"),
        label="Multimedia: iron + 2 x manganese onto it",
    )


def _enter_organics(train: Train) -> float:
    entries, toc = train.entries, train.raw.toc_mg_l
    if not toc:
        return 0.0
    if entries.value("carbon.free_chlorine_mg_l") or "iron_filter.area_m2" in entries.ledger:
        entries.flag(
            "carbon_organics",
            "caution",
            f"total organic carbon of {toc:.2g} mg/L: the carbon's room for organics is spent long "
            "before its reaction with chlorine or permanganate, which is what it is here for; if "
            "organics are to be held too, test for them and change the carbon by that test",
            "media_life.carbon_years_likely",
        )
        return 0.0
    label = "Total organic carbon onto the carbon"
    if entries.ledger.number("water.toc_mg_l") == toc:
        return entries.law(ORGANICS, loads.carried_over, amount="water.toc_mg_l", label=label)
    found = entries.ledger.put(ORGANICS, toc, "mg/L", label)
    entries.ledger.rests(ORGANICS)
    return found


def softener_duty(duty: SoftenerDuty) -> tuple[Mechanisms, Words]:
    """Return the laws of a softener's mechanisms and their loads in words.

    Parameters
    ----------
    duty : SoftenerDuty
        What wears the resin. [-]

    Returns
    -------
    tuple of mappings
        Laws with their arguments, and loads, by mechanism. [-]
    """
    regenerations = f"{duty.cycles_per_year:.0f} regenerations a year of each bed"
    iron = duty.metals_mg_l * duty.water_m3_year / duty.resin_l
    blocked = iron_allowed_g_l(wear()["softener_loss_allowed"].likely)
    cycles = f"{P}.softener_cycles_per_year"
    mechanisms: Mechanisms = {
        "capacity": (
            laws.capacity_loss_years,
            {
                "loss_allowed_pct": "[softener_loss_allowed]",
                "loss_pct_per_year": "[softener_loss_per_year]",
            },
        ),
        "age": (laws.years_of_age, {"age_years": "[softener_age]"}),
        "chlorine": (
            laws.chlorine_life_years,
            {
                "dose_mg_l_years": "[softener_chlorine_dose]",
                "chlorine_mg_l": f"{P}.softener_chlorine_mg_l",
                "running_share": f"{P}.running_share",
            },
        ),
        "cycles": (
            laws.cycles_life_years,
            {
                "bearable_cycles": "[softener_cycles]",
                "regenerations_per_year": cycles,
                "beds_taking_turns": TURNS,
            },
        ),
        "attrition": (
            laws.attrition_years,
            {
                "loss_allowed_pct": "[softener_loss_allowed]",
                "loss_per_backwash_pct": "[softener_loss_per_backwash]",
                "backwashes_per_year": cycles,
                "beds_taking_turns": TURNS,
            },
        ),
        "iron": (
            laws.iron_blocking_years,
            {
                "loss_allowed_pct": "[softener_loss_allowed]",
                "metals_mg_l": "softener.iron_manganese_in_mg_l",
                "water_m3_year": WATER,
                "metals_kept": "[softener_metals_kept]",
                "resin_l": RESIN,
            },
        ),
    }
    loads = {
        "capacity": "replaced when a quarter of the capacity is lost",
        "age": "its age, whatever the load",
        "chlorine": f"{duty.chlorine_mg_l:.2g} mg/L for {duty.running_share:.0%} of the year",
        "cycles": regenerations,
        "attrition": regenerations,
        "iron": f"{_amount(iron)} g/L of resin a year, of which a tenth stays; "
        f"{_amount(blocked)} g/L block a quarter of the sites",
    }
    return mechanisms, loads


def _amount(value: float) -> str:
    """Return a load as text, in two digits or in whole numbers."""
    return f"{value:,.0f}" if value >= 10.0 else f"{value:.2g}"


def filter_duty(stage: str, duty: FilterDuty) -> tuple[Mechanisms, Words]:
    """Return the laws of a filter's mechanisms and their loads in words.

    Parameters
    ----------
    stage : str
        "iron_filter" or "multimedia". [-]
    duty : FilterDuty
        What wears the medium. [-]

    Returns
    -------
    tuple of mappings
        Laws with their arguments, and loads, by mechanism. [-]
    """
    iron_filter = stage == "iron_filter"
    washes = f"{P}.{stage}_" + ("cycles_per_year" if iron_filter else "backwashes_per_year")
    solids = "iron_filter.solids_load_mg_l" if iron_filter else f"{P}.multimedia_solids_mg_l"
    held = duty.solids_mg_l * duty.water_m3_year / duty.media_l
    mechanisms: Mechanisms = {
        "age": (laws.years_of_age, {"age_years": f"[{duty.aged}]"}),
        "cycles": (
            laws.cycles_life_years,
            {
                "bearable_cycles": "[iron_filter_cycles]",
                "regenerations_per_year": washes if duty.regenerated else 0.0,
            },
        ),
        "attrition": (laws.attrition_years, _attrition("filter_loss_per_backwash", washes)),
        "fouling": (
            laws.fouling_years,
            {
                "deposit_g_l": "[deposit_allowed]",
                "solids_mg_l": solids,
                "water_m3_year": ALL_WATER,
                "solids_kept": "[filter_solids_kept]",
                "medium_l": f"{stage}.media_bought_l",
            },
        ),
    }
    loads = {
        "age": "its age, whatever the load",
        "cycles": f"{duty.backwashes_per_year:.0f} regenerations a year",
        "attrition": f"{duty.backwashes_per_year:.0f} backwashes a year",
        "fouling": f"{_amount(held)} g of Fe + 2 Mn per litre a year, of which 2 % stay",
    }
    return mechanisms, loads


def _attrition(loss: str, washes: str) -> Mapping[str, str | float]:
    return {
        "loss_allowed_pct": "[filter_loss_allowed]",
        "loss_per_backwash_pct": f"[{loss}]",
        "backwashes_per_year": washes,
    }


def carbon_duty(duty: CarbonDuty) -> tuple[Mechanisms, Words]:
    """Return the laws of the carbon's mechanisms and their loads in words.

    Parameters
    ----------
    duty : CarbonDuty
        What wears the carbon. [-]

    Returns
    -------
    tuple of mappings
        Laws with their arguments, and loads, by mechanism. [-]
    """
    volume, washes = "carbon.media_bought_l", f"{P}.carbon_backwashes_per_year"
    held = duty.metals_mg_l * duty.water_m3_year / duty.carbon_l
    mechanisms: Mechanisms = {
        "age": (laws.years_of_age, {"age_years": "[carbon_age]"}),
        "chlorine": (
            laws.carbon_chlorine_years,
            {
                "carbon_l": volume,
                "capacity_used": "[carbon_chlorine_use]",
                "water_m3_year": WATER,
                "chlorine_mg_l": "carbon.free_chlorine_mg_l",
            },
        ),
        "organics": (
            laws.carbon_organics_years,
            {
                "carbon_l": volume,
                "fed_g_per_g": "[carbon_organics_fed]",
                "water_m3_year": WATER,
                "toc_mg_l": ORGANICS if duty.organics_mg_l else 0.0,
            },
        ),
        "attrition": (laws.attrition_years, _attrition("carbon_loss_per_backwash", washes)),
        "fouling": (
            laws.fouling_years,
            {
                "deposit_g_l": "[deposit_allowed]",
                "solids_mg_l": f"{P}.metals_passing_mg_l",
                "water_m3_year": WATER,
                "solids_kept": "[carbon_solids_kept]",
                "medium_l": volume,
            },
        ),
    }
    loads = {
        "age": "fines and biofilm, whatever the load",
        "chlorine": f"{duty.chlorine_mg_l:.2g} mg/L in {duty.water_m3_year:.0f} m3 a year",
        "organics": f"{duty.organics_mg_l:.2g} mg/L in {duty.water_m3_year:.0f} m3 a year",
        "attrition": f"{duty.backwashes_per_year:.0f} backwashes a year",
        "fouling": f"{_amount(held)} g of iron and manganese per litre a year, a fifth of it stays",
    }
    return mechanisms, loads


def cartridge_duty(duty: CartridgeDuty) -> tuple[Mechanisms, Words]:
    """Return the laws of the cartridges' mechanisms and their loads in words.

    Parameters
    ----------
    duty : CartridgeDuty
        What fills the cartridges. [-]

    Returns
    -------
    tuple of mappings
        Laws with their arguments, and loads, by mechanism. [-]
    """
    each = duty.metals_mg_l * duty.water_m3_year / duty.number
    ahead = " ahead of the softener, a third of it goes on" if duty.softened else ""
    mechanisms: Mechanisms = {
        "age": (laws.months_of_age_years, {"age_months": "[cartridge_age]"}),
        "solids": (
            laws.cartridge_dirt_years,
            {
                "dirt_g": "[cartridge_dirt]",
                "metals_mg_l": f"{P}.metals_passing_mg_l",
                "passing": "[softener_metals_passing]" if duty.softened else 1.0,
                "as_particles": "[cartridge_solids_share]",
                "water_m3_year": WATER,
                "cartridges": "cartridge.number",
            },
        ),
    }
    loads = {
        "age": "1 to 3 months, or at +0.7 bar",
        "solids": f"{_amount(each)} g of iron and manganese a year for each{ahead}, half as "
        "particles",
    }
    return mechanisms, loads
