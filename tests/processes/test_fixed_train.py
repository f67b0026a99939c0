"""A train fixed in the site file: exactly its stages, and a warning where they are unsafe."""

import pytest

PLAIN = ("inhibitor", "cartridge")


def test_exactly_the_stages_named(site):
    stages = ("iron_filter", "carbon", "inhibitor", "cartridge")
    code, study, error = site(stages, water={"Fe [mg/L]": "1.5"})
    assert code == 0, error
    table = study["series"]["train.stages"]
    inside = [row[0] for row in table["rows"] if row[1] == "in"]
    assert inside == ["iron filter", "carbon", "inhibitor dosing", "cartridge filter"]
    prefixes = {key.split(".")[0] for key in study["figures"]}
    assert {"iron_filter", "carbon", "inhibitor", "cartridge"} <= prefixes
    assert "softener" not in prefixes


def test_a_misspelt_stage_names_the_nearest(site):
    code, _, error = site(("iron_filter", "carbn", "cartridge"))
    assert code == 1
    assert error.count("\n") == 1
    assert "carbn" in error
    assert "'carbon'" in error


def test_a_stage_named_twice_is_refused(site):
    code, _, error = site(("carbon", "carbon"))
    assert code == 1
    assert "2 times" in error


def test_the_inhibitor_named_puts_its_limits_in_force(figures):
    with_it, _ = figures(PLAIN, recovery=0.5)
    without, _ = figures(("cartridge",), recovery=0.5)
    assert with_it["recovery.max"] > without["recovery.max"]


def test_iron_onto_a_softener_is_sized_with_a_warning(figures):
    found, texts = figures(("softener", "cartridge"), water={"Fe [mg/L]": "2.4"})
    assert found["softener.resin_filled_l"] > 0
    assert any("iron and manganese onto the softener" in text for text in texts)


def test_much_iron_on_a_filter_is_sized_with_a_warning(figures):
    found, texts = figures(("iron_filter", "carbon", "cartridge"), water={"Fe [mg/L]": "12"})
    assert found["iron_filter.area_m2"] > 0
    assert any("takes up to 10 mg/L" in text for text in texts)


# Each pair is of the trade's "do not" list (common practice, no source).
UNSAFE = [
    (("iron_filter", "cartridge"), {"Fe [mg/L]": "2"}, "permanganate reaches the membranes"),
    (("inhibitor", "iron_filter", "carbon"), {"Fe [mg/L]": "2"}, "inhibitor ahead of the iron"),
    (("carbon", "iron_filter", "cartridge"), {"Fe [mg/L]": "2"}, "carbon ahead of the iron"),
]  # fmt: skip


@pytest.mark.parametrize(("stages", "water", "words"), UNSAFE)
def test_what_is_unsafe_is_named(figures, stages, water, words):
    _, texts = figures(stages, water=water)
    assert any(words in text for text in texts), texts


def test_a_safe_train_is_not_warned_of(site):
    _, study, _ = site((*PLAIN,), recovery=0.4)
    assert not [f for f in study["flags"] if f["code"] == "unsafe_train"]
