"""Concentrations and conductivities as labs print them, with their bases."""

import re
import unicodedata
from typing import Literal, NamedTuple

from msgspec import Struct

from pretreat.core.errors import UnitError
from pretreat.core.text import lazy
from pretreat.core.units.formulas import (
    CACO3_MG_PER_MEQ,
    MG_L_CACO3_PER_CLARK_DEGREE,
    MG_L_CACO3_PER_FRENCH_DEGREE,
    MG_L_CACO3_PER_GERMAN_DEGREE,
    MG_L_CACO3_PER_GPG,
    atoms,
    molar_mass,
)
from pretreat.core.units.quantities import split_quantity

Kind = Literal["mass", "mole", "equivalent", "as CaCO3"]


class ConcentrationUnit(NamedTuple):
    """A unit of concentration: what it counts, its factor, and the species it names.

    ``factor`` leads to mg/L, mmol/L, meq/L or mg/L as CaCO3, by ``kind``.
    ``species`` is the formula after "as", or None.
    """

    kind: Kind
    factor: float
    species: str | None = None


_SIMPLE: dict[str, tuple[Kind, float]] = {
    "mg/l": ("mass", 1.0),
    "ug/l": ("mass", 1e-3),
    "ng/l": ("mass", 1e-6),
    "g/l": ("mass", 1e3),
    "mg/kg": ("mass", 1.0),
    "ug/kg": ("mass", 1e-3),
    "g/kg": ("mass", 1e3),
    "ppm": ("mass", 1.0),
    "ppb": ("mass", 1e-3),
    "mg/ml": ("mass", 1e3),
    "ug/ml": ("mass", 1.0),
    "mg/dm3": ("mass", 1.0),
    "ug/dm3": ("mass", 1e-3),
    "g/m3": ("mass", 1.0),
    "mg/m3": ("mass", 1e-3),
    "pg/l": ("mass", 1e-9),
    "nmol/l": ("mole", 1e-6),
    "mmol/l": ("mole", 1.0),
    "umol/l": ("mole", 1e-3),
    "mol/l": ("mole", 1e3),
    "mm": ("mole", 1.0),
    "mmol/dm3": ("mole", 1.0),
    "mol/m3": ("mole", 1.0),
    "mmol/kg": ("mole", 1.0),
    "meq/l": ("equivalent", 1.0),
    "ueq/l": ("equivalent", 1e-3),
    "mval/l": ("equivalent", 1.0),
    "eq/l": ("equivalent", 1e3),
    "epm": ("equivalent", 1.0),
    "meq/dm3": ("equivalent", 1.0),
    "gpg": ("as CaCO3", MG_L_CACO3_PER_GPG),
    "gr/gal": ("as CaCO3", MG_L_CACO3_PER_GPG),
    "dh": ("as CaCO3", MG_L_CACO3_PER_GERMAN_DEGREE),
    "fh": ("as CaCO3", MG_L_CACO3_PER_FRENCH_DEGREE),
    "eh": ("as CaCO3", MG_L_CACO3_PER_CLARK_DEGREE),
}

