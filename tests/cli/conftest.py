"""Runs the command line as a person would: in this process, or in one of its own."""

import subprocess
import sys
from pathlib import Path

import pytest

from pretreat.cli import main

PROJECT = Path(__file__).resolve().parents[2]
ANALYSES = PROJECT / "water_analyses"


def _judged(done, code):
    assert "Traceback" not in done.stderr + done.stdout, done.stderr
    assert done.returncode == code, done.stderr or done.stdout
    return done


@pytest.fixture
def pretreat(tmp_path, monkeypatch, capsys):
    """Return a function that runs pretreat in a fresh folder."""

    def run(*words: object, code: int = 0) -> subprocess.CompletedProcess[str]:
        asked = [str(word) for word in words]
        capsys.readouterr()
        with monkeypatch.context() as own:
            own.chdir(tmp_path)
            own.setattr(sys, "argv", ["pretreat", *asked])
            with pytest.raises(SystemExit) as ended:
                main()
        said = capsys.readouterr()
        given = ended.value.code or 0
        done = subprocess.CompletedProcess(asked, given, said.out, said.err)
        if not isinstance(given, int):  # a text: the interpreter prints it and ends with 1
            done.returncode, done.stderr = 1, said.err + given
        return _judged(done, code)

    return run


@pytest.fixture
def pretreat_process(tmp_path):
    """Return a function that runs pretreat in a fresh folder, in a process of its own."""

    def run(*words: object, code: int = 0) -> subprocess.CompletedProcess[str]:
        done = subprocess.run(
            [sys.executable, "-c", "from pretreat.cli import main; main()", *map(str, words)],
            capture_output=True,
            text=True,
            cwd=tmp_path,
            check=False,
        )
        return _judged(done, code)

    return run
