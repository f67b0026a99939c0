"""Limits for drinking water, ammonia against chlorine, hydrogen sulfide as a gas, hardness split.

References beside each check; limits marked "from memory" in the table are unverified.
"""

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.core.water import WaterAnalysis
from pretreat.lab.hardness_split import share_of_ratio, split, split_cases, split_flag
from pretreat.lab.hazards import (
    BREAKPOINT,
    MONOCHLORAMINE,
    ammonia_against_chlorine,
    ammonia_flag,
    h2s_henry,
    h2s_pk1,
    headspace_h2s_ppm,
    molecular_h2s_mg_l,
    sulfide_gas_flag,
)
from pretreat.lab.health import amounts_of, exceedances, fates, health_flags, health_limits


class TestLimits:
    @pytest.mark.parametrize(
        ("key", "jurisdiction", "limit"),
        [  # 40 CFR 141.62, 141.66 as printed in codes and leaflets; 10 mg/L N = 44.27 mg/L NO3
            ("as", "us", 0.010), ("u", "us", 0.030), ("ra_pci_l", "us", 5.0),
            ("gross_alpha_pci_l", "us", 15.0), ("no3", "us", 44.27), ("no3", "eu", 50.0),
            ("f", "eu", 1.5),
        ],
    )  # fmt: skip
    def test_a_limit_is_passed_above_and_not_on_it(self, key, jurisdiction, limit):
        assert not exceedances({key: limit}, jurisdiction)
        (found,) = exceedances({key: limit * 1.01}, jurisdiction, aesthetic=False)
        assert found.limits[0].limit == limit

    def test_one_flag_per_constituent_names_it_the_limit_and_the_law(self):
        flags = health_flags({"as": 0.015, "no3": 60.0, "f": 0.5})
        assert [f.code for f in flags] == ["health_limit"] * 2
        assert {f.level for f in flags} == {"info"}
        arsenic = next(f for f in flags if "arsenic" in f.text)
        for word in ("0.015 mg/L", "0.010 mg/L", "40 CFR 141.62", "to be verified", "authority"):
            assert word in arsenic.text
        assert arsenic.figure == "water.as_mg_l"

    def test_value_and_limit_of_nitrate_stand_on_one_basis(self):
        (flag,) = health_flags({"no3": 106.0}, jurisdiction="us")
        assert "106 mg/L in the raw water: above the drinking-water limit of 44.3" in flag.text
        assert "10 mg/L as N" in flag.text

    def test_drinking_water_is_warned_of_secondary_limits_too(self):
        assert health_flags({"tds_mg_l": 900.0, "fe": 1.0}) == ()
        flags = health_flags({"tds_mg_l": 900.0, "fe": 1.0}, drinking=True)
        assert [f.level for f in flags] == ["warning"] * 2
        assert all("secondary" in f.text for f in flags)

    def test_health_before_taste(self):
        flags = health_flags({"fe": 30.0, "as": 0.011}, drinking=True)
        assert "arsenic" in flags[0].text

    def test_only_the_law_that_binds(self):
        (flag,) = health_flags({"f": 3.0}, jurisdiction="eu")
        assert "2020/2184" in flag.text
        assert "CFR" not in flag.text
        assert "where that law binds" not in flag.text

    def test_where_radium_ends_up(self):
        (flag,) = health_flags({"ra_pci_l": 8.0}, stages=("softener", "membrane"))
        assert "brine" in flag.text
        assert "resin" in flag.text
        assert "concentrate" in flag.text
        assert flag.figure == "water.ra_pci_l"
        assert len(fates("ra_pci_l", ("membrane",))) == 1

    def test_totals_count(self):
        water = WaterAnalysis("s", "f", mg_l={"mn": 0.01}, total_mg_l={"mn": 0.2})
        assert amounts_of(water)["mn"] == 0.2

    def test_every_limit_is_positive_and_tagged(self):
        assert all(one.limit > 0 and one.evidence for one in health_limits())


