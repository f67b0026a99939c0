"""Softener bypass: the share that is softened for a hardness, and what the blend holds."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, least, most, valid


@law
@cites("STOICHIOMETRY", "mass balance of a blend")
@valid(target_mg_l_caco3=[0, None], leakage_mg_l_caco3=[0, None])
def bypass_share(
    hardness_mg_l_caco3: Number, target_mg_l_caco3: Number, leakage_mg_l_caco3: Number
) -> Number:
    """Share beside the softener = (target - leakage) / (hardness - leakage), 0 to 1.

    Worked by hand: 350 mg/L to 120 with a leakage of 5 leave 115 of 345 beside it, a third.

    >>> round(bypass_share(350.0, 120.0, 5.0), 4)
    0.3333
    """
    share = (target_mg_l_caco3 - leakage_mg_l_caco3) / (hardness_mg_l_caco3 - leakage_mg_l_caco3)
    return least(most(share, 0.0), 1.0)


@law
@valid(bypass_share=[0, 1], flow_m3_h=[0, None])
def softened_m3_h(flow_m3_h: Number, bypass_share: Number) -> Number:
    """Flow through the softener = feed x (1 - share beside it).

    Worked by hand: a quarter of 4 m3/h beside it.

    >>> softened_m3_h(4.0, 0.25)
    3.0
    """
    return flow_m3_h * (1.0 - bypass_share)


@law
@valid(bypass_share=[0, 1], feed_m3_d=[0, None])
def softened_m3_d(feed_m3_d: Number, bypass_share: Number) -> Number:
    """Water of a day through the softener = feed x (1 - share beside it).

    Worked by hand: a quarter of 40 m3/d beside it.

    >>> softened_m3_d(40.0, 0.25)
    30.0
    """
    return feed_m3_d * (1.0 - bypass_share)


@law
@valid(bypass_share=[0, 1])
def blend_mg_l(raw_mg_l: Number, softened_mg_l: Number, bypass_share: Number) -> Number:
    """Blend = share x raw + (1 - share) x softened.

    Worked by hand: a third of 90 mg/L with two thirds of 3 mg/L.

    >>> round(blend_mg_l(90.0, 3.0, 1.0 / 3.0), 9)
    32.0
    """
    return bypass_share * raw_mg_l + (1.0 - bypass_share) * softened_mg_l
