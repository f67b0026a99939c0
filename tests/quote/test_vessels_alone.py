"""A quote from vessel sizes alone, and the comparison of the scale control options."""

import pytest
from msgspec.structs import replace

from pretreat.core.basis import Series
from pretreat.core.results import Ledger
from pretreat.membrane.acid import SULFURIC
from pretreat.quote.comparison import enter_compare
from pretreat.quote.from_vessels import enter_vessel_quote
from pretreat.site.design import (
    LimitChoices,
    Machine,
)
from pretreat.stages.carbon.keys import CarbonDesign
from pretreat.stages.iron_filter.keys import IronFilterDesign
from pretreat.stages.site import basis
from pretreat.stages.softener.keys import SoftenerDesign


@pytest.fixture(name="vessels")
def vessels_fixture(prices):
    ledger = Ledger()
    design = basis(
        Machine(1.0, 0.6, 12.0),
        softener=SoftenerDesign(resin_volume_l=140.0, vessel_diameter_m=0.41),
        iron_filter=IronFilterDesign(vessel_diameter_m=0.61, media_depth_m=0.76),
        carbon=CarbonDesign(media_volume_l=142.0),
        prices=prices,
    )
    enter_vessel_quote(ledger, design)
    return ledger.study()


def test_vessels_alone_are_worded_as_such(vessels):
    basis = str(vessels.value("quote.basis"))
    assert "vessel sizes alone" in basis
    assert "no source" in basis
    assert not [k for k in vessels.figures if k.startswith("media_life.")]
    notes = vessels.series["quote.lines"].column("note")
    assert "usual life 1 to 4 years (any water)" in notes


def test_the_usual_life_is_common_practice(vessels):
    """Common practice, no source: one year on bad water, three to four on ordinary; carbon 6 to
    12 months, 24 at most."""
    for stage, ends in (("softener", (1.0, 4.0)), ("iron_filter", (1.0, 4.0)),
                        ("carbon", (0.5, 2.0))):  # fmt: skip
        for end, years in zip(("low", "high"), ends, strict=True):
            figure = vessels[f"quote.{stage}_years_{end}"]
            assert figure.value == years
            assert (figure.origin, figure.evidence) == ("assumed", "common practice")


def test_media_per_year_at_both_ends(vessels, sheet):
    """Cost over life, and one freight for the shortest of them."""
    costs = [
        vessels.number(f"costs.{s}_replacement") for s in ("iron_filter", "softener", "carbon")
    ]
    freight = vessels.number("costs.freight_amount")
    low = costs[0] / 4 + costs[1] / 4 + costs[2] / 2 + freight / 2
    high = costs[0] / 1 + costs[1] / 1 + costs[2] / 0.5 + freight / 0.5
    assert vessels.number("quote.media_per_year_low") == pytest.approx(low, abs=0.005)
    assert vessels.number("quote.media_per_year_high") == pytest.approx(high, abs=0.005)
    live = sheet(vessels, prices__resin_per_l=6.4)
    assert live.value("quote.media_per_year_low") == pytest.approx(low + 480.0 / 4, abs=0.005)


def test_vessels_alone_are_quoted_in_bags(vessels):
    """140 L of resin in bags of 25 L: 6 bags, 150 L at 3.20."""
    assert vessels.number("costs.softener_medium_packages") == 6.0
    assert vessels.number("costs.softener_medium_amount") == 480.0
    litres = vessels.number("iron_filter.media_volume_l")
    assert litres == pytest.approx(0.2922 * 0.76 * 1000.0, rel=1e-3)
    assert vessels.number("quote.replacement_total") > 1000.0
    assert vessels["carbon.vessel_diameter_m"].origin == "assumed"


def test_no_yearly_cost_without_a_water(vessels):
    assert "quote.consumables_per_year" not in vessels.figures
    assert "quote.years" not in vessels.series


# Invented reaches, as the table of levers gives them.
LEVERS = (
    ("as it is", 0.4, "barite", "not enough", "nothing"),
    ("scale inhibitor", 0.648, "calcite", "not enough", "2 to 5 mg/L"),
    ("sulfuric acid", 0.41, "barite", "154 mg/L of 100 % acid, feed pH 6.2; not enough", "-"),
    ("sulfuric acid and inhibitor", 0.7, "fluorite", "0.31 mg/L of 100 % acid; enough", "-"),
    ("softener", 0.8, "silica", "enough", "salt"),
    ("softener with bypass", 0.651, "calcite", "20 % of the feed may bypass", "salt"),
)


