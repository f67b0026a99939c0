"""Names of analytes, words and units in ten languages: what a heading or a first cell means."""

import re
import unicodedata
from collections.abc import Iterator
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.text import lazy
from pretreat.core.units.concentration import CHARGE, species_name
from pretreat.lab.read.unit_words import is_unit, plain_signs
from pretreat.lab.read.wording import aliases, folded, folded_all, words


class NamedAnalyte(Struct, frozen=True):
    """What a printed name says: which analyte, and the basis, fraction and unit inside it."""

    key: str = ""
    basis: str = ""
    fraction: str = ""
    measured_in: str = ""
    unit: str = ""
    at_c: float | None = None  # temperature in the name, as in "pH (25 °C)"
    starred: str = ""
    by_symbol: bool = False  # the word is not known, its symbol is


@lru_cache(maxsize=1)
def _aliases() -> dict[str, tuple[str, str]]:
    """Return folded alias to key and basis; the first row of a name wins."""
    rows = [row for row in aliases() if row[1] == "analyte"]
    bare = folded_all([alias for _, _, alias, _ in rows])
    pairs = zip(reversed(bare), reversed(rows), strict=True)
    return {fold: (key, basis) for fold, (key, _, _, basis) in pairs}


@lru_cache(maxsize=1)
def _exact_aliases() -> dict[str, tuple[str, str]]:
    """Return the alias as written to key and basis: "Ce" is cerium, "CE" a conductivity."""
    rows = reversed(aliases())
    return {alias: (key, basis) for key, kind, alias, basis in rows if kind == "analyte"}


_AS_BASIS = lazy(
    r"[\s,(\[-]*\b(?:expressed|reported|calculated|exprim[a-zé]*|ausgedrückt|berechnet|espress[oi])?\s*"
    r"(?:as|als|comme|como|come|jako|som|ca|mint|по|ως|en|in)\s+"
    rf"(?P<species>[A-Za-z][A-Za-z0-9₀-₉]*[⁰-⁹¹²³]*[⁺⁻]*{CHARGE})\s*[\])]?$",
    re.IGNORECASE,
)
_NITROGEN = lazy(r"^(?P<base>.+?)[\s-]+(?P<species>N|P|Si|S)$")
_SULFUR = lazy(r"^.+[\s-]S$")  # "Sulfate-S" is not the plural of "Sulfate"
_IN_UNIT = lazy(r"^(?:en|in|im|w)\s+(?=\S+/)", re.IGNORECASE, needs="/")
_PREPOSITION = lazy(r"\s+(?:in|en|em|w|im)$", re.IGNORECASE)
_OF_SPECIES = lazy(r"\s+(?:de|di|do|von|of)\s+(?=[A-Z][A-Za-z]*\d)")
_EXPRESSED = lazy(r"\s+(?:cinsinden|olarak)$", re.IGNORECASE)
_UNDERSCORED = lazy(
    r"^(?P<base>.+?)_(?P<unit>mg|ug|g|meq|mmol|umol|us|ms)_?(?P<volume>l|cm|m)"
    r"(?:_(?:as_)?(?P<species>\w+))?$",
    re.IGNORECASE,
    needs="_",
)
_AT_TEMPERATURE = lazy(
    r"[\s,(]*(?:@|at|a|à|bei|przy|bij|w|vid|ved|la|při|pri|при|στους|di|dried at|dried|"
    r"filt\w* at)?\s*"
    r"(?P<degrees>20|25|103|105|110|180)\s*[°º˚]?\s*"
    r"(?:deg(?:rees)?\.?\s*)?C(?:elsius)?\b\)?",
    re.IGNORECASE,
    needs="cC",
)
_METHOD = lazy(
    r"(?i)^(?:(?:icp|epa|sm|iso|din|en|ic|aas|titr\w*|calc|calcul\w*|c[áa]lculo|method\w*|by|cas|"
    r"est|estim\w*|phot\w*)\b|\d{3,}|"
    r"[\d.,]+\s*[x×*]|(?:NO|NH|SO|HCO|PO|SIO)$|"
    r"[a-z]{3,9}[ -]\d{4,5}\b)"  # a word and a number of a method
)
SYMBOL = r"[A-Z][a-z]?|(?:HCO|CO|SO|NO|NH|PO|SiO)\d"
_LAST_PART = lazy(r"(?:\((?P<part>[^()]+)\)|,\s*(?P<tail>[^,()]+))\s*$")
_STARS = lazy(r"\s*([*†‡#]+)$", needs="*†‡#")
_DEGREES = lazy(
    r"^(?:temp(?:erature)?_?|t(?:emp)?\.?(?:[\s_]*[\[(][\s°º]*|[\s_]*[°º]\s*|[\s_]+))(?P<degrees>[cf])[\])]?$",
    re.IGNORECASE,
)
_DEGREES_BEHIND = lazy(
    r"(?P<name>.{3,60}?)(?:\s*[\[(]\s*(?P<degrees>[CF])\s*[\])]|(?:\s*,\s*|\s+)(?P<bare>[CF]))$"
)


