"""The iron and manganese filter: the two limits of a run, its waste, what it may be given."""

from collections.abc import Sequence

from msgspec import Struct

from pretreat.core.basis import Flag, cites
from pretreat.core.equivalents import caco3_per_mg
from pretreat.core.errors import OutOfRangeError
from pretreat.core.law import Number, law, least, most, valid, whole_up
from pretreat.core.units import molar_mass
from pretreat.stages.bed.media import Medium
from pretreat.stages.filters import LITRES_PER_M3, MINUTES_PER_HOUR, backwash_waste_m3
from pretreat.stages.limits import train_limits

MANGANESE_WEIGHT = 2.0  # MCPEAK1983: solids are counted as Fe + 2 Mn
BACKWASH_MIN = 10.0  # MEMORY: 10 to 15 min
DRAW_MIN = 30.0  # MEMORY: permanganate draw and displacement
DRAW_BV = 1.0  # PRACTICE: about one bed volume of solution and displacement
RINSE_MIN = 20.0  # MEMORY: 15 to 30 min, until no pink shows
RINSE_LEAST_BV = 3.0  # PRACTICE: pink water is displaced, and the medium rinsed
MEDIUM_PER_VESSEL = 0.5  # PRACTICE: medium fills 50 to 60 % of a vessel
SHORT_RINSE_MIN = 5.0  # PRACTICE: after a backwash without permanganate
SULFUR_PER_H2S = molar_mass("S") / molar_mass("H2S")  # STOICHIOMETRY: oxidised to sulfur
MUCH_PERMANGANATE = 3.0  # PRACTICE: above three times the need the dose is worth a look
ANTHRACITE_CAP_M = 0.15  # TSS (OAC 252:626-9-7): at least 6 in above the greensand


class FilterLoad(Struct, frozen=True):
    """What a filter holds back: totals for the solids, dissolved for the oxidation [mg/L]."""

    iron_total_mg_l: float
    manganese_total_mg_l: float
    iron_dissolved_mg_l: float
    manganese_dissolved_mg_l: float
    h2s_mg_l: float = 0.0

    @property
    def solids_mg_l(self) -> float:
        """Load of solids, counted as iron plus twice the manganese, in mg/L."""
        totals = self.iron_total_mg_l, self.manganese_total_mg_l
        return float(solids_load_mg_l(*totals, self.h2s_mg_l))

    def oxidation_l_m3(self, medium: Medium) -> float:
        """Return the medium that a cubic metre uses up [L/m3]; refuse one that stores nothing."""
        if medium.get("iron_capacity_g_l") is None:
            raise OutOfRangeError(
                f"{medium.name} stores no oxidation capacity: use manganese greensand, or "
                'regeneration = "continuous"'
            )
        dissolved = self.iron_dissolved_mg_l, self.manganese_dissolved_mg_l, self.h2s_mg_l
        capacities = [medium[f"{name}_capacity_g_l"] for name in ("iron", "manganese", "sulfide")]
        return float(oxidation_load_l_m3(dissolved, capacities))


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


@law
@cites("MCPEAK1983", "solids counted as Fe + 2 Mn")
@valid(iron_total_mg_l=[0, None], manganese_total_mg_l=[0, None])
def metal_solids_mg_l(iron_total_mg_l: Number, manganese_total_mg_l: Number) -> Number:
    """Load of solids = total iron + 2 x total manganese.

    Worked by hand: 1.5 mg/L iron and 0.25 mg/L manganese.

    >>> metal_solids_mg_l(1.5, 0.25)
    2.0
    """
    return iron_total_mg_l + MANGANESE_WEIGHT * manganese_total_mg_l


