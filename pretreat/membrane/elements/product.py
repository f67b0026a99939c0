"""The product water: ions that leak, carbon dioxide that passes, and the pH that follows."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
from msgspec import Struct, field

from pretreat.chemistry.carbonate import log10_k1, monovalent_pf
from pretreat.chemistry.composition import meq_l
from pretreat.chemistry.speciation import molal_totals, speciate
from pretreat.core.basis import cites
from pretreat.core.equivalents import caco3_per_mg
from pretreat.core.errors import AnalysisError
from pretreat.core.tables import analytes
from pretreat.core.units import molar_mass
from pretreat.membrane.elements.permeability import refuse_outside
from pretreat.membrane.feed import FeedWater

if TYPE_CHECKING:
    from pretreat.membrane.elements.operate import Operation

CARBONATES = ("hco3", "co3")
MOST_CO2_MOL_KG = 0.5  # beyond it no well water (PB82, K0)


class Water(Struct, frozen=True):
    """A water on the product side: product, bypass or blend; floats or arrays.

    ``water`` holds ions, alkalinity and the speciation; ``traces`` what it does not know
    (uranium, radium, arsenite), in the unit in which they came.
    """

    water: FeedWater
    traces: Mapping[str, Any] = field(default_factory=dict)

    @property
    def ph(self) -> Any:
        """PH. [-]."""
        return self.water.ph

    @property
    def co2_mg_l(self) -> Any:
        """Carbon dioxide in solution. [mg/L]."""
        return self.water.speciation.co2_mol_kg * molar_mass("CO2") * 1000.0

    @property
    def tds_mg_l(self) -> Any:
        """Sum of ions with the alkalinity as bicarbonate, plus silica. [mg/L]."""
        return self.water.tds_mg_l

    @property
    def hardness_mg_l_caco3(self) -> Any:
        """Calcium and magnesium; NaN where one was not measured. [mg/L as CaCO3]."""
        mg_l = self.water.mg_l
        return sum(mg_l.get(ion, 0.0) * caco3_per_mg(ion) for ion in ("ca", "mg"))

    @property
    def sar(self) -> Any:
        """Sodium adsorption ratio. [(me/L)^0.5]."""
        return sodium_adsorption_ratio(self.water.mg_l)

    def values(self) -> dict[str, Any]:
        """Return every number that a target may limit, by parameter name. [unit in the name]."""
        found = {f"{k}_mg_l": v for k, v in self.water.mg_l.items()}
        found |= {f"{k}": v for k, v in self.traces.items()}
        return found | {
            "ph": self.ph,
            "tds_mg_l": self.tds_mg_l,
            "alkalinity_mg_l_caco3": self.water.alkalinity_mg_l_caco3,
            "hardness_mg_l_caco3": self.hardness_mg_l_caco3,
            "sar": self.sar,
        }


def sodium_adsorption_ratio(mg_l: Mapping[str, Any]) -> Any:
    """Return the sodium adsorption ratio, ``Na / sqrt((Ca + Mg) / 2)`` in me/L.

    Parameters
    ----------
    mg_l : mapping of str to float or array
        Composition. [mg/L as the ion]

    Returns
    -------
    float or array
        Ratio; NaN where an ion was not measured or there is no calcium and magnesium. [-]
    """
    sodium, calcium, magnesium = (
        meq_l(k, np.asarray(mg_l.get(k, np.nan), float)) for k in ("na", "ca", "mg")
    )
    hard = np.asarray((calcium + magnesium) / 2.0)
    root = np.sqrt(np.where(hard > 0.0, hard, np.nan))
    return _plain(sodium / root)


def _plain(value: Any) -> Any:
    return float(value) if np.ndim(value) == 0 else value


@cites("PB82", "CO2 that passes freely, first dissociation constant")
def permeate_ph(hco3_mmol_l: Any, co2_mmol_l: Any, temp_c: Any, ionic_strength_mol_l: Any) -> Any:
    """Return the pH of a permeate in closed form.

    ``pK1 + log10(HCO3 / CO2) + log10 gamma``; within 0.01 of a full speciation while the pH is
    below about 8.

    Parameters
    ----------
    hco3_mmol_l : float or array
        Bicarbonate that leaks. [mmol/L]
    co2_mmol_l : float or array
        Carbon dioxide of the array feed. [mmol/L]
    temp_c : float or array
        Temperature, 0 to 90. [°C]
    ionic_strength_mol_l : float or array
        Ionic strength of the permeate. [mol/L]

    Returns
    -------
    float or array
        pH. [-]
    """
    activity = monovalent_pf(ionic_strength_mol_l, temp_c)
    ratio = np.asarray(hco3_mmol_l, float) / np.asarray(co2_mmol_l, float)
    return _plain(-log10_k1(temp_c) + np.log10(ratio) - activity)


def water_of(
    mg_l: Mapping[str, Any],
    temp_c: Any,
    alkalinity_mg_l_caco3: Any,
    co2_mol_kg: Any,
) -> Water:
    """Return a water whose carbon is its alkalinity and a given carbon dioxide.

    Parameters
    ----------
    mg_l : mapping of str to float or array
        Ions by key; traces by their own names. Bicarbonate and carbonate are left out. [mg/L]
    temp_c : float or array
        Temperature, 0 to 90. [°C]
    alkalinity_mg_l_caco3 : float or array
        Alkalinity, all of it bicarbonate. [mg/L as CaCO3]
    co2_mol_kg : float or array
        Carbon dioxide in solution, 0 to 0.5. [mol/kg of water]

    Returns
    -------
    Water
        The water. [-]

    Raises
    ------
    OutOfRangeError
        If the carbon dioxide is outside its range.
    """
    refuse_outside("carbon dioxide", _known(co2_mol_kg), (0.0, MOST_CO2_MOL_KG), "mol/kg")
    ions, traces = split_traces(mg_l)
    totals = molal_totals(ions, alkalinity_mg_l_caco3)
    return solved(
        ions,
        np.asarray(temp_c, float),
        np.asarray(alkalinity_mg_l_caco3, float),
        np.asarray(totals.alkalinity_eq_kg) + np.asarray(co2_mol_kg, float),
        traces,
    )


def _known(values: Any) -> Any:
    """Return the finite values: what is not settled stays NaN and is not refused."""
    numbers = np.asarray(values, float)
    return numbers[np.isfinite(numbers)] if np.ndim(numbers) else numbers


def split_traces(mg_l: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Split a composition into ions, carbonates left out, and traces.

    Parameters
    ----------
    mg_l : mapping of str to float or array
        Composition. [mg/L as the ion; traces in their own unit]

    Returns
    -------
    tuple of dict
        Keys of data/analytes.csv, and the rest. [-]
    """
    known = analytes()
    ions = {k: v for k, v in mg_l.items() if k in known and k not in CARBONATES}
    return ions, {k: v for k, v in mg_l.items() if k not in known}


