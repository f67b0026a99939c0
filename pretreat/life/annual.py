"""Whole-life cost: interest factors, the cost of a year, and what recovery does to it."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, above, law, log_e, root, valid, when
from pretreat.core.units import molar_mass

BAR_PER_KWH_M3 = 36.0  # 1 m3 raised by 36 bar takes 1 kWh
G_PER_KG = 1000.0
SALT_CHLORIDE = molar_mass("Cl") / molar_mass("NaCl")


# --- interest factors, at the end of the year -------------------------------------------------


@law
@cites("RIGGS1996", "single present value")
@valid(rate=[0, None], years=[0, None])
def single_present_value(rate: Number, years: Number) -> Number:
    """Present value of one payment in n years = (1 + i)^-n.

    Printed (Riggs, 10 % and 5 years): 0.62092.

    >>> round(single_present_value(0.1, 5.0), 5)
    0.62092
    """
    return (1.0 + rate) ** (-1.0 * years)


@law
@cites("RIGGS1996", "uniform present value")
@valid(rate=[0, None], years=(0, None))
def uniform_present_value(rate: Number, years: Number) -> Number:
    """Present value of a payment every year = (1 - (1 + i)^-n) / i, n where i is 0.

    Printed (Riggs, 10 % and 5 years): 3.7908.

    >>> round(uniform_present_value(0.1, 5.0), 4)
    3.7908
    """
    return when(
        above(rate, 0.0),
        lambda: (1.0 - (1.0 + rate) ** (-1.0 * years)) / rate,
        lambda: years,
    )


@law
@cites("RIGGS1996", "capital recovery")
@valid(rate=[0, None], years=(0, None))
def capital_recovery(rate: Number, years: Number) -> Number:
    """Yearly share of a price over its life = 1 / uniform present value, 1 / n where i is 0.

    Printed (Riggs, 10 % and 5 years): 0.26380.

    >>> round(capital_recovery(0.1, 5.0), 4)
    0.2638
    """
    return 1.0 / uniform_present_value(rate, years)


@law
@cites("RIGGS1996", "compound amount")
@valid(rate=[0, None], years=[0, None])
def compound_amount(rate: Number, years: Number) -> Number:
    """What one payment has grown to after n years = (1 + i)^n.

    Printed (Riggs, 10 % and 5 years): 1.6105.

    >>> round(compound_amount(0.1, 5.0), 4)
    1.6105
    """
    return (1.0 + rate) ** years


@law
@cites("RIGGS1996", "uniform compound amount")
@valid(rate=(0, None), years=(0, None))
def uniform_compound_amount(rate: Number, years: Number) -> Number:
    """What a payment every year has grown to = ((1 + i)^n - 1) / i.

    Printed (Riggs, 10 % and 5 years): 6.1051.

    >>> round(uniform_compound_amount(0.1, 5.0), 4)
    6.1051
    """
    return ((1.0 + rate) ** years - 1.0) / rate


@law
@cites("RIGGS1996", "sinking fund")
@valid(rate=(0, None), years=(0, None))
def sinking_fund(rate: Number, years: Number) -> Number:
    """Yearly payment that grows to one = i / ((1 + i)^n - 1).

    Printed (Riggs, 10 % and 5 years): 0.16380.

    >>> round(sinking_fund(0.1, 5.0), 4)
    0.1638
    """
    return rate / ((1.0 + rate) ** years - 1.0)


@law
@cites("NEWNAN2020", "capital recovery")
@valid(price=[0, None], rate=[0, None], life_years=(0, None))
def yearly_of_price(price: Number, rate: Number, life_years: Number) -> Number:
    """Yearly cost of what is bought again at the end of its life = price x capital recovery.

    Printed (a public cost worksheet): 14 000 at 10 % over 10 years are 2 278 a year.

    >>> round(yearly_of_price(14_000.0, 0.1, 10.0))
    2278
    """
    return price * capital_recovery(rate, life_years)


@law
@cites("TEA_SIX_TENTHS", "page of the rule")
@valid(cost=[0, None], size=(0, None), known_size=(0, None), exponent=[0, 1])
def scaled_cost(cost: Number, size: Number, known_size: Number, exponent: Number) -> Number:
    """Cost at another size = known cost x (size / known size)^exponent.

    Printed: 2.0 million at 5 MW and an exponent of 0.62 are 2.7 million at 8 MW.

    >>> round(scaled_cost(2.0, 8.0, 5.0, 0.62), 1)
    2.7
    """
    return cost * (size / known_size) ** exponent


# --- a year of a train ------------------------------------------------------------------------


@law
@valid(recovery=(0, 1), tds_mg_l=[0, None])
def feed_pressure_bar(
    recovery: Number, tds_mg_l: Number, net_bar: Number, osmotic_bar_l_mg: Number
) -> Number:
    """Feed pressure of a small machine = net + osmotic x TDS x ln(1 / (1 - R)) / R.

    The mean concentration along the elements. Worked by hand: without salt the net pressure.

    >>> feed_pressure_bar(0.5, 0.0, 8.5, 0.00075)
    8.5
    """
    return net_bar + osmotic_bar_l_mg * tds_mg_l * log_e(1.0 / (1.0 - recovery)) / recovery


@law
@valid(feed_m3_year=[0, None], pressure_bar=[0, None], efficiency=(0, None))
def pumping_kwh_year(feed_m3_year: Number, pressure_bar: Number, efficiency: Number) -> Number:
    """Energy of a year = water x pressure / (36 x efficiency).

    Worked by hand: 3600 m3 at 10 bar and one half are 2000 kWh.

    >>> pumping_kwh_year(3600.0, 10.0, 0.5)
    2000.0
    """
    return feed_m3_year * pressure_bar / (BAR_PER_KWH_M3 * efficiency)


@law
@valid(amount=[0, None], price=[0, None])
def bought_per_year(amount: Number, price: Number) -> Number:
    """Cost of what a year uses = amount x price.

    Worked by hand: 200 kg at 0.5.

    >>> bought_per_year(200.0, 0.5)
    100.0
    """
    return amount * price


@law
@cites("CFR436", "436.19")
@valid(years=[0, None])
def equivalent_annual_cost(present_value: Number, rate: Number, years: Number) -> Number:
    """Equivalent annual cost = present value x capital recovery over the study.

    Worked by hand: at no interest a tenth of it for each of ten years.

    >>> equivalent_annual_cost(1000.0, 0.0, 10.0)
    100.0
    """
    return present_value * capital_recovery(rate, years)


# --- recovery ---------------------------------------------------------------------------------


@law
@valid(recovery=(0, 1), waste_m3_m3=[0, None], backwash_share=[0, 1])
def overall_recovery(recovery: Number, waste_m3_m3: Number, backwash_share: Number) -> Number:
    """Product over raw water = R (1 - backwash) / (1 + regeneration waste per m3 softened).

    Worked by hand: 0.8 with a quarter of waste and no backwash.

    >>> round(overall_recovery(0.8, 0.25, 0.0), 9)
    0.64
    """
    return recovery * (1.0 - backwash_share) / (1.0 + waste_m3_m3)


@law
@valid(feed_cost_m3=[0, None], recovery=(0, 1))
def cost_of_recovery_m3(
    recovery: Number, feed_cost_m3: Number, drain_price_m3: Number, growing: Number
) -> Number:
    """Cost of a m3 of product = feed and drain / R - drain + k / (1 - R).

    What a m3 of feed costs, its drain included, falls on less product; what grows with the
    concentration is k / (1 - R). Worked by hand: 1 a m3 at one half, no drain, nothing growing.

    >>> cost_of_recovery_m3(0.5, 1.0, 0.0, 0.0)
    2.0
    """
    return feed_cost_m3 / recovery - drain_price_m3 + growing / (1.0 - recovery)


@law
@valid(feed_cost_m3=(0, None), growing=[0, None])
def cheapest_recovery(feed_cost_m3: Number, growing: Number) -> Number:
    """Recovery of least cost = 1 / (1 + sqrt(k / a)), where the cost is a / R + k / (1 - R).

    Worked by hand: equal terms meet in the middle.

    >>> cheapest_recovery(1.0, 1.0)
    0.5
    """
    return 1.0 / (1.0 + root(growing / feed_cost_m3))


@law
@valid(feed_cost_m3=[0, None], recovery=(0, 1), better=(0, 1))
def gain_of_recovery_m3(feed_cost_m3: Number, recovery: Number, better: Number) -> Number:
    """What a higher recovery saves for each m3 of product = a (1 / R1 - 1 / R2).

    Worked by hand: from one half to all at 1.

    >>> gain_of_recovery_m3(1.0, 0.5, 0.999999) < 1.000002
    True
    """
    return feed_cost_m3 * (1.0 / recovery - 1.0 / better)


@law
@valid(hardness_mg_l_caco3=[0, None], dose_g_g=[0, None], recovery=(0, 1))
def salt_of_product_kg_m3(
    hardness_mg_l_caco3: Number, dose_g_g: Number, recovery: Number
) -> Number:
    """Salt to the drain for each m3 of product = hardness x dose / (1000 R).

    Worked by hand: 500 mg/L at 2 g/g and one half.

    >>> salt_of_product_kg_m3(500.0, 2.0, 0.5)
    2.0
    """
    return hardness_mg_l_caco3 * dose_g_g / (G_PER_KG * recovery)


@law
@cites("STOICHIOMETRY", "sodium chloride")
@valid(salt_kg=[0, None])
def chloride_of_salt_kg(salt_kg: Number) -> Number:
    """Chloride of salt = salt x 35.45 / 58.44.

    Worked by hand: the molar masses (IUPAC).

    >>> round(chloride_of_salt_kg(58.44), 2)
    35.45
    """
    return salt_kg * SALT_CHLORIDE


# --- where two trains cost the same -----------------------------------------------------------


@law
def price_of_equal_cost(
    price: Number, cost_one: Number, cost_other: Number, use_one: Number, use_other: Number
) -> Number:
    """Price at which two trains cost the same = price + gap of cost / gap of use.

    Both costs are straight in the price. Worked by hand: 100 and 130 a year at a price of 1,
    uses of 40 and 10: they meet at 2.

    >>> price_of_equal_cost(1.0, 100.0, 130.0, 40.0, 10.0)
    2.0
    """
    return price + (cost_other - cost_one) / (use_one - use_other)


# --- media that age ---------------------------------------------------------------------------


@law
@valid(left=(0, 1))
def mean_salt_of_ageing(left: Number) -> Number:
    """Salt over that of new resin, mean until it is replaced = (1 / left - 1) / -ln(left).

    The dose stays while the capacity falls to the part left. Worked by hand: of 1/e the mean is
    e - 1 = 1.718.

    >>> round(mean_salt_of_ageing(0.36787944), 3)
    1.718
    """
    return (1.0 / left - 1.0) / (-1.0 * log_e(left))
