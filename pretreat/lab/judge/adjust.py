"""Closing the ion balance with sodium or chloride, only where the engineer asks for it."""

from types import MappingProxyType
from typing import Literal

from msgspec.structs import replace

from pretreat.chemistry.composition import ion_sums_meq_l, meq_l
from pretreat.core.basis import Flag
from pretreat.core.errors import AnalysisError
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge.quality import Policy, composition
from pretreat.lab.read.wording import shown


def balanced(
    water: WaterAnalysis, key: Literal["na", "cl"], policy: Policy = "half"
) -> WaterAnalysis:
    """Return the water with sodium or chloride changed so that its charges balance.

    Parameters
    ----------
    water : WaterAnalysis
        The water as analysed. [-]
    key : {"na", "cl"}
        The ion that is changed. [-]
    policy : {"limit", "half", "zero"}
        What a non-detect counts as in the balance. [-]

    Returns
    -------
    WaterAnalysis
        The changed water, with a flag that says from what to what. [-]

    Raises
    ------
    AnalysisError
        If the alkalinity is not known, or the ion would have to be negative.
    """
    if water.alkalinity_mg_l_caco3 is None:
        raise AnalysisError("the ion balance cannot be closed: alkalinity was not measured")
    ion = analytes()[key]
    mg_l = composition(water, policy)
    cations, anions = ion_sums_meq_l(mg_l, water.alkalinity_mg_l_caco3)
    excess = float(cations - anions)
    before = mg_l.get(key, 0.0)
    wanted_meq_l = float(meq_l(key, before)) + (-excess if ion.charge > 0 else excess)
    after = wanted_meq_l / float(meq_l(key, 1.0))
    if after < 0:
        other = "chloride" if key == "na" else "sodium"
        raise AnalysisError(
            f"the ion balance cannot be closed with {ion.name}: it would have to be "
            f"{shown(after, 3)} mg/L; close it with {other} or ask the lab"
        )
    text = (
        f"{ion.name} was changed from {shown(before)} to {shown(after)} mg/L so that the charges "
        "balance, as asked; the lab did not measure that"
    )
    flag = Flag("balance_adjusted", "caution", text, f"water.{key}_mg_l")
    changed = MappingProxyType({**water.mg_l, key: after})
    below = MappingProxyType({k: v for k, v in water.below_mg_l.items() if k != key})
    return replace(water, mg_l=changed, below_mg_l=below, flags=(*water.flags, flag))
