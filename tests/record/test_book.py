"""The record as a file: nothing committed is lost, nothing is half read."""

import datetime
import multiprocessing
import os
import sys

import pytest

from pretreat.core.errors import OutOfRangeError
from pretreat.record.readings import RecordError, reading
from pretreat.record.store import book
from pretreat.record.store.book import add_readings, line_of, read_book

WHEN = datetime.datetime(2031, 5, 14, 9, 30)


def taken(number, note=None):
    when = WHEN + datetime.timedelta(minutes=number)
    return reading(when, {"temperature_c": 15.25, "regenerations": number}, note or f"no {number}")


@pytest.fixture
def path(tmp_path):
    return tmp_path / "site.record.csv"


def test_what_is_written_is_read(path):
    note = 'said "fine", left; grün\nsecond line'
    add_readings(path, taken(1), taken(2, note))
    found = read_book(path)
    assert not found.damaged
    assert [r.line for r in found.readings] == [2, 3]
    assert dict(found.readings[0].values) == {"temperature_c": 15.25, "regenerations": 1.0}
    assert found.readings[1].note == " ".join(note.split())


@pytest.mark.parametrize("cut", range(1, len(line_of(taken(2))) + 1))
def test_a_line_cut_anywhere_is_reported_and_kept(path, cut):
    add_readings(path, taken(1), taken(2))
    whole = path.read_bytes()
    path.write_bytes(whole[:-cut])
    half = read_book(path)
    assert [d.line for d in half.damaged] == [3]
    assert [r.note for r in half.readings] == ["no 1"]
    add_readings(path, taken(3))
    after = read_book(path)
    notes = [r.note for r in after.readings]
    # Only the end of the line was missing: closing it makes the line whole again.
    assert notes == (["no 1", "no 2", "no 3"] if cut == 1 else ["no 1", "no 3"])
    assert path.read_bytes().startswith(whole[:-cut])  # added to, never rewritten


def test_a_line_changed_by_hand_is_reported(path):
    add_readings(path, taken(1), taken(2))
    path.write_text(path.read_text("utf-8").replace("15.25", "51.25", 1), "utf-8")
    found = read_book(path)
    assert [d.line for d in found.damaged] == [2]
    assert "check word" in found.damaged[0].why
    assert [r.note for r in found.readings] == ["no 2"]


def test_another_file_is_never_written_to(path):
    path.write_text("a,b\n1,2\n")
    with pytest.raises(RecordError, match="not a record"):
        add_readings(path, taken(1))
    assert path.read_text() == "a,b\n1,2\n"


def test_a_formula_in_a_note_is_defused(path):
    add_readings(path, taken(1, "=1+1"))
    assert read_book(path).readings[0].note == "1+1"


def test_values_that_cannot_be_true_are_refused():
    with pytest.raises(OutOfRangeError, match="look at its unit"):
        reading(WHEN, {"temperature_c": 77.0})
    with pytest.raises(RecordError, match="did you mean 'temperature_c'"):
        reading(WHEN, {"temperature": 15.0})
    with pytest.raises(OutOfRangeError):
        reading(WHEN, {"temperature_c": float("nan")})


def _write_many(path, first, count):
    for number in range(first, first + count):
        add_readings(path, taken(number))


def test_two_writers_lose_nothing(path):
    context = multiprocessing.get_context("spawn")
    writers = [context.Process(target=_write_many, args=(path, n, 40)) for n in (0, 1000)]
    for one in writers:
        one.start()
    for one in writers:
        one.join()
    found = read_book(path)
    assert not found.damaged
    assert len({r.note for r in found.readings}) == 80


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
@pytest.mark.filterwarnings("ignore::DeprecationWarning")  # fork beside threads of the test run
@pytest.mark.parametrize("many", [15, pytest.param(60, marks=pytest.mark.thorough)])
def test_killed_writers_lose_nothing_committed(many):
    """A few kills here; benchmarks/record_kills.py does a thousand and prints the counts."""
    import importlib.util
    from pathlib import Path

    source = Path(__file__).resolve().parents[2] / "benchmarks" / "record_kills.py"
    spec = importlib.util.spec_from_file_location("record_kills", source)
    module = importlib.util.module_from_spec(spec)
    sys.modules["record_kills"] = module
    spec.loader.exec_module(module)
    found = module.kills(many, seed=7)
    assert found["committed"] > many
    for key in ("lost", "read twice", "wrong", "lines not accounted for"):
        assert found[key] == 0, found
    assert book.os.write is os.write
