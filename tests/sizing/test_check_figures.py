"""Figures from outside, each with its source and the kind of evidence, against the program.

Tolerances are the rounding of the print, or of the figure worked out beforehand. `printed`
may include a unit conversion of a printed figure; `computed` was worked out apart from the
program; `memory` and `common practice` have no document behind them.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from pretreat.core.equivalents import caco3_per_mg
from pretreat.core.units import (
    CACO3_MG_PER_MEQ,
    G_L_PER_KGR_FT3,
    G_L_PER_LB_FT3,
    GRAM_PER_GRAIN,
    GRAM_PER_POUND,
    KPA_PER_PSI,
    LITRE_PER_CUBIC_FOOT,
    LITRE_PER_US_GALLON,
    M_H_PER_GPM_FT2,
    METRE_PER_FOOT,
    MG_L_CACO3_PER_GPG,
    molar_mass,
    quantity,
)
from pretreat.life.laws import capacity_loss_years, compounded_loss_years
from pretreat.life.lives import SoftenerDuty, softener_lives
from pretreat.life.wear import wear
from pretreat.plant import laws
from pretreat.plant.calendar.week import nights_of
from pretreat.plant.water import pump_laws, storage_laws
from pretreat.stages.bed.hydraulics import (
    Grains,
    bed_expansion,
    ergun_kpa_m,
    expanded_porosity,
    fluidisation_velocity_amirtharajah_m_h,
    fluidisation_velocity_m_h,
    fluidised_head_loss_m,
    rose_head_loss_m,
)
from pretreat.stages.bed.media import media
from pretreat.stages.bed.programme import SETTINGS, settings_per_week
from pretreat.stages.bed.vessels import quick_area_ft2, vessel_area_m2
from pretreat.stages.bed.water_properties import density_kg_m3, viscosity_pa_s
from pretreat.stages.carbon import laws as carbon
from pretreat.stages.iron_filter.laws import (
    ANTHRACITE_CAP_M,
    FilterLoad,
    filtration_rate_m_h,
    oxidation_run_h,
    solids_run_h,
)
from pretreat.stages.limits import train_limits
from pretreat.stages.multimedia.laws import silt_density_index
from pretreat.stages.oxidation import (
    alkalinity_per_mg,
    oxidant_demand_mg_l,
    oxidant_per_mg,
    permanganate_rule_mg_l,
    solids_per_mg,
)
from pretreat.stages.softener import laws as softener
from pretreat.stages.softener import regeneration, salt_laws
from pretreat.stages.softener.resin import (
    SALT_PER_CACO3,
    capacity_by_fit_g_l,
    capacity_table,
    leakage_mg_l_caco3,
    operating_capacity_g_l,
    separation_capacity_meq_l,
)

BV_PER_GAL_FT3 = LITRE_PER_US_GALLON / LITRE_PER_CUBIC_FOOT
BV_H_PER_GPM_FT3 = BV_PER_GAL_FT3 * 60.0
INCH = METRE_PER_FOOT / 12.0
FT2 = METRE_PER_FOOT**2
GR_FT2 = GRAM_PER_GRAIN / FT2  # g/m2
GR_LB = GRAM_PER_POUND / GRAM_PER_GRAIN
RESIN, GREENSAND, GAC = (
    media()[name] for name in ("softening resin", "manganese greensand", "activated carbon")
)
BED = Grains(0.65, 1270.0, 0.37)
CORNING = Grains(0.736, 2655.0, 0.407)
W2_LOAD = FilterLoad(1.5, 0.2, 1.5, 0.2)
TSS = "Recommended Standards for Water Works, read through state codes (TSS)"
DAVIS = "Davis 2010"
HEN = "Hendricks 2011"
FRANKS = "Franks, trade press"
UFC = "UFC 3-240-13FN, 2-2.5.1"
STOICHIOMETRY = "balanced reactions"
OWN = "example of our own"


@dataclass(frozen=True)
class Row:
    """What is checked, the figure from outside, its tolerance, source and evidence."""

    what: str
    expected: float
    rel: float
    source: str
    evidence: str
    found: Callable[[], float]


def loss_of_15_psi() -> float:
    return 15.0 * KPA_PER_PSI


def ladder(dose: float, table: str = "ladder") -> float:
    return operating_capacity_g_l(dose, capacity_table(table))


def printed_capacity(table: str, pounds: float) -> Callable[[], float]:
    return lambda: ladder(pounds * G_L_PER_LB_FT3, table)


def leak(cations: float, left: float) -> Callable[[], float]:
    return lambda: leakage_mg_l_caco3(cations, left)


def per_mg(reduced: str, oxidant: str) -> Callable[[], float]:
    return lambda: oxidant_per_mg(reduced, oxidant)


def grows(grains: Grains, velocity: float, temp_c: float) -> Callable[[], float]:
    return lambda: bed_expansion(grains, velocity, temp_c)


def lifted(size_mm: float, temp_c: float) -> Callable[[], float]:
    return lambda: fluidisation_velocity_m_h(Grains(size_mm, 2650.0, 0.42), temp_c)


def ergun(velocity: float, temp_c: float) -> Callable[[], float]:
    return lambda: ergun_kpa_m(BED, velocity, temp_c) * 0.914


def gpm_ft2(number: float) -> Callable[[], float]:
    """Read a rate in gpm over a square foot through the program's own units."""
    return lambda: quantity(f"{number} gpm", "m3/h") / FT2


