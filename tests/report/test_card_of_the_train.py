"""Card and front page say what the train has: settings of its valves, steps, and its strip."""

import pytest

from pretreat import rate
from pretreat.core.text import plain_numbers
from pretreat.plant.choices.table import options, worded
from pretreat.report.hand.card_lines import blocks
from pretreat.report.workbook.bench import stages_behind, stages_in
from tests.report.test_pressure_of_the_card import SITE, WATER

SOFTENER = """[softener]
vessel = "24x72"
resin_volume = "285 L"
control = "{control}"
"""
FILTER = """[iron_filter]
vessel = "24x72"
media_volume = "285 L"
oxidant = "{oxidant}"
regeneration = "{how}"
"""
CHLORINATED = ("chlorine", "contact_tank", "iron_filter", "carbon", "cartridge")


def rated(folder, stages, tables):
    folder.mkdir(exist_ok=True)
    (folder / "water.csv").write_text(WATER.replace("Iron,0.02", "Iron,1.0"), encoding="utf-8")
    text = SITE.format(flow=1.5, machine="").partition("[softener]")[0]
    text += f"[train]\nstages = {list(stages)}\n{tables}".replace("'", '"')
    site = folder / "site.toml"
    site.write_text(text, encoding="utf-8")
    return rate(site, draws=0)


def lines(study, stage):
    """Return the words of the card at a stage, without units."""
    found = [b for b in blocks(study, us=False) if b.heading.startswith(stage)]
    return [line.words for block in found for line in block.lines]


def steps(study):
    tables = ("start_up", "shutdown", "stop", "vacation", "restart")
    rows = [row for name in tables for row in study.series[f"settings.{name}"].rows]
    return " ".join(str(cell) for row in rows for cell in row)


@pytest.mark.parametrize("control", ["calendar", "meter"])
def test_the_card_has_only_what_the_control_of_a_valve_takes(tmp_path, control):
    study = rated(tmp_path, ("softener", "cartridge"), SOFTENER.format(control=control))
    words = lines(study, "Softener")
    clock = {"Timer: every, days", "Clock time"}
    stopped = "Meter, at once, machine stopped by its contact: after, m3"
    meter = {stopped, "Override: at the latest, days"}
    has, lacks = (clock, meter) if control == "calendar" else (meter, clock)
    assert has <= set(words)
    assert not lacks & set(words)


@pytest.mark.parametrize(
    ("stages", "oxidant", "how", "pink"),
    [
        (("iron_filter", "cartridge"), "permanganate", "intermittent", True),
        (CHLORINATED, "chlorine", "continuous", False),
    ],
)
def test_permanganate_is_named_where_it_is_fed(tmp_path, stages, oxidant, how, pink):
    carbon = '[carbon]\nvessel = "24x72"\nmedia_volume = "285 L"\n' if "carbon" in stages else ""
    study = rated(tmp_path, stages, FILTER.format(oxidant=oxidant, how=how) + carbon)
    words, said = lines(study, "Iron filter"), steps(study)
    assert ("Permanganate draw, minutes" in words) is pink
    assert any("pink" in w for w in words) is pink
    assert any(w.startswith("Rinse") for w in words)
    assert ("pink" in said) is pink
    assert "softener" not in said
    assert "soft" not in said
    assert ("carbon" in said) is ("carbon" in stages)
    verb = "regenerate" if pink else "backwash"
    assert f"{verb} the iron filter" in said


def test_a_train_of_a_cartridge_has_no_bed_to_bring_back(tmp_path):
    said = steps(rated(tmp_path, ("cartridge",), ""))
    for word in ("regenerate", "backwash", "softener", "{", "salt"):
        assert word not in said


def test_what_treats_the_product_stands_behind_the_membranes(tmp_path):
    calcite = '[neutralising_filter]\ninclude = true\nvessel = "24x72"\nmedia_volume = "285 L"\n'
    stages = ("softener", "cartridge", "neutralising_filter")
    study = rated(tmp_path, stages, SOFTENER.format(control="calendar") + calcite)
    assert stages_behind(study) == ("neutralising filter",)
    assert stages_in(study) == ("softener", "cartridge filter")


@pytest.mark.parametrize(("ammonia", "told"), [(None, False), (0.05, False), (0.9, True)])
def test_ammonia_is_a_reason_only_where_there_is_some(ammonia, told):
    """0.3 mg/L as N is where the table of trains leaves chlorine for it."""
    fed = next(o for o in options() if o.key == "permanganate")
    words = worded(fed, {"nh4_n": ammonia}).words
    assert ("ammonia does not take it" in words) is told
    assert "[" not in words


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("arsenic is 9.1e-05 mg/L where", "arsenic is below 0.001 mg/L where"),
        ("of 2e-10 mg/L", "of below 0.001 mg/L"),
        ("a share of 2.5e-05", "a share of 0.000025"),
        ("0.016 mg/L", "0.016 mg/L"),
    ],
)
def test_no_power_of_ten_in_a_sentence(text, shown):
    assert plain_numbers(text) == shown
