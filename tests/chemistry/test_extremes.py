"""Waters at the edge: an answer or a flag that says why not; no warning, no plausible nonsense."""

import csv
import io
import warnings

import numpy as np
import pytest

from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import feed_water
from pretreat.membrane.recovery import default_limits, recovery_limit

ORDINARY = {"ca": 80.0, "mg": 20.0, "na": 60.0, "cl": 90.0, "so4": 70.0, "ba": 0.05, "sr": 0.6,
            "f": 0.5, "sio2": 20.0}  # fmt: skip
EXTREMES = {
    "pH 3": (ORDINARY, 0.0, 3.0),
    "pH 11.5": (ORDINARY, 250.0, 11.5),
    "one ion only": ({"na": 100.0}, np.nan, 7.0),
    "zero alkalinity": (ORDINARY, 0.0, 6.0),
    "60 % charge error": ({**ORDINARY, "so4": 900.0}, 150.0, 7.5),
    "brine of 3 mol/kg": ({**ORDINARY, "na": 69_000.0, "cl": 106_000.0}, 200.0, 7.2),
    "nothing dissolved": ({}, 10.0, 7.0),
    "distilled": ({"na": 0.01, "cl": 0.01}, 0.5, 5.8),
}


@pytest.mark.parametrize("name", EXTREMES)
def test_an_answer_or_a_gap_and_never_a_warning(name):
    mg_l, alkalinity, ph = EXTREMES[name]
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        feed = feed_water(mg_l, alkalinity, ph, 20.0)
        brine = concentrate(feed, np.array([0.0, 0.5, 0.9]))
        reach = recovery_limit(feed, default_limits(False))
        index = (brine.lsi(), brine.sdsi(), brine.lsi_hand())
    found = brine.speciation
    assert np.all(found.converged == np.isfinite(found.ph))
    assert np.all(found.residual[found.converged] < 1e-6)
    maximum = float(reach.maximum)  # a gap where no scale can be judged
    assert np.isnan(maximum) or 0.0 <= maximum <= 0.95
    assert not np.isnan(maximum) or not {"ca", "ba", "sr", "sio2"} & set(mg_l) or np.isnan(feed.ph)
    for values in index:
        assert not np.any(np.isinf(values))


def test_hydroxide_above_the_alkalinity_is_a_gap():
    """At pH 12 hydroxide alone is 10 meq/L: an alkalinity of 1 meq/L cannot belong to it."""
    feed = feed_water(ORDINARY, 50.0, 12.2, 20.0)
    assert not bool(feed.speciation.converged)


def test_screen_gives_every_water_its_row(tmp_path):
    from pretreat.lab.samples.screen_table import read_chunks
    from pretreat.lab.screen import COLUMNS, screen

    lines = ["id,pH,temperature_c,Ca,Mg,Na,Alkalinity,SO4,Cl,Ba,Sr,F,SiO2"]
    for name, (mg_l, alkalinity, ph) in EXTREMES.items():
        cells = [mg_l.get(k, "") for k in ("ca", "mg", "na")]
        rest = [mg_l.get(k, "") for k in ("so4", "cl", "ba", "sr", "f", "sio2")]
        alk = "" if np.isnan(alkalinity) else alkalinity
        lines.append(",".join(map(str, [name, ph, 20, *cells, alk, *rest])))
    (tmp_path / "edge.csv").write_text("\n".join(lines))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        (table,) = read_chunks(tmp_path / "edge.csv")
        block = screen(table, [0.0, 0.75], {})
    assert len(block) == 2 * len(EXTREMES)
    assert set(block.columns["status"]) <= {"ok", "flagged", "failed"}
    for i, status in enumerate(block.columns["status"]):
        assert (status == "failed") == bool(np.isnan(block.columns["ph"][i]))
        assert status != "failed" or block.columns["flags"][i]
    assert tuple(block.columns) == COLUMNS


def test_us_and_si_report_of_one_water_agree(tmp_path):
    from pretreat.lab import read_analysis
    from pretreat.study import run_scaling

    si = io.StringIO()
    us = io.StringIO()
    one, two = csv.writer(si), csv.writer(us)
    hardness = 17.118061
    for name, value, unit in (("pH", 7.4, ""), ("Calcium", 100.0, "mg/L"), ("Magnesium", 30.0, "mg/L"),
                              ("Sodium", 80.0, "mg/L"), ("Alkalinity as CaCO3", 250.0, "mg/L"),
                              ("Sulfate", 120.0, "mg/L"), ("Chloride", 110.0, "mg/L"),
                              ("Silica", 25.0, "mg/L"), ("Barium", 0.06, "mg/L")):  # fmt: skip
        one.writerow([name, value, unit])
        two.writerow([name, value, "ppm" if unit else unit])
    one.writerow(["Temperature", 20.0, "°C"])
    two.writerow(["Temperature", 68.0, "°F"])
    (tmp_path / "si.csv").write_text("Analyte,Result,Unit\n" + si.getvalue(), "utf-8")
    text = us.getvalue().replace(
        "Alkalinity as CaCO3,250.0,ppm", f"Alkalinity,{250 / hardness},gpg"
    )
    (tmp_path / "us.csv").write_text("Analyte,Result,Unit\n" + text, "utf-8")
    a, b = (run_scaling(read_analysis(tmp_path / f"{n}.csv"), 0.6) for n in ("si", "us"))
    for key in ("scaling.lsi", "scaling.si_barite", "scaling.sdsi", "recovery.max_inhibited"):
        assert a[key].value == pytest.approx(b[key].value, abs=2e-5)
