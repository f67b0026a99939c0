"""Osmotic pressure of the actual water, net driving pressure and its standard factors."""

from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.activity import debye_huckel
from pretreat.chemistry.speciation import Speciation, speciate
from pretreat.chemistry.species import LN10, model
from pretreat.core.basis import cites
from pretreat.core.errors import check_range
from pretreat.core.units import ZERO_C_IN_K, molar_mass
from pretreat.membrane.concentrate import concentration_factor
from pretreat.membrane.gauges.osmotic import osmotic_pressure_kpa

TEMPERATURE_RANGE_C = (0.0, 60.0)  # cold well to the warmest a membrane takes, PRACTICE
RECOVERY_RANGE = (0.0, 0.95)
# Own fit to sodium chloride of pitzer.dat (PA13), 5 to 35 °C and 0.5 to 1 mol/kg: how the linear
# term of an ion grows with temperature, which the speciation leaves out; kg/(mol K).
LINEAR_PER_K, LINEAR_AT_C = 6.6e-4, 25.0
NEUTRAL_SLOPE = 0.1  # PA13: log gamma = 0.1 I for an uncharged species without a rule
KPA_PER_BAR = 100.0
NACL_RANGE_MG_L = (0.0, 100_000.0)  # the equation is meant for natural and sea waters


@cites("GIBBSDUHEM", "sum of m(1 - phi), frozen species")
@cites("TJ74", "ion sizes and linear terms of the speciation")
@cites("PA13", "temperature slope of the linear term, own fit to its sodium chloride")
def osmotic_coefficient_sum(water: Speciation) -> Any:
    """Return the osmotic coefficient times the sum of molalities of the dissolved species.

    Integrates ``m d ln(gamma)`` from pure water up, all species growing in proportion:
    ``sum m + sum m [-A z² sigma / I + b I / 2] ln 10`` with ``sigma`` the integral of ``I``
    over the extended Debye-Hückel term. Against Robinson and Stokes' NaCl it is within 0.5 % up
    to 1 mol/kg, against standard seawater at 15 and 25 °C too; ion pairs are taken from the
    speciation. The linear terms are those of 25 °C with a slope fitted to sodium chloride; without
    it seawater at 15 °C is 1 % too high.

    Parameters
    ----------
    water : Speciation
        A water speciated with ``species=True``. [-]

    Returns
    -------
    float or array
        phi times sum of molalities. [mol/kg]
    """
    slope, size = debye_huckel(water.temp_c)
    strength = np.maximum(np.asarray(water.ionic_strength_mol_kg, float), 1e-12)
    known = model()
    total: Any = 0.0
    for i, name in enumerate(known.species):
        if name not in water.molality:
            continue
        amount = np.asarray(water.molality[name], float)
        linear = _linear(float(known.size[i]), float(known.slope[i]))
        if known.charge[i] != 0.0:
            linear = linear + LINEAR_PER_K * (np.asarray(water.temp_c, float) - LINEAR_AT_C)
        term = linear * strength / 2.0
        if known.charge[i] != 0.0:
            reach = _reach(float(known.size[i]), size)
            term = term - slope * known.charge[i] ** 2 * _sigma(reach, strength) / strength
        total = total + amount * (1.0 + LN10 * term)
    return total


@cites("DAVIES62", "as an ion size of 1 / B, where a species has no rule of its own")
def _reach(size_angstrom: float, b: Any) -> Any:
    return 1.0 if not size_angstrom > 0.0 else b * size_angstrom


def _linear(size_angstrom: float, slope: float) -> Any:
    return NEUTRAL_SLOPE if np.isnan(size_angstrom) else slope


def _sigma(reach: Any, strength: Any) -> Any:
    """Integrate I d[sqrt(I) / (1 + reach sqrt(I))] from zero."""
    x = reach * np.sqrt(strength)
    closed = (1.0 + x) - 2.0 * np.log1p(x) - 1.0 / (1.0 + x)
    return closed / reach**3