_SYNONYMS = {
    "grains/gal": "gpg",
    "grain/gal": "gpg",
    "grains/gallon": "gpg",
    "grains/usgal": "gpg",
    "grainpergallon": "gpg",
    "grainspergallon": "gpg",
    "grains": "gpg",
    "mole/l": "mol/l",
    "gdh": "dh",
    "d": "dh",
    "od": "dh",
    "ogh": "dh",
    "degdh": "dh",
    "degd": "dh",
    "f": "fh",
    "of": "fh",
    "ofh": "fh",
    "degfh": "fh",
    "degf": "fh",
    "tf": "fh",
    "fs": "fh",
    "e": "eh",
    "oe": "eh",
    "clark": "eh",
    "dege": "eh",
    "degclark": "eh",
    "val/l": "eq/l",
    "mequiv/l": "meq/l",
    "me/l": "meq/l",
    "mcg/l": "ug/l",
    "mgr/l": "mg/l",
    "deg": "dh",
    "fs0": "fh",
    "degfs": "fh",
    "degn": "dh",
    "degdeutsch": "dh",
    "dh0": "dh",
    "mgl": "mg/l",
    "mg/lt": "mg/l",
    "ug/lt": "ug/l",
    "mg/ltr": "mg/l",
    "mgperl": "mg/l",
    "milligrams/l": "mg/l",
    "milligram/l": "mg/l",
    "micrograms/l": "ug/l",
    "mg/1": "mg/l",
    "rng/l": "mg/l",
    "ug/1": "ug/l",
    "milliequivalents/l": "meq/l",
    "millimoles/l": "mmol/l",
    "meq/lt": "meq/l",
    "mmol/lt": "mmol/l",
    "mmoll": "mmol/l",
    "meql": "meq/l",
    "ugl": "ug/l",
    "umol/kg": "umol/l",
    "mol/kg": "mol/l",
    "mol/dm3": "mol/l",
    "umol/dm3": "umol/l",
    "mval/dm3": "meq/l",
    "meq/kg": "meq/l",
    "mmolc/l": "meq/l",
    "gpgcaco3": "gpg",
    "gr/g": "gpg",
}

_AS = r"(?:as|als|comme|como|come|jako)"
_SPECIES = r"(?:[A-Z][a-z]?\d*)+"
# Of an ion behind its formula: "NO3-", "SO4 2-", "Ba2+", with any sign that stands for a minus.
CHARGE = r"(?:\s*\(?\d?[+\-\u2212\u2013]+\d?\)?)?"
_CHARGED = lazy(
    r"^(?P<formula>[A-Za-z][A-Za-z0-9]*?)(?P<number>\d?)\s*\(?\d?[+\-\u2212\u2013]+\d?\)?$"
)
_SPECIES_IN_UNIT = (
    lazy(rf"^(?P<unit>.+?)[\s,]*\(?\s*\b{_AS}\s*(?P<species>[A-Za-z0-9]+{CHARGE})\s*\)?$", re.I),
    lazy(
        rf"^(?P<mass>[mu]?g|[mu]?mol|m?eq)[\s-]*\(?(?P<species>{_SPECIES})(?:-[NP])?\)?"
        r"\s*/\s*(?P<volume>\w+)$",
        re.IGNORECASE,
    ),
    lazy(r"^(?P<unit>\S+?)\s*[\s(_-]\s*(?P<species>[A-Za-z][A-Za-z0-9]*)\)?$"),
)
_NITROGEN_OF = lazy(r"\b(?:N\s*-\s*N[OH]\d|N[OH]\d\s*-\s*N)\b", re.IGNORECASE)
_PHOSPHORUS_OF = lazy(r"\b(?:P\s*-\s*PO4|PO4\s*-\s*P)\b", re.IGNORECASE)


def concentration_unit(text: str) -> ConcentrationUnit:
    """Read a unit of concentration, with a species inside it or behind it.

    Parameters
    ----------
    text : str
        Such as "mg/L", "µg/l", "mg/l as N", "mg N/L", "ppm as CaCO3", "meq/L", "gpg", "°dH". [-]

    Returns
    -------
    ConcentrationUnit
        Kind, factor and species. [-]

    Raises
    ------
    UnitError
        If the unit is not known. Nothing is guessed.
    """
    clean = _PHOSPHORUS_OF.sub("P", _NITROGEN_OF.sub("N", _plain(text)))
    simple = _simple_unit(clean)
    if simple is not None:
        return ConcentrationUnit(*simple)
    for pattern in _SPECIES_IN_UNIT:
        match = pattern.match(clean)
        if match is None:
            continue
        parts = match.groupdict()
        simple = _simple_unit(parts.get("unit") or f"{parts['mass']}/{parts['volume']}")
        species = species_name(parts["species"])
        if simple is None or species is None:
            continue
        if species == "CaCO3" and simple[0] == "mass":
            return ConcentrationUnit("as CaCO3", simple[1])
        return ConcentrationUnit(simple[0], simple[1], species)
    if not text.strip():
        raise UnitError(
            "no unit is given; write mg/L or ppm, for a hardness also gpg, °dH or mg/L as CaCO3"
        )
    raise UnitError(f"'{text}' is not a unit of concentration that is known")


