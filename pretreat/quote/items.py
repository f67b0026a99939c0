"""What a site uses up in a year and what a replacement of its media takes, as quantities."""

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.law import Law
from pretreat.life.duties import WATER
from pretreat.life.figures import LABELS
from pretreat.life.loads import carried_over
from pretreat.quote.delivered import bought, enter_delivered
from pretreat.quote.laws import (
    cartridges_per_year,
    dosed_kg_year,
    energy_kwh_year,
    g_of_cycles_kg_year,
    kg_of_cycles_kg_year,
    medium_l_year,
    used_by_all_kg_year,
)
from pretreat.quote.lines import Line, Till, enter_line
from pretreat.site.design import DesignBasis
from pretreat.stages import BY_KEY, ORDER
from pretreat.stages.packages import gravel_kg, replacement_h, support
from pretreat.stages.stage import Consumable
from pretreat.stages.train import Entries

YEARLY = "each year"
ONCE = "one replacement of all media"
C = "consumables"
MEDIUM_VOLUME = {
    stage.key: stage.medium.volume
    for stage in ORDER
    if stage.medium is not None and stage.medium.volume
}
TURNS_OF = {stage.key: stage.medium.turns for stage in ORDER if stage.medium is not None}
PARTS = ("gravel", "labour", "disposal", "downtime")
BY_CYCLES = "regenerations times dose"
# Media that the water dissolves: they are topped up in the year, and never wear out.
DISSOLVED = frozenset(s.key for s in ORDER if s.medium is not None and s.medium.dissolves)
TOP_UP = "_top_up"  # end of the name of the item that they are topped up with


class Consumption(Struct, frozen=True):
    """A consumable: the item of data/packages.csv, and the law of its quantity with arguments."""

    item: str
    label: str
    unit: str
    law: Law[..., Any]
    arguments: Mapping[str, str]
    method: str


def enter_consumables(till: Till, design: DesignBasis) -> tuple[Line, ...]:
    """Enter what a year uses up, and its lines.

    Parameters
    ----------
    till : Till
        Ledger and prices. [-]
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    tuple of Line
        Lines of a year. [-]
    """
    used: dict[str, list[Consumption]] = {}
    for each in (*_chemicals(till.entries, design), *_utilities(till.entries, design)):
        used.setdefault(each.item, []).append(each)
    lines = []
    for item, users in used.items():
        key = f"{C}.{item}_per_year"
        if len(users) == 1:
            _enter_consumption(till.entries, key, users[0])
        else:
            _enter_shared(till.entries, key, users)
        sources = tuple(next(iter(user.arguments.values())) for user in users)
        what = bought(item, till.entries, design, sources)
        if what is not None:
            key = enter_delivered(till.entries, item, what)
        lines.append(enter_line(till, item, YEARLY, key, note=users[0].method))
    topped = _enter_media_per_year(till.entries)
    lines += [enter_line(till, f"{s}{TOP_UP}", YEARLY, key, note=TOPPED) for s, key in topped]
    return tuple(lines)


def _enter_consumption(entries: Entries, key: str, used: Consumption) -> None:
    entries.law(
        key, used.law, label=used.label, unit=used.unit, method=used.method, **used.arguments
    )


def _enter_shared(entries: Entries, key: str, users: Sequence[Consumption]) -> None:
    """Enter what several stages use of one consumable, as acid feed and exchange, and the sum."""
    parts = []
    for each in users:
        stage = next(iter(each.arguments.values())).split(".")[0]
        parts.append(f"{C}.{stage}_{each.item}_kg_per_year")
        name = BY_KEY.get(stage, BY_KEY.get(each.item))
        whose = f"{name.label}: " if name else ""
        label = f"{whose}{each.label[0].lower()}{each.label[1:]}"
        _enter_consumption(entries, parts[-1], replace(each, label=label))
    entries.law(
        key,
        used_by_all_kg_year,
        amounts_kg_year=parts,
        label=users[-1].label,
        unit=users[0].unit,
        method="sum of the stages that use it",
    )


def _chemicals(entries: Entries, design: DesignBasis) -> list[Consumption]:
    ledger = entries.ledger
    found: list[Consumption] = []
    for stage in ORDER:
        found += [_used(stage.key, each) for each in stage.consumables if each.amount in ledger]
    fed, oxidant = "iron_filter.oxidant_kg_per_year", design.iron_filter.oxidant
    fed_already = {each.item for each in found}  # by its own stage of the train
    if fed in ledger and oxidant != "air" and oxidant not in fed_already:
        label = f"{oxidant.capitalize()} per year"
        found.append(_carried(oxidant, label, "kg/year", fed, "fed ahead of the iron filter"))
    for item, label in (
        ("acid", "Acid per year, as 100 %"),
        ("inhibitor", "Scale inhibitor per year"),
    ):
        key = f"dosing.{item}_kg_per_year"
        if ledger.number(key) is not None:
            found.append(_carried(item, label, "kg/year", key, "as dosed"))
        elif item == "inhibitor" and design.limits.inhibitor:
            found.append(_inhibitor(entries))
    return found


