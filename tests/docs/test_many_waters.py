"""`screen` over the parts of a frame, each in one of two processes, as docs/many_waters.md has it.

dask is no part of the tests' install: it brings pyarrow, which weighs as much as all the rest and
slows every import of pandas. `.ci/run --all` installs it beside the documentation.
"""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "docs" / "examples" / "many_waters.py"


def test_two_workers_give_the_rows_of_one():
    pytest.importorskip("dask.dataframe")
    done = subprocess.run(
        [sys.executable, str(EXAMPLE)],
        cwd=ROOT,
        env={"PYTHONPATH": str(ROOT), "PATH": "/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("4,000 rows, the same")


def test_parts_of_a_frame_give_the_rows_of_the_whole():
    """What the engine rests on: a row is the same whatever stands beside it, to 1e-9."""
    from pretreat import screen

    source = EXAMPLE.read_text("utf-8").replace("import dask.dataframe as dd", "")
    code = compile(source, str(EXAMPLE), "exec")
    space = {"__name__": "example"}
    exec(code, space)
    frame = space["waters"]().head(900)  # more than are started near each other as draws
    whole = screen(frame, [0.5, 0.75])
    parts = [screen(part, [0.5, 0.75]) for part in (frame[:7], frame[7:64], frame[64:])]
    joined = pd.concat(parts, ignore_index=True)
    assert joined["id"].tolist() == whole["id"].tolist()
    assert joined["limited_by"].tolist() == whole["limited_by"].tolist()
    numbers = whole.select_dtypes("number").columns
    np.testing.assert_allclose(joined[numbers], whole[numbers], rtol=1e-9, atol=1e-9)
