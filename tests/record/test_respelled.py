"""A record that went through a spreadsheet, or that lost or gained lines."""

import datetime

import pytest

from pretreat.record.readings import reading
from pretreat.record.store.book import add_readings, read_book, strike_readings

START = datetime.datetime(2031, 4, 5, 9, 30, 17)


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "well.record.csv"
    for n in range(5):
        when = START + datetime.timedelta(days=7 * n)
        add_readings(path, reading(when, {"temperature_c": 12.5 + n, "feed_pressure_bar": 9.65}))
    return path


def as_saved(path, date, separator):
    out = []
    for line in path.read_text().splitlines():
        stamp, *rest = line.split(",")
        if stamp != "when":
            stamp = datetime.datetime.fromisoformat(stamp).strftime(date)
            rest = [v.replace(".", ",") if separator == ";" else v for v in rest]
        out.append(separator.join([stamp, *rest]))
    path.write_text("\r\n".join(out) + "\r\n")


@pytest.mark.parametrize(
    ("date", "separator"),
    [("%d.%m.%Y %H:%M", ";"), ("%d/%m/%Y %H:%M", ";"), ("%m/%d/%Y %H:%M", ","),
     ("%m/%d/%y %I:%M %p", ","), ("%Y-%m-%d %H:%M", "\t")],
)  # fmt: skip
def test_a_record_saved_by_a_spreadsheet_is_read_as_written(path, date, separator):
    before = read_book(path)
    as_saved(path, date, separator)
    after = read_book(path)
    assert not after.damaged
    assert after.readings == before.readings
    add_readings(path, reading(START + datetime.timedelta(days=60), {"temperature_c": 15.0}))
    assert len(read_book(path).readings) == 6


def test_a_changed_value_is_still_found_out(path):
    as_saved(path, "%d.%m.%Y %H:%M", ";")
    path.write_text(path.read_text().replace("14,5", "13,5"))
    assert [bad.line for bad in read_book(path).damaged] == [4]


def test_lines_taken_out_and_lines_written_twice(path):
    lines = path.read_text().splitlines(keepends=True)
    path.write_text("".join([*lines[:2], *lines[4:], lines[5]]))
    found = read_book(path)
    assert found.missing == ((3, 2),)
    assert found.doubled == (5,)
    assert len(found.readings) == 3


def test_striking_and_writing_anew_leaves_the_numbers_whole(path):
    strike_readings(path, START, "wrong")
    add_readings(path, reading(START, {"temperature_c": 11.0}))
    found = read_book(path)
    assert found.missing == found.doubled == ()
    assert found.readings[0].values["temperature_c"] == 11.0
