"""Options that several commands share."""

import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from pretreat.site.design import DesignBasis


class Units(StrEnum):
    """System of units shown; values in JSON are always in the unit of their key."""

    si = "si"
    us = "us"


def _fraction(value: float | None) -> float | None:
    if value is not None and not 0 <= value < 1:
        raise typer.BadParameter(
            f"{value:g} is not a fraction from 0 to below 1; write 0.65 for 65 %"
        )
    return value


def _recovery(value: float | None) -> float | None:
    if value is not None and not 0 <= value <= 0.95:
        raise typer.BadParameter(f"{value:g} is not a recovery from 0 to 0.95; write 0.65 for 65 %")
    return value


def _recoveries(values: list[float]) -> list[float]:
    for value in values:
        _recovery(value)
    return values


def _day(text: str | None) -> str | None:
    if text is not None:
        try:
            datetime.date.fromisoformat(text)
        except ValueError:
            raise typer.BadParameter(f"'{text}' is not a date; write 2031-05-14") from None
    return text


Analysis = Annotated[Path, typer.Argument(help="Lab report, CSV, TXT or XLSX.")]
SiteFile = Annotated[
    Path, typer.Argument(help="Site file, TOML, or the filled-in form of new, XLSX.")
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")]
UnitSystem = Annotated[Units, typer.Option("--units", help="Units shown.")]
SiteUnits = Annotated[
    Units | None,
    typer.Option("--units", help="Units shown; as [site] units has it if left out, else si."),
]
Sample = Annotated[str | None, typer.Option("--sample", help="Which sample of the report.")]
Sheet = Annotated[str | None, typer.Option("--sheet", help="Which sheet of the workbook.")]
Encoding = Annotated[str | None, typer.Option("--encoding", help="Encoding of a text file.")]
Decimal = Annotated[
    str | None, typer.Option("--decimal", help="Decimal mark of the report: '.' or ','.")
]
MaybeRecovery = Annotated[
    float | None,
    typer.Option("--recovery", callback=_recovery, help="Product / feed, as in 0.65."),
]
Flow = Annotated[str | None, typer.Option(help="Measured flow with its unit, as '1.1 m3/h'.")]
LimitFile = Annotated[
    Path | None, typer.Option("--limits", help="Own scaling limits, CSV (columns in the README).")
]
KChartFile = Annotated[
    Path | None, typer.Option("--k-chart", help="Own K chart of the S&DSI, CSV.")
]
Recoveries = Annotated[
    list[float],
    typer.Option("--recovery", callback=_recoveries, help="Product / feed; may be repeated."),
]
Temperature = Annotated[
    float | None,
    typer.Option("--temperature", min=0.0, max=60.0, help="Water temperature of the plant, °C."),
]
SaltPassage = Annotated[
    float, typer.Option("--salt-passage", callback=_fraction, help="Permeate / feed of every ion.")
]
MOST_DRAWS = 65_536


def _draws(value: int) -> int:
    if value and (not 0 < value <= MOST_DRAWS or value & (value - 1)):
        raise typer.BadParameter(
            f"{value} draws: write a power of two up to {MOST_DRAWS:,}, such as 1024, or 0 for none"
        )
    return value


DrawCount = Annotated[
    int,
    typer.Option(
        "--draws", callback=_draws, help="Draws of what is uncertain, a power of two; 0 for none."
    ),
]
Inhibitor = Annotated[bool, typer.Option("--inhibitor", help="Limits with an inhibitor in force.")]


def units_of(asked: Units | None, design: "DesignBasis") -> Units:
    """Return the units asked for, else those that the site file keeps, else SI."""
    return asked or Units(design.site.units or Units.si)


Output = Annotated[Path | None, typer.Option("--output", "-o", help="Where to write.")]
PriceList = Annotated[
    Path | None,
    typer.Option(
        "--prices", help="Price list, TOML with [prices] and [packages]; a site's own win."
    ),
]
Day = Annotated[
    str | None, typer.Option("--date", callback=_day, help="Date of the report, as 2031-05-14.")
]


def day(text: str | None) -> datetime.date:
    """Return the date given, or today's."""
    return datetime.date.fromisoformat(text) if text else datetime.date.today()
