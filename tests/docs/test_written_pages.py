"""The written pages: links lead somewhere, commands exist, examples run and say what they say."""

import doctest
import re
import runpy
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from docs.generate import flags, lab, method, quoted
from pretreat import cli
from pretreat.core.tables import rows
from pretreat.stages import ORDER

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = sorted(DOCS.rglob("*.md"))
READ = [*PAGES, ROOT / "README.md", ROOT / "DEVELOPERS.md"]
LINK = re.compile(r"(?<!`)!?\[[^\]]*\]\(([^)\s]+)\)")
FENCE = re.compile(r"^```.*?^```$|`[^`\n]+`", re.M | re.S)
HEADING = re.compile(r"^#+ (.+?)(?: \{ #(\S+) \})?$", re.M)
GENERATED = {
    *(f"method/{stage.key}.md" for stage in ORDER),
    *(f"method/{slug}.md" for slug, *_ in method.SHARED),
    "method/minerals.md", "method/sources.md", "validation.md",
    *(f"reference/{name}.md" for name in ("figures", "tables", "site_file", "lab", "flags")),
    *(f"pictures/quarrow_vale_{name}.png" for name in ("summary", "scaling", "card")),
}  # fmt: skip


def _command_line():
    app, kept = typer.Typer(), cli.app
    cli.app = app
    try:
        cli._register()
    finally:
        cli.app = kept
    return typer.main.get_command(app).commands


COMMANDS = _command_line()


def _named(path):
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("page", READ, ids=_named)
def test_links_lead_somewhere(page):
    text = FENCE.sub("", page.read_text("utf-8"))
    for target in LINK.findall(text):
        if target.startswith(("http://", "https://", "#")):
            continue
        place, _, part = target.partition("#")
        found = (page.parent / place).resolve()
        inside = found.relative_to(DOCS).as_posix() if DOCS in found.parents else ""
        assert found.exists() or inside in GENERATED, f"{target} leads nowhere"
        if part and found.exists():
            titles = HEADING.findall(found.read_text("utf-8"))
            assert part in {own or re.sub(r"\W+", "-", t.lower()).strip("-") for t, own in titles}


def _commands():
    for page in PAGES:
        for block in quoted.blocks(page.read_text("utf-8")):
            for line in block.commands:
                for part in re.split(r" [|;] ?|; ", line):
                    if part.startswith("pretreat "):
                        yield f"{page.name}: {part}"


def test_pages_use_commands_and_options_that_exist():
    """The build runs them; here their words are held against the commands."""
    for line in set(_commands()):
        _hold_against_the_command(line)


def _hold_against_the_command(line):
    name, *words = re.sub(r'"[^"]*"', "x", line.split(": pretreat ", 1)[1]).split()
    options = {one for p in COMMANDS[name].params for one in (*p.opts, *p.secondary_opts)}
    used = {word for word in words if re.fullmatch(r"--?[a-z][a-z-]*", word)}
    assert used <= options, line


def test_every_command_is_shown():
    said = {line.split(": pretreat ")[1].split()[0] for line in _commands()}
    assert set(COMMANDS) - {"page"} <= said  # a page has no end


def test_an_output_is_cut_to_what_a_page_shows(tmp_path):
    block = "```console run from=b lines=2\n$ printf 'a\\nb\\nc\\nd\\n'\n```"
    shown = quoted.filled(block)
    assert shown.splitlines()[2:-1] == ["...", "b", "..."]
    with pytest.raises(RuntimeError, match="exit 3"):
        quoted.run("exit 3", tmp_path, 0)


@pytest.mark.parametrize("page", [p for p in PAGES if ">>> " in p.read_text("utf-8")], ids=_named)
def test_python_on_the_pages(page, monkeypatch):
    if page.name == "CONTRIBUTING.md":
        pytest.skip("its block shows a law that belongs in a room of its own")
    monkeypatch.chdir(ROOT)
    failures, tried = doctest.testfile(str(page), module_relative=False)
    assert tried
    assert not failures


EXAMPLES = {
    "recovery_limits.py": "stopped by: calcite",
    "longer_hours.py": " 8 h/d: regenerate after 1.50 d",  # twice the 0.752 d of 16 h
    "uncertain_hardness.py": "eight of ten between",
    "table_of_waters.py": "north",
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_example_runs(name, monkeypatch, capsys):
    monkeypatch.chdir(ROOT)
    runpy.run_path(str(DOCS / "examples" / name), run_name="__main__")
    assert EXAMPLES[name] in capsys.readouterr().out


def test_every_language_of_the_names_is_named():
    assert {row["lang"] for row in rows("aliases.csv")} - {"en"} == set(lab.LANGUAGES)


def test_every_flag_says_what_to_do():
    """A flag that is new needs a line in docs/flags.csv; a few may wait for theirs."""
    advised, raised = flags.advice(), set(flags.raised())
    assert all(text.strip() for text in advised.values())
    assert len(raised - set(advised)) <= 15, sorted(raised - set(advised))
    assert len(set(advised) - raised) <= 15, sorted(set(advised) - raised)


def test_every_flag_that_was_ever_seen_is_found_in_the_source():
    """The page of flags is made from the source: no code may be put together out of its sight."""
    seen = {code for code in flags._recorded() if not code.startswith(("safety_", "finding_"))}
    assert len(seen) > 60
    assert seen <= set(flags.raised())
    assert "much_salt" in flags.raised()  # named by a constant of another module


def test_no_page_is_left_out_of_the_navigation():
    config = (ROOT / ".mkdocs.yml").read_text("utf-8")
    for page in PAGES:
        assert page.relative_to(DOCS).as_posix() in config


def test_pages_are_made_without_the_site_builder():
    """The generators load on what the tests install, the hook of the site builder aside."""
    code = "import docs.generate.catalogue, docs.generate.validation, sys; print('mkdocs' in sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "False"
