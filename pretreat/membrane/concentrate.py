"""From feed to concentrate: mass balance, carbon dioxide, pH and the indexes of the brine.

Arrays broadcast: waters on the leading axes, recoveries on the last. With recovery ``Y`` =
product / fresh feed and ``rho`` = recycle / (fresh feed + recycle), the array sees the feed
mixed with recycled concentrate; without recycle everything reduces to the familiar form.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from pretreat.chemistry.carbonate import bicarbonate_mol_l, log10_k1, monovalent_pf
from pretreat.chemistry.composition import tds_mg_l
from pretreat.chemistry.indexes import (
    LSI_STRENGTH,
    LSI_TDS_LIMIT_MG_L,
    SDSI_STRENGTH,
    TradeWater,
    chart_k,
    hand_phs,
    langelier_phs,
    ph_d3739,
    stiff_davis,
)
from pretreat.chemistry.speciation import Speciation, speciate
from pretreat.core.basis import cites
from pretreat.core.tables import analytes
from pretreat.core.units import HCO3_PER_CACO3
from pretreat.membrane.feed import FeedWater
from pretreat.site.design import KChart

Passage = Mapping[str, float]
NO_PASSAGE: Passage = {}
PH_RISE = 0.6  # per decade of concentration, where to start looking; the solver finds the rest
RECYCLE_ROUNDS = 60
SETTLED = 1e-13


@cites("D4582", "eq. 7.1 and 7.2; with recycle by mass balance")
def concentration_factor(recovery: Any, passage: Any = 0.0, rho: float = 0.0) -> Any:
    """Return concentrate / fresh feed of an ion.

    Parameters
    ----------
    recovery : float or array
        Product / fresh feed, 0 to below 1. [-]
    passage : float or array
        Permeate / array feed concentration of the ion. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]

    Returns
    -------
    float or array
        Concentration factor. [-]
    """
    passed = recovery * passage
    return (1.0 - passed * (1.0 - rho)) / (1.0 - recovery + passed * rho)


def passage_of(passage: Passage, key: str) -> float:
    """Return the salt passage of an ion, or the default of the table.

    Parameters
    ----------
    passage : mapping of str to float
        Salt passage by analyte key, with "default" for the rest. [-]
    key : str
        Key of data/analytes.csv. [-]

    Returns
    -------
    float
        Salt passage, 0 where nothing is given. [-]
    """
    return passage.get(key, passage.get("default", 0.0))


@dataclass(frozen=True, slots=True)
class Concentrate:
    """The drain of the machine at one or many recoveries; arrays of the common shape."""

    recovery: Any
    mg_l: Mapping[str, Any]
    alkalinity_mg_l_caco3: Any
    tds_mg_l: Any
    speciation: Speciation
    trade: TradeWater
    feed_co2_mol_l: Any
    array_feed_co2_mol_kg: Any
    array_feed_carbon_mol_kg: Any

    @property
    def ph(self) -> Any:
        """PH from alkalinity and total inorganic carbon."""
        return self.speciation.ph

    @property
    def ph_d3739(self) -> Any:
        """PH by the D3739 route, from its alkalinity and the feed's CO2."""
        return ph_d3739(self.trade, self.feed_co2_mol_l)

    def lsi(self) -> Any:
        """Langelier index by the D3739 route; NaN where the water is too strong for it."""
        return np.where(self._strength <= LSI_STRENGTH, self.any_lsi(), np.nan)

    def any_lsi(self) -> Any:
        """Langelier index with the constants of PB82, also where it is extrapolated."""
        ph = self.ph_d3739
        return ph - langelier_phs(self.trade, ph)

    @property
    def _strength(self) -> Any:
        return self.trade.ionic_strength_mol_kg

    def lsi_hand(self) -> Any:
        """Langelier index by the closed hand formula, same pH."""
        return self.ph_d3739 - hand_phs(self.trade)

    def sdsi(self, chart: KChart | None = None) -> Any:
        """Stiff and Davis index; NaN where the water is too strong for its K."""
        return np.where(self._strength <= SDSI_STRENGTH[1], self.any_sdsi(chart), np.nan)

    def any_sdsi(self, chart: KChart | None = None) -> Any:
        """Stiff and Davis index, same pH; K from the user's own chart where there is one."""
        water, k = self.trade, None
        if chart is not None:
            k = chart_k(chart, water.ionic_strength_mol_kg, water.temp_c)
        return stiff_davis(water, self.ph_d3739, k)

    def carbonate_index(self) -> Any:
        """LSI up to a TDS of 10 000 mg/L, S&DSI above."""
        return np.where(self.tds_mg_l > LSI_TDS_LIMIT_MG_L, self.any_sdsi(), self.any_lsi())


