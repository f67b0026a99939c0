"""The application with its workers, once for all tests of this folder."""

import contextlib
import json
from functools import cache
from pathlib import Path

import pytest

from tests.page.browsing import address, browsers, person  # noqa: F401  fixtures

pytest.importorskip("starlette", reason="the extra [page] is not installed")
ROOT = Path(__file__).parents[2]
ANALYSES = ROOT / "water_analyses"
SITES = ("quarrow_vale", "drover_flat", "ashfell_ridge", "quarrow_vale_installed")
HOME = "http://127.0.0.1"


@pytest.fixture(scope="package")
def client():
    from starlette.testclient import TestClient

    from pretreat.page.app import create_app
    from pretreat.page.settings import Settings

    with TestClient(create_app(Settings(workers=1, quick=0)), base_url=HOME) as found:
        yield found


def form_of(site: str) -> dict:
    """The form of a demo site: its text and the report it names."""
    text = (ANALYSES / f"{site}.toml").read_text("utf-8")
    named = [line for line in text.splitlines() if line.startswith("analysis")]
    report = named[0].split('"')[1]
    return {
        "data": {"site": text},
        "files": [("report", (report, (ANALYSES / report).read_bytes()))],
    }


@cache
def command(*arguments: str) -> dict:
    """What a command prints with --json; nobody changes it."""
    from typer.testing import CliRunner

    from pretreat.cli import _register, app

    _register()
    with contextlib.chdir(ANALYSES):
        done = CliRunner().invoke(app, [*arguments, "--json"])
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def alike(one, other) -> bool:
    """Whether two documents say the same; numbers to the last digits, which a sum may round."""
    if isinstance(one, dict) and isinstance(other, dict):
        return set(one) == set(other) and all(alike(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(alike, one, other))
    if isinstance(one, float) and isinstance(other, float):
        return one == pytest.approx(other, rel=1e-9, abs=1e-12)
    return bool(one == other)