@cites("ROBINSON59", "ln a(H2O) = -M phi sum(m)")
def osmotic_of_water_kpa(water: Speciation) -> Any:
    """Return the osmotic pressure of a speciated water.

    Parameters
    ----------
    water : Speciation
        A speciated water; without the molality of its species it is solved again with them. [-]

    Returns
    -------
    float or array
        Osmotic pressure. [kPa]
    """
    water = water if water.molality else _with_species(water)
    activity = np.exp(-molar_mass("H2O") / 1000.0 * osmotic_coefficient_sum(water))
    return osmotic_pressure_kpa(activity, water.temp_c)


def _with_species(water: Speciation) -> Speciation:
    """Return the same water, solved again, with the molality of every species kept."""
    totals = {k: v for k, v in water.totals_mol_kg.items() if k != "CO3"}
    known = np.isfinite(water.alkalinity_eq_kg)
    return speciate(
        totals,
        temp_c=water.temp_c,
        ph=np.where(known, np.nan, water.ph),
        alkalinity_eq_kg=np.where(known, water.alkalinity_eq_kg, np.nan),
        inorganic_carbon_mol_kg=np.where(known, water.inorganic_carbon_mol_kg, np.nan),
        ph_guess=water.ph,
        species=True,
    )


@cites("D4516", "osmotic equation of sodium chloride, from memory")
def osmotic_nacl_kpa(nacl_mg_l: float, temp_c: float) -> float:
    """Return the osmotic pressure of a sodium chloride solution by the standard's equation.

    For waters that are not sodium chloride it overstates by 29 to 63 % when fed with their
    dissolved solids; use `osmotic_of_water_kpa` for them.

    Parameters
    ----------
    nacl_mg_l : float
        Sodium chloride, 0 to 100 000. [mg/L as NaCl]
    temp_c : float
        Temperature, 0 to 60. [°C]

    Returns
    -------
    float
        Osmotic pressure. [kPa]

    Raises
    ------
    OutOfRangeError
        If a value is outside its range.
    """
    check_range("sodium chloride", nacl_mg_l, NACL_RANGE_MG_L, "mg/L", "D4516")
    check_range("temperature", temp_c, TEMPERATURE_RANGE_C, "°C", "D4516")
    return 0.2654 * nacl_mg_l * (temp_c + ZERO_C_IN_K) / (1000.0 - nacl_mg_l / 1000.0)


@cites("D4516", "average concentration on the feed and brine side, log-mean")
def average_factor(recovery: float) -> float:
    """Return the log-mean concentration between feed and brine over that of the feed.

    Parameters
    ----------
    recovery : float
        Product / feed of the array, 0 to 0.95. [-]

    Returns
    -------
    float
        ``ln(1/(1-Y))/Y``, 1 at no recovery. [-]

    Raises
    ------
    OutOfRangeError
        If the recovery is outside its range.
    """
    check_range("recovery", recovery, RECOVERY_RANGE, "-", "D4516")
    return 1.0 if recovery <= 1e-9 else float(-np.log1p(-recovery) / recovery)


@cites("D4516", "log-mean of the array; recycle by mass balance")
def array_factor(recovery: float, rho: float = 0.0) -> float:
    """Return the log-mean concentration along the membranes over that of the fresh feed.

    Parameters
    ----------
    recovery : float
        Product / fresh feed, 0 to 0.95. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]

    Returns
    -------
    float
        Average over fresh feed. [-]

    Raises
    ------
    OutOfRangeError
        If the recovery is outside its range.
    """
    inflow = (1.0 - rho) + rho * float(concentration_factor(recovery, 0.0, rho))
    return inflow * average_factor(recovery * (1.0 - rho))


class OsmoticCurve(Struct, frozen=True):
    """Osmotic pressure of the feed water concentrated by a factor, at one temperature."""

    factors: tuple[float, ...]
    kpa: tuple[float, ...]
    temp_c: float

    def at(self, factor: float, temp_c: float | None = None) -> float:
        """Return the pressure [kPa] at a factor [-]; absolute temperature scales it."""
        per_factor = np.interp(factor, self.factors, np.array(self.kpa) / np.array(self.factors))
        warm = self.temp_c if temp_c is None else temp_c
        return float(per_factor * factor * (warm + ZERO_C_IN_K) / (self.temp_c + ZERO_C_IN_K))


