"""Commands and scripts on a page: what it quotes of them is what they say today.

A block of a page that begins with three backticks and ``console run`` holds lines such as
``$ pretreat check water_analyses/drover_flat.csv``; each is run in a copy of the demo sites, and
its output set below it. ``python run=examples/x.py`` shows a script and what it prints. Of a
long output ``lines=20`` shows the first, ``from=Softener`` what begins there. ``exit=1`` says
that a command is to be refused.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
WIDTH = 92
LONGEST_S = 120
BLOCK = re.compile(r"^```(console run|python run=\S+)(.*)\n((?:(?!```).*\n)*)```$", re.M)
OPTION = re.compile(r'(lines|from|exit)=("[^"]+"|\S+)')


class Block(NamedTuple):
    """A block that is run: its kind, its options and its lines."""

    kind: str
    options: dict[str, str]
    body: str

    @property
    def commands(self) -> list[str]:
        """The command lines of a block."""
        return [line[2:] for line in self.body.splitlines() if line.startswith("$ ")]


def blocks(markdown: str) -> Iterator[Block]:
    """Yield the blocks of a page that are run."""
    for match in BLOCK.finditer(markdown):
        yield _block(match)


def _block(match: re.Match[str]) -> Block:
    options = {name: value.strip('"') for name, value in OPTION.findall(match[2])}
    return Block(match[1], options, match[3])


@contextmanager
def bench() -> Iterator[Path]:
    """Lay out a copy of the demo sites to run in."""
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(ROOT / "water_analyses", Path(folder) / "water_analyses")
        (Path(folder) / "reports").mkdir()
        shutil.copytree(DOCS / "examples", Path(folder) / "examples")
        yield Path(folder)


def filled(markdown: str) -> str:
    """Return a page with every block run, in the order of the page and in one folder."""
    if not BLOCK.search(markdown):
        return markdown
    with bench() as folder:
        return BLOCK.sub(lambda match: _shown(_block(match), folder), markdown)


def _shown(block: Block, folder: Path) -> str:
    if block.kind.startswith("python"):
        script = block.kind.split("=", 1)[1]
        text = (DOCS / script).read_text("utf-8").strip()
        said = _cut(run(f"python {script}", folder, 0), block.options)
        return f"```python\n{text}\n```\n\nIt prints:\n\n```text\n{said}\n```"
    wanted = int(block.options.get("exit", "0"))
    parts = []
    for command in block.commands:
        parts.append(f"$ {command}")
        parts.append(_cut(run(command, folder, wanted), block.options))
    return "```console\n" + "\n".join(filter(None, parts)) + "\n```"


def run(command: str, folder: Path, wanted: int) -> str:
    """Return what a command says; it must end with the exit code wanted."""
    home = str(Path(sys.executable).parent)
    paths = os.pathsep.join((home, os.environ.get("PATH", "")))
    environment = {
        **os.environ,
        "PATH": paths,
        "PYTHONPATH": str(ROOT),
        "COLUMNS": str(WIDTH),
        "NO_COLOR": "1",
        "TERM": "dumb",
    }
    done = subprocess.run(
        ["bash", "-c", command],
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=LONGEST_S,
        check=False,
    )
    if done.returncode != wanted:
        raise RuntimeError(f"{command}: exit {done.returncode}, not {wanted}\n{done.stdout}")
    return done.stdout.replace(str(folder), ".").rstrip()


def _cut(text: str, options: dict[str, str]) -> str:
    """Return the part of an output that a page shows."""
    lines = text.splitlines()
    if "from" in options:
        start = next((i for i, line in enumerate(lines) if options["from"] in line), None)
        if start is None:
            raise RuntimeError(f"'{options['from']}' is not in the output:\n{text}")
        lines = (["..."] if start else []) + lines[start:]
    most = int(options.get("lines", len(lines)))
    return "\n".join(lines[:most] + (["..."] if len(lines) > most else []))
