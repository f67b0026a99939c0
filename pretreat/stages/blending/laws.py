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
