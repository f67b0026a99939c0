"""Money of an offer: prices as sold, discount, net, tax and gross; visits of a year."""

from collections.abc import Sequence

from pretreat.core.law import (
    Number,
    cents,
    law,
    least,
    most,
    total,
    valid,
    whole_up,
)

MONTHS = 12.0  # of a year
MOST_VISITS = 12.0  # a year, common practice: one a month


@law
@valid(margin_pct="[0, 100)")
def selling_price(cost: Number, margin_pct: Number) -> Number:
    """Price = cost / (1 - margin), to the cent: the margin is a share of the price.

    Worked by hand: 100 at a margin of 30 % sells for 142.857, and 30 % of 142.857 is 42.857.

    >>> selling_price(100.0, 30.0)
    142.86
    """
    return cents(cost / (1.0 - margin_pct / 100.0))


@law
def printed_price(cost: Number) -> Number:
    """Price as printed = price of the package, to the cent, half a cent up.

    So that packages x price is the amount, as it stands on the page. Worked by hand: 25 L at
    3.455 are 86.375; a cubic foot, 28.316846592 L, at 6.50 is 184.0595.

    >>> printed_price(86.375)
    86.38
    >>> printed_price(184.059502848)
    184.06
    """
    return cents(cost)


@law
def offered_amount(packages: Number, selling_price: Number) -> Number:
    """Amount = packages x price of one as it is printed, to the cent.

    Worked by hand.

    >>> offered_amount(13.0, 114.29)
    1485.77
    """
    return cents(packages * selling_price)


@law
@valid(discount_pct=[0, 100])
def discount_of(amount: Number, discount_pct: Number) -> Number:
    """Discount = share of the amount, to the cent, half a cent up.

    Worked by hand: 5 % of 1234.50 is 61.725.

    >>> discount_of(1234.50, 5.0)
    61.73
    """
    return cents(amount * discount_pct / 100.0)


@law
def discount_left(discount: Number, others: Sequence[Number]) -> Number:
    """Discount of the last rate of tax = discount of all - that of the other rates.

    So the parts add up to the whole. Worked by hand.

    >>> discount_left(75.95, [14.76])
    61.19
    >>> discount_left(75.95, [])
    75.95
    """
    return cents(discount - total([*others, 0.0]))


@law
def net_of(amount: Number, discount: Number) -> Number:
    """Net = amount - discount, to the cent.

    Worked by hand.

    >>> net_of(1234.50, 61.73)
    1172.77
    """
    return cents(amount - discount)


@law
@valid(tax_pct=[0, 100])
def tax_of(net: Number, tax_pct: Number) -> Number:
    """Tax = rate x net, to the cent, half a cent up.

    Worked by hand: 19 % of 1172.77 is 222.8263.

    >>> tax_of(1172.77, 19.0)
    222.83
    """
    return cents(net * tax_pct / 100.0)


@law
def gross_of(net: Number, tax: Number) -> Number:
    """Gross = net + tax, to the cent.

    Worked by hand.

    >>> gross_of(1172.77, 222.83)
    1395.6
    """
    return cents(net + tax)


@law
@valid(cartridge_life_years=(0, None))
def visits_per_year(cartridge_life_years: Number) -> Number:
    """Visits of a year = changes of the cartridges, 1 to 12.

    Worked by hand: a life of two months is six visits, one of ten days no more than twelve.

    >>> visits_per_year(1 / 6)
    6.0
    >>> visits_per_year(10 / 365)
    12.0
    """
    return most(1.0, least(MOST_VISITS, whole_up(1.0 / cartridge_life_years)))


@law
@valid(visits_per_year=[0, None])
def amount_of_a_visit(yearly_packages: Number, visits_per_year: Number) -> Number:
    """Packages of a visit = those of a year / visits, rounded up.

    Worked by hand: 13 bags a year at 4 visits.

    >>> amount_of_a_visit(13.0, 4.0)
    4.0
    """
    return whole_up(yearly_packages / visits_per_year)


@law
@valid(pallet_kg=[0, None])
def pallets_of_year(
    yearly_packages: Number, package_kg: Number, pallet_kg: Number, shelf_months: Number = MONTHS
) -> Number:
    """Pallets of a year = mass of the packages / what a pallet carries, rounded up.

    As many for each shelf life. Worked by hand: 101 bags of 25 kg on pallets of 1000 kg; where
    they keep for three months one a quarter; of 200 bags, 50 a quarter, two a quarter.

    >>> pallets_of_year(101.0, 25.0, 1000.0)
    3.0
    >>> pallets_of_year(101.0, 25.0, 1000.0, 3.0)
    4.0
    >>> pallets_of_year(200.0, 25.0, 1000.0, 3.0)
    8.0
    """
    fresh = whole_up(MONTHS / shelf_months)
    return fresh * whole_up(yearly_packages / fresh * package_kg / pallet_kg)


@law
@valid(truck_pallets=[0, None])
def deliveries_of_year(
    yearly_pallets: Number,
    visits_per_year: Number,
    truck_pallets: Number,
    shelf_months: Number = MONTHS,
) -> Number:
    """Deliveries of a year = one for each visit, more where a truck does not hold the pallets.

    As many in each shelf life, never more than there are pallets. Worked by hand: 232 pallets,
    4 visits, 24 pallets a truck; 3 pallets at 6 visits; and 8 at 6 visits that keep for 3 months.

    >>> deliveries_of_year(232.0, 4.0, 24.0)
    10.0
    >>> deliveries_of_year(3.0, 6.0, 24.0)
    3.0
    >>> deliveries_of_year(8.0, 6.0, 24.0, 3.0)
    8.0
    """
    trucks = whole_up(yearly_pallets / truck_pallets)
    fresh = whole_up(MONTHS / shelf_months)
    wanted = most(whole_up(visits_per_year), trucks)
    return least(yearly_pallets, fresh * most(1.0, whole_up(wanted / fresh)))


@law
@valid(deliveries_per_year=[0, None])
def pallets_of_delivery(yearly_pallets: Number, deliveries_per_year: Number) -> Number:
    """Pallets of a delivery = those of a year / deliveries, rounded up.

    Worked by hand: 232 pallets in 10 deliveries.

    >>> pallets_of_delivery(232.0, 10.0)
    24.0
    """
    return whole_up(yearly_pallets / deliveries_per_year)