@law
@cites("MCPEAK1983", "solids counted as Fe + 2 Mn")
@cites("STOICHIOMETRY", "hydrogen sulfide oxidised to sulfur")
@valid(iron_total_mg_l=[0, None], manganese_total_mg_l=[0, None], h2s_mg_l=[0, None])
def solids_load_mg_l(
    iron_total_mg_l: Number, manganese_total_mg_l: Number, h2s_mg_l: Number
) -> Number:
    """Load of solids = total iron + 2 x total manganese, or the sulfur of the sulfide if more.

    Worked by hand: 3.408 mg/L hydrogen sulfide (34.08 g/mol) hold 3.206 mg/L sulfur (32.06).

    >>> round(solids_load_mg_l(1.5, 0.25, 3.408), 3)
    3.206
    """
    return most(metal_solids_mg_l(iron_total_mg_l, manganese_total_mg_l), h2s_mg_l * SULFUR_PER_H2S)


@law
def sulfide_mg_l(h2s_mg_l: Number) -> Number:
    """Hydrogen sulfide onto the filter = that of the well, none is lost on the way.

    Common practice, no source: 2 mg/L stay 2 mg/L.

    >>> sulfide_mg_l(2.0)
    2.0
    """
    return +h2s_mg_l


@law
def metal_left_mg_l(left_set_mg_l: Number, total_mg_l: Number) -> Number:
    """Metal behind the filter = what a filter in good order leaves, never above the feed.

    Worked by hand: a filter that leaves 0.1 mg/L leaves 0.05 mg/L where no more comes.

    >>> metal_left_mg_l(0.1, 0.05)
    0.05
    """
    return least(left_set_mg_l, total_mg_l)


@law
@cites("MCPEAK1983", "500 to 700 grains/ft2, from memory")
@valid(area_m2=(0, None), flow_m3_h=(0, None), solids_load_mg_l=(0, None))
def solids_run_h(
    solids_limit_g_m2: Number, area_m2: Number, flow_m3_h: Number, solids_load_mg_l: Number
) -> Number:
    """Hours until clogged = solids the bed holds x area / (flow x load of solids).

    Worked by hand: 300 g/m2 on 0.2 m2 are 60 g; 1.5 m3/h with 2 mg/L bring 3 g/h.

    >>> solids_run_h(300.0, 0.2, 1.5, 2.0)
    20.0
    """
    return solids_limit_g_m2 * area_m2 / (flow_m3_h * solids_load_mg_l)


@law
@cites("MEMORY", "10 000, 5 000 and 2 000 to 3 000 mg/L x gal per ft3 for Fe, Mn, H2S")
@valid(dissolved_mg_l=[0, None], capacities_g_l=(0, None))
def oxidation_load_l_m3(
    dissolved_mg_l: Sequence[Number], capacities_g_l: Sequence[Number]
) -> Number:
    """Medium that a cubic metre of water uses up = sum of concentration / capacity.

    Worked by hand: 1.5 mg/L iron on 1.5 g/L and 0.25 mg/L manganese on 0.5 g/L use 1.5 L.

    >>> oxidation_load_l_m3((1.5, 0.25), (1.5, 0.5))
    1.5
    """
    return sum(c / held for c, held in zip(dissolved_mg_l, capacities_g_l, strict=True))


@law
@cites("MEMORY", "capacities taken together")
@valid(volume_l=[0, None], flow_m3_h=(0, None), oxidation_load_l_m3=(0, None))
def oxidation_run_h(volume_l: Number, flow_m3_h: Number, oxidation_load_l_m3: Number) -> Number:
    """Hours until exhausted = medium / (flow x medium that a cubic metre uses up).

    Worked by hand: 150 L at 1.5 m3/h and 2 L/m3.

    >>> oxidation_run_h(150.0, 1.5, 2.0)
    50.0
    """
    return volume_l / (flow_m3_h * oxidation_load_l_m3)


@law
@valid(running_hours_per_day="(0, 24]")
def interval_d(run_h: Number, running_hours_per_day: Number) -> Number:
    """Interval on the membrane feed alone = running time of a run / running time of a day.

    Worked by hand: a run of 30 hours at 20 hours a day.

    >>> interval_d(30.0, 20.0)
    1.5
    """
    return run_h / running_hours_per_day


