"""Judging an analysis: published sums and conductivities, and slips put in on purpose."""

import pytest

from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge.conductivity import (
    conductivity_us_cm,
    least_conductivity_us_cm,
    molal,
)
from pretreat.lab.judge.quality import co2_mg_l, composition, judge
from pretreat.lab.water_laws import acceptance_pct

SOUND = {
    "ca": 142,
    "mg": 48.6,
    "na": 236,
    "k": 9.8,
    "hco3": 341.4,
    "so4": 398,
    "cl": 287,
    "no3": 18.6,
}
HCO3_PER_CACO3 = 1.2193


def water(mg_l=None, ec=2130.0, tds=1310.0, ph=7.6, **changes):
    mg_l = {**SOUND, **(mg_l or {}), **changes}
    return WaterAnalysis(
        sample="w", source="test", ph=ph, alkalinity_mg_l_caco3=mg_l["hco3"] / HCO3_PER_CACO3,
        mg_l=mg_l,
        properties={"ec_us_cm": ec, "tds_mg_l": tds},
    )  # fmt: skip


def codes(judged, level=None):
    return {f.code for f in judged.flags if level in {None, f.level}}


@pytest.mark.parametrize(
    ("molal", "printed_us_cm", "tolerance"),
    [
        # Standard Methods Table 2510:I, KCl at 25 °C. The authors state about 1 % for their model.
        (0.0005, 73.9, 0.015),
        (0.001, 146.9, 0.015),
        (0.005, 717.5, 0.015),
        (0.01, 1412.0, 0.015),
        (0.05, 6667.0, 0.015),
        (0.1, 12890.0, 0.015),
        (0.5, 58670.0, 0.015),
    ],
)
def test_conductivity_of_potassium_chloride(molal, printed_us_cm, tolerance):
    found = conductivity_us_cm({"k": molal, "cl": molal})
    assert found == pytest.approx(printed_us_cm, rel=tolerance)


@pytest.mark.parametrize(
    ("ion", "limiting"),
    [
        ("k", 73.5),
        ("na", 50.1),
        ("ca", 119.0),
        ("mg", 106.2),
        ("cl", 76.4),
        ("so4", 160.0),
        ("hco3", 44.5),
    ],
)
def test_limiting_conductivities(ion, limiting):
    """Ionic conductivities at infinite dilution, 25 °C, S cm2/mol (textbooks, from memory)."""
    tiny = 1e-9
    assert conductivity_us_cm({ion: tiny}) / tiny / 1000 == pytest.approx(limiting, rel=0.015)


@pytest.mark.parametrize(
    ("mg_l", "hco3", "phreeqc_us_cm"),
    [
        ({"ca": 80, "mg": 20, "na": 30, "k": 3, "cl": 50, "so4": 70, "no3": 5}, 250, 712),
        ({"ca": 120, "mg": 60, "na": 500, "k": 15, "cl": 760, "so4": 380, "no3": 5}, 300, 3496),
        ({"ca": 55, "mg": 12, "na": 28, "k": 3.2, "so4": 77, "cl": 20}, 170, 520),
    ],
)
def test_conductivity_of_mixed_waters(mg_l, hco3, phreeqc_us_cm):
    """Computed with PHREEQC 3.8.6 at 25 °C, which has its own conductivity model."""
    ions = molal(mg_l, hco3 / HCO3_PER_CACO3)
    assert conductivity_us_cm(ions) == pytest.approx(phreeqc_us_cm, rel=0.015)


@pytest.mark.parametrize(
    ("mg_l", "hco3", "phreeqc_us_cm"),
    [
        ({"ca": 609.4, "so4": 1460.6}, 0.5, 2508),
        ({"ca": 300, "mg": 50, "na": 40, "k": 4, "so4": 800, "cl": 50}, 200, 1892),
        ({"ca": 200, "mg": 400, "na": 200, "so4": 2200, "cl": 250}, 150, 4035),
    ],
)
def test_sulfate_waters_lie_between_paired_and_whole(mg_l, hco3, phreeqc_us_cm):
    """PHREEQC 3.8.6, phreeqc.dat, 25 °C; a gypsum solution measures about 2200 (from memory)."""
    ions = molal(mg_l, hco3 / HCO3_PER_CACO3)
    assert least_conductivity_us_cm(ions) < phreeqc_us_cm < conductivity_us_cm(ions)
    if len(mg_l) == 2:
        assert least_conductivity_us_cm(ions) < 2200 < conductivity_us_cm(ions)


@pytest.mark.parametrize(
    ("ec", "level"), [(2240.0, None), (1500.0, "caution"), (1150.0, "warning")]
)
def test_a_sound_gypsum_water_is_not_accused(ec, level):
    judged = judge(water(ec=ec, ca=590, mg=6, na=9, k=1, cl=12, so4=1400, hco3=60))
    found = [f.level for f in judged.flags if f.code == "ec_ions_mismatch"]
    assert found == ([] if level is None else [level])


# USGS WRIR 02-4045, Table 4: analyses with their printed hardness, sum and balance.
WRIR = {
    1: (
        {
            "ca": 25,
            "mg": 14,
            "na": 190,
            "k": 13,
            "hco3": 707,
            "cl": 7,
            "so4": 1.2,
            "f": 1.1,
            "sio2": 20,
        },
        580,
        120,
        624,
    ),
    2: (
        {
            "ca": 550,
            "mg": 280,
            "na": 270,
            "k": 2,
            "hco3": 326,
            "cl": 18,
            "so4": 2700,
            "f": 0.3,
            "sio2": 17,
        },
        267,
        2500,
        4020,
    ),
}