@lru_cache(maxsize=20000)
def named_analyte(text: str) -> NamedAnalyte:
    """Read a printed name; the key stays empty where it is not known in full.

    Parameters
    ----------
    text : str
        Such as "Alkalinity, bicarbonate (as CaCO3)" or "Fe(tot), mg/L". [-]

    Returns
    -------
    NamedAnalyte
        Key, basis, fraction, field or lab, unit. [-]
    """
    clean = re.sub(r"\s+", " ", _plain_name(text)).strip(" :;\t")
    if not clean or len(clean) > 120 or _CELLS.search(clean):
        return NamedAnalyte()
    starred = _STARS.search(clean)
    if starred:
        inner = named_analyte(clean[: starred.start()])
        return replace(inner, starred=starred.group(1))
    degrees = _DEGREES.match(clean)
    if degrees:
        return NamedAnalyte("temperature", unit=degrees["degrees"].upper())
    letter = _DEGREES_BEHIND.match(clean)
    if letter and named_analyte(letter["name"]).key == "temperature":
        return replace(named_analyte(letter["name"]), unit=letter["degrees"] or letter["bare"])
    found = (None if _SULFUR.match(clean) else _lookup(clean)) or _in_parts(clean)
    found = found if found.key else _without_note(clean) or found
    return found if found.key or clean.isascii() else _of_second_script(clean) or found


# The number of a footnote in brackets; behind a metal of several valences it may be that.
_BRACKET_NOTE = lazy(r"(?<=[^\W\d_]{3})\s?[(\[][1-9][)\]](?=\s*(?:[(\[,]|$))")
_VALENCES = frozenset({"fe", "mn", "cr", "as", "cu", "se", "u", "hg", "tl", "pb", "other"})


def _without_note(text: str) -> NamedAnalyte | None:
    """Return the analyte of a name with the number of a footnote, as in "Chloride (1)"."""
    bare, notes = _BRACKET_NOTE.subn("", text)
    known = named_analyte(bare) if notes == 1 else None
    return known if known and known.key and known.key not in _VALENCES else None


_CELLS = lazy(r"[^\W\d],[<>]?\d")  # cells of a table that was not cut at its commas
_SECOND = lazy(r"[^\W\d_]+")
LONGEST_SYMBOL = 3  # letters; "Ca" behind a foreign word may be its species


def _of_second_script(text: str) -> NamedAnalyte | None:
    """Return the analyte of a name in Latin letters behind one in another script."""
    first = _SECOND.search(text)
    if first is None or _is_latin(first[0]):
        return None
    kept = _SECOND.sub(lambda m: m[0] if _is_latin(m[0]) else " ", text)
    kept = re.sub(r"\(\s*\)|\s+", " ", kept).strip(" -/,")
    if kept == text or not any(len(part) > LONGEST_SYMBOL for part in _SECOND.findall(kept)):
        return None
    known = named_analyte(kept.strip("()") if kept.count("(") == 1 and kept[0] == "(" else kept)
    return known if known.key else None


