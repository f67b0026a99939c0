"""How long media last: every mechanism by itself, and the shortest of them."""

from collections.abc import Callable

from pretreat.core.basis import cites
from pretreat.core.law import Number, above, law, least, log_e, valid, when
from pretreat.core.units import molar_mass
from pretreat.stages.carbon.laws import BULK_DENSITY_KG_L, CHLORINE_CAPACITY_G_G
from pretreat.stages.softener.resin import TOTAL_CAPACITY_EQ_L

MONTHS_PER_YEAR = 12.0
PERCENT = 100.0
LOSS_ALLOWED_PCT = 25.0  # UFC 3-240-13FN, 2-2.5.1.4.4: resin is replaced at a loss of a quarter
G_PER_KG = 1000.0
IRON_G_PER_EQ = molar_mass("Fe") / 2.0  # Fe2+, as it sits on the resin


# --- mechanisms -----------------------------------------------------------------------------


@law
def years_of_age(age_years: Number) -> Number:
    """Life by age alone: the longest that is quoted, whatever the load.

    By definition.

    >>> years_of_age(12.0)
    12.0
    """
    return age_years


@law
def months_of_age_years(age_months: Number) -> Number:
    """Life by age alone, of what lasts months = months / 12.

    Worked by hand: a quarter of a year.

    >>> months_of_age_years(3.0)
    0.25
    """
    return age_months / MONTHS_PER_YEAR


@law
@cites("UFC13FN", "2-2.5.1.4.4: 25 % lost; 1 to 5 % a year")
@valid(loss_pct_per_year=(0, 100), loss_allowed_pct=(0, 100))
def capacity_loss_years(
    loss_pct_per_year: Number, loss_allowed_pct: Number = LOSS_ALLOWED_PCT
) -> Number:
    """Years until resin has lost the capacity at which it is replaced = allowed / loss a year.

    Printed in UFC 3-240-13FN, 2-2.5.1.4.4: 5 years at 5 % a year, 25 years at 1 %.

    >>> capacity_loss_years(5.0)
    5.0
    >>> capacity_loss_years(1.0)
    25.0
    """
    return loss_allowed_pct / loss_pct_per_year


@law
@valid(loss_pct_per_year=(0, 100), loss_allowed_pct=(0, 100))
def compounded_loss_years(
    loss_pct_per_year: Number, loss_allowed_pct: Number = LOSS_ALLOWED_PCT
) -> Number:
    """Years until the loss allowed, counted on what is left = ln(1 - allowed) / ln(1 - loss).

    Worked by hand: 50 % a year leave a quarter after two years.

    >>> round(compounded_loss_years(50.0, 75.0), 12)
    2.0
    """
    left = log_e(1.0 - loss_allowed_pct / PERCENT)
    return left / log_e(1.0 - loss_pct_per_year / PERCENT)


@law
@cites("PRACTICE", "about 10 years at 1 mg/L; about half above it")
@valid(dose_mg_l_years=(0, None), chlorine_mg_l=(0, None), running_share=(0, None))
def chlorine_life_years(
    dose_mg_l_years: Number, chlorine_mg_l: Number, running_share: Number
) -> Number:
    """Years until chlorine has broken resin = dose borne / (chlorine x share of running).

    Worked by hand: 10 mg/L·year at 1 mg/L for half the year.

    >>> chlorine_life_years(10.0, 1.0, 0.5)
    20.0
    """
    return dose_mg_l_years / (chlorine_mg_l * running_share)


@law
@valid(bearable_cycles=(0, None), regenerations_per_year=(0, None), beds_taking_turns=(0, None))
def cycles_life_years(
    bearable_cycles: Number, regenerations_per_year: Number, beds_taking_turns: Number = 1.0
) -> Number:
    """Years until the regenerations borne are done; beds that take turns share them.

    Worked by hand: 1095 regenerations, daily, are three years; two beds in turn, six.

    >>> cycles_life_years(1095.0, 365.0)
    3.0
    >>> cycles_life_years(1095.0, 365.0, 2.0)
    6.0
    """
    return bearable_cycles / (regenerations_per_year / beds_taking_turns)


