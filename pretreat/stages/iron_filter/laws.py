"""The iron and manganese filter: rate, the two limits of a run, and what it may be given."""

from dataclasses import dataclass

from pretreat.core.basis import Flag, cites
from pretreat.core.errors import OutOfRangeError
from pretreat.core.units import molar_mass
from pretreat.stages.bed.media import Medium
from pretreat.stages.limits import train_limits
from pretreat.stages.softener.laws import caco3_per_mg

MANGANESE_WEIGHT = 2.0  # MCPEAK1983: solids are counted as Fe + 2 Mn
BACKWASH_MIN = 10.0  # MEMORY: 10 to 15 min
DRAW_MIN = 30.0  # MEMORY: permanganate draw and displacement
DRAW_BV = 1.0  # PRACTICE: about one bed volume of solution and displacement
RINSE_MIN = 20.0  # MEMORY: 15 to 30 min, until no pink shows
SHORT_RINSE_MIN = 5.0  # PRACTICE: after a backwash without permanganate
SULFUR_PER_H2S = molar_mass("S") / molar_mass("H2S")  # STOICHIOMETRY: oxidised to sulfur
MUCH_PERMANGANATE = 3.0  # PRACTICE: above three times the need the dose is worth a look
ANTHRACITE_CAP_M = 0.15  # TSS (OAC 252:626-9-7): at least 6 in above the greensand


@dataclass(frozen=True, slots=True)
class FilterLoad:
    """What a filter holds back: totals for the solids, dissolved for the oxidation [mg/L]."""

    iron_total_mg_l: float
    manganese_total_mg_l: float
    iron_dissolved_mg_l: float
    manganese_dissolved_mg_l: float
    h2s_mg_l: float = 0.0


def filtration_rate_m_h(flow_m3_h: float, area_m2: float) -> float:
    """Return the velocity of filtration.

    Parameters
    ----------
    flow_m3_h : float
        Flow while running. [m³/h]
    area_m2 : float
        Area of the bed, above 0. [m²]

    Returns
    -------
    float
        Velocity. [m/h]
    """
    return flow_m3_h / area_m2


@cites("MCPEAK1983", "solids counted as Fe + 2 Mn")
def solids_load_mg_l(load: FilterLoad) -> float:
    """Return the load of solids, counted as iron plus twice the manganese.

    Where hydrogen sulfide makes more sulfur than that, the sulfur counts instead.

    Parameters
    ----------
    load : FilterLoad
        What the filter holds back. [-]

    Returns
    -------
    float
        Total iron + 2 x total manganese. [mg/L]
    """
    metals = load.iron_total_mg_l + MANGANESE_WEIGHT * load.manganese_total_mg_l
    return max(metals, load.h2s_mg_l * SULFUR_PER_H2S)


@cites("MCPEAK1983", "500 to 700 grains/ft2, from memory")
def solids_run_h(limit_g_m2: float, area_m2: float, flow_m3_h: float, solids_mg_l: float) -> float:
    """Return the running hours until the bed is clogged.

    Parameters
    ----------
    limit_g_m2 : float
        Solids the bed holds, as Fe + 2 Mn. [g/m²]
    area_m2 : float
        Area of the bed. [m²]
    flow_m3_h : float
        Flow while running. [m³/h]
    solids_mg_l : float
        Load of solids, as Fe + 2 Mn. [mg/L]

    Returns
    -------
    float
        Run. [h]

    Raises
    ------
    OutOfRangeError
        If there is nothing to hold back.
    """
    if not (solids_mg_l > 0 and flow_m3_h > 0 and area_m2 > 0):
        raise OutOfRangeError(
            f"iron filter with {flow_m3_h:g} m3/h, {area_m2:g} m2 and {solids_mg_l:g} mg/L: flow, "
            "area and iron or manganese must be above 0, else leave it out (include = false)"
        )
    return limit_g_m2 * area_m2 / (flow_m3_h * solids_mg_l)


@cites("MEMORY", "10 000, 5 000 and 2 000 to 3 000 mg/L x gal per ft3 for Fe, Mn, H2S")
def oxidation_load_l_m3(load: FilterLoad, medium: Medium) -> float:
    """Return the medium that a cubic metre of water uses up.

    Parameters
    ----------
    load : FilterLoad
        What the filter holds back. [-]
    medium : Medium
        A medium that is regenerated from time to time. [-]

    Returns
    -------
    float
        Sum of concentration over capacity. [L/m³]

    Raises
    ------
    OutOfRangeError
        If the medium has no such capacity.
    """
    iron = medium.get("iron_capacity_g_l")
    if iron is None:
        raise OutOfRangeError(
            f"{medium.name} stores no oxidation capacity: use manganese greensand, or "
            'regeneration = "continuous"'
        )
    return (
        load.iron_dissolved_mg_l / iron
        + load.manganese_dissolved_mg_l / medium["manganese_capacity_g_l"]
        + load.h2s_mg_l / medium["sulfide_capacity_g_l"]
    )