def solved(
    ions: Mapping[str, Any],
    temp_c: Any,
    alkalinity_mg_l_caco3: Any,
    inorganic_carbon_mol_kg: Any,
    traces: Mapping[str, Any],
) -> Water:
    """Return a water whose pH follows from alkalinity and inorganic carbon.

    Parameters
    ----------
    ions : mapping of str to float or array
        Ions without carbonates. [mg/L as the ion]
    temp_c : float or array
        Temperature, 0 to 90. [°C]
    alkalinity_mg_l_caco3 : float or array
        Alkalinity. [mg/L as CaCO3]
    inorganic_carbon_mol_kg : float or array
        Total inorganic carbon. [mol/kg of water]
    traces : mapping of str to float or array
        Traces in their own unit. [-]

    Returns
    -------
    Water
        The water. [-]
    """
    totals = molal_totals(ions, alkalinity_mg_l_caco3)
    found = speciate(
        totals.mol_kg,
        temp_c=temp_c,
        alkalinity_eq_kg=totals.alkalinity_eq_kg,
        inorganic_carbon_mol_kg=inorganic_carbon_mol_kg,
    )
    return Water(FeedWater(dict(ions), alkalinity_mg_l_caco3, temp_c, found), dict(traces))


def product_water(found: "Operation", co2_mol_kg: Any) -> Water:
    """Return the product of a machine; the carbon dioxide of the array feed passes.

    Parameters
    ----------
    found : Operation
        The machine running. [-]
    co2_mol_kg : float or array
        Carbon dioxide of the array feed, 0 to 0.5: of the fresh feed without recycle, with
        recycle that of fresh feed and recycled concentrate mixed. [mol/kg of water]

    Returns
    -------
    Water
        The product, with its pH. [-]

    Raises
    ------
    OutOfRangeError
        If the carbon dioxide is outside its range.
    AnalysisError
        If the feed had no alkalinity, so that no pH follows.
    """
    mg_l = found.permeate_mg_l
    if "hco3" not in mg_l:
        raise AnalysisError(
            "no alkalinity in the feed of the elements: without it the product has no pH; "
            "give the alkalinity"
        )
    alkalinity = np.asarray(mg_l["hco3"]) / molar_mass("HCO3") * molar_mass("CaCO3") / 2.0
    return water_of(mg_l, found.fresh.temp_c, alkalinity, co2_mol_kg)


def blended(product: Water, bypass: Water, share: Any) -> Water:
    """Return product and bypass mixed; ions, alkalinity and inorganic carbon by balance.

    Parameters
    ----------
    product : Water
        The product. [-]
    bypass : Water
        Raw, filtered or softened water beside the membranes, same temperature. [-]
    share : float or array
        Bypass / blend, 0 to 1. [-]

    Returns
    -------
    Water
        The blend, with its pH. [-]

    Raises
    ------
    OutOfRangeError
        If the share is outside its range.
    AnalysisError
        If an ion is known on one side only.
    """
    refuse_outside("share of the bypass", share, (0.0, 1.0), "-")
    x = np.asarray(share, float)

    def mix(one: Any, other: Any) -> Any:
        return (1.0 - x) * np.asarray(one, float) + x * np.asarray(other, float)

    a, b = product.water, bypass.water
    if set(a.mg_l) != set(b.mg_l):
        odd = ", ".join(sorted(set(a.mg_l) ^ set(b.mg_l)))
        raise AnalysisError(
            f"product and bypass do not know the same ions ({odd}): give them for both, or for none"
        )
    traces = {**product.traces, **bypass.traces}
    absent = float("nan")
    return solved(
        {k: mix(v, b.mg_l[k]) for k, v in a.mg_l.items()},
        mix(a.temp_c, b.temp_c),
        mix(a.alkalinity_mg_l_caco3, b.alkalinity_mg_l_caco3),
        mix(a.speciation.inorganic_carbon_mol_kg, b.speciation.inorganic_carbon_mol_kg),
        {k: mix(product.traces.get(k, absent), bypass.traces.get(k, absent)) for k in traces},
    )
