"""Geometry and flows that every bed of grains has in common."""

import math

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid

LITRE_PER_M3 = 1000.0
MINUTES_PER_HOUR = 60.0
DAYS_PER_WEEK = 7.0
TWO_HEADS_PER_DIAMETER = 0.5  # two 2:1 elliptical heads, each a quarter of the diameter deep


@law
@valid(vessel_diameter_m=(0, None))
def bed_area_m2(vessel_diameter_m: Number) -> Number:
    """Bed area of one vessel = pi / 4 x diameter².

    Worked by hand: a vessel 2 m wide has pi square metres.

    >>> round(bed_area_m2(2.0), 6)
    3.141593
    """
    return (math.pi / 4.0) * vessel_diameter_m**2


@law
@valid(flow_m3_h=[0, None], vessels="(0, inf)")
def flow_of_one_m3_h(flow_m3_h: Number, vessels: Number) -> Number:
    """Flow through one vessel = flow / vessels that share it.

    >>> flow_of_one_m3_h(3.0, 2.0)
    1.5
    """
    return flow_m3_h / vessels


@law
def all_vessels(in_service: Number, standby: Number) -> Number:
    """All vessels = those in service and those standing by.

    >>> all_vessels(2.0, 1.0)
    3.0
    """
    return in_service + standby


@law
@valid(vessels=[2, None])
def left_in_service(vessels: Number) -> Number:
    """Vessels that carry the flow while one of those side by side regenerates.

    >>> left_in_service(3.0)
    2.0
    """
    return vessels - 1.0


@law
def medium_of_all_l(medium_l: Number, vessels: Number) -> Number:
    """Medium in all vessels = that of one x vessels.

    >>> medium_of_all_l(150.0, 2.0)
    300.0
    """
    return medium_l * vessels


@law
def of_all_in_turn(amount: Number, vessels: Number) -> Number:
    """What a round takes, each vessel regenerated once = that of one x vessels.

    >>> of_all_in_turn(15.0, 2.0)
    30.0
    """
    return amount * vessels


@law
@valid(volume_l=(0, None), area_m2=(0, None))
def depth_m(volume_l: Number, area_m2: Number) -> Number:
    """Bed depth = volume / 1000 / area.

    Worked by hand: 200 L on 0.25 m2.

    >>> depth_m(200.0, 0.25)
    0.8
    """
    return volume_l / LITRE_PER_M3 / area_m2


@law
@valid(area_m2=(0, None), depth_m=(0, None))
def volume_l(area_m2: Number, depth_m: Number) -> Number:
    """Volume of the medium = area x depth x 1000.

    Worked by hand: 0.75 m on half a square metre.

    >>> volume_l(0.5, 0.75)
    375.0
    """
    return area_m2 * depth_m * LITRE_PER_M3


@law
@valid(flow_m3_h=[0, None], area_m2=(0, None))
def velocity_m_h(flow_m3_h: Number, area_m2: Number) -> Number:
    """Velocity = flow / area, of the empty vessel.

    Worked by hand: 2 m3/h through a quarter of a square metre.

    >>> velocity_m_h(2.0, 0.25)
    8.0
    """
    return flow_m3_h / area_m2


@law
@valid(vessel_height_m=(0, None), vessel_diameter_m=(0, None), depth_m=(0, None))
def freeboard_m(vessel_height_m: Number, vessel_diameter_m: Number, depth_m: Number) -> Number:
    """Room above the bed = height - two 2:1 heads - bed; gravel fills the lower head.

    Worked by hand: 1.5 m high, 0.4 m wide, bed 0.75 m: 1.5 - 0.2 - 0.75.

    >>> round(freeboard_m(1.5, 0.4, 0.75), 12)
    0.55
    """
    return vessel_height_m - TWO_HEADS_PER_DIAMETER * vessel_diameter_m - depth_m


@law
@valid(backwash_m_h=[0, None], area_m2=(0, None))
def backwash_flow_m3_h(backwash_m_h: Number, area_m2: Number) -> Number:
    """Backwash flow of one vessel = velocity x area.

    Worked by hand: 24 m/h on a quarter of a square metre.

    >>> backwash_flow_m3_h(24.0, 0.25)
    6.0
    """
    return backwash_m_h * area_m2


@law
@cites("ERGUN1952", "k 150 and 1.75 for spheres")
@valid(velocity_m_h=[0, None], depth_m=(0, None))
def pressure_drop_kpa(
    laminar_per_m: Number,
    viscosity_pa_s: Number,
    turbulent_per_m: Number,
    density_kg_m3: Number,
    velocity_m_h: Number,
    depth_m: Number,
) -> Number:
    """Pressure drop = (laminar x viscosity x v + turbulent x density x v²) x depth.

    The two coefficients are Ergun's for the grains of the bed (`ergun_coefficients`), so that
    with the velocity in m/h the result is in kPa. Worked by hand: (1000 x 0.001 x 10 +
    0.00001 x 1000 x 100) x 0.5 = (10 + 1) x 0.5.

    >>> round(pressure_drop_kpa(1000.0, 0.001, 1e-5, 1000.0, 10.0, 0.5), 9)
    5.5
    """
    viscous = laminar_per_m * viscosity_pa_s * velocity_m_h
    inertial = turbulent_per_m * density_kg_m3 * velocity_m_h**2
    return (viscous + inertial) * depth_m


@law
@valid(vessels=(0, None))
def turns_of_each(amount: Number, vessels: Number, vessels_side_by_side: Number) -> Number:
    """Regenerations of each vessel = those of a duty x vessels that share the flow / all vessels.

    Worked by hand: a vessel in service and one standing by do half of 100 each.

    >>> turns_of_each(100.0, 2.0, 1.0)
    50.0
    """
    return amount * vessels_side_by_side / vessels


@law
@valid(every_d=(0, None))
def washes_per_week(every_d: Number) -> Number:
    """Backwashes per week = 7 / days between them.

    Worked by hand: every third and a half day is twice a week.

    >>> washes_per_week(3.5)
    2.0
    """
    return DAYS_PER_WEEK / every_d
