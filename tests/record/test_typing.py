"""Readings typed at the command line, asked for, and read back from the record sheet.

The site is invented. 1 US gallon 3.785411784 L, 1 psi 0.0689475729 bar, 1 lb 0.45359237 kg,
1 grain per US gallon 17.118 mg/L (definitions of the units); 0.5 ppm for each µS/cm is what
meters for sodium chloride show (common practice, no source).
"""

import csv
import datetime
import inspect
import os
import pty
import select
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import openpyxl
import pytest
from typer.testing import CliRunner

from pretreat.cli import _register, app
from pretreat.core.errors import PretreatError
from pretreat.core.units import quantity, split_quantity
from pretreat.record.entry import gauge_of, short_name
from pretreat.record.keyed.values import Typing, typed
from pretreat.record.readings import gauges
from pretreat.record.store.book import read_book
from pretreat.site.design import RecordChoices

_register()
PROJECT = Path(__file__).resolve().parents[2]
INTERRUPT = "Ctrl-C"
COMMAND = [sys.executable, "-c", "from pretreat.cli import main; main()"]


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    """Return the workbook of the demo plant, which holds its record sheet."""
    folder = tmp_path_factory.mktemp("sheet")
    for name in ("quarrow_vale_installed.toml", "quarrow_vale_well_2.csv"):
        shutil.copy(PROJECT / "water_analyses" / name, folder / name)
    run("rate", folder / "quarrow_vale_installed.toml", "-o", folder / "si.xlsx", "--draws", 0)
    run("rate", folder / "quarrow_vale_installed.toml", "-o", folder / "us.xlsx", "--draws", 0,
        "--units", "us")  # fmt: skip
    for name in ("si.xlsx", "us.xlsx"):  # the other sheets only take time
        made = openpyxl.load_workbook(folder / name)
        for title in set(made.sheetnames) - {"Record sheet"}:
            del made[title]
        made.save(folder / name)
    return folder


@pytest.fixture
def site(tmp_path):
    for name in ("quarrow_vale.toml", "quarrow_vale_well_2.csv"):
        shutil.copy(PROJECT / "water_analyses" / name, tmp_path / name)
    return tmp_path / "quarrow_vale.toml"


# click before 8.2 joins both ways out unless it is told not to.
TAKEN = inspect.signature(CliRunner).parameters
APART = {"mix_stderr": False} if "mix_stderr" in TAKEN else {}


def run(*words, code=0, stdin=""):
    result = CliRunner(**APART).invoke(app, [*map(str, words)], input=stdin)
    problem, said = result.exception, result.stderr
    if isinstance(problem, PretreatError):  # as the program ends on them
        found, said = 1, said + "".join(f"pretreat: {fault}\n" for fault in problem.faults)
    elif problem is None or isinstance(problem, SystemExit):
        found = result.exit_code
    else:
        raise problem
    assert found == code, said or result.stdout
    return SimpleNamespace(stdout=result.stdout, stderr=said)


def book(site):
    return read_book(site.with_name(f"{site.stem}.record.csv"))


def last(site):
    return book(site).readings[-1]


def keep(site, lines):
    site.write_text(f"{site.read_text('utf-8')}\n[record]\n{lines}\n", "utf-8")


def test_every_gauge_has_a_code_of_its_own():
    codes = [g.code for g in gauges().values()]
    names = {short_name(g) for g in gauges().values()}
    assert len(set(codes)) == len(codes)
    assert not set(codes) & names
    assert all(1 <= len(code) <= 3 for code in codes)
    for gauge in gauges().values():
        words = (gauge.code, gauge.code.upper(), short_name(gauge), gauge.key, f"* {gauge.label}")
        assert all(gauge_of(word) is gauge for word in words)


@pytest.mark.parametrize("us", [False, True])
def test_units_of_the_record_sheet_are_understood(us):
    for gauge in gauges().values():
        unit = gauge.sheet_unit_us if us else gauge.sheet_unit
        found = typed(gauge, "7", Typing(units={gauge.key: unit} if unit != "-" else {}))
        assert found.value == pytest.approx(typed(gauge, f"7 {unit}".removesuffix(" -")).value)


