"""Runs the command line as a person would, in a process of its own."""

import subprocess
import sys
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
ANALYSES = PROJECT / "water_analyses"


@pytest.fixture
def pretreat(tmp_path):
    """Return a function that runs pretreat in a fresh folder."""

    def run(*words: object, code: int = 0) -> subprocess.CompletedProcess[str]:
        done = subprocess.run(
            [sys.executable, "-c", "from pretreat.cli import main; main()", *map(str, words)],
            capture_output=True,
            text=True,
            cwd=tmp_path,
            check=False,
        )
        assert "Traceback" not in done.stderr + done.stdout, done.stderr
        assert done.returncode == code, done.stderr or done.stdout
        return done

    return run
