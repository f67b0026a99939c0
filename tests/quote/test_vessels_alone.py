"""A quote from vessel sizes alone, and the comparison of the ways to keep scale off."""

import pytest

from pretreat.design import CarbonDesign, DesignBasis, IronFilterDesign, Machine, SoftenerDesign
from pretreat.membrane.acid import SULFURIC
from pretreat.results import Ledger
from pretreat.study.compare import enter_compare
from pretreat.study.quote_vessels import enter_vessel_quote


@pytest.fixture(name="vessels")
def vessels_fixture(prices):
    ledger = Ledger()
    design = DesignBasis(
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


def compared(studies, sites, prices, **reach):
    """Put recoveries of the raw water beside an ordinary study and compare."""
    from dataclasses import replace

    raw, design, _ = sites["ordinary"]
    ledger = Ledger()
    for figure in studies["ordinary"].figures.values():
        ledger.add(replace(figure, flags=()))
    for key, value in reach.items():
        ledger.put(key.replace("__", "."), value, "-", key)
    enter_compare(ledger, raw, replace(design, prices=prices))
    table = ledger.study().series["compare.options"]
    return {row[0]: dict(zip(table.columns, row, strict=True)) for row in table.rows}


def test_options_on_the_same_water(studies, sites, prices):
    found = compared(studies, sites, prices, untreated__recovery__max=0.4,
                     untreated__recovery__max_inhibited=0.7, recovery__max=0.8,
                     untreated__recovery__sulfuric_acid_mg_l=154.0)  # fmt: skip
    assert list(found) == ["nothing", "softener", "inhibitor", "acid"]
    assert [found[name]["reaches"] for name in found][:3] == ["no", "yes", "yes"]
    salt = studies["ordinary"].number("softener.salt_kg_per_year")
    assert found["softener"]["kg_per_year"] == pytest.approx(salt)
    assert found["softener"]["cost_per_year"] == pytest.approx(salt * prices.salt_per_kg)
    water = studies["ordinary"].number("media_life.water_m3_per_year")
    assert 2.0 <= found["inhibitor"]["dose_mg_l"] <= 5.0
    assert found["inhibitor"]["kg_per_year"] == pytest.approx(3.5 * water / 1000.0)
    assert all(row["why"] for row in found.values())


def test_acid_by_stoichiometry(studies, sites, prices):
    """Stoichiometry: 1.0205 mg/L of alkalinity as CaCO3 per mg/L of sulfuric acid; the dose never
    takes more than the water has."""
    assert pytest.approx(1.0205, abs=1e-4) == SULFURIC.alkalinity_per_mg
    acid = compared(
        studies,
        sites,
        prices,
        untreated__recovery__max=0.4,
        untreated__recovery__sulfuric_acid_mg_l=154.0,
    )["acid"]
    raw = sites["ordinary"][0]
    assert 0.0 < acid["dose_mg_l"] * 1.0205 < raw.alkalinity_mg_l_caco3
    assert acid["cost_per_year"] == pytest.approx(acid["kg_per_year"] * prices.acid_per_kg)
