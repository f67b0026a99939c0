"""Money adds up to the cent against a recalculation of its own; a missing price stays a gap."""

import math
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import fields, replace

from pretreat.core.errors import OutOfRangeError
from pretreat.core.law import cents
from pretreat.core.results import from_json, to_json
from pretreat.quote.laws import present_value, replacements_in_year
from pretreat.site.design import Prices
from pretreat.stages.packages import (
    gravel_kg,
    media_packages_needed,
    packages,
    packages_law,
    packages_needed,
    replacement_h,
)

CENT = Decimal("0.01")
# A canister of 25 kg of hypochlorite of 12.5 % by volume and 1.2 kg/L holds this much chlorine.
CANISTER = Fraction(25 * 125, 1200)
# item of the quote -> (package size or None where bought by measure), as the trade sells it
BOUGHT_IN = {
    "salt": 25, "permanganate": 25, "chlorine": CANISTER, "inhibitor": 25, "cartridges": 1, "water": None,
    "drain": None, "energy": None,
}  # fmt: skip
MEDIA = {"softener": ("resin_per_l", 25, "resin_bought_l"),
         "iron_filter": ("iron_media_per_l", 14, "media_volume_l"),
         "carbon": ("carbon_per_l", 50, "media_volume_l")}  # fmt: skip


def exact(value: float) -> Decimal:
    return Decimal(repr(value))


def rounded(value: Decimal) -> Decimal:
    return value.quantize(CENT, rounding=ROUND_HALF_UP)


