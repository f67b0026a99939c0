"""The water section: the analysis as read, its sums, and the composition the rest works with."""

import math
from collections.abc import Callable, Mapping

from msgspec import Struct

from pretreat.core.basis import Flag, Origin, Series, cites
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis
from pretreat.lab.implied import enter_implied
from pretreat.lab.interpret.traces import only_present, traces
from pretreat.lab.judge.adjust import balanced
from pretreat.lab.named import name_and_unit
from pretreat.lab.quality_figures import enter_quality
from pretreat.lab.read.report import one_line
from pretreat.lab.read.wording import shown
from pretreat.lab.sum_figures import enter_sums
from pretreat.lab.water_laws import (
    alkalinity_mg_l_caco3,
)
from pretreat.site.design import NonDetectPolicy, WaterBasis

AT_LIMIT = ("ba", "sr", "f", "sio2", "so4")  # whose non-detects stand at the limit for scaling
DECIDING = ("ca", "so4", "ba", "sr", "f", "sio2")  # ions without which a scale stays unjudged
SHARE = {"limit": 1.0, "half": 0.5, "zero": 0.0}
LAB_TEMPERATURE_C = 25.0
IN_F = " (is that °F? If it is right)"
HOT_C = 35.0  # warmer wells are rare; a Fahrenheit typed as Celsius is not
METALS = {"fe": "Iron", "mn": "Manganese", "al": "Aluminium"}


class Composition(Struct, frozen=True):
    """The ions as the chemistry uses them, non-detects resolved by the policies.

    ``alkalinity_mg_l_caco3`` is NaN where neither alkalinity nor bicarbonate was measured.
    """

    scaling: Mapping[str, float]
    balance: Mapping[str, float]
    alkalinity_mg_l_caco3: float
    measured_temp_c: float
    operating_temp_c: float


def resolve(
    water: WaterAnalysis, keys: tuple[str, ...], policy: NonDetectPolicy
) -> dict[str, float]:
    """Return the ions of an analysis with non-detects as a share of their limit.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    keys : tuple of str
        Ions whose non-detects follow the policy; the others stand at half the limit. [-]
    policy : {"limit", "half", "zero"}
        What a non-detect is taken as. [-]

    Returns
    -------
    dict of str to float
        Composition without bicarbonate and carbonate. [mg/L as the ion]
    """
    found = {k: v for k, v in water.mg_l.items() if k in analytes()}
    for key, limit in water.below_mg_l.items():
        if limit is not None and key in analytes():
            found[key] = limit * (SHARE[policy] if key in keys else SHARE["half"])
    return {k: v for k, v in found.items() if k not in {"hco3", "co3"} and analytes()[k].component}


def alkalinity_of(water: WaterAnalysis) -> float:
    """Return the total alkalinity, from bicarbonate and carbonate where it is not printed.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    float
        Alkalinity; NaN where unknown. [mg/L as CaCO3]
    """
    if water.alkalinity_mg_l_caco3 is not None:
        return water.alkalinity_mg_l_caco3
    hco3, co3 = water.get("hco3"), water.get("co3") or 0.0
    if hco3 is None:
        return math.nan
    alkalinity: float = alkalinity_mg_l_caco3(hco3, co3)
    return alkalinity


def enter_water(ledger: Ledger, water: WaterAnalysis, basis: WaterBasis) -> Composition:
    """Enter the analysis and its checks; return the composition the rest works with.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    water : WaterAnalysis
        The analysis. [-]
    basis : WaterBasis
        Temperatures and policies of the site. [-]

    Returns
    -------
    Composition
        Ions, alkalinity and temperatures. [-]
    """
    if basis.adjust_balance != "no":
        water = balanced(water, basis.adjust_balance, basis.non_detects_balance)
    # How each non-detect is taken is said below, ion by ion.
    ledger.flag(*(flag for flag in water.flags if flag.code != "non_detect"))
    _enter_as_read(ledger, water)
    _mark_laid_over(ledger, water)
    alkalinity = alkalinity_of(water)
    balance = resolve(water, tuple(analytes()), basis.non_detects_balance)
    scaling = resolve(water, AT_LIMIT, basis.non_detects_scaling)
    _flag_non_detects(ledger, water, basis)
    enter_sums(ledger, water, balance, alkalinity)
    enter_quality(ledger, water, basis.non_detects_balance)
    scaling |= enter_implied(ledger, water)
    measured, operating = _temperatures(ledger, water, basis)
    _enter_trail(ledger, water)
    return Composition(scaling, balance, alkalinity, measured, operating)


def _reader(ledger: Ledger) -> Callable[..., None]:
    def read(
        key: str, value: float | str | None, unit: str, label: str, **more: float | None
    ) -> None:
        ledger.put(
            f"water.{key}",
            value,
            unit,
            label,
            origin="measured",
            evidence="printed",
            method="as read from the lab report",
            **more,
        )

    return read