def test_codes_limits_ppm_and_bags(site):
    done = run("log", site, "t=59 F", "PF=7", "gpm", "sh=<1 gpg", "fc=450 ppm", "pc=22 uS",
               "sf=2 x 40 lb", "--when", "14.5.2025 9:30")  # fmt: skip
    one = last(site)
    assert one.when == datetime.datetime(2025, 5, 14, 9, 30)
    assert one.values["temperature_c"] == pytest.approx(15.0)
    assert one.values["product_flow_m3_h"] == pytest.approx(7 * 0.2271247, rel=1e-5)
    assert one.values["soft_hardness_mg_l_caco3"] == 0.0
    assert one.below["soft_hardness_mg_l_caco3"] == pytest.approx(17.118, rel=1e-4)
    assert one.values["feed_conductivity_us_cm"] == 900.0
    assert one.values["product_conductivity_us_cm"] == 22.0
    assert one.values["salt_filled_kg"] == pytest.approx(80 * 0.45359237)
    assert "450 ppm read as 900 µS/cm, 0.5 ppm each" in done.stdout
    assert done.stdout.strip().splitlines()[-1].startswith("fine: ")


def test_the_site_file_keeps_bag_factor_and_order(site):
    line = run("log", site, "sf=2 bags", code=1).stderr
    assert "how much does one hold" in line
    assert len(line.splitlines()) == 1
    assert not site.with_name("quarrow_vale.record.csv").exists()
    keep(site, 'salt_bag = "40 lb"\nppm_per_us_cm = 0.7\ndates = "day first"')
    run("log", site, "sf=2 bags", "fc=630 ppm", "--when", "3/4/2025")
    assert last(site).values["salt_filled_kg"] == pytest.approx(36.287, rel=1e-4)
    assert last(site).values["feed_conductivity_us_cm"] == pytest.approx(900.0)
    assert last(site).when == datetime.datetime(2025, 4, 3)


@pytest.mark.parametrize(
    ("text", "kg"),
    [("2 bags", 50.0), ("a bag", 25.0), ("half a bag", 12.5), ("1,5 sacks", 37.5),
     ("3 bags of 20 kg", 60.0), ("2x20kg", 40.0), ("2 bags @ 50 lb", 45.359), ("12 kg", 12.0)],
)  # fmt: skip
def test_bags(text, kg):
    found = typed(gauges()["salt_filled_kg"], text, Typing(RecordChoices(salt_bag_kg=25.0)))
    assert found.value == pytest.approx(kg, rel=1e-4)


@pytest.mark.parametrize("text", ["<", "< bar", "2 bags", "bags", "1 2 kg", "", "nan kg", "<<1 x"])
def test_what_is_no_value(text):
    with pytest.raises(PretreatError):
        typed(gauges()["salt_filled_kg"], text)


def test_an_ambiguous_date_is_refused_in_one_line(site):
    line = run("log", site, "t=15 C", "--when", "3/4/2025", code=1).stderr
    assert line.count("\n") == 1
    assert "2025-04-03 or 2025-03-04" in line


def test_one_line_says_what_to_do_now(site):
    said = run("log", site, "sh=20 gpg").stdout.strip().splitlines()[-1]
    assert said.startswith("do this now: test again now: hardness behind the softener")
    said = run("log", site, "t=59 C").stdout.strip().splitlines()[-1]
    assert said.startswith("do this now: read again")
    said = run("log", site, "--note", "rain", "--when", "2025-05-14").stdout.strip().splitlines()
    assert said[-1].startswith(("fine", "do this now: read again"))  # it is dated long ago


