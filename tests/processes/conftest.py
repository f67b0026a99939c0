"""Sites with a water of a few lines and a train fixed by hand, run through the command."""

import json
import sys

import pytest

from pretreat.cli import main

WATER = {
    "Field pH": "7.2", "Temperature [C]": "15", "Ca [mg/L]": "110", "Mg [mg/L]": "28",
    "Na [mg/L]": "140", "K [mg/L]": "6", "Alkalinity [mg/L as CaCO3]": "280",
    "Fe [mg/L]": "0.02", "SO4 [mg/L]": "120", "Cl [mg/L]": "195", "SiO2 [mg/L]": "18",
}  # fmt: skip
SITE = """
[water]
analysis = "water.csv"
operating_temperature_c = 15
[machine]
product_flow = "1.0 m3/h"
recovery = {recovery}
hours_per_day = 20
{machine}
[train]
stages = {stages}
{more}
"""


@pytest.fixture
def site(tmp_path, monkeypatch, capsys):
    """Write a site; return what ``size --json`` answers: exit code, study, error text.

    What a process does hangs on no draw: a few are drawn, so that the verdict is whole.
    """

    def run(stages, more="", water=None, *, recovery=0.6, command="size", machine="", draws=64):
        rows = {**WATER, **(water or {})}
        text = "analyte,value,unit\n"
        for name, value in rows.items():
            word, _, unit = name.rstrip("]").partition(" [")
            text += f"{word},{value},{unit}\n"
        (tmp_path / "water.csv").write_text(text, encoding="utf-8")
        body = SITE.format(
            stages=json.dumps(list(stages)), more=more, recovery=recovery, machine=machine
        )
        if stages == "chosen":
            body = body.replace(f"[train]\nstages = {json.dumps(list(stages))}\n", "")
        (tmp_path / "site.toml").write_text(body, encoding="utf-8")
        monkeypatch.setattr(
            sys,
            "argv",
            ["pretreat", command, str(tmp_path / "site.toml"), "--json", "--draws", str(draws)],
        )
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        printed = capsys.readouterr()
        code = ended.value.code or 0
        return code, json.loads(printed.out) if code == 0 else None, printed.err

    return run


@pytest.fixture
def figures(site):
    """Return the figures and the texts of the flags of a site that is sized."""

    def run(*arguments, **more):
        code, study, error = site(*arguments, **more)
        assert code == 0, error
        found = {key: figure["value"] for key, figure in study["figures"].items()}
        return found, [flag["text"] for flag in study["flags"]]

    return run