def _is_latin(word: str) -> bool:
    return all(unicodedata.name(letter, "").startswith("LATIN") for letter in word)


_CHARGES = str.maketrans(
    {
        "\N{SUPERSCRIPT PLUS SIGN}": "+",
        "\N{SUPERSCRIPT MINUS}": "-",
        "\N{MINUS SIGN}": "-",
        "\N{EN DASH}": "-",
        "\N{SUBSCRIPT PLUS SIGN}": "+",
        "\N{SUBSCRIPT MINUS}": "-",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NON-BREAKING HYPHEN}": "-",
        "\N{SOFT HYPHEN}": "",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
        "\N{FULLWIDTH LEFT PARENTHESIS}": "(",
        "\N{FULLWIDTH RIGHT PARENTHESIS}": ")",
        "\N{FULLWIDTH COMMA}": ",",
        "\N{FULLWIDTH COLON}": ":",
        "\N{IDEOGRAPHIC SPACE}": " ",
        "\N{IDEOGRAPHIC COMMA}": ",",
    }
)
_PORE = lazy(
    r"[\s,;(\[-]*\b(?:(?:field|lab\w*|membrane)[\s-]*)?(?:filt\w*|dissolved|gel\wst)?[\s,]*"
    r"(?:at|through|by|over|<|durch|sur|à|auf)?\s*"
    r"(?:\b0?[.,]\d+|<\s?0?[.,]\d+)\s*-?(?:µ|u|\N{GREEK SMALL LETTER MU})m\b"
    r"[\s-]*(?:filt\w*)?[)\]]?",
    re.IGNORECASE,
)


# "(以CaCO3计)" and "(CaCO3として)" are "as CaCO3".
_AS_IN_CHINESE = lazy(
    r"[(（\s]*(?:以\s*(?P<one>[A-Za-z0-9₀-₉]+)\s*[计計]|(?P<two>[A-Za-z0-9₀-₉]+)\s*として)\s*[)）]?",
    needs="以と",
)
_SERIAL = lazy(r"^\d{1,2}[.)]\s+(?=[^\W\d])")  # "12. Calcium"


# The number of a footnote behind a name of three letters or more; a charge has a sign.
_RAISED_NOTE = lazy(
    r"(?<=[^\W\d_]{3})\s?[⁰¹²³⁴-⁹]+(?:[,⁾)]\s?[⁰¹²³⁴-⁹]*)*(?=\s*(?:[(,]|$))",
    needs="⁰¹²³⁴⁵⁶⁷⁸⁹",
)


def _plain_name(text: str) -> str:
    """Return a name with its charges, brackets and spaces in ASCII; a pore size is "dissolved"."""
    text = text if text.isascii() else _RAISED_NOTE.sub("", text)
    plain = text if text.isascii() else plain_signs(text.translate(_CHARGES))
    if not plain.isascii():
        plain = _AS_IN_CHINESE.sub(lambda m: f" as {m['one'] or m['two']}", plain)
    plain = _SERIAL.sub("", plain)
    if "m" in plain and ("." in plain or "," in plain) and _PORE.search(plain):
        if re.search(r"(?i)\b(?:unfiltered|total)\b", plain):
            return _PORE.sub(" ", plain)
        plain = _PORE.sub(" (dissolved) ", plain)
    return plain


def _lookup(text: str) -> NamedAnalyte | None:
    bare = folded(text)
    if not bare or (len(bare) <= 2 and not re.match(r"^[\w+\-\s.]+$", text)):
        return None
    found = _exact_aliases().get(text) or _aliases().get(bare)
    return NamedAnalyte(found[0], found[1]) if found else None


def _in_parts(text: str) -> NamedAnalyte:
    """Take unit, basis, fraction and place out of a name and look up what is left."""
    at = _AT_TEMPERATURE.search(text) if "0" in text or "5" in text else None
    if at:
        degrees = at["degrees"]
        text = _AT_TEMPERATURE.sub(lambda m: "" if m["degrees"] == degrees else m[0], text)
    head, known = _without_unit(text)
    head, known = _without_basis(head, known)
    if at:
        known = replace(known, at_c=float(at["degrees"]))
    names: list[str] = []
    for segment in _segments(head.replace("_", " ")):
        known, left = _classified(segment, known)
        names += [left] if left else []
    return _named(names, known)


