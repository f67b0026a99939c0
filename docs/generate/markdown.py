"""Markdown of tables, texts and links, with what would break them taken care of."""

import html
import re
from collections.abc import Iterable, Sequence


def cell(text: object) -> str:
    """Return a text as one cell of a table."""
    return re.sub(r"\s+", " ", html.escape(str(text), quote=False)).replace("|", "\\|").strip()


def code(text: object) -> str:
    """Return a text as code within a table, that may break behind a dot or an underscore."""
    shown = html.escape(str(text), quote=False).replace("|", "&#124;").replace("*", "&#42;")
    shown = shown.replace("[", "&#91;").replace("]", "&#93;")
    shown = shown.replace(".", ".<wbr>").replace("_", "&#95;<wbr>")
    return f"<code>{shown}</code>" if shown else ""


def table(headings: Sequence[str], lines: Iterable[Sequence[str]]) -> str:
    """Return a table; cells are Markdown already."""
    found = [f"| {' | '.join(headings)} |", f"|{'---|' * len(headings)}"]
    found += [f"| {' | '.join(line)} |" for line in lines]
    return "\n".join(found) + "\n"


def anchor(text: str) -> str:
    """Return the anchor of a heading or of a source."""
    return re.sub(r"[^a-z0-9]+", "-", text.casefold()).strip("-")


def sentence(text: str) -> str:
    """Return a text that begins with a capital and ends with a full stop."""
    text = " ".join(text.split())
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text.endswith((".", ":", "?")) else ".")


def generated(title: str, origin: str, body: str) -> str:
    """Return a page with its title and a word on where it comes from."""
    return f"# {title}\n\n*Written by the build from {origin}; not by hand.*\n\n{body.strip()}\n"