@law
@cites("WEAR_ESTIMATE", "attrition")
@valid(loss_allowed_pct=(0, None), loss_per_backwash_pct=(0, None), backwashes_per_year=(0, None))
def attrition_years(
    loss_allowed_pct: Number,
    loss_per_backwash_pct: Number,
    backwashes_per_year: Number,
    beds_taking_turns: Number = 1.0,
) -> Number:
    """Years until backwashes have worn the part that may be lost.

    Worked by hand: 20 % at 0.01 % for each of 100 backwashes a year.

    >>> attrition_years(20.0, 0.01, 100.0)
    20.0
    """
    return loss_allowed_pct / (loss_per_backwash_pct * (backwashes_per_year / beds_taking_turns))


@law
@cites("UFC13FN", "2-2.5.1.4.4: a quarter of the capacity")
@valid(loss_allowed_pct=[0, 100])
def iron_allowed_g_l(loss_allowed_pct: Number) -> Number:
    """Iron that blocks the exchange sites that may be lost = share x capacity x g/eq of iron.

    Worked by hand: all sites of resin of 2 eq/L hold one mole of Fe2+, 55.845 g (IUPAC).

    >>> round(iron_allowed_g_l(100.0) * 2.0 / TOTAL_CAPACITY_EQ_L, 2)
    55.84
    """
    return loss_allowed_pct / PERCENT * TOTAL_CAPACITY_EQ_L * IRON_G_PER_EQ


@law
@cites("WEAR_ESTIMATE", "iron")
@valid(metals_mg_l=(0, None), water_m3_year=(0, None), metals_kept=(0, None), resin_l=(0, None))
def iron_blocking_years(
    loss_allowed_pct: Number,
    metals_mg_l: Number,
    water_m3_year: Number,
    metals_kept: Number,
    resin_l: Number,
) -> Number:
    """Years until the metals that regenerations leave block the sites that may be lost.

    Metals kept in a year = metals x water x share kept / resin. Worked by hand: 1 mg/L in
    1000 m3 a year, a tenth kept in 100 L, is 1 g/L a year, so the years are the grams allowed.

    >>> iron_blocking_years(25.0, 1.0, 1000.0, 0.1, 100.0) == iron_allowed_g_l(25.0)
    True
    """
    return iron_allowed_g_l(loss_allowed_pct) / (
        metals_mg_l * water_m3_year * metals_kept / resin_l
    )


@law
@cites("WEAR_ESTIMATE", "fouling")
@valid(
    deposit_g_l=(0, None),
    solids_mg_l=(0, None),
    water_m3_year=(0, None),
    solids_kept=(0, None),
    medium_l=(0, None),
)
def fouling_years(
    deposit_g_l: Number,
    solids_mg_l: Number,
    water_m3_year: Number,
    solids_kept: Number,
    medium_l: Number,
) -> Number:
    """Years until what backwashes leave reaches the deposit at which a medium is replaced.

    Worked by hand: 2 mg/L in 5000 m3 a year, of which 2 % stay in 100 L, is 2 g/L a year.

    >>> fouling_years(10.0, 2.0, 5000.0, 0.02, 100.0)
    5.0
    """
    return deposit_g_l / (solids_mg_l * water_m3_year * solids_kept / medium_l)


@law
@cites("MEMORY", "about 1 g chlorine per g carbon")
@valid(
    carbon_l=(0, None), capacity_used=(0, None), water_m3_year=(0, None), chlorine_mg_l=(0, None)
)
def carbon_chlorine_years(
    carbon_l: Number, capacity_used: Number, water_m3_year: Number, chlorine_mg_l: Number
) -> Number:
    """Years until chlorine shows behind carbon = grams x capacity x part used / chlorine a year.

    Worked by hand: 100 L of 0.5 kg/L at 1 g/g, half of it used, are 25 kg; 1 mg/L in 5000 m3 a
    year brings 5 kg.

    >>> scale = BULK_DENSITY_KG_L * CHLORINE_CAPACITY_G_G / (0.5 * 1.0)
    >>> round(carbon_chlorine_years(100.0, 0.5, 5000.0, 1.0) / scale, 12)
    5.0
    """
    grams = carbon_l * BULK_DENSITY_KG_L * G_PER_KG
    return grams * CHLORINE_CAPACITY_G_G * capacity_used / (water_m3_year * chlorine_mg_l)


