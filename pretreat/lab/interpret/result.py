"""From a printed result to a reading: which analyte, how much, in which unit, with its trail."""

import re
from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.basis import cites
from pretreat.core.errors import AnalysisError, UnitError
from pretreat.core.tables import analytes
from pretreat.core.text import lazy
from pretreat.core.units import temperature_c
from pretreat.core.units.concentration import species_name
from pretreat.core.water import OtherLine, Reading
from pretreat.lab.interpret.measures import (
    ESSENTIAL,
    INTO_ION,
    PLAIN,
    Measure,
    measure,
    usgs_codes,
)
from pretreat.lab.interpret.over_range import is_bound, mark_bounds
from pretreat.lab.interpret.possible import Findings, checked
from pretreat.lab.interpret.result_cell import number_of
from pretreat.lab.interpret.traces import found_alive, is_counted
from pretreat.lab.read.footnotes import noted_basis
from pretreat.lab.read.names import NamedAnalyte, named_analyte
from pretreat.lab.read.numbers import PrintedNumber, is_cell_error, printed_number
from pretreat.lab.read.report import DateCell, FormulaCell, PrintedResult, one_line
from pretreat.lab.read.unit_words import (
    concentration_of,
    is_concentration,
    is_garbled,
    is_unit,
)
from pretreat.lab.read.wording import folded, words

EC_20_C = 20.0  # some labs report conductivity at 20 °C


class Context(Struct, frozen=True):
    """What the whole file says that a single result relies on."""

    decimal: str = "."
    notes: tuple[str, ...] = ()
    unit: str = ""  # of every result that has none of its own
    units: Mapping[str, str] = field(default_factory=dict)  # by analyte, as a person settled them


def asked_units(units: tuple[str, ...]) -> tuple[str, dict[str, str]]:
    """Return the unit asked for all results without one, and those asked for single analytes.

    Parameters
    ----------
    units : tuple of str
        Such as "mg/L" or "Iron=ug/L". [-]

    Returns
    -------
    tuple of str and dict
        General unit, and units by key of the analyte. [-]

    Raises
    ------
    AnalysisError
        If a unit or an analyte is not known.
    """
    general, own = "", {}
    for text in units:
        name, equals, unit = text.rpartition("=")
        key = named_analyte(name.strip()).key if equals else ""
        if not is_unit(unit.strip()) or (equals and not key):
            raise AnalysisError(
                f"--unit '{one_line(text)}' is not understood; write mg/L, or Iron=ug/L"
            )
        if equals:
            own[key] = unit.strip()
        else:
            general = unit.strip()
    return general, own


def interpret(result: PrintedResult, context: Context, findings: Findings) -> None:
    """Add the reading of one printed result, or the remark why there is none.

    Parameters
    ----------
    result : PrintedResult
        The result as printed. [-]
    context : Context
        Decimal mark and notes of the file. [-]
    findings : Findings
        Where reading, remark or fault is added. [-]
    """
    named = _named(result)
    shown = f"{result.place} '{one_line(result.name)}'"
    number = number_of(result, context.decimal)
    if not named.key or named.key == "other":
        if number.kind != "missing":
            findings.remarks.append(("unknown_analyte" if not named.key else "not_used", shown))
            _keep(result, named, number, context, findings)
        return
    bound = is_bound(named.key, number)
    number = _taken(named.key, str(result.text), number, bound=bound)
    if number.kind == "missing" and not str(result.text) and result.doubt:
        findings.remarks.append(("doubtful_line", f"{shown} not read: {result.doubt}"))
    if number.kind in {"missing", "word", "date", "above"}:
        _unusable(result, number, shown, findings)
        if (number.kind != "missing" or result.doubt) and named.key not in SEEN:
            findings.unread.setdefault(named.key, _line_of(result))
        _keep(result, named, number, context, findings)
        return
    start = len(findings.readings)
    try:
        _measured(result, named, number, context, findings)
    except UnitError as problem:
        _unknown_unit(result, named.key, shown, problem, findings)
        findings.unread.setdefault(named.key, _line_of(result))
        _keep(result, named, number, context, findings)
    if bound:
        mark_bounds(findings, start, f"{shown}: '{one_line(result.text)}'")


