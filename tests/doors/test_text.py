"""Text from users and files gives no commands to a terminal and no formulas to a spreadsheet."""

import csv
import json
import os
import subprocess

import pytest

from pretreat.core.basis import Flag
from pretreat.core.doors import csv_text, json_text, one_line, plain_text, terminal_text
from pretreat.core.results import Ledger, from_json, to_json
from tests.doors.conftest import START

FORMULAS = [
    "=1+1", "+1", "-1", "@SUM(1)", "\uff1d1+1", "\uff0b1", "\uff0d1", "\uff20x", "\ufeff=1", "\u200b=1",
    "\u200b\ufeff =1", "\x01=1", "\t=1", "\r=1", " =1", "\u00a0=1", "\u202e=1", "\n=1", "|x", "\x7f=1",
    "\u2060+1", "=cmd|' /C calc'!A0",
]  # fmt: skip
COMMANDS = [
    "\x1b[31m",
    "\x9b31m",
    "\x07",
    "\x08",
    "\x7f",
    "\u202e",
    "\u2066",
    "\ud800",
    "\x00",
    "\r",
]


@pytest.mark.parametrize("text", FORMULAS)
def test_a_text_that_could_be_a_formula(text):
    assert csv_text(text).startswith("'")


@pytest.mark.parametrize("text", ["-", "+", "Well 2", "5", "<0.02", "a=b", "'x", "", "µg/L"])
def test_a_text_that_could_not(text):
    assert csv_text(text) == text


@pytest.mark.parametrize("command", COMMANDS)
def test_no_command_passes(command):
    for clean in (terminal_text, plain_text, csv_text, one_line):
        assert command not in clean(f"a{command}b")
    assert terminal_text("a\nb\tc") == "a\nb\tc"
    assert plain_text("a\nb") == "a b"


@pytest.mark.parametrize("command", COMMANDS)
def test_json_holds_the_same_text_without_the_command(command):
    document = json.dumps({"x": f"a{command}b"}, ensure_ascii=False)
    assert command not in json_text(document)
    if command != "\ud800":
        assert json.loads(json_text(document)) == {"x": f"a{command}b"}


def test_a_study_holds_clean_text():
    ledger = Ledger()
    ledger.put("site.name", "a\x1b[31mb\ud800\u202e", "-", "Name")
    ledger.flag(Flag("x", "info", "a\x1b]0;x\x07"))
    text = to_json(ledger.study())
    assert text.encode("utf-8").decode("utf-8") == text
    assert not any(c in text for c in ("\\u001b", "\x1b", "\x07", "\\u0007"))
    assert (
        from_json(text).value("site.name")
        == "a\N{REPLACEMENT CHARACTER}[31mb\N{REPLACEMENT CHARACTER}"
    )


HEAD = "id,pH,Ca,Mg,Na,Alkalinity [mg/L as CaCO3],SO4,Cl,temperature_c"


def test_identifiers_of_a_screen(demo):
    ids = ["=1+1", "\uff1d1", "\u200b=1", "\x01=1", "plain", "\x1b[31mred", "@x"]
    rows = "\n".join(f"{name},7,80,20,30,200,50,60,15" for name in ids)
    (demo / "w.csv").write_text(f"{HEAD}\n{rows}\n", "utf-8")
    done = subprocess.run(
        [*START, "screen", "w.csv", "--recovery", "0.5"], cwd=demo, capture_output=True, check=True
    )
    text = done.stdout.decode("utf-8")
    seen = [row[0] for row in csv.reader(text.splitlines())][1:]
    assert len(seen) == len(ids)
    assert [name.startswith("'") for name in seen] == [True, True, True, True, False, False, True]
    assert "\x1b" not in text
    assert "\x01" not in text


def test_reasons_of_a_strike(demo):
    """The reason stands in the record, which a spreadsheet opens."""
    site = "quarrow_vale.toml"
    for words in (
        (
            "log",
            site,
            "temperature=15 C",
            "--when",
            "2031-05-14 09:30",
            "--note",
            "\uff1d1\x1b[31m",
        ),
        ("log", site, "--strike", "2031-05-14 09:30", "--note", "=HYPERLINK(1)\x1b[2J"),
    ):
        assert subprocess.run([*START, *words], cwd=demo, check=False).returncode == 0
    text = (demo / "quarrow_vale.record.csv").read_text("utf-8")
    assert "\x1b" not in text
    for row in list(csv.reader(text.splitlines()))[1:]:
        assert not any(cell[:1] in "=+-@\uff1d" for cell in row if cell)


@pytest.mark.parametrize(
    "words",
    [
        ("check", "no\x1b[31m.csv"),
        ("size", "no\x1b]0;x\x07.toml"),
        ("log", "quarrow_vale.toml", "press\x1b[31m=1"),
        ("log", "quarrow_vale.toml", "temperature=15 C\x1b[31m"),
        ("log", "quarrow_vale.toml", "temperature=15 C", "--when", "\x1b[31m"),
        ("scaling", "quarrow_vale_well_2.csv", "--product", "5 \x1b[31m", "--drain", "4 gpm"),
        ("scaling", "quarrow_vale_well_2.csv", "--recovery", "\x1b[31m"),
        ("\x1b[31m",),
        ("check", "quarrow_vale_well_2.csv", "--units", "\x1b[31m"),
        ("check", "quarrow_vale_well_2.csv", "--sample", "\x9b31m"),
        ("check", "quarrow_vale_well_2.csv", "--encoding", "\x1b[31m"),
    ],
)
def test_no_message_gives_commands_to_a_terminal(demo, words):
    """Standard error is a terminal here, where colours would pass."""
    import pty

    master, slave = pty.openpty()
    done = subprocess.run([*START, *words], cwd=demo, stderr=slave, stdout=slave, check=False)
    os.close(slave)
    text = b""
    try:
        while part := os.read(master, 65536):
            text += part
    except OSError:
        pass
    os.close(master)
    assert done.returncode in (1, 2)
    assert text
    assert not any(code in text for code in (b"\x1b", b"\x07", b"\xc2\x9b"))
