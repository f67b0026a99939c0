"""Files a study is written to: workbook, CSV tables and pictures."""

import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from msgspec import Struct

from pretreat.cli.options import Units
from pretreat.core.doors.way_out import refuse_target

if TYPE_CHECKING:
    from pretreat.core.results import Study


class PictureFormat(StrEnum):
    """Format of the pictures."""

    png = "png"
    svg = "svg"


CsvFolder = Annotated[
    Path | None,
    typer.Option("--csv", metavar="DIR", help="Also write every number as CSV tables there."),
]
FiguresFolder = Annotated[
    Path | None,
    typer.Option("--figures", metavar="DIR", help="Also draw the charts as pictures there."),
]
FiguresFormat = Annotated[
    PictureFormat, typer.Option("--figures-format", help="Format of the pictures.")
]


CardFile = Annotated[
    Path | None,
    typer.Option("--card", help="Also write settings card and record sheet as a PDF there."),
]


class Files(Struct, frozen=True):
    """Where a study goes; None for what is not asked for."""

    workbook: Path | None
    csv: Path | None = None
    figures: Path | None = None
    picture_format: PictureFormat = PictureFormat.png
    card: Path | None = None
    logo: Path | None = None  # at the head of the quote


def write_files(study: "Study", files: Files, units: Units, date: datetime.date) -> list[str]:
    """Write the files asked for; return one line of text for each kind."""
    if files.workbook is not None:
        refuse_target(files.workbook)  # before anything is written
    lines = []
    if files.figures is not None:
        from pretreat.report import write_figures

        pictures = write_figures(study, files.figures, files.picture_format.value)
        lines.append(f"Pictures: {len(pictures)} in {files.figures}")
    if files.csv is not None:
        from pretreat.report import write_csv

        tables = write_csv(study, files.csv)
        lines.append(f"CSV tables: {len(tables)} in {files.csv}")
    if files.card is not None:
        from pretreat.report.hand.card_pdf import write_card

        made = write_card(study, files.card, us=units is Units.us, day=date)
        lines.append(f"Card: {made}")
    if files.workbook is not None:
        from pretreat.report import write_workbook
        from pretreat.report.hand.logo import read_logo

        logo = None if files.logo is None else read_logo(files.logo)
        target = write_workbook(study, files.workbook, units=units.value, date=date, logo=logo)
        lines.append(f"Workbook: {target}")
    return lines