def _enter_as_read(ledger: Ledger, water: WaterAnalysis) -> None:
    read = _reader(ledger)
    read("sample", water.sample or "unnamed", "-", "Sample")
    read("source", water.source, "-", "Report file")
    if water.date:
        read("date", water.date, "-", "Date of sampling")
    if water.ph is not None:
        read("ph", water.ph, "-", f"pH ({water.ph_kind})" if water.ph_kind != "unknown" else "pH")
    if "ec_us_cm" in water.properties:
        read("ec_us_cm", water.properties["ec_us_cm"], "µS/cm", "Conductivity")
    for key, ion in analytes().items():
        label = ion.name.capitalize()
        if key in water.mg_l:
            read(f"{key}_mg_l", water.mg_l[key], "mg/L", label)
        elif key in water.below_mg_l:
            read(f"{key}_mg_l", None, "mg/L", label, below=water.below_mg_l[key])
    _enter_fractions(ledger, water)
    _enter_properties(ledger, water)


# What a flag says of the origin of a figure that no laboratory printed.
NOT_PRINTED: Mapping[str, tuple[Origin, str]] = {
    "hardness_split_assumed": ("assumed", "split of the total hardness, an assumption"),
    "hardness_difference": ("calculated", "total hardness less the rest of it"),
    "site_value_used": ("chosen", "from the site file"),
}


def _mark_laid_over(ledger: Ledger, water: WaterAnalysis) -> None:
    for flag in water.flags:
        if flag.code not in NOT_PRINTED or flag.figure is None:
            continue
        origin, method = NOT_PRINTED[flag.code]
        split = flag.code == "hardness_split_assumed"
        for key in ("water.ca_mg_l", "water.mg_mg_l") if split else (flag.figure,):
            if key in ledger:
                ledger.amend(key, origin=origin, method=method, evidence="common practice")
                if origin == "calculated":
                    ledger.rests(key, held=True)


def _enter_fractions(ledger: Ledger, water: WaterAnalysis) -> None:
    read = _reader(ledger)
    for key, name in METALS.items():
        if key in water.total_mg_l:
            read(f"{key}_total_mg_l", water.total_mg_l[key], "mg/L", f"{name}, total")
        if key in water.dissolved_mg_l:
            read(f"{key}_dissolved_mg_l", water.dissolved_mg_l[key], "mg/L", f"{name}, dissolved")


PROPERTY_LABELS = {
    "turbidity_ntu": ("Turbidity", "NTU"),
    "toc_mg_l": ("Total organic carbon", "mg/L"),
    "h2s_mg_l": ("Hydrogen sulfide", "mg/L"),
    "free_chlorine_mg_l": ("Free chlorine", "mg/L"),
    "total_chlorine_mg_l": ("Total chlorine", "mg/L"),
    "oxygen_mg_l": ("Dissolved oxygen", "mg/L"),
    "sdi": ("Silt density index", "%/min"),
    "hardness_mg_l_caco3": ("Hardness as printed", "mg/L as CaCO3"),
    "ph_lab": ("pH, laboratory", "-"),
    "ph_field": ("pH, field", "-"),
    **{t.property: (t.name.capitalize(), t.unit) for t in traces().values()},
}


def _enter_properties(ledger: Ledger, water: WaterAnalysis) -> None:
    present = only_present(water.readings)
    for key, (label, unit) in PROPERTY_LABELS.items():
        if key not in water.properties and key not in water.below_properties:
            continue
        name = "hardness_printed_mg_l_caco3" if key == "hardness_mg_l_caco3" else key
        ledger.put(
            f"water.{name}",
            water.properties.get(key),
            unit,
            f"{label}, present, not counted: at least" if key in present else label,
            origin="measured",
            evidence="printed",
            method="as read from the lab report",
            below=water.below_properties.get(key),
        )


# What a non-detect of these counts as in the train, as a share of its limit: what is compared
# with a maximum stands at the limit, a load like that of the metals at half of it; a well holds
# no chlorine unless somebody doses it.
PROPERTY_SHARES = {
    "h2s_mg_l": 0.5,
    "oxygen_mg_l": 0.5,
    "free_chlorine_mg_l": 0.0,
    "toc_mg_l": 1.0,
    "turbidity_ntu": 1.0,
    "sdi": 1.0,
}


def property_taken(water: WaterAnalysis, key: str) -> float | None:
    """Return what the train is designed for where a property was measured, detected or not.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    key : str
        A key of ``PROPERTY_SHARES``. [-]

    Returns
    -------
    float or None
        The result, a share of the limit of a non-detect, None where not measured. [as named]
    """
    if key in water.properties:
        return water.properties[key]
    limit = water.below_properties.get(key)
    return None if limit is None else limit * PROPERTY_SHARES[key]


def _flag_unseen_properties(ledger: Ledger, water: WaterAnalysis) -> None:
    for key, limit in water.below_properties.items():
        if key not in PROPERTY_SHARES:
            continue
        label, unit = PROPERTY_LABELS[key]
        share = property_taken(water, key)
        taken = f"taken as {shown(share, 3)} {unit}" if share else "taken as absent"
        known = f"below {shown(limit, 3)} {unit}" if limit is not None else "not detected, no limit"
        text = f"{label} is {known}: {taken} where a vessel depends on it"
        ledger.flag(Flag("non_detect", "info" if limit else "caution", text, f"water.{key}"))


