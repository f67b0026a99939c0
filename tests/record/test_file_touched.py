"""A record that other hands touched: saved by a spreadsheet, doubled, cut, put in another order.

What spreadsheets do to a CSV (separators, decimal commas, dates without seconds) is common
knowledge of their users, no source. The readings are invented.
"""

import csv
import datetime
import io
import random

import pytest

from pretreat.record.keyed.dates import moment, moments
from pretreat.record.readings import RecordError, reading
from pretreat.record.store.book import add_readings, read_book, strike_readings

WHEN = datetime.datetime(2031, 5, 4, 9, 30, 12)


def taken(number):
    when = WHEN + datetime.timedelta(days=7 * number, seconds=number)
    values = {"temperature_c": 15.25, "product_flow_m3_h": 0.3 * 0.2271247 + number / 1e4,
              "feed_pressure_bar": 150 * 0.0689475729, "regenerations": number,
              "soft_hardness_mg_l_caco3": 0.0}  # fmt: skip
    below = {"soft_hardness_mg_l_caco3": 17.118}
    return reading(when, values, f'no {number}; said "fine", left', 0, below)


@pytest.fixture
def path(tmp_path):
    file = tmp_path / "site.record.csv"
    add_readings(file, *(taken(n) for n in range(6)))
    return file


