"""PDF of a study: the quote and the settings card, by the functions that the commands call."""

import contextlib
import datetime
from collections.abc import Callable, Mapping
from importlib import import_module
from types import MappingProxyType
from typing import Literal

from pretreat.core.errors import PretreatError
from pretreat.core.results import Study

Units = Literal["si", "us"]
FONT_FOLDER = "pretreat_fonts_"  # prefix of the folder of letters, unpacked once a process
_HAND = "pretreat.report.hand"


def _quote(study: Study, units: Units, date: datetime.date | None) -> bytes:
    document, pdf = (import_module(f"{_HAND}.quote_{name}") for name in ("document", "pdf"))
    made = document.quote_document(study, us=units == "us", date=date)
    content: bytes = pdf.quote_bytes(made).content
    return content


def _card(study: Study, units: Units, date: datetime.date | None) -> bytes:
    content: bytes = import_module(f"{_HAND}.card_pdf").card_bytes(
        study, us=units == "us", day=date or datetime.date.today()
    )
    return content


WRITERS: Mapping[str, Callable[[Study, Units, datetime.date | None], bytes]] = MappingProxyType(
    {"quote": _quote, "card": _card}
)


def pdf_of(what: str, study: Study, units: Units, date: datetime.date | None) -> bytes:
    """Return a document of a study as PDF.

    Parameters
    ----------
    what : {"quote", "card"}
        Which document. [-]
    study : Study
        The study. [-]
    units : {"si", "us"}
        Units of the reader. [-]
    date : date or None
        Day printed; None is that of the site file on a quote, today's on a card. [-]

    Returns
    -------
    bytes
        The PDF. [-]

    Raises
    ------
    PretreatError
        If the study has nothing for it, or what writes it is not installed.
    """
    try:
        return WRITERS[what](study, units, date)
    except ModuleNotFoundError as problem:
        raise PretreatError(
            f"the {what} as PDF needs {problem.name}, which this installation has not; take the "
            "workbook, or print the page"
        ) from None


def unpack_letters() -> None:
    """Unpack the letters of the PDF, once, before tasks are fenced in."""
    with contextlib.suppress(ImportError):
        import_module(f"{_HAND}.quote_fonts").font_files()
