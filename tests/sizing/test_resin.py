"""Capacity and leakage of softening resin against printed tables and computed equilibria."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pretreat.core.errors import DesignError, OutOfRangeError
from pretreat.core.units import (
    CACO3_MG_PER_MEQ,
    G_L_PER_KGR_FT3,
    G_L_PER_LB_FT3,
    GRAM_PER_GRAIN,
    GRAM_PER_POUND,
    LITRE_PER_CUBIC_FOOT,
)
from pretreat.stages.softener.resin import (
    SALT_PER_CACO3,
    TOTAL_CAPACITY_EQ_L,
    capacity_by_fit_g_l,
    capacity_table,
    leakage_mg_l_caco3,
    operating_capacity_g_l,
    read_capacity_table,
    resin_hardness_left,
)

# table, lb/ft3, g CaCO3/L: KELLER2 Table 3 and MICHAUD2015, printed in kgr/ft3
PRINTED = [
    ("clean standard mesh", 5, 50.8), ("clean standard mesh", 10, 66.4),
    ("clean standard mesh", 15, 71.6), ("clean fine mesh", 5, 54.7),
    ("clean fine mesh", 10, 72.1), ("clean fine mesh", 15, 77.8),
    ("generic 2015", 5, 45.8), ("generic 2015", 8, 54.9), ("generic 2015", 12, 68.7),
]  # fmt: skip


@pytest.mark.parametrize(("table", "pound_ft3", "expected"), PRINTED)
def test_printed_capacity_tables(table, pound_ft3, expected):
    found = operating_capacity_g_l(pound_ft3 * G_L_PER_LB_FT3, capacity_table(table))
    assert found == pytest.approx(expected, rel=3e-3)


@pytest.mark.parametrize(
    ("dose", "expected"), [(96.0, 45.8), (128.0, 51.5), (160.0, 57.2), (240.0, 68.7)]
)
def test_ladder(dose, expected):
    """LADDER: 6, 8, 10 and 15 lb/ft3 give 20, 22.5, 25 and 30 kgr/ft3 (trade guides)."""
    found = operating_capacity_g_l(dose, capacity_table())
    assert found == pytest.approx(expected, abs=0.1)


def test_code_ceiling_is_the_first_rung():
    """TSS, printed: 20 kgr/ft3 with 0.3 lb of salt per kgr: 45.77 g/L, 0.9145 eq/L, 96.11 g/L."""
    table = capacity_table()
    assert table.capacity_g_l[1] == pytest.approx(45.77, rel=1e-3)
    assert table.capacity_g_l[1] / CACO3_MG_PER_MEQ == pytest.approx(0.9145, rel=2e-3)
    assert table.dose_g_l[1] == pytest.approx(96.11, rel=1e-3)
    assert table.dose_g_l[1] / table.capacity_g_l[1] / SALT_PER_CACO3 == pytest.approx(
        1.798, rel=2e-3
    )


def test_stoichiometry_of_salt():
    """Trade press prints 5989 gr/lb (own value 5994), and 7.29 lb/ft3 for 2.0 eq/L."""
    assert pytest.approx(1.1678, rel=5e-4) == SALT_PER_CACO3
    grains = GRAM_PER_POUND / SALT_PER_CACO3 / GRAM_PER_GRAIN
    assert grains == pytest.approx(5989.0, rel=3e-3)
    salt = 2.0 * CACO3_MG_PER_MEQ * SALT_PER_CACO3 / G_L_PER_LB_FT3
    assert salt == pytest.approx(7.29, rel=3e-3)


@pytest.mark.parametrize(("eq_l", "printed"), [(1.9, 41_499.0), (2.0, 43_683.0)])
def test_total_capacity_in_grains(eq_l, printed):
    """Trade press prints 41 499 and 43 683 gr/ft3."""
    grains = eq_l * CACO3_MG_PER_MEQ / G_L_PER_KGR_FT3 * 1000.0
    assert grains == pytest.approx(printed, rel=3e-3)
    assert grains * GRAM_PER_GRAIN / LITRE_PER_CUBIC_FOOT / CACO3_MG_PER_MEQ == pytest.approx(eq_l)


@pytest.mark.parametrize(("dose", "expected"), [(96.1, 44.98), (160.2, 57.85)])
def test_logarithmic_fit(dose, expected):
    """Own least squares through the ladder, computed; within 1.7 % of it from the first rung on."""
    assert capacity_by_fit_g_l(dose) == pytest.approx(expected, rel=5e-3)
    assert operating_capacity_g_l(dose, capacity_table()) == pytest.approx(expected, rel=0.018)


@pytest.mark.parametrize("dose", [79.9, 241.0, 0.0, float("nan")])
def test_dose_outside_the_table_is_refused(dose):
    with pytest.raises(OutOfRangeError, match="resin_table"):
        operating_capacity_g_l(dose, capacity_table())


@given(st.floats(80.0, 240.0), st.floats(80.0, 240.0))
def test_more_salt_never_lowers_capacity(one, other):
    low, high = sorted((one, other))
    table = capacity_table()
    assert operating_capacity_g_l(low, table) <= operating_capacity_g_l(high, table)


@pytest.mark.parametrize(
    ("cations_eq_l", "left", "expected"),
    [
        (0.01, 0.2, 0.30), (0.02, 0.2, 1.20), (0.04, 0.2, 4.79), (0.08, 0.2, 19.1),
        (0.04, 0.1, 1.90), (0.04, 0.5, 29.9), (0.01, 0.5, 1.9), (0.08, 0.3, 37.0),
    ],
)  # fmt: skip
def test_leakage_by_mass_action(cations_eq_l, left, expected):
    """Computed beforehand with K = 2.6, q_T = 2.0 (affinities from memory, BONNER1957)."""
    found = leakage_mg_l_caco3(cations_eq_l, left)
    assert found == pytest.approx(expected, rel=0.03 if expected < 0.5 or expected == 1.9 else 5e-3)


def test_leakage_solves_its_own_equilibrium():
    """K = (Y/X) (X_Na/Y_Na)² C_T/q_T, DAVIS2010 Eq. 8-7 to 8-15."""
    cations, left = 0.037, 0.42
    x = leakage_mg_l_caco3(cations, left) / (cations * 1000.0 * CACO3_MG_PER_MEQ)
    k = (left / x) * ((1 - x) / (1 - left)) ** 2 * cations / TOTAL_CAPACITY_EQ_L
    assert k == pytest.approx(5.16 / 1.98, rel=1e-12)


def test_leakage_rises_with_the_square_of_salinity():
    """Computed: ratio 4.0 between 0.04 and 0.02 eq/L."""
    ratio = leakage_mg_l_caco3(0.04, 0.2) / leakage_mg_l_caco3(0.02, 0.2)
    assert ratio == pytest.approx(4.0, rel=1e-2)


def test_resin_left_in_the_hardness_form():
    """1 - 57.2/(50.04 x 2.0), by hand 0.4285."""
    assert resin_hardness_left(57.2) == pytest.approx(0.4285, abs=5e-4)


def test_own_table(tmp_path):
    path = tmp_path / "resin.csv"
    path.write_text("salt_g_l,capacity_g_caco3_l\n80,40\n120,52\n")
    assert operating_capacity_g_l(100.0, read_capacity_table(path)) == pytest.approx(46.0)


@pytest.mark.parametrize(
    "text",
    [
        "salt_g_l,capacity_g_caco3_l\n80,40\n",
        "salt_g_l,capacity_g_caco3_l\n120,40\n80,50\n",
        "salt_g_l,capacity_g_caco3_l\n80,50\n120,40\n",
        "salt,capacity\n80,40\n120,50\n",
        "salt_g_l,capacity_g_caco3_l\n80,x\n120,50\n",
        "",
    ],
)
def test_own_table_that_makes_no_sense(tmp_path, text):
    path = tmp_path / "resin.csv"
    path.write_text(text)
    with pytest.raises(DesignError, match=r"resin\.csv"):
        read_capacity_table(path)


def test_own_table_cannot_beat_the_salt(tmp_path):
    path = tmp_path / "resin.csv"
    path.write_text("salt_g_l,capacity_g_caco3_l\n40,40\n80,90\n")
    with pytest.raises(OutOfRangeError, match="allow"):
        operating_capacity_g_l(60.0, read_capacity_table(path))
