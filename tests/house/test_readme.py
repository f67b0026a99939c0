"""The examples of the README, run as they stand."""

import doctest
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_examples_of_the_readme(monkeypatch):
    monkeypatch.chdir(ROOT)
    failures, tried = doctest.testfile(str(ROOT / "README.md"), module_relative=False)
    assert tried >= 8
    assert not failures
