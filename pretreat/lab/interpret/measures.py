"""What each analyte of a report is measured in, and the factor that leads to our unit."""

from functools import lru_cache
from types import MappingProxyType

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.errors import UnitError
from pretreat.core.tables import Row, analytes, rows
from pretreat.core.text import lazy
from pretreat.core.units import (
    CACO3_MG_PER_MEQ,
    CO3_PER_CACO3,
    HCO3_PER_CACO3,
    molar_mass,
    temperature_c,
)
from pretreat.core.units.concentration import (
    ConcentrationUnit,
    concentration_unit,
    conductivity_us_cm,
    mg_l_as_ion,
)
from pretreat.lab.interpret.traces import trace_factor, traces
from pretreat.lab.read.unit_words import (
    SHORT_CONDUCTIVITY,
    refuse_letter,
    repaired_unit,
    spelled_unit,
    without_own_species,
)

# Names that lead to an ion by way of a basis: the ion, and the basis where none is printed.
INTO_ION = MappingProxyType(
    {
        "no3_no2": ("no3", ""),
        "na_k": ("na", ""),
        "alkalinity_hco3": ("hco3", "CaCO3"),
        "alkalinity_co3": ("co3", "CaCO3"),
    }
)
ALKALINITIES = frozenset({"alkalinity", "alkalinity_p", "alkalinity_oh", "alkalinity_ta"})
HARDNESSES = frozenset(
    {"hardness", "hardness_ca", "hardness_mg", "hardness_carbonate", "hardness_other"}
)
# Properties in mg/L with the species they are expressed as.
MASSES = MappingProxyType(
    {
        "tds": "tds_mg_l",
        "tds_sum": "tds_sum_mg_l",
        "toc": "toc_mg_l",
        "h2s": "h2s_mg_l",
        "co2": "co2_mg_l",
        "free_chlorine": "free_chlorine_mg_l",
        "total_chlorine": "total_chlorine_mg_l",
        "do": "oxygen_mg_l",
        "tss": "tss_mg_l",
        "po4_total": "phosphorus_mg_l",
    }
)
# Properties whose printed unit is not converted.
PLAIN = MappingProxyType(
    {
        "ph": "ph",
        "turbidity": "turbidity_ntu",
        "sdi": "sdi",
        "color": "color_pt_co",
        "orp": "orp_mv",
    }
)
_PER_METRE = lazy(r"(?i)(?:1|abs)?/m|m(?:-|\u2212|\^-|⁻)[1¹]")
# MEMORY: absorbance at 436 nm; 15 mg/L Pt and 0.5 1/m are both limits of drinking water.
COLOUR_PER_METRE = 30.0
ITSELF_IN_UNIT = frozenset({"free_chlorine", "total_chlorine", "do"})  # "mg/L Cl2"
ESSENTIAL = ALKALINITIES | HARDNESSES | {"temperature", "na_k", *INTO_ION}


class Measure(Struct, frozen=True):
    """The way from a printed number to our unit.

    ``factor`` times the number is the result; None for a temperature that is shifted.
    ``unit`` and ``basis`` are as printed or as assumed; ``assumed`` says what was.
    """

    factor: float | None
    unit: str
    basis: str = ""
    assumed: str = ""


@lru_cache(maxsize=1)
def usgs_codes() -> dict[str, Row]:
    """Return the rows of data/usgs_codes.csv by code."""
    return {row["code"]: row for row in rows("usgs_codes.csv")}


@lru_cache(maxsize=4096)
def measure(key: str, unit: str, basis: str) -> Measure:
    """Return how a result of one analyte is converted.

    Parameters
    ----------
    key : str
        Key of data/aliases.csv. [-]
    unit : str
        Unit as printed, or an empty text. [-]
    basis : str
        Formula the result is expressed as, or an empty text. [-]

    Returns
    -------
    Measure
        Factor, unit, basis and what was assumed. [-]

    Raises
    ------
    UnitError
        If the unit does not measure this analyte.
    """
    unit = spelled_unit(repaired_unit(unit))
    if key == "color" and _PER_METRE.fullmatch(unit.replace(" ", "")):
        return Measure(COLOUR_PER_METRE, unit)
    if key in PLAIN:
        return Measure(1.0, unit)
    if key in traces():
        return Measure(*trace_factor(key, unit))
    if key in ITSELF_IN_UNIT:
        unit = without_own_species(unit)
    if key == "temperature":
        unit = unit.replace("Â°", "°")
        unit = "C" if unit.casefold() == "cel" else unit  # as environment agencies abbreviate it
        shifted = temperature_c(1.0, unit) != 1.0
        return Measure(None if shifted else 1.0, unit or "°C", "", "" if unit else "°C")
    if key == "ec":
        full = f"{unit}/cm" if SHORT_CONDUCTIVITY.fullmatch(unit) else unit or "µS/cm"
        return Measure(conductivity_us_cm(1.0, full), full, "", "" if unit else full)
    return _concentration(key, unit, basis)