def _plain(text: str) -> str:
    """Fold the many ways of writing one unit into plain letters."""
    clean = unicodedata.normalize("NFKC", text.replace("Âµ", "µ").replace("Â°", "°"))
    clean = clean.replace("º", "°").replace("˚", "°").replace("°", " deg")
    clean = clean.replace("μ", "u").replace("\N{MINUS SIGN}", "-").replace("·", " ")
    clean = re.sub(r"(?<=[A-Za-z0-9)])\s*[*^]+$", "", clean)
    clean = re.sub(r"\s+per\s+|\s*[\u2044\u2215]\s*", "/", clean)
    clean = re.sub(r"[\s*.]*\b([Ll]|kg|dm3|m3|cm|m)\^?-1\b", r"/\1", clean)
    return re.sub(r"\s+", " ", clean).strip()


def _simple_unit(text: str) -> tuple[Kind, float] | None:
    word = re.sub(r"[\s.()]", "", text.casefold()).replace("liter", "l").replace("litre", "l")
    word = _SYNONYMS.get(word, word)
    return _SIMPLE.get(word)


_SPECIES_SPELLED = {
    name.casefold(): name
    for name in (
        "CaCO3",
        "CaO",
        "N",
        "NO3",
        "NO2",
        "NH4",
        "NH3",
        "P",
        "PO4",
        "P2O5",
        "S",
        "H2S",
        "SO4",
        "Si",
        "SiO2",
        "H2SiO3",
        "H4SiO4",
        "HCO3",
        "CO3",
        "CO2",
        "C",
        "B",
        "H3BO3",
        "F",
        "Cl",
        "Ca",
        "Mg",
        "Na",
        "K",
        "Fe",
        "Mn",
        "Sr",
        "Ba",
        "Al",
        "As",
        "Br",
    )
}


def species_name(text: str) -> str | None:
    """Return the formula of a species that a result can be expressed as.

    Parameters
    ----------
    text : str
        Such as "caco3" or "N", in any case; of an ion with its charge too, "NO3-". [-]

    Returns
    -------
    str or None
        "CaCO3", "N"; None where it is not one. [-]
    """
    known = _SPECIES_SPELLED.get(text.casefold())
    charged = _CHARGED.match(text) if known is None else None
    if charged is None:
        return known
    tried = (charged["formula"] + charged["number"], charged["formula"])  # "NO3-", "SO42-"
    return next((s for t in tried if (s := _SPECIES_SPELLED.get(t.casefold()))), None)


class Ion(Struct, frozen=True):
    """What a conversion must know of an ion: formula and charge number."""

    formula: str
    charge: int


def mg_l_as_ion(value: float, unit: ConcentrationUnit, ion: Ion, basis: str | None = None) -> float:
    """Return a concentration in mg/L as the ion.

    Parameters
    ----------
    value : float
        The number printed. [unit]
    unit : ConcentrationUnit
        Its unit, from `concentration_unit`. [-]
    ion : Ion
        Formula and charge of the ion wanted. [-]
    basis : str, optional
        Formula the result was expressed as, if the unit does not say so itself. [-]

    Returns
    -------
    float
        Concentration. [mg/L as the ion]

    Raises
    ------
    UnitError
        If a neutral species is given in equivalents or as CaCO3, or the basis does not
        hold the ion's element.
    """
    scaled = value * unit.factor
    species = unit.species or basis
    as_caco3 = unit.kind == "as CaCO3" or (unit.kind == "mass" and species == "CaCO3")
    if as_caco3 or unit.kind == "equivalent":
        if ion.charge == 0:
            raise UnitError(f"{ion.formula} has no charge and cannot be given in equivalents")
        meq_l = scaled / CACO3_MG_PER_MEQ if as_caco3 else scaled
        return meq_l * molar_mass(ion.formula) / abs(ion.charge)
    if unit.kind == "mole":
        return scaled * molar_mass(ion.formula) * _ratio(species, ion.formula)
    if species is None or species == ion.formula:
        return scaled
    moles = scaled / molar_mass(species) * _ratio(species, ion.formula)
    return moles * molar_mass(ion.formula)


