"""The section on media life: believable lives, live formulas, and what moves them."""

from pathlib import Path

import pytest
from msgspec.structs import replace

from pretreat.lab import read_analysis
from pretreat.life.figures import life_in_words
from pretreat.stages.site import read_site
from pretreat.study import run_study

OWN = ("media_life.", "consumables.", "costs.", "quote.")
STAGES = ("softener", "iron_filter", "multimedia", "carbon", "cartridge")


def lives(study, stage):
    return tuple(study.number(f"media_life.{stage}_years_{c}") for c in ("low", "likely", "high"))


def test_clean_water_and_few_hours(studies):
    """Soft, iron-free, five hours on 200 days: resin is regenerated weekly, so it ages rather
    than wears: nine years, the printed average (UFC13FN), five at the least; the 25 years that are
    printed as the most are not quoted: 10 to 15 (common practice, no source)."""
    study = studies["clean"]
    low, likely, high = lives(study, "softener")
    assert low == pytest.approx(5.0)
    assert 8.0 <= likely <= 10.0
    assert high == pytest.approx(15.0)
    assert "age" in str(study.value("media_life.softener_governs"))


def test_ordinary_water(studies):
    """Hard water with a little iron, regenerated daily: common practice, no source: 3 to 4 years
    of resin in small automatic units; a year or two of carbon."""
    study = studies["ordinary"]
    low, likely, high = lives(study, "softener")
    assert 3.0 <= likely <= 4.5
    assert low >= 2.0
    assert high <= 10.0
    assert "cycles" in str(study.value("media_life.softener_governs"))
    assert lives(study, "carbon") == (0.5, 1.0, 2.0)
    low, likely, high = lives(study, "iron_filter")
    assert 3.0 <= likely <= 5.0  # small unit regenerated intermittently; common practice
    assert high <= 5.0


def test_a_medium_in_steady_service_ages_more_slowly(studies):
    """Continuous oxidant: 5 to 10 years in municipal service (from memory)."""
    assert studies["chlorinated"].number("media_life.iron_filter_age_years") == 7.5
    assert studies["ordinary"].number("media_life.iron_filter_age_years") == 4.0


def test_iron_laden_and_round_the_clock(studies):
    """7.5 mg/L of iron day and night: the filter's medium cements in about three years, at worst
    in little more than one; cartridges last two months at best."""
    study = studies["bad"]
    low, likely, _ = lives(study, "iron_filter")
    assert 1.0 <= low <= 1.5
    assert 2.0 <= likely <= 4.0
    assert "fouling" in str(study.value("media_life.iron_filter_governs"))
    assert lives(study, "cartridge")[1] <= 2.0 / 12.0


def test_small_resin_bed_under_iron_without_a_filter(studies):
    """Common practice, no source: one year in extreme cases."""
    low, likely, _ = lives(studies["worst"], "softener")
    assert 0.7 <= low <= 1.1
    assert 1.0 <= likely <= 2.0


def test_order_of_the_sites(studies):
    resin = [lives(studies[name], "softener")[1] for name in ("clean", "ordinary", "worst")]
    assert resin == sorted(resin, reverse=True)


@pytest.mark.parametrize(
    "name", ["clean", "ordinary", "bad", "worst", "chlorinated", "cloudy", "duplex", "soft"]
)
def test_formulas_give_the_values(studies, sheet, name):
    study = studies[name]
    seen = 0
    for key, figure in study.figures.items():
        if figure.formula and figure.value is not None and key.startswith(OWN):
            found = sheet(study).formula(figure.formula)
            words = isinstance(figure.value, str)
            assert found == (figure.value if words else pytest.approx(figure.value, rel=1e-12)), key
            seen += 1
    assert seen > 20


@pytest.mark.parametrize("name", ["ordinary", "bad", "chlorinated"])
def test_keys_in_order_and_shortest_mechanism(studies, name):
    study = studies[name]
    for stage in STAGES:
        if f"media_life.{stage}_governs" not in study.figures:
            continue
        low, likely, high = lives(study, stage)
        assert 0 < low <= likely <= high
        own = [f.value for k, f in study.figures.items()
               if k.startswith(f"media_life.{stage}_") and k.endswith("_years")]  # fmt: skip
        assert min(own) == likely


def test_beds_that_take_turns_share_the_regenerations(studies):
    """A duplex: each bed bears half of the regenerations, and twice the resin is bought."""
    study = studies["duplex"]
    total = study.number("media_life.softener_cycles_per_year")
    assert study.number("media_life.softener_cycles_years") == pytest.approx(1280.0 * 2.0 / total)
    filled = study.number("softener.resin_filled_l")
    packages = study.number("costs.softener_medium_packages")
    assert packages * 25.0 >= 2.0 * filled > (packages - 1.0) * 25.0


def test_a_train_of_cartridges_alone(studies):
    study = studies["soft"]
    assert [k for k in study.figures if k.endswith("_years_likely")] == [
        "media_life.cartridge_years_likely"
    ]
    assert study.number("quote.cost_per_year") == study.number("quote.consumables_per_year")
    assert "quote.replacement_total" not in study.figures


def test_a_stage_that_is_not_there_has_no_keys(studies):
    assert not [k for k in studies["clean"].figures if k.startswith("media_life.carbon_")]
    assert not [k for k in studies["ordinary"].figures if k.startswith("media_life.multimedia_")]
    assert "media_life.multimedia_years_likely" in studies["cloudy"].figures


def test_hours_in_the_workbook_move_the_life(studies, sheet):
    """Twice the days: twice the regenerations, half the life by cycles."""
    study = studies["ordinary"]
    now = study.number("media_life.softener_cycles_years")
    half = sheet(study, machine__days_per_year=165.0).value("media_life.softener_cycles_years")
    assert half == pytest.approx(2.0 * now)