def _taken(key: str, text: str, number: PrintedNumber, *, bound: bool) -> PrintedNumber:
    """Return the number that a result over the range, or a germ that was found, counts as."""
    if found_alive(key, text):
        return PrintedNumber("value", 1.0)
    if bound:
        return replace(number, kind="value", qualifier="")
    if number.kind == "above" and number.number is not None and is_counted(key):
        return replace(number, kind="value")
    return number


def _line_of(result: PrintedResult) -> str:
    """Return a line as a person would look it up: its place, and how it begins."""
    return f"{result.place} '{one_line(result.line or result.name, LONGEST_SHOWN)}'"


LONGEST_SHOWN = 60  # letters of a line
JUDGED = frozenset({"free_chlorine", "total_chlorine", "h2s", "toc", "sdi"})
SEEN = frozenset({"color", "turbidity"})  # a word of them is what somebody saw
_UNIT_IN_NAME = lazy(r"[\[(]([^()\[\]]+)[\])]\s*$")


def _keep(
    result: PrintedResult,
    named: NamedAnalyte,
    number: PrintedNumber,
    context: Context,
    findings: Findings,
) -> None:
    """Keep a result that no reading is made of: what was found, or how little could be."""
    known = named.key in analytes() or named.key in JUDGED
    told = number.kind in {"value", "word", "above"} or (number.kind == "below" and not known)
    seen = named.key in SEEN and number.kind == "word"
    if not told or not (known or seen or named.key in {"", "other"}):
        return
    inside = _UNIT_IN_NAME.search(result.name)
    own = inside[1] if inside and is_unit(inside[1]) else ""
    unit = number.unit or result.unit or named.unit or own or context.unit
    value = number.number if number.kind in {"value", "above"} else None
    below = number.number if number.kind == "below" else None
    name, text = one_line(result.name), one_line(str(result.text))
    findings.others.append(
        OtherLine(name, text, one_line(unit), value, number.kind == "above", known, below)
    )


def _named(result: PrintedResult) -> NamedAnalyte:
    """Return what the name says, helped by the parameter code and the other columns."""
    return _named_by(result.name, result.code.strip(), result.detail, result.fraction)


@lru_cache(maxsize=4096)
def _named_by(name: str, number: str, beside: str, fraction: str) -> NamedAnalyte:
    named = named_analyte(name) if name else NamedAnalyte()
    code = usgs_codes().get(number.zfill(5)) if number else None
    if code is not None:
        coarse = named.key in {"", "tds"}
        named = replace(
            named,
            key=code["key"] if coarse else named.key,
            basis=named.basis if not coarse else code["basis"],
            fraction=named.fraction or code["fraction"],
            measured_in=named.measured_in or code["measured_in"],
            unit=named.unit or (code["unit"] if not name or coarse else ""),
        )
    detail = folded(beside)
    measured_in = named.measured_in or next(
        (
            place
            for place in ("field", "lab")
            if any(word in detail for word in words(place) if len(word) > 2)
        ),
        "",
    )
    return replace(named, measured_in=measured_in, fraction=_fraction(fraction) or named.fraction)


def _fraction(text: str) -> str:
    """Return "dissolved", "total" or "" for a printed fraction."""
    bare = folded(text)
    if not bare:
        return ""
    for meaning in ("dissolved", "total"):
        if bare in words(meaning):
            return meaning
    if bare.startswith(("filtered", "dissolved")):
        return "dissolved"
    return "total" if bare.startswith(("unfiltered", "total", "recoverable")) else ""


def _unusable(result: PrintedResult, number: PrintedNumber, shown: str, findings: Findings) -> None:
    if number.kind == "date":
        kind = "date" if isinstance(result.text, DateCell) else "date-like text"
        findings.remarks.append(
            ("cell_is_date", f"{shown}: the cell holds the {kind} {one_line(result.text)}")
        )
    elif number.kind == "above":
        findings.remarks.append(("over_range_no_bound", f"{shown}: '{one_line(result.text)}'"))
    elif isinstance(result.text, FormulaCell):
        findings.remarks.append(("formula_without_value", f"{shown}: {one_line(result.text)}"))
    elif is_cell_error(result.text):
        findings.remarks.append(("cell_error", f"{shown}: {one_line(result.text)}"))
    elif number.kind == "word":
        findings.remarks.append(("not_a_number", f"{shown}: '{one_line(result.text)}'"))
    elif not result.header or result.text.strip():
        findings.remarks.append(
            ("left_blank", f"{shown}{': ' + repr(one_line(result.text)) if result.text else ''}")
        )


