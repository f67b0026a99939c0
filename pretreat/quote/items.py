"""What a site uses up in a year and what a replacement of its media takes, as quantities."""

import math
from dataclasses import dataclass

from pretreat.life.duties import RESIN, TURNS
from pretreat.life.figures import LABELS
from pretreat.quote.lines import Line, Till, enter_line
from pretreat.site.design import DesignBasis
from pretreat.stages.packages import LITRE_PER_M3, gravel_kg, replacement_h, support
from pretreat.stages.train import Entries

YEARLY = "each year"
ONCE = "one replacement of all media"
C = "consumables"
MEDIUM_VOLUME = {"softener": RESIN, "iron_filter": "iron_filter.media_volume_l",
                 "multimedia": "multimedia.media_volume_l",
                 "carbon": "carbon.media_volume_l"}  # fmt: skip
PARTS = ("gravel", "labour", "disposal", "downtime")
BAR_PER_KWH_M3 = 36.0  # 1 m3 raised by 36 bar takes 1 kWh


@dataclass(frozen=True, slots=True)
class Consumption:
    """A consumable: the item of data/packages.csv, its quantity as value and formula."""

    item: str
    label: str
    value: float
    unit: str
    formula: str
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
    found = [*_chemicals(till.entries, design), *_utilities(till.entries, design)]
    lines = []
    for each in found:
        key = f"{C}.{each.item}_per_year"
        till.entries.calc(key, each.value, each.unit, each.label, each.formula, method=each.method)
        lines.append(enter_line(till, each.item, YEARLY, key, note=each.method))
    _enter_media_per_year(till.entries)
    return tuple(lines)


def _chemicals(entries: Entries, design: DesignBasis) -> list[Consumption]:
    ledger, found = entries.ledger, []

    def per_cycle(item: str, label: str, amount: str, stage: str, divisor: str = "") -> None:
        cycles = f"media_life.{stage}_cycles_per_year"
        value = entries.value(amount) * entries.value(cycles) / (1000.0 if divisor else 1.0)
        formula = f"{{{amount}}}*{{{cycles}}}{divisor}"
        found.append(Consumption(item, label, value, "kg/year", formula,
                                 "regenerations times dose"))  # fmt: skip

    if "softener.salt_kg_per_regeneration" in ledger:
        per_cycle("salt", "Salt per year", "softener.salt_kg_per_regeneration", "softener")
    if "iron_filter.permanganate_g_per_regeneration" in ledger:
        per_cycle("permanganate", "Permanganate per year",
                  "iron_filter.permanganate_g_per_regeneration", "iron_filter",
                  "/1000")  # fmt: skip
    fed, oxidant = "iron_filter.oxidant_kg_per_year", design.iron_filter.oxidant
    if fed in ledger and oxidant != "air":
        label = f"{oxidant.capitalize()} per year"
        found.append(Consumption(oxidant, label, entries.value(fed), "kg/year", f"{{{fed}}}",
                                 "fed ahead of the iron filter"))  # fmt: skip
    for item, label in (("acid", "Acid per year"), ("inhibitor", "Scale inhibitor per year")):
        key = f"dosing.{item}_kg_per_year"
        if ledger.number(key) is not None:
            found.append(Consumption(item, label, entries.value(key), "kg/year", f"{{{key}}}",
                                     "as dosed"))  # fmt: skip
        elif item == "inhibitor" and design.limits.inhibitor:
            found.append(_inhibitor(entries))
    return found


def _inhibitor(entries: Entries) -> Consumption:
    dose = enter_inhibitor_dose(entries)
    water = entries.value("media_life.water_m3_per_year")
    return Consumption("inhibitor", "Scale inhibitor per year", dose * water / 1000.0, "kg/year",
                       "{costs.inhibitor_dose_mg_l}*{media_life.water_m3_per_year}/1000",
                       "2 to 5 mg/L of product in the feed; the maker's dose governs")  # fmt: skip


def enter_inhibitor_dose(entries: Entries) -> float:
    """Enter the dose of scale inhibitor of common practice, once; return it."""
    key, row = "costs.inhibitor_dose_mg_l", support()["inhibitor_dose_mg_l"]
    if key not in entries.ledger:
        entries.given(key, row.value, row.unit, "Scale inhibitor in the feed of the machine",
                      cites=(row.source,), evidence=row.evidence, method=row.where)  # fmt: skip
    return entries.value(key)


def _utilities(entries: Entries, design: DesignBasis) -> list[Consumption]:
    found = []
    if "cartridge.number" in entries.ledger:
        number, life = entries.value("cartridge.number"), "media_life.cartridge_years_likely"
        sets = -math.floor(-(1.0 / entries.value(life)))
        found.append(Consumption("cartridges", "Cartridges per year", number * sets, "1/year",
                                 f"{{cartridge.number}}*-INT(-(1/{{{life}}}))",
                                 "whole sets at the likely life"))  # fmt: skip
    for item, label, key in (("water", "Raw water per year", "water_balance.raw_m3_year"),
                             ("drain", "Water to the drain per year",
                              "water_balance.drain_m3_year")):  # fmt: skip
        found.append(Consumption(item, label, entries.value(key), "m3/year", f"{{{key}}}",
                                 "regenerations included"))  # fmt: skip
    found.append(_energy(entries, design.machine.feed_pressure_bar))
    return found


