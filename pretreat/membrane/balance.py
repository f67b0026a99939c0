"""Salt over the membrane: concentration factors, and the passage that leaves the product neutral.

Arrays broadcast: waters on the leading axes, recoveries on the last. With recovery ``Y`` =
product / fresh feed and ``rho`` = recycle / (fresh feed + recycle), the array sees the feed
mixed with recycled concentrate; without recycle everything reduces to the familiar form.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np

from pretreat.chemistry.composition import CARBONATES, CHARGE_BESIDE_ALKALINITY
from pretreat.chemistry.speciation import Speciation
from pretreat.chemistry.species import LN10, log_k_basis, model
from pretreat.core.basis import cites
from pretreat.core.tables import analytes
from pretreat.core.units import CACO3_MG_PER_MEQ, ZERO_C_IN_K, molar_mass
from pretreat.membrane.feed import FeedWater

Passage = Mapping[str, Any]
NO_PASSAGE: Passage = {}
ALKALINITY = "hco3"  # the key whose passage the alkalinity has
ROUNDS = 60
NEUTRAL = 1e-12  # logarithm of cations / anions of the product
WIDEST = 3.0  # |ln s|: beyond a factor of 20 the analysis lacks a main ion
CARBON = (
    "carbon"  # passage of the inorganic carbon beside CO2, where ammonia parts it from ALKALINITY
)
HALVINGS = 45
COUNTER_IONS = ("na", "cl")


class IonPassage(dict[str, Any]):
    """Passages of ions and of boric acid; what is uncharged at the feed's pH is added to them."""


class MarchedPassage(IonPassage):
    """Passages that the elements give, at the design recovery and against recovery.

    Between the recoveries marched they are linear, beyond them those of the last.
    """

    def __init__(self, design: Mapping[str, Any], recoveries: Any, table: Mapping[str, Any]):
        super().__init__(design)
        self._recoveries = np.asarray(recoveries, float)
        self._table = {k: np.asarray(v, float) for k, v in table.items()}

    def at(self, key: str, recovery: Any) -> Any:
        """Return the passage of an ion at recoveries. [-]."""
        if key not in self._table:
            return passage_of(self, key)
        return np.interp(recovery, self._recoveries, self._table[key])


class NamedPassage(dict[str, Any]):
    """Passages as a person names them: kept as given, the rest closes the balance."""


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


def concentration_factors(recovery: Any, passages: Passage, rho: float = 0.0) -> dict[str, Any]:
    """Return concentrate / fresh feed of every ion; of ions that share a passage once.

    Parameters
    ----------
    recovery : float or array
        Product / fresh feed, 0 to below 1. [-]
    passages : mapping of str to float or array
        Of every ion, as `neutral_passage` gives them. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]

    Returns
    -------
    dict of str to float or array
        Concentration factors. [-]
    """
    each = {id(passage): passage for passage in passages.values()}
    found = {key: concentration_factor(recovery, one, rho) for key, one in each.items()}
    return {ion: found[id(passage)] for ion, passage in passages.items()}


def array_factor(recovery: Any, passage: Any = 0.0, rho: float = 0.0) -> Any:
    """Return array feed / fresh feed of an ion: fresh feed mixed with recycled concentrate.

    Parameters
    ----------
    recovery, passage, rho : float or array
        As of `concentration_factor`. [-]

    Returns
    -------
    float or array
        1 without recycle. [-]
    """
    return (1.0 - rho) + rho * concentration_factor(recovery, passage, rho)


def passage_of(passage: Passage, key: str) -> Any:
    """Return the salt passage of an ion, or the default of the table.

    Parameters
    ----------
    passage : mapping of str to float or array
        Salt passage by analyte key, with "default" for the rest. [-]
    key : str
        Key of data/analytes.csv. [-]

    Returns
    -------
    float or array
        Salt passage, 0 where nothing is given. [-]
    """
    return passage.get(key, passage.get("default", 0.0))


