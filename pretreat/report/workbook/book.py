"""Study -> workbook. Nothing is calculated here; numbers, formulas and words are placed."""

import datetime
import io
from copy import deepcopy
from pathlib import Path
from typing import Literal

from pretreat.core.results import Study
from pretreat.report.files import refuse_if_open, replace_file
from pretreat.report.hand.logo import Logo
from pretreat.report.hand.quote_sentences import OFFER
from pretreat.report.hand.quote_sheet import LAST as QUOTE_LAST
from pretreat.report.hand.quote_sheet import write_quote
from pretreat.report.hand.record_sheet import add_record_sheet
from pretreat.report.hand.settings_card import add_settings_card
from pretreat.report.workbook.back_pages import HEAD_ROW, write_basis, write_cautions, write_sources
from pretreat.report.workbook.bench import Bench, flags_by_figure
from pretreat.report.workbook.estimate.page import write_estimate
from pretreat.report.workbook.estimate.years import LAST as ESTIMATE_LAST
from pretreat.report.workbook.formulas import reference
from pretreat.report.workbook.front import LAST as FRONT_LAST
from pretreat.report.workbook.front import write_front
from pretreat.report.workbook.grid import write_page
from pretreat.report.workbook.layout import (
    BASIS,
    CAUTIONS,
    ESTIMATE,
    QUOTE,
    REST,
    RESULTS,
    SOURCES,
    SUMMARY,
)
from pretreat.report.workbook.links import LINES
from pretreat.report.workbook.marks import marks_of
from pretreat.report.workbook.pages import PRINT_LAST, Page, arrange
from pretreat.report.workbook.paper import (
    Paper,
    PrintRun,
    break_if_long,
    set_foot,
    set_up,
    set_up_grid,
    set_up_one_page,
)
from pretreat.report.workbook.stale import define_changed
from pretreat.report.workbook.styles import BODY_SIZE, FONT, styles_of
from pretreat.report.workbook.summary import LAST, site_name, write_summary

Units = Literal["si", "us"]

_NO_DATE = datetime.datetime(2000, 1, 1)  # properties of a file without a date
_OPTIONS = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "default_format_properties": {"font_name": FONT, "font_size": BODY_SIZE},
}
_AT_THE_BACK = {REST}


def write_workbook(
    study: Study,
    path: str | Path,
    *,
    units: Units = "si",
    date: datetime.date | None = None,
    paper: Paper | None = None,
    logo: Logo | None = None,
) -> Path:
    """Write a study into a workbook; the file changes whole or not at all.

    The same study, units and date give the same bytes.

    Parameters
    ----------
    study : Study
        The study. [-]
    path : str or Path
        Where to; the folder is made if it is not there. [-]
    units : str
        "si", or "us" to set US customary values beside. [-]
    date : datetime.date, optional
        Date printed in the footer. [-]
    paper : str, optional
        "a4" or "letter"; by default A4, and Letter for US units. [-]
    logo : Logo, optional
        Picture at the head of the quote. [-]

    Returns
    -------
    Path
        The file. [-]

    Raises
    ------
    PretreatError
        If the file is open elsewhere or cannot be written.
    """
    target = Path(path)
    refuse_if_open(target)
    content = workbook_bytes(study, units=units, date=date, paper=paper, logo=logo)
    return replace_file(target, content)