def test_chlorine_and_organics_are_mechanisms_of_their_own(studies):
    study = studies["chlorinated"]
    for key in ("softener_chlorine", "carbon_chlorine"):
        assert study.number(f"media_life.{key}_years") > 0
    assert "media_life.softener_chlorine_years" not in studies["ordinary"].figures


def test_a_column_that_never_moves_is_left_out_and_a_blank_is_explained(studies):
    """Carbon of a fixed age moves with nothing; twice a day of 24 h cannot be."""
    table = studies["bad"].series["sensitivity.life"]
    for name in table.columns[1:-1]:
        assert len({v for v in table.column(name) if v is not None}) > 1, name
    rows = dict(zip(table.column("factor"), table.column("blank"), strict=True))
    assert "over 24 h a day" in str(rows[2.0])
    assert rows[1.0] == ""


def test_organics_end_the_life_only_where_they_are_the_duty(studies, study_of, sites):
    """Organics spend adsorption, not the reaction with chlorine or permanganate."""
    study = studies["chlorinated"]
    assert "media_life.carbon_organics_years" not in study.figures
    assert "carbon_organics" in {f.code for f in study.flags_of("caution")}
    raw, design, mode = sites["clean"]
    duty = study_of(
        (
            replace(raw, toc_mg_l=3.0),
            design.change("carbon", include=True, free_chlorine_mg_l=0.0),
            mode,
        )
    )
    assert duty.number("media_life.carbon_organics_years") > 0


def test_a_life_in_words():
    assert life_in_words((3.32, 3.88, 8.8), "330 regenerations a year of each bed") == (
        "likely 3.9 years (3.3 to 8.8), set by 330 regenerations a year")  # fmt: skip
    assert (
        life_in_words((0.08, 0.2, 0.34), "dirt") == "likely 2.4 months (0.96 to 4.1), set by dirt"
    )


def test_carbon_ahead_keeps_chlorine_off_the_resin(study_of, sites):
    raw, design, mode = sites["chlorinated"]
    strong = design.change("carbon", free_chlorine_mg_l=2.0)
    study = study_of((raw, strong, mode))
    assert study.number("media_life.softener_chlorine_mg_l") == 0.0
    assert "media_life.softener_chlorine_years" not in study.figures
    litres, water = (study.number(f"{k}") for k in ("carbon.media_volume_l",
                                                    "media_life.water_m3_per_year"))  # fmt: skip
    assert study.number("media_life.carbon_chlorine_years") == pytest.approx(
        litres * 480.0 * 0.5 / (water * 2.0)
    )


def test_lives_are_worded_as_estimates(studies):
    study = studies["ordinary"]
    assert "life_estimated" in {flag.code for flag in study.flags}
    text = " ".join(f.text for f in study.flags if f.code == "life_estimated")
    assert "no warranty" in text
    assert "estimated" in study["media_life.softener_years_likely"].label
    assert study["media_life.softener_governs"].method.startswith("regeneration cycles at 3.9")


def test_every_coefficient_carries_its_tag(studies):
    for key, figure in studies["chlorinated"].figures.items():
        if key.startswith("media_life.wear_"):
            assert figure.cites, key
            assert figure.evidence in {"printed", "memory", "common practice"}, key
            assert figure.method, key


@pytest.mark.parametrize("name", ["ordinary", "bad", "worst", "chlorinated"])
def test_more_of_anything_never_lengthens(studies, name):
    """Interval and likely life against the factor: each column never rises."""
    for series in ("sensitivity.interval", "sensitivity.life"):
        table = studies[name].series[series]
        for column in table.columns[1:]:
            known = [v for v in table.column(column) if isinstance(v, float)]
            assert known == sorted(known, reverse=True), (series, column)


def test_factor_one_is_the_design(studies):
    study = studies["ordinary"]
    for series, key in (("sensitivity.interval", "softener.interval_d"),
                        ("sensitivity.life", "media_life.softener_years_likely")):  # fmt: skip
        table = study.series[series]
        row = table.rows[table.column("factor").index(1.0)]
        for name, value in zip(table.columns, row, strict=True):
            if name.startswith("softener_"):
                assert value == pytest.approx(study.number(key), rel=1e-12)


def test_a_day_has_no_more_than_24_hours(studies):
    table = studies["bad"].series["sensitivity.interval"]
    rows = dict(zip(table.column("factor"), table.column("softener_hours"), strict=True))
    assert rows[1.0] is not None
    assert rows[1.25] is None


def test_interval_halves_with_twice_the_hours_or_hardness(studies):
    """Proportion: the load is hours times hardness (iron left behind a filter is small)."""
    table = studies["ordinary"].series["sensitivity.interval"]
    now, double = (table.rows[table.column("factor").index(f)] for f in (1.0, 2.0))
    for name in ("softener_hours", "softener_hardness"):
        i = table.columns.index(name)
        assert double[i] == pytest.approx(now[i] / 2.0, rel=2e-3)


def test_a_filter_standing_by_takes_half_of_the_regenerations():
    """Hand: two vessels in turn regenerate half as often each, and bear twice the years."""
    site = Path(__file__).parents[2] / "water_analyses" / "quarrow_vale_installed.toml"
    design = read_site(site)
    water = read_analysis(design.water.analysis)
    twin = design.change("iron_filter", vessels=2, arrangement="duty-standby")
    years, cycles = [], []
    for one in (design, twin):
        study = run_study(water, one, "rate", draws=0)
        years.append(study.number("media_life.iron_filter_cycles_years"))
        cycles.append(study.number("media_life.iron_filter_cycles_per_year"))
    assert cycles[1] == pytest.approx(cycles[0] / 2)
    assert years[1] == pytest.approx(2 * years[0])
