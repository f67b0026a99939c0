"""Bad input: one clear line on stderr, exit code 1 or 2, never a traceback."""

import pytest

from tests.cli.conftest import ANALYSES

WELL = ANALYSES / "quarrow_vale_well_2.csv"


@pytest.fixture
def pretreat(pretreat_process):
    """As a person's shell runs it: streams and exit code are those of a process."""
    return pretreat_process


def _only_line(done) -> str:
    lines = [line for line in done.stderr.splitlines() if line.strip()]
    assert len(lines) == 1, done.stderr
    return lines[0]


@pytest.mark.parametrize("command", [("check",), ("scaling", "--recovery", "0.5")])
def test_missing_file(pretreat, command):
    assert "nowhere.csv" in _only_line(pretreat(*command, "nowhere.csv", code=1))


def test_empty_file(pretreat, tmp_path):
    (tmp_path / "empty.csv").write_text("")
    assert "empty" in _only_line(pretreat("check", "empty.csv", code=1))


def test_text_renamed_to_xlsx(pretreat, tmp_path):
    (tmp_path / "report.xlsx").write_text("Calcium,80,mg/L\n")
    assert "report.xlsx" in _only_line(pretreat("check", "report.xlsx", code=1))


def test_unknown_key_in_the_site_file(pretreat, tmp_path):
    site = (ANALYSES / "quarrow_vale.toml").read_text("utf-8").replace("recovery = ", "recovry = ")
    (tmp_path / "site.toml").write_text(site, "utf-8")
    done = pretreat("size", "site.toml", code=1)
    assert "did you mean 'recovery'" in done.stderr


def test_negative_concentration(pretreat, tmp_path):
    (tmp_path / "r.csv").write_text(
        WELL.read_text("utf-8").replace("Calcium,118", "Calcium,-118"), "utf-8"
    )
    line = _only_line(pretreat("check", "r.csv", code=1))
    assert "-118" in line


def test_unit_that_does_not_exist(pretreat, tmp_path):
    text = WELL.read_text("utf-8").replace("Calcium,118,mg/L", "Calcium,118,furlong/L")
    (tmp_path / "r.csv").write_text(text, "utf-8")
    said = pretreat("check", "r.csv").stdout  # the row is left out, not the file
    assert "row_dropped" in said
    assert "furlong/L" in said


@pytest.mark.parametrize("value", ["1.2", "-0.1", "65"])
def test_recovery_out_of_range(pretreat, value):
    done = pretreat("scaling", WELL, "--recovery", value, code=2)
    assert value in done.stderr


def test_recovery_out_of_range_in_the_site_file(pretreat, tmp_path):
    site = (ANALYSES / "quarrow_vale.toml").read_text("utf-8")
    (tmp_path / "site.toml").write_text(site.replace("recovery = 0.65", "recovery = 1.2"), "utf-8")
    assert "recovery is 1.2" in _only_line(pretreat("size", "site.toml", code=1))


def test_wrong_usage(pretreat):
    pretreat("scaling", WELL, code=2)
    pretreat("nonsense", code=2)


def test_site_file_missing_or_broken(pretreat, tmp_path):
    assert "site.toml" in _only_line(pretreat("size", "site.toml", code=1))
    (tmp_path / "site.toml").write_text("[machine\n")
    assert "line 1 cannot be read: [machine" in _only_line(pretreat("size", "site.toml", code=1))