def sand_loss_m() -> float:
    sand = Grains(0.5, 2650.0, 0.42)
    loss = ergun_kpa_m(sand, 10.0, 15.0, viscous=112.5, inertial=2.5) * 0.6
    return loss * 1000.0 / (9.80665 * density_kg_m3(15.0))


def limit(key: str) -> Callable[[], float]:
    return lambda: train_limits()[key].value


UNITS = [
    Row("a grain per gallon", 17.118, 5e-4, "definition", "computed", lambda: MG_L_CACO3_PER_GPG),
    Row("a kilograin/ft3", 2.2884, 5e-4, "definition", "computed", lambda: G_L_PER_KGR_FT3),
    Row("a lb/ft3", 16.018, 5e-4, "definition", "computed", lambda: G_L_PER_LB_FT3),
    Row("a gpm/ft2", 2.4448, 5e-4, "definition", "computed", lambda: M_H_PER_GPM_FT2),
    Row("a gpm/ft3, BV/h", 8.0208, 5e-4, "definition", "computed", lambda: BV_H_PER_GPM_FT3),
    Row("a gal/ft3, BV", 0.13368, 5e-4, "definition", "computed", lambda: BV_PER_GAL_FT3),
    Row("700 grains/ft2", 488.2, 1e-3, "definition", "computed", lambda: 700.0 * GR_FT2),
]
CODES = [
    Row("service at 7 gpm/ft2", 17.1, 5e-3, TSS, "printed", lambda: RESIN["service_max_m_h"]),
    Row("the same, converted", 17.1, 5e-3, TSS, "printed", gpm_ft2(7)),
    Row("backwash at 6 gpm/ft2", 14.7, 5e-3, TSS, "printed", gpm_ft2(6)),
    Row("backwash at 8 gpm/ft2", 19.6, 5e-3, TSS, "printed", gpm_ft2(8)),
    Row("resin 3 ft deep", 0.914, 1e-3, TSS, "printed", lambda: RESIN["depth_min_m"]),
    Row("collector 24 in above it", 0.61, 2e-3, TSS, "printed", lambda: quantity("24 in", "m")),
    Row("20 kgr/ft3", 45.77, 1e-3, TSS, "printed", lambda: 20.0 * G_L_PER_KGR_FT3),
    Row(
        "that capacity at its salt",
        45.77,
        1e-3,
        TSS,
        "printed",
        lambda: ladder(6.0 * G_L_PER_LB_FT3),
    ),
    Row(
        "the same, eq/L",
        0.9145,
        2e-3,
        TSS,
        "computed",
        lambda: 20.0 * G_L_PER_KGR_FT3 / CACO3_MG_PER_MEQ,
    ),
    Row("0.3 lb/kgr at 20 kgr/ft3", 96.11, 1e-3, TSS, "printed", lambda: 6.0 * G_L_PER_LB_FT3),
    Row(
        "0.3 lb/kgr, g/g",
        2.1,
        1e-3,
        TSS,
        "computed",
        lambda: 0.3 * GRAM_PER_POUND / (1000.0 * GRAM_PER_GRAIN),
    ),
    Row(
        "0.3 lb/kgr over stoichiometry",
        1.798,
        2e-3,
        TSS,
        "computed",
        lambda: 0.3 * GR_LB / 1000.0 / SALT_PER_CACO3,
    ),
    Row("metals at which to pretreat", 1.0, 0.0, TSS, "printed", limit("softener_iron_refuse")),
    Row(
        "metals, stricter code",
        0.3,
        0.0,
        "12 VAC 5-590-900(B)",
        "printed",
        limit("softener_iron_flag"),
    ),
    Row("turbidity onto resin", 5.0, 0.0, TSS, "printed", limit("softener_turbidity")),
    Row("15 psi at rated flow", 103.4, 1e-3, "NSF/ANSI 44, trade press", "printed", loss_of_15_psi),
    Row(
        "challenge water, 20 gpg",
        342.0,
        5e-3,
        "NSF/ANSI 44, trade press",
        "printed",
        lambda: 20.0 * MG_L_CACO3_PER_GPG,
    ),
    Row(
        "usual pressure drop",
        70.0,
        0.0,
        f"{DAVIS}, Table 8-3",
        "printed",
        lambda: RESIN["pressure_drop_usual_kpa"],
    ),
    Row(
        "largest pressure drop",
        135.0,
        0.0,
        f"{DAVIS}, Table 8-3",
        "printed",
        lambda: RESIN["pressure_drop_max_kpa"],
    ),
]
SALT = [
    Row("salt for hardness", 1.1678, 5e-4, "molar masses", "computed", lambda: SALT_PER_CACO3),
    Row("grains a pound exchanges", 5989.0, 3e-3, FRANKS, "printed",
        lambda: GR_LB / SALT_PER_CACO3),
    Row("grains a pound of KCl exchanges", 4695.0, 3e-3, FRANKS, "printed",
        lambda: GR_LB * CACO3_MG_PER_MEQ / molar_mass("KCl")),
    Row("1.9 eq/L in gr/ft3", 41_499.0, 3e-3, FRANKS, "printed",
        lambda: 1.9 * CACO3_MG_PER_MEQ / G_L_PER_KGR_FT3 * 1000.0),
    Row("2.0 eq/L in gr/ft3", 43_683.0, 3e-3, FRANKS, "printed",
        lambda: 2.0 * CACO3_MG_PER_MEQ / G_L_PER_KGR_FT3 * 1000.0),
    Row("salt for 2.0 eq/L, lb/ft3", 7.29, 3e-3, FRANKS, "printed",
        lambda: 2.0 * CACO3_MG_PER_MEQ * SALT_PER_CACO3 / G_L_PER_LB_FT3),
    Row("3350 gr/lb, g/g", 2.0896, 1e-3, "NSF/ANSI 44, trade press", "printed",
        lambda: GR_LB / 3350.0),
    Row("4000 gr/lb, g/g", 1.75, 1e-3, "California SB 1006, trade press", "printed",
        lambda: GR_LB / 4000.0),
    Row("5 gal/kgr, L/g", 0.2921, 1e-3, "NSF/ANSI 44, trade press", "printed",
        lambda: 5.0 * LITRE_PER_US_GALLON / (1000.0 * GRAM_PER_GRAIN)),
    Row("2.5 gal/kgr, L/g", 0.146, 1e-3, "Madison Metropolitan Sewerage District", "printed",
        lambda: 2.5 * LITRE_PER_US_GALLON / (1000.0 * GRAM_PER_GRAIN)),
    *(
        Row(f"{name}, {pounds} lb/ft3", value, 3e-3, source, "printed",
            printed_capacity(name, pounds))
        for name, source, points in (
            ("clean standard mesh", "Keller, Part 2, Table 3",
             ((5, 50.8), (10, 66.4), (15, 71.6))),
            ("clean fine mesh", "Keller, Part 2, Table 3", ((5, 54.7), (10, 72.1), (15, 77.8))),
            ("generic 2015", "Michaud 2015", ((5, 45.8), (8, 54.9), (12, 68.7))),
        )
        for pounds, value in points
    ),
    Row("kgr of hardness a pound removes", 2.9, 5e-3, "Keller, Part 2, Table 3", "printed",
        lambda: ladder(10.0 * G_L_PER_LB_FT3, "clean standard mesh") / G_L_PER_KGR_FT3 / 10.0),
    Row("12 lb/ft3 at 2500 gr/lb", 30_000.0, 1e-3, "Michaud 2015", "printed",
        lambda: ladder(12.0 * G_L_PER_LB_FT3, "generic 2015") / G_L_PER_KGR_FT3 * 1000.0),
    Row("logarithmic fit at 96.1 g/L", 44.98, 5e-3, "own least squares", "computed",
        lambda: capacity_by_fit_g_l(96.1)),
    Row("logarithmic fit at 160.2 g/L", 57.85, 5e-3, "own least squares", "computed",
        lambda: capacity_by_fit_g_l(160.2)),
    Row("a pound in a gallon, mg/L Na", 47_159.0, 1e-3, "Michaud 2002", "printed",
        lambda: GRAM_PER_POUND / LITRE_PER_US_GALLON * 1000.0 * molar_mass("Na")
        / molar_mass("NaCl")),
    Row("saturated brine, g/L", 316.3, 2e-3, "tables of brine", "memory",
        lambda: salt_laws.SATURATED_BRINE * 1198.0),
    Row("salt a gallon dissolves, lb", 2.99, 3e-3, "from 26.4 % by weight", "computed",
        lambda: salt_laws.salt_of_refill_kg(1.0, LITRE_PER_US_GALLON) * 1000.0 / GRAM_PER_POUND),
    Row("brine of 96.1 g/L, BV", 0.8975, 3e-3, "density from memory", "computed",
        lambda: regeneration.brine_bv(96.1)),
    Row("its time at 2 BV/h, min", 26.9, 5e-3, f"{DAVIS}, p. 8-19", "computed",
        lambda: regeneration.brine_bv(96.1) / regeneration.SLOWEST_BRINE_BV_H * 60.0),
    Row("sodium for 100 mg/L", 45.94, 1e-3, "molar masses", "computed",
        lambda: softener.sodium_added_mg_l(100.0)),
    Row("solids gained for 100 mg/L of calcium", 5.9, 1e-2, "molar masses", "computed",
        lambda: softener.sodium_added_mg_l(100.0) - 100.0 / caco3_per_mg("ca")),
    Row("iron as hardness", 1.792, 1e-3, "molar masses", "computed",
        lambda: caco3_per_mg("fe")),
    Row("manganese as hardness", 1.822, 1e-3, "molar masses", "computed",
        lambda: caco3_per_mg("mn")),
    Row("18 gpg and 1.5 mg/L iron at 2 gpg", 21.0, 1e-9, "open notes page, trade rule", "printed",
        lambda: 18.0 + softener.iron_allowance_mg_l_caco3(1.5, 2.0) / MG_L_CACO3_PER_GPG),
    Row("hardness 400 beside 1000 of cations", 450.0, 1e-9, "older bulletins", "memory",
        lambda: 400.0 / softener.derating_for_sodium(1000.0)),
]  # fmt: skip
EXAMPLES_OF_DAVIS = [
    Row("8-1, resin load, meq/L", 1008.0, 1e-3, f"{DAVIS}, Ex 8-1", "printed",
        lambda: separation_capacity_meq_l(1.4, 2.6, 0.53, 2.0)),
    Row("8-1, water over resin", 714.29, 1e-3, f"{DAVIS}, Ex 8-1", "printed",
        lambda: round(separation_capacity_meq_l(1.4, 2.6, 0.53, 2.0), -2) / 1.4),
    Row("8-2, dry resin, g", 3154.35, 1e-4, f"{DAVIS}, Ex 8-2", "printed",
        lambda: vessel_area_m2(0.075) * 1e4 * 150.0 * 0.85 * (1.0 - 0.44)),
    Row("8-3, capacity of a column, meq", 4.57e5, 2e-3, f"{DAVIS}, Ex 8-3", "printed",
        lambda: 1.37e6 / 3.0),
    Row("8-3, exhausted after, h", 8.0, 5e-3, f"{DAVIS}, Ex 8-3", "printed",
        lambda: 24.0 * softener.interval_d(4.57e5, 6.572 * 208.5 * 1000.0)),
    Row("8-3, breakthrough after, h", 5.4, 1e-2, f"{DAVIS}, Ex 8-3", "printed",
        lambda: 24.0 * 0.67 * softener.interval_d(4.57e5, 6.572 * 208.5 * 1000.0)),
    Row("8-4, area, m2", 0.67, 1e-2, f"{DAVIS}, Ex 8-4", "printed", lambda: 275.0 / 408.0),
    Row("8-4, diameter, m", 0.93, 5e-3, f"{DAVIS}, Ex 8-4", "printed",
        lambda: math.sqrt(275.0 / 408.0 / vessel_area_m2(1.0))),
    Row("8-4, bed, m3", 0.94, 5e-3, f"{DAVIS}, Ex 8-4", "printed", lambda: 750.0 / 800.0),
    Row("8-4, depth, m", 1.4, 1e-2, f"{DAVIS}, Ex 8-4", "printed", lambda: 0.94 / 0.67),
    Row("8-4, depth over diameter", 1.5, 5e-3, f"{DAVIS}, Ex 8-4", "printed",
        lambda: 1.4 / 0.93),
    Row("longest steps, min", 120.0, 0.0, f"{DAVIS}, Eq 8-23", "printed",
        lambda: regeneration.LONGEST_OUT_OF_SERVICE_MIN),
    Row("shortest steps, min", 50.0, 0.0, f"{DAVIS}, Eq 8-23", "printed",
        lambda: 5.0 + regeneration.CONTACT_MIN + 10.0 + 5.0),
]  # fmt: skip
RINSES = [
    Row("slow rinse, 7.5 gal/ft3", 1.0, 1e-2, UFC, "printed", lambda: 7.5 * BV_PER_GAL_FT3),
    Row("slow rinse, 22.5 gal/ft3", 3.01, 1e-2, UFC, "printed", lambda: 22.5 * BV_PER_GAL_FT3),
    Row("fast rinse, 35 gal/ft3", 4.68, 1e-2, UFC, "printed", lambda: 35.0 * BV_PER_GAL_FT3),
    Row("fast rinse, 100 gal/ft3", 13.4, 1e-2, UFC, "printed", lambda: 100.0 * BV_PER_GAL_FT3),
    Row("fast rinse, 1.5 gpm/ft3", 12.0, 1e-2, UFC, "printed", lambda: 1.5 * BV_H_PER_GPM_FT3),
    Row("35 gal/ft3 at 2 gpm/ft3, min", 17.5, 1e-3, UFC, "computed",
        lambda: 35.0 * BV_PER_GAL_FT3 / (2.0 * BV_H_PER_GPM_FT3) * 60.0),
    Row("100 gal/ft3 at 1.5 gpm/ft3, min", 66.7, 1e-3, UFC, "computed",
        lambda: 100.0 * BV_PER_GAL_FT3 / (1.5 * BV_H_PER_GPM_FT3) * 60.0),
    Row("2400 gal/ft3 over 80", 30.0, 1e-9, "Water Treatment Plant Design 4, p. 12.46", "printed",
        lambda: 1.0 / regeneration.waste_share_of_throughput(80.0, 1000.0, 2400.0)),
    Row("80 gal/ft3, BV", 10.69, 2e-3, "Water Treatment Plant Design 4, p. 12.46", "computed",
        lambda: regeneration.PUBLISHED_WASTE_BV),
]  # fmt: skip
LEAKAGE = [
    *(
        Row(f"C_T {cations} eq/L, Y {left}", value, 0.03 if value in {0.3, 1.9} else 5e-3,
            "Helfferich, K from memory", "computed", leak(cations, left))
        for cations, left, value in (
            (0.01, 0.2, 0.3), (0.02, 0.2, 1.2), (0.04, 0.2, 4.79), (0.08, 0.2, 19.1),
            (0.04, 0.1, 1.9), (0.04, 0.5, 29.9),
        )
    ),
    Row("twice the salinity", 4.0, 1e-2, "Helfferich, K from memory", "computed",
        lambda: leakage_mg_l_caco3(0.04, 0.2) / leakage_mg_l_caco3(0.02, 0.2)),
    Row("longest gap of two fixed weekdays", 4.0, 0.0, "calendar", "computed",
        lambda: float(max(b - a for a, b in zip(nights_of(4.0), (*nights_of(4.0)[1:], 7),
                                                strict=True)))),
    Row("the setting it is called by", 2.0, 0.0, "calendar", "computed",
        lambda: dict(SETTINGS)[4.0]),
]  # fmt: skip
EXAMPLE_1 = [
    Row("water of a day, m3", 35.71, 1e-3, OWN, "computed", lambda: 1.488 * 24.0),
    Row("load, kg/d", 12.5, 1e-3, OWN, "computed",
        lambda: softener.load_kg_caco3_d(1.488 * 24.0, 350.0)),
    Row("resin at 45.77 g/L", 341.4, 1e-3, OWN, "computed",
        lambda: softener.volume_for_interval_l(12.5, 1.0, 45.77, reserve=0.2)),
    Row("its salt, kg", 32.8, 2e-3, OWN, "computed", lambda: 341.4 * 96.11 / 1000.0),
    Row("resin at 57.2 g/L", 273.2, 2e-3, OWN, "computed",
        lambda: softener.volume_for_interval_l(12.5, 1.0, ladder(10 * G_L_PER_LB_FT3),
                                               reserve=0.2)),
    Row("waste over throughput", 0.0818, 3e-3, OWN, "computed",
        lambda: regeneration.waste_share_of_throughput(10.7, 350.0, 45.77)),
    Row("chloride of the waste", 5449.0, 3e-3, OWN, "computed",
        lambda: regeneration.waste_composition(45.77, 96.11, 10.7).chloride_mg_l),
    Row("hardness of the waste", 4277.0, 3e-3, OWN, "computed",
        lambda: regeneration.waste_composition(45.77, 96.11, 10.7).hardness_mg_l_caco3),
]  # fmt: skip
OXIDATION = [
    *(
        Row(f"{oxidant} for {reduced}", value, 1e-3, STOICHIOMETRY, "computed",
            per_mg(reduced, oxidant))
        for reduced, oxidant, value in (
            ("fe", "permanganate", 0.943), ("mn", "permanganate", 1.918),
            ("fe", "chlorine", 0.635), ("mn", "chlorine", 1.291), ("fe", "air", 0.1432),
            ("mn", "air", 0.2912), ("h2s", "permanganate", 3.091),
            ("h2s_sulfate", "permanganate", 12.37), ("h2s", "chlorine", 2.081),
            ("h2s_sulfate", "chlorine", 8.322), ("h2s", "air", 0.4694),
        )
    ),
    *(
        Row(f"alkalinity used, {reduced} by {oxidant}", value, 1e-3, STOICHIOMETRY, "computed",
            lambda reduced=reduced, oxidant=oxidant: alkalinity_per_mg(reduced, oxidant))
        for reduced, oxidant, value in (
            ("fe", "permanganate", 1.494), ("mn", "permanganate", 1.215), ("fe", "air", 1.792),
            ("fe", "chlorine", 2.688), ("mn", "chlorine", 3.644),
        )
    ),
    Row("solids of iron", 2.433, 1e-3, STOICHIOMETRY, "computed",
        lambda: solids_per_mg("fe", "permanganate")),
    Row("solids of manganese", 2.637, 1e-3, STOICHIOMETRY, "computed",
        lambda: solids_per_mg("mn", "permanganate")),
    Row("moles for a mole of manganese", 0.667, 1e-3, "jar tests of surface water: 0.67 to 0.84",
        "printed", lambda: oxidant_per_mg("mn", "permanganate") * molar_mass("Mn")
        / molar_mass("KMnO4")),
    Row("permanganate by the rule", 1.9, 1e-3, "trade rule", "memory",
        lambda: permanganate_rule_mg_l(1.5, 0.2, 0.0)),
    Row("permanganate by stoichiometry", 1.798, 1e-3, STOICHIOMETRY, "computed",
        lambda: oxidant_demand_mg_l(
            (1.5, 0.2), [oxidant_per_mg(ion, "permanganate") for ion in ("fe", "mn")])),
]  # fmt: skip
FILTERS = [
    Row("greensand at 3 gpm/ft2", 7.33, 2e-3, "OAC 252:626-9-7 (TSS)", "printed",
        lambda: GREENSAND["service_max_m_h"]),
    Row("the same, converted", 7.33, 2e-3, "OAC 252:626-9-7 (TSS)", "printed", gpm_ft2(3)),
    Row("backwash at 8 gpm/ft2", 19.6, 5e-3, "OAC 252:626-9-7; NR 811.52", "printed", gpm_ft2(8)),
    Row("backwash at 10 gpm/ft2", 24.4, 5e-3, "NR 811.52(3)(d)", "printed",
        lambda: GREENSAND["backwash_code_m_h"]),
    Row("coated media at 15 gpm/ft2", 36.7, 5e-3, "NR 811.52(3)(d)", "printed",
        lambda: media()["manganese dioxide coated sand"]["backwash_code_m_h"]),
    Row("coated media at 20 gpm/ft2", 48.9, 5e-3, "NR 811.52(3)(d)", "printed", gpm_ft2(20)),
    Row("anthracite cap of 6 in", 0.152, 0.02, "OAC 252:626-9-7 (TSS)", "printed",
        lambda: ANTHRACITE_CAP_M),
    Row("detention, min", 30.0, 0.0, "OAC 252:626-9-7 (TSS)", "printed", limit("detention")),
    Row("coated media, fastest", 24.4, 5e-3, "Public Water Systems, Table 14-1", "printed",
        gpm_ft2(10)),
    Row("ore, fastest", 36.7, 5e-3, "Public Water Systems, Table 14-1", "printed", gpm_ft2(15)),
    Row("ore, slow end of its range", 12.2, 5e-3, "Public Water Systems, Table 14-1", "printed",
        lambda: media()["manganese dioxide ore"]["service_max_m_h"]),
    Row("contactor, slow end", 29.3, 5e-3, "Opflow, December 2021, p. 19", "printed", gpm_ft2(12)),
    Row("iron a litre takes, g", 1.337, 3e-3, "10 000 mg/L x gal per ft3", "memory",
        lambda: GREENSAND["iron_capacity_g_l"]),
    Row("manganese a litre takes, g", 0.668, 4e-3, "5 000 mg/L x gal per ft3", "memory",
        lambda: GREENSAND["manganese_capacity_g_l"]),
    Row("iron capacity as permanganate", 1.261, 4e-3, "stoichiometry on memory", "computed",
        lambda: GREENSAND["iron_capacity_g_l"] * oxidant_per_mg("fe", "permanganate")),
    Row("manganese capacity as permanganate", 1.282, 4e-3, "stoichiometry on memory", "computed",
        lambda: GREENSAND["manganese_capacity_g_l"] * oxidant_per_mg("mn", "permanganate")),
    Row("2 oz/ft3, g/L", 2.0, 2e-3, "trade rule", "memory",
        lambda: 2.0 * GRAM_PER_POUND / 16.0 / LITRE_PER_CUBIC_FOOT),
    Row("500 gr/ft2, the low end", 349.0, 1e-3, "McPeak and Aronovitch 1983", "memory",
        lambda: GREENSAND["solids_limit_g_m2"]),
    Row("700 gr/ft2, the high end", 488.0, 1e-3, "McPeak and Aronovitch 1983", "memory",
        lambda: 700.0 * GR_FT2),
    Row("that as oxide, kg/m2", 1.19, 5e-3, "2.433 times", "computed",
        lambda: 0.488 * solids_per_mg("fe", "permanganate")),
    Row("1 lb/ft2, several layers", 4.88, 1e-3, "Liu and Liptak, Table 7.33.2", "printed",
        lambda: GRAM_PER_POUND / FT2 / 1000.0),
    Row("run of a 21 in tank, h", 27.6, 5e-3, OWN, "computed",
        lambda: solids_run_h(349.0, vessel_area_m2(21 * INCH), 1.488, W2_LOAD.solids_mg_l)),
    Row("its rate, m/h", 6.7, 1e-2, OWN, "computed",
        lambda: filtration_rate_m_h(1.488, vessel_area_m2(21 * INCH))),
    Row("its oxidation run at 0.76 m, h", 81.0, 1e-2, OWN, "computed",
        lambda: oxidation_run_h(vessel_area_m2(21 * INCH) * 760.0, 1.488,
                                W2_LOAD.oxidation_l_m3(GREENSAND))),
    Row("its backwash, m3/h", 5.46, 5e-3, OWN, "computed",
        lambda: GREENSAND["backwash_code_m_h"] * vessel_area_m2(21 * INCH)),
    Row("its water of 10 min, m3", 0.911, 5e-3, OWN, "computed",
        lambda: GREENSAND["backwash_code_m_h"] * vessel_area_m2(21 * INCH) / 6.0),
    Row("secondary limit, iron", 0.3, 0.0, "USDA Forest Service TechTip 1999", "printed",
        limit("drinking_iron")),
    Row("secondary limit, manganese", 0.05, 0.0, "USDA Forest Service TechTip 1999", "printed",
        limit("drinking_manganese")),
    Row("chlorine for carbon, g/g", 11.81, 1e-3, "stoichiometry", "computed",
        lambda: carbon.THEORETICAL_CL2_PER_C),
    Row("days of 100 L of carbon", 672.0, 2e-3, f"{OWN}; 1 g/g common practice", "computed",
        lambda: carbon.chlorine_life_d(100.0, 1.488 * 24.0, 1.0)),
    Row("contact of 141.6 L, min", 5.71, 2e-3, OWN, "computed",
        lambda: carbon.contact_time_min(141.6, 1.488)),
    Row("ten half-depths", 0.000977, 1e-3, "definition behind DIN 19603", "computed",
        lambda: carbon.passing_share(10.0, 1.0)),
    Row("index of 30 s and 45 s", 2.22, 2e-3, "ASTM D4189", "computed",
        lambda: silt_density_index(30.0, 45.0)),
    Row("highest index", 6.67, 1e-3, "ASTM D4189", "computed",
        lambda: silt_density_index(1.0, 1e9)),
    Row("three layers, rate", 15.0, 0.0, f"{DAVIS}, Table 11-10", "printed",
        lambda: media()["multimedia"]["service_max_m_h"]),
    Row("three layers, backwash up to", 45.0, 0.0, f"{DAVIS}, Table 11-10", "printed",
        lambda: media()["multimedia"]["backwash_code_high_m_h"]),
    Row("three layers, backwash from", 37.0, 0.0, f"{DAVIS}, Table 11-10", "printed",
        lambda: media()["multimedia"]["backwash_code_m_h"]),
]  # fmt: skip
HYDRAULICS = [
    *(
        Row(f"sand of {size} mm lifts at {temp} °C", value, rel, f"{HEN}, Table 12.9", "printed",
            lifted(size, temp))
        for size, temp, value, rel in (
            (2.0, 25.0, 87.5, 0.04), (2.0, 40.0, 97.6, 0.03), (1.4, 25.0, 57.2, 0.04),
            (1.4, 40.0, 67.3, 0.03), (1.0, 25.0, 34.2, 0.04), (1.0, 40.0, 42.8, 0.03),
            (0.6, 25.0, 13.3, 0.04), (0.6, 40.0, 18.0, 0.03),
        )
    ),
    Row("Corning sand lifts at", 20.1, 0.015, f"{HEN}, p. 367", "printed",
        lambda: fluidisation_velocity_amirtharajah_m_h(CORNING, 20.0)),
    Row("its porosity at 30 m/h", 0.46, 5e-3, f"{HEN}, Eq 12.53", "computed",
        lambda: expanded_porosity(CORNING, 30.0, 20.0)),
    Row("its growth", 0.098, 1e-2, f"{HEN}, Eq 12.55", "computed", grows(CORNING, 30.0, 20.0)),
    Row("its weight in water, m", 0.45, 5e-3, "buoyant weight", "computed",
        lambda: fluidised_head_loss_m(CORNING, 0.457, 20.0)),
    Row("Rose, m", 0.76, 5e-3, f"{DAVIS}, Ex 11-2, sum from a damaged copy", "printed",
        lambda: rose_head_loss_m(0.0025, 0.5, 0.45, shape=0.82, drag_sum_per_m=75_025.0)),
    *(
        Row(f"growth at {velocity} m/h, {temp} °C, {grains.size_mm} mm", value, 1e-2,
            f"{HEN}, Eq 12.53 and 12.55", "computed", grows(grains, velocity, temp))
        for grains, velocity, temp, value in (
            (RESIN.settled, 14.67, 20.0, 0.515), (RESIN.settled, 14.67, 10.0, 0.635),
            (RESIN.settled, 19.56, 20.0, 0.697), (RESIN.settled, 14.67, 5.0, 0.716),
            (GREENSAND.settled, 29.34, 12.8, 0.442), (GAC.settled, 25.0, 10.0, 0.228),
        )
    ),
    *(
        Row(f"resin bed at {velocity} m/h, {temp} °C, kPa", value, 5e-3, "Ergun 1952", "computed",
            ergun(velocity, temp))
        for velocity, temp, value in (
            (17.1, 20.0, 12.8), (17.1, 10.0, 16.5), (36.7, 10.0, 37.1), (7.3, 20.0, 5.29),
        )
    ),
    Row("sand bed, m water", 0.414, 5e-3, f"form of {DAVIS}, Table 11-2; k from memory",
        "computed", sand_loss_m),
    Row("viscosity at 10 °C", 1.307, 1e-3, "property tables", "computed",
        lambda: viscosity_pa_s(10.0) * 1000.0),
]  # fmt: skip
LIFE_AND_STORAGE = [
    Row("loss at which resin is replaced, %", 25.0, 0.0, f"{UFC}.4.4", "printed",
        lambda: wear()["softener_loss_allowed"].likely),
    Row("years at 5 % a year", 5.0, 1e-3, f"{UFC}.4", "printed",
        lambda: capacity_loss_years(5.0)),
    Row("years at 1 % a year", 25.0, 1e-3, f"{UFC}.4", "printed",
        lambda: capacity_loss_years(1.0)),
    Row("years at 5 %, compounded", 5.61, 2e-3, f"{UFC}.4", "computed",
        lambda: compounded_loss_years(5.0)),
    Row("average life, 8 to 10 years", 9.0, 0.11, f"{UFC}.4", "printed",
        lambda: softener_lives(SoftenerDuty(0.0, 0.0, 100.0, 0.0, 0.0, 0.0))["capacity"]),
    Row("cycles that wear resin out, at the least: 3 years daily", 1095.0, 1e-9, "arithmetic",
        "computed", lambda: wear()["softener_cycles"].low),
    Row("cycles of 10 years twice a week", 1040.0, 1e-9, "arithmetic", "computed",
        lambda: settings_per_week(4.0) * 52.0 * 10.0),
    Row("years of those cycles daily", 3.0, 1e-9, "arithmetic", "computed",
        lambda: softener_lives(SoftenerDuty(365.0, 0.0, 100.0, 0.0, 0.0, 0.0), "low")["cycles"]),
    *(
        Row(f"area of {inches} in", value, 1e-3, "geometry", "computed",
            lambda inches=inches: vessel_area_m2(inches * INCH))
        for inches, value in (
            (13, 0.0856), (16, 0.1297), (18, 0.1642), (21, 0.2235), (24, 0.2919), (30, 0.456),
            (36, 0.6567),
        )
    ),
    Row("24 in by the quick rule, ft2", 3.14, 3e-3, "Wirth 2014", "printed",
        lambda: quick_area_ft2(24.0)),
    Row("hours of a day with 4 h of care", 20.0, 1e-9, "US Army QM5204", "printed",
        lambda: 30.0 / laws.production_rate_m3_h(30.0, 4.0)),
    Row("30 m3/d in them, m3/h", 1.5, 1e-3, "US Army QM5204", "computed",
        lambda: laws.production_rate_m3_h(30.0, 4.0)),
    Row("30 m3/d with 2 h down", 1.3636, 1e-3, "arithmetic", "computed",
        lambda: laws.production_rate_m3_h(30.0, 2.0)),
    Row("store for 3 h of 30 m3/d", 3.75, 1e-3, "arithmetic", "computed",
        lambda: storage_laws.storage_for_outage_m3(30.0, 3.0)),
    Row("store for 2 d of 25 m3/d", 50.0, 1e-9, "TM 5-813-8, 2-2a", "computed",
        lambda: storage_laws.storage_for_outage_m3(25.0, 48.0)),
    Row("pump, W", 910.0, 5e-3, "arithmetic", "computed",
        lambda: pump_laws.pump_shaft_power_w(6.55, 2.5, 0.5)),
]  # fmt: skip

ROWS = [
    *UNITS, *CODES, *SALT, *EXAMPLES_OF_DAVIS, *RINSES, *LEAKAGE, *EXAMPLE_1, *OXIDATION,
    *FILTERS, *HYDRAULICS, *LIFE_AND_STORAGE,
]  # fmt: skip


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.what}; {row.source}"[:70])
def test_figure_from_outside(row):
    assert row.found() == pytest.approx(row.expected, rel=row.rel, abs=0.0), row.source


def test_every_row_says_where_it_comes_from():
    kinds = {"printed", "database", "computed", "memory", "common practice"}
    assert all(row.source and row.evidence in kinds for row in ROWS)
