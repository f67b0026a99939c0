"""A lower salt dose that serves the same bed, and the doses of one ladder.

The ladder 6 lb for 20 kgr to 15 lb for 30 kgr each cubic foot is printed in trade guides; 2.33,
2.80 g of salt a gram of hardness at 96, 160 g/L follow from it by hand. Counter-current values
are from memory (64 to 100 g/L, a fifth of the leakage).
"""

import pytest

from tests.choices.wells import analysis, sized

WATER = {"ph": 7.4, "alkalinity": 230, "hardness": 310, "tds": 620}
FIXED = '[train]\nstages = ["softener", "cartridge"]\n[softener]\n'


def options(study):
    series = study.series["softener.dose_options"]
    return [dict(zip(series.columns, row, strict=True)) for row in series.rows]


def told(study):
    return [f.text for f in study.flags if f.code == "lower_salt_dose"]


@pytest.mark.parametrize("product", [0.4, 0.7, 1.1, 1.8])
def test_the_dose_that_is_told_does_what_is_said(tmp_path, product):
    more = FIXED + '[prices]\nsalt_per_kg = 0.5\ncurrency = "EUR"\n'
    study = sized(tmp_path, analysis(**WATER), 0.7, product, more=more, draws=0)
    own = study.number("softener.salt_dose_g_l")
    assert own == 160.0
    for text in told(study):
        dose = float(text.split(" g/L")[0].rpartition(" ")[2])
        lower = FIXED + f'salt_dose = "{dose} g/L"\nresin_volume = "'
        lower += f'{study.number("softener.resin_filled_l")} L"\nvessel_diameter = "'
        lower += f'{study.number("softener.vessel_diameter_m") * 1000.0} mm"\n'
        again = sized(tmp_path, analysis(**WATER), 0.7, product, more=lower, draws=0, mode="rate")
        assert again.number("softener.interval_d") >= 1.0
        assert again.number("softener.leakage_mg_l_caco3") <= 17.1
        saved = study.number("softener.salt_kg_per_year")
        saved -= again.number("softener.salt_kg_per_year")
        assert saved >= 0.1 * study.number("softener.salt_kg_per_year") * 0.98
        shown = text.split("it saves ")[1].split(" of salt")[0]
        amount, unit = shown.replace(",", "").split()
        kg = float(amount) * (1000.0 if unit == "t" else 1.0)
        assert kg == pytest.approx(saved, rel=0.06)
        money = float(text.split(" and ")[-1].split(" EUR")[0].replace(",", ""))
        assert money == pytest.approx(0.5 * saved, rel=0.06)


def test_it_is_told_where_a_timer_holds_the_same_days(tmp_path):
    found = [
        bool(told(sized(tmp_path, analysis(**WATER), 0.7, p, more=FIXED, draws=0)))
        for p in (0.3, 0.5, 0.8, 1.2, 2.0)
    ]
    assert any(found)


def test_the_lowest_rung_has_no_lower_one(tmp_path):
    more = FIXED + 'salt_dose = "96 g/L"\n'
    study = sized(tmp_path, analysis(**WATER), 0.7, 0.8, more=more, draws=0)
    assert not told(study)


@pytest.mark.parametrize("direction", ["co-current", "counter-current"])
@pytest.mark.parametrize("hardness", [350, 800])
def test_the_dose_that_is_set_leaks_what_the_figure_says(tmp_path, direction, hardness):
    more = FIXED + f'direction = "{direction}"\n'
    water = analysis(**WATER | {"hardness": hardness, "tds": 2600})
    study = sized(tmp_path, water, 0.6, 1.0, more=more, draws=0)
    rows = options(study)
    (mine,) = [r for r in rows if r["mark"] == "set"]
    assert mine["leakage_mg_l_caco3"] == pytest.approx(study.number("softener.leakage_mg_l_caco3"))
    leaks = [r["leakage_mg_l_caco3"] for r in rows]
    assert leaks == sorted(leaks, reverse=True)  # more salt leaks less, on one ladder
    if direction == "counter-current":
        assert all(60.0 < r["dose_g_l"] < 101.0 for r in rows)
    assert len(rows) >= 3


def test_a_leakage_of_the_user_stands_in_the_row_that_is_set(tmp_path):
    more = FIXED + "leakage_mg_l_caco3 = 9.0\n"
    study = sized(tmp_path, analysis(**WATER), 0.6, 1.0, more=more, draws=0)
    (mine,) = [r for r in options(study) if r["mark"] == "set"]
    assert mine["leakage_mg_l_caco3"] == 9.0
