"""PDF of a study: the quote and the settings card, by the functions that the commands call."""

from importlib import import_module
from typing import Any

from pretreat.core.errors import PretreatError
from pretreat.core.results import Study

_WRITERS = {
    "quote": ("pretreat.report", "quote_pdf"),
    "card": ("pretreat.report", "card_pdf"),
}


def pdf_of(what: str, study: Study, **choices: Any) -> bytes:
    """Return a document of a study as PDF.

    Parameters
    ----------
    what : {"quote", "card"}
        Which document. [-]
    study : Study
        The study. [-]
    **choices
        ``units`` and ``date``. [-]

    Returns
    -------
    bytes
        The PDF. [-]

    Raises
    ------
    PretreatError
        If the study has nothing for it.
    """
    module, name = _WRITERS[what]
    write = getattr(import_module(module), name, None)
    if write is None:
        raise PretreatError(f"the {what} as PDF is not part of this version; take the workbook")
    content: bytes = write(study, **choices)
    return content