def _flag_non_detects(ledger: Ledger, water: WaterAnalysis, basis: WaterBasis) -> None:
    _flag_unseen_properties(ledger, water)
    for key, limit in water.below_mg_l.items():
        if key not in analytes():
            continue
        name = analytes()[key].name
        if limit is None:
            text = f"{name} was not detected and the report gives no limit: taken as absent"
            ledger.flag(Flag("non_detect", "caution", text, f"water.{key}_mg_l"))
            continue
        share = SHARE[basis.non_detects_scaling] if key in AT_LIMIT else SHARE["half"]
        balanced_at = limit * SHARE[basis.non_detects_balance]
        text = (
            f"{name} is below {shown(limit, 3)} mg/L{_printed(water, key)}: taken as "
            f"{shown(limit * share, 3)} mg/L for scaling and {shown(balanced_at, 3)} mg/L in the "
            "ion balance"
        )
        ledger.flag(Flag("non_detect", "info", text, f"water.{key}_mg_l"))


def _printed(water: WaterAnalysis, key: str) -> str:
    """Return the limit as the lab prints it where that reads otherwise than ours."""
    for reading in water.readings:
        if reading.analyte == key and reading.below is not None and reading.factor != 1.0:
            told = " ".join(part for part in (reading.text, reading.unit) if part)
            basis = "" if reading.basis in reading.unit else f" {reading.basis}"
            return f" (printed '{one_line(told)}{basis}')"
    return ""


def _temperatures(ledger: Ledger, water: WaterAnalysis, basis: WaterBasis) -> tuple[float, float]:
    """Enter the temperatures: where pH was measured, and where the plant runs."""
    printed = water.temperature_c
    if printed is not None:
        ledger.put(
            "water.temperature_c",
            printed,
            "°C",
            "Water temperature",
            origin="measured",
            evidence="printed",
            method="as read from the lab report",
        )
    at_lab = water.ph_kind == "lab" or printed is None
    measured = water.ph_temperature_c
    if measured is None:
        measured = LAB_TEMPERATURE_C if at_lab else printed
        if at_lab:
            ledger.flag(
                Flag(
                    "ph_temperature_assumed",
                    "info",
                    "the pH is taken as measured at 25 °C (laboratory); no temperature "
                    "is printed for it",
                    "water.ph",
                )
            )
    measured = LAB_TEMPERATURE_C if measured is None else measured
    operating, origin = basis.operating_temperature_c, "chosen"
    if operating is None:
        operating, origin = printed, "measured"
    if operating is None:
        operating, origin = LAB_TEMPERATURE_C, "assumed"
        ledger.flag(
            Flag(
                "temperature_assumed",
                "caution",
                "no water temperature in the report and none chosen: 25 °C is used, and 5 °C for "
                "silica and the largest backwash flow where no coldest_temperature_c is given; "
                "measure it, scaling and backwash depend on it",
                "water.operating_temperature_c",
            )
        )
    if operating > HOT_C:
        ledger.flag(_hot(operating))
    ledger.put(
        "water.operating_temperature_c",
        operating,
        "°C",
        "Operating temperature",
        origin=origin,
        evidence="printed" if origin == "measured" else "computed",
        method="option or site file, else the report, else 25 °C",
    )
    return measured, operating


@cites("PRACTICE", "highest temperatures of membranes, fibreglass vessels and plastic fittings")
def _hot(operating_c: float) -> Flag:
    return Flag(
        "hot_water",
        "caution",
        f"the operating temperature is {operating_c:g} °C{IN_F}: spiral elements, fibreglass "
        "vessels and plastic caps are usually limited to 40 to 49 °C (common practice): check "
        "the rating of each",
        "water.operating_temperature_c",
    )


def _enter_trail(ledger: Ledger, water: WaterAnalysis) -> None:
    if not water.readings:
        return
    ledger.table(
        Series(
            "water.trail",
            "How each result of the report was read",
            (
                "place",
                "analyte",
                "name",
                "text",
                "unit",
                "basis",
                "fraction",
                "factor",
                "value",
                "below",
                "used",
                "note",
                "read_as",
            ),
            ("-",) * 7 + ("-", "canonical", "canonical", "-", "-", "-"),
            tuple(
                (
                    r.place,
                    r.analyte,
                    r.name,
                    r.text,
                    r.unit,
                    r.basis,
                    r.fraction,
                    r.factor,
                    r.value,
                    r.below,
                    "yes" if r.used else "no",
                    r.note,
                    _read_as(r.analyte),
                )
                for r in water.readings
            ),
            headings=(
                "Where",
                "Key",
                "Name as printed",
                "Value as printed",
                "Unit",
                "Basis",
                "Fraction",
                "Factor",
                "Result",
                "Below",
                "Used",
                "Note",
                "Read as",
            ),
        )
    )


def _read_as(key: str) -> str:
    """Return the name of a result with its unit, for the sheet."""
    return ", ".join(part for part in name_and_unit(key) if part)
