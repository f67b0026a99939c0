"""Acid feed: the dose for a pH or an index, what it does to the water, and its feeder."""

import math
from dataclasses import replace

import numpy as np

from pretreat.core.basis import citations
from pretreat.core.errors import OutOfRangeError
from pretreat.core.units import molar_mass
from pretreat.membrane.acid import HYDROCHLORIC, SULFURIC, Acid, dose_for_index
from pretreat.membrane.bands import Limits
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.limits import limits_from
from pretreat.stages.acid import laws
from pretreat.stages.carbonate import alkalinity_for_ph, enter_ph, water_needed
from pretreat.stages.dosing.figures import chemicals, enter_feeder
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P, DOSE = "acid", "acid.dose_mg_l"
ACIDS = {"sulfuric": SULFURIC, "hydrochloric": HYDROCHLORIC}


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the acid: less alkalinity, more of the anion, the same carbon.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]

    Returns
    -------
    Stream
        The water behind it. [-]
    """
    entries, choice = train.entries, train.design.acid
    acid = ACIDS[choice.acid]
    _enter_dose(train, stream, acid)
    taken = entries.law(
        f"{P}.alkalinity_taken_mg_l_caco3",
        laws.alkalinity_taken_mg_l_caco3,
        dose_mg_l=DOSE,
        alkalinity_mg_mg=acid.alkalinity_per_mg,
        label="Alkalinity that the acid takes",
    )
    before = stream.alkalinity_mg_l_caco3
    if before is not None and taken > before:
        raise OutOfRangeError(
            f"[acid] dose of {entries.value(DOSE):g} mg/L takes {taken:.0f} mg/L of alkalinity as "
            f"CaCO3; the water has {before:.0f}: lower the dose, or give target_ph"
        )
    added = entries.law(
        f"{P}.{acid.anion}_added_mg_l",
        laws.anion_added_mg_l,
        dose_mg_l=DOSE,
        anion_mg_mg=molar_mass(acid.anion_formula) / molar_mass(acid.formula),
        label=f"{'Sulfate' if acid.anion == 'so4' else 'Chloride'} that the acid adds",
    )
    entries.law(
        f"{P}.co2_freed_mg_l",
        laws.co2_freed_mg_l,
        alkalinity_mg_l_caco3=f"{P}.alkalinity_taken_mg_l_caco3",
        label="Carbon dioxide that the acid frees, at most",
    )
    behind = replace(
        stream,
        mg_l={**stream.mg_l, acid.anion: stream.mg_l.get(acid.anion, 0.0) + added},
        alkalinity_mg_l_caco3=None if before is None else before - taken,
    )
    enter_ph(train, behind, P, "acid feed", DOSE)
    if added > 0:
        _warn(train, acid)
    return behind


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter the feeder of the acid.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with. [-]
    """
    chemical = chemicals()[train.design.acid.acid]
    enter_feeder(train, P, DOSE, chemical, year="dosing.acid_kg_per_year")


def _enter_dose(train: Train, stream: Stream, acid: Acid) -> None:
    entries, choice = train.entries, train.design.acid
    label = f"Dose of {acid.name}, as 100 %"
    if choice.dose_mg_l is not None:
        entries.given(DOSE, choice.dose_mg_l, "mg/L", label, origin="chosen", cites=())
        return
    water = water_needed(train, stream, P, 'dose = "20 mg/L"')
    if choice.target_ph is not None:
        dose, target = _dose_for_ph(train, water, acid, choice.target_ph)
    else:
        dose, target = _dose_for_index(train, water, acid)
    keys = ("water.ph", "water.alkalinity_mg_l_caco3", target)
    entries.computed(
        DOSE,
        dose,
        "mg/L",
        label,
        inputs=tuple(key for key in keys if key in entries.ledger),
        method="speciation, closed to the air",
        cites=citations(dose_for_index),
    )


def _dose_for_ph(train: Train, water: FeedWater, acid: Acid, ph: float) -> tuple[float, str]:
    """Return the dose for a pH, and the key of that pH."""
    key = f"{P}.target_ph"
    train.entries.given(key, ph, "-", "pH wanted behind the acid", origin="chosen", cites=())
    if float(water.ph) <= ph:
        train.entries.flag(
            "acid_needless",
            "info",
            f"the water is at pH {float(water.ph):.2f}, not above the {ph:g} wanted: no acid",
            key,
        )
        return 0.0, key
    ions = {acid.anion: acid.anion_per_mg / acid.alkalinity_per_mg}
    taken = -alkalinity_for_ph(water, ph, ions)
    if math.isnan(taken):
        raise OutOfRangeError(
            f"[acid] target_ph = {ph:g}: takes more than all alkalinity of the water; the acid of "
            "a membrane feed stays above pH 5: raise it"
        )
    return taken / acid.alkalinity_per_mg, key


def _dose_for_index(train: Train, water: FeedWater, acid: Acid) -> tuple[float, str]:
    """Return the dose that brings the index of the concentrate to its target, and its key."""
    design, key = train.design, f"{P}.target_lsi"
    limits = limits_from(design.limits, design.limits.inhibitor)
    own = design.acid.target_lsi
    if own is not None:
        limits = Limits(own, own, limits.si, limits.k_chart)
    train.entries.given(
        key,
        float(limits.lsi),
        "-",
        "Langelier index of the concentrate that the acid brings about",
        origin="assumed" if own is None else "chosen",
        method="the limit in force" if own is None else "",
        cites=(),
    )
    recovery = np.array([design.machine.recovery])
    found = dose_for_index(water, [acid], recovery, limits, train.membrane)
    if not bool(np.all(found.enough)):
        train.entries.flag(
            "acid_not_enough",
            "warning",
            f"even {float(found.dose_mg_l[0]):.0f} mg/L of {acid.name}, nearly all of the "
            "alkalinity, leaves the carbonate index above its target: lower the recovery",
            DOSE,
        )
    return float(found.dose_mg_l[0]), key


def _warn(train: Train, acid: Acid) -> None:
    rise = (
        "the indexes of barium, strontium and calcium sulfate rise with it (they are computed "
        "with it here)"
        if acid.anion == "so4"
        else "sulfate scales do not rise with it"
    )
    train.entries.flag(
        "acid_feed",
        "caution",
        f"{acid.name}: {rise}; the carbon dioxide set free passes the membranes and makes the "
        "product acid: strip or neutralise it there. Interlock with the flow, low-pH stop, check "
        "valve, anti-siphon",
        DOSE,
    )
