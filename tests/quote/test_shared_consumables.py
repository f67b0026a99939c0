"""A consumable that two stages use is bought once, for what both use."""

from pathlib import Path

import pytest

from pretreat import size

ANALYSIS = Path(__file__).parents[2] / "water_analyses" / "quarrow_vale_well_2.csv"
SITE = """
[water]
analysis = "{analysis}"
[machine]
product_flow = "1.6 m3/h"
recovery = 0.65
hours_per_day = 16
[prices]
permanganate_per_kg = 6.5
acid_per_kg = 1.0
[train]
stages = [{stages}]
"""


def test_what_two_stages_use_is_one_line(tmp_path):
    """By hand: the sum of both, in whole packages."""
    path = tmp_path / "site.toml"
    stages, item, users = (
        "iron_filter carbon weak_acid degasser acid cartridge",
        "acid",
        (
            "weak_acid",
            "dosing",
        ),
    )
    quoted = ", ".join(f'"{stage}"' for stage in stages.split())
    path.write_text(SITE.format(analysis=ANALYSIS.as_posix(), stages=quoted), "utf-8")
    study = size(path, draws=0)
    parts = [study[f"consumables.{user}_{item}_kg_per_year"].value for user in users]
    assert study[f"consumables.{item}_per_year"].value == pytest.approx(sum(parts))
    packages, each = study[f"costs.{item}_packages"].value, study[f"costs.package_{item}"].value
    assert (packages - 1) * each < sum(parts) <= packages * each
    lines = study.series["quote.lines"].column(study.series["quote.lines"].columns[0])
    assert len(lines) == len(set(lines))
