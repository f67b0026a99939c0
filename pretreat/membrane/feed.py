"""The feed of the membranes at the operating temperature; arrays broadcast."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.composition import tds_mg_l
from pretreat.chemistry.speciation import Speciation, molal_totals, speciate
from pretreat.core.units import CACO3_MG_PER_MEQ, HCO3_PER_CACO3
from pretreat.membrane.checks import checked_water, numbers

MG_PER_G = 1000.0


class FeedWater(Struct, frozen=True):
    """A feed at the operating temperature, with what the membrane balance needs.

    ``mg_l`` by the keys of data/analytes.csv without bicarbonate and carbonate;
    ``speciation`` holds totals, CO2 and pH at the operating temperature.
    """

    mg_l: Mapping[str, Any]
    alkalinity_mg_l_caco3: Any
    temp_c: Any
    speciation: Speciation

    @property
    def ph(self) -> Any:
        """PH at the operating temperature."""
        return self.speciation.ph

    @property
    def tds_mg_l(self) -> Any:
        """Sum of ions with the alkalinity as bicarbonate, plus silica. [mg/L]."""
        alkalinity = np.nan_to_num(np.asarray(self.alkalinity_mg_l_caco3, float))
        return tds_mg_l(self.mg_l, HCO3_PER_CACO3 * alkalinity)


def feed_water(
    mg_l: Mapping[str, Any],
    alkalinity_mg_l_caco3: Any,
    ph: Any,
    measured_temp_c: Any,
    operating_temp_c: Any = None,
) -> FeedWater:
    """Return a feed at the operating temperature.

    Alkalinity and total inorganic carbon are those at the measuring temperature; pH is
    solved again where the operating temperature differs.

    Parameters
    ----------
    mg_l : mapping of str to float or array
        Composition. [mg/L as the ion]
    alkalinity_mg_l_caco3 : float or array
        Total alkalinity; NaN where not measured, 0 for a water without carbonate, such as one
        below pH 4.5. [mg/L as CaCO3]
    ph : float or array
        pH at the measuring temperature. [-]
    measured_temp_c : float or array
        Temperature to which the pH belongs. [°C]
    operating_temp_c : float or array, optional
        Temperature of the plant; the measuring temperature if omitted. [°C]

    Returns
    -------
    FeedWater
        The feed; of many waters, one that no well has is NaN throughout. [-]

    Raises
    ------
    AnalysisError
        If an ion is not known, or something is no number.
    OutOfRangeError
        If a single water has a concentration, alkalinity, pH or temperature that no water has.
    """
    found_mg_l, alkalinity, ph = checked_water(mg_l, alkalinity_mg_l_caco3, ph)
    measured_temp_c = numbers("measuring temperature", measured_temp_c)
    if operating_temp_c is not None:
        operating_temp_c = numbers("operating temperature", operating_temp_c)
    ions = {k: v for k, v in found_mg_l.items() if k not in {"hco3", "co3"}}
    totals = molal_totals(ions, np.nan_to_num(alkalinity))
    no_carbon = alkalinity == 0.0  # as PHREEQC reads it: pH stands, and there is no carbonate
    alk_eq_kg = np.where(np.isfinite(alkalinity), totals.alkalinity_eq_kg, np.nan)
    found = speciate(
        totals.mol_kg,
        temp_c=measured_temp_c,
        ph=ph,
        alkalinity_eq_kg=np.where(no_carbon, np.nan, alk_eq_kg),
    )
    alk_eq_kg = np.where(no_carbon, found.alkalinity_eq_kg, alk_eq_kg)
    target = measured_temp_c if operating_temp_c is None else operating_temp_c
    moved = np.any(np.asarray(target) != np.asarray(measured_temp_c))
    if moved or np.ndim(target) > np.ndim(found.ph):
        known = np.isfinite(alk_eq_kg)
        found = speciate(
            totals.mol_kg,
            temp_c=target,
            ph=np.where(known, np.nan, ph),
            alkalinity_eq_kg=np.where(known, alk_eq_kg, np.nan),
            inorganic_carbon_mol_kg=found.inorganic_carbon_mol_kg,
            near=found,
        )
    return FeedWater(ions, alkalinity, np.asarray(target, float), found)


def exchanged(
    feed: FeedWater,
    mg_l: Mapping[str, Any],
    carbon_lost_mol_kg: Any = 0.0,
    alkalinity_added_mg_l_caco3: Any = 0.0,
) -> FeedWater:
    """Return a feed behind the stages: other ions, and carbon and alkalinity that they changed.

    A softener takes and gives ions without gas or acid, so alkalinity and total inorganic
    carbon stay and pH follows from them; bicarbonate and carbonate released from the pairs
    with calcium and magnesium change it by a few hundredths.

    Parameters
    ----------
    feed : FeedWater
        The feed before the exchange. [-]
    mg_l : mapping of str to float or array
        Composition after it. [mg/L as the ion]
    carbon_lost_mol_kg : float or array
        Carbon dioxide that left the water to the air; it takes no alkalinity with it. [mol/kg]
    alkalinity_added_mg_l_caco3 : float or array
        What base adds; acid, weak acid exchange and oxidation take it, below 0. The carbon
        stays but for what ``carbon_lost_mol_kg`` says. [mg/L as CaCO3]

    Returns
    -------
    FeedWater
        The feed after it, at the same temperature, otherwise closed to the air. [-]
    """
    ions = {k: v for k, v in mg_l.items() if k not in {"hco3", "co3"}}
    before, added = feed.speciation, alkalinity_added_mg_l_caco3
    after = np.asarray(feed.alkalinity_mg_l_caco3, float) + added
    totals = molal_totals(ions, np.nan_to_num(after))
    moved = bool(np.any(added))
    moved_eq_kg = np.asarray(added, float) / CACO3_MG_PER_MEQ / MG_PER_G if moved else 0.0
    known = np.isfinite(feed.alkalinity_mg_l_caco3)  # else pH stands, and no carbonate is counted
    found = speciate(
        totals.mol_kg,
        temp_c=feed.temp_c,
        ph=np.where(known, np.nan, before.ph),
        alkalinity_eq_kg=np.where(known, before.alkalinity_eq_kg + moved_eq_kg, np.nan),
        inorganic_carbon_mol_kg=before.inorganic_carbon_mol_kg - carbon_lost_mol_kg,
        ph_guess=None if moved else before.ph,
        near=before,
    )
    size = np.shape(found.ph)
    alkalinity = np.broadcast_to(after, size)
    return FeedWater(ions, alkalinity, np.broadcast_to(feed.temp_c, size), found)


def widened(feed: FeedWater) -> FeedWater:
    """Return a feed with room for many recoveries: an axis more at the end of its arrays.

    Parameters
    ----------
    feed : FeedWater
        Feeds. [-]

    Returns
    -------
    FeedWater
        The same feeds. [-]
    """
    return FeedWater(
        {k: np.asarray(v)[..., None] for k, v in feed.mg_l.items()},
        np.asarray(feed.alkalinity_mg_l_caco3)[..., None],
        np.asarray(feed.temp_c)[..., None],
        feed.speciation,
    )


def mapped_feed(feed: FeedWater, change: Callable[[Any], Any]) -> FeedWater:
    """Return a feed with every array changed the same way.

    Parameters
    ----------
    feed : FeedWater
        Feeds. [-]
    change : callable
        What to do with each array. [-]

    Returns
    -------
    FeedWater
        The changed feeds, without molalities of species. [-]
    """
    s = feed.speciation
    fields = {
        name: change(getattr(s, name))
        for name in s.__struct_fields__
        if name not in {"totals_mol_kg", "ln_activity", "molality"}
    }
    moved = type(s)(
        totals_mol_kg={k: change(v) for k, v in s.totals_mol_kg.items()},
        ln_activity={k: change(v) for k, v in s.ln_activity.items()},
        molality={},
        **fields,
    )
    return FeedWater(
        {k: change(v) for k, v in feed.mg_l.items()},
        change(feed.alkalinity_mg_l_caco3),
        change(feed.temp_c),
        moved,
    )


def one_of_feed(feeds: FeedWater, index: int) -> FeedWater:
    """Return one water of a one-dimensional feed.

    Parameters
    ----------
    feeds : FeedWater
        Feeds. [-]
    index : int
        Which of them. [-]

    Returns
    -------
    FeedWater
        A single water. [-]
    """
    size = np.size(feeds.ph)
    return mapped_feed(feeds, lambda v: np.broadcast_to(v, (size,))[index])


def some_of_feed(feeds: FeedWater, index: Any) -> FeedWater:
    """Return some of the waters of a one-dimensional feed.

    Parameters
    ----------
    feeds : FeedWater
        Feeds. [-]
    index : array
        Which of them. [-]

    Returns
    -------
    FeedWater
        Those. [-]
    """
    return mapped_feed(feeds, lambda v: v[index])