@cites("PRACTICE", "cations times s, anions over s, s from the charge of the product")
def neutral_passage(
    feed: FeedWater, recovery: Any, passage: Passage, rho: float = 0.0
) -> dict[str, Any]:
    """Return the salt passage of every ion of a feed at which the product is neutral.

    Passages by class of ion leave more of one charge in the product than of the other, which
    no water can hold. Cations are multiplied by ``s``, anions and alkalinity divided by it,
    what has no charge is left alone; ``s`` follows from the product, recycle included. One
    passage for all ions is left as it is: its product is as neutral as the analysis. A product
    without cations or without anions, and a water of unknown alkalinity, have no ``s``.

    Of a `NamedPassage` the ions named keep theirs (`_closed`). To an `IonPassage` the share of
    ammonia and of boron that has another form at the feed's pH is added (`_uncharged`); a
    `MarchedPassage` is that of each recovery.

    Parameters
    ----------
    feed : FeedWater
        The fresh feed. [-]
    recovery : float or array
        Product / fresh feed. [-]
    passage : mapping of str to float
        Salt passage by analyte key, as given. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]

    Returns
    -------
    dict of str to float or array
        Salt passage by analyte key, bicarbonate included. [-]
    """
    keys = (*feed.mg_l, ALKALINITY)
    if isinstance(passage, MarchedPassage):
        given = {k: np.asarray(passage.at(k, recovery), float) for k in keys}
    else:
        given = {k: np.asarray(passage_of(passage, k), float) for k in keys}
    if all(np.ndim(v) == 0 and v == given[ALKALINITY] for v in given.values()):
        return dict.fromkeys(keys, given[ALKALINITY])
    cations, anions = _equivalents(feed)
    if isinstance(passage, NamedPassage):
        return _closed(cations, anions, given, passage, recovery, rho)
    gas: Any = 0.0
    if isinstance(passage, IonPassage) and "nh4" in cations:
        # ammonia counts as ammonium and as alkalinity alike: as a gas it leaves both
        gas = np.nan_to_num(ammonia_share(feed.speciation)) * cations["nh4"]
        gas = np.minimum(gas, np.nan_to_num(anions[ALKALINITY]))
        cations["nh4"], anions[ALKALINITY] = cations["nh4"] - gas, anions[ALKALINITY] - gas
    every = frozenset(given)
    ln_s = _ln_s(cations, anions, given, every, recovery, rho)
    found = {k: _scaled(v, _sign(k) * ln_s) for k, v in given.items()}
    return _uncharged(feed, found, gas, recovery, rho) if isinstance(passage, IonPassage) else found


def _ln_s(
    cations: Mapping[str, Any],
    anions: Mapping[str, Any],
    given: Mapping[str, Any],
    free: frozenset[str],
    recovery: Any,
    rho: float,
) -> Any:
    """Return the logarithm of s that leaves the product neutral if only free ions take it."""
    amounts = (*cations.values(), *anions.values())
    ln_s = np.zeros(np.broadcast_shapes(np.shape(recovery), *map(np.shape, amounts)))
    for _ in range(ROUNDS):
        more, less = (
            _product_eq(cations, given, recovery, rho, ln_s, free),
            _product_eq(anions, given, recovery, rho, -ln_s, free),
        )
        sound = (more > 0) & (less > 0)
        ratio = np.where(sound, less, 1.0) / np.where(sound, more, 1.0)
        step = 0.5 * np.log(ratio)
        ln_s = np.clip(ln_s + step, -WIDEST, WIDEST)
        if np.all(np.abs(step) < NEUTRAL):
            break
    return ln_s


def _closed(
    cations: Mapping[str, Any],
    anions: Mapping[str, Any],
    given: dict[str, Any],
    passage: Passage,
    recovery: Any,
    rho: float,
) -> dict[str, Any]:
    """Return the passages named, and the others at which the product is neutral.

    What is tried, water by water, until one closes the balance: the ions with the default
    passage by ``s``; then, of the sign that is short, sodium or chloride if not named, every
    ion not named, sodium or chloride though named, every ion; at last less of the other sign.
    """
    named = frozenset(passage) - {"default"}
    free = frozenset(given) - named
    found = dict(given)
    if passage.get("default", 0.0):
        ln_s = _ln_s(cations, anions, given, free, recovery, rho)
        found |= {k: _scaled(given[k], _sign(k) * ln_s) for k in free}

    def miss(own: Mapping[str, Any]) -> Any:
        more = _product_eq(cations, own, recovery, rho, 0.0)
        return more - _product_eq(anions, own, recovery, rho, 0.0)

    def raised(ions: frozenset[str], t: Any, end: float) -> dict[str, Any]:
        return found | {k: found[k] + t * (end - found[k]) for k in ions}

    left = miss(found)
    scale = _product_eq(cations, found, recovery, rho, 0.0)
    scale = scale + _product_eq(anions, found, recovery, rho, 0.0)
    todo = np.isfinite(left) & (np.abs(left) > 1e-9 * scale)
    result = dict(found)
    for sign, short in ((-1, cations), (1, anions)):  # sign of the miss, ions that are short
        other = anions if sign < 0 else cations
        every = frozenset(short)
        usual = every & frozenset(COUNTER_IONS)
        tries = [(group, 1.0) for group in (usual & free, every & free, usual, every) if group]
        for group, end in (*tries, (frozenset(other), 0.0)):
            here = todo & (np.sign(left) == sign)
            here &= sign * miss(raised(group, 1.0, end)) <= 0.0
            if not np.any(here):
                continue
            low, high = np.zeros(np.shape(left)), np.ones(np.shape(left))
            for _ in range(HALVINGS):
                middle = 0.5 * (low + high)
                over = sign * miss(raised(group, middle, end)) <= 0.0
                low, high = np.where(over, low, middle), np.where(over, middle, high)
            closed = raised(group, 0.5 * (low + high), end)
            result |= {k: np.where(here, closed[k], result[k]) for k in group}
            todo = todo & ~here
    return result


@cites("WATEQ4F", "NH4+ = NH3 + H+")
def ammonia_share(water: Speciation) -> Any:
    """Return the share of total ammonia that is the uncharged gas.

    Parameters
    ----------
    water : Speciation
        A speciated water, or many. [-]

    Returns
    -------
    float or array
        NH3(aq) / total ammonia; NaN where there is none. [-]
    """
    return _share_of(water, "NH4", "NH3")


