"""Our own files: the blank analysis form, and an analysis written so that it reads back equal."""

import csv
import io
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pretreat.core.doors import csv_text, replace_file
from pretreat.core.errors import AnalysisError, PretreatError
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis

_MASS = ("mg/L", "µg/L", "meq/L", "mmol/L", "mg/L as CaCO3")
_NEUTRAL = ("mg/L", "µg/L", "mmol/L")
_NITROGEN = ("mg/L", "mg/L as N", "µg/L", "meq/L", "mmol/L")
_HARDNESS = ("mg/L as CaCO3", "gpg", "°dH", "°fH", "meq/L", "mmol/L")
_UNITS = MappingProxyType(
    {
        "nh4": _NITROGEN,
        "no3": _NITROGEN,
        "no2": _NITROGEN,
        "po4": ("mg/L", "mg/L as P", "µg/L", "mmol/L"),
        "sio2": ("mg/L", "mg/L as Si", "µg/L", "mmol/L"),
        "b": _NEUTRAL,
        "as": ("µg/L", "mg/L"),
    }
)
# Rows of the form that are not one ion: name, units offered, hint.
_FIRST: tuple[tuple[str, tuple[str, ...], str], ...] = (
    ("pH (field)", ("pH units",), "measured at the well; CO2 escapes on the way to the lab"),
    ("pH (lab)", ("pH units",), ""),
    ("Temperature", ("°C", "°F"), "at the well"),
    ("Conductivity", ("µS/cm", "mS/cm", "dS/m", "mS/m"), "at 25 °C"),
    ("Total dissolved solids", ("mg/L", "g/L"), "residue at 180 °C"),
    (
        "Alkalinity",
        ("mg/L as CaCO3", "mg/L as HCO3", "meq/L", "mmol/L", "°fH", "°dH"),
        "total, to pH 4.3",
    ),
    ("Hardness", _HARDNESS, "total; only needed where calcium and magnesium are not given"),
)
_LAST: tuple[tuple[str, tuple[str, ...], str], ...] = (
    ("Turbidity", ("NTU", "FNU"), ""),
    ("Silt density index", ("%/min",), "SDI15"),
    ("Total organic carbon", ("mg/L",), ""),
    ("Hydrogen sulfide", ("mg/L", "µg/L"), "at the well"),
    ("Free chlorine", ("mg/L",), ""),
)
_TWICE = ("fe", "mn", "al")
_HINTS = MappingProxyType(
    {
        "ba": "detection limit 0.005 mg/L or lower, please",
        "sr": "matters where sulfate is high",
        "sio2": "reactive silica",
        "hco3": "leave blank where alkalinity is given",
        "co3": "leave blank where alkalinity is given",
    }
)

# How a property is written so that it reads back: name and unit.
_PROPERTIES: MappingProxyType[str, tuple[str, str]] = MappingProxyType(
    {
        "ec_us_cm": ("Conductivity", "µS/cm"),
        "tds_mg_l": ("Total dissolved solids", "mg/L"),
        "tds_sum_mg_l": ("Total dissolved solids, calculated as a sum", "mg/L"),
        "turbidity_ntu": ("Turbidity", "NTU"),
        "toc_mg_l": ("Total organic carbon", "mg/L"),
        "h2s_mg_l": ("Hydrogen sulfide", "mg/L"),
        "co2_mg_l": ("Carbon dioxide", "mg/L"),
        "free_chlorine_mg_l": ("Free chlorine", "mg/L"),
        "total_chlorine_mg_l": ("Total chlorine", "mg/L"),
        "oxygen_mg_l": ("Dissolved oxygen", "mg/L"),
        "tss_mg_l": ("Total suspended solids", "mg/L"),
        "phosphorus_mg_l": ("Total phosphorus", "mg/L as P"),
        "sdi": ("Silt density index", ""),
        "color_pt_co": ("Color", "Pt-Co"),
        "orp_mv": ("Redox potential", "mV"),
        "hardness_mg_l_caco3": ("Hardness", "mg/L as CaCO3"),
        "ecoli_cfu_100_ml": ("E. coli", "CFU/100 mL"),
        "coliform_cfu_100_ml": ("Total coliforms", "CFU/100 mL"),
    }
)


def write_form(path: Path) -> None:
    """Write the blank analysis form as a workbook; an existing file is replaced whole.

    Parameters
    ----------
    path : Path
        Where the workbook goes. [-]

    Raises
    ------
    AnalysisError
        If it cannot be written.
    """
    _put(path, form_bytes())


def _form_rows() -> Iterator[tuple[str, tuple[str, ...], str]]:
    yield from _FIRST
    for key, analyte in analytes().items():
        units = _UNITS.get(key, _MASS if analyte.charge else _NEUTRAL)
        name = analyte.name.capitalize()
        if key in _TWICE:
            yield f"{name}, total", units, ""
            yield f"{name}, dissolved", units, "filtered at the well"
        else:
            yield name, units, _HINTS.get(key, "")
    yield from _LAST