def _segments(text: str) -> Iterator[str]:
    for part in re.split(r"[()\[\]{},;:/]|\s-\s|\s–\s", text):
        segment = part.strip(" .-_")
        if segment:
            yield segment


def _without_unit(text: str) -> tuple[str, NamedAnalyte]:
    """Split a unit off the end of a name or out of its brackets."""
    marked = _UNDERSCORED.match(text)
    if marked:
        unit = f"{marked['unit']}/{marked['volume']}" + (
            f" as {marked['species']}" if marked["species"] else ""
        )
        if is_unit(unit):
            return marked["base"].replace("_", " "), NamedAnalyte(unit=unit)
    for match in re.finditer(r"[\[(]([^\[\]]*(?:\([^()]*\)[^\[\]()]*)?)[\])]", text):
        inner = _OF_SPECIES.sub(" as ", _IN_UNIT.sub("", match.group(1).strip()))
        if inner and _looks_like_unit(inner):
            return (text[: match.start()] + " " + text[match.end() :]).strip(), NamedAnalyte(
                unit=inner
            )
    for start in [m.end() for m in re.finditer(r"[\s,;]+", text)]:
        tail = text[start:].strip(" ,")
        if _looks_like_unit(tail):
            return _PREPOSITION.sub("", text[:start].rstrip(" ,;-")), NamedAnalyte(unit=tail)
    return text, NamedAnalyte()


def _looks_like_unit(text: str) -> bool:
    """Tell a unit inside a name from a formula, a qualifier or a fraction."""
    bare = folded(text)
    if species_name(text) or (len(bare) < 2 and not re.search(r"[°º˚%]", text)):
        return False
    if re.search(r"[\])]", text) and not re.search(r"[\[(]", text):
        return False
    if bare in words("dissolved") or bare in words("total"):
        return False
    return (bare not in _aliases() or bool(re.search(r"[°º˚]", text))) and is_unit(text)


def _without_basis(text: str, known: NamedAnalyte) -> tuple[str, NamedAnalyte]:
    match = _AS_BASIS.search(text)
    species = species_name(_plain_formula(match["species"])) if match else None
    if match and species:
        return text[: match.start()].strip(" ,-(["), replace(known, basis=species)
    tail = _LAST_PART.search(text)
    if tail and match is None:  # "Silicon as Si (dissolved)"
        inner, left = _classified((tail["part"] or tail["tail"]).strip(), NamedAnalyte())
        head, basis = _without_basis(text[: tail.start()].strip(), known)
        left = "" if _METHOD.match(left) else left
        if not left and basis.basis and not inner.basis:
            return head, replace(
                basis,
                fraction=basis.fraction or inner.fraction,
                measured_in=basis.measured_in or inner.measured_in,
            )
    match = _NITROGEN.match(text)
    if match and _lookup(match["base"].strip()):
        return match["base"].strip(), replace(known, basis=match["species"])
    return text, known


def _plain_formula(text: str) -> str:
    return unicodedata.normalize("NFKC", text)


def _classified(segment: str, known: NamedAnalyte) -> tuple[NamedAnalyte, str]:
    """Recognise one segment of a name; return what it adds and the words left over."""
    segment = _EXPRESSED.sub("", segment)
    bare = folded(segment)
    species = species_name(_plain_formula(segment)) or species_name(bare)
    for meaning in ("dissolved", "total"):
        if bare in words(meaning):
            return replace(known, fraction=meaning), ""
    for meaning in ("field", "lab"):
        if bare in words(meaning):
            return replace(known, measured_in=meaning), ""
    if bare.startswith("as") and species_name(bare[2:]):
        return replace(known, basis=species_name(bare[2:]) or ""), ""
    if species and species in _BRACKET_BASES:
        return replace(known, basis=known.basis or species), segment if bare in _aliases() else ""
    return known, segment