def _ratio(species: str | None, formula: str) -> float:
    """Return moles of ``formula`` per mole of ``species`` by their common central atom."""
    if species is None or species == formula:
        return 1.0
    own, given = atoms(formula), atoms(species)
    central = next((e for e in own if e not in {"H", "O"}), None)
    if central is None or central not in given:
        raise UnitError(f"'as {species}' is not a basis for {formula}")
    return given[central] / own[central]


def hardness_mg_l_caco3(text: str) -> float:
    """Read a hardness such as "21 gpg" or "350 mg/L"; mg/L is taken as CaCO3.

    Parameters
    ----------
    text : str
        A number and a unit of hardness. [-]

    Returns
    -------
    float
        Hardness. [mg/L as CaCO3]

    Raises
    ------
    UnitError
        If the unit is not one of hardness.
    """
    number, given = split_quantity(text)
    unit = concentration_unit(given)
    if unit.kind == "as CaCO3" or (unit.kind == "mass" and unit.species is None):
        return number * unit.factor
    if unit.kind == "equivalent":
        return number * unit.factor * CACO3_MG_PER_MEQ
    raise UnitError(f"'{text}' is not a hardness; use gpg, mg/L as CaCO3, °dH, °fH or meq/L")


def mg_l(text: str) -> float:
    """Read a mass concentration such as "1.5 mg/L" or "200 ug/L".

    Parameters
    ----------
    text : str
        A number and a unit. [-]

    Returns
    -------
    float
        Concentration. [mg/L]

    Raises
    ------
    UnitError
        If the unit is not a mass per volume.
    """
    number, given = split_quantity(text)
    unit = concentration_unit(given)
    if unit.kind != "mass" or unit.species is not None:
        raise UnitError(f"'{text}' is not a mass concentration; use mg/L or ug/L")
    return number * unit.factor


_CONDUCTIVITY_US_CM = {
    "us/cm": 1.0,
    "umho/cm": 1.0,
    "umhos/cm": 1.0,
    "micromhos/cm": 1.0,
    "micromho/cm": 1.0,
    "ms/cm": 1e3,
    "mmho/cm": 1e3,
    "mmhos/cm": 1e3,
    "ds/m": 1e3,
    "ms/m": 10.0,
    "s/m": 1e4,
    "us/m": 1e-2,
    "microsiemens/cm": 1.0,
    "micros/cm": 1.0,
    "mikrosiemens/cm": 1.0,
    "micromho": 1.0,
    "umho": 1.0,
    "umhos": 1.0,
    "micromhos": 1.0,
    "millisiemens/cm": 1e3,
    "uscm": 1.0,
    "mscm": 1e3,
    "s/cm": 1e6,
    "umoh/cm": 1.0,
    "usiemens/cm": 1.0,
    "us/em": 1.0,
}


def conductivity_us_cm(value: float, unit: str) -> float:
    """Return an electrical conductivity in µS/cm.

    Parameters
    ----------
    value : float
        Conductivity. [unit]
    unit : str
        Such as "µS/cm", "mS/cm", "dS/m", "mS/m", "µmhos/cm". [-]

    Returns
    -------
    float
        Conductivity. [µS/cm]

    Raises
    ------
    UnitError
        If the unit is not one of conductivity.
    """
    word = re.sub(r"@.*$|\(.*$|\b(?:at|a|bei)\s+2[05].*$", "", _plain(unit))
    word = word.replace(" ", "").casefold()
    if word not in _CONDUCTIVITY_US_CM:
        raise UnitError(f"'{unit}' is not a unit of conductivity that is known")
    return value * _CONDUCTIVITY_US_CM[word]