def _used(stage: str, used: Consumable) -> Consumption:
    """Return a consumable that a stage uses up in each cycle, or in a year."""
    if used.each == "year":
        return _carried(used.item, used.label, "kg/year", used.amount, "as dosed")
    cycles = f"media_life.{stage}_cycles_per_year"
    law: Law[..., Any] = kg_of_cycles_kg_year
    amount = "kg_per_regeneration"
    if used.in_grams:
        law, amount = g_of_cycles_kg_year, "g_per_regeneration"
    arguments = {amount: used.amount, "cycles_per_year": cycles}
    return Consumption(used.item, used.label, "kg/year", law, arguments, BY_CYCLES)


def _carried(item: str, label: str, unit: str, key: str, method: str) -> Consumption:
    """Return a consumable whose quantity is a figure of the train."""
    return Consumption(item, label, unit, carried_over, {"amount": key}, method)


def _inhibitor(entries: Entries) -> Consumption:
    enter_inhibitor_dose(entries)
    return Consumption(
        "inhibitor",
        "Scale inhibitor per year",
        "kg/year",
        dosed_kg_year,
        {"dose_mg_l": "costs.inhibitor_dose_mg_l", "water_m3_year": WATER},
        "2 to 5 mg/L of product in the feed; the maker's dose governs",
    )


def enter_inhibitor_dose(entries: Entries) -> float:
    """Enter the dose of scale inhibitor of common practice, once; return it."""
    key, row = "costs.inhibitor_dose_mg_l", support()["inhibitor_dose_mg_l"]
    if key not in entries.ledger:
        entries.given(
            key,
            row.value,
            row.unit,
            "Scale inhibitor in the feed of the machine",
            cites=(row.source,),
            evidence=row.evidence,
            method=row.where,
        )
    return entries.value(key)


def _utilities(entries: Entries, design: DesignBasis) -> list[Consumption]:
    found = []
    if "cartridge.number" in entries.ledger:
        arguments = {
            "cartridges": "cartridge.number",
            "life_years": "media_life.cartridge_years_likely",
        }
        found.append(
            Consumption(
                "cartridges",
                "Cartridges per year",
                "1/year",
                cartridges_per_year,
                arguments,
                "whole sets at the likely life",
            )
        )
    for item, label, key in (
        ("water", "Raw water per year", "water_balance.raw_m3_year"),
        ("drain", "Water to the drain per year", "water_balance.drain_m3_year"),
    ):
        found.append(_carried(item, label, "m3/year", key, "regenerations included"))
    found.append(_energy(entries, design.machine.feed_pressure_bar))
    return found


def _energy(entries: Entries, feed_pressure_bar: float | None) -> Consumption:
    label, raw = "Energy of the pumps per year", "pump.energy_kwh_year"
    if feed_pressure_bar is None:
        return _carried("energy", label, "kWh/year", raw, "raw water pump only")
    pressure = "costs.feed_pressure_bar"
    entries.given(
        pressure,
        feed_pressure_bar,
        "bar",
        "Pressure of the membrane pump",
        origin="chosen",
        cites=(),
    )
    arguments = {
        "raw_pump_kwh_year": raw,
        "water_m3_year": WATER,
        "feed_pressure_bar": pressure,
        "pump_efficiency": "pump.efficiency",
    }
    return Consumption(
        "energy",
        label,
        "kWh/year",
        energy_kwh_year,
        arguments,
        "raw water pump and membrane pump, same efficiency",
    )


TOPPED = "dissolved by the water, topped up in the course of the year"


def _enter_media_per_year(entries: Entries) -> list[tuple[str, str]]:
    """Enter what of each medium a year uses up; return stage and key of those topped up."""
    topped = []
    for stage, volume in MEDIUM_VOLUME.items():
        life = f"media_life.{stage}_years_likely"
        if life in entries.ledger:
            entries.law(
                (key := f"{C}.{stage}_medium_per_year"),
                medium_l_year,
                medium_l=volume,
                life_years=life,
                label=f"{LABELS[stage]} used up per year, mean",
                unit="L/year",
                method=TOPPED if stage in DISSOLVED else "priced with its replacement",
            )
            if stage in DISSOLVED:
                topped.append((stage, key))
    return topped


def stages_with_media(entries: Entries) -> tuple[str, ...]:
    """Return the stages whose medium is known, in the order of flow."""
    return tuple(stage for stage, volume in MEDIUM_VOLUME.items() if volume in entries.ledger)