def _energy(entries: Entries, feed_pressure_bar: float | None) -> Consumption:
    raw = entries.value("pump.energy_kwh_year")
    if feed_pressure_bar is None:
        return Consumption("energy", "Energy of the pumps per year", raw, "kWh/year",
                           "{pump.energy_kwh_year}", "raw water pump only")  # fmt: skip
    entries.given("costs.feed_pressure_bar", feed_pressure_bar, "bar",
                  "Pressure of the membrane pump", origin="chosen", cites=())  # fmt: skip
    water, eta = entries.value("media_life.water_m3_per_year"), entries.value("pump.efficiency")
    value = raw + water * feed_pressure_bar / BAR_PER_KWH_M3 / eta
    return Consumption("energy", "Energy of the pumps per year", value, "kWh/year",
                       "{pump.energy_kwh_year}+{media_life.water_m3_per_year}"
                       "*{costs.feed_pressure_bar}/36/{pump.efficiency}",
                       "raw water pump and membrane pump, same efficiency")  # fmt: skip


def _enter_media_per_year(entries: Entries) -> None:
    for stage, volume in MEDIUM_VOLUME.items():
        life = f"media_life.{stage}_years_likely"
        if life in entries.ledger:
            entries.calc(f"{C}.{stage}_medium_per_year",
                         entries.value(volume) / entries.value(life), "L/year",
                         f"{LABELS[stage]} used up per year, mean", f"{{{volume}}}/{{{life}}}",
                         method="priced with its replacement")  # fmt: skip


def stages_with_media(entries: Entries) -> tuple[str, ...]:
    """Return the stages whose medium is known, in the order of flow."""
    order = ("iron_filter", "multimedia", "softener", "carbon")
    return tuple(stage for stage in order if MEDIUM_VOLUME[stage] in entries.ledger)


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
    number, size = f"{stage}.vessels_in_service", f"{stage}.vessel_diameter_m"
    for name in ("gravel_density_kg_l", "labour_per_vessel_h", "labour_per_100_l_h"):
        row = support()[name]
        if f"costs.{name}" not in entries.ledger:
            entries.given(f"costs.{name}", row.value, row.unit, row.meaning.capitalize(),
                          cites=(row.source,), evidence=row.evidence, method=row.where)  # fmt: skip
    vessels, litres = entries.value(number), entries.value(volume)
    count = f"{{{number}}}"
    if stage == "softener":
        vessels *= entries.value(TURNS)
        count += f"*{{{TURNS}}}"
    density, per_vessel, per_100 = (
        entries.value(f"costs.{n}")
        for n in ("gravel_density_kg_l", "labour_per_vessel_h", "labour_per_100_l_h")
    )
    entries.calc(f"costs.{stage}_gravel_kg", gravel_kg(entries.value(size), vessels, density), "kg",
                 f"{label}: support gravel",
                 f"{count}*{math.pi / 24!r}*{{{size}}}^3*{LITRE_PER_M3!r}"
                 "*{costs.gravel_density_kg_l}", method="fills the lower 2:1 head")  # fmt: skip
    entries.calc(f"costs.{stage}_hours", replacement_h(vessels, litres, per_vessel, per_100), "h",
                 f"{label}: hours of work of a replacement",
                 f"{count}*{{costs.labour_per_vessel_h}}"
                 f"+{{{volume}}}/100*{{costs.labour_per_100_l_h}}", evidence="common practice",
                 cites=("WEAR_ESTIMATE",), method="one technician; the machine stands still",
    )  # fmt: skip
    hours = f"costs.{stage}_hours"
    keys = {"gravel": f"costs.{stage}_gravel_kg", "labour": hours, "disposal": volume,
            "downtime": hours}  # fmt: skip
    medium = enter_line(till, f"{stage}_medium", ONCE, volume, stage=stage, label=label,
                        note=life_note(entries, stage))  # fmt: skip
    return (medium, *(enter_line(till, part, ONCE, keys[part], stage=stage, label=label)
                      for part in PARTS))  # fmt: skip


def life_note(entries: Entries, stage: str) -> str:
    """Return the range of a life in words, for a line of the quote."""
    low, high = (entries.ledger.number(f"media_life.{stage}_years_{c}") for c in ("low", "high"))
    if low is None or high is None:
        ends = (entries.ledger.number(f"quote.{stage}_years_{end}") for end in ("low", "high"))
        usual = [f"{years:g}" for years in ends if years is not None]
        return f"usual life {' to '.join(usual)} years (any water)"
    return f"estimated life {low:.1f} to {high:.1f} years"
