"""Blending: what a share of treated raw water adds to the product."""

from pretreat.core.law import Number, law, valid


@law
@valid(share=[0, 1], product_flow_m3_h=[0, None])
def blend_flow_m3_h(product_flow_m3_h: Number, share: Number) -> Number:
    """Raw water into the product = product of the membranes x share / (1 - share).

    The share is that of the whole delivered. Worked by hand: 3 m3/h of product and a quarter.

    >>> blend_flow_m3_h(3.0, 0.25)
    1.0
    """
    return product_flow_m3_h * share / (1.0 - share)


@law
@valid(share=[0, 1], product=[0, None])
def delivered(product: Number, share: Number) -> Number:
    """Water of the blend = product / (1 - share).

    Worked by hand: 3 m3/h of product and a quarter of raw water.

    >>> delivered(3.0, 0.25)
    4.0
    """
    return product / (1.0 - share)


@law
@valid(share=[0, 1])
def blended_hardness_mg_l_caco3(
    bypass_mg_l_caco3: Number, product_mg_l_caco3: Number, share: Number
) -> Number:
    """Hardness of the blend = share x raw + (1 - share) x product.

    Worked by hand: a tenth of 300 mg/L in a product of 2 mg/L.

    >>> round(blended_hardness_mg_l_caco3(300.0, 2.0, 0.1), 9)
    31.8
    """
    return share * bypass_mg_l_caco3 + (1.0 - share) * product_mg_l_caco3


@law
@valid(share=[0, 1], bypass_mg_l=[0, None], product_mg_l=[0, None])
def blended_mg_l(bypass_mg_l: Number, product_mg_l: Number, share: Number) -> Number:
    """Amount in the blend = share x raw + (1 - share) x product.

    Worked by hand: a half of 9.5 mg/L in a product of 0.2 mg/L.

    >>> round(blended_mg_l(9.5, 0.2, 0.5), 9)
    4.85
    """
    return share * bypass_mg_l + (1.0 - share) * product_mg_l
