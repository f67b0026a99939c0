"""Runs commands on copies of the demo, and looks at what they say and leave."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cli.conftest import ANALYSES

START = [sys.executable, "-c", "from pretreat.__main__ import console; console()"]
SLOWEST_S = 10.0


@pytest.fixture
def demo(tmp_path):
    """Return a folder with a site file and its report."""
    for name in ("quarrow_vale.toml", "quarrow_vale_installed.toml", "quarrow_vale_well_2.csv"):
        (tmp_path / name).write_bytes((ANALYSES / name).read_bytes())
    return tmp_path


@pytest.fixture
def run(demo):
    """Return a function that runs a command: one line, exit 1 or 2, all files as they were."""

    def refused(*words: object, says: str = "", **options: object) -> str:
        before = contents(demo)
        started = time.process_time()
        done = subprocess.run(
            [*START, *map(str, words)],
            capture_output=True,
            text=True,
            cwd=demo,
            check=False,
            timeout=60,
            errors="replace",
            **options,
        )
        assert time.process_time() - started < SLOWEST_S
        lines = [line for line in done.stderr.splitlines() if line.strip()]
        assert done.returncode in (1, 2), done.stdout + done.stderr
        assert len(lines) == 1 or done.returncode == 2, done.stderr
        assert "Traceback" not in done.stderr
        assert all(c.isprintable() or c == "\n" for c in done.stderr)
        assert says in done.stderr
        assert contents(demo) == before
        return done.stderr

    return refused


def contents(folder: Path) -> dict[str, object]:
    """Return what lies in a folder: kinds, and the bytes of regular files."""
    found: dict[str, object] = {}
    for path in sorted(folder.rglob("*")):
        name = str(path.relative_to(folder))
        if path.is_symlink():
            found[name] = ("link", os.readlink(path))  # noqa: PTH115
        else:
            found[name] = path.read_bytes() if path.is_file() else path.stat().st_mode
    return found