@cites("D3739", "CO2 from pH and alkalinity, the reverse of the concentrate's pH")
def trade_co2_mol_l(water: TradeWater, ph: Any) -> Any:
    """Return CO2(aq) of a feed by the same constants that give the concentrate's pH.

    Parameters
    ----------
    water : TradeWater
        The feed. [-]
    ph : float or array
        Its pH. [-]

    Returns
    -------
    float or array
        CO2(aq). [mol/L]
    """
    strength, temp = water.ionic_strength_mol_kg, water.temp_c
    hco3 = bicarbonate_mol_l(water.alkalinity_eq_l, ph, strength, temp)
    pf = monovalent_pf(strength, temp)
    return hco3 * 10.0 ** (-pf - ph - log10_k1(temp))


def concentrate(
    feed: FeedWater,
    recovery: Any,
    passage: Passage = NO_PASSAGE,
    rho: float = 0.0,
    wall_factor: float = 1.0,
) -> Concentrate:
    """Return the concentrate at one or many recoveries.

    Parameters
    ----------
    feed : FeedWater
        The feed; arrays with a last axis of length 1 where recoveries are many. [-]
    recovery : float or array
        Product / fresh feed, 0 to below 1. [-]
    passage : mapping of str to float
        Salt passage by analyte key. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]
    wall_factor : float
        Concentration polarisation: at the membrane / in bulk; 1 is bulk. [-]

    Returns
    -------
    Concentrate
        Composition, speciation and what the indexes need. [-]
    """
    recovery = np.asarray(recovery, float)
    rejected = {k: _factor(recovery, passage, k, rho) * wall_factor for k in (*feed.mg_l, "hco3")}
    mg_l = {k: v * rejected[k] for k, v in feed.mg_l.items()}
    alkalinity = feed.alkalinity_mg_l_caco3 * rejected["hco3"]
    found = feed.speciation
    totals = _concentrated_totals(found.totals_mol_kg, rejected)
    alk_eq_kg = (
        np.where(np.isfinite(feed.alkalinity_mg_l_caco3), found.alkalinity_eq_kg, np.nan)
        * rejected["hco3"]
    )
    carbon, co2, array_carbon = _carbon(
        feed, recovery, passage_of(passage, "hco3"), rho, wall_factor
    )
    if recovery.ndim == 0 and recovery == 0.0 and wall_factor == 1.0:
        brine = found  # no water is taken out: the drain is the feed
    else:
        brine = speciate(
            totals,
            temp_c=feed.temp_c,
            ph=np.where(np.isfinite(alk_eq_kg), np.nan, found.ph),
            alkalinity_eq_kg=alk_eq_kg,
            inorganic_carbon_mol_kg=carbon,
            ph_guess=found.ph + PH_RISE * np.log10(rejected["hco3"]),
        )
    tds = tds_mg_l(mg_l, HCO3_PER_CACO3 * np.nan_to_num(alkalinity))
    ca = mg_l.get("ca", np.nan)
    trade = TradeWater(ca, alkalinity, tds, brine.ionic_strength_mol_kg, feed.temp_c)
    fresh = TradeWater(
        feed.mg_l.get("ca", np.nan),
        feed.alkalinity_mg_l_caco3,
        feed.tds_mg_l,
        found.ionic_strength_mol_kg,
        feed.temp_c,
    )
    return Concentrate(
        recovery,
        mg_l,
        alkalinity,
        tds,
        brine,
        trade,
        trade_co2_mol_l(fresh, found.ph),
        co2,
        array_carbon,
    )


