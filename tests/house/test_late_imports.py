"""What a site does not have is not imported: each module costs a run about 0.15 ms."""

import subprocess
import sys
from pathlib import Path

SITE = Path(__file__).parents[2] / "water_analyses" / "quarrow_vale.toml"
ABSENT = (
    "pretreat.lab.read.formats.placed",  # cells of a print
    "pretreat.lab.read.sentences",
    "pretreat.lab.screen",
    "pretreat.membrane.elements.operate",  # no element is named
    "pretreat.plant.finished.figures",  # no calcite behind the membranes
    "pretreat.record.store.book",  # no readings
)


def test_a_site_imports_what_it_has(tmp_path):
    code = (
        "import sys\nfrom pretreat.cli import main\n"
        f"sys.argv = ['pretreat', 'size', {str(SITE)!r}, '--draws', '0', '-o', 'out.xlsx']\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code\n"
        f"print('late:', *[name for name in {ABSENT} if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=tmp_path, check=True
    )
    assert done.stdout.splitlines()[-1] == "late:"
