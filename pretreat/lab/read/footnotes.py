"""What the lines beside a table say: the unit of all results, the basis of starred ones."""

import re

from pretreat.core.units.concentration import species_name
from pretreat.lab.read.names import NamedAnalyte, named_analyte
from pretreat.lab.read.unit_words import is_concentration

_GENERAL = re.compile(
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


_NOTE = re.compile(
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
        match = _NOTE.match(note.strip())
        species = species_name(match["species"]) if match else None
        if match is None or species is None:
            continue
        starred = match["mark"] and match["mark"] == named.starred
        about = match["name"].strip(" :=")
        if starred and not about:
            return species
        if about and named_analyte(about).key == named.key:
            return species
    return ""