def concentrate_tds_mg_l(
    feed: FeedWater, recovery: Any, passage: Passage, rho: float, wall_factor: float
) -> Any:
    """Return the dissolved solids of the concentrate by mass balance alone.

    Parameters
    ----------
    feed : FeedWater
        Feeds. [-]
    recovery : float or array
        Product / fresh feed. [-]
    passage : mapping of str to float
        Salt passage by analyte key. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]
    wall_factor : float
        Concentration polarisation; 1 is bulk. [-]

    Returns
    -------
    float or array
        Sum of ions with the alkalinity as bicarbonate, plus silica. [mg/L]
    """
    mg_l = {k: v * _factor(recovery, passage, k, rho) for k, v in feed.mg_l.items()}
    alkalinity = np.nan_to_num(np.asarray(feed.alkalinity_mg_l_caco3, float))
    hco3 = HCO3_PER_CACO3 * alkalinity * _factor(recovery, passage, "hco3", rho)
    return tds_mg_l(mg_l, hco3) * wall_factor


def _factor(recovery: Any, passage: Passage, key: str, rho: float) -> Any:
    return concentration_factor(recovery, passage_of(passage, key), rho)


def _concentrated_totals(totals: Mapping[str, Any], rejected: Mapping[str, Any]) -> dict[str, Any]:
    by_component = {analytes()[k].component: factor for k, factor in rejected.items()}
    return {n: v * by_component[n] for n, v in totals.items() if n in by_component and n != "CO3"}


def _carbon(
    feed: FeedWater, recovery: Any, passage: float, rho: float, wall_factor: float
) -> tuple[Any, Any, Any]:
    """Return total inorganic carbon of the concentrate, and CO2 and carbon of the array feed.

    CO2 passes the membrane; what the rest of the carbon does follows the bicarbonate. With
    recycle the array feed holds recycled concentrate, so its CO2 is found by repetition.
    """
    found = feed.speciation
    ct, co2 = found.inorganic_carbon_mol_kg, found.co2_mol_kg
    array_recovery = recovery * (1.0 - rho)
    factor = concentration_factor(array_recovery, passage)
    if rho == 0.0:
        return (ct - co2) * factor * wall_factor + co2, co2 + 0 * recovery, ct + 0 * recovery
    brine = (ct - co2) * factor + co2
    mixed, mixed_co2 = ct, co2
    ratio = concentration_factor(recovery, passage, rho)
    alkalinity = found.alkalinity_eq_kg * ((1.0 - rho) + rho * ratio)
    for _ in range(RECYCLE_ROUNDS):
        mixed = (1.0 - rho) * ct + rho * brine
        share = _mixed_feed(feed, recovery, passage, rho, alkalinity, mixed)
        mixed_co2 = share.co2_mol_kg
        following = (mixed - mixed_co2) * factor + mixed_co2
        settled = np.all(np.abs(following - brine) <= SETTLED * np.abs(brine) + 1e-18)
        brine = following
        if settled:
            break
    return (brine - mixed_co2) * wall_factor + mixed_co2, mixed_co2, mixed


def _mixed_feed(
    feed: FeedWater, recovery: Any, passage: float, rho: float, alkalinity: Any, carbon: Any
) -> Speciation:
    """Speciate the array feed: fresh feed mixed with recycled concentrate."""
    ratio = (1.0 - rho) + rho * concentration_factor(recovery, passage, rho)
    totals = {n: v * ratio for n, v in feed.speciation.totals_mol_kg.items() if n != "CO3"}
    return speciate(
        totals, temp_c=feed.temp_c, alkalinity_eq_kg=alkalinity, inorganic_carbon_mol_kg=carbon
    )