def respelt(path, delimiter, date, comma, encoding="utf-8-sig"):
    """Save the file anew as a spreadsheet of another country does."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\r\n")
    for line in csv.reader(io.StringIO(path.read_text("utf-8-sig"))):
        cells = []
        for cell in line:
            try:
                cells.append(datetime.datetime.fromisoformat(cell).strftime(date))
            except ValueError:
                number = cell.replace(".", "", 1).isdigit()
                cells.append(cell.replace(".", comma) if number else cell)
        writer.writerow(cells)
    path.write_text(out.getvalue(), encoding, newline="")


@pytest.mark.parametrize(
    ("delimiter", "date", "comma"),
    [
        (";", "%d.%m.%Y %H:%M", ","),
        (";", "%d/%m/%Y %H:%M:%S", ","),
        (",", "%m/%d/%Y %H:%M", "."),
        (",", "%m/%d/%y %I:%M %p", "."),
        ("\t", "%Y-%m-%d %H:%M", ","),
        (";", "%Y/%m/%d %H:%M", "."),
    ],
)
def test_a_record_saved_by_a_spreadsheet_is_read_and_goes_on(path, delimiter, date, comma):
    """Day and month are told apart, and lost seconds found again, by the check word."""
    before = read_book(path).readings
    respelt(path, delimiter, date, comma)
    after = read_book(path)
    assert [(r.when, r.values, r.below, r.note) for r in after.readings] == [
        (r.when, r.values, r.below, r.note) for r in before
    ]
    assert len(after.respelt) == 6
    assert not after.damaged
    assert not after.missing
    add_readings(path, taken(6))
    strike_readings(path, before[1].when, "wrong")
    respelt(path, delimiter, date, comma) if delimiter == "," else None
    again = read_book(path)
    assert len(again.readings) == 6
    assert len(again.struck) == 1
    assert not again.damaged
    assert not again.missing


def test_a_value_changed_in_the_spreadsheet_is_still_reported(path):
    respelt(path, ";", "%d.%m.%Y %H:%M", ",")
    path.write_text(path.read_text("utf-8-sig").replace("15,25", "51,25", 1), "utf-8")
    found = read_book(path)
    assert [d.line for d in found.damaged] == [2]
    assert len(found.readings) == 5


@pytest.mark.parametrize("number", [1, 2, 4, 6])
def test_a_deleted_line_is_missed(path, number):
    lines = path.read_text("utf-8").splitlines(keepends=True)
    path.write_text("".join(lines[:number] + lines[number + 1 :]), "utf-8")
    assert read_book(path).missing == (number + 1,)
    add_readings(path, taken(9))  # and stays missed
    assert read_book(path).missing == (number + 1,)


def test_a_doubled_line_is_used_once(path):
    lines = path.read_text("utf-8").splitlines(keepends=True)
    path.write_text("".join([*lines, lines[3]]), "utf-8")
    found = read_book(path)
    assert len(found.readings) == 6
    assert [(d.taken.line, d.first) for d in found.doubled] == [(8, 4)]
    assert not found.missing


def test_lines_in_another_order_are_all_there(path):
    head, *lines = path.read_text("utf-8").splitlines(keepends=True)
    path.write_text(head + "".join(reversed(lines)), "utf-8")
    found = read_book(path)
    assert len(found.readings) == 6
    assert not found.missing
    assert not found.damaged


def test_blank_lines_of_a_spreadsheet_do_no_harm(path):
    path.write_text(path.read_text("utf-8") + ";;;;\r\n\n", "utf-8", newline="")
    assert not read_book(path).damaged


def test_a_record_of_before_is_read(path):
    """Lines with a check word alone, in ten digits, as they were written before."""
    from pretreat.record.readings import gauges
    from pretreat.record.store.lines import _body, check_word, head_line

    one = taken(3)
    body = _body("2031-05-25 09:30:15", [f"{one.values[k]:.10g}" if k in one.values else ""
                                         for k in gauges()], "old")  # fmt: skip
    path.write_text(f"{head_line()}\n{body}{check_word(body)}\n", "utf-8")
    path.with_name(path.name + ".lock").unlink()
    add_readings(path, taken(4))
    found = read_book(path)
    assert len(found.readings) == 2
    assert not found.missing
    respelt(path, ";", "%d.%m.%Y %H:%M", ",")
    assert len(read_book(path).readings) == 2


def touched(raw, draw):
    """Return the file after one mishap: cut, a line lost, doubled or moved, a byte turned."""
    head, *lines = raw.split(b"\n")
    kind, start = draw.randrange(6), len(head) + 1
    if kind == 0:
        return raw[: draw.randrange(start, len(raw) + 1)]
    if kind == 1 and len(lines) > 2:
        del lines[draw.randrange(len(lines))]
    elif kind == 2:
        lines.insert(draw.randrange(len(lines)), draw.choice(lines))
    elif kind == 3 and len(raw) > start:
        place = draw.randrange(start, len(raw))
        return raw[:place] + draw.randbytes(1) + raw[place + 1 :]
    elif kind == 4:
        draw.shuffle(lines)
    else:
        return raw + draw.randbytes(draw.randrange(40)) + b"\n"
    return b"\n".join([head, *lines])


@pytest.mark.parametrize("seed", range(60))
def test_whatever_is_done_to_the_file_it_is_read(path, seed):
    """Never a traceback, never a reading made up, and the record goes on."""
    draw = random.Random(seed)
    written = {(r.when, r.note): r.values for r in read_book(path).readings}
    for _ in range(draw.randint(1, 5)):
        path.write_bytes(touched(path.read_bytes(), draw))
    found = read_book(path)
    for one in found.readings:
        assert written[one.when, one.note] == one.values
    add_readings(path, taken(50))
    assert taken(50).note in {r.note for r in read_book(path).readings}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2031-5-14 9:30", "2031-05-14 09:30"),
        ("14.5.2031 9:30", "2031-05-14 09:30"),
        ("5/14/2031 9:30 PM", "2031-05-14 21:30"),
        ("14/05/31", "2031-05-14 00:00"),
        ("14 May 2031, 09:30", "2031-05-14 09:30"),
        ("May 14, 2031 12:05 am", "2031-05-14 00:05"),
        ("14-May-31 7h15", "2031-05-14 07:15"),
        ("5/5/2031", "2031-05-05 00:00"),
        ("20310514", "2031-05-14 00:00"),
        ("2031/5/14", "2031-05-14 00:00"),
    ],
)
def test_dates_that_mean_one_day(text, said):
    assert f"{moment(text):%Y-%m-%d %H:%M}" == said


@pytest.mark.parametrize("text", ["3/4/2031", "03.04.2031 9:30", "3-4-31"])
def test_dates_that_mean_two_are_refused_unless_the_order_is_known(text):
    with pytest.raises(RecordError, match="2031-04-03 or 2031-03-04"):
        moment(text)
    assert moment(text, "day first").month == 4
    assert moment(text, "month first").month == 3


@pytest.mark.parametrize("text", ["", "soon", "31.2.2031", "14/14/2031", "5/14/2031 25:00", "2031"])
def test_what_is_no_date(text):
    assert moments(text) == ()
