"""What goes to the drain: mixing, published criteria, and the efficiency of salt."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid, when
from pretreat.core.units import molar_mass

GRAINS_LB_TO_G_KG = 64.79891 / 0.45359237 / 1000.0  # international grain and pound
G_PER_KG = 1000.0
SALT_CHLORIDE = molar_mass("Cl") / molar_mass("NaCl")
ACID_CHLORIDE = molar_mass("Cl") / molar_mass("HCl")


@law
@valid(stream_m3_d=[0, None], waste_m3_d=[0, None])
def mixed_mg_l(
    stream_m3_d: Number, stream_mg_l: Number, waste_m3_d: Number, waste_mg_l: Number
) -> Number:
    """Concentration behind an outfall = mass balance of stream and waste.

    Worked by hand: equal flows of 20 and 40 mg/L.

    >>> mixed_mg_l(10.0, 20.0, 10.0, 40.0)
    30.0
    """
    load = stream_m3_d * stream_mg_l + waste_m3_d * waste_mg_l
    return load / (stream_m3_d + waste_m3_d)


@law
@valid(waste_m3_d=[0, None])
def stream_needed_m3_d(
    waste_m3_d: Number, waste_mg_l: Number, limit_mg_l: Number, stream_mg_l: Number
) -> Number:
    """Stream that dilutes a waste to a limit = waste x (waste - limit) / (limit - stream).

    0 where the waste is within the limit by itself.

    Whether mixing counts is the permit's decision. Worked by hand: 10 m3/d at 50 mg/L to 30 in a
    stream of 20.

    >>> stream_needed_m3_d(10.0, 50.0, 30.0, 20.0)
    20.0
    """
    return when(
        waste_mg_l > limit_mg_l,
        lambda: waste_m3_d * (waste_mg_l - limit_mg_l) / (limit_mg_l - stream_mg_l),
        lambda: 0.0,
    )


@law
@cites("IOWACHLORIDE", "acute")
@valid(hardness_mg_l_caco3=(0, None), sulfate_mg_l=(0, None))
def acute_chloride_mg_l(hardness_mg_l_caco3: Number, sulfate_mg_l: Number) -> Number:
    """Chloride that a stream bears for an hour = 287.8 H^0.205797 S^-0.07452.

    Printed: 629 mg/L at a hardness of 200 and a sulfate of 63 mg/L.

    >>> round(acute_chloride_mg_l(200.0, 63.0))
    629
    """
    return 287.8 * hardness_mg_l_caco3**0.205797 * sulfate_mg_l**-0.07452


@law
@cites("IOWACHLORIDE", "chronic")
@valid(hardness_mg_l_caco3=(0, None), sulfate_mg_l=(0, None))
def chronic_chloride_mg_l(hardness_mg_l_caco3: Number, sulfate_mg_l: Number) -> Number:
    """Chloride that a stream bears for four days = 177.87 H^0.205797 S^-0.07452.

    Printed: 389 mg/L at a hardness of 200 and a sulfate of 63 mg/L.

    >>> round(chronic_chloride_mg_l(200.0, 63.0))
    389
    """
    return 177.87 * hardness_mg_l_caco3**0.205797 * sulfate_mg_l**-0.07452


@law
@cites("MMSD", "4,000 grains per pound")
@valid(grains_lb=[0, None])
def salt_efficiency_g_kg(grains_lb: Number) -> Number:
    """Hardness removed by a kilogram of salt = grains per pound x 0.064799 / 0.45359.

    Worked by hand: 4000 grains are 259.2 g, a pound 0.4536 kg.

    >>> round(salt_efficiency_g_kg(4000.0), 1)
    571.4
    """
    return grains_lb * GRAINS_LB_TO_G_KG


@law
@cites("STOICHIOMETRY", "mass balance of a year")
@valid(product_m3_d=(0, None), days_per_year=(0, None))
def salt_over_product_kg_m3(
    salt_kg_year: Number, product_m3_d: Number, days_per_year: Number
) -> Number:
    """Salt for each m3 of product = salt of a year / (product of a day x days).

    Worked by hand: 400 g of hardness in a m3 of feed, 2.1 g of salt for each, 0.75 m3 of product:
    1.12 kg; 4088 kg of 10 m3/d through 365 days.

    >>> round(salt_over_product_kg_m3(4088.0, 10.0, 365.0), 9)
    1.12
    """
    return salt_kg_year / (product_m3_d * days_per_year)


@law
@valid(load_kg_year=[0, None], waste_m3_year=(0, None))
def mean_of_load_mg_l(load_kg_year: Number, waste_m3_year: Number) -> Number:
    """Mean concentration of what goes to the drain = load x 1000 / water.

    Worked by hand: 500 kg in 1000 m3.

    >>> mean_of_load_mg_l(500.0, 1000.0)
    500.0
    """
    return load_kg_year * G_PER_KG / waste_m3_year


@law
@cites("STOICHIOMETRY", "sodium chloride")
@valid(raw_m3_year=[0, None], chloride_mg_l=[0, None], salt_kg_year=[0, None])
def chloride_kg_year(
    raw_m3_year: Number, chloride_mg_l: Number, salt_kg_year: Number, acid_kg_year: Number
) -> Number:
    """Chloride to the drain in a year = that of the raw water, of the salt and of the acid.

    All of it, as if the membranes let none pass; the acid is hydrochloric. Worked by hand: 1000 m3
    at 100 mg/L are 100 kg, and 58.44 kg of salt bring 35.45 kg.

    >>> round(chloride_kg_year(1000.0, 100.0, 58.44, 0.0), 2)
    135.45
    """
    own = raw_m3_year * chloride_mg_l / G_PER_KG
    return own + salt_kg_year * SALT_CHLORIDE + acid_kg_year * ACID_CHLORIDE


@law
@valid(raw_m3_year=[0, None], tds_mg_l=[0, None], added_kg_year=[0, None])
def solids_kg_year(raw_m3_year: Number, tds_mg_l: Number, added_kg_year: Number) -> Number:
    """Dissolved solids to the drain in a year = those of the raw water and what is added.

    All of it, as if the membranes let none pass. Worked by hand: 1000 m3 at 500 mg/L and 20 kg.

    >>> solids_kg_year(1000.0, 500.0, 20.0)
    520.0
    """
    return raw_m3_year * tds_mg_l / G_PER_KG + added_kg_year


@law
@valid(load_kg_caco3_d=[0, None], days_per_year=[0, 366], salt_kg_year=(0, None))
def hardness_for_salt(
    load_kg_caco3_d: Number, days_per_year: Number, salt_kg_year: Number
) -> Number:
    """Hardness taken by a kilogram of salt = load of a year x 1000 / salt of a year.

    Worked by hand: 10 kg a day on 300 days with 6000 kg of salt.

    >>> hardness_for_salt(10.0, 300.0, 6000.0)
    500.0
    """
    return load_kg_caco3_d * days_per_year * G_PER_KG / salt_kg_year
