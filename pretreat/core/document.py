"""A study in JSON, read back with every part looked at: types, sizes and sound numbers."""

import json
import math
from collections.abc import Callable, Mapping
from typing import Any, NoReturn, get_args

from pretreat.core.basis import Evidence, Figure, Flag, Level, Origin, Series, Value
from pretreat.core.errors import PretreatError
from pretreat.core.text import lazy, plain_text, quoted

LONGEST_TEXT = 20_000  # characters; the worked lines of large sums are the longest
MOST_FIGURES, MOST_SERIES, MOST_FLAGS = 20_000, 500, 20_000
MOST_CELLS = 2_000_000
MOST_COLUMNS = 500
LARGEST = 1e100  # beyond it no figure of a plant is true, and pages show it as rubbish
_KEY = lazy(r"[a-z][a-z0-9_]*(\.[a-z0-9_]+)*")
LONGEST_KEY = 120
Parts = tuple[dict[str, Figure], dict[str, Series], tuple[Flag, ...]]


def read_document(text: str, schema: str) -> Parts:
    """Read the parts of a study.

    Parameters
    ----------
    text : str
        JSON text. [-]
    schema : str
        The schema that it must name. [-]

    Returns
    -------
    tuple
        Figures and series by key, and flags. [-]

    Raises
    ------
    PretreatError
        If the text is no JSON, or any part of it is not what a study holds; the place is named.
    """
    document = _object(_loaded(text), "the document")
    if document.get("schema") != schema:
        _refuse("schema", f"is {quoted(document.get('schema'))}, this version reads {schema}")
    figures = _object(document.get("figures"), "figures", MOST_FIGURES)
    series = _object(document.get("series"), "series", MOST_SERIES)
    flags = _list(document.get("flags"), "flags", MOST_FLAGS)
    read = {_key(k, "figures"): _figure(k, v) for k, v in figures.items()}
    cells = [0]
    tables = {_key(k, "series"): _series(k, v, cells) for k, v in series.items()}
    said = tuple(_flag(item, f"flags[{i}]") for i, item in enumerate(flags))
    _no_circles(read)
    return read, tables, said


def _refuse(where: str, why: str) -> NoReturn:
    raise PretreatError(f"not a study in JSON: {where} {why}")


def _loaded(text: str) -> Any:
    def constant(name: str) -> NoReturn:
        _refuse("it", f"holds {name}, which is no number of JSON")

    try:
        return json.loads(text, parse_constant=constant, parse_int=float)
    except RecursionError:
        _refuse("it", "nests lists or objects too deep")
    except json.JSONDecodeError as problem:
        _refuse(f"line {problem.lineno}, column {problem.colno}:", f"{problem.msg}")
    except ValueError as problem:
        _refuse("it", f"cannot be read ({plain_text(str(problem))[:100]})")


def _object(value: Any, where: str, most: int = MOST_FIGURES) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        _refuse(where, "is missing or no object")
    if len(value) > most:
        _refuse(where, f"holds more than {most:,} entries")
    return value


def _list(value: Any, where: str, most: int) -> list[Any]:
    if not isinstance(value, list):
        _refuse(where, "is missing or no list")
    if len(value) > most:
        _refuse(where, f"holds more than {most:,} entries")
    return value


def _key(key: str, where: str) -> str:
    if len(key) > LONGEST_KEY or not _KEY.fullmatch(key):
        what = "name for a table" if where == "series" else "key"
        _refuse(where, f"holds {quoted(key)}, which is no {what}")
    return key


def _text(value: Any, where: str) -> str:
    if not isinstance(value, str):
        _refuse(where, "is missing or no text")
    if len(value) > LONGEST_TEXT:
        _refuse(where, f"is longer than {LONGEST_TEXT:,} characters")
    return plain_text(value)


def _number(value: Any, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, float):
        _refuse(where, "is no number")
    if not math.isfinite(value) or abs(value) > LARGEST:
        _refuse(where, f"is {value:g}, beyond {LARGEST:g}")
    return value


def _value(value: Any, where: str) -> Value:
    if value is None or isinstance(value, str):
        return None if value is None else _text(value, where)
    return _number(value, where)


def _cell(value: Any, where: str) -> Value:
    return value if isinstance(value, bool) else _value(value, where)