@cites("WATEQ4F", "H3BO3 = H2BO3- + H+")
def boric_acid_share(water: Speciation) -> Any:
    """Return the share of boron that is uncharged boric acid.

    Parameters
    ----------
    water : Speciation
        A speciated water, or many. [-]

    Returns
    -------
    float or array
        H3BO3 / total boron; NaN where there is none. [-]
    """
    return _share_of(water, "B", "H3BO3")


def _share_of(water: Speciation, component: str, species: str) -> Any:
    """Return an uncharged species of a component over its total, from the activities."""
    if component not in water.ln_activity:
        return np.full(np.shape(water.ph), np.nan)
    whole = model()
    at = whole.species.index(species)
    log_k = np.tensordot(whole.log_k[at], log_k_basis(water.temp_c + ZERO_C_IN_K), axes=1)
    log_a = log_k + water.ln_activity[component] / LN10
    log_a = log_a - whole.stoichiometry[at, 0] * water.ph
    log_gamma = whole.slope[at] * water.ionic_strength_mol_kg
    total = np.asarray(water.totals_mol_kg[component], float)
    share = 10.0 ** (log_a - log_gamma) / np.where(total > 0, total, np.nan)
    return np.clip(share, 0.0, 1.0)


@cites("PRACTICE", "ammonia passes as carbon dioxide does, borate as a monovalent anion")
def _uncharged(
    feed: FeedWater, ions: Mapping[str, Any], gas_meq_l: Any, recovery: Any, rho: float
) -> dict[str, Any]:
    """Return the passages of the totals: ammonia passes freely, borate with the alkalinity."""
    found = dict(ions)
    if "b" in found:
        acid = np.nan_to_num(boric_acid_share(feed.speciation), nan=1.0)
        found["b"] = acid * ions["b"] + (1.0 - acid) * np.minimum(ions[ALKALINITY], ions["b"])
    if np.any(gas_meq_l):
        cations, anions = _equivalents(feed)
        for key, whole in (("nh4", cations["nh4"]), (ALKALINITY, anions[ALKALINITY])):
            sound = whole > 0
            free = np.where(sound, gas_meq_l, 0.0) / np.where(sound, whole, 1.0)
            # product / fresh feed: a recycle gathers the ions, and no gas
            part = (1.0 - free) * ions[key] * array_factor(recovery, ions[key], rho) + free
            drain = (1.0 - recovery * part) / (1.0 - recovery)
            found[key] = part / (1.0 - rho + rho * drain)
        found[CARBON] = ions[ALKALINITY]
    return found


def carbon_passage(own: Passage) -> Any:
    """Return the passage of the inorganic carbon that is not CO2.

    Parameters
    ----------
    own : mapping of str to float or array
        As `neutral_passage` returns it. [-]

    Returns
    -------
    float or array
        Passage. [-]
    """
    return own.get(CARBON, own[ALKALINITY])


def by_component(feed: FeedWater, factors: Mapping[str, Any]) -> dict[str, Any]:
    """Return the totals of a feed times a factor per ion, carbonate left out.

    Parameters
    ----------
    feed : FeedWater
        The feed. [-]
    factors : mapping of str to float or array
        Factor by analyte key; an ion without one is left out. [-]

    Returns
    -------
    dict of str to float or array
        Totals by component. [mol/kg of water]
    """
    own = {analytes()[k].component: factor for k, factor in factors.items() if k != CARBON}
    totals = feed.speciation.totals_mol_kg
    return {n: v * own[n] for n, v in totals.items() if n in own and n != "CO3"}


def _sign(key: str) -> int:
    charge = -1 if key == ALKALINITY else analytes()[key].charge
    return int(np.sign(charge))


def _scaled(passage: Any, ln_factor: Any) -> Any:
    """No ion passes better than water: 1 is the most, unless more was given."""
    return np.minimum(passage * np.exp(ln_factor), np.maximum(passage, 1.0))


def _equivalents(feed: FeedWater) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return cations and anions of a feed by key, the alkalinity as bicarbonate. [meq/L]."""
    cations: dict[str, Any] = {}
    anions: dict[str, Any] = {
        ALKALINITY: np.asarray(feed.alkalinity_mg_l_caco3, float) / CACO3_MG_PER_MEQ
    }
    for key, amount in feed.mg_l.items():
        ion = analytes()[key]
        charge = CHARGE_BESIDE_ALKALINITY.get(key, ion.charge)
        if key not in CARBONATES and charge:
            group = cations if charge > 0 else anions
            group[key] = np.asarray(amount, float) * abs(charge) / molar_mass(ion.formula)
    return cations, anions


def _product_eq(
    group: Mapping[str, Any],
    passage: Passage,
    recovery: Any,
    rho: float,
    ln_factor: Any,
    free: frozenset[str] | None = None,
) -> Any:
    total: Any = 0.0
    for key, amount in group.items():
        own = _scaled(passage[key], ln_factor) if free is None or key in free else passage[key]
        total = total + amount * own * array_factor(recovery, own, rho)
    return total
