"""Acid feed: the dose for a pH or an index, what it does to the water, and its feeder."""

import math
from collections.abc import Callable, Mapping

import numpy as np
from msgspec.structs import replace

from pretreat.core.basis import Flag, citations
from pretreat.core.errors import OutOfRangeError
from pretreat.core.units import molar_mass
from pretreat.membrane.acid import (
    HYDROCHLORIC,
    SULFURIC,
    Acid,
    SingleDose,
    acidified,
    doses_apart,
)
from pretreat.membrane.bands import Limits
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.limits import limits_from
from pretreat.membrane.recovery import excesses
from pretreat.stages.acid import laws
from pretreat.stages.carbonate import (
    alkalinity_for_ph,
    carbonate_keys,
    enter_ph,
    water_here,
    water_needed,
)
from pretreat.stages.dosing.figures import chemicals, enter_feeder
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P, DOSE, KIND = "acid", "acid.dose_mg_l", "acid.kind"
PH_MARGIN = 0.25  # PRACTICE: what a pH of the laboratory and the alkalinity leave open of the index
CAUTIOUS = f"the cautious limit with an inhibitor, less {PH_MARGIN:g} for the pH"
NEAR = 0.5  # PRACTICE: of log10; a third of the limit, where no sulfate is added
SULFATES = {"barite": "barium sulfate", "celestite": "strontium sulfate", "gypsum": "gypsum"}
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
    entries = train.entries
    acid = _enter_dose(train, stream)
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
    kind = train.entries.ledger.figure(KIND)
    chemical = chemicals()["" if kind is None else str(kind.value)]
    enter_feeder(train, P, DOSE, chemical, year="dosing.acid_kg_per_year")


def _enter_dose(train: Train, stream: Stream) -> Acid:
    """Enter the dose and what it is for; return the acid that is fed."""
    entries, choice = train.entries, train.design.acid
    if choice.dose_mg_l is not None:
        water, given = water_here(train, stream), choice.dose_mg_l
        acid = _acid(train, lambda: {} if water is None else _over(train, water, given))
        label = _label(acid)
        entries.given(DOSE, choice.dose_mg_l, "mg/L", label, origin="chosen", cites=())
        return acid
    water = water_needed(train, stream, P, 'dose = "20 mg/L"')
    if choice.target_ph is None:
        doses = _doses_for_index(train, water)
        acid = _acid(train, lambda: _over_behind(train, doses[SULFURIC]))
        target = f"{P}.target_lsi"
        dose, flag = _told_of_index(acid, doses[acid])
    else:
        acid = _acid(train, lambda: _over(train, water, _dose_for_ph(train, water, SULFURIC)[0]))
        target = f"{P}.target_ph"
        dose, flag = _dose_for_ph(train, water, acid)
    _enter_target(train, target)
    if flag is not None:
        entries.ledger.flag(flag)
    entries.computed(
        DOSE,
        dose,
        "mg/L",
        _label(acid),
        inputs=carbonate_keys(entries.ledger, stream, target),
        method="speciation, closed to the air",
        cites=citations(doses_apart),
    )
    return acid


def _label(acid: Acid) -> str:
    return f"Dose of {acid.name}, as 100 %"


def _acid(train: Train, over: Callable[[], Mapping[str, float]]) -> Acid:
    """Enter and return the acid: the one chosen, else sulfuric where its sulfate may stand.

    ``over`` gives the sulfates with sulfuric acid over their cautious limits.
    """
    entries, own = train.entries, train.design.acid.acid
    near = "" if own else _near(over())
    kind = own or ("hydrochloric" if near else "sulfuric")
    entries.word(KIND, kind, "Acid that is fed", origin="chosen" if own else "assumed")
    entries.ledger.rests(KIND, held=True)
    if near:
        entries.flag(
            "hydrochloric_acid",
            "info",
            f"hydrochloric acid is taken, not sulfuric: with sulfuric acid {near}; write [acid] "
            'acid = "sulfuric" to have it all the same',
            KIND,
        )
    return ACIDS[kind]


def _near(over: Mapping[str, float]) -> str:
    """Say which sulfate comes near its limit with sulfuric acid; empty where none does."""
    scale = max(over, key=lambda one: over[one], default="")
    if not scale or over[scale] < -NEAR:
        return ""
    return (
        f"{SULFATES[scale]} would stand at {10.0 ** (over[scale]):.0%} of its cautious limit in "
        "the concentrate"
    ).replace("%", " %")


