"""What an analysis lacks that is no scale by itself, and what that leaves open."""

import math
import re
from collections.abc import Collection, Sequence

from msgspec.structs import replace

from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.core.water import WaterAnalysis
from pretreat.lab.implied import salinity_known
from pretreat.lab.water_figures import Composition
from pretreat.plant.verdict.case import GAP, Obstacle

# What stays open without it. The chemistry runs on, so it is a condition and no scale.
OPEN_WITHOUT = {
    "mg": "hardness is not complete",
    "na": "the ion balance cannot check the analysis and the ionic strength is too low",
    "cl": "the ion balance cannot check the analysis and the ionic strength is too low",
}
TOLD_WITHOUT = {
    "k": "it matters little to scale",
    "no3": "it forms no scale; where the water is drunk it must be known",
}


METALS = ("fe", "mn")
LEAST_HARDNESS_GAP_MEQ_L = 1.0  # PRACTICE: less is within the scatter of the other ions
SOFTENED = "softener.iron_manganese_in_mg_l"  # a figure of every softener
LEAKS = "softener.leakage_ratio"  # there where its leakage is computed and not chosen
TOTAL_HARDNESS, SALINITY = "total hardness", "conductivity"
STAND_IN_PH = 7.5  # PRACTICE: where none was measured; what depends on it is then not judged
RAW = "untreated."
RESTING_ON_PH = frozenset(
    {
        "concentrate.ph",
        "product.ph",
        "scaling.si_brucite",
        "scaling.si_ferric_hydroxide",
        "scaling.si_rhodochrosite",
        "scaling.si_sepiolite_d",
        "scaling.si_siderite",
    }
)
OF_STAND_IN = frozenset({"phosphate_not_measured"})  # left out for want of pH, not unmeasured
OF_PH = frozenset({"po4"})  # without a pH nothing is known of its form


def without_ph(water: WaterAnalysis, taken: Composition) -> Composition:
    """Return what can be judged of a water without a pH: no carbonate and no phosphate.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    taken : Composition
        What the chemistry takes of it. [-]

    Returns
    -------
    Composition
        As it was where there is a pH; else the alkalinity is unknown (NaN), so that no index
        of a carbonate is computed, and phosphate is left out. [-]
    """
    if water.ph is not None:
        return taken
    scaling = {k: v for k, v in taken.scaling.items() if k not in OF_PH}
    return replace(taken, scaling=scaling, alkalinity_mg_l_caco3=math.nan)


def leave_ph_open(ledger: Ledger) -> None:
    """Leave blank what was entered and rests on the pH that stood in for the missing one.

    Parameters
    ----------
    ledger : Ledger
        With every section but the summary entered. [-]
    """
    keys = {
        key
        for key, figure in ledger.study().figures.items()
        if key.removeprefix(RAW) in RESTING_ON_PH and figure.value is not None
    }
    for key in keys:
        figure = ledger.figure(key)
        ledger.leave_open(key)
        ledger.amend(key, flags=(*(figure.flags if figure else ()), "not_computable"))
    flags = ledger.study().flags
    ledger.retell(f for f in flags if f.figure not in keys and f.code not in OF_STAND_IN)


# Of a softener whose load is not known, what somebody might set a valve by; and the words of it.
SET_BY_LOAD = tuple(
    f"softener.{name}"
    for name in ("interval_d", "programme_days", "meter_setting_m3", "meter_setting_delayed_m3")
)
IN_WORDS, NO_SETTING = "softener.programme_in_words", "not to be set before the hardness is known"


def leave_load_open(ledger: Ledger) -> None:
    """Leave blank the settings of a softener whose hardness is not in the analysis.

    Parameters
    ----------
    ledger : Ledger
        With every section but the summary entered. [-]
    """
    if all(flag.code != "load_incomplete" for flag in ledger.study().flags):
        return
    keys = [k for k in SET_BY_LOAD if ledger.number(k) is not None]
    for key in keys:
        figure = ledger.figure(key)
        ledger.leave_open(key)
        ledger.amend(key, flags=(*(figure.flags if figure else ()), "not_computable"))
    if IN_WORDS in ledger:
        ledger.amend(IN_WORDS, value=NO_SETTING)
    flags = ledger.study().flags
    ledger.retell(f for f in flags if f.figure not in keys or f.level == "info")


_LACKING = re.compile(r"(?:is|are) not in the analysis")


