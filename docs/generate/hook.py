"""What mkdocs calls: adds the generated pages and runs what the written ones quote."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))  # mkdocs loads this file by its place

from mkdocs.structure.files import File, Files  # noqa: E402

from docs.generate import catalogue, flags, lab, method, quoted, site_file, validation  # noqa: E402

CAUTIONS = "<!-- cautions -->"  # where a page has them
PICTURES = ("quarrow_vale_summary", "quarrow_vale_scaling", "quarrow_vale_card")
_found: list[tuple[str, str, str]] = []


def generated() -> Iterator[tuple[str, str, str]]:
    """Yield file, title and text of every generated page."""
    for maker in (method, catalogue, site_file, lab, flags, validation):
        yield from maker.pages()


def on_config(config: Any) -> Any:
    """Make the pages, and put those of the method into the navigation."""
    _found[:] = generated()
    methods = [{title: name} for name, title, _ in _found if name.startswith("method/")]
    for section in config.nav:
        if "Method" in section:
            section["Method"] = [*section["Method"], *methods]
    return config


def on_files(files: Files, config: Any) -> Files:
    """Add the generated pages and the pictures of the workbook."""
    for name, _, text in _found:
        files.append(File.generated(config, name, content=text))
    for picture in PICTURES:
        place = ROOT / "reports" / f"{picture}.png"
        files.append(File.generated(config, f"pictures/{picture}.png", abs_src_path=str(place)))
    return files


def on_page_markdown(markdown: str, page: Any, **_: Any) -> str:
    """Run what the page quotes, and put the cautions where they belong."""
    if CAUTIONS in markdown:
        markdown = markdown.replace(CAUTIONS, method.all_cautions())
    return quoted.filled(markdown)