@pytest.mark.parametrize("number", [1, 2])
def test_published_hardness_and_sum(number):
    mg_l, alkalinity, hardness, solids = WRIR[number]
    judged = judge(WaterAnalysis("w", "WRIR 02-4045", alkalinity_mg_l_caco3=alkalinity, mg_l=mg_l))
    # Printed to two or three figures; their ions are rounded too.
    assert judged.hardness_mg_l_caco3 == pytest.approx(hardness, rel=0.012)
    assert judged.tds_residue_mg_l == pytest.approx(solids, rel=0.012)


def test_acceptance_by_size():
    """Standard Methods 1030 E (from memory): ±0.2 meq/L to 3 meq/L, ±2 % to 10, 5 % above."""
    assert acceptance_pct(1.0, 1.0) == pytest.approx(10.0)
    assert acceptance_pct(5.0, 5.0) == 2.0
    assert acceptance_pct(20.0, 20.0) == 5.0
    assert acceptance_pct(0.0, 0.0) == 100.0


def test_sound_water_raises_no_warning():
    judged = judge(water())
    assert not codes(judged, "warning")
    assert judged.balance_accepted
    assert judged.culprits == ()
    assert judged.ec_ratio == pytest.approx(1.0, abs=0.15)


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({"cl": 28.7}, "chloride"),
        ({"na": 2360}, "sodium"),
        ({"so4": 3980}, "sulfate"),
        ({"ca": 1420}, "calcium"),
        ({"hco3": 3414}, "alkalinity"),
    ],
)
def test_slip_is_found(changes, named):
    judged = judge(water(**changes))
    assert "charge_balance" in codes(judged)
    assert any(named in culprit for culprit in judged.culprits)


@pytest.mark.parametrize(
    ("ec", "said"), [(2.13, "mS/cm"), (213.0, "ten times too low"), (21300.0, "ten times too high")]
)
def test_conductivity_slip_is_found(ec, said):
    judged = judge(water(ec=ec))
    assert "ec_ions_mismatch" in codes(judged, "warning")
    assert any("conductivity" in c and said in c for c in judged.culprits)


def test_exchanged_results_are_found():
    """A calcium chloride water whose sodium and chloride the lab wrote in each other's row."""
    sound = {"ca": 200, "mg": 50, "na": 60, "k": 3, "hco3": 300, "so4": 100, "cl": 350}
    ec = judge(water({**sound, "no3": 0.0})).ec_calculated_us_cm
    wrong = water({**sound, "no3": 0.0, "na": 350, "cl": 60}, ec=ec, tds=950.0)
    assert "exchanged" in judge(wrong).culprits[0]


def test_nothing_is_judged_without_the_major_ions():
    mg_l = {key: value for key, value in SOUND.items() if key != "na"}
    judged = judge(WaterAnalysis("w", "t", ph=7.2, alkalinity_mg_l_caco3=280, mg_l=mg_l))
    assert judged.ion_balance_pct is None
    assert judged.missing == ("sodium",)
    assert codes(judged) == {"balance_not_judged"}


def test_policy_of_non_detects():
    one = WaterAnalysis("w", "t", mg_l={"ca": 10.0}, below_mg_l={"ba": 0.2, "sr": None})
    assert composition(one, "half") == {"ba": 0.1, "sr": 0.0, "ca": 10.0}
    assert composition(one, "limit")["ba"] == 0.2
    assert composition(one, "zero")["ba"] == 0.0


def test_carbon_dioxide_estimate():
    """pH = pK1 (6.35 at 25 °C): as much CO2 as bicarbonate in moles."""
    assert co2_mg_l(6.35, 50.04) == pytest.approx(44.0, rel=0.01)


def test_hardness_and_solids_are_compared():
    base = water()
    wrong = WaterAnalysis(
        "w", "t", ph=7.6, alkalinity_mg_l_caco3=280, mg_l=SOUND,
        properties={"hardness_mg_l_caco3": 300.0, "tds_mg_l": 400.0},
    )  # fmt: skip
    assert {"hardness_ions_mismatch", "tds_ions_mismatch"} <= codes(judge(wrong))
    assert not {"hardness_ions_mismatch", "tds_ions_mismatch"} & codes(judge(base))


def test_balance_is_closed_only_on_request():
    from pretreat.core.errors import AnalysisError
    from pretreat.lab.judge.adjust import balanced

    short = water(na=200.0)
    assert judge(short).ion_balance_pct < -3
    for key in ("na", "cl"):
        closed = balanced(short, key)
        assert judge(closed).ion_balance_pct == pytest.approx(0.0, abs=1e-9)
        assert [f.code for f in closed.flags] == ["balance_adjusted"]
    with pytest.raises(AnalysisError, match="cannot be closed with sodium"):
        balanced(water(ca=1420), "na")


def test_solids_computed_from_conductivity_are_no_check():
    assert "tds_from_ec" in codes(judge(water(tds=0.65 * 2130)))
    assert "ph_rounded" in codes(judge(water(ph=7.0)))
    assert not {"tds_from_ec", "ph_rounded"} & codes(judge(water()))