def test_answers_through_a_pipe(site):
    """Bare numbers have the unit of the record sheet; a name may stand before a value."""
    run("log", site, stdin="15\n1200\n\n\n10.4\nnote = calm\npf 26\nwhen=2025-05-14 09:30\n\n.\n")
    one = last(site)
    assert dict(one.values) == pytest.approx(
        {"temperature_c": 15.0, "machine_hours_h": 1200.0, "feed_pressure_bar": 10.4,
         "product_flow_m3_h": 26 * 0.06}
    )  # fmt: skip
    assert (one.note, one.when) == ("calm", datetime.datetime(2025, 5, 14, 9, 30))


def test_a_pipe_that_ends_early_keeps_what_it_said(site):
    run("log", site, stdin="15")
    assert dict(last(site).values) == {"temperature_c": 15.0}


def test_a_fault_in_a_pipe_writes_nothing_and_is_one_line(site):
    done = run("log", site, stdin="15\n\nten bar\n", code=1)
    assert done.stderr.count("\n") == 1
    assert not site.with_name("quarrow_vale.record.csv").exists()


def test_us_site_has_us_units_for_bare_numbers(site):
    text = site.read_text("utf-8").replace("[site]", '[site]\nunits = "us"', 1)
    site.write_text(text, "utf-8")
    run("log", site, stdin="59\n1200\n\n\n150\n")
    assert last(site).values["temperature_c"] == pytest.approx(15.0)
    assert last(site).values["feed_pressure_bar"] == pytest.approx(10.342, rel=1e-4)


def test_nobody_there_lists_the_gauges(site):
    assert "* product_flow           pf " in run("log", site).stdout
    assert "* product_flow" in run("log", site, "--gauges").stdout
    assert not site.with_name("quarrow_vale.record.csv").exists()


def test_a_pipe_that_stays_open_is_not_waited_for(site):
    read_end, write_end = os.pipe()
    begin = time.monotonic()
    done = subprocess.run(
        [*COMMAND, "log", str(site)], stdin=read_end, capture_output=True, text=True, timeout=60,
        check=False, cwd=PROJECT,
    )  # fmt: skip
    os.close(write_end)
    os.close(read_end)
    assert done.returncode == 0
    assert "product_flow" in done.stdout
    assert time.monotonic() - begin < 30


def at_terminal(site, *answers, words=()):
    """Run the questions at a terminal; an answer is typed once its question stands there."""
    leader, follower = pty.openpty()
    child = subprocess.Popen(
        [*COMMAND, "log", str(site), *words], stdin=follower, stdout=follower, stderr=follower,
        cwd=PROJECT, start_new_session=True,
    )  # fmt: skip
    os.close(follower)
    said, left = "", list(answers)
    end = time.monotonic() + 60
    while time.monotonic() < end:
        ready, _, _ = select.select([leader], [], [], 0.3)
        if ready:
            try:
                data = os.read(leader, 65536).decode("utf-8", "replace")
            except OSError:
                break
            said += data
        elif left and said.rstrip(" ").endswith((":", "?")):
            answer = left.pop(0)
            if answer == INTERRUPT:
                child.send_signal(signal.SIGINT)
            else:
                os.write(leader, answer.encode())
            said += "\n"
        elif child.poll() is not None:
            break
    child.wait(30)
    os.close(leader)
    assert not left, said
    assert "Traceback" not in said
    return said


def test_questions_at_a_terminal(site):
    said = at_terminal(site, "15\n", "x\n", "1200\n", "2000 psi\n", "2.1\n", ".\n")
    assert "t  Water temperature [°C]: " in said
    assert dict(last(site).values) == pytest.approx(
        {"temperature_c": 15.0, "machine_hours_h": 1200.0, "cartridge_in_bar": 2.1}
    )
    said = at_terminal(site, "\n", "\x04")
    assert "last 15 °C on" in said
    assert "nothing was read" in said
    assert len(book(site).readings) == 1


def test_a_slip_is_asked_again_at_once(site):
    run("log", site, "t=15 C", "--when", "2025-05-14")
    at_terminal(site, "59\n", "15.2\n", ".\n")
    assert last(site).values["temperature_c"] == 15.2
    at_terminal(site, "59\n", "\n", ".\n")
    assert last(site).values["temperature_c"] == 59.0