@law
@cites("MEMORY", "organics")
@valid(carbon_l=(0, None), fed_g_per_g=(0, None), water_m3_year=(0, None), toc_mg_l=(0, None))
def carbon_organics_years(
    carbon_l: Number, fed_g_per_g: Number, water_m3_year: Number, toc_mg_l: Number
) -> Number:
    """Years until organics have spent carbon = grams x organics fed per gram / organics a year.

    Worked by hand: 100 L of 0.5 kg/L at 0.1 g/g bear 5 kg; 1 mg/L in 5000 m3 a year brings 5 kg.

    >>> round(carbon_organics_years(100.0, 0.1, 5000.0, 1.0) * 0.5 / BULK_DENSITY_KG_L, 12)
    1.0
    """
    grams = carbon_l * BULK_DENSITY_KG_L * G_PER_KG
    return grams * fed_g_per_g / (water_m3_year * toc_mg_l)


@law
@cites("WEAR_ESTIMATE", "dirt held")
@valid(
    dirt_g=(0, None),
    metals_mg_l=(0, None),
    passing=(0, None),
    as_particles=(0, None),
    water_m3_year=(0, None),
    cartridges=(0, None),
)
def cartridge_dirt_years(
    dirt_g: Number,
    metals_mg_l: Number,
    passing: Number,
    as_particles: Number,
    water_m3_year: Number,
    cartridges: Number,
) -> Number:
    """Years until cartridges are full = dirt held / dirt of a year for each.

    Worked by hand: 0.1 mg/L, half as particles, in 4000 m3 a year are 200 g for two cartridges
    that hold 50 g each.

    >>> cartridge_dirt_years(50.0, 0.1, 1.0, 0.5, 4000.0, 2.0)
    0.5
    """
    return dirt_g / (metals_mg_l * passing * as_particles * water_m3_year / cartridges)


# --- the shortest mechanism -------------------------------------------------------------------


def _loaded(load: Number, years: Callable[[], Number], age_years: Number) -> Number:
    """Return a life under a load; without a load no life but that by age."""
    return when(above(load, 0.0), years, lambda: age_years)


@law
def resin_life_years(
    age_years: Number,
    loss_allowed_pct: Number,
    loss_pct_per_year: Number,
    dose_mg_l_years: Number,
    chlorine_mg_l: Number,
    running_share: Number,
    bearable_cycles: Number,
    regenerations_per_year: Number,
    beds_taking_turns: Number,
    loss_per_backwash_pct: Number,
    backwashes_per_year: Number,
    metals_mg_l: Number,
    water_m3_year: Number,
    metals_kept: Number,
    resin_l: Number,
) -> Number:
    """Life of softening resin = the shortest of its mechanisms; one without a load sets no limit.

    Worked by hand: loss of capacity 25 / 2.5 = 10 years, age 12, chlorine none, 1200 cycles at
    150 a year = 8 years, attrition 25 / (0.01 x 150) = 16.7, metals none.

    >>> resin_life_years(12.0, 25.0, 2.5, 10.0, 0.0, 1.0, 1200.0, 150.0, 1.0, 0.01, 150.0, 0.0,
    ...                  5000.0, 0.1, 100.0)
    8.0
    """
    return least(
        age_years,
        capacity_loss_years(loss_pct_per_year, loss_allowed_pct),
        _loaded(
            chlorine_mg_l,
            lambda: chlorine_life_years(dose_mg_l_years, chlorine_mg_l, running_share),
            age_years,
        ),
        _loaded(
            regenerations_per_year,
            lambda: cycles_life_years(bearable_cycles, regenerations_per_year, beds_taking_turns),
            age_years,
        ),
        _loaded(
            backwashes_per_year,
            lambda: attrition_years(
                loss_allowed_pct, loss_per_backwash_pct, backwashes_per_year, beds_taking_turns
            ),
            age_years,
        ),
        _loaded(
            metals_mg_l,
            lambda: iron_blocking_years(
                loss_allowed_pct, metals_mg_l, water_m3_year, metals_kept, resin_l
            ),
            age_years,
        ),
    )


