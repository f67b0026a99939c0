"""Documents that are no study, by hand: one line that names the place, never a traceback."""

import contextlib
import json

import pytest

from pretreat.core.errors import PretreatError
from pretreat.core.results import from_json, to_json
from pretreat.lab import read_analysis
from pretreat.report.workbook.book import workbook_bytes
from pretreat.study import run_check
from tests.cli.conftest import ANALYSES

STUDY = json.loads(to_json(run_check(read_analysis(ANALYSES / "drover_flat.csv"))))
KEY = "water.ph"
SERIES = next(iter(STUDY["series"]))


def tree():
    return json.loads(json.dumps(STUDY))


def refused(text):
    with pytest.raises(PretreatError) as caught:
        from_json(text)
    (fault,) = caught.value.faults
    assert fault.isprintable()
    assert len(fault) < 1000
    return fault


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "{", "[]", "null", "1", '"x"', "{}", "nan", "NaN", "[" * 100_000, '{"a":' * 100_000,
        '{"schema": "pretreat-study-1"}', '{"schema": 1}', '{"schema": null}', "\x00", "\ufeff{}",
        '{"schema": "pretreat-study-1", "figures": [], "series": {}, "flags": []}',
        '{"schema": "pretreat-study-1", "figures": {}, "series": {}, "flags": {}}',
        '{"schema": "pretreat-study-1", "figures": {"a.b": 1}, "series": {}, "flags": []}',
        '{"schema": "pretreat-study-1", "figures": {}, "series": {"a.b": 1}, "flags": []}',
        '{"schema": "pretreat-study-1", "figures": {}, "series": {}, "flags": [1]}',
        '{"schema": "pretreat-study-1", "figures": {}, "series": {}, "flags": [{"code": "x"}]}',
    ],
)  # fmt: skip
def test_no_document(text):
    assert "not a study in JSON" in refused(text)


WRONG = [True, [], {}, "9" * 30_000, 1e300, -1e200, [[]], {"a": 1}]


@pytest.mark.parametrize("part", list(STUDY["figures"][KEY]))
@pytest.mark.parametrize("number", range(len(WRONG)))
def test_wrong_parts_of_a_figure(part, number):
    document = tree()
    value = WRONG[number]
    if isinstance(value, list) and part in {"cites", "inputs", "flags"} and value == []:
        pytest.skip("an empty list is right here")
    document["figures"][KEY][part] = value
    assert part in refused(json.dumps(document)) or part == "value"


@pytest.mark.parametrize("part", list(STUDY["series"][SERIES]))
@pytest.mark.parametrize("number", range(len(WRONG)))
def test_wrong_parts_of_a_series(part, number):
    value = WRONG[number]
    if value == [] and part in {"cites", "headings", "rows"}:
        pytest.skip("an empty list is right here")
    document = tree()
    document["series"][SERIES][part] = value
    assert SERIES in refused(json.dumps(document))


@pytest.mark.parametrize("name", ["NaN", "Infinity", "-Infinity", "1e999", "-1e999", "9" * 400])
def test_numbers_that_are_none(name):
    text = json.dumps(STUDY)
    value = json.dumps(STUDY["figures"][KEY]["value"])
    assert f'"value": {value}, "unit"' in text
    refused(text.replace(f'"value": {value}, "unit"', f'"value": {name}, "unit"', 1))


def test_missing_parts():
    for part in ("value", "below", "formula", "p10"):
        document = tree()
        document["figures"][KEY].pop(part, None)
        from_json(json.dumps(document))  # what may be missing
    for part in ("unit", "label", "origin", "evidence", "method", "cites", "inputs", "flags"):
        document = tree()
        del document["figures"][KEY][part]
        assert part in refused(json.dumps(document))


@pytest.mark.parametrize("key", ["", "A.b", "../x", "a b", "a" * 200, "\x1b", "water.ph\n", "1.a"])
def test_keys_that_are_none(key):
    for kind in ("figures", "series"):
        document = tree()
        document[kind][key] = next(iter(document[kind].values()))
        refused(json.dumps(document))


def test_rows_that_do_not_fit():
    document = tree()
    document["series"][SERIES]["rows"].append([1.0])
    assert "cells under" in refused(json.dumps(document))


def test_figures_that_rest_on_themselves():
    document = tree()
    figures = document["figures"]
    first, second, *_ = (k for k, f in figures.items() if isinstance(f["value"], float))
    for own, other in ((first, second), (second, first)):
        figures[own]["formula"] = f"{{{other}}}+1"
        figures[own]["inputs"] = [other]
        figures[own]["origin"] = "calculated"
    assert "rests on" in refused(json.dumps(document))


def test_text_that_would_command_is_cleaned():
    document = tree()
    document["figures"][KEY]["label"] = "a\x1b[31m\ud800\u202eb\x00"
    document["flags"].append({"code": "x", "level": "info", "text": "\x9b\ud800", "figure": None})
    study = from_json(json.dumps(document))
    assert study[KEY].label.isprintable()
    assert study.flags[-1].text.isprintable()
    assert workbook_bytes(study)[:2] == b"PK"


@pytest.mark.parametrize(
    "formula", ["WEBSERVICE(1)", "1+", "IF(", '"' * 5, "{a.b}", "((((", "1 2 3", "=" * 9]
)
def test_formulas_by_hand(formula):
    """What is no arithmetic is refused; arithmetic that a spreadsheet cannot read stays out."""
    document = tree()
    document["figures"][KEY] |= {"formula": formula, "origin": "calculated"}
    with contextlib.suppress(PretreatError):
        workbook_bytes(from_json(json.dumps(document)))
