"""How the process ends: at once, but with all that was to be done before its end done."""

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.doors.conftest import START

PROJECT = Path(__file__).parents[2]
ENDED_AT_ONCE = "import os; old = os._exit; os._exit = lambda n: (print('at once'), old(n))\n"
CONSOLE = "from pretreat.__main__ import console\n"


def ended(code, *words):
    return subprocess.run(
        [sys.executable, "-u", "-c", code, *words], capture_output=True, text=True, check=False
    )


def test_the_command_is_what_these_tests_start():
    scripts = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]["scripts"]
    assert scripts == {"pretreat": "pretreat.__main__:console"}
    assert START[-1] == "from pretreat.__main__ import console; console()"


@pytest.mark.parametrize(("words", "code"), [(["--version"], 0), (["check", "none.csv"], 1)])
def test_ends_at_once_with_its_code(words, code):
    done = ended(f"{ENDED_AT_ONCE}{CONSOLE}console()", *words)
    assert done.returncode == code
    assert done.stdout.endswith("at once\n")
    assert ended(f"{CONSOLE}console()", "no_such_command").returncode == 2


def test_what_waits_for_the_end_is_done():
    code = f"{CONSOLE}import atexit\natexit.register(print, 'closed')\nconsole()"
    done = ended(code, "--version")
    assert done.returncode == 0
    assert done.stdout.endswith("closed\n")
    lines = done.stdout.splitlines()
    assert len(lines) == 2


@pytest.mark.parametrize(
    "code",
    [
        "def caller():\n    try:\n        console()\n    finally:\n        print('went on')\ncaller()",
        "import sys\nsys.setprofile(lambda *_: None)\ntry:\n    console()\n"
        "finally:\n    print('went on')",
        "import threading\nthreading.Timer(0.5, print, ['went on']).start()\nconsole()",
    ],
)
def test_whoever_waits_for_it_goes_on(code):
    done = ended(f"{ENDED_AT_ONCE}{CONSOLE}{code}", "--version")
    assert done.returncode == 0
    assert "at once" not in done.stdout
    assert done.stdout.endswith("went on\n")


def test_as_a_module():
    done = subprocess.run(
        [sys.executable, "-m", "pretreat", "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("pretreat ")