@law
@valid(running_hours_per_day="(0, 24]")
def shorter_interval_d(
    solids_run_h: Number, oxidation_run_h: Number, running_hours_per_day: Number
) -> Number:
    """Interval of the shorter run: the bed clogs or the medium is exhausted.

    Worked by hand: clogged after 30 hours, exhausted after 50, at 20 hours a day.

    >>> shorter_interval_d(30.0, 50.0, 20.0)
    1.5
    """
    return interval_d(least(solids_run_h, oxidation_run_h), running_hours_per_day)


@law
@valid(feed_m3_d=(0, None), extra_m3_d=[0, None])
def interval_with_all_water_d(interval_d: Number, feed_m3_d: Number, extra_m3_d: Number) -> Number:
    """Interval when other water also passes = interval x feed / (feed + other water).

    Worked by hand: 3 d on 40 m3/d; 20 m3/d more make it 2 d.

    >>> interval_with_all_water_d(3.0, 40.0, 20.0)
    2.0
    """
    return interval_d * feed_m3_d / (feed_m3_d + extra_m3_d)


@law
def governing_interval_d(interval_d: Number, interval_all_water_d: Number) -> Number:
    """Interval that the programme obeys = the smaller one.

    Worked by hand: 3 d on the feed alone, 2 d with all water.

    >>> governing_interval_d(3.0, 2.0)
    2.0
    """
    return least(interval_d, interval_all_water_d)


@law
@valid(detention_min=[0, None], flow_m3_h=[0, None])
def detention_m3(flow_m3_h: Number, detention_min: Number) -> Number:
    """Volume between oxidant and filter = flow x detention.

    Worked by hand: 1.5 m3/h for 20 minutes.

    >>> detention_m3(1.5, 20.0)
    0.5
    """
    return flow_m3_h * detention_min / MINUTES_PER_HOUR


@law
def regeneration_min(backwash_min: Number, draw_min: Number, rinse_min: Number) -> Number:
    """Time out of service = backwash + draw + rinse.

    Worked by hand: 10, 30 and 20 minutes.

    >>> regeneration_min(10.0, 30.0, 20.0)
    60.0
    """
    return backwash_min + draw_min + rinse_min


@law
@valid(area_m2=(0, None), vessel_height_m=(0, None))
def vessel_volume_l(area_m2: Number, vessel_height_m: Number) -> Number:
    """Volume of a vessel = area x height, heads counted as full: on the safe side for a rinse.

    Worked by hand: a quarter of a square metre, 1.6 m high.

    >>> vessel_volume_l(0.25, 1.6)
    400.0
    """
    return area_m2 * vessel_height_m * LITRES_PER_M3


@law
@cites("PRACTICE", "medium fills 50 to 60 % of a vessel")
def vessel_volume_of_medium_l(volume_l: Number) -> Number:
    """Volume of a vessel of unknown height = twice its medium.

    >>> vessel_volume_of_medium_l(200.0)
    400.0
    """
    return volume_l / MEDIUM_PER_VESSEL


@law
@cites("PRACTICE", "15 to 30 min, until no pink shows; three bed volumes and the vessel's water")
@valid(flow_m3_h=(0, None))
def rinse_min(
    usual_min: Number,
    least_bv: Number,
    volume_l: Number,
    vessel_volume_l: Number,
    flow_m3_h: Number,
) -> Number:
    """Rinse = the longest of usual time, bed volumes / flow and vessel volume / flow.

    In whole minutes, as it is keyed in. Worked by hand: 3 x 200 L at 1.2 m3/h take 30 min, a
    vessel of 400 L takes 20.

    >>> rinse_min(20.0, 3.0, 200.0, 400.0, 1.2)
    30.0
    """
    least_l = most(least_bv * volume_l, vessel_volume_l)
    return whole_up(most(usual_min, least_l / LITRES_PER_M3 / flow_m3_h * MINUTES_PER_HOUR))


