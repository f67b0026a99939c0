"""What an edit in the workbook does to pages that a client or a technician may hold."""

import shutil
from pathlib import Path

import pytest
from msgspec.structs import replace

from pretreat.lab import read_analysis
from pretreat.report import write_workbook
from pretreat.report.workbook.layout import COSTS, ESTIMATE, SUMMARY
from pretreat.report.workbook.pages import arrange
from pretreat.report.workbook.stale import WORDS
from pretreat.stages.site import read_site
from pretreat.study import run_study

SITE = Path(__file__).parents[2] / "water_analyses" / "quarrow_vale.toml"


def words(sheet):
    return [str(c.value) for row in sheet.iter_rows() for c in row if c.value is not None]


def row_of(sheet, lead):
    rows = ([c.value for c in row] for row in sheet.iter_rows() if row[0].value == lead)
    return next(row for row in rows if any(v is not None for v in row[1:]))


@pytest.fixture(scope="module", name="books")
def books_fixture(tmp_path_factory, ci_script):
    if shutil.which("soffice") is None:
        pytest.skip("LibreOffice is not installed")
    folder = tmp_path_factory.mktemp("edited")
    design = read_site(SITE)
    design = replace(design, prices=replace(design.prices, resin_per_l=None, discount_rate=None))
    study = run_study(read_analysis(design.water.analysis), design)
    places = arrange(study).places
    path = write_workbook(study, folder / "x.xlsx")

    def cell(key):
        return places[key].sheet, f"C{places[key].row + 1}"

    jobs = {
        "as run": {},
        "hard": {cell("water.ca_mg_l"): 500.0},
        "priced": {cell("prices.resin_per_l"): 3.2, cell("prices.discount_rate"): 0.05},
        "half": {cell("machine.hours_per_day"): 8.0},
    }
    return study, ci_script("check_workbook").recalculated_each(path, folder, jobs)


@pytest.mark.parametrize("name", ["as run", "hard", "priced", "half"])
def test_no_cell_shows_an_error(books, name):
    for sheet in books[1][name]:
        assert not [w for w in words(sheet) if w.startswith("#")], sheet.title


def test_a_changed_input_is_said_on_every_page_of_results(books):
    _, changed = books
    for title in (SUMMARY, ESTIMATE, COSTS, "Softener", "Programme"):
        assert WORDS not in words(changed["as run"][title])
        assert WORDS in words(changed["hard"][title])


def test_packages_and_quantities_follow(books):
    """Half the hours: about half the salt, in whole bags, and the amount is bags times price."""
    _, changed = books
    before, after = (row_of(changed[name][ESTIMATE], "Salt") for name in ("as run", "half"))
    assert after[1] <= 0.6 * before[1]
    assert after[3] == -(-after[1] // 25)
    assert after[6] == pytest.approx(after[3] * after[5])


def test_a_price_typed_in_fills_the_gaps(books):
    study, changed = books
    assert row_of(changed["as run"][ESTIMATE], "Softening resin")[5:7] == ["no price"] * 2
    litres = row_of(changed["priced"][ESTIMATE], "Softening resin")
    assert litres[6] == pytest.approx(litres[3] * 25 * 3.2)
    total = row_of(changed["as run"][ESTIMATE], "One replacement of all media")
    assert "without softening resin" in total[7]
    assert "without" not in row_of(changed["priced"][ESTIMATE], "One replacement of all media")[7]
    value = row_of(changed["priced"][ESTIMATE], "Present value of the cost of 10 years")[6]
    assert value > 1e5
    assert study.value("quote.npv") is None


def test_what_a_year_costs_follows_the_lives(books):
    """Half the regenerations: the resin outlives year 4; its words wait for a new run and say so."""
    _, changed = books

    def media(name):
        row = next(
            r for r in changed[name][ESTIMATE].iter_rows() if str(r[0].value).startswith("4  ")
        )
        return [c.value for c in row if isinstance(c.value, int | float)]

    assert min(media("half")) < min(media("priced"))
    assert WORDS in words(changed["half"][ESTIMATE])