class TestAmmonia:
    def test_ratios(self):
        """Stoichiometry, IUPAC 2021 masses: 7.593 to the breakpoint, 5.062 to monochloramine."""
        assert pytest.approx(7.593, rel=1e-3) == BREAKPOINT
        assert pytest.approx(5.062, rel=1e-3) == MONOCHLORAMINE

    @pytest.mark.parametrize(
        ("dose", "residual", "level"),
        [(3.0, "monochloramine", "warning"), (6.5, "no stable residual", "warning"),
         (9.0, "free chlorine", "caution"), (16.0, "free chlorine", "info")],
    )  # fmt: skip
    def test_dose_by_dose(self, dose, residual, level):
        found = ammonia_against_chlorine(18.039 / 14.007, dose + 2.0, 2.0)
        assert found.ammonia_mg_n_l == pytest.approx(1.0, rel=1e-4)
        assert found.residual == residual
        flag = ammonia_flag(found)
        assert (flag.level if flag else None) == level

    def test_published_case(self):
        """0.6 mg/L N with 4 mg/L Cl2 (6.7 : 1) was chloramine in the field, not free chlorine."""
        found = ammonia_against_chlorine(0.6 * 18.039 / 14.007, 4.0)
        assert found.residual == "no stable residual"
        flag = ammonia_flag(found)
        assert flag.code == "ammonia_takes_chlorine"
        assert "4.56" in flag.text

    def test_no_ammonia_no_flag(self):
        assert ammonia_flag(ammonia_against_chlorine(0.0, 2.0)) is None
        assert ammonia_flag(ammonia_against_chlorine(0.03, 2.0)) is None


class TestHydrogenSulfide:
    @pytest.mark.parametrize(
        ("temp", "henry", "pk1"),
        [(5, 0.239, 7.26), (10, 0.2771, 7.166), (15, 0.317, 7.08), (20, 0.3595, 7.01),
         (25, 0.4036, 6.942)],
    )  # fmt: skip
    def test_constants(self, temp, henry, pk1):
        """phreeqc.dat (database values)."""
        assert h2s_henry(temp) == pytest.approx(henry, rel=0.005)
        assert h2s_pk1(temp) == pytest.approx(pk1, abs=0.01)

    @pytest.mark.parametrize(("ph", "share"), [(6, 0.924), (7, 0.5486), (7.5, 0.2776), (8, 0.1084)])
    def test_share_that_can_leave(self, ph, share):
        assert molecular_h2s_mg_l(1.0, ph, 15.0) == pytest.approx(share, rel=0.01)

    def test_headspace(self):
        """1 mg/L of molecular H2S at 15 °C: about 220 ppm."""
        assert headspace_h2s_ppm(1.0, 15.0) == pytest.approx(220, rel=0.01)

    @pytest.mark.parametrize(
        ("sulfide", "level"), [(2.0, "warning"), (0.3, "caution"), (0.02, None)]
    )
    def test_flag(self, sulfide, level):
        flag = sulfide_gas_flag(sulfide, 7.2, 15.0)
        assert (flag.level if flag else None) == level
        if flag:
            assert "toxic" in flag.text
            assert "smell is no warning" in flag.text
            assert "local codes" in flag.text


class TestHardnessSplit:
    def test_equivalents_add_up(self):
        """100 mg/L as CaCO3 is 40.04 mg/L Ca or 24.28 mg/L Mg (IUPAC 2021 masses)."""
        found = split_cases(100.0)
        assert found.all_calcium.ca_mg_l == pytest.approx(40.04, abs=0.01)
        assert found.all_magnesium.mg_mg_l == pytest.approx(24.28, abs=0.01)
        assert found.taken.ca_mg_l == pytest.approx(0.75 * 40.04, abs=0.01)
        assert found.taken.mg_mg_l == pytest.approx(0.25 * 24.28, abs=0.01)

    def test_flag_with_both_extremes(self):
        flag = split_flag(split_cases(325.0), (0.41, 0.93))
        assert flag.code == "hardness_split_assumed"
        for word in ("325", "3:1", "41 %", "93 %"):
            assert word in flag.text
        assert split_flag(split_cases(325.0, 0.6)) is None

    def test_stated_share(self):
        assert split_cases(200.0, 0.6).taken == split(200.0, 0.6)
        assert share_of_ratio(3.0) == 0.75
        assert share_of_ratio(float("inf")) == 1.0

    @pytest.mark.parametrize(
        "wrong",
        [lambda: split(-1.0, 0.5), lambda: split(float("nan"), 0.5), lambda: split(1.0, 1.1),
         lambda: split(1.0, float("nan")), lambda: share_of_ratio(-1.0)],
    )  # fmt: skip
    def test_refuses_the_impossible(self, wrong):
        with pytest.raises(AnalysisError, match="check the"):
            wrong()
