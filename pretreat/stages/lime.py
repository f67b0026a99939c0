"""Calcite over saturation behind a stage that lifts the pH, ahead of tanks and beds."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from pretreat.chemistry.ccpp import calcite_equilibrium, ccpp_mg_l
from pretreat.chemistry.indexes import TradeWater, langelier_phs
from pretreat.core.basis import Level, citations
from pretreat.membrane.feed import FeedWater
from pretreat.stages.carbonate import carbonate_keys, water_here
from pretreat.stages.limits import train_limits
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

FLAG = "calcite_in_beds"
LIFT_PH = ("aeration", "alkali", "degasser")  # and a raw tank open to the air
TANK = "raw_tank"
NAMES = {
    "aeration": "aerator",
    "alkali": "alkali feed",
    "degasser": "degasser",
    TANK: "vented raw tank",
}
TAKERS = {
    "contact_tank": "contact tank",
    "multimedia": "multimedia filter",
    "iron_filter": "iron filter",
    "carbon": "carbon",
    "softener": "softener",
    "cartridge": "cartridge filter",
}


class Lime(Struct, frozen=True):
    """Calcite behind a stage: pH, Langelier index, and what can come down [mg/L as CaCO3]."""

    stage: str
    ph: float
    index: float
    mg_l_caco3: float

    def over(self, end: str = "") -> bool:
        """Tell whether both the index and the amount are over a pair of limits."""
        limits = train_limits()
        return (
            self.index > limits[f"bed_lsi{end}"].value
            and self.mg_l_caco3 > limits[f"bed_calcite{end}"].value
        )


def lifts_ph(train: Train, key: str) -> bool:
    """Tell whether a stage takes carbon dioxide or adds alkali.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    key : str
        Key of the stage. [-]

    Returns
    -------
    bool
        A raw tank does where it is open to the air. [-]
    """
    return key in LIFT_PH or (key == TANK and train.design.supply.vented_raw_tank)


def enter_lime(train: Train, behind: Sequence[tuple[str, Stream]], keys: Sequence[str]) -> None:
    """Enter calcite behind the stages that lift the pH; flag the worst where it is over limits.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    behind : sequence of tuple
        Key of each such stage, and the water behind it. [-]
    keys : sequence of str
        All stages ahead of the membranes, in the order of flow. [-]
    """
    found = [one for key, stream in behind if (one := _lime(train, stream, key)) is not None]
    over = [one for one in found if one.over()]
    if not over:
        return
    worst = max(over, key=lambda one: one.mg_l_caco3)
    level: Level = "warning" if worst.over("_most") else "caution"
    train.entries.flag(FLAG, level, _words(worst, keys), f"{worst.stage}.lsi")


def _lime(train: Train, stream: Stream, key: str) -> Lime | None:
    water = water_here(train, stream)
    if water is None or not np.isfinite(float(np.asarray(water.ph))):
        return None
    ph, index = float(np.asarray(water.ph)), _langelier(water)
    amount = float(np.asarray(ccpp_mg_l(water.speciation))) if np.isfinite(index) else np.nan
    if not np.isfinite(index) or not np.isfinite(amount):
        return None
    moved = (f"{key}.co2_stripped_mg_l", f"{key}.dose_mg_l")
    rests = carbonate_keys(train.entries.ledger, stream, *moved)
    name = NAMES[key]
    train.entries.computed(
        f"{key}.lsi",
        index,
        "-",
        f"Langelier index behind the {name}",
        inputs=rests,
        method="pH behind it less pHs",
        cites=citations(langelier_phs),
    )
    train.entries.computed(
        f"{key}.ccpp_mg_l_caco3",
        amount,
        "mg/L as CaCO3",
        f"Calcite that can come down behind the {name}",
        inputs=rests,
        method="closed system brought to saturation; below 0 it dissolves",
        cites=citations(calcite_equilibrium),
    )
    return Lime(key, ph, index, amount)


def _langelier(water: FeedWater) -> float:
    calcium = water.mg_l.get("ca")
    if calcium is None or not float(np.asarray(calcium)) > 0:
        return float("nan")
    trade = TradeWater(
        np.asarray(calcium, float),
        np.asarray(water.alkalinity_mg_l_caco3, float),
        water.tds_mg_l,
        water.speciation.ionic_strength_mol_kg,
        water.temp_c,
    )
    return float(np.asarray(water.ph)) - float(np.asarray(langelier_phs(trade, water.ph)))


def _words(one: Lime, keys: Sequence[str]) -> str:
    limits = train_limits()
    index, amount = limits["bed_lsi"], limits["bed_calcite"]
    following = keys[list(keys).index(one.stage) + 1 :]
    names = [text for key, text in TAKERS.items() if key in following and key != "cartridge"]
    where = ", ".join(names) or "the tank and the cartridge filter"
    far = one.over("_most")
    still = one.ph - (one.index - index.value)
    head = (
        f"lime ahead of the membranes: behind the {NAMES[one.stage]} (pH {one.ph:.1f}) the "
        f"Langelier index is {one.index:+.2f} and {one.mg_l_caco3:.0f} mg/L of CaCO3 can come "
        f"down in {where} and at the injection point; at most about {index.value:+.1f} with "
        f"{amount.value:g} mg/L ({index.evidence})"
    )
    less = f"lift the pH no higher than about {still:.1f}"
    less += " ([alkali] target_ph)" if one.stage == "alkali" else " (strip less, or not at all)"
    ways = (
        f"{less}, or take an oxidant that does without; a threshold inhibitor ahead only by a jar "
        "test, for it holds iron in solution too; plan for acid washes of tank, quill and medium"
    )
    return f"{head}: {'run a pilot before anything is built; ' if far else ''}{ways}"
