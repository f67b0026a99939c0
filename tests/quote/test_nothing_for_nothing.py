"""What this water needs none of is no line, no option and no supply; unit prices are in cents.

The site, its water and prices are invented; that a line of nothing is no line is common practice,
no source.
"""

import pytest

from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.test_sold_and_priced import FED, quoted

# At a third of the feed this water forms no scale, so that no acid is needed.
MILD = FED.replace("recovery = 0.7", "recovery = 0.33").replace("visits_per_year = 0\n", "")
TONGUES = [("en", "sulfuric"), ("es", "sulfúrico"), ("de", "schwefels")]


@pytest.mark.parametrize(
    ("tongue", "name", "how"),
    [
        pytest.param(
            *tongue,
            how,
            marks=[] if how == "included" or tongue[0] == "en" else pytest.mark.thorough,
        )
        for how in ("included", "optional", "none")
        for tongue in TONGUES
    ],
)
def test_nothing_of_nothing_is_sold(pretreat, tmp_path, tongue, name, how):  # noqa: F811
    own = f'language = "{tongue}"\nvisits_per_year = 4\nconsumables = "{how}"\n'
    own += 'lines = [{ text = "Dosing set", price = 780 }]\n'
    words, row = quoted(pretreat, tmp_path, f"{MILD}{own}")
    assert name not in words.lower()
    assert " 0 kg" not in words
    assert "none is needed on this water, so not sold: Sulfuric acid" in row["message"]


def test_a_chemical_that_is_needed_is_sold(pretreat, tmp_path):  # noqa: F811
    words, row = quoted(pretreat, tmp_path, FED)
    assert "Sulfuric acid 93 %" in words
    assert row["message"] == ""


def test_a_unit_price_is_in_cents(pretreat, tmp_path):  # noqa: F811
    """30 kg of hydrochloric acid of 33 % at 1.35 a kilogram of pure acid are 13.365: 13.37."""
    site = FED.replace("[prices]", '[acid]\nacid = "hydrochloric"\n[prices]')
    words, _ = quoted(
        pretreat, tmp_path, site.replace("acid_per_kg = 1.3\n", "acid_per_kg = 1.35\n")
    )
    assert " 13.37 " in words
    assert "13.365" not in words
