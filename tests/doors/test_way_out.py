"""Nothing is written onto an input, a link, a pipe or a device; nothing half done stays."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from pretreat.core.doors import Kind, file_bytes, part_of, refuse_target, replace_file
from pretreat.core.errors import PretreatError
from tests.doors.conftest import START, contents

SITE, REPORT = "quarrow_vale.toml", "quarrow_vale_well_2.csv"


def size(*words):
    return ("size", SITE, "--draws", "0", *words)


@pytest.mark.parametrize("target", [SITE, REPORT, f"./sub/../{SITE}"])
def test_an_input_is_never_replaced(run, demo, target):
    (demo / "sub").mkdir()
    run(*size("-o", target), says="is an input of this run")


def test_an_input_under_another_name_is_never_replaced(run, demo):
    os.link(demo / SITE, demo / "hard.xlsx")
    run(*size("-o", "hard.xlsx"), says="is an input of this run")


def test_files_named_in_the_site_file_are_inputs(run, demo):
    limits = "scale,measure,without_inhibitor,with_inhibitor\ngypsum,%,90,200\n"
    (demo / "limits.csv").write_text(limits)
    (demo / "resin.csv").write_text("salt_g_l,capacity_g_caco3_l\n80,40\n240,68\n")
    text = (demo / SITE).read_text("utf-8").replace(
        "salt_dose_g_l = 160", 'salt_dose_g_l = 160\nresin_table = "resin.csv"'
    )  # fmt: skip
    (demo / SITE).write_text(text + '\n[limits]\nfile = "limits.csv"\n', "utf-8")
    run(*size("-o", "limits.csv"), says="is an input of this run")
    run(*size("-o", "resin.csv"), says="is an input of this run")


def test_tables_and_pictures_do_not_fall_on_an_input(run, demo):
    os.rename(demo / REPORT, demo / "figures.csv")  # noqa: PTH104
    (demo / SITE).write_text((demo / SITE).read_text("utf-8").replace(REPORT, "figures.csv"))
    run(*size("--json", "--csv", "."), says="is an input of this run")


def test_the_record_is_never_replaced(run, demo):
    log = [*START, "log", SITE, "temperature=15 C"]
    assert subprocess.run(log, cwd=demo, check=False).returncode == 0
    run(*size("-o", "quarrow_vale.record.csv"), says="is a record of readings")
    run("record", SITE, "-o", "quarrow_vale.record.csv", says="is a record of readings")


def test_the_json_of_a_run_is_never_replaced(run, demo):
    with (demo / "x.json").open("w") as out:
        done = subprocess.run([*START, *size("--json")], cwd=demo, stdout=out, check=False)
    assert done.returncode == 0
    run("workbook", "x.json", "-o", "x.json", says="is an input of this run")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")
def test_links_pipes_devices_and_folders(run, demo):
    (demo / "link.xlsx").symlink_to(SITE)
    (demo / "nowhere.xlsx").symlink_to("not_there.xlsx")
    os.mkfifo(demo / "pipe.xlsx")
    (demo / "folder.xlsx").mkdir()
    for target, says in (
        ("link.xlsx", "is a link"),
        ("nowhere.xlsx", "is a link"),
        ("pipe.xlsx", "is a pipe or a device"),
        ("folder.xlsx", "is a folder"),
        ("/dev/null", "is a pipe or a device"),
    ):
        run(*size("-o", target), says=says)


WELLS = (
    "id,pH,Ca,Mg,Na,Alkalinity [mg/L as CaCO3],SO4,Cl,temperature_c\n1,7,80,20,30,200,50,60,15\n"
)


def test_screen_writes_to_nowhere_but_to_no_other_device(run, demo):
    (demo / "w.csv").write_text(WELLS)
    done = subprocess.run(
        [*START, "screen", "w.csv", "--recovery", "0.5", "-o", os.devnull], cwd=demo, check=False
    )
    assert done.returncode == 0
    run("screen", "w.csv", "--recovery", "0.5", "-o", "/dev/full", says="is a pipe or a device")
    run("screen", "w.csv", "--recovery", "0.5", "-o", "w.csv", says="is an input")


def test_a_record_is_no_device_and_no_pipe(run, demo):
    os.mkfifo(demo / "pipe.csv")
    run("log", SITE, "temperature=15 C", "--file", "pipe.csv", says="is not a file")
    run("log", SITE, "temperature=15 C", "--file", os.devnull, says="is not a file")


def test_new_writes_both_forms_or_none(tmp_path, monkeypatch):
    from pretreat.cli import new

    written = []

    def full(target, content):
        if written:
            raise PretreatError("disk full")
        written.append(target)
        return replace_file(target, content)

    monkeypatch.setattr("pretreat.core.doors.replace_file", full)
    with pytest.raises(PretreatError):
        new.new(tmp_path / "x")
    assert not list((tmp_path / "x").iterdir())


def test_a_full_disk_leaves_nothing(tmp_path, monkeypatch):
    target = tmp_path / "x.xlsx"
    target.write_bytes(b"before")

    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(PretreatError, match="No space left"):
        replace_file(target, b"after")
    with pytest.raises(PretreatError, match="No space left"), part_of(target) as stream:
        stream.write("after")
    assert contents(tmp_path) == {"x.xlsx": b"before"}


@pytest.mark.skipif(sys.platform == "win32", reason="limits of a process")
def test_a_command_on_a_full_disk(run):
    import resource

    def little_room():
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))

    # Byte code written with so little room would be cut short, for every run that follows.
    kept = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    run(*size("-o", "out.xlsx"), says="cannot be written", preexec_fn=little_room, env=kept)


@pytest.mark.skipif(not hasattr(signal, "SIGTERM") or sys.platform == "win32", reason="signals")
@pytest.mark.parametrize("number", [15, 1, 2])
def test_a_signal_leaves_nothing(demo, number):
    (demo / "w.csv").write_text(WELLS + WELLS.split("\n")[1].join(["\n"] * 20000))
    before = contents(demo)
    words = [*START, "screen", "w.csv", "--recovery", "0.5", "-o", "out.csv"]
    child = subprocess.Popen(words, cwd=demo, stderr=subprocess.DEVNULL)
    until = time.monotonic() + 30
    while not list(demo.glob(".out.csv.*.part")) and time.monotonic() < until:
        time.sleep(0.01)
    child.send_signal(number)
    assert child.wait(30) != 0
    assert contents(demo) == before


def test_a_file_taken_in_by_a_script_is_an_input_too(tmp_path):
    mine = tmp_path / "mine.txt"
    mine.write_text("x")
    file_bytes(mine, Kind("a text"))
    with pytest.raises(PretreatError, match="is an input"):
        refuse_target(mine)
    refuse_target(tmp_path / "other.txt")


def test_full_and_closed_output(demo):
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [*START, "check", REPORT, "--json"], cwd=demo, stdout=full, stderr=subprocess.PIPE,
            text=True, check=False,
        )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    assert "No space left" in done.stderr
    for closed in ("exec >&-", "exec 2>&-"):
        script = f"{closed}; exec '{sys.executable}' -c '{START[2]}' check {REPORT}"
        done = subprocess.run(["sh", "-c", script], cwd=demo, capture_output=True, check=False)
        assert done.returncode == 0
        assert b"Traceback" not in done.stderr
    pipe = subprocess.Popen(
        [*START, "size", SITE, "--json", "--draws", "0"], cwd=demo,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    pipe.stdout.close()
    assert pipe.wait(60) == 1
    assert pipe.stderr.read() == b""
    pipe.stderr.close()