@cites("MEMORY", "capacities taken together")
def oxidation_run_h(volume_l: float, flow_m3_h: float, load_l_m3: float) -> float:
    """Return the running hours until the oxidation capacity is used up.

    Parameters
    ----------
    volume_l : float
        Medium. [L]
    flow_m3_h : float
        Flow while running. [m³/h]
    load_l_m3 : float
        Medium used up per cubic metre, above 0. [L/m³]

    Returns
    -------
    float
        Run. [h]
    """
    return volume_l / (flow_m3_h * load_l_m3)


def interval_with_all_water_d(interval_d: float, feed_m3_d: float, extra_m3_d: float) -> float:
    """Return the interval when other water also passes the filter.

    Parameters
    ----------
    interval_d : float
        Interval on the membrane feed alone. [d]
    feed_m3_d : float
        Membrane feed. [m³/d]
    extra_m3_d : float
        Water for the regenerations of the softener. [m³/d]

    Returns
    -------
    float
        Interval. [d]
    """
    return interval_d * feed_m3_d / (feed_m3_d + extra_m3_d)


@cites("EUROCODE", "10 mg/L Fe, 6 mg/L Fe + Mn, pH at least 6.7")
def check_filter_water(
    load: FilterLoad, ph: float | None, medium: Medium, oxidant: str = "permanganate"
) -> tuple[Flag, ...]:
    """Judge whether the medium can take the water.

    Parameters
    ----------
    load : FilterLoad
        What the filter holds back. [-]
    ph : float or None
        pH of the water, None where it is not known. [-]
    medium : Medium
        The medium. [-]
    oxidant : str
        "permanganate", "chlorine" or "air". [-]

    Returns
    -------
    tuple of Flag
        What to mind. [-]

    Raises
    ------
    OutOfRangeError
        If there is more iron than the medium takes.
    """
    limits = train_limits()
    iron, manganese = load.iron_total_mg_l, load.manganese_total_mg_l
    most = limits["filter_iron_refuse"].value
    if iron > most:
        raise OutOfRangeError(
            f"iron is {iron:g} mg/L; {medium.name} takes up to {most:g} mg/L (EUROCODE): aerate "
            "and settle or filter ahead, or choose another process"
        )
    flags = []
    together = limits["filter_sum_flag"].value
    if iron + manganese > together:
        flags.append(
            Flag(
                "iron_manganese_high",
                "warning",
                f"iron and manganese are {iron + manganese:.2g} mg/L together; the printed limit "
                f"for {medium.name} is {together:g} mg/L: pilot first, or oxidise and settle ahead",
            )
        )
    left = limits["filter_manganese_left"].value
    if oxidant == "air" and manganese > left:
        flags.append(
            Flag(
                "air_leaves_manganese",
                "warning",
                f"air alone hardly oxidises manganese ({manganese:.2g} mg/L) below pH 9.5 (from "
                "memory): feed permanganate or chlorine",
            )
        )
    return (*flags, *_ph_flags(ph, manganese, medium))


def _ph_flags(ph: float | None, manganese_mg_l: float, medium: Medium) -> tuple[Flag, ...]:
    if ph is None:
        text = f"pH is not known; {medium.name} works from pH {medium['ph_min']:g} to "
        return (
            Flag("ph_unknown", "caution", text + f"{medium['ph_max']:g}: measure it before buying"),
        )
    flags, limits = [], train_limits()
    if not medium["ph_min"] <= ph <= medium["ph_max"]:
        flags.append(
            Flag(
                "ph_outside_window",
                "warning",
                f"pH is {ph:.2f}; {medium.name} works from pH {medium['ph_min']:g} to "
                f"{medium['ph_max']:g}: correct the pH ahead of the filter",
            )
        )
    lowest = limits["manganese_ph"].value
    if ph < lowest and manganese_mg_l > limits["filter_manganese_left"].value:
        flags.append(
            Flag(
                "manganese_ph_low",
                "warning",
                f"pH is {ph:.2f}; manganese is removed from about pH {lowest:g} on (from memory): "
                f"expect the {manganese_mg_l:.2g} mg/L to pass. The softener is then loaded with "
                f"{manganese_mg_l * caco3_per_mg('mn'):.2g} mg/L as CaCO3 more than shown, most "
                f"codes refuse {limits['softener_iron_refuse'].value:g} mg/L of iron and manganese "
                "onto resin, and what passes fouls the membranes: pH correction ahead of the "
                "filter is missing",
            )
        )
    return tuple(flags)
