"""A drawn water: the analysis many times over, each as it might truly be."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.chemistry.activity import TEMPERATURE_RANGE_C
from pretreat.chemistry.composition import meq_l
from pretreat.chemistry.species import Array
from pretreat.core.basis import cites
from pretreat.core.tables import analytes
from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.lab.water_figures import Composition
from pretreat.membrane.feed import FeedWater, feed_water
from pretreat.plant.uncertainty.draws import Draws

CARBONATES = frozenset({"hco3", "co3"})
CHI_SQUARE_95 = 3.841  # STATISTICS: 95 % point, one degree of freedom
ION_SUM_SHARE = 0.01  # PRACTICE: what was not analysed, of the sum of ions


class Season(Struct, frozen=True):
    """A temperature at which the plant runs: "coldest", "operating", "warmest"."""

    name: str
    temp_c: float


class DrawnWater(Struct, frozen=True):
    """A water and its draws: arrays of shape (n + 1,); the first is the water as analysed.

    Whatever treats it (a stage, a law) works on the whole arrays, so that the nominal water
    and its draws can never part.
    """

    mg_l: Mapping[str, Array]
    alkalinity_mg_l_caco3: Array
    ph: Array
    measured_temp_c: Array
    temperature_shift_c: Array  # of the true temperature from the one taken
    # What a train does that is uncertain, by the plant's keys of data/uncertainty.csv.
    plant: Mapping[str, Array] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """Number of draws, the nominal water left out."""
        return self.ph.size - 1


def with_nominal(nominal: float, draws: Array) -> Array:
    """Return an array that starts with the nominal value.

    Parameters
    ----------
    nominal : float
        The value that the design is made with. [any unit]
    draws : array, shape (n,)
        Its draws. [same unit]

    Returns
    -------
    array, shape (n + 1,)
        Both. [same unit]
    """
    return np.concatenate([[nominal], draws])


def drawn_water(
    taken: Composition, ph: float, draws: Draws, *, hold_balance: bool = False
) -> DrawnWater:
    """Return a water as analysed and as it might truly be.

    A total hardness that was split ("hardness" and "calcium_share" among the draws) sets
    calcium and magnesium together.

    Parameters
    ----------
    taken : Composition
        What the chemistry takes of the analysis. [-]
    ph : float
        Its pH. [-]
    draws : Draws
        Draws of its uncertain inputs. [-]
    hold_balance : bool
        Move the ions of each draw, within their uncertainty, until the draw has the charge
        balance of the report; left alone where the report's balance is out of reach. [-]

    Returns
    -------
    DrawnWater
        The nominal water and its draws. [-]
    """
    mg_l = {k: draws.get(k, v) for k, v in taken.scaling.items()}
    if "hardness" in draws.values or "calcium_share" in draws.values:
        mg_l |= _hardness_ions(taken, draws)
    alkalinity = draws.get("alkalinity", taken.alkalinity_mg_l_caco3)
    if hold_balance:
        mg_l, alkalinity = _balanced(taken, draws, mg_l, alkalinity)
    shift = draws.get("temperature", taken.operating_temp_c) - taken.operating_temp_c
    return DrawnWater(
        {k: with_nominal(taken.scaling[k], v) for k, v in mg_l.items()},
        with_nominal(taken.alkalinity_mg_l_caco3, alkalinity),
        with_nominal(ph, draws.get("ph", ph)),
        np.full(draws.count + 1, taken.measured_temp_c),
        with_nominal(0.0, shift),
    )


def _hardness_ions(taken: Composition, draws: Draws) -> dict[str, Array]:
    """Return calcium and magnesium from draws of a total hardness and of its split."""
    parts = {k: meq_l(k, taken.scaling[k]) for k in ("ca", "mg")}
    total = float(sum(parts.values()))
    hardness = draws.get("hardness", total * CACO3_MG_PER_MEQ) / CACO3_MG_PER_MEQ
    share = draws.get("calcium_share", float(parts["ca"]) / total)
    wanted = {"ca": hardness * share, "mg": hardness * (1.0 - share)}
    return {k: wanted[k] * (taken.scaling[k] / parts[k]) for k in wanted}


@cites("LAGRANGE", "least squares under one linear condition")
def conditioned(x: Array, u: Array, z: Array, target: Any = 0.0, u0: float = 0.0) -> Array:
    """Return ions moved, within their uncertainty, until their charges sum to a target.

    x* = x - u^2 z (z'x - target) / (sum u^2 z^2 + u0^2), for independent errors.

    Parameters
    ----------
    x : array, shape (ions, n)
        Concentrations. [meq/L]
    u : array, shape (ions,)
        Standard uncertainties. [meq/L]
    z : array, shape (ions,)
        +1 for a cation, -1 for an anion. [-]
    target : float or array
        What the charges are to sum to. [meq/L]
    u0 : float
        Standard uncertainty of what was not analysed. [meq/L]

    Returns
    -------
    array, shape (ions, n)
        Moved concentrations. [meq/L]
    """
    variance = u**2 * z
    gap = z @ x - target
    return np.asarray(x - variance[:, None] * (gap / (variance @ z + u0**2)))


def balance_test(x: Array, u: Array, z: Array) -> tuple[float, float]:
    """Return the charge that is left over, and its test against its uncertainty.

    Parameters
    ----------
    x, u, z : array, shape (ions,)
        Concentrations, standard uncertainties and signs. [meq/L]

    Returns
    -------
    tuple of float
        b = z'x [meq/L] and b^2 / (z' S z), chi-square with one degree of freedom; above 3.84
        an ion is wrong or missing. [-]
    """
    b = float(z @ x)
    return b, b * b / float((u * u) @ (z * z))


def _balanced(
    taken: Composition, draws: Draws, mg_l: dict[str, Array], alkalinity: Array
) -> tuple[dict[str, Array], Array]:
    spreads = {i.key: i.distribution.u for i in draws.inputs}
    keys = [k for k in mg_l if analytes()[k].charge and spreads.get(k, 0.0) > 0]
    if "alkalinity" not in spreads or not keys:
        return mg_l, alkalinity
    signs = np.array([*(float(np.sign(analytes()[k].charge)) for k in keys), -1.0])
    per_mg = np.array([*(float(meq_l(k, 1.0)) for k in keys), 1.0 / CACO3_MG_PER_MEQ])
    nominal = np.array([*(taken.scaling[k] for k in keys), taken.alkalinity_mg_l_caco3]) * per_mg
    u = np.array([spreads[k] for k in (*keys, "alkalinity")]) * per_mg
    b, test = balance_test(nominal, u, signs)
    if test > CHI_SQUARE_95:
        return mg_l, alkalinity
    x = np.stack([*(mg_l[k] for k in keys), alkalinity]) * per_mg[:, None]
    u0 = ION_SUM_SHARE * float(nominal.sum())
    moved = np.maximum(conditioned(x, u, signs, b, u0), 0.0) / per_mg[:, None]
    return {**mg_l, **dict(zip(keys, moved[:-1], strict=True))}, moved[-1]


def feeds(water: DrawnWater, seasons: Sequence[Season]) -> FeedWater:
    """Return the feed of the membranes in every season, speciated for every draw at once.

    Parameters
    ----------
    water : DrawnWater
        The water that reaches the membranes, with its draws. [-]
    seasons : sequence of Season
        Temperatures of the plant. [-]

    Returns
    -------
    FeedWater
        Arrays of shape (seasons, n + 1). [-]
    """
    temps = _temps_c(water, seasons)
    return feed_water(
        water.mg_l, water.alkalinity_mg_l_caco3, water.ph, water.measured_temp_c, temps
    )


def as_measured(water: DrawnWater, seasons: Sequence[Season]) -> FeedWater:
    """Return the same, but speciated at the temperature at which the pH was measured.

    Alkalinity and inorganic carbon are what they are in every season; whoever changes the
    water solves it anew, and needs no more.

    Parameters
    ----------
    water : DrawnWater
        The water of the well, with its draws. [-]
    seasons : sequence of Season
        Temperatures of the plant. [-]

    Returns
    -------
    FeedWater
        Temperatures of shape (seasons, n + 1); the speciation is of shape (n + 1,). [-]
    """
    here = feed_water(water.mg_l, water.alkalinity_mg_l_caco3, water.ph, water.measured_temp_c)
    return replace(here, temp_c=_temps_c(water, seasons))


def _temps_c(water: DrawnWater, seasons: Sequence[Season]) -> Array:
    temps = np.array([s.temp_c for s in seasons])[:, None] + water.temperature_shift_c
    temps[:, 1:] = np.clip(temps[:, 1:], *TEMPERATURE_RANGE_C)  # no draw freezes the well
    return np.asarray(temps)


def carbon_lost(before: FeedWater, nominal_mol_kg: Any) -> Any:
    """Return the carbon that leaves each draw of a water to the air.

    An aerator takes a share of the carbon dioxide that it finds, not an amount: a draw with
    more loses more. What acid frees ahead of it is the same in every draw.

    Parameters
    ----------
    before : FeedWater
        The drawn water of the well; the first of each row is the water as analysed. [-]
    nominal_mol_kg : float or array
        What the water as analysed loses. [mol/kg]

    Returns
    -------
    array
        Of the shape of the water. [mol/kg]
    """
    found = np.asarray(before.speciation.co2_mol_kg, float)
    first = found[..., :1]
    share = np.minimum(nominal_mol_kg / np.where(first > 0.0, first, np.inf), 1.0)
    lost = np.maximum(nominal_mol_kg + share * (found - first), 0.0)
    return np.where(np.isfinite(lost), lost, nominal_mol_kg)
