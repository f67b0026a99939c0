"""Units as printed: which texts are units, and odd spellings led to the usual ones."""

import re
from functools import lru_cache

from pretreat.core.errors import UnitError
from pretreat.core.text import lazy
from pretreat.core.units.concentration import (
    ConcentrationUnit,
    concentration_unit,
    conductivity_us_cm,
)
from pretreat.lab.read.wording import folded, words

_TEMPERATURE_UNITS = frozenset(
    {"c", "degc", "f", "degf", "celsius", "fahrenheit", "degreesc", "degreesf", "degreescelsius"}
    | {"degcelsius", "gradc", "degreec", "k"}
)
_OWN_SPECIES = lazy(r"[\s(]*(?:\b(?:as|als)\s+)?\b(?:Cl2|Cl₂|O2|O₂)\b\)?", re.IGNORECASE)
_GARBLED = lazy(r"^(?:\?|�|ï¿½|Â)(?=[sSgGmM])", needs="?�ïÂ")


_SQUARED = str.maketrans(
    {
        "\N{DEGREE CELSIUS}": "°C",
        "\N{DEGREE FAHRENHEIT}": "°F",
        "\N{SQUARE MG}": "mg",
        "\N{SQUARE MU G}": "µg",
        "\N{SQUARE KG}": "kg",
        "\N{SQUARE ML}": "ml",
        "\N{SCRIPT SMALL L}": "l",
        "\N{FULLWIDTH SOLIDUS}": "/",
        "\N{DIVISION SLASH}": "/",
        "\N{FRACTION SLASH}": "/",
        "\N{FULLWIDTH LATIN SMALL LETTER M}": "m",
        "\N{FULLWIDTH LATIN SMALL LETTER G}": "g",
        "\N{FULLWIDTH LATIN CAPITAL LETTER L}": "L",
        "\N{FULLWIDTH LATIN SMALL LETTER L}": "l",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
    }
)


def repaired_unit(text: str) -> str:
    """Return a unit with signs spelled out, and with a micro sign that was destroyed put back."""
    clean = _GARBLED.sub("u", plain_signs(text).strip())
    if not clean.isascii():
        for pattern, latin in _CYRILLIC:
            clean = pattern.sub(latin, clean)
    return _SPELLED.get(clean.casefold().rstrip("."), clean)


# Units of Russian and Ukrainian prints; a degree of GOST 31865 is 1 meq/L.
_CYRILLIC = tuple(
    (lazy(pattern, re.IGNORECASE), latin)
    for pattern, latin in (
        (r"^°\s?[ЖжZz]$", "meq/L"),
        (r"\b(?:мг|mg)[-.]?\s?[эе]кв", "meq"),
        (r"\bмкСм", "uS"),
        (r"\bмСм", "mS"),
        (r"(?<=[Ss])/см\b", "/cm"),
        (r"(?<=[Ss])/м\b", "/m"),
        (r"\bмкг", "ug"),
        (r"\bмг", "mg"),
        (r"\bмкмоль", "umol"),
        (r"\bммоль", "mmol"),
        (r"\bмоль", "mol"),
        (r"/\s?дм(?:3|³)", "/L"),
        (r"/\s?л\b", "/L"),
        (r"^г/м(?:3|³)$", "g/m3"),
        (r"^°\s?С$", "°C"),
    )
)
# German, French and equivalent degrees and units as other languages write them.
_SPELLED = {
    **dict.fromkeys(
        (
            "grade germane",
            "nk°",
            "nk fok",
            "°nk",
            "német fok",
            "tyske grader",
            "°n",
            "german degrees",
        ),
        "°dH",
    ),
    **dict.fromkeys(
        ("°fr", "grade franceze", "fr. sertlik", "fr°", "°fs", "french degrees"), "°fH"
    ),
    **dict.fromkeys(("mekv/l", "mekv./l", "mgeq/l", "meqv/l", "mg-eq/l"), "meq/L"),
    **dict.fromkeys(("mg dm-3", "mg.dm-3", "mg·dm-3", "mg/dm³"), "mg/L"),
    **dict.fromkeys(("ug dm-3", "µg.dm-3", "µg·dm-3"), "ug/L"),
}


