"""A scale with a limit stands in every table that a verdict looks into."""

from pretreat.core.tables import rows
from pretreat.membrane.limits import NEEDED
from pretreat.site.limits import MINERALS_WITH_LIMIT


def test_every_scale_has_a_band_with_and_without_inhibitor():
    bands = {(row["criterion"], row["inhibitor"]) for row in rows("limits.csv")}
    for scale in MINERALS_WITH_LIMIT:
        assert {(scale, "no"), (scale, "yes")} <= bands, f"{scale}: a row is missing in limits.csv"
    strange = {scale for scale, _ in bands} - set(MINERALS_WITH_LIMIT)
    assert not strange, f"limits.csv: not in site/limits.py: {strange}"


def test_every_scale_says_which_ions_it_needs():
    assert set(NEEDED) == set(MINERALS_WITH_LIMIT)
