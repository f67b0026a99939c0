"""Money and quantities of a quote: use of a year, amounts, replacements by year, present value."""

from collections.abc import Sequence

from pretreat.core.law import (
    Number,
    cents,
    law,
    least,
    most,
    total,
    valid,
    whole,
    whole_up,
)

G_PER_KG = 1000.0
BAR_PER_KWH_M3 = 36.0  # 1 m3 raised by 36 bar takes 1 kWh

# --- what a year uses up ----------------------------------------------------------------------


@law
def kg_of_cycles_kg_year(kg_per_regeneration: Number, cycles_per_year: Number) -> Number:
    """Chemical of a year = dose of a regeneration x regenerations.

    Worked by hand: 4 kg for each of 150 regenerations.

    >>> kg_of_cycles_kg_year(4.0, 150.0)
    600.0
    """
    return kg_per_regeneration * cycles_per_year


@law
def g_of_cycles_kg_year(g_per_regeneration: Number, cycles_per_year: Number) -> Number:
    """Chemical of a year = grams of a regeneration x regenerations / 1000.

    Worked by hand: 200 g for each of 150 regenerations.

    >>> g_of_cycles_kg_year(200.0, 150.0)
    30.0
    """
    return g_per_regeneration * cycles_per_year / G_PER_KG


@law
def dosed_kg_year(dose_mg_l: Number, water_m3_year: Number) -> Number:
    """Chemical of a year = dose x water / 1000.

    Worked by hand: 3 mg/L into 6000 m3.

    >>> dosed_kg_year(3.0, 6000.0)
    18.0
    """
    return dose_mg_l * water_m3_year / G_PER_KG


@law
@valid(life_years=(0, None))
def cartridges_per_year(cartridges: Number, life_years: Number) -> Number:
    """Cartridges of a year = those of a set x whole sets, 1 / life rounded up.

    Worked by hand: four at a time, changed every two months, are six sets; at five months, three.

    >>> cartridges_per_year(4.0, 1 / 6)
    24.0
    >>> cartridges_per_year(4.0, 5 / 12)
    12.0
    """
    return cartridges * whole_up(1.0 / life_years)


@law
@valid(pump_efficiency=(0, None))
def energy_kwh_year(
    raw_pump_kwh_year: Number,
    water_m3_year: Number,
    feed_pressure_bar: Number,
    pump_efficiency: Number,
) -> Number:
    """Energy of a year = raw water pump + water x pressure / 36 / efficiency.

    1 m3 against 36 bar takes 1 kWh (geometry: 1 bar m3 is 100 kJ). Worked by hand: 1000 kWh
    and 7200 m3 at 10 bar and 50 %.

    >>> energy_kwh_year(1000.0, 7200.0, 10.0, 0.5)
    5000.0
    """
    return raw_pump_kwh_year + water_m3_year * feed_pressure_bar / BAR_PER_KWH_M3 / pump_efficiency


@law
@valid(life_years=(0, None))
def medium_l_year(medium_l: Number, life_years: Number) -> Number:
    """Medium used up in a year, mean = volume / life.

    Worked by hand: 100 L in four years.

    >>> medium_l_year(100.0, 4.0)
    25.0
    """
    return medium_l / life_years


@law
def all_beds_l(bed_l: Number, beds_taking_turns: Number) -> Number:
    """Medium of all beds = one bed x beds that take turns.

    Worked by hand: two beds of 100 L.

    >>> all_beds_l(100.0, 2.0)
    200.0
    """
    return bed_l * beds_taking_turns


# --- amounts --------------------------------------------------------------------------------


@law
def package_price(unit_price: Number, package_size: Number) -> Number:
    """Price of a package = price of a unit x what it holds.

    Worked by hand: 25 kg at 0.50.

    >>> package_price(0.5, 25.0)
    12.5
    """
    return unit_price * package_size


@law
def amount_of_packages(packages: Number, package_size: Number, unit_price: Number) -> Number:
    """Amount = packages x what one holds x price of a unit, to the cent.

    Worked by hand: 3 bags of 25 kg at 0.333 are 24.975, half a cent up.

    >>> amount_of_packages(3.0, 25.0, 0.333)
    24.98
    """
    return cents(packages * package_size * unit_price)


@law
def amount_by_measure(quantity: Number, unit_price: Number) -> Number:
    """Amount of what is bought by measure = quantity x price of a unit, to the cent.

    Worked by hand.

    >>> amount_by_measure(10.0, 1.2345)
    12.35
    """
    return cents(quantity * unit_price)


