"""A total hardness without calcium and magnesium: sized as printed, split for the scaling."""

import math

from msgspec import Struct

from pretreat.core.basis import Flag, cites
from pretreat.core.errors import AnalysisError
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass

ROUNDING = 1e-9  # what arithmetic leaves of a round number; a limit is never stated too high
USUAL_RATIO = 3.0  # PRACTICE: calcium to magnesium by equivalents
CALCIUM_MG_PER_MEQ = molar_mass("Ca") / 2.0
MAGNESIUM_MG_PER_MEQ = molar_mass("Mg") / 2.0


class HardnessSplit(Struct, frozen=True):
    """Calcium and magnesium of a total hardness; ``ca_mg_l``, ``mg_mg_l`` as the ions."""

    hardness_mg_l_caco3: float
    calcium_share: float  # by equivalents, 0 to 1
    ca_mg_l: float
    mg_mg_l: float


class SplitCases(Struct, frozen=True):
    """The split that is taken, and both extremes: all calcium, all magnesium."""

    taken: HardnessSplit
    all_calcium: HardnessSplit
    all_magnesium: HardnessSplit
    assumed: bool  # True where the usual ratio was taken for want of a better one


@cites("SM2340B", "hardness by calculation, inverted")
def split(hardness_mg_l_caco3: float, calcium_share: float) -> HardnessSplit:
    """Return calcium and magnesium of a total hardness.

    Parameters
    ----------
    hardness_mg_l_caco3 : float
        Total hardness, 0 or more. [mg/L as CaCO3]
    calcium_share : float
        Share of calcium by equivalents, 0 to 1. [-]

    Returns
    -------
    HardnessSplit
        Their equivalents add up to the hardness. [mg/L as the ion]

    Raises
    ------
    AnalysisError
        If hardness is negative or not a number, or the share is outside 0 to 1.
    """
    if not 0.0 <= hardness_mg_l_caco3 < float("inf"):
        raise AnalysisError(
            f"total hardness is {hardness_mg_l_caco3:g} mg/L as CaCO3: it must be 0 or more; "
            "check the report"
        )
    if not 0.0 <= calcium_share <= 1.0:
        raise AnalysisError(
            f"share of calcium in the hardness is {calcium_share:g}: it must be from 0 to 1 (by "
            "equivalents); check the site file"
        )
    meq = hardness_mg_l_caco3 / CACO3_MG_PER_MEQ
    return HardnessSplit(
        hardness_mg_l_caco3,
        calcium_share,
        meq * calcium_share * CALCIUM_MG_PER_MEQ,
        meq * (1.0 - calcium_share) * MAGNESIUM_MG_PER_MEQ,
    )


def share_of_ratio(calcium_to_magnesium: float) -> float:
    """Return the share of calcium that belongs to a ratio by equivalents.

    Parameters
    ----------
    calcium_to_magnesium : float
        Calcium / magnesium by equivalents, 0 or more. [-]

    Returns
    -------
    float
        ratio / (1 + ratio); 0.75 for 3:1. [-]

    Raises
    ------
    AnalysisError
        If the ratio is negative or not a number.
    """
    if not calcium_to_magnesium >= 0.0:
        raise AnalysisError(
            f"calcium : magnesium is {calcium_to_magnesium:g}: it must be 0 or more (by "
            "equivalents); check the site file"
        )
    if calcium_to_magnesium == float("inf"):
        return 1.0
    return calcium_to_magnesium / (1.0 + calcium_to_magnesium)


def split_cases(hardness_mg_l_caco3: float, calcium_share: float | None = None) -> SplitCases:
    """Return the split of a total hardness and its two extremes.

    Parameters
    ----------
    hardness_mg_l_caco3 : float
        Total hardness. [mg/L as CaCO3]
    calcium_share : float, optional
        Share of calcium by equivalents that the site file states; 3:1 if omitted. [-]

    Returns
    -------
    SplitCases
        What is taken, all calcium, all magnesium. [-]
    """
    share = share_of_ratio(USUAL_RATIO) if calcium_share is None else calcium_share
    return SplitCases(
        split(hardness_mg_l_caco3, share),
        split(hardness_mg_l_caco3, 1.0),
        split(hardness_mg_l_caco3, 0.0),
        calcium_share is None,
    )


def split_flag(cases: SplitCases, recoveries: tuple[float, float] | None = None) -> Flag | None:
    """Return the flag `hardness_split_assumed` where the usual ratio was taken.

    Parameters
    ----------
    cases : SplitCases
        The split. [-]
    recoveries : tuple of float, optional
        Maximum recovery if all the hardness were calcium, and if all were magnesium. [-]

    Returns
    -------
    Flag or None
        A caution with both extremes; None where the share was stated. [-]
    """
    if not cases.assumed:
        return None
    taken = cases.taken
    extremes = ""
    if recoveries is not None:
        low, high = (f"{math.floor(100.0 * r + ROUNDING):d} %" for r in recoveries)
        extremes = (
            f"; the maximum recovery would be {low} if all of it were calcium, {high} if all "
            "were magnesium"
        )
    return Flag(
        "hardness_split_assumed",
        "caution",
        f"total hardness {taken.hardness_mg_l_caco3:.4g} mg/L as CaCO3 has no calcium and "
        f"magnesium beside it: the softener is sized for it as printed, for scaling it is split "
        f"3:1 by equivalents (common practice) into Ca {taken.ca_mg_l:.3g} and Mg "
        f"{taken.mg_mg_l:.3g} mg/L{extremes}: have calcium measured",
        "water.hardness_mg_l_caco3",
    )