def workbook_bytes(
    study: Study,
    *,
    units: Units = "si",
    date: datetime.date | None = None,
    paper: Paper | None = None,
    logo: Logo | None = None,
) -> bytes:
    """Return the workbook as bytes.

    Parameters
    ----------
    study : Study
        The study. [-]
    units : str
        "si" or "us". [-]
    date : datetime.date, optional
        Date printed in the footer. [-]
    paper : str, optional
        "a4" or "letter". [-]
    logo : Logo, optional
        Picture at the head of the quote. [-]

    Returns
    -------
    bytes
        An .xlsx file. [-]
    """
    from pretreat.report.xlsx import QuickWorkbook

    us = units == "us"
    memory = io.BytesIO()
    workbook = QuickWorkbook(memory, deepcopy(_OPTIONS))  # the library writes into it
    book = arrange(study, us=us)
    marks, styles = marks_of(study, book), styles_of(workbook)
    bench = Bench(study, book, marks, workbook, styles, us, flags_by_figure(study))
    day = "" if date is None else date.isoformat()
    created = _NO_DATE if date is None else datetime.datetime.combine(date, datetime.time())
    author = study.value("site.prepared_by")
    properties = {"title": site_name(bench), "created": created}
    properties |= {"author": author} if isinstance(author, str) else {}
    workbook.set_properties(properties)
    _fill(bench, PrintRun(paper or ("letter" if us else "a4"), site_name(bench), day), logo)
    _define_names(bench)
    define_changed(bench)
    workbook.close()
    return memory.getvalue()


def _fill(bench: Bench, print_run: PrintRun, logo: Logo | None) -> None:
    front = bench.workbook.add_worksheet(SUMMARY)
    pages = bench.book.pages
    add_settings_card(bench, print_run)
    add_record_sheet(bench, print_run)
    sheet = bench.workbook.add_worksheet(CAUTIONS)
    last, printed = write_cautions(bench, sheet)
    set_up(sheet, print_run, last, HEAD_ROW)
    sheet.print_area(0, 0, printed, last)
    if LINES in bench.book.tables:
        if OFFER in bench.study.series:
            sheet = bench.workbook.add_worksheet(QUOTE)
            quoted = write_quote(bench, sheet, print_run.day, logo)
            set_up_one_page(sheet, print_run, QUOTE_LAST)
            set_foot(sheet, *quoted.foot)
            break_if_long(sheet, print_run, quoted.count, quoted.under_totals)
        sheet = bench.workbook.add_worksheet(ESTIMATE)
        rows, costs = write_estimate(bench, sheet, print_run.day)
        set_up_one_page(sheet, print_run, ESTIMATE_LAST)
        break_if_long(sheet, print_run, rows, costs)
    sheet = bench.workbook.add_worksheet(RESULTS)
    head, end = write_summary(bench, sheet, print_run.day)
    set_up_one_page(sheet, print_run, LAST)
    sheet.print_area(head, 0, end, LAST)
    for page in (p for p in pages if p.sheet.name not in _AT_THE_BACK):
        _add_page(bench, page, print_run)
    for page in (p for p in pages if p.sheet.name in _AT_THE_BACK):
        _add_page(bench, page, print_run)
    sheet = bench.workbook.add_worksheet(BASIS)
    last, unchecked = write_basis(bench, sheet)
    set_up(sheet, print_run, last, HEAD_ROW, landscape=False)
    sheet.print_area(0, 0, max(unchecked, HEAD_ROW + 1), last)
    sheet = bench.workbook.add_worksheet(SOURCES)
    set_up(sheet, print_run, write_sources(bench, sheet), 0)
    others = [s.get_name() for s in bench.workbook.worksheets()][1:]
    write_front(bench, front, print_run.day, others)
    set_up_one_page(front, print_run, FRONT_LAST)


def _add_page(bench: Bench, page: Page, print_run: PrintRun) -> None:
    sheet = bench.workbook.add_worksheet(page.sheet.name)
    write_page(bench, page, sheet)
    set_up(sheet, print_run, PRINT_LAST, 0)
    set_up_grid(sheet, print_run, page)
    # Without a password: it keeps a slip of the hand from a formula, not a reader from the sheet.
    sheet.protect("", {"format_columns": True, "format_rows": True, "format_cells": True})


def _define_names(bench: Bench) -> None:
    """Name the cell of each figure after its key; it is the one that formulas use."""
    for key, place in bench.book.places.items():
        bench.workbook.define_name(key.replace(".", "_"), "=" + reference(place, ""))
