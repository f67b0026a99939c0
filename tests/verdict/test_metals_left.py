"""What filter or resin leave of iron and manganese is measured before the membranes run.

Limits: 0.05 mg/L together onto membranes (from memory: secondary notes and AWWA M46); less than
1 mg/L onto resin (TSS 604.805(a), printed). A filter leaves 0.1 and 0.05 mg/L (common practice).
"""

import pytest

from tests.choices.wells import analysis, sized

IRON = {**analysis(ph=7.4, alkalinity=200, hardness=220, tds=500), "Fe": 1.2, "Mn": 0.18}
SOME = {**IRON, "Fe": 0.25, "Mn": 0.05}
FILTER = '"iron_filter", "carbon", '
BEHIND = "measure iron and manganese behind the filter"


def judged(folder, water, train, more=""):
    text = f'[train]\nstages = [{train}"cartridge"]\n[iron_filter]\npermanganate_dose = "1 g/L"\n'
    study = sized(folder, water, recovery=0.5, hours=12, more=text + more, draws=128)
    return study.value("verdict.answer"), str(study.value("verdict.reasons"))


def test_what_a_filter_leaves_straight_onto_membranes_is_measured(tmp_path):
    answer, reasons = judged(tmp_path, IRON, FILTER + '"inhibitor", ')
    assert answer == "fits with conditions"
    assert BEHIND in reasons


def test_with_a_softener_for_all_of_it_or_a_measured_rest_it_is_not_asked_again(tmp_path):
    assert BEHIND not in judged(tmp_path, IRON, FILTER + '"softener", ')[1]
    own = 'iron_left = "0.02 mg/L"\nmanganese_left = "0.01 mg/L"\n'
    assert BEHIND not in judged(tmp_path, IRON, FILTER + '"inhibitor", ', own)[1]


def test_a_bypass_carries_it_past_the_softener(tmp_path):
    train = FILTER + '"softener", "bypass", "inhibitor", '
    assert BEHIND in judged(tmp_path, IRON, train)[1]


@pytest.mark.parametrize(
    ("water", "train", "expected"),
    [
        (SOME, '"softener", ', "fits with conditions"),
        ({**IRON, "Fe": 1.0}, '"softener", ', "does not fit"),  # over the code
        (SOME, '"aeration", "softener", ', "does not fit"),  # rust ahead of resin
        ({**SOME, "Fe": 0.4}, '"inhibitor", ', "does not fit"),  # nothing takes it
    ],
)
def test_resin_takes_dissolved_iron_below_the_limit_of_the_codes(tmp_path, water, train, expected):
    answer, reasons = judged(tmp_path, water, train)
    assert answer == expected
    assert ("behind the softener before the membranes run" in reasons) is ("with" in expected)