def test_an_interrupt_loses_nothing_that_was_typed(site):
    said = at_terminal(site, "15\n", "1200\n", INTERRUPT)
    assert "2 gauges written" in said
    assert len(last(site).values) == 2


def test_bags_and_dates_are_asked_at_a_terminal(site):
    said = at_terminal(site, "1\n", "sf 2 bags\n", "40 lb\n", ".\n", words=("--when", "3/4/2025"))
    assert "3 April 2025" in said
    assert last(site).when == datetime.datetime(2025, 4, 3)
    assert last(site).values["salt_filled_kg"] == pytest.approx(36.287, rel=1e-4)


def test_a_reading_that_cannot_be_written_is_said_again_to_be_typed(site):
    path = site.with_name("quarrow_vale.record.csv")
    path.write_text("a,b\n1,2\n")
    done = run("log", site, "t=15 C", "--when", "2025-05-14 09:30", "--file", path, code=1)
    assert "not a record of this program" in done.stderr
    assert path.read_text() == "a,b\n1,2\n"


def column(page, number):
    """Return the column of a reading of the sheet: they follow the head "Expected"."""
    for row in page.iter_rows():
        heads = [cell for cell in row if cell.value is not None]
        words = [str(cell.value) for cell in heads]
        if words[:2] == ["Gauge", "Unit"]:
            return heads[3 + number].column
    raise AssertionError


def rows_of(page):
    return {str(row[0].value).removeprefix("* "): row[0].row for row in page.iter_rows()
            if row[0].value}  # fmt: skip


def fill(source, target, *columns):
    """Write readings into the record sheet as a person would, and save it."""
    made = openpyxl.load_workbook(source)
    page = made["Record sheet"]
    places = rows_of(page)
    for number, values in enumerate(columns):
        where = column(page, number)
        for label, value in values.items():
            page.cell(places[label], where).value = value
    made.save(target)
    return target


FIRST = {
    "Date and time": datetime.datetime(2025, 5, 14, 9, 30),
    "Water temperature": 15,
    "Pressure before the first stage": "150 psi",
    "Product flow": 26.5,
    "Feed conductivity at 25 °C": "1,15 mS/cm",
    "Hardness behind the softener, last thing before it regenerates": "<1 gpg",
    "Salt filled since the last reading": "2 x 25 kg",
    "Free chlorine before the membranes": "-",
    "Who": "MK",
    "What was done, seen or changed": "new cartridge",
}
SECOND = {"Date and time": "21.5.2025 10:15", "Water temperature": "15,5", "Product flow": 26.1}


def test_a_filled_record_sheet_is_read_back(site, sheet, tmp_path):
    done = run("log", site, "--from", fill(sheet / "si.xlsx", tmp_path / "f.xlsx", FIRST, SECOND))
    one, two = book(site).readings
    assert one.when == datetime.datetime(2025, 5, 14, 9, 30)
    assert one.values["temperature_c"] == 15.0
    assert one.values["feed_pressure_bar"] == pytest.approx(10.342, rel=1e-4)
    assert one.values["product_flow_m3_h"] == pytest.approx(26.5 * 0.06)
    assert one.values["feed_conductivity_us_cm"] == pytest.approx(1150.0)
    assert one.below["soft_hardness_mg_l_caco3"] == pytest.approx(17.118, rel=1e-4)
    assert one.values["salt_filled_kg"] == 50.0
    assert "chlorine_mg_l" not in one.values
    assert one.note == "MK. new cartridge"
    assert two.when == datetime.datetime(2025, 5, 21, 10, 15)
    assert dict(two.values) == pytest.approx({"temperature_c": 15.5, "product_flow_m3_h": 1.566})
    assert sum(line.startswith(("fine", "do this now")) for line in done.stdout.splitlines()) == 2