def _measured(
    result: PrintedResult,
    named: NamedAnalyte,
    number: PrintedNumber,
    context: Context,
    findings: Findings,
) -> None:
    key = named.key
    from_limit = number.kind == "below" and not printed_number(result.text, context.decimal).number
    unit = number.unit or (result.limit_unit if from_limit else "") or result.unit or named.unit
    unit = "" if unit.strip() in {"-", "—", "None"} else unit.strip()
    if number.unit and result.unit.strip().upper() == _MADE_OF.get(named.key):
        unit = f"{unit} {result.unit.strip()}"  # "0.7 mg/L | N" of a print cut between the two
    unit = _with_species(unit, named.unit)
    of_limit = from_limit and bool(number.unit or result.limit_unit)  # not the result's unit
    if not of_limit and _conflict(unit, named.unit, key) and key not in context.units:
        text = f"{result.place} '{one_line(result.name)}': {one_line(unit)} is used"
        findings.remarks.append(("unit_conflict", text))
    if not unit and key not in PLAIN and key not in {"ec", "temperature"}:
        unit = context.unit
    unit = context.units.get(key, unit)
    if unit == "%":
        findings.remarks.append(("not_used", f"{result.place} '{one_line(result.name)}' in %"))
        return
    basis, noted = _basis(result, named, context)
    how = _at_25_c(measure(key, unit, basis), named)
    if key == "ec" and named.at_c == EC_20_C:
        findings.remarks.append(
            ("ec_at_20_c", f"{result.place} '{one_line(result.name)}': '{one_line(result.text)}'")
        )
    if is_garbled(unit):
        text = f"{result.place} '{one_line(result.name)}': '{unit}' read as {how.unit}"
        findings.remarks.append(("garbled_unit", text))
    _add(result, named, number, replace(how, assumed=how.assumed or noted), findings)


def _with_species(used: str, named: str) -> str:
    """Return the unit in the name where it is the same unit and says what it is "as"."""
    if not (named and used != named and is_concentration(used) and is_concentration(named)):
        return used
    bare, full = concentration_of(used), concentration_of(named)
    more = full.kind == "as CaCO3" or full.species is not None
    same = bare.kind == "mass" and bare.species is None and bare.factor == full.factor
    return named if more and same else used


def _conflict(used: str, named: str, key: str) -> bool:
    """Tell whether the unit in a name says something else than the unit beside the result."""
    if not (named and is_concentration(used) and is_concentration(named)):
        return False
    return measure(key, used, "").factor != measure(key, named, "").factor


@cites("DIN27888", "temperature compensation, factor at 20 °C")
def _at_25_c(how: Measure, named: NamedAnalyte) -> Measure:
    """Lead a conductivity that is named at 20 °C to 25 °C."""
    if named.key != "ec" or named.at_c != EC_20_C or how.factor is None:
        return how
    return replace(how, factor=how.factor * 1.116)


def _basis(result: PrintedResult, named: NamedAnalyte, context: Context) -> tuple[str, str]:
    """Return the basis: its own column, else the name, else a note; and what was assumed."""
    text = re.sub(r"^(?:as|als)\s+", "", result.basis.strip(), flags=re.IGNORECASE)
    if text:
        species = species_name(text)
        if species:
            return species, ""
    noted = noted_basis(named, context.notes)
    if noted:
        return noted, ""
    spoken = re.search(
        r"(?i)\bas n\b|\(n\)|-n\b|nitrogen|azot|stickstoff", result.name + result.unit
    )
    unsaid = named.key == "no3_no2" and not spoken and not result.code
    return named.basis, "as N" if unsaid else ""