def _over(train: Train, water: FeedWater, dose_mg_l: float) -> dict[str, float]:
    """Return the sulfates over their cautious limits with a dose of sulfuric acid, if any."""
    if not dose_mg_l > 0:
        return {}
    made = acidified(water, [SULFURIC], np.array([dose_mg_l]))
    brine = concentrate(made, np.array([train.design.machine.recovery]), *train.membrane)
    found = excesses(brine, _cautious(train))
    return {scale: float(np.nan_to_num(found[scale], nan=-np.inf)[0]) for scale in SULFATES}


def _over_behind(train: Train, found: SingleDose) -> dict[str, float]:
    """Return the same for a dose that was looked for under the limits of the index."""
    if not found.dose_mg_l > 0:
        return {}
    limits, cautious = _limits(train).si, _cautious(train).si
    over = {k: found.excesses[k] + (limits[k] - cautious[k]) for k in SULFATES}
    return {scale: float(np.nan_to_num(value, nan=-np.inf)) for scale, value in over.items()}


def _cautious(train: Train) -> Limits:
    choices = train.design.limits
    return limits_from(choices, choices.inhibitor, "low")


def _enter_target(train: Train, key: str) -> None:
    """Enter what the dose is for: a pH, or the index of the concentrate."""
    choice = train.design.acid
    if choice.target_ph is not None:
        label = "pH wanted behind the acid"
        train.entries.given(key, choice.target_ph, "-", label, origin="chosen", cites=())
        return
    how = CAUTIOUS if train.design.limits.inhibitor else "the limit in force"
    train.entries.given(
        key,
        float(_limits(train).lsi),
        "-",
        "Langelier index of the concentrate that the acid brings about",
        origin="assumed" if choice.target_lsi is None else "chosen",
        method=how if choice.target_lsi is None else "",
        cites=(),
    )


def _dose_for_ph(train: Train, water: FeedWater, acid: Acid) -> tuple[float, Flag | None]:
    """Return the dose for a pH, and what is to be said of it."""
    ph = float(train.design.acid.target_ph)
    if float(water.ph) <= ph:
        text = f"the water is at pH {float(water.ph):.2f}, not above the {ph:g} wanted: no acid"
        return 0.0, Flag("acid_needless", "info", text, f"{P}.target_ph")
    ions = {acid.anion: acid.anion_per_mg / acid.alkalinity_per_mg}
    taken = -alkalinity_for_ph(water, ph, ions)
    if math.isnan(taken):
        raise OutOfRangeError(
            f"[acid] target_ph = {ph:g}: takes more than all alkalinity of the water; the acid of "
            "a membrane feed stays above pH 5: raise it"
        )
    return taken / acid.alkalinity_per_mg, None


def _limits(train: Train) -> Limits:
    """Return the limits in force with the index that the acid is to bring about.

    Beside an inhibitor it is the cautious limit with a margin for the pH, whoever put the
    train together.
    """
    choices, own = train.design.limits, train.design.acid.target_lsi
    limits = limits_from(choices, choices.inhibitor)
    if own is None and not choices.inhibitor:
        return limits
    index = limits_from(choices, True, "low").lsi - PH_MARGIN if own is None else own
    return Limits(index, index, limits.si, limits.k_chart)


def _doses_for_index(train: Train, water: FeedWater) -> dict[Acid, SingleDose]:
    """Return the doses that bring the index of the concentrate to its target, by acid."""
    own = train.design.acid.acid
    acids = [ACIDS[own]] if own else list(ACIDS.values())
    recovery = train.design.machine.recovery
    found = doses_apart(water, acids, recovery, _limits(train), train.membrane)
    return dict(zip(acids, found, strict=True))


def _told_of_index(acid: Acid, found: SingleDose) -> tuple[float, Flag | None]:
    """Return a dose for the index, and what is to be said of it."""
    dose = found.dose_mg_l
    if not dose > 0:
        text = "the index of the concentrate is below its target without acid: none is dosed"
        return 0.0, Flag("acid_needless", "info", text, f"{P}.target_lsi")
    if found.enough:
        return dose, None
    text = (
        f"even {dose:.0f} mg/L of {acid.name}, nearly all of the alkalinity, leaves the "
        "carbonate index above its target: lower the recovery"
    )
    return dose, Flag("acid_not_enough", "warning", text, DOSE)


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