@law
def filter_life_years(
    age_years: Number,
    bearable_cycles: Number,
    regenerations_per_year: Number,
    loss_allowed_pct: Number,
    loss_per_backwash_pct: Number,
    backwashes_per_year: Number,
    deposit_g_l: Number,
    solids_mg_l: Number,
    water_m3_year: Number,
    solids_kept: Number,
    medium_l: Number,
) -> Number:
    """Life of a filter medium = the shortest of its mechanisms; one without a load sets no limit.

    Worked by hand: age 7.5 years, no regenerations, attrition 20 / (0.01 x 100) = 20 years,
    fouling 10 / (2 x 5000 x 0.02 / 100) = 5 years.

    >>> filter_life_years(7.5, 1460.0, 0.0, 20.0, 0.01, 100.0, 10.0, 2.0, 5000.0, 0.02, 100.0)
    5.0
    """
    return least(
        age_years,
        _loaded(
            regenerations_per_year,
            lambda: cycles_life_years(bearable_cycles, regenerations_per_year),
            age_years,
        ),
        _loaded(
            backwashes_per_year,
            lambda: attrition_years(loss_allowed_pct, loss_per_backwash_pct, backwashes_per_year),
            age_years,
        ),
        _loaded(
            solids_mg_l,
            lambda: fouling_years(deposit_g_l, solids_mg_l, water_m3_year, solids_kept, medium_l),
            age_years,
        ),
    )


@law
def carbon_life_years(
    age_years: Number,
    carbon_l: Number,
    capacity_used: Number,
    water_m3_year: Number,
    chlorine_mg_l: Number,
    fed_g_per_g: Number,
    toc_mg_l: Number,
    loss_allowed_pct: Number,
    loss_per_backwash_pct: Number,
    backwashes_per_year: Number,
    deposit_g_l: Number,
    solids_mg_l: Number,
    solids_kept: Number,
) -> Number:
    """Life of carbon = the shortest of its mechanisms; one without a load sets no limit.

    Worked by hand: age 20 years, no chlorine and no organics, attrition 20 / (0.02 x 50) = 20
    years, fouling 10 / (0.1 x 5000 x 0.2 / 100) = 10 years.

    >>> carbon_life_years(20.0, 100.0, 0.5, 5000.0, 0.0, 0.1, 0.0, 20.0, 0.02, 50.0, 10.0, 0.1,
    ...                   0.2)
    10.0
    """
    return least(
        age_years,
        _loaded(
            chlorine_mg_l,
            lambda: carbon_chlorine_years(carbon_l, capacity_used, water_m3_year, chlorine_mg_l),
            age_years,
        ),
        _loaded(
            toc_mg_l,
            lambda: carbon_organics_years(carbon_l, fed_g_per_g, water_m3_year, toc_mg_l),
            age_years,
        ),
        _loaded(
            backwashes_per_year,
            lambda: attrition_years(loss_allowed_pct, loss_per_backwash_pct, backwashes_per_year),
            age_years,
        ),
        _loaded(
            solids_mg_l,
            lambda: fouling_years(deposit_g_l, solids_mg_l, water_m3_year, solids_kept, carbon_l),
            age_years,
        ),
    )


@law
def cartridge_life_years(
    age_months: Number,
    dirt_g: Number,
    metals_mg_l: Number,
    passing: Number,
    as_particles: Number,
    water_m3_year: Number,
    cartridges: Number,
) -> Number:
    """Life of cartridges = the shorter of age and dirt; without metals age alone.

    Worked by hand: three months; 50 g for each at 400 g a year are half of that.

    >>> cartridge_life_years(3.0, 50.0, 0.2, 1.0, 0.5, 4000.0, 1.0)
    0.125
    """
    age_years = months_of_age_years(age_months)
    return least(
        age_years,
        _loaded(
            metals_mg_l,
            lambda: cartridge_dirt_years(
                dirt_g, metals_mg_l, passing, as_particles, water_m3_year, cartridges
            ),
            age_years,
        ),
    )