_BRACKET_BASES = frozenset(
    {"CaCO3", "N", "P", "Si", "SiO2", "NO3", "NO2", "NH4", "NH3", "PO4", "HCO3", "CO3", "S"}
    | {"SO4", "H2SiO3", "CaO"}
)


def _named(names: list[str], known: NamedAnalyte) -> NamedAnalyte:
    """Look up the words left of a name, whole or piece by piece; every piece must be known."""
    whole = _lookup(" ".join(names)) if names else None
    if whole is not None:
        return _joined(whole, known)
    pieces = [_piece(name) for name in names if not _METHOD.match(name)]
    found = [piece for piece in pieces if piece is not None]
    keys = {piece.key for piece in found}
    if len(keys) == len(TITRATED & keys) + 1 == 2 and BICARBONATE in keys:
        # "Total alkalinity (HCO3-)": the ion is what the titration is expressed as.
        ion = next(piece for piece in found if piece.key == BICARBONATE)
        found = [piece for piece in found if piece is not ion]
        pieces, keys = [*found], keys - {BICARBONATE}
        known = known if known.basis else replace(known, basis="HCO3")
    if not found and len(names) == 1 and len(names[0].split()) == 2:
        first, last = names[0].split()
        if len(last) > 1 or not first[:1].isascii():
            return _by_symbol([first, last], known)
    if not found or len(keys) != 1:
        return NamedAnalyte()
    if len(found) != len(pieces):
        return _by_symbol(names, known)
    result = known
    for piece in found:
        result = _joined(piece, result)
    return result


BICARBONATE = "hco3"
TITRATED = frozenset({"alkalinity", "alkalinity_hco3"})
_CHARGE = lazy(r"(?<=[A-Za-z\d])\d?[+-]$", needs="+-")
_WORD = lazy(r"[^\W\d_]{3,}|[\u3040-\u9fff\uac00-\ud7af]+")
NO_NAMES = frozenset(
    {"bacteria", "bakterien", "index", "ratio", "balance", "sum", "excess", "demand", "removal"}
)


def _by_symbol(names: list[str], known: NamedAnalyte) -> NamedAnalyte:
    """Take a name of one foreign word beside the symbol of an element or ion, as "Järn, Fe"."""
    names = [_CHARGE.sub("", name) for name in names]
    symbols = [n for n in names if n in _exact_aliases() and re.fullmatch(SYMBOL, n)]
    others = [n for n in names if n not in symbols]
    if len(symbols) != 1 or len(others) != 1 or not _WORD.fullmatch(others[0]):
        return NamedAnalyte()
    if folded(others[0]) in NO_NAMES or _piece(others[0]) is not None:
        return NamedAnalyte()
    base = _lookup(symbols[0])
    return NamedAnalyte() if base is None else replace(_joined(base, known), by_symbol=True)


def _piece(text: str) -> NamedAnalyte | None:
    """Look up words, taking a fraction or a place from either end."""
    found = _lookup(text)
    parts = text.split()
    if found is not None or len(parts) < 2:
        return found
    for outer, inner in ((parts[-1], parts[:-1]), (parts[0], parts[1:])):
        known, left = _classified(outer, NamedAnalyte())
        base = _piece(" ".join(inner)) if not left else None
        if base is not None:
            return _joined(base, known)
    return _said_twice(parts)


def _said_twice(parts: list[str]) -> NamedAnalyte | None:
    """Look up a name that stands in two languages side by side."""
    for cut in range(1, len(parts) if len(parts) <= MOST_WORDS else 0):
        one, two = _lookup(" ".join(parts[:cut])), _lookup(" ".join(parts[cut:]))
        if one is not None and two is not None and one.key == two.key:
            return _joined(one, two)
    return None


MOST_WORDS = 8  # of a name in two languages


def _joined(base: NamedAnalyte, known: NamedAnalyte) -> NamedAnalyte:
    return NamedAnalyte(
        base.key,
        known.basis or base.basis,
        known.fraction or base.fraction,
        known.measured_in or base.measured_in,
        known.unit or base.unit,
        known.at_c,
        known.starred,
    )
