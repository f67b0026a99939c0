"""What wears each medium of a train: the loads as figures, and the mechanisms as formulas.

In a formula ``{key}`` is a figure and ``[name]`` a coefficient of data/wear.csv.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from pretreat.core.basis import Evidence
from pretreat.life import laws as sizing
from pretreat.life.laws import (
    CarbonDuty,
    CartridgeDuty,
    FilterDuty,
    SoftenerDuty,
    iron_allowed_g_l,
)
from pretreat.life.wear import wear
from pretreat.stages.carbon.laws import BULK_DENSITY_KG_L, CHLORINE_CAPACITY_G_G
from pretreat.stages.softener.resin import TOTAL_CAPACITY_EQ_L
from pretreat.stages.train import Train

P = "media_life"
WATER = f"{P}.water_m3_per_year"
ALL_WATER = "water_balance.raw_m3_year"
RESIN = "softener.resin_bought_l"  # all beds, the one on standby too
TURNS = "softener.vessels_per_duty"  # beds that take turns
SHORTEST_PER_DAY = 2.0  # the shortest setting of a timer is twice a day
Words = Mapping[str, str]

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


@dataclass(frozen=True, slots=True)
class Duties:
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
    water = entries.calc(WATER, entries.value("machine.feed_m3_d")
                         * entries.value("machine.days_per_year"), "m3/year",
                         "Water that passes softener, carbon and cartridges in a year",
                         "{machine.feed_m3_d}*{machine.days_per_year}")  # fmt: skip
    metals = _enter_metals_passing(train)
    softener, filters, carbon = None, {}, None
    if "softener.resin_filled_l" in ledger:
        softener = SoftenerDuty(
            _enter_cycles(train, "softener") / entries.value(TURNS), water, entries.value(RESIN),
            entries.value("softener.iron_manganese_in_mg_l"),
            _enter_chlorine(train, chlorine_onto_resin_mg_l), _enter_running_share(train),
        )  # fmt: skip
    if "iron_filter.media_volume_l" in ledger:
        small = train.design.iron_filter.regeneration == "intermittent"
        filters["iron_filter"] = FilterDuty(
            _enter_cycles(train, "iron_filter"), entries.value(ALL_WATER),
            entries.value("iron_filter.media_volume_l"),
            entries.value("iron_filter.solids_load_mg_l"),
            "iron_filter_age_small" if small else "iron_filter_age", regenerated=small,
        )  # fmt: skip
    if "multimedia.media_volume_l" in ledger:
        filters["multimedia"] = FilterDuty(
            _enter_backwashes(train, "multimedia"), entries.value(ALL_WATER),
            entries.value("multimedia.media_volume_l"), _enter_solids(train), "multimedia_age",
        )  # fmt: skip
    if "carbon.media_volume_l" in ledger:
        carbon = CarbonDuty(
            _enter_backwashes(train, "carbon"), water, entries.value("carbon.media_volume_l"),
            metals, entries.value("carbon.free_chlorine_mg_l"), _enter_organics(train),
        )  # fmt: skip
    cartridge = None
    if "cartridge.number" in ledger:
        cartridge = CartridgeDuty(water, entries.value("cartridge.number"), metals,
                                  softened=softener is not None)  # fmt: skip
    return Duties(softener, filters, carbon, cartridge)


def _enter_metals_passing(train: Train) -> float:
    entries, raw = train.entries, train.raw
    filtered = "iron_filter.media_volume_l" in entries.ledger
    keys = ("iron_filter.iron_left_mg_l", "iron_filter.manganese_left_mg_l") if filtered else (
        entries.total(raw, "fe"), entries.total(raw, "mn"))  # fmt: skip
    return entries.calc(f"{P}.metals_passing_mg_l", sum(entries.value(k) for k in keys), "mg/L",
                        "Iron + manganese ahead of softener, carbon and cartridges",
                        "+".join(f"{{{k}}}" for k in keys),
                        method="what the iron filter leaves" if filtered else "no iron filter",
    )  # fmt: skip


def _enter_cycles(train: Train, stage: str) -> float:
    entries = train.entries
    per_year = entries.ledger.number(f"{stage}.regenerations_per_year")
    days, interval = entries.value("machine.days_per_year"), entries.value(f"{stage}.interval_d")
    label = "Softener" if stage == "softener" else "Iron filter"
    return entries.calc(
        f"{P}.{stage}_cycles_per_year",
        cycles_without_setting(days, interval) if per_year is None else per_year,
        "1/year",
        f"{label}: regenerations per year that wear the medium",
        f'IF({{{stage}.regenerations_per_year}}="",{{machine.days_per_year}}'
        f"*MAX({SHORTEST_PER_DAY!r},1/{{{stage}.interval_d}}),{{{stage}.regenerations_per_year}})",
        method="by the programme; without one as the interval asks, at least twice a day",
    )  # fmt: skip


def cycles_without_setting(days_per_year: float, interval_d: float) -> float:
    """Return the regenerations of a year where the interval is shorter than any setting."""
    return days_per_year * max(SHORTEST_PER_DAY, 1.0 / interval_d)


def _enter_backwashes(train: Train, stage: str) -> float:
    entries = train.entries
    value = entries.value(f"{stage}.backwashes_per_week") * entries.value("machine.days_per_year")
    return entries.calc(f"{P}.{stage}_backwashes_per_year", value / 7.0, "1/year",
                        f"{stage.capitalize()}: backwashes per year",
                        f"{{{stage}.backwashes_per_week}}*{{machine.days_per_year}}/7",
    )  # fmt: skip


def _enter_chlorine(train: Train, chlorine_mg_l: float) -> float:
    entries, carbon = train.entries, "carbon.free_chlorine_mg_l"
    if entries.ledger.number(carbon) == chlorine_mg_l:
        return entries.calc(f"{P}.softener_chlorine_mg_l", chlorine_mg_l, "mg/L",
                            "Free chlorine onto the resin", f"{{{carbon}}}",
                            method="as onto the carbon behind it")  # fmt: skip
    return entries.given(f"{P}.softener_chlorine_mg_l", chlorine_mg_l, "mg/L",
                         "Free chlorine onto the resin", cites=(),
                         method="carbon stands ahead, or none in the water")  # fmt: skip


def _enter_running_share(train: Train) -> float:
    entries = train.entries
    hours, days = (entries.value(f"machine.{name}") for name in ("hours_per_day", "days_per_year"))
    return entries.calc(f"{P}.running_share", hours * days / sizing.HOURS_PER_YEAR, "-",
                        "Share of the year in which the machine runs",
                        "{machine.hours_per_day}*{machine.days_per_year}/8760")  # fmt: skip


def _enter_solids(train: Train) -> float:
    entries, raw = train.entries, train.raw
    iron, manganese = entries.total(raw, "fe"), entries.total(raw, "mn")
    return entries.calc(f"{P}.multimedia_solids_mg_l",
                        entries.value(iron) + 2.0 * entries.value(manganese), "mg/L",
                        "Multimedia: iron + 2 x manganese onto it", f"{{{iron}}}+2*{{{manganese}}}",
    )  # fmt: skip


def _enter_organics(train: Train) -> float:
    toc = train.raw.toc_mg_l
    if not toc:
        return 0.0
    if train.entries.value("carbon.free_chlorine_mg_l") or "iron_filter.area_m2" in (
        train.entries.ledger):  # fmt: skip
        train.entries.flag(
            "carbon_organics", "caution",
            f"total organic carbon of {toc:.2g} mg/L: the carbon's room for organics is spent long "
            "before its reaction with chlorine or permanganate, which is what it is here for; if "
            "organics are to be held too, test for them and change the carbon by that test",
            "media_life.carbon_years_likely",
        )  # fmt: skip
        return 0.0
    known = train.entries.ledger.number("water.toc_mg_l") == toc
    return train.entries.calc(f"{P}.carbon_organics_mg_l", toc, "mg/L",
                              "Total organic carbon onto the carbon",
                              "{water.toc_mg_l}" if known else None)  # fmt: skip


def softener_duty(duty: SoftenerDuty) -> tuple[Words, Words]:
    """Return the formulas of a softener's mechanisms and their loads in words.

    Parameters
    ----------
    duty : SoftenerDuty
        What wears the resin. [-]

    Returns
    -------
    tuple of mappings
        Formulas and loads by mechanism. [-]
    """
    cycles = f"({{{P}.softener_cycles_per_year}}/{{{TURNS}}})"
    per_percent = TOTAL_CAPACITY_EQ_L * sizing.IRON_G_PER_EQ
    regenerations = f"{duty.cycles_per_year:.0f} regenerations a year of each bed"
    iron = duty.metals_mg_l * duty.water_m3_year / duty.resin_l
    blocked = iron_allowed_g_l(wear()["softener_loss_allowed"].likely)
    formulas = {
        "capacity": "[softener_loss_allowed]/[softener_loss_per_year]",
        "age": "[softener_age]",
        "chlorine": f"[softener_chlorine_dose]/({{{P}.softener_chlorine_mg_l}}"
        f"*{{{P}.running_share}})",
        "cycles": f"[softener_cycles]/{cycles}",
        "attrition": f"[softener_loss_allowed]/([softener_loss_per_backwash]*{cycles})",
        "iron": f"[softener_loss_allowed]/100*{per_percent!r}/"
        f"({{softener.iron_manganese_in_mg_l}}*{{{WATER}}}*[softener_metals_kept]"
        f"/{{{RESIN}}})",
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
    return formulas, loads


def _amount(value: float) -> str:
    """Return a load as text, in two digits or in whole numbers."""
    return f"{value:,.0f}" if value >= 10.0 else f"{value:.2g}"


def filter_duty(stage: str, duty: FilterDuty) -> tuple[Words, Words]:
    """Return the formulas of a filter's mechanisms and their loads in words.

    Parameters
    ----------
    stage : str
        "iron_filter" or "multimedia". [-]
    duty : FilterDuty
        What wears the medium. [-]

    Returns
    -------
    tuple of mappings
        Formulas and loads by mechanism. [-]
    """
    iron_filter = stage == "iron_filter"
    washes = f"{{{P}.{stage}_" + ("cycles_per_year}" if iron_filter else "backwashes_per_year}")
    solids = "{iron_filter.solids_load_mg_l}" if iron_filter else f"{{{P}.multimedia_solids_mg_l}}"
    held = duty.solids_mg_l * duty.water_m3_year / duty.media_l
    formulas = {
        "age": f"[{duty.aged}]",
        "cycles": f"[iron_filter_cycles]/{washes}",
        "attrition": f"[filter_loss_allowed]/([filter_loss_per_backwash]*{washes})",
        "fouling": f"[deposit_allowed]/({solids}*{{{ALL_WATER}}}*[filter_solids_kept]"
        f"/{{{stage}.media_volume_l}})",
    }
    loads = {
        "age": "its age, whatever the load",
        "cycles": f"{duty.backwashes_per_year:.0f} regenerations a year",
        "attrition": f"{duty.backwashes_per_year:.0f} backwashes a year",
        "fouling": f"{_amount(held)} g of Fe + 2 Mn per litre a year, of which 2 % stay",
    }
    return formulas, loads


def carbon_duty(duty: CarbonDuty) -> tuple[Words, Words]:
    """Return the formulas of the carbon's mechanisms and their loads in words.

    Parameters
    ----------
    duty : CarbonDuty
        What wears the carbon. [-]

    Returns
    -------
    tuple of mappings
        Formulas and loads by mechanism. [-]
    """
    volume, water = "{carbon.media_volume_l}", f"{{{WATER}}}"
    grams = f"{volume}*{BULK_DENSITY_KG_L!r}*1000"
    washes = f"{{{P}.carbon_backwashes_per_year}}"
    held = duty.metals_mg_l * duty.water_m3_year / duty.carbon_l
    formulas = {
        "age": "[carbon_age]",
        "chlorine": f"{grams}*{CHLORINE_CAPACITY_G_G!r}*[carbon_chlorine_use]"
        f"/({water}*{{carbon.free_chlorine_mg_l}})",
        "organics": f"{grams}*[carbon_organics_fed]/({water}*{{{P}.carbon_organics_mg_l}})",
        "attrition": f"[filter_loss_allowed]/([carbon_loss_per_backwash]*{washes})",
        "fouling": f"[deposit_allowed]/({{{P}.metals_passing_mg_l}}*{water}*[carbon_solids_kept]"
        f"/{volume})",
    }
    loads = {
        "age": "fines and biofilm, whatever the load",
        "chlorine": f"{duty.chlorine_mg_l:.2g} mg/L in {duty.water_m3_year:.0f} m3 a year",
        "organics": f"{duty.organics_mg_l:.2g} mg/L in {duty.water_m3_year:.0f} m3 a year",
        "attrition": f"{duty.backwashes_per_year:.0f} backwashes a year",
        "fouling": f"{_amount(held)} g of iron and manganese per litre a year, a fifth of it stays",
    }
    return formulas, loads


def cartridge_duty(duty: CartridgeDuty) -> tuple[Words, Words]:
    """Return the formulas of the cartridges' mechanisms and their loads in words.

    Parameters
    ----------
    duty : CartridgeDuty
        What fills the cartridges. [-]

    Returns
    -------
    tuple of mappings
        Formulas and loads by mechanism. [-]
    """
    each = duty.metals_mg_l * duty.water_m3_year / duty.number
    through = "[softener_metals_passing]*" if duty.softened else ""
    ahead = " ahead of the softener, a third of it goes on" if duty.softened else ""
    formulas = {
        "age": "[cartridge_age]/12",
        "solids": f"[cartridge_dirt]/({{{P}.metals_passing_mg_l}}*{through}"
        f"[cartridge_solids_share]*{{{WATER}}}/{{cartridge.number}})",
    }
    loads = {
        "age": "1 to 3 months, or at +0.7 bar",
        "solids": f"{_amount(each)} g of iron and manganese a year for each{ahead}, half as "
        "particles",
    }
    return formulas, loads
