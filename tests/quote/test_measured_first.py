"""Phosphate alone wanting leaves an offer with a condition, not a draft.

It is seldom in an analysis and quickly measured before a new plant starts (common practice, no
source). The verdict stays as it is: the recovery is not promised.
"""

import pytest

from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.test_sold_and_priced import FED, WATER, quoted

WITHOUT = WATER.replace("Phosphate,<0.05,mg/L\n", "")


@pytest.mark.parametrize(
    ("language", "condition", "promise"),
    [
        ("en", "phosphate is measured before start-up, since it may lower the recovery",
         "70 % is not promised before the conditions below are met"),
        ("es", "el fosfato se mide antes de la puesta en marcha, porque puede reducir",
         "el 70 % no se promete antes de que se cumplan las condiciones siguientes"),
        ("de", "Phosphat wird vor der Inbetriebnahme gemessen, da es die Ausbeute senken kann",
         "70 % werden nicht zugesagt, bevor die folgenden Voraussetzungen erfüllt sind"),
    ],
)  # fmt: skip
def test_phosphate_alone_is_a_condition(pretreat, tmp_path, language, condition, promise):  # noqa: F811
    site = f'{FED}language = "{language}"\n'
    words, row = quoted(pretreat, tmp_path, site, water=WITHOUT)
    assert row["status"] == "ok"
    assert condition in words
    assert promise in words
    assert row["message"].startswith("no maximum recovery can be stated: ")
    assert "calcium phosphate for want of phosphate" in row["message"]


def test_more_than_phosphate_is_a_draft(pretreat, tmp_path):  # noqa: F811
    water = WITHOUT.replace("Barium,40,µg/L\n", "").replace("Silica,14,mg/L\n", "")
    words, row = quoted(pretreat, tmp_path, FED, water=water)
    assert row["status"] == "draft"
    assert "Why this is a draft: the analysis lacks " in words
    words, row = quoted(pretreat, tmp_path, FED)
    assert row["status"] == "ok"
    assert "phosphate is measured" not in words