def softening_obstacles(ledger: Ledger, water: WaterAnalysis) -> list[Obstacle]:
    """Return what the analysis does not tell that a softener is sized and judged by.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]
    water : WaterAnalysis
        The analysis, a total hardness split. [-]

    Returns
    -------
    list of Obstacle
        Questions: its load of one ion alone, its leakage in a salinity that nobody knows. [-]
    """
    found = []
    lacking = [k for k in ("ca", "mg") if not water.measured(k)]
    if SOFTENED in ledger and lacking:
        names = " and ".join(analytes()[k].name for k in lacking)
        alone = next((analytes()[k].name for k in ("mg", "ca") if k not in lacking), "")
        known = f"are of {alone} alone" if alone else "rest on no hardness at all"
        text = (
            f"{names} is not in the analysis, and no total hardness: load, meter and interval of "
            f"the softener {known}{_hardness_gap(ledger, water, names)}; measure total hardness, "
            "and set no valve before"
        )
        text = text.replace("calcium and magnesium is not", "calcium and magnesium are not")
        if any(key in water.unread for key in lacking):
            text = _LACKING.sub("could not be read from the report", text)
        found.append(Obstacle("question", text, anyway=True, measure=TOTAL_HARDNESS, code=GAP))
    if LEAKS in ledger and not salinity_known(water):
        text = (
            "salinity was not measured (neither dissolved solids, conductivity, sodium nor "
            "chloride): hardness that leaks from a softener rises with the square of the salt "
            "and alone decides calcium carbonate behind it; the leakage shown is that of a fresh "
            "water: measure the conductivity"
        )
        found.append(Obstacle("question", text, anyway=True, measure=SALINITY, code=GAP))
    return found


def _hardness_gap(ledger: Ledger, water: WaterAnalysis, names: str) -> str:
    """Say what the ion balance leaves room for, where sodium does not explain it."""
    cations, anions = (ledger.number(f"water.{k}_meq_l") or 0.0 for k in ("cations", "anions"))
    gap = anions - cations
    if gap <= LEAST_HARDNESS_GAP_MEQ_L or not water.measured("na"):
        return ""
    return (
        f"; the ions measured leave {gap:.2g} meq/L of cations unaccounted for: {names}, if it is "
        f"all that, of {gap * CACO3_MG_PER_MEQ:.2g} mg/L as CaCO3"
    )


def metal_obstacles(measured: Collection[str]) -> tuple[Obstacle, ...]:
    """Return the condition of iron and manganese that nobody looked for.

    Parameters
    ----------
    measured : collection of str
        Keys of what the laboratory looked for, detected or not. [-]

    Returns
    -------
    tuple of Obstacle
        One at most. [-]
    """
    lacking = [analytes()[k].name for k in METALS if k not in measured]
    if not lacking:
        return ()
    text = (
        f"{' and '.join(lacking)} {'are' if len(lacking) > 1 else 'is'} not in the analysis: "
        "measure at the well before anything is ordered; above 0.05 to 0.1 mg/L a filter belongs "
        "ahead of resin and membranes (common practice)"
    )
    return (Obstacle("condition", text, measure=" and ".join(lacking), code=GAP),)


def gap_obstacles(measured: Collection[str], told: Sequence[Obstacle] = ()) -> tuple[Obstacle, ...]:
    """Return a condition for each ion that belongs into an analysis and is not there.

    The ions that form scale are not among them: they are judged scale by scale.

    Parameters
    ----------
    measured : collection of str
        Keys of what the laboratory looked for, detected or not. [-]
    told : sequence of Obstacle
        What is told already; a hardness that is asked for is not asked for again. [-]

    Returns
    -------
    tuple of Obstacle
        Conditions first, then notes. [-]
    """
    again = {"mg"} if any(o.measure == TOTAL_HARDNESS for o in told) else set()
    found = [
        Obstacle(
            "condition",
            f"{analytes()[k].name} is not in the analysis: {why}; measure it",
            analytes()[k].name,
            code=GAP,
        )
        for k, why in OPEN_WITHOUT.items()
        if k not in measured and k not in again
    ]
    found += [
        Obstacle("note", f"{analytes()[k].name} is not in the analysis: {why}", analytes()[k].name)
        for k, why in TOLD_WITHOUT.items()
        if k not in measured
    ]
    return (*metal_obstacles(measured), *found)
