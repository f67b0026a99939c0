"""Printed numbers on which stages and the choice rest, each beside the value that is used."""

import pytest

from pretreat.core.tables import rows
from pretreat.life import annual, discharge
from pretreat.plant.choices.candidates import FEW_ALKALINITY_MG_L, FEW_CALCIUM_MG_L
from pretreat.plant.choices.table import failing, options
from pretreat.stages.bisulfite import laws as bisulfite
from pretreat.stages.chlorine import figures as chlorine
from pretreat.stages.chlorine import laws as chlorine_laws
from pretreat.stages.neutralising_filter import figures as calcite
from pretreat.stages.stripped import AIR_TO_WATER
from pretreat.stages.stripping import stripping_factor

FT_PER_MIN_M_H = 0.3048 * 60.0


def test_air_of_a_packed_tower():
    # Wis. Adm. Code NR 811.45(3m): at least 25 volumes of air for one of water.
    assert AIR_TO_WATER == 25.0
    assert stripping_factor(1.0, AIR_TO_WATER) == 25.0


def test_breakpoint_by_theory_and_in_practice():
    # Weiner, Applications of Environmental Aquatic Chemistry, ch. 4: 7.6 by theory, 10 to 15.
    assert 10.0 <= chlorine.BREAKPOINT <= 15.0
    theory = 3 * 70.906 / (2 * 14.007)  # three chlorine for two ammonia
    assert theory == pytest.approx(7.6, rel=0.01)
    taken = chlorine_laws.ammonia_takes_mg_l(1.5, chlorine.BREAKPOINT)
    assert taken == pytest.approx(15.0, rel=0.01)


def test_bisulfite_of_the_field_guide():
    # AWWA field guide, Table 7-2: 1.61 mg of NaHSO3 for a milligram of chlorine, theory and a
    # tenth (1.097 times 1.468).
    assert bisulfite.bisulfite_dose_mg_l(1.0, 1.61 / 1.468) == pytest.approx(1.61, rel=0.001)


def test_where_calcite_is_feasible():
    # University criteria for limestone contactors after USEPA 2003 and Mackintosh 2003.
    assert (FEW_CALCIUM_MG_L, FEW_ALKALINITY_MG_L) == (60.0, 100.0)
    assert {ion: limit for ion, limit, _ in calcite.FEED_LIMITS}["fe"] == 0.1
    # Texas Water Development Board 2012: upflow tested at 0.51 ft/min.
    assert calcite.FASTEST_M_H == pytest.approx(0.51 * FT_PER_MIN_M_H, rel=0.005)


def test_sulfide_that_asks_for_treatment():
    # Fla. Adm. Code 62-555.315(5): from 0.3 mg/L of total sulfide.
    open_way = next(o for o in options() if o.key == "open_sulfide")
    facts = {"fe": 0.5, "mn": 0.0, "vented": 0.0}
    assert failing(open_way.when, facts | {"h2s": 0.31}) == ""
    assert failing(open_way.when, facts | {"h2s": 0.29}) != ""


def test_printed_limits_of_the_drain():
    # 40 CFR 143.3: 250 mg/L of chloride, 500 of dissolved solids; FAO 29, Table 6: severe from
    # 2000 mg/L.
    found = {row["key"]: float(row["limit_mg_l"]) for row in rows("discharge_criteria.csv")}
    assert found["secondary_chloride"] == 250.0
    assert found["secondary_tds"] == 500.0
    assert found["irrigation_tds_severe"] == 2000.0


@pytest.mark.parametrize(("grains", "g_kg"), [(4000, 571.4), (3350, 478.6), (2850, 407.1)])
def test_printed_efficiencies_of_softeners(grains, g_kg):
    # California HSC 116785 (3350 from 2000, 4000 from 2002) and 116790 (2850, clock or manual);
    # a grain is 64.799 mg, a pound 453.59 g.
    assert discharge.salt_efficiency_g_kg(float(grains)) == pytest.approx(g_kg, abs=0.1)
    assert grains * 64.799 / 453.59 == pytest.approx(g_kg, abs=0.1)


def test_printed_money():
    # Wyoming BACT worksheet: 0.163 at 10 % and 10 years; course notes IE492: 10 000 a year for
    # ever at 10 % are 100 000; a techno-economic handbook: 5 to 8 MW at 0.62 is a factor of 1.34.
    assert annual.capital_recovery(0.10, 10.0) == pytest.approx(0.163, abs=0.0005)
    assert 10_000 * annual.uniform_present_value(0.10, 400.0) == pytest.approx(100_000)
    assert annual.scaled_cost(1.0, 8.0, 5.0, 0.62) == pytest.approx(1.34, abs=0.005)
    # 10 CFR 436.14(a)(2): real interest from 3 to 10 %.
    rate = {row["key"]: float(row["value"]) for row in rows("train_prices.csv")}["discount_rate"]
    assert 0.03 <= rate <= 0.10


def test_salt_of_a_m3_of_product_two_ways():
    # 400 mg/L at 2.1 g/g and a recovery of 75 %: 1.12 kg/m3, from the year and from the water.
    year = 0.4 / 0.75 * 2.1 * 30.0 * 365.0
    assert discharge.salt_over_product_kg_m3(year, 30.0, 365.0) == pytest.approx(1.12)
    assert annual.salt_of_product_kg_m3(400.0, 2.1, 0.75) == pytest.approx(1.12)
