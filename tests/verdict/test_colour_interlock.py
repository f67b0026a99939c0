"""Permanganate ahead of membranes has rinse-to-clear and an interlock; carbon is a back-up only.

Common practice, no source. A batch in the bed is no milder than what is fed continuously.
"""

import pytest

from tests.choices.wells import analysis, sized
from tests.verdict.test_metals_left import IRON

TRAIN = '[train]\nstages = ["iron_filter", "softener", "carbon", "cartridge"]\n'
HAS = "colour_interlock = true\n"
ASKED = "colour interlock"


def judged(folder, more, water=IRON):
    study = sized(folder, water, recovery=0.5, hours=12, more=more, draws=128)
    return study, str(study.value("verdict.reasons"))


@pytest.mark.parametrize("more", ["", '[train]\nstages = ["permanganate", "iron_filter", '
                                  '"softener", "carbon", "cartridge"]\n'
                                  '[iron_filter]\nregeneration = "continuous"\n',
                                  TRAIN + "[iron_filter]\ninclude = true\n"])  # fmt: skip
def test_no_permanganate_without_a_word_on_colour(tmp_path, more):
    study, reasons = judged(tmp_path, more)
    assert study.value("verdict.answer") == "fits with conditions"
    assert ASKED in reasons


def test_one_that_is_there_is_not_asked_for(tmp_path):
    _, reasons = judged(tmp_path, TRAIN + "[iron_filter]\n" + HAS)
    assert ASKED not in reasons


def test_a_filter_that_is_fed_chlorine_asks_for_a_test_of_chlorine(tmp_path):
    chlorine = TRAIN.replace('"iron_filter"', '"chlorine", "contact_tank", "iron_filter"')
    more = '[iron_filter]\nregeneration = "continuous"\noxidant = "chlorine"\n'
    _, reasons = judged(tmp_path, chlorine + more, {**IRON, "pH": 7.8})
    assert ASKED not in reasons
    assert "test free chlorine behind" in reasons


def test_neither_is_asked_of_a_water_without_iron(tmp_path):
    clear = analysis(ph=7.4, alkalinity=200, hardness=220, tds=500)
    assert ASKED not in judged(tmp_path, "", clear)[1]
