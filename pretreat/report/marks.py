"""Which cells of the workbook are alive: inputs that may be changed and results that follow."""

from collections.abc import Mapping
from dataclasses import dataclass

from pretreat.basis import Figure
from pretreat.report.formulas import cell_formula, keys_in
from pretreat.report.pages import Book, Place
from pretreat.results import Study

_GIVEN = ("measured", "chosen", "assumed")
INPUT = "input"
INPUT_NEW_RUN = "input, new run"
LIVE = "live"
LIVE_BLANK = "live, none now"


@dataclass(frozen=True, slots=True)
class Marks:
    """Formulas that are written, by key, and the mark of each figure that has one."""

    formulas: Mapping[str, str]
    marks: Mapping[str, str]
    numbers: Mapping[str, Place]

    def is_input(self, key: str) -> bool:
        """Tell whether a figure is an input cell."""
        return self.marks.get(key, "").startswith(INPUT)


def marks_of(study: Study, book: Book) -> Marks:
    """Find the formulas that can be written and the inputs they rest on.

    Parameters
    ----------
    study : Study
        The study. [-]
    book : Book
        The cells of its figures. [-]

    Returns
    -------
    Marks
        Formulas and marks by key. [-]
    """
    numbers = {k: p for k, p in book.places.items() if study.number(k) is not None}
    usable = {k: p for k, p in book.places.items() if k in numbers or _may_be_blank(study[k])}
    formulas: dict[str, str] = {}
    for key, place in book.places.items():
        figure = study[key]
        if figure.formula and (figure.value is not None or _may_be_blank(figure)):
            text = cell_formula(figure.formula, usable, place.sheet)
            if text is not None:
                formulas[key] = text
    used = {k for key in formulas for k in keys_in(study[key].formula or "")}
    inputs = {k for k in used if study[k].origin in _GIVEN and k not in formulas}
    frozen = _feeds_a_value(study, formulas)
    marks = {k: LIVE if study[k].value is not None else LIVE_BLANK for k in formulas} | {
        k: INPUT_NEW_RUN if k in frozen else INPUT for k in inputs
    }
    return Marks(formulas, marks, numbers)


def _may_be_blank(figure: Figure) -> bool:
    """Tell whether a formula provides for having no value now and one after a change."""
    return figure.formula is not None and '""' in figure.formula and figure.value is None


def _feeds_a_value(study: Study, formulas: Mapping[str, str]) -> set[str]:
    """Return the keys on which a number without a formula depends, directly or not."""
    pending = [
        key
        for key, figure in study.figures.items()
        if figure.origin == "calculated" and key not in formulas and figure.value is not None
    ]
    found: set[str] = set()
    while pending:
        for source in _sources(study.figures.get(pending.pop())):
            if source not in found:
                found.add(source)
                pending.append(source)
    return found


def _sources(figure: Figure | None) -> tuple[str, ...]:
    if figure is None:
        return ()
    return (*figure.inputs, *keys_in(figure.formula or ""))