def test_a_sheet_read_twice_is_written_once_and_goes_on(site, sheet, tmp_path):
    path = fill(sheet / "si.xlsx", tmp_path / "f.xlsx", FIRST)
    run("log", site, "--from", path)
    assert "in the record already" in run("log", site, "--from", path).stdout
    assert len(book(site).readings) == 1
    run("log", site, "--from", fill(path, path, {**FIRST, "Drain flow": 14}, SECOND))
    assert [set(r.values) for r in book(site).readings][1] == {"drain_flow_m3_h"}
    assert len(book(site).readings) == 3
    done = run("log", site, "--from", fill(path, path, {"Water temperature": 19}), code=1)
    assert "other values of 2025-05-14" in done.stderr
    run("log", site, "--strike", "21.5.2025 10:15")
    fill(path, path, {"Water temperature": 15})
    assert "was struck, and stays out" in run("log", site, "--from", path).stdout


def test_a_us_sheet_has_us_units(site, sheet, tmp_path):
    values = {"Date and time": "5/14/2025", "Water temperature": 59, "Product flow": 7,
              "Pressure before the first stage": 150, "Hardness of the raw water": 21,
              "Water softened since the last regeneration": 900}  # fmt: skip
    run("log", site, "--from", fill(sheet / "us.xlsx", tmp_path / "f.xlsx", values))
    one = last(site).values
    assert one["temperature_c"] == pytest.approx(15.0)
    assert one["product_flow_m3_h"] == pytest.approx(1.58987, rel=1e-5)
    assert one["raw_hardness_mg_l_caco3"] == pytest.approx(359.48, rel=1e-4)
    assert one["softened_m3"] == pytest.approx(3.40687, rel=1e-5)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"Date and time": None}, "no date"),
        ({"Date and time": "3/4/2025"}, "2025-04-03 or 2025-03-04"),
        ({"Product flow": "26 bar"}, "measures something else"),
        ({"Product flow": "about 26"}, "is not a quantity"),
        ({"Water temperature": 150}, "a gauge shows 0 to 60"),
        ({"Salt filled since the last reading": "2 bags"}, "how much does one hold"),
        ({"Product flow": datetime.datetime(2025, 6, 2)}, "is a date"),
    ],
)
def test_a_fault_of_the_sheet_names_its_cell_and_nothing_is_written(
    site, sheet, tmp_path, wrong, said
):
    path = fill(sheet / "si.xlsx", tmp_path / "f.xlsx", {**FIRST, **wrong}, SECOND)
    done = run("log", site, "--from", path, code=1)
    assert done.stderr.count("\n") == 1
    assert said in done.stderr
    assert "sheet 'Record sheet', cell " in done.stderr
    assert not site.with_name("quarrow_vale.record.csv").exists()


def test_the_sheet_saved_as_csv(site, sheet, tmp_path):
    made = openpyxl.load_workbook(fill(sheet / "si.xlsx", tmp_path / "f.xlsx", FIRST, SECOND))
    with (tmp_path / "f.csv").open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file, delimiter=";")
        for row in made["Record sheet"].iter_rows(values_only=True):
            writer.writerow([
                v.strftime("%d.%m.%Y %H:%M") if isinstance(v, datetime.datetime)
                else str(v).replace(".", ",") if isinstance(v, float) else v for v in row
            ])  # fmt: skip
    run("log", site, "--from", tmp_path / "f.csv")
    assert len(book(site).readings) == 2
    assert book(site).readings[0].values["product_flow_m3_h"] == pytest.approx(1.59)


def test_another_workbook_is_no_record_sheet(site, tmp_path):
    made = openpyxl.Workbook()
    made.active["A1"] = "hello"
    made.save(tmp_path / "f.xlsx")
    assert "no record sheet in it" in run("log", site, "--from", tmp_path / "f.xlsx", code=1).stderr
    assert "no such file" in run("log", site, "--from", tmp_path / "g.xlsx", code=1).stderr


def test_split_of_units_is_that_of_the_program():
    assert split_quantity("26,5 L/min") == (26.5, "L/min")
    assert quantity("7 US gpm", "m3/h") == pytest.approx(1.58987, rel=1e-5)
