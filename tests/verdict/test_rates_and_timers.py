"""Beds between the rate of a code and that of practice; timers against capacity and reserve.

Greensand: 3 gpm/ft2 by the code (OAC 252:626-9-7), 3 to 5 in practice (common practice, no
source); 1 gpm/ft2 is 2.445 m/h. A timer is set in days; the reserve is a share of the capacity.
"""

import pytest

from tests.verdict.test_equipment import CARBON, SOFT, answer, value  # noqa: F401

GREENSAND = (
    '[iron_filter]\nmedium = "manganese greensand"\nvessel_diameter = "{wide} in"\n'
    'media_depth = "0.7 m"\nregeneration = "intermittent"\npermanganate_dose = "2 g/L"\n'
    "colour_interlock = true\n"
)


@pytest.mark.parametrize(
    ("wide", "green", "words"),
    # By hand: 2 m3/h through 24, 21, 18, 16 and 14 in: 2.8, 3.7, 5.0, 6.3 and 8.2 gpm/ft2.
    [(26, True, None), (21, True, "12.2 m/h in practice"), (14, False, "in practice")],
)
def test_rates_between_code_and_practice(answer, wide, green, words):  # noqa: F811
    more = SOFT + CARBON.format(wide="18 in", litres=170.0) + GREENSAND.format(wide=wide)
    got, said, study = answer(
        "rate", '["iron_filter", "softener", "carbon", "cartridge"]', more, Fe=1.1
    )
    rate = value(study, "iron_filter.velocity_m_h")
    assert rate == pytest.approx(2.0 / (3.14159 / 4 * (wide * 0.0254) ** 2), rel=1e-3)
    told = [text for text in said if "m/h in service" in text]
    assert bool(told) == (words is not None), said
    assert all(words in text and "7.33 m/h by the code" in text for text in told)
    assert all(("run a pilot" in text) == green for text in told)
    assert (got != "does not fit") == green, said


@pytest.mark.parametrize(("times", "eaten"), [(0.9, None), (1.1, True), (1.2, True), (1.4, False)])
def test_a_reserve_used_up_is_no_hard_water(answer, times, eaten):  # noqa: F811
    """The whole capacity lasts the interval over (1 - reserve), by its definition."""
    stages = '["softener", "cartridge"]'
    days = value(answer("rate", stages, SOFT)[2], "softener.interval_d")
    more = SOFT + f"regenerate_every_days = {times * days:.4f}\n"
    _, said, study = answer("rate", stages, more)
    assert value(study, "softener.reserve") == 0.2
    flags = [flag for flag in study["flags"] if flag["code"] == "set_too_long"]
    assert len(flags) == (eaten is not None)
    for flag in flags:
        assert ("hard water reaches the membranes before" in flag["text"]) != eaten
        assert flag["level"] == ("caution" if eaten else "warning")
        assert (f"{1.0 - 0.8 * times:.0%} is left" in flag["text"]) == eaten
    assert any("reaches the membranes before" in text for text in said) == (eaten is False)


@pytest.mark.parametrize(("stage", "metal"), [("iron_filter", 14.0), ("softener", 0.02)])
def test_no_setting_of_a_timer_says_why_and_what(answer, stage, metal):  # noqa: F811
    """A filter of iron takes no salt; 12 h a day may fall between two regenerations."""
    more = SOFT + CARBON.format(wide="18 in", litres=170.0) + GREENSAND.format(wide=18)
    if stage == "softener":
        more = '[softener]\nvessel = "9x48"\nsalt_dose_g_l = 100\ncontrol = "calendar"\n'
    stages = '["iron_filter", "softener", "carbon", "cartridge"]' if metal > 1 else '["softener"]'
    _, _, study = answer("rate", stages, more, Fe=metal)
    told = [flag for flag in study["flags"] if flag["code"] == "no_setting"]
    text = next(flag["text"] for flag in told if flag["figure"] == f"{stage}.programme_days")
    assert "12 h of a day may fall in one stretch" in text
    assert ("salt" in text) == (stage == "softener")
