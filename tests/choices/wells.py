"""Invented wells: a few numbers of each, the rest completed so that the charges balance."""

from pathlib import Path

from pretreat.core.results import Study
from pretreat.lab import read_design_water
from pretreat.stages.decision import Mode
from pretreat.stages.site import read_site
from pretreat.study import run_study

# Grams of an equivalent (atomic masses).
CA, MG, NA, CL, SO4, ALK = 20.04, 12.15, 22.99, 35.45, 48.03, 50.04

SITE = """
[water]
analysis = "well.csv"
operating_temperature_c = {temp}
[machine]
product_flow = "{product} m3/h"
recovery = {recovery}
hours_per_day = {hours}
{more}
"""


def analysis(
    *,
    ph: float,
    alkalinity: float,
    hardness: float,
    tds: float,
    temp: float = 15.0,
    **others: float,
) -> dict[str, float]:
    """Return an analysis in mg/L: hardness 3:1, a third of the rest as sulfate, sodium balances.

    ``others`` are added as they stand, such as fe, mn, nh4, ba.
    """
    calcium, magnesium = 0.75 * hardness / 50.04, 0.25 * hardness / 50.04
    left = max(tds - 1.22 * alkalinity - calcium * CA - magnesium * MG, 60.0)
    # sodium against chloride and sulfate: left = anions x mean mass + sodium mass
    share_so4 = 0.2
    mean = (1 - share_so4) * CL + share_so4 * SO4
    cations = calcium + magnesium
    # na = anions + alkalinity - cations; left = anions x mean + na x NA
    bicarbonate = alkalinity / ALK
    anions = max((left - (bicarbonate - cations) * NA) / (mean + NA), 0.3)
    sodium = anions + bicarbonate - cations
    if sodium < 0.2:
        anions += 0.2 - sodium
        sodium = 0.2
    found = {
        "pH": ph,
        "Temperature": temp,
        "Ca": calcium * CA,
        "Mg": magnesium * MG,
        "Na": sodium * NA,
        "K": 3.0,
        "Alkalinity": alkalinity,
        "SO4": share_so4 * anions * SO4,
        "Cl": (1 - share_so4) * anions * CL,
        "Fe": 0.02,
        "Mn": 0.01,
        "NH4": 0.05,
        "Ba": 0.02,
        "Sr": 0.5,
        "F": 0.3,
        "SiO2": 12.0,
        "NO3": 1.0,
        "PO4": 0.01,
        "Al": 0.01,
        "Turbidity": 0.3,
        "TOC": 0.8,
    }
    return found | others


UNITS = {"pH": "", "Temperature": "C", "Alkalinity": "mg/L as CaCO3", "Turbidity": "NTU"}


def sized(
    folder: Path,
    water: dict[str, float],
    recovery: float = 0.6,
    product: float = 1.0,
    hours: float = 20.0,
    more: str = "",
    draws: int = 256,
    mode: Mode = "size",
) -> Study:
    """Return the study of a well."""
    text = "analyte,value,unit\n"
    for name, value in water.items():
        text += f"{name},{value:.6g},{UNITS.get(name, 'mg/L')}\n"
    (folder / "well.csv").write_text(text, encoding="utf-8")
    body = SITE.format(
        temp=water.get("Temperature", 15.0),
        product=product,
        recovery=recovery,
        hours=hours,
        more=more,
    )
    (folder / "site.toml").write_text(body, encoding="utf-8")
    design = read_site(folder / "site.toml")
    analysed, samples = read_design_water(design.water)
    return run_study(analysed, design, mode, samples, draws)


def choices(study: Study) -> list[dict[str, object]]:
    """Return the rows of the table of trains."""
    series = study.series["train.choices"]
    return [dict(zip(series.columns, row, strict=True)) for row in series.rows]
