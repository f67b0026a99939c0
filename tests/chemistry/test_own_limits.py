"""Limits of the user's own: a file of limits, single limits, a K chart, and measured flows."""

import math

import pytest

from pretreat.chemistry.indexes import chart_k, outside_chart, stiff_davis_k
from pretreat.core.errors import PretreatError
from pretreat.lab import read_analysis
from pretreat.membrane.limits import limits_from
from pretreat.membrane.recovery import default_limits
from pretreat.site.design import LimitChoices
from pretreat.site.limits import read_k_chart, read_limits, with_files
from pretreat.study import run_scaling

DEMO = "water_analyses/drover_flat.csv"
FILE = """scale,measure,without_inhibitor,with_inhibitor,source
lsi,index,0.2,1.8,own trials
barite,%,150,4000,letter
gypsum,si,0.1,,
"""


@pytest.fixture
def files(tmp_path):
    (tmp_path / "limits.csv").write_text(FILE)
    rows = [
        f"{i},{t},{float(stiff_davis_k(i, float(t))) + 0.1}"
        for i in (0.1, 0.2, 0.3)
        for t in (5, 25)
    ]
    (tmp_path / "k.csv").write_text("ionic_strength_mol_kg,temperature_c,k\n" + "\n".join(rows))
    return tmp_path


def test_a_limit_of_the_file_holds_for_its_way_of_working(files):
    choices = with_files(LimitChoices(), files / "limits.csv")
    plain, inhibited = limits_from(choices, False), limits_from(choices, True)
    assert (plain.lsi, inhibited.lsi) == (0.2, 1.8)
    assert plain.si["barite"] == pytest.approx(math.log10(1.5))
    assert inhibited.si["barite"] == pytest.approx(math.log10(40.0))
    assert plain.si["gypsum"] == pytest.approx(0.1)
    assert inhibited.si["gypsum"] == default_limits(True).si["gypsum"]


def test_a_single_limit_goes_before_the_file_and_an_inhibitor_never_lowers_it(files):
    table = {"file": "limits.csv", "lsi": 0.6, "pct_silica": 150.0}
    choices = read_limits(table, files)
    assert limits_from(choices, False).lsi == 0.6
    assert limits_from(choices, True).lsi == 1.8
    assert limits_from(choices, True).si["silica"] == pytest.approx(math.log10(1.5))


def test_the_recovery_found_meets_the_limits_of_the_file(files):
    choices = with_files(LimitChoices(inhibitor=True), files / "limits.csv")
    water = read_analysis(DEMO)
    study = run_scaling(water, 0.5, limits=choices, draws=0)
    most, by = study.number("recovery.max"), study["recovery.limited_by"].value
    at_limit = run_scaling(water, most, limits=choices, draws=0)
    row = next(r for r in at_limit.series["scaling.limits"].rows if r[0] == by)
    now, limit = row[3], row[4]
    assert now == pytest.approx(limit, rel=0.003)


def test_own_k_shifts_the_index_by_as_much(files):
    water = read_analysis(DEMO)
    own = run_scaling(water, 0.5, limits=with_files(LimitChoices(), None, files / "k.csv"), draws=0)
    usual = run_scaling(water, 0.5, draws=0)
    # The chart is linear between its points, the thermodynamic K is not.
    shift = own.number("scaling.sdsi") - usual.number("scaling.sdsi")
    assert shift == pytest.approx(-0.1, abs=0.02)


def test_chart_at_its_points_and_beyond(files):
    chart = read_k_chart(files / "k.csv")
    assert float(chart_k(chart, 0.2, 25.0)) == pytest.approx(float(stiff_davis_k(0.2, 25.0)) + 0.1)
    assert float(chart_k(chart, 0.25, 15.0)) == pytest.approx(
        sum(chart.k[i][j] for i in (1, 2) for j in (0, 1)) / 4
    )
    assert bool(outside_chart(chart, 0.5, 15.0))
    assert float(chart_k(chart, 0.5, 15.0)) == float(stiff_davis_k(0.5, 15.0))
    study = run_scaling(read_analysis(DEMO), 0.9, limits=LimitChoices(k_chart=chart), draws=0)
    assert "k_chart_ends" in {f.code for f in study.flags}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("scale,measure,without_inhibitor,with_inhibitor\nkalk,%,1,2\n", "'kalk' is not one of"),
        ("scale,measure,without_inhibitor,with_inhibitor\nlsi,%,1,2\n", "measured as index"),
        ("scale,measure,without_inhibitor,with_inhibitor\nbarite,%,x,2\n", "'x' is not a number"),
        ("scale,limit\nbarite,2\n", "no column 'measure'"),
        ("scale,measure,without_inhibitor,with_inhibitor\nbarite,%,-3,2\n", "must be above 0"),
    ],
)
def test_a_bad_limit_file_says_where(tmp_path, text, says):
    (tmp_path / "limits.csv").write_text(text)
    with pytest.raises(PretreatError, match=says):
        with_files(LimitChoices(), tmp_path / "limits.csv")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("0.1,5,2.5\n0.1,5,2.6\n", "stands twice"),
        ("0.1,5,2.5\n0.2,25,2.6\n", "full grid"),
        ("0.1,5,2.5\n", "two ionic strengths"),
    ],
)
def test_a_bad_chart_says_where(tmp_path, text, says):
    (tmp_path / "k.csv").write_text("ionic_strength_mol_kg,temperature_c,k\n" + text)
    with pytest.raises(PretreatError, match=says):
        read_k_chart(tmp_path / "k.csv")


def test_measured_flows_make_the_recovery():
    study = run_scaling(read_analysis(DEMO), (1.2, 0.8), draws=0)
    assert study.number("concentrate.recovery") == pytest.approx(0.6, rel=1e-12)
    left = {r[0]: r[7] for r in study.series["scaling.limits"].rows}
    alone = {r[0]: r[6] for r in study.series["scaling.limits"].rows}
    assert left["silica"] == pytest.approx(alone["silica"] - 0.6)
    with pytest.raises(PretreatError, match="recovery of product and drain"):
        run_scaling(read_analysis(DEMO), (1.2, 0.001))
