"""Trains whose drain breaks a limit that the site file gives, and one that keeps it."""

from collections.abc import Iterable

from msgspec.structs import replace

from pretreat.life import discharge
from pretreat.plant.choices.costs import Plant, Year
from pretreat.plant.choices.order import Row
from pretreat.stages import train_in_words
from pretreat.stages.discharge import DischargeDesign
from pretreat.stages.stream import RawWater

OVER_LIMIT = "discharge_over_limit"
WORDS = {"chloride": "chloride", "tds": "dissolved solids"}


def held_to_drain(row: Row, plant: Plant, raw: RawWater, own: DischargeDesign) -> Row:
    """Return a train with the limits of the drain that it breaks.

    Parameters
    ----------
    row : Row
        A train with its year. [-]
    plant : Plant
        The machine. [-]
    raw : RawWater
        The water of the well. [-]
    own : DischargeDesign
        The limits that the site file gives. [-]

    Returns
    -------
    Row
        Marked where it breaks one. [-]
    """
    if row.year is None or own == DischargeDesign():
        return row
    return replace(row, over_drain=_broken(row.year, plant, raw, own))


def _broken(year: Year, plant: Plant, raw: RawWater, own: DischargeDesign) -> str:
    salt, found = year.amounts.get("salt_per_kg", 0.0), []
    chloride = raw.mg_l.get("cl")
    for name, load, limit in (
        (
            "chloride",
            None
            if chloride is None
            else discharge.chloride_kg_year(year.raw_m3, chloride, salt, 0.0),
            own.chloride_mg_l,
        ),
        ("tds", discharge.solids_kg_year(year.raw_m3, plant.tds_mg_l, salt), own.tds_mg_l),
    ):
        if load is None or limit is None or year.drain_m3 <= 0.0:
            continue
        mean = float(discharge.mean_of_load_mg_l(load, year.drain_m3))
        if mean > limit:
            found.append(
                f"about {mean:,.0f} mg/L of {WORDS[name]} to the drain, above the limit given, "
                f"{limit:,.0f} mg/L"
            )
    if own.salt_kg_per_day is not None and salt > own.salt_kg_per_day * plant.days:
        found.append(
            f"about {salt / plant.days:.3g} kg of salt a day, above the limit given, "
            f"{own.salt_kg_per_day:g} kg a day"
        )
    return ", ".join(found)


def keeps_drain(rows: Iterable[Row]) -> str:
    """Name the train that keeps the limits of the drain where the first does not.

    Parameters
    ----------
    rows : iterable of Row
        Trains in order. [-]

    Returns
    -------
    str
        Empty where there is none, or where the first keeps them. [-]
    """
    sized = [row for row in rows if row.year is not None and not row.candidate.why_not]
    if not sized or not sized[0].over_drain:
        return ""
    keeping = [row for row in sized if not row.over_drain]
    if not keeping:
        return "no train that was looked at keeps it"
    best = max(keeping, key=lambda row: (row.feasible, row.reach or 0.0))
    named = train_in_words(best.candidate.name)
    if best.feasible:
        return f"{named} keeps it, with a worse verdict"
    return f"{named} keeps it at {int(1000.0 * (best.reach or 0.0)) / 10.0:g} %"
