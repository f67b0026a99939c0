"""Which cells of the workbook are alive: inputs that may be changed and results that follow."""

from collections.abc import Mapping

from msgspec import Struct

from pretreat.core.basis import Figure
from pretreat.core.results import Study
from pretreat.report.workbook.formulas import cell_formula, keys_in
from pretreat.report.workbook.pages import Book, Place

_GIVEN = ("measured", "chosen", "assumed")
INPUT = "input"
INPUT_NEW_RUN = "input, new run"
LIVE = "live"
LIVE_BLANK = "live, none now"
NO_PRICE = "price_missing"  # code of a figure that waits for a price
NONE_NOW = "none now"  # what a result shows that has no value after a change


class Marks(Struct, frozen=True):
    """Formulas that are written, by key, and the mark of each figure that has one."""

    formulas: Mapping[str, str]
    marks: Mapping[str, str]
    numbers: Mapping[str, Place]
    stale_by: Mapping[str, frozenset[str]]  # inputs that a result does not follow, by its key
    names: Mapping[frozenset[str], str]  # of the formula that tells whether one was changed

    def is_input(self, key: str) -> bool:
        """Tell whether a figure is an input cell."""
        return self.marks.get(key, "").startswith(INPUT)

    def stale_name(self, key: str) -> str:
        """Return the name of the formula that is true once a result is out of date, or ""."""
        return self.names.get(self.stale_by.get(key, frozenset()), "")


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
    usable = {
        k: p
        for k, p in book.places.items()
        if k in numbers or _may_be_blank(study[k]) or is_blank_input(study[k])
    }
    formulas: dict[str, str] = {}
    for key, place in book.places.items():
        figure = study[key]
        if figure.formula and (figure.value is not None or _may_be_blank(figure)):
            text = cell_formula(figure.formula, usable, place.sheet)
            if text is not None:
                formulas[key] = text
    formulas = _blank_safe(study, formulas)
    used = {k for key in formulas for k in keys_in(study[key].formula or "")}
    inputs = {k for k in used if study[k].origin in _GIVEN and k not in formulas}
    frozen = _feeds_a_value(study, formulas)
    marks = {k: LIVE if study[k].value is not None else LIVE_BLANK for k in formulas} | {
        k: INPUT_NEW_RUN if k in frozen else INPUT for k in inputs
    }
    stale = _stale_by(study, formulas, frozenset(inputs))
    sets = dict.fromkeys(stale.values())
    names = {found: f"stale_{i}" for i, found in enumerate(sets, start=1)}
    return Marks(formulas, marks, numbers, stale, names)


def _may_be_blank(figure: Figure) -> bool:
    """Tell whether a formula provides for having no value now and one after a change."""
    return figure.formula is not None and '""' in figure.formula and figure.value is None


def is_blank_input(figure: Figure) -> bool:
    """Tell whether a figure is a price that was not given and may be typed in."""
    return figure.formula is None and figure.value is None and NO_PRICE in figure.flags


def _blank_safe(study: Study, formulas: Mapping[str, str]) -> dict[str, str]:
    """Let a result say that it has no value where one that it rests on has none."""
    blank = {key for key in formulas if '""' in (study[key].formula or "")}
    pending = True
    while pending:
        more = {k for k in formulas if k not in blank and blank & set(_sources_of(study, k))}
        blank |= more
        pending = bool(more)
    return {
        key: f'=IFERROR({text[1:]},"{NONE_NOW}")'
        if key in blank and not _is_text(study[key])
        else text
        for key, text in formulas.items()
    }


def _sources_of(study: Study, key: str) -> tuple[str, ...]:
    return keys_in(study[key].formula or "")


def _is_text(figure: Figure) -> bool:
    return isinstance(figure.value, str)


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


def _stale_by(
    study: Study, formulas: Mapping[str, str], inputs: frozenset[str]
) -> dict[str, frozenset[str]]:
    """Return for each result the input cells whose change it does not show."""
    behind: dict[str, frozenset[str]] = {}
    unseen: dict[str, frozenset[str]] = {}

    def all_behind(key: str) -> frozenset[str]:
        """Return every input cell that a figure rests on, by whatever way."""
        if key not in behind:
            own = frozenset({key} if key in inputs else ())
            behind[key] = own  # ends a circle
            if key not in inputs or study[key].origin == "assumed":
                found = (all_behind(k) for k in _sources(study.figures.get(key)))
                behind[key] = own.union(*found)
        return behind[key]

    def not_seen(key: str) -> frozenset[str]:
        """Return the input cells that a figure rests on and does not follow."""
        if key not in formulas:  # an input that was assumed from others does not follow them
            return all_behind(key) - {key} if key in inputs else all_behind(key)
        if key not in unseen:
            unseen[key] = frozenset()
            unseen[key] = frozenset().union(*(not_seen(k) for k in _sources_of(study, key)))
        return unseen[key]

    found = {key: not_seen(key) for key in study.figures}
    return {key: keys for key, keys in found.items() if keys}
