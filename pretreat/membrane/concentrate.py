"""From feed to concentrate: mass balance, carbon dioxide, pH and the indexes of the brine.

Arrays broadcast: waters on the leading axes, recoveries on the last.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
from msgspec import Struct

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
from pretreat.core.units import HCO3_PER_CACO3
from pretreat.membrane.balance import (
    ALKALINITY,
    NO_PASSAGE,
    Passage,
    by_component,
    carbon_passage,
    concentration_factor,
    concentration_factors,
    neutral_passage,
)
from pretreat.membrane.checks import checked_machine, same_shape
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.recycle import array_carbon
from pretreat.site.design import KChart

__all__ = [
    "NO_PASSAGE",
    "Concentrate",
    "Passage",
    "concentrate",
    "concentrate_tds_mg_l",
    "concentration_factor",
    "trade_co2_mol_l",
]

PH_RISE = 0.6  # per decade of concentration, where to start looking; the solver finds the rest
NO_CARBON_MOL_KG = 1e-20  # less is what the solver leaves where there is none


class Concentrate(Struct, frozen=True):
    """The drain of the machine at one or many recoveries; arrays of the common shape.

    ``passage`` holds what passes of each ion where the product is neutral; ``settled`` is
    False where the inorganic carbon of a recycling array was not found, and the water is NaN.
    """

    recovery: Any
    mg_l: Mapping[str, Any]
    alkalinity_mg_l_caco3: Any
    tds_mg_l: Any
    speciation: Speciation
    trade: TradeWater
    feed_co2_mol_l: Any
    array_feed_co2_mol_kg: Any
    array_feed_carbon_mol_kg: Any
    passage: Passage
    settled: Any

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
        return self._langelier(self.ph_d3739)

    def _langelier(self, ph: Any) -> Any:
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
        return self._stiff_davis(self.ph_d3739, chart)

    def _stiff_davis(self, ph: Any, chart: KChart | None) -> Any:
        water, k = self.trade, None
        if chart is not None:
            k = chart_k(chart, water.ionic_strength_mol_kg, water.temp_c)
        return stiff_davis(water, ph, k)

    def any_indexes(self, chart: KChart | None = None) -> tuple[Any, Any]:
        """Return `any_lsi` and `any_sdsi`, from one pH."""
        ph = self.ph_d3739
        return self._langelier(ph), self._stiff_davis(ph, chart)

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
    passage : mapping of str to float or array
        Salt passage by analyte key, made electroneutral before it is used. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]
    wall_factor : float
        Concentration polarisation: at the membrane / in bulk; 1 is bulk. [-]

    Returns
    -------
    Concentrate
        Composition, speciation and what the indexes need; NaN where a water, a recovery or a
        recycle could not be computed. [-]

    Raises
    ------
    OutOfRangeError
        If a single recovery, a passage, the recycle or the wall factor is one that no machine has.
    DesignError
        If a passage is that of no ion.
    """
    recovery = checked_machine(recovery, passage, rho, wall_factor)
    same_shape({"feed": feed.ph, "recovery": recovery})
    own = neutral_passage(feed, recovery, passage, rho)
    rejected = concentration_factors(recovery, own, rho)
    if wall_factor != 1.0:
        rejected = {k: v * wall_factor for k, v in rejected.items()}
    mg_l = {k: v * rejected[k] for k, v in feed.mg_l.items()}
    alkalinity = feed.alkalinity_mg_l_caco3 * rejected[ALKALINITY]
    found = feed.speciation
    totals = by_component(feed, rejected)
    alk_eq_kg = (
        np.where(np.isfinite(feed.alkalinity_mg_l_caco3), found.alkalinity_eq_kg, np.nan)
        * rejected[ALKALINITY]
    )
    carbon, co2, array_carbon_mol_kg, settled = _carbon(feed, recovery, own, rho, wall_factor)
    if recovery.ndim == 0 and recovery == 0.0 and wall_factor == 1.0:
        brine = found  # no water is taken out: the drain is the feed
    else:
        brine = speciate(
            totals,
            temp_c=feed.temp_c,
            ph=np.where(np.isfinite(alk_eq_kg), np.nan, found.ph),
            alkalinity_eq_kg=alk_eq_kg,
            inorganic_carbon_mol_kg=carbon,
            ph_guess=found.ph + PH_RISE * np.log10(rejected[ALKALINITY]),
            near=found,
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
        array_carbon_mol_kg,
        own,
        settled,
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
    own = neutral_passage(feed, recovery, passage, rho)
    factors = concentration_factors(recovery, own, rho)
    if all(factor is factors[ALKALINITY] for factor in factors.values()):
        return feed.tds_mg_l * factors[ALKALINITY] * wall_factor
    mg_l = {k: v * factors[k] for k, v in feed.mg_l.items()}
    alkalinity = np.nan_to_num(np.asarray(feed.alkalinity_mg_l_caco3, float))
    return tds_mg_l(mg_l, HCO3_PER_CACO3 * alkalinity * factors[ALKALINITY]) * wall_factor


def _carbon(
    feed: FeedWater, recovery: Any, passage: Passage, rho: float, wall_factor: float
) -> tuple[Any, Any, Any, Any]:
    """Return total inorganic carbon of the concentrate, CO2 and carbon of the array feed.

    CO2 passes the membrane; what the rest of the carbon does follows the bicarbonate. Last
    comes whether a recycling array settled.
    """
    found = feed.speciation
    none = not np.any(np.asarray(found.inorganic_carbon_mol_kg) > NO_CARBON_MOL_KG)
    if rho == 0.0 or none:  # of no carbon a recycle brings none back
        ct, co2 = found.inorganic_carbon_mol_kg, found.co2_mol_kg
        factor = concentration_factor(recovery, carbon_passage(passage))
        carbon = (ct - co2) * factor * wall_factor + co2
        return carbon, co2 + 0 * recovery, ct + 0 * recovery, np.ones(np.shape(carbon), bool)
    loop = array_carbon(feed, recovery, passage, rho)
    carbon = (loop.concentrate - loop.co2) * wall_factor + loop.co2
    return carbon, loop.co2, loop.array_feed, loop.settled