def bought(quantity: float, size: int | Fraction | None, full: Fraction = Fraction(1)) -> Decimal:
    """What is bought; a medium is full up to 2 % short (common practice, no source)."""
    if size is None:
        return exact(quantity)
    count = -((-Fraction(quantity)) // (size * full))
    held = int(count) * Fraction(size)
    return Decimal(held.numerator) / Decimal(held.denominator)


def consumables_of(study, prices: Prices) -> Decimal:
    """Recalculate a year's consumables from the quantities alone."""
    total = Decimal(0)
    for item, size in BOUGHT_IN.items():
        quantity = study.number(f"consumables.{item}_per_year")
        price = getattr(prices, packages()[item].price)
        if quantity is not None and price is not None:
            held = bought(quantity, size)
            if item == "chlorine" and quantity:  # one canister for each three months at least
                held = max(held, bought(float(4 * CANISTER), size))
            total += rounded(held * exact(price))
    return total


def replacement_of(study, prices: Prices, stage: str) -> Decimal:
    """Recalculate one replacement of a medium, without freight and downtime."""
    price, size, volume_name = MEDIA[stage]
    litres = study.number(f"{stage}.{volume_name}")
    vessels = study.number(f"{stage}.vessels_in_service")
    if stage == "softener":
        vessels *= study.number("softener.vessels_per_duty")
    diameter = study.number(f"{stage}.vessel_diameter_m")
    gravel = vessels * math.pi * diameter**3 / 24.0 * 1000.0 * 1.6
    hours = 2.0 * vessels + 1.5 * litres / 100.0
    return sum(
        (
            rounded(bought(litres, size, Fraction(102, 100)) * exact(getattr(prices, price))),
            rounded(bought(gravel, 25) * exact(prices.gravel_per_kg)),
            rounded(exact(hours) * exact(prices.labour_per_h)),
            rounded(exact(litres) * exact(prices.disposal_per_l)),
        ),
        Decimal(0),
    )


def plan_of(study, prices: Prices) -> list[Decimal]:
    """Recalculate the total of each of ten years."""
    stages = [s for s in MEDIA if f"media_life.{s}_years_likely" in study.figures]
    costs = {s: replacement_of(study, prices, s) for s in stages}
    ends = {s: [] for s in stages}
    for stage in stages:
        life = study.number(f"media_life.{stage}_years_likely")
        moment = 1
        while moment * life < 11 - 1e-9:
            ends[stage].append(math.ceil(moment * life - 1e-9))
            moment += 1
    totals = []
    for year in range(1, 11):
        times = {s: ends[s].count(year) for s in stages}
        media = sum((costs[s] * n for s, n in times.items()), Decimal(0))
        media += exact(prices.freight) * max(times.values(), default=0)
        totals.append(consumables_of(study, prices) + media)
    return totals


@pytest.mark.parametrize("name", ["ordinary", "bad", "worst", "chlorinated", "clean"])
def test_consumables_add_up(studies, prices, name):
    study = studies[name]
    total = consumables_of(study, prices)
    assert exact(study.number("quote.consumables_per_year")) == total
    table = study.series["quote.lines"]
    shown = [a for a, when in zip(table.column("amount"), table.column("when"), strict=True)
             if when == "each year"]  # fmt: skip
    assert sum(exact(a) for a in shown) == total


@pytest.mark.parametrize("name", ["ordinary", "bad", "worst", "chlorinated"])
def test_one_replacement_adds_up(studies, prices, name):
    study = studies[name]
    stages = [s for s in MEDIA if f"costs.{s}_replacement" in study.figures]
    total = sum((replacement_of(study, prices, s) for s in stages), Decimal(0))
    assert exact(study.number("quote.replacement_total")) == total + exact(prices.freight)


@pytest.mark.parametrize("name", ["ordinary", "bad", "worst", "chlorinated", "clean"])
def test_plan_unit_cost_and_present_value(studies, prices, name):
    study = studies[name]
    totals = plan_of(study, prices)
    table = study.series["quote.years"]
    assert [exact(v) for v in table.column("total")] == [rounded(t) for t in totals]
    assert table.column("year") == tuple(float(y) for y in range(1, 11))
    for consumables, media, total in zip(
        *(table.column(c) for c in ("consumables", "media", "total")), strict=True
    ):
        assert exact(consumables) + exact(media) == exact(total)
    mean = rounded(sum(totals, Decimal(0)) / 10)
    assert exact(study.number("quote.cost_per_year")) == mean
    product = study.number("machine.product_m3_d") * study.number("machine.days_per_year")
    assert study.number("quote.cost_per_m3") == pytest.approx(float(mean) / product, rel=1e-12)
    rate = exact(prices.discount_rate)
    value = sum((t / (1 + rate) ** y for y, t in enumerate(totals, 1)), Decimal(0))
    assert exact(study.number("quote.npv")) == rounded(value)


def test_range_of_the_media_cost(studies, prices):
    """Cost over life: cheaper if the media last, dearer if they do not."""
    study = studies["ordinary"]
    for end, case in (("low", "high"), ("high", "low")):
        lives = {s: study.number(f"media_life.{s}_years_{case}") for s in MEDIA}
        amount = sum(float(replacement_of(study, prices, s)) / lives[s] for s in MEDIA)
        amount += prices.freight / min(lives.values())
        assert study.number(f"quote.media_per_year_{end}") == pytest.approx(amount, abs=0.006)
    low, high = (study.number(f"quote.media_per_year_{end}") for end in ("low", "high"))
    assert low < study.number("quote.media_per_year") < high


def test_a_price_changed_in_the_workbook_reaches_every_total(studies, study_of, sites, prices,
                                                             sheet):  # fmt: skip
    dearer = replace(prices, salt_per_kg=0.61, labour_per_h=75.0, discount_rate=0.08)
    again = study_of(sites["ordinary"], dearer)
    live = sheet(studies["ordinary"], prices__salt_per_kg=0.61, prices__labour_per_h=75.0,
                 prices__discount_rate=0.08)  # fmt: skip
    for key in ("quote.consumables_per_year", "quote.replacement_total", "quote.cost_per_year",
                "quote.cost_per_m3", "quote.npv", "costs.year_04_total"):  # fmt: skip
        assert live.value(key) == pytest.approx(again.number(key), abs=0.005), key


@pytest.mark.parametrize("name", ["salt_per_kg", "labour_per_h", "freight", "energy_per_kwh"])
def test_a_missing_price_is_a_gap_and_never_a_zero(studies, study_of, sites, prices, name):
    study = study_of(sites["ordinary"], replace(prices, **{name: None}))
    price = study[f"prices.{name}"]
    assert price.value is None
    assert "price_missing" in price.flags
    assert name in price.method
    (flag,) = (f for f in study.flags if f.code == "price_missing")  # one line for all of them
    assert str(flag.figure).startswith("prices.")
    assert not [f for f in study.flags if f.code == "no_setting" and "costs." in str(f.figure)]
    table = study.series["quote.lines"]
    item = next(p for p in packages().values() if p.price == name)
    rows = [r for r in table.rows if item.name.lower() in str(r[0]).lower()]
    amounts = {r[table.columns.index("amount")] for r in rows}
    assert amounts == {None}
    assert {r[table.columns.index("note")] for r in rows} == {"price not given"}
    without = study["quote.cost_per_year"].label.partition(", without ")[2]
    assert item.name.lower() in without.lower()
    assert study.number("quote.cost_per_year") < studies["ordinary"].number("quote.cost_per_year")
    assert item.name.lower() in flag.text.lower()
    from_json(to_json(study))


def test_downtime_without_a_price_is_named(studies):
    """Hours without product are always a line; without a price the totals say so."""
    study = studies["ordinary"]
    assert study.number("costs.softener_hours") > 0
    if "downtime_per_h" not in {f.name for f in fields(Prices)}:
        assert "without downtime" in study["quote.replacement_total"].label


def test_without_prices_nothing_is_priced(study_of, sites):
    study = study_of(sites["ordinary"], Prices())
    table = study.series["quote.lines"]
    assert set(table.column("amount")) == {None}
    assert all(v is not None for v in table.column("quantity"))
    for key in ("quote.consumables_per_year", "quote.replacement_total"):
        assert study.value(key) is None
        assert "price_missing" in study[key].flags
    missing = [f for f in study.flags if f.code == "price_missing"]
    assert len(missing) == 1
    assert "salt_per_kg" in study["prices.salt_per_kg"].method
    assert study.value("quote.npv") is None
    years = study.series["quote.years"]
    assert {*years.column("total"), *years.column("consumables")} == {None}
    assert any(years.column("replaced"))  # lives need no price


def test_a_group_without_any_price_gives_no_cost_per_year(study_of, sites, prices):
    """All consumables without a price: a cost of media alone is no cost of the water."""
    goods = ("salt_per_kg", "permanganate_per_kg", "cartridge_each", "water_per_m3",
             "drain_per_m3", "energy_per_kwh")  # fmt: skip
    study = study_of(sites["ordinary"], replace(prices, **dict.fromkeys(goods)))
    for key in ("quote.consumables_per_year", "quote.cost_per_year", "quote.cost_per_m3",
                "quote.npv", "costs.year_01_total"):  # fmt: skip
        assert study.value(key) is None
    assert study.number("quote.media_per_year") > 0
    assert set(study.series["quote.years"].column("total")) == {None}


def test_a_price_typed_into_a_blank_cell_works(study_of, sites, prices, sheet):
    """Salt and the rate are missing in the run and typed later: as if given at first."""
    study = study_of(sites["ordinary"], replace(prices, salt_per_kg=None, discount_rate=None))
    full = study_of(sites["ordinary"], prices)
    live = sheet(study, prices__salt_per_kg=0.45, prices__discount_rate=0.05)
    for key in ("costs.salt_amount", "quote.consumables_per_year", "quote.cost_per_m3",
                "quote.npv"):  # fmt: skip
        assert live.value(key) == pytest.approx(full.number(key), abs=0.005), key


def test_offered_and_own_add_up(studies):
    study = studies["ordinary"]
    parts = [study.number(f"quote.{name}_per_year") for name in ("offered", "own")]
    assert sum(parts) == pytest.approx(study.number("quote.consumables_per_year"), abs=0.005)


def test_a_price_of_nothing_is_asked_about(study_of, sites, prices):
    study = study_of(sites["ordinary"], replace(prices, salt_per_kg=0.0))
    (flag,) = (f for f in study.flags if f.code == "price_zero")
    assert "salt" in flag.text


def test_without_a_rate_there_is_no_present_value(study_of, sites, prices):
    study = study_of(sites["ordinary"], replace(prices, discount_rate=None))
    assert study.value("quote.npv") is None
    assert set(study.series["quote.years"].column("discounted")) == {None}
    assert study.number("quote.cost_per_year") > 0


def test_terms_of_the_quote(studies):
    study = studies["ordinary"]
    assert study.value("quote.currency") == "EUR"
    assert study.number("quote.valid_days") == 60.0
    assert "60 days" in str(study.value("quote.validity"))
    assert "no promise and no warranty" in str(study.value("quote.estimate"))
    assert "local codes" in str(study.value("quote.potable"))
    assert "EUR/m3" in study["quote.cost_per_m3"].unit


def test_units_of_prices_and_packages_agree(studies):
    study = studies["chlorinated"]
    for item in packages().values():
        figure = study.figures.get(f"prices.{item.price}")
        if figure is not None and item.price not in {"cartridge_each", "freight"}:
            assert figure.unit == f"EUR/{item.unit}"


@pytest.mark.parametrize(
    ("quantity", "size", "count"),
    [(0.0, 25.0, 0), (0.1, 25.0, 1), (25.0, 25.0, 1), (25.1, 25.0, 2)],
)
def test_packages_are_rounded_up(quantity, size, count):
    assert packages_needed(quantity, size) == count


@given(st.just(0.0) | st.floats(1e-6, 1e6), st.floats(0.1, 1e3))
def test_packages_hold_the_quantity_and_not_one_more(quantity, size):
    count = packages_needed(quantity, size)
    assert count * size >= quantity * (1 - 1e-12)
    assert (count - 1) * size <= quantity * (1 + 1e-12) or count == 0


@pytest.mark.parametrize(
    ("litres", "bag", "count"), [(70.8, 14.0, 5), (70.8, 14.2, 5), (73.0, 14.0, 6), (50.0, 25.0, 2)]
)
def test_a_bed_of_nominal_size_is_full_with_nominal_bags(litres, bag, count):
    """2.5 ft3, 70.8 L, are five bags of half a cubic foot (14.158 L, NIST SP 811)."""
    assert media_packages_needed(litres, bag) == count
    for kind in ("iron_filter_medium", "softener_medium"):
        assert packages_law(kind, "L") is media_packages_needed
    assert packages_law("salt", "kg") is packages_needed
    assert packages_law("gravel", "kg") is packages_needed


@pytest.mark.parametrize(("quantity", "size"), [(-1.0, 25.0), (1.0, 0.0), (1.0, -1.0)])
def test_packages_that_make_no_sense_are_refused(quantity, size):
    with pytest.raises(OutOfRangeError, match="packages"):
        packages_needed(quantity, size)


@given(st.floats(0.02, 40.0))
def test_replacements_of_ten_years_are_ten_over_the_life(life):
    times = [replacements_in_year(year, life) for year in range(1, 11)]
    assert min(times) >= 0
    assert sum(times) == math.floor(10 / life * (1 + 1e-12))  # a tie within 1e-12 is a whole life


def test_present_value_by_hand():
    """Arithmetic: 100 at the end of years 1 and 2 at 10 % is 90.91 + 82.64."""
    assert present_value([100.0, 100.0], 0.1) == 173.55
    assert present_value([100.0, 100.0], 0.0) == 200.0
    with pytest.raises(OutOfRangeError, match="discount rate"):
        present_value([100.0], -1.0)


@pytest.mark.parametrize(("amount", "shown"), [(0.005, 0.01), (1.005, 1.01), (2.674999, 2.67)])
def test_cents_round_half_up(amount, shown):
    """As a spreadsheet rounds the number it shows."""
    assert cents(amount) == shown


def test_gravel_and_hours():
    """Geometry: a 2:1 head of 24 in holds pi/24 D^3, 30 L or 47 kg (trade tables give 100 lb,
    45 kg, from memory)."""
    assert gravel_kg(0.6096, 1.0, 1.6) == pytest.approx(47.4, rel=0.01)
    assert gravel_kg(0.6096, 1.0, 1.6) == pytest.approx(45.4, rel=0.1)
    assert replacement_h(2.0, 400.0, 2.0, 1.5) == pytest.approx(10.0)


def test_what_a_leaner_dose_saves_is_said(studies, prices):
    """Common practice: a dose above three times the need is a waste."""
    study = studies["ordinary"]
    dose, need = (study.number(f"iron_filter.permanganate_{name}g_per_regeneration")
                  for name in ("", "needed_"))  # fmt: skip
    used = study.number("consumables.permanganate_per_year")
    saved = used * (1 - 3 * need / dose) * prices.permanganate_per_kg
    (flag,) = (f for f in study.flags if f.code == "permanganate_saving")
    assert f"{saved:,.0f} EUR a year" in flag.text
