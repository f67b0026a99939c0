"""The one sentence of the verdict that a customer reads on a quote."""

import math

from pretreat.membrane.recovery import CAP
from pretreat.plant.uncertainty.digits import recovery_shown

FITS = "fits"
NO_ANALYSIS = (
    "No maximum recovery can be stated: a full analysis of the water by a laboratory is wanted "
    "first."
)


def quote_sentence(
    answer: str, date: str, wanted: float, most: float, *, by_kit: bool = False
) -> str | None:
    """Return the sentence of the verdict on a quote; None where the design simply fits.

    Parameters
    ----------
    answer : str
        Answer of the verdict. [-]
    date : str
        Date of the analysis as printed; empty where none is. [-]
    wanted : float
        Recovery of the design. [-]
    most : float
        Maximum recovery in the worst season; NaN where it is not known, as where a scale that
        could limit was not judged. The end of the search is no maximum. [-]
    by_kit : bool
        True where a test kit measured the water, and no laboratory analysed it. [-]

    Returns
    -------
    str or None
        Such as "By the analysis of 2024-05-02 the maximum recovery is 58 %; ...". [-]
    """
    if answer == FITS:
        return None
    of = f" of {date}" if date else "" if by_kit else " given"
    by = f"By the {'readings of the test kit' if by_kit else 'analysis'}{of}"
    asked = f"{100.0 * wanted:.4g} %"
    known = math.isfinite(most) and most < CAP
    unsuited = "the plant as it stands does not suit this water"
    below = f"the {asked} asked for is not reached as designed"
    ends = {
        "does not fit": f"{asked} lies within it, but {unsuited}" if most >= wanted else below,
        "depends": f"whether {asked} can be kept is still to be settled",
        "fits with conditions": f"{asked} can be run once the conditions below are met",
    }
    end = ends.get(answer, f"{asked} is asked for")
    if not known:
        end = unsuited if answer == "does not fit" else end
        return f"{by} no maximum recovery can be stated; {end}."
    return f"{by} the maximum recovery is {100.0 * recovery_shown(most):.4g} %; {end}."