def _maybe(read: Callable[[Any, str], Any], body: Mapping[str, Any], name: str, where: str) -> Any:
    found = body.get(name)
    return None if found is None else read(found, f"{where}.{name}")


def _texts(body: Mapping[str, Any], name: str, where: str, most: int) -> tuple[str, ...]:
    place = f"{where}.{name}"
    return tuple(_text(item, place) for item in _list(body.get(name), place, most))


def _one_of(body: Mapping[str, Any], name: str, where: str, known: tuple[str, ...]) -> Any:
    found = _text(body.get(name), f"{where}.{name}")
    if found not in known:
        _refuse(f"{where}.{name}", f"is {quoted(found)}; it must be one of {', '.join(known)}")
    return found


def _figure(key: str, given: Any) -> Figure:
    where = f"figures.{quoted(key)[1:-1]}"
    body = _object(given, where)
    return Figure(
        key=key,
        value=_value(body.get("value"), f"{where}.value"),
        unit=_text(body.get("unit"), f"{where}.unit"),
        label=_text(body.get("label"), f"{where}.label"),
        origin=_one_of(body, "origin", where, get_args(Origin)),
        evidence=_one_of(body, "evidence", where, get_args(Evidence)),
        method=_text(body.get("method"), f"{where}.method"),
        cites=_texts(body, "cites", where, MOST_COLUMNS),
        inputs=_texts(body, "inputs", where, MOST_FIGURES),
        flags=_texts(body, "flags", where, MOST_COLUMNS),
        formula=_maybe(_text, body, "formula", where),
        below=_maybe(_number, body, "below", where),
        p10=_maybe(_number, body, "p10", where),
        p90=_maybe(_number, body, "p90", where),
        worked=_maybe(_text, body, "worked", where),
    )


def _series(key: str, given: Any, cells: list[int]) -> Series:
    where = f"series.{quoted(key)[1:-1]}"
    body = _object(given, where)
    columns = _texts(body, "columns", where, MOST_COLUMNS)
    units = _texts(body, "units", where, MOST_COLUMNS)
    headings = _texts(body, "headings", where, MOST_COLUMNS)
    if not columns or len(units) != len(columns) or len(headings) not in {0, len(columns)}:
        _refuse(where, "has no columns, or units and headings that do not fit them")
    if len(set(columns)) != len(columns):
        _refuse(f"{where}.columns", "name a column twice")
    rows = []
    for number, row in enumerate(_list(body.get("rows"), f"{where}.rows", MOST_CELLS)):
        place = f"{where}.rows[{number}]"
        if len(_list(row, place, MOST_COLUMNS)) != len(columns):
            _refuse(place, f"has {len(row)} cells under {len(columns)} columns")
        cells[0] += len(row)
        if cells[0] > MOST_CELLS:
            _refuse("series", f"hold more than {MOST_CELLS:,} cells")
        rows.append(tuple(_cell(item, place) for item in row))
    return Series(
        key=key,
        label=_text(body.get("label"), f"{where}.label"),
        columns=columns,
        units=units,
        headings=headings,
        method=_text(body.get("method"), f"{where}.method"),
        cites=_texts(body, "cites", where, MOST_COLUMNS),
        rows=tuple(rows),
    )


def _flag(given: Any, where: str) -> Flag:
    body = _object(given, where)
    return Flag(
        code=_text(body.get("code"), f"{where}.code"),
        level=_one_of(body, "level", where, get_args(Level)),
        text=_text(body.get("text"), f"{where}.text"),
        figure=_maybe(_text, body, "figure", where),
    )


def _no_circles(figures: Mapping[str, Figure]) -> None:
    """Refuse figures that rest on themselves: their cells would."""
    state: dict[str, int] = {}  # 1 on the way, 2 done
    for start in figures:
        pending = [start]
        while pending:
            key = pending[-1]
            if state.get(key, 0) == 0:
                state[key] = 1
                for source in figures[key].inputs:
                    if source in figures and figures[source].formula is not None:
                        if state.get(source) == 1:
                            _refuse(f"figures.{key}", f"rests on {source}, which rests on it")
                        if source not in state:
                            pending.append(source)
            else:
                state[key] = 2
                pending.pop()