def is_garbled(text: str) -> bool:
    """Tell a unit whose micro sign was destroyed."""
    return bool(_GARBLED.match(plain_signs(text).strip()))


def plain_signs(text: str) -> str:
    """Return a unit with the single signs of East-Asian prints spelled out."""
    return text if text.isascii() else text.translate(_SQUARED)


@lru_cache(maxsize=4000)
def is_unit(text: str, *, strict: bool = False) -> bool:
    """Tell whether a text is a unit of anything a water report holds.

    Parameters
    ----------
    text : str
        As printed. [-]
    strict : bool
        Refuse single letters, which in a result cell are qualifiers. [-]

    Returns
    -------
    bool
        True for a unit. [-]
    """
    clean = repaired_unit(text)
    if not clean or len(clean) > 40 or (strict and len(folded(clean)) < 2):
        return False
    if is_concentration(clean) or is_conductivity(clean):
        return True
    word = re.sub(r"[°º˚]", "deg", clean)
    return folded(word) in words("plain_unit") or is_temperature(clean) or clean == "-"


SHORT_CONDUCTIVITY = lazy(r"[uµμm]S")  # "per cm" goes without saying on a meter
_EQUIVALENTS = lazy(
    r"^(?P<si>[mµμu]?)mol(?:\s*\(?eq\.?\)?\s*/\s*l|\s*/\s*l\s*\(?eq\.?\)?)$", re.IGNORECASE
)


def spelled_unit(unit: str) -> str:
    """Return a unit of equivalents in its usual spelling: "mmol(eq)/l" is meq/l."""
    return _EQUIVALENTS.sub(r"\g<si>eq/l", unit.strip())


def without_own_species(unit: str) -> str:
    """Return a unit without the chlorine or oxygen it is "as", which measures only itself."""
    return _OWN_SPECIES.sub("", unit.strip())


def concentration_of(text: str) -> ConcentrationUnit:
    """Return a unit of concentration, odd spellings led to the usual ones."""
    refuse_letter(text)
    return concentration_unit(without_own_species(spelled_unit(text)))


def refuse_letter(text: str) -> None:
    """Refuse a single letter, which qualifies a result: "E" is no degree of hardness."""
    if re.fullmatch(r"\s*[^\W\d_]\s*", text):
        raise UnitError(f"'{text}' is no unit of concentration; write mg/L, or a degree as °f")


@lru_cache(maxsize=4096)
def is_concentration(text: str) -> bool:
    """Tell whether a text is a unit of concentration or hardness."""
    try:
        concentration_of(text)
    except UnitError:
        return False
    return True


def are_other_kinds(one: str, two: str) -> bool:
    """Tell two units of which one counts charges or moles and the other weighs."""
    if not (one and two and is_concentration(one) and is_concentration(two)):
        return False
    return concentration_of(one).kind != concentration_of(two).kind


def counts_charges(text: str) -> bool:
    """Tell a unit of equivalents or of moles, as "meq/L"."""
    return is_concentration(text) and concentration_of(text).kind in {"equivalent", "mole"}


def is_temperature(text: str) -> bool:
    """Tell whether a text is a unit of temperature."""
    return folded(re.sub(r"[°º˚]", "deg", text)) in _TEMPERATURE_UNITS


@lru_cache(maxsize=4096)
def is_conductivity(text: str) -> bool:
    """Tell whether a text is a unit of conductivity."""
    if SHORT_CONDUCTIVITY.fullmatch(text):
        return True
    try:
        conductivity_us_cm(1.0, text)
    except UnitError:
        return False
    return True


_DITTO = lazy(
    r"""(?i)^[-–—\s]*(?:"|''|″|〃|”|“|„|´´|,,|do\.?|dto\.?|ditto|idem|id\.)[-–—\s]*$""",
    needs="\"'″〃”“„´,dD",
)


@lru_cache(maxsize=4096)
def is_ditto(text: str) -> bool:
    """Tell a mark that repeats the cell above it, as "do." or a pair of strokes."""
    return bool(_DITTO.match(text))