def compared(studies, sites, prices, name="ordinary", **changes):
    """Put levers of the raw water beside a study and compare; rows by option, and the words."""
    raw, design, _ = sites[name]
    ledger = Ledger()
    for figure in studies[name].figures.values():
        if not figure.key.startswith("compare."):
            ledger.add(replace(figure, flags=()))
    ledger.put("untreated.recovery.sulfuric_acid_mg_l", 154.0, "mg/L", "acid")
    names = ("lever", "maximum", "limited_by", "at_design", "cost")
    ledger.table(Series("untreated.recovery.levers", "levers", names, ("-",) * 5, LEVERS))
    enter_compare(ledger, raw, replace(design, prices=prices, **changes))
    study = ledger.study()
    table = study.series["compare.options"]
    why = dict(study.series["compare.why"].rows)
    rows = {row[0]: dict(zip(table.columns, row, strict=True)) | {"why": why[row[0]]}
            for row in table.rows}  # fmt: skip
    return rows, str(study.value("compare.conclusion"))


def test_options_on_the_same_water(studies, sites, prices):
    found, words = compared(studies, sites, prices)
    assert list(found) == ["nothing", "softener", "softener with bypass", "inhibitor", "acid",
                           "acid and inhibitor"]  # fmt: skip
    assert [row["reaches"][:3].strip(",") for row in found.values()] == [
        "no", "yes", "yes", "no", "no", "yes"]  # fmt: skip
    assert "0.648 of 0.65" in found["inhibitor"]["reaches"]
    assert "a near miss" in words
    assert "barite stops the raw water and acid" in words
    assert "acid and inhibitor costs least" in words
    salt = studies["ordinary"].number("softener.salt_kg_per_year")
    soft = found["softener"]
    assert soft["kg_per_year"] == pytest.approx(salt)
    assert soft["cost_per_year"] == pytest.approx(salt * prices.salt_per_kg)
    assert found["softener with bypass"]["kg_per_year"] == pytest.approx(0.8 * salt)
    assert soft["water_cost"] == pytest.approx(soft["waste_m3_year"] * (0.35 + 0.8))
    assert soft["total"] == pytest.approx(
        soft["cost_per_year"] + soft["water_cost"] + soft["media_cost"])  # fmt: skip
    water = studies["ordinary"].number("media_life.water_m3_per_year")
    assert 2.0 <= found["inhibitor"]["dose_mg_l"] <= 5.0
    assert found["inhibitor"]["kg_per_year"] == pytest.approx(3.5 * water / 1000.0)
    assert "practically no acid" in found["acid and inhibitor"]["why"]


def test_limits_with_an_inhibitor_leave_the_other_ways_as_they_are(studies, sites, prices):
    """The recovery of nothing at all does not rise because an inhibitor is planned."""
    found, _ = compared(studies, sites, prices, limits=LimitChoices(inhibitor=True))
    assert found["nothing"]["recovery"] == 0.4
    assert found["inhibitor"]["recovery"] == 0.648


def test_a_softener_that_is_not_in_the_train_is_thought_of(studies, sites, prices):
    """Ladder at 160 g/L: 57.2 g CaCO3 per litre, a fifth in reserve."""
    found, _ = compared(studies, sites, prices, "soft")
    raw = sites["soft"][0]
    hardness = 2.497 * raw.mg_l["ca"] + 4.118 * raw.mg_l["mg"]
    grams = hardness / (57.2 * 0.8) * 160.0
    assert found["softener"]["dose_mg_l"] == pytest.approx(grams, rel=2e-3)
    assert found["softener"]["total"] is None
    assert "not in the train" in found["softener"]["why"]


def test_acid_by_stoichiometry(studies, sites, prices):
    """Stoichiometry: 1.0205 mg/L of alkalinity as CaCO3 per mg/L of sulfuric acid; the dose never
    takes more than the water has."""
    assert pytest.approx(1.0205, abs=1e-4) == SULFURIC.alkalinity_per_mg
    acid = compared(studies, sites, prices)[0]["acid"]
    raw = sites["ordinary"][0]
    assert 0.0 < acid["dose_mg_l"] * 1.0205 < raw.alkalinity_mg_l_caco3
    assert acid["cost_per_year"] == pytest.approx(acid["kg_per_year"] * prices.acid_per_kg)