def _add(
    result: PrintedResult,
    named: NamedAnalyte,
    number: PrintedNumber,
    how: Measure,
    findings: Findings,
) -> None:
    value = _converted(number.number, how)
    key = INTO_ION.get(named.key, (named.key, ""))[0]
    below = number.kind == "below"
    reading = Reading(
        place=result.place,
        analyte=key,
        name=result.name,
        text=str(result.text) or result.limit,
        unit=how.unit,
        basis=f"as {how.basis}" if how.basis else "",
        fraction=_state(named),
        factor=None if found_alive(named.key, str(result.text)) else how.factor,
        value=None if below else value,
        below=value if below and value else None,
        note=_note(result, named, number, how),
    )
    if value is not None and not below:
        reading = checked(reading, key, findings)
    if number.odd_mark:
        findings.remarks.append(
            (
                "mixed_decimal",
                f"{result.place} '{one_line(result.name)}': '{one_line(result.text)}'",
            )
        )
    if named.by_symbol:
        findings.remarks.append(("named_by_symbol", f"{result.place} '{one_line(result.name)}'"))
    if doubt := result.doubt or _element_as_mark(result, named, number, how):
        shown = f"{result.place} '{one_line(result.name)}' read as {one_line(result.text)}"
        findings.remarks.append(("doubtful_line", f"{shown}: {doubt}"))
    if how.assumed.startswith("as CaCO3 with"):
        findings.remarks.append(("weak_acid_as_caco3", f"{result.place} '{one_line(result.name)}'"))
    findings.readings.append(reading)


def _state(named: NamedAnalyte) -> str:
    if named.key in {"ph", "ec", "temperature", "turbidity"}:
        return named.measured_in
    return named.fraction


def _converted(number: float | None, how: Measure) -> float | None:
    if number is None:
        return None
    return number * how.factor if how.factor is not None else temperature_c(number, how.unit)


def _limit_taken(result: PrintedResult, number: PrintedNumber) -> bool:
    """Tell whether a non-detect has its limit from another cell."""
    return number.number is not None and printed_number(result.text).number is None


def _note(result: PrintedResult, named: NamedAnalyte, number: PrintedNumber, how: Measure) -> str:
    """Collect what a reader of the trail should know, "; " between."""
    qualifier = number.qualifier or (result.qualifier if number.kind == "value" else "")
    parts = [
        f"named {named.key}" if named.key in INTO_ION else "",
        f"limit {result.limit}" if number.kind == "below" and _limit_taken(result, number) else "",
        f"assumed {how.assumed}" if how.assumed else "",
        f"qualifier {qualifier.strip('[]() ')}" if qualifier and number.kind == "value" else "",
        "approximate" if number.approximate else "",
        f"at {named.at_c:g} °C" if named.at_c is not None else "",
        "known by its symbol only" if named.by_symbol else "",
        f"doubt {result.doubt}" if result.doubt else "",
        "column guessed by its content" if result.guessed else "",
    ]
    return "; ".join(part for part in parts if part)


_MADE_OF = MappingProxyType(
    {"no3": "N", "no2": "N", "nh4": "N", "no3_no2": "N", "po4": "P", "so4": "S", "sio2": "SI"}
)


def _element_as_mark(
    result: PrintedResult, named: NamedAnalyte, number: PrintedNumber, how: Measure
) -> str:
    """Return a doubt where a letter that seems a mark may be a basis, as the N of "mg/L N"."""
    mark = (number.qualifier or result.qualifier).strip("[]() ").upper()
    if not mark or mark != _MADE_OF.get(named.key) or how.basis:
        return ""
    return f"the mark '{mark}' may say that it is expressed as {mark.title()}"


_REMEDY = {
    "ec": "; write it in µS/cm or mS/cm. A meter that shows ppm or mg/L has multiplied the "
    "conductivity by a factor of its own, 0.5 to 0.7: set it to µS/cm",
}


def _unknown_unit(
    result: PrintedResult, key: str, shown: str, problem: UnitError, findings: Findings
) -> None:
    text = f"{shown}, unit '{one_line(result.unit)}': {one_line(str(problem), 200)}"
    if key in analytes() or key in ESSENTIAL:
        findings.remarks.append(("row_dropped", text))
    else:
        findings.remarks.append(("unknown_unit", text + _REMEDY.get(key, "")))