@law
@valid(volume_l=[0, None], draw_bv=[0, None])
def regeneration_waste_m3(
    backwash_flow_m3_h: Number,
    backwash_min: Number,
    rinse_flow_m3_h: Number,
    rinse_min: Number,
    volume_l: Number,
    draw_bv: Number,
) -> Number:
    """Waste of a regeneration = waste of backwash and rinse + medium x bed volumes drawn.

    Worked by hand: 6 m3/h for 10 min take 1 m3, a rinse of 6 min at 2 m3/h 0.2 m3, one bed
    volume of 300 L another 0.3 m3.

    >>> regeneration_waste_m3(6.0, 10.0, 2.0, 6.0, 300.0, 1.0)
    1.5
    """
    washed = backwash_waste_m3(backwash_flow_m3_h, backwash_min, rinse_flow_m3_h, rinse_min)
    return washed + volume_l / LITRES_PER_M3 * draw_bv


NEAR_PH = 0.2  # PRACTICE: what a pH of a laboratory, or one behind stripping, leaves open


@cites("EUROCODE", "10 mg/L Fe, 6 mg/L Fe + Mn, pH at least 6.7")
def check_filter_water(
    load: FilterLoad,
    ph: float | None,
    medium: Medium,
    oxidant: str = "permanganate",
    *,
    softener: bool = True,
) -> tuple[Flag, ...]:
    """Judge whether the medium can take the water.

    Parameters
    ----------
    load : FilterLoad
        What the filter holds back. [-]
    ph : float or None
        pH of the water behind the oxidation, None where it is not known. [-]
    medium : Medium
        The medium. [-]
    oxidant : str
        "permanganate", "chlorine" or "air". [-]
    softener : bool
        A softener stands behind the filter. [-]

    Returns
    -------
    tuple of Flag
        The point to note. [-]

    Raises
    ------
    OutOfRangeError
        If there is more iron than the medium takes.
    """
    limits = train_limits()
    iron, manganese = load.iron_total_mg_l, load.manganese_total_mg_l
    refused = limits["filter_iron_refuse"].value
    if iron > refused:
        raise OutOfRangeError(
            f"iron is {iron:g} mg/L; {medium.name} takes up to {refused:g} mg/L (EUROCODE): aerate "
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
                "memory): expect it to pass; feed permanganate or chlorine ahead of the filter, "
                "with carbon behind it",
            )
        )
    near = _near_flags(ph, manganese, oxidant)
    return (*flags, *_ph_flags(ph, manganese, medium, softener=softener), *near)


def _near_flags(ph: float | None, manganese_mg_l: float, oxidant: str) -> tuple[Flag, ...]:
    """Flag manganese that hangs on a pH hardly above its limit, or between two of them."""
    limits = train_limits()
    lowest = limits["manganese_ph"].value
    wanted = limits["manganese_ph_chlorine"].value if oxidant == "chlorine" else lowest
    little = manganese_mg_l <= limits["filter_manganese_left"].value
    if ph is None or little or oxidant == "air" or not lowest <= ph < wanted + NEAR_PH:
        return ()
    text = (
        f"the pH behind the oxidation is {ph:.2f}; with {oxidant} manganese "
        f"({manganese_mg_l:.2g} mg/L) is removed from about pH {wanted:g} on: measure pH and "
        "manganese behind the filter before the membranes run, in the coldest water too"
    )
    return (Flag("manganese_ph_near", "caution", text),)


def _ph_flags(
    ph: float | None, manganese_mg_l: float, medium: Medium, *, softener: bool
) -> tuple[Flag, ...]:
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
        onto_resin = (
            "The softener is then loaded with "
            f"{manganese_mg_l * caco3_per_mg('mn'):.2g} mg/L as CaCO3 more than shown, most "
            f"codes refuse {limits['softener_iron_refuse'].value:g} mg/L of iron and manganese "
            "onto resin, and what passes fouls the membranes"
        )
        flags.append(
            Flag(
                "manganese_ph_low",
                "warning",
                f"pH is {ph:.2f}; manganese is removed from about pH {lowest:g} on (from memory): "
                f"expect the {manganese_mg_l:.2g} mg/L to pass. "
                + (onto_resin if softener else "What passes fouls the membranes")
                + ": pH correction ahead of the filter is missing",
            )
        )
    return tuple(flags)
