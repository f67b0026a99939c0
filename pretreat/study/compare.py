"""Softener, inhibitor and acid on the same water: dose, chemical, what limits, and why."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from pretreat.basis import Series, Value, cites
from pretreat.chemistry.speciation import molal_totals, speciate
from pretreat.design import DesignBasis
from pretreat.membrane.concentrate import FeedWater, concentrate, feed_water
from pretreat.membrane.recovery import recovery_limit
from pretreat.results import Ledger
from pretreat.sizing.packages import support
from pretreat.sizing.streams import RawWater
from pretreat.study.limits import MembranePoint, limits_from
from pretreat.study.quote_lines import Till, enter_price
from pretreat.study.train_entries import Entries
from pretreat.units import CACO3_MG_PER_MEQ, molar_mass

CACO3_PER_ACID = CACO3_MG_PER_MEQ * 2.0 / molar_mass("H2SO4")  # STOICHIOMETRY: 1.0205 mg/mg
SULFATE_PER_ACID = molar_mass("SO4") / molar_mass("H2SO4")
LEFT_MOST = 0.02  # part of the alkalinity that is never taken away: below it pH falls steeply
STEPS = 50


@dataclass(frozen=True, slots=True)
class Option:
    """One way to keep scale off: chemical, dose [mg/L of feed], use [kg/year] and its reach."""

    name: str
    chemical: str
    dose: float | None
    kg_per_year: float | None
    price: float | None
    waste_m3_year: float
    recovery: float | None
    limited_by: Value
    why: str

    def row(self, wanted: float) -> tuple[Value, ...]:
        """Return the row of the table."""
        cost = None if self.kg_per_year is None or self.price is None else (
            self.kg_per_year * self.price)  # fmt: skip
        reach = "not known" if self.recovery is None else (
            "yes" if self.recovery >= wanted else "no")  # fmt: skip
        return (self.name, self.chemical, self.dose, self.kg_per_year, cost, self.waste_m3_year,
                self.recovery, reach, self.limited_by, self.why)  # fmt: skip


def enter_compare(ledger: Ledger, raw: RawWater, design: DesignBasis) -> None:
    """Enter the comparison of the ways to keep scale off the membranes.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go; the study and media life are entered before. [-]
    raw : RawWater
        The water ahead of the first stage. [-]
    design : DesignBasis
        The engineer's choices. [-]
    """
    if raw.from_test_kit or ledger.number("untreated.recovery.max") is None:
        return
    till = Till(Entries(ledger), design.prices)
    options = [_nothing(ledger), _softener(till), _inhibitor(till), _acid(till, raw, design)]
    wanted = design.machine.recovery
    rows = tuple(option.row(wanted) for option in options if option is not None)
    ledger.table(
        Series("compare.options", "Ways to keep scale off the membranes, on the same water",
               ("option", "chemical", "dose_mg_l", "kg_per_year", "cost_per_year", "waste_m3_year",
                "recovery", "reaches", "limited_by", "why"),
               ("-", "-", "mg/L", "kg/year", f"{till.currency}/year", "m3/year", "-", "-", "-",
                "-"), rows,
               headings=("Way", "Chemical", "Dose in the feed", "Chemical per year",
                         "Cost of the chemical", "Waste of regenerations", "Recovery reached",
                         "Recovery wanted is reached", "Then limited by", "Why, and what to mind"),
               cites=("PRACTICE", "STOICHIOMETRY"),
               method="chemicals alone: no vessels, dosing sets, labour or water")
    )  # fmt: skip


def _nothing(ledger: Ledger) -> Option:
    return Option("nothing", "none", 0.0, 0.0, 0.0, 0.0, ledger.number("untreated.recovery.max"),
                  _word(ledger, "untreated.recovery.limited_by"),
                  "the raw water as it is, at the limits in force")  # fmt: skip


def _word(ledger: Ledger, key: str) -> Value:
    figure = ledger.figure(key)
    return None if figure is None else figure.value


def _softener(till: Till) -> Option | None:
    ledger = till.entries.ledger
    salt = ledger.number("consumables.salt_per_year")
    if salt is None:
        return None
    water = till.entries.value("media_life.water_m3_per_year")
    waste = (ledger.number("softener.waste_m3_per_regeneration") or 0.0) * till.entries.value(
        "media_life.softener_cycles_per_year"
    )
    return Option(
        "softener", "salt", salt / water * 1000.0, salt, _price(till, "salt_per_kg", "Salt"), waste,
        ledger.number("recovery.max"), _word(ledger, "recovery.limited_by"),
        "takes calcium, barium and strontium, so carbonate and sulfate scale both; also the last "
        "iron; adds sodium, sends brine to the drain (codes may forbid it); does nothing against "
        "silica",
    )  # fmt: skip


def _price(till: Till, name: str, label: str) -> float | None:
    return enter_price(till, name, "kg", label) if not till.silent else None


def _inhibitor(till: Till) -> Option:
    ledger, rows = till.entries.ledger, support()
    dose = rows["inhibitor_dose_mg_l"].value
    low, high = rows["inhibitor_dose_low_mg_l"].value, rows["inhibitor_dose_high_mg_l"].value
    kilograms = dose * till.entries.value("media_life.water_m3_per_year") / 1000.0
    return Option(
        "inhibitor", "scale inhibitor", dose, kilograms,
        _price(till, "inhibitor_per_kg", "Scale inhibitor"), 0.0,
        ledger.number("untreated.recovery.max_inhibited"),
        _word(ledger, "untreated.recovery.limited_by_inhibited"),
        f"{low:g} to {high:g} mg/L is common practice, the maker's dose and limits govern; small "
        "dose, no brine; delays scale but takes nothing out, and iron ahead of it must be gone",
    )  # fmt: skip


@cites("STOICHIOMETRY", "1.0205 mg of alkalinity as CaCO3 per mg of sulfuric acid")
def _acid(till: Till, raw: RawWater, design: DesignBasis) -> Option | None:
    from pretreat.study import membrane_point

    if raw.ph is None or raw.alkalinity_mg_l_caco3 is None:
        return None
    point = membrane_point(design.machine)
    feed = feed_water(dict(raw.mg_l), raw.alkalinity_mg_l_caco3, raw.ph,
                      _measured_c(till.entries.ledger, raw), raw.temperature_c)  # fmt: skip
    limits = limits_from(replace(design.limits, inhibitor=False), False)
    removed = alkalinity_to_remove_mg_l(feed, point, limits.lsi)
    if removed is None:
        return Option("acid", "sulfuric acid", None, None, None, 0.0, None, "calcite",
                      "acid alone does not bring the index to its limit")  # fmt: skip
    dose = removed / CACO3_PER_ACID
    found = recovery_limit(acidified(feed, removed), limits, point.passage, point.rho, None,
                           point.wall_factor)  # fmt: skip
    kilograms = dose * till.entries.value("media_life.water_m3_per_year") / 1000.0
    price = _price(till, "acid_per_kg", "Sulfuric acid (as 100 %)")
    return Option(
        "acid", "sulfuric acid (as 100 %)", dose, kilograms, price, 0.0,
        float(np.asarray(found.maximum)), str(found.limited_by),
        "takes alkalinity, so carbonate scale alone; adds sulfate, which brings gypsum and barite "
        "nearer, and carbon dioxide, which passes into the product; strong acid: trained people, "
        "local codes, never near hypochlorite",
    )  # fmt: skip


def _measured_c(ledger: Ledger, raw: RawWater) -> float:
    found = ledger.number("water.ph_temperature_c")
    return raw.temperature_c if found is None else found


def acidified(feed: FeedWater, removed_mg_l_caco3: Any) -> FeedWater:
    """Return a feed after sulfuric acid: less alkalinity, more sulfate, the same carbon.

    Parameters
    ----------
    feed : FeedWater
        A single feed. [-]
    removed_mg_l_caco3 : float or array
        Alkalinity taken away. [mg/L as CaCO3]

    Returns
    -------
    FeedWater
        The feed behind the acid, in a closed system. [-]
    """
    removed = np.asarray(removed_mg_l_caco3, float)
    sulfate = feed.mg_l.get("so4", 0.0) + removed / CACO3_PER_ACID * SULFATE_PER_ACID
    ions: Mapping[str, Any] = {
        **{key: amount + 0.0 * removed for key, amount in feed.mg_l.items()}, "so4": sulfate
    }  # fmt: skip
    alkalinity = feed.alkalinity_mg_l_caco3 - removed
    totals = molal_totals(ions, alkalinity)
    found = speciate(
        totals.mol_kg,
        temp_c=feed.temp_c + 0.0 * removed,
        ph=np.full(removed.shape, np.nan),
        alkalinity_eq_kg=totals.alkalinity_eq_kg,
        inorganic_carbon_mol_kg=feed.speciation.inorganic_carbon_mol_kg + 0.0 * removed,
    )
    return FeedWater(ions, alkalinity, feed.temp_c + 0.0 * removed, found)


def alkalinity_to_remove_mg_l(
    feed: FeedWater, point: MembranePoint, limit: float
) -> float | None:
    """Return the alkalinity to take away until the concentrate's carbonate index meets a limit.

    Parameters
    ----------
    feed : FeedWater
        A single feed. [-]
    point : MembranePoint
        Recovery, passage and recycle. [-]
    limit : float
        Limit of the index. [-]

    Returns
    -------
    float or None
        Alkalinity, 0 where the index is below its limit already; None where acid does not
        bring it there. [mg/L as CaCO3]
    """
    tried = np.linspace(0.0, (1.0 - LEFT_MOST) * float(feed.alkalinity_mg_l_caco3), STEPS + 1)
    brine = concentrate(acidified(feed, tried), point.recovery, point.passage, point.rho,
                        point.wall_factor)  # fmt: skip
    excess = np.asarray(brine.carbonate_index(), float) - limit
    below = np.flatnonzero(excess <= 0.0)
    if not below.size:
        return None
    last = int(below[0])
    if last == 0:
        return 0.0
    share = excess[last - 1] / (excess[last - 1] - excess[last])
    return float(tried[last - 1] + share * (tried[last] - tried[last - 1]))