def form_bytes() -> bytes:
    """Return the blank analysis form as the bytes of a workbook."""
    import xlsxwriter

    memory = io.BytesIO()
    book = xlsxwriter.Workbook(
        memory, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    )
    add_analysis_sheet(book)
    book.close()
    return memory.getvalue()


def add_analysis_sheet(book: Any) -> None:
    """Add the blank form of an analysis to a workbook.

    Parameters
    ----------
    book : Workbook
        Workbook being written. [-]
    """
    sheet = book.add_worksheet("Analysis")
    _head(book, sheet)
    plain = book.add_format({"locked": True, "border": 1})
    entry = book.add_format({"locked": False, "border": 1, "bg_color": "#FFF9DB"})
    hint = book.add_format({"italic": True, "font_color": "#666666"})
    for row, (name, units, text) in enumerate(_form_rows(), start=_FIRST_ROW):
        sheet.write_string(row, 0, name, plain)
        sheet.write_blank(row, 1, None, entry)
        sheet.write_string(row, 2, units[0], entry)
        sheet.data_validation(row, 2, row, 2, {"validate": "list", "source": list(units)})
        sheet.write_string(row, 3, text, hint)
    sheet.set_column(0, 0, 30)
    sheet.set_column(1, 2, 16)
    sheet.set_column(3, 3, 60)
    sheet.freeze_panes(_FIRST_ROW, 0)
    sheet.fit_to_pages(1, 1)


def _put(path: Path, content: bytes) -> None:
    if not path.parent.is_dir():
        raise AnalysisError(f"{path} cannot be written: its folder does not exist")
    try:
        replace_file(path, content)
    except PretreatError as problem:
        raise AnalysisError(*problem.faults) from None


_FIRST_ROW = 8
_HELP = (
    "Type what the lab printed, one result per line; choose its unit from the list. "
    "Nothing is converted here.",
    "Not detected: type < and the limit, for example <0.005. Not measured: leave blank.",
)


def _head(book: Any, sheet: Any) -> None:
    title = book.add_format({"bold": True, "font_size": 14})
    head = book.add_format({"bold": True, "bottom": 2, "bg_color": "#DDEBF7"})
    entry = book.add_format({"border": 1, "bg_color": "#FFF9DB"})
    sheet.write_string(0, 0, "Water analysis", title)
    sheet.write_string(1, 0, _HELP[0])
    sheet.write_string(2, 0, _HELP[1])
    for row, label in ((4, "Sample"), (5, "Date")):
        sheet.write_string(row, 0, label)
        sheet.write_blank(row, 1, None, entry)
    for column, text in enumerate(("Parameter", "Result", "Unit", "Note")):
        sheet.write_string(_FIRST_ROW - 1, column, text, head)


def write_analysis_csv(water: WaterAnalysis, path: Path) -> None:
    """Write an analysis in canonical units so that reading it gives the same water.

    Parameters
    ----------
    water : WaterAnalysis
        The water. [-]
    path : Path
        Where the CSV goes (UTF-8). [-]

    Raises
    ------
    AnalysisError
        If it cannot be written.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(("sample", "date", "parameter", "fraction", "result", "unit"))
    for row in _csv_rows(water):
        writer.writerow((neutral(water.sample), neutral(water.date), *row))
    _put(path, text.getvalue().encode("utf-8", "replace"))


def neutral(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula."""
    return csv_text(text)


def _csv_rows(water: WaterAnalysis) -> Iterable[tuple[str, str, str, str]]:
    yield from _ph_rows(water)
    if water.temperature_c is not None:
        yield "Temperature", "", repr(water.temperature_c), "°C"
    if water.alkalinity_mg_l_caco3 is not None:
        yield "Alkalinity", "", repr(water.alkalinity_mg_l_caco3), "mg/L as CaCO3"
    for key in analytes():
        yield from _ion_rows(water, key)
    for key, (name, unit) in _PROPERTIES.items():
        if key in water.properties:
            yield name, "", repr(water.properties[key]), unit
        elif key in water.below_properties:
            limit = water.below_properties[key]
            yield name, "", "ND" if limit is None else f"<{limit!r}", unit


def _ph_rows(water: WaterAnalysis) -> Iterable[tuple[str, str, str, str]]:
    places = [place for place in ("field", "lab") if f"ph_{place}" in water.properties]
    for place in places:
        yield f"pH ({place})", "", repr(water.properties[f"ph_{place}"]), "pH units"
    if not places and water.ph is not None:
        yield "pH", "", repr(water.ph), "pH units"


def _ion_rows(water: WaterAnalysis, key: str) -> Iterable[tuple[str, str, str, str]]:
    name = analytes()[key].name.capitalize()
    total, dissolved = water.total_mg_l.get(key), water.dissolved_mg_l.get(key)
    if key in water.below_mg_l:
        limit = water.below_mg_l[key]
        fraction = "dissolved" if total is not None else ""
        yield name, fraction, "ND" if limit is None else f"<{limit!r}", "mg/L"
    elif key in water.mg_l and dissolved is None and total is None:
        yield name, "", repr(water.mg_l[key]), "mg/L"
    if dissolved is not None:
        yield name, "dissolved", repr(dissolved), "mg/L"
    if total is not None:
        yield name, "total", repr(total), "mg/L"
