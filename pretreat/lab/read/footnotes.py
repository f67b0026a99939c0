"""What stands beside results: the unit of all of them, the basis of one."""

import re
from collections.abc import Collection, Mapping, Sequence

from pretreat.core.text import lazy
from pretreat.core.units.concentration import species_name
from pretreat.lab.read.names import NamedAnalyte, named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.unit_words import is_concentration
from pretreat.lab.read.wording import folded

_GENERAL = lazy(
    r"(?i)\b(?:results?|concentrations?|values?|units?|analys[ei]s|ergebnisse|resultados|résultats|"
    r"risultati)\b[^:=]*?(?:\bin\b|\ben\b|:|=)\s*(?P<unit>[^\s,;()]+(?: as \w+)?)"
)


def general_unit(notes: tuple[str, ...]) -> str:
    """Return the unit that a title gives to all results, such as "all results in mg/L".

    Parameters
    ----------
    notes : tuple of str
        Lines beside the table. [-]

    Returns
    -------
    str
        The unit, or an empty text. [-]
    """
    for note in notes:
        match = _GENERAL.search(note)
        if match is not None and is_concentration(match["unit"].rstrip(".")):
            return match["unit"].rstrip(".")
    return ""


_NOTE = lazy(
    r"^(?P<mark>[*†‡#]+|[¹²³])?\s*(?P<name>.*?)\s*(?:is|are)?\s*(?:reported|expressed|given|calculated)?\s*"
    r"\b(?:as|als|comme|como|come)\s+(?P<species>[A-Za-z][A-Za-z0-9₀-₉]*)\.?$",
    re.IGNORECASE,
)


def noted_basis(named: NamedAnalyte, notes: tuple[str, ...]) -> str:
    """Return the basis that a footnote gives to a starred name or to a named analyte.

    Parameters
    ----------
    named : NamedAnalyte
        What the name of the result says. [-]
    notes : tuple of str
        Lines beside the table. [-]

    Returns
    -------
    str
        Formula, or an empty text. [-]
    """
    for note in notes:
        species = species_name(note.split()[-1].removesuffix(".")) if note.strip() else None
        match = _NOTE.match(note.strip()) if species else None
        if match is None or species is None:
            continue
        starred = match["mark"] and match["mark"] == named.starred
        about = match["name"].strip(" :=")
        if starred and not about:
            return species
        if about and named_analyte(about).key == named.key:
            return species
    return ""


_BASIS = lazy(
    r"(?i)\(?(?:(?:expressed|reported|calculated|given)\s+)?(?:as|als|comme|como|come)\s+"
    r"(?P<species>[A-Za-z][A-Za-z0-9₀-₉]*)\)?"
)


def basis_beside(cells: Sequence[str]) -> str:
    """Return the basis that a cell of a row gives of its own, whatever heads it.

    Parameters
    ----------
    cells : sequence of str
        The row. [-]

    Returns
    -------
    str
        Such as "as N", or an empty text. [-]
    """
    found = (_BASIS.fullmatch(cell.strip()) for cell in cells if cell)
    species = (species_name(match["species"]) for match in found if match)
    return next((f"as {name}" for name in species if name), "")


def basis_of(headed: str, cells: Sequence[str], names: int) -> tuple[str, str]:
    """Return the basis that a row gives beside its result, and why that is doubtful."""
    beside = headed or basis_beside(cells)
    own = named_analyte(cells[names]).basis if beside and names < len(cells) else ""
    unlike = bool(own) and not headed and folded(beside) != folded(f"as {own}")
    return beside, f"its name says 'as {own}' and '{beside}' stands beside it" if unlike else ""


_NUMBER = lazy(r"[<>]?\s?\d*[.,]\d+|\d{3,}")


def number_for_mark(marks: str) -> str:
    """Return a doubt where the column of marks holds a number: the line may be cut wrongly."""
    return f"its column of marks holds '{marks}'" if marks and _NUMBER.fullmatch(marks) else ""


_STRAY = lazy(r"[<>≤≥]\s+\S", needs="<>≤≥")  # before a number that is no result, as "< 2" of a row


def stray_sign(
    cells: Sequence[str], own: Collection[int], loose: Collection[int], line: str
) -> str:
    """Return a doubt where the sign before a number that is no result may belong to a result.

    ``own`` are the columns of names and results, ``loose`` those of nothing that is used; in
    others the sign must stand apart from its number on the line.
    """
    for n, cell in enumerate(cells):
        if n in own or not _STRAY.match(cell):
            continue
        if n in loose or cell.replace(" ", "  ", 1) in line:
            return f"the sign of '{cell}' may belong to the number before it"
    return ""


def unit_of_limit(text: str, said: Mapping[str, str], unit: str) -> str:
    """Return a doubt where a non-detect has its limit from a column that may have another unit.

    A unit alone in a line below the headings may be that of the column of limits.

    Parameters
    ----------
    text : str
        The result as printed. [-]
    said : mapping
        What its row says. [-]
    unit : str
        The unit of the result. [-]

    Returns
    -------
    str
        The doubt, or an empty text. [-]
    """
    bare = said.get("limit", "") and not said.get("limit_unit", "")
    above = said.get("unit", "")
    if bare and unit and above and folded(above) != folded(unit) and has_no_number(text):
        return f"its limit may be in {above}, as printed above it"
    return ""


def has_no_number(text: str) -> bool:
    """Tell a non-detect printed without its limit, as "ND" is."""
    number = printed_number(text)
    return number.kind == "below" and number.number is None