def _concentration(key: str, unit: str, basis: str) -> Measure:
    refuse_letter(unit)
    known = concentration_unit(unit or "mg/L")
    assumed = "" if unit else "mg/L"
    unit = unit or "mg/L"
    if key in ALKALINITIES:
        return _alkalinity(known, unit, basis, assumed)
    if key in HARDNESSES:
        return _hardness(known, unit, basis, assumed)
    if key in MASSES:
        return _mass(key, known, unit, basis, assumed)
    target, default = INTO_ION.get(key, (key, ""))
    return _ion(target, known, unit, (basis, default), assumed)


def _ion(
    key: str, known: ConcentrationUnit, unit: str, bases: tuple[str, str], assumed: str
) -> Measure:
    basis, default = bases
    spoken = basis or known.species or ""
    if not spoken and default and known.kind == "mass":
        basis, assumed = default, "as CaCO3"
    if key == "sio2" and "CaCO3" in {spoken, "CaCO3" if known.kind == "as CaCO3" else ""}:
        return _weak_acid_as_caco3(molar_mass("SiO2"), known, unit)
    factor = mg_l_as_ion(1.0, known, analytes()[key].ion, None if known.species else basis or None)
    return Measure(factor, unit, known.species or basis, assumed)


def _weak_acid_as_caco3(molar: float, known: ConcentrationUnit, unit: str) -> Measure:
    """Lead silica or CO2 "as CaCO3" back by the convention of ion exchange, one charge a mole.

    Common practice, no source: anion resins take up HSiO3- and HCO3-.
    """
    factor = known.factor * molar / CACO3_MG_PER_MEQ
    return Measure(factor, unit, "CaCO3", "as CaCO3 with one charge a mole (ion exchange)")


@cites("SM2320", "alkalinity is reported as CaCO3")
def _alkalinity(known: ConcentrationUnit, unit: str, basis: str, assumed: str) -> Measure:
    """Lead an alkalinity to mg/L as CaCO3; a mole of acid is one equivalent."""
    species = known.species or basis
    if known.kind == "as CaCO3":
        return Measure(known.factor, unit, "CaCO3", assumed)
    if known.kind in {"mole", "equivalent"}:
        moles = 2.0 if known.kind == "mole" and species in {"CaCO3", "CO3"} else 1.0
        return Measure(moles * known.factor * CACO3_MG_PER_MEQ, unit, species, assumed)
    per_caco3 = {
        "": 1.0,
        "CaCO3": 1.0,
        "HCO3": HCO3_PER_CACO3,
        "CO3": CO3_PER_CACO3,
        "CaO": molar_mass("CaO") / molar_mass("CaCO3"),
    }
    if species not in per_caco3:
        raise UnitError(f"'as {species}' is not a basis for alkalinity; use CaCO3 or HCO3")
    return Measure(
        known.factor / per_caco3[species],
        unit,
        species or "CaCO3",
        assumed if species else "as CaCO3",
    )


def _hardness(known: ConcentrationUnit, unit: str, basis: str, assumed: str) -> Measure:
    """Lead a hardness to mg/L as CaCO3; a mole is one of Ca or Mg."""
    species = known.species or basis
    if known.kind == "as CaCO3":
        return Measure(known.factor, unit, "CaCO3", assumed)
    if known.kind == "equivalent":
        return Measure(known.factor * CACO3_MG_PER_MEQ, unit, "", assumed)
    per_caco3 = molar_mass("CaCO3") / molar_mass(species if species else "CaCO3")
    if known.kind == "mole":
        return Measure(known.factor * molar_mass("CaCO3"), unit, species, assumed)
    return Measure(
        known.factor * per_caco3, unit, species or "CaCO3", assumed if species else "as CaCO3"
    )


def _mass(key: str, known: ConcentrationUnit, unit: str, basis: str, assumed: str) -> Measure:
    species = known.species or basis
    own = {"h2s": "H2S", "co2": "CO2", "toc": "C", "po4_total": "P"}.get(key, "")
    if key == "co2" and (known.kind == "as CaCO3" or species == "CaCO3"):
        return _weak_acid_as_caco3(molar_mass("CO2"), known, unit)
    if known.kind == "mole" and own:
        return Measure(known.factor * molar_mass(own), unit, "", assumed)
    if known.kind != "mass":
        raise UnitError(f"'{unit}' does not measure this; use mg/L")
    scale = 1.0
    if (key, species) in {("h2s", "S"), ("po4_total", "PO4")}:
        scale = molar_mass(own) / molar_mass(species)
    elif (key, species) == ("po4_total", "P2O5"):
        scale = 2.0 * molar_mass("P") / molar_mass("P2O5")
    return Measure(known.factor * scale, unit, species, assumed)