@cites("D4516", "temperature correction where the device maker gives none, from memory")
def temperature_factor(temp_c: float) -> float:
    """Return permeate flow at a temperature over that at 25 °C, at equal driving pressure.

    Parameters
    ----------
    temp_c : float
        Temperature, 0 to 60. [°C]

    Returns
    -------
    float
        ``1.03^(t - 25)``. [-]

    Raises
    ------
    OutOfRangeError
        If the temperature is outside its range.
    """
    check_range("temperature", temp_c, TEMPERATURE_RANGE_C, "°C", "D4516")
    return float(1.03 ** (temp_c - 25.0))


class Operation(Struct, frozen=True):
    """A state of the machine from which its driving pressure follows."""

    product_flow: float  # any unit, the same for every state that is compared
    temp_c: float
    feed_kpa: float
    drop_kpa: float
    permeate_kpa: float
    osmotic_feed_side_kpa: float  # of the average between feed and brine
    osmotic_permeate_kpa: float = 0.0

    @property
    def driving_kpa(self) -> float:
        """Net driving pressure: feed less half the drop, permeate and osmotic difference."""
        osmotic = self.osmotic_feed_side_kpa - self.osmotic_permeate_kpa
        return self.feed_kpa - self.drop_kpa / 2.0 - self.permeate_kpa - osmotic

    @property
    def permeability(self) -> float:
        """Product flow per driving pressure at 25 °C; NaN where nothing drives. [flow/kPa]."""
        if not self.driving_kpa > 0.0:
            return float("nan")
        return self.product_flow / (self.driving_kpa * temperature_factor(self.temp_c))


@cites("D4516", "equation of standardized permeate flow")
def standard_flow(actual: Operation, standard: Operation) -> float:
    """Return the product flow that the machine would give at standard conditions.

    Parameters
    ----------
    actual : Operation
        As read. [-]
    standard : Operation
        Conditions to which it is brought; its flow is not used. [-]

    Returns
    -------
    float
        Flow at standard conditions; NaN where nothing drives. [unit of the actual flow]
    """
    factor = temperature_factor(standard.temp_c)
    return actual.permeability * standard.driving_kpa * factor


@cites("D4516", "standardized salt passage, from memory")
def standard_salt_passage(
    passage: float, flow_ratio: float, factor_ratio: float, concentration_ratio: float = 1.0
) -> float:
    """Return salt passage at standard conditions.

    Parameters
    ----------
    passage : float
        Salt passage as read, permeate / feed. [-]
    flow_ratio : float
        Actual over standard permeate flow per element. [-]
    factor_ratio : float
        Salt temperature factor, standard over actual; that of water where none is known. [-]
    concentration_ratio : float
        (average over feed, standard) / (average over feed, actual). [-]

    Returns
    -------
    float
        Standard salt passage. [-]
    """
    return passage * flow_ratio * factor_ratio * concentration_ratio


@cites("D4516", "pressure drop brought to standard flow, as on a university page on the practice")
def standard_drop(drop: float, flow_ratio: float, temp_c: float, standard_c: float) -> float:
    """Return a pressure drop at standard flow and temperature.

    Parameters
    ----------
    drop : float
        Pressure drop as read. [any unit]
    flow_ratio : float
        Standard over actual mean flow along the membranes. [-]
    temp_c : float
        Temperature as read. [°C]
    standard_c : float
        Standard temperature. [°C]

    Returns
    -------
    float
        Standard pressure drop. [unit of drop]
    """
    warm = (1.0 + 0.017 * (temp_c - 25.0)) / (1.0 + 0.017 * (standard_c - 25.0))
    return float(drop * flow_ratio**1.5 * warm)


def feed_pressure_kpa(known: Operation, wanted: Operation) -> float:
    """Return the feed pressure that gives the wanted flow, from one known point.

    Parameters
    ----------
    known : Operation
        One point at which feed pressure and flow are known. [-]
    wanted : Operation
        The wanted state; its feed pressure is not used. [-]

    Returns
    -------
    float
        Feed pressure. [kPa]
    """
    driving = wanted.product_flow / (known.permeability * temperature_factor(wanted.temp_c))
    osmotic = wanted.osmotic_feed_side_kpa - wanted.osmotic_permeate_kpa
    return driving + wanted.drop_kpa / 2.0 + wanted.permeate_kpa + osmotic