def _vessels_of(entries: Entries, stage: str) -> str:
    """Return the key of the vessels that share the flow of a stage."""
    if stage == "softener":
        return f"{stage}.vessels_side_by_side"
    counted = (f"{stage}.{name}" for name in ("vessels", "vessels_in_service"))
    return next((key for key in counted if key in entries.ledger), f"{stage}.vessels")


def enter_replacement(till: Till, stage: str) -> tuple[Line, ...]:
    """Enter what the replacement of a stage's medium takes, and its lines.

    Parameters
    ----------
    till : Till
        Ledger and prices. [-]
    stage : str
        The stage. [-]

    Returns
    -------
    tuple of Line
        Medium, gravel, labour, disposal and downtime. [-]
    """
    entries, label, volume = till.entries, LABELS[stage], MEDIUM_VOLUME[stage]
    number = _vessels_of(entries, stage)
    size = f"{stage}.vessel_diameter_m"
    for name in ("gravel_density_kg_l", "labour_per_vessel_h", "labour_per_100_l_h"):
        row = support()[name]
        if f"costs.{name}" not in entries.ledger:
            entries.given(
                f"costs.{name}",
                row.value,
                row.unit,
                row.meaning.capitalize(),
                cites=(row.source,),
                evidence=row.evidence,
                method=row.where,
            )
    turns = {"beds_taking_turns": TURNS_OF[stage]} if TURNS_OF[stage] else {}
    entries.law(
        f"costs.{stage}_gravel_kg",
        gravel_kg,
        diameter_m=size,
        vessels=number,
        density_kg_l="costs.gravel_density_kg_l",
        label=f"{label}: support gravel",
        method="fills the lower 2:1 head",
        **turns,
    )
    entries.law(
        f"costs.{stage}_hours",
        replacement_h,
        vessels=number,
        media_l=volume,
        per_vessel_h="costs.labour_per_vessel_h",
        hundred_litres_h="costs.labour_per_100_l_h",
        label=f"{label}: hours of work of a replacement",
        unit="h",
        evidence="common practice",
        cites=("WEAR_ESTIMATE",),
        method="one technician; the machine stands still",
        **turns,
    )
    hours = f"costs.{stage}_hours"
    keys = {
        "gravel": f"costs.{stage}_gravel_kg",
        "labour": hours,
        "disposal": volume,
        "downtime": hours,
    }
    medium = enter_line(
        till,
        f"{stage}_medium",
        ONCE,
        volume,
        stage=stage,
        label=label,
        note=life_note(entries, stage),
    )
    gone = {"disposal"} if stage in DISSOLVED else set()  # nothing of it is left to be disposed of
    parts = [part for part in PARTS if part not in gone]
    return (
        medium,
        *(enter_line(till, part, ONCE, keys[part], stage=stage, label=label) for part in parts),
    )


def life_note(entries: Entries, stage: str) -> str:
    """Return the range of a life in words, for a line of the quote."""
    low, high = (entries.ledger.number(f"media_life.{stage}_years_{c}") for c in ("low", "high"))
    if stage in DISSOLVED and (low is None or high is None):
        return "dissolves in use; how fast is not known without an analysis"
    if low is None or high is None:
        ends = (entries.ledger.number(f"quote.{stage}_years_{end}") for end in ("low", "high"))
        usual = [f"{years:g}" for years in ends if years is not None]
        return f"usual life {' to '.join(usual)} years (any water)"
    if stage in DISSOLVED:
        return f"dissolves in {low:.1f} to {high:.1f} years where it is not topped up"
    return f"estimated life {low:.1f} to {high:.1f} years"


_STAGES = frozenset(stage.key for stage in ORDER)


def stage_of(line: Line) -> str:
    """Return the stage whose medium a line replaces, from the key of its amount."""
    if line.group != ONCE:
        return ""
    stem = line.key.removeprefix("costs.")
    found = [stage for stage in _STAGES if stem.startswith(f"{stage}_")]
    return max(found, key=len, default="")


def of_media_sold(till: Till, media: tuple[str, ...] | None, once: Sequence[Line]) -> list[Line]:
    """Return the lines of the media that are sold now; name the stages that stay as they are.

    Parameters
    ----------
    till : Till
        Ledger and prices. [-]
    media : tuple of str or None
        Stages whose media are sold; all where it is None. [-]
    once : sequence of Line
        Lines of one replacement of all. [-]

    Returns
    -------
    list of Line
        Freight stays where any medium does. [-]
    """
    stages = dict.fromkeys(stage for stage in map(stage_of, once) if stage)
    left = [stage for stage in stages if media is not None and stage not in media]
    if left:
        label = "Media that are not sold now"
        till.entries.word("offer.media_left", " ".join(left), label, origin="chosen")
    if len(left) == len(stages):
        return []
    return [line for line in once if stage_of(line) not in left]