@law
def used_by_all_kg_year(amounts_kg_year: Sequence[Number]) -> Number:
    """Consumable that several stages use = sum of what each uses in a year.

    Worked by hand.

    >>> used_by_all_kg_year((30.0, 12.5))
    42.5
    """
    return total(amounts_kg_year)


@law
def gravel_of_all_kg(amounts_kg: Sequence[Number]) -> Number:
    """Gravel that is bought at once = sum of what each vessel takes, so that bags are shared.

    Worked by hand.

    >>> gravel_of_all_kg((31.5, 14.25))
    45.75
    """
    return total(amounts_kg)


@law
def total_amount(amounts: Sequence[Number]) -> Number:
    """Sum of the amounts that are known, to the cent; a gap where none is.

    Worked by hand.

    >>> total_amount([10.25, None, 0.5])
    10.75
    >>> total_amount([None, None]) is None
    True
    """
    return cents(total(amounts))


# --- the plan -------------------------------------------------------------------------------


@law
@valid(life_years=(0, None))
def replacements_in_year(year: Number, life_years: Number) -> Number:
    """Count the replacements of a year = lives ended by its end - by its beginning.

    The medium is new at the start. Worked by hand: a life of 2.5 years ends in year 3 and at
    the end of year 5; one of four months ends three times a year.

    >>> [int(replacements_in_year(year, 2.5)) for year in range(1, 6)]
    [0, 0, 1, 0, 1]
    >>> replacements_in_year(1, 1 / 3)
    3.0
    """
    return whole(year / life_years) - whole((year - 1.0) / life_years)


@law
@valid(lives_years=(0, None))
def media_of_year(
    year: Number, costs: Sequence[Number], lives_years: Sequence[Number], freight: Number
) -> Number:
    """Media of a year = cost of each replacement that falls due, with one freight for all.

    What is replaced in one year comes in one delivery, as often as the medium replaced most
    often. A cost or freight not known is left out; no cost known makes a gap. Worked by hand, in
    year 2: 500 at a life of 2 years and twice 100 at one of half a year, with freight of 50 for
    each of two deliveries.

    >>> media_of_year(2, [500.0, 100.0], [2.0, 0.5], 50.0)
    800.0
    >>> media_of_year(2, [500.0, None], [2.0, 0.5], None)
    500.0
    """
    due = [replacements_in_year(year, life) for life in lives_years]
    media = total([cost * times for cost, times in zip(costs, due, strict=True)])
    return cents(media + total(freight * most(due), 0.0))


@law
@valid(lives_years=(0, None))
def yearly_media(costs: Sequence[Number], lives_years: Sequence[Number], freight: Number) -> Number:
    """Media of a year, mean = sum of cost / life, with freight at the shortest life.

    Worked by hand: 500 in 5 years, 100 in 2 years, freight of 50 every 2 years.

    >>> yearly_media([500.0, 100.0], [5.0, 2.0], 50.0)
    175.0
    """
    media = total([cost / life for cost, life in zip(costs, lives_years, strict=True)])
    return cents(media + total(freight / least(lives_years), 0.0))


@law
def cost_of_year(consumables: Number, media: Number) -> Number:
    """Cost of a year = consumables + media, to the cent; a gap where either is one.

    Worked by hand.

    >>> cost_of_year(1000.25, 500.5)
    1500.75
    """
    return cents(media + consumables)


@law
def mean_amount(amounts: Sequence[Number]) -> Number:
    """Mean of the plan = sum of what is known / years, to the cent.

    Worked by hand.

    >>> mean_amount([100.0, 0.0, 200.0])
    100.0
    """
    return cents(total(amounts) / len(amounts))


@law
@valid(product_m3_per_year=(0, None))
def cost_of_water(yearly_cost: Number, product_m3_per_year: Number) -> Number:
    """Cost of a cubic metre of product = cost of a year / product of a year.

    Worked by hand.

    >>> cost_of_water(1500.0, 6000.0)
    0.25
    """
    return yearly_cost / product_m3_per_year


@law
@valid(discount_rate="(-1, inf)")
def present_value(amounts: Sequence[Number], discount_rate: Number) -> Number:
    """Present value = sum of amount / (1 + rate) ^ year, each due at the end of its year.

    The rate is a share, 0.05 is 5 %. Worked by hand: 110 after a year and 121 after two, at
    10 %, are 100 each.

    >>> present_value([110.0, 121.0], 0.1)
    200.0
    """
    return cents(
        total(
            [
                amount / (1.0 + discount_rate) ** float(year)
                for year, amount in enumerate(amounts, 1)
            ]
        )
    )
