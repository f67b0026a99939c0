"""Paper, margins, footers, repeated rows and page breaks."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, Literal

from msgspec import Struct

from pretreat.report.workbook.pages import (
    LABEL_COLUMN,
    PRINT_LAST,
    CasesPart,
    ChartPart,
    FigurePart,
    Page,
    TablePart,
)
from pretreat.report.workbook.styles import LINE_HEIGHT

Paper = Literal["a4", "letter"]
MARK_WIDTH = 11.5  # column widths, in digits of the standard font
LABEL_WIDTH = 36.0
GRID_WIDTH = 11.4
UNIT_WIDTH = 14.5
SOURCES_WIDTH = 18.0
METHOD_WIDTH = 70.0
_POINTS_PER_INCH = 72.0
_MARGINS = {"left": 0.4, "right": 0.4, "top": 0.3, "bottom": 0.5}  # inch
_CODE = {"letter": 1, "a4": 9}
_LONG_SIDE = {"letter": 11.0, "a4": 11.69}  # inch
_SHORT_SIDE = {"letter": 8.5, "a4": 8.27}
ROW_POINTS = LINE_HEIGHT
_POINTS_PER_PIXEL, _DIGIT_PIXELS, _PADDING_PIXELS = 0.75, 7, 5
SUMMARY_ROW_POINTS = LINE_HEIGHT
_PAGE_DIGITS = MARK_WIDTH + LABEL_WIDTH + UNIT_WIDTH + GRID_WIDTH * (PRINT_LAST - 3) + SOURCES_WIDTH
_REPEATED_POINTS = 35.0  # title and heads of the columns
_SAFE = 0.985  # spreadsheets differ a little in the height of a row
_USUAL_HEIGHTS: Mapping[int, float] = MappingProxyType({})
_SITE_CHARS = 80
_FOOT_CHARS = 120
_AS_IT_IS = {"scale_with_doc": False}  # a foot shrunk with its page would be too small to read
# A part up to this share of a page is not cut.
_WHOLE_UP_TO = {FigurePart: 0.15, CasesPart: 0.3, TablePart: 0.4, ChartPart: 1.0}
_LEAST_SCALE = 0.835  # 9 points are then 7.5 on paper
_NEARLY_EMPTY = 0.4  # of a page: the last one then takes a part of the page before
_LEFT_AT_LEAST = 0.3  # of that page
_LEAST_ROWS = 4  # of a part that begins at the foot of a page


class PrintRun(Struct, frozen=True):
    """What every printed page shows and is printed on."""

    paper: Paper
    site: str
    day: str


def set_up(
    sheet: Any, print_run: PrintRun, last: int, head_row: int, *, landscape: bool = True
) -> None:
    """Set paper, margins, footer, repeated and frozen rows of a sheet.

    Parameters
    ----------
    sheet : object
        The worksheet. [-]
    print_run : PrintRun
        Paper, site and day. [-]
    last : int
        Last column to print, from zero. [-]
    head_row : int
        Row of the column heads, from zero. [-]
    landscape : bool
        True for a wide sheet. [-]
    """
    sheet.set_paper(_CODE[print_run.paper])
    if landscape:
        sheet.set_landscape()
    sheet.hide_gridlines(2)
    sheet.set_margins(**_MARGINS)
    sheet.fit_to_pages(1, 0)
    sheet.print_area(0, 0, max(sheet.dim_rowmax or 0, 1), last)
    sheet.freeze_panes(head_row + 1, 0)
    sheet.repeat_rows(head_row)
    site = print_run.site[:_SITE_CHARS].replace("&", "&&")
    sheet.set_footer(f"&L&9 {site}&C&9&A&R&9 {print_run.day}   page &P of &N", _AS_IT_IS)


def set_up_one_page(sheet: Any, print_run: PrintRun, last: int) -> None:
    """Set a sheet up as one upright page with narrow rows.

    Parameters
    ----------
    sheet : object
        The worksheet. [-]
    print_run : PrintRun
        Paper, site and day. [-]
    last : int
        Last column in use, from zero. [-]
    """
    sheet.set_default_row(SUMMARY_ROW_POINTS)
    set_up(sheet, print_run, last, 0, landscape=False)
    sheet.center_horizontally()
    sheet.fit_to_pages(1, 1)
    site = print_run.site[:_SITE_CHARS].replace("&", "&&")
    sheet.set_footer(f"&L&9 {site}&C&9&A&R&9 {print_run.day}", _AS_IT_IS)


def set_foot(sheet: Any, left: str, pages: str) -> None:
    """Set the foot of a document for a customer: no day of the run stands on it.

    Parameters
    ----------
    sheet : object
        The worksheet. [-]
    left : str
        Who sells, and which document it is. [-]
    pages : str
        Page and pages, with the spreadsheet's own signs. [-]
    """
    said = left[:_FOOT_CHARS].replace("&", "&&")
    sheet.set_footer(f"&L&9 {said}&R&9 {pages}", _AS_IT_IS)


def break_if_long(sheet: Any, print_run: PrintRun, rows: int, at: int) -> None:
    """Let a sheet of one upright page go on over a second where its letters would be too small.

    Parameters
    ----------
    sheet : object
        The worksheet, set up as one page. [-]
    print_run : PrintRun
        Paper. [-]
    rows : int
        Rows in use. [-]
    at : int
        Row where the second page begins, from zero. [-]
    """
    sizes = getattr(sheet, "row_sizes", {})
    usual = SUMMARY_ROW_POINTS / _POINTS_PER_PIXEL
    pixels = sum(sizes[row][0] if row in sizes else usual for row in range(rows))
    margins = _MARGINS["top"] + _MARGINS["bottom"]
    room = (_LONG_SIDE[print_run.paper] - margins) * _POINTS_PER_INCH
    if pixels * _POINTS_PER_PIXEL * _LEAST_SCALE > room:
        sheet.fit_to_pages(1, 0)
        sheet.set_h_pagebreaks([at])


def set_up_grid(sheet: Any, print_run: PrintRun, page: Page) -> None:
    """Print what belongs on paper, charts included and never cut by a page break.

    Parameters
    ----------
    sheet : object
        The worksheet. [-]
    print_run : PrintRun
        Paper, site and day. [-]
    page : Page
        The page. [-]
    """
    sheet.print_area(0, 0, max(page.printed - 1, 1), PRINT_LAST)
    if page.keys:
        sheet.freeze_panes(2, LABEL_COLUMN + 1)
        sheet.repeat_rows(0, 1)
    heights = {
        row: pixels * _POINTS_PER_PIXEL
        for row, (pixels, _) in getattr(sheet, "row_sizes", {}).items()
    }
    total = sum(heights.get(row, ROW_POINTS) for row in range(page.printed))
    if _points_on_paper(print_run.paper) < total <= most_on_one(print_run.paper):
        sheet.fit_to_pages(1, 1)  # a few rows more than fit: a little smaller, not on a page alone
        return
    sheet.set_h_pagebreaks(page_breaks(page, print_run.paper, heights))


def page_breaks(
    page: Page, paper: Paper, heights: Mapping[int, float] = _USUAL_HEIGHTS
) -> list[int]:
    """Return the rows at which a new page starts, so that no part that fits a page is cut.

    Parameters
    ----------
    page : Page
        The page. [-]
    paper : str
        "a4" or "letter". [-]
    heights : mapping of int to float
        Heights of the rows that are not of the usual height. [points]

    Returns
    -------
    list of int
        Rows from zero. [-]
    """
    room = _points_on_paper(paper)
    below = [0.0]
    for row in range(page.bottom):
        below.append(below[-1] + heights.get(row, ROW_POINTS))
    breaks: list[int] = []
    start = 0
    parts = page.parts[: page.on_paper]
    for part, end in zip(parts, [*(p.top for p in parts[1:]), page.printed], strict=False):
        whole = below[end] - below[part.top] < room * _WHOLE_UP_TO[type(part)]
        least = below[min(part.top + _LEAST_ROWS, end)] - below[start]
        cut = below[end] - below[start] > room
        if part.top > start and ((cut and whole) or least > room):
            breaks.append(part.top)
            start = part.top
        while below[end] - below[start] > room:
            over = next(r for r in range(start, end) if below[r + 1] - below[start] > room)
            start = max(over, start + 1)  # a row higher than a page has one of its own
            breaks.append(start)
    return _with_a_fuller_end(breaks, [part.top for part in parts], (below, page.printed), room)


def _with_a_fuller_end(
    breaks: list[int], tops: Sequence[int], rows: tuple[list[float], int], room: float
) -> list[int]:
    """Let a last page that is nearly empty begin with a part before, where that fits it."""
    below, end = rows
    first = breaks[-2] if len(breaks) > 1 else 0
    if not breaks or below[end] - below[breaks[-1]] > _NEARLY_EMPTY * room:
        return breaks
    for top in sorted((top for top in tops if first < top < breaks[-1]), reverse=True):
        last, left = below[end] - below[top], below[top] - below[first]
        if _NEARLY_EMPTY * room < last <= room and left > _LEFT_AT_LEAST * room:
            return [*breaks[:-1], top]
    return breaks


def paper_scale(paper: Paper) -> float:
    """Return the scale at which a sheet of figures fits a landscape page across.

    Parameters
    ----------
    paper : str
        "a4" or "letter". [-]

    Returns
    -------
    float
        At most 1. [-]
    """
    padding = _PADDING_PIXELS * (PRINT_LAST + 1)
    width_points = _POINTS_PER_PIXEL * (_PAGE_DIGITS * _DIGIT_PIXELS + padding)
    wide = (_LONG_SIDE[paper] - _MARGINS["left"] - _MARGINS["right"]) * _POINTS_PER_INCH
    return min(1.0, wide / width_points)


def most_on_one(paper: Paper) -> float:
    """Return the height of the rows that fit one landscape page at the smallest print.

    Parameters
    ----------
    paper : str
        "a4" or "letter". [-]

    Returns
    -------
    float
        Height. [points]
    """
    return _points_on_paper(paper) * paper_scale(paper) / _LEAST_SCALE


def _points_on_paper(paper: Paper) -> float:
    """Return the height of the rows that fit a landscape page, less the repeated rows."""
    high = (_SHORT_SIDE[paper] - _MARGINS["top"] - _MARGINS["bottom"]) * _POINTS_PER_INCH
    return _SAFE * high / paper_scale(paper) - _REPEATED_POINTS
