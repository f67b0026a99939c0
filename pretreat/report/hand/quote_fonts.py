"""Letters of the quote: an embedded font of many scripts, and one of the user's for the rest."""

import io
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Any

from pretreat.core.doors import Kind, file_bytes
from pretreat.core.errors import DesignError

FAMILY, USER = "page", "user"
MISSING = "?"
FONT = Kind("the font", "no such file; check [quote] font", 64, DesignError)
_SHAPING = ("GSUB", "GPOS", "GDEF")  # rules that the page does not apply, slow to carry along
_KINDS = (".ttf", ".otf", ".ttc")
_SPACES = {"\u00a0": " ", "\u2007": " ", "\u202f": " ", "\u200b": "", "\u00ad": "", "\ufeff": ""}


@lru_cache(maxsize=1)
def font_files() -> tuple[Any, Path, Path]:
    """Unpack the regular and the bold letters once a process; the folder goes with it."""
    from fontTools.ttLib import TTFont
    from pymupdf_fonts import FiraGO_Bold, FiraGO_Regular

    folder = tempfile.TemporaryDirectory(prefix="pretreat_fonts_")
    found = []
    for name, module in (("regular.ttf", FiraGO_Regular), ("bold.ttf", FiraGO_Bold)):
        found.append(Path(folder.name) / name)
        with TTFont(
            io.BytesIO(module.fontbuffer), recalcBBoxes=False, recalcTimestamp=False
        ) as font:
            for table in _SHAPING:
                del font[table]
            font.save(found[-1], reorderTables=False)
    return folder, found[0], found[1]


def add_fonts(pdf: Any, own: Path | None) -> None:
    """Add the fonts to a page.

    Parameters
    ----------
    pdf : object
        The PDF being written. [-]
    own : Path or None
        The user's font, for letters that the built-in one lacks. [-]

    Raises
    ------
    DesignError
        If the user's font cannot be read.
    """
    _, regular, bold = font_files()
    pdf.add_font(FAMILY, "", regular)
    pdf.add_font(FAMILY, "B", bold)
    if own is None:
        return
    _check(own)
    try:
        pdf.add_font(USER, "", own.resolve())
    except Exception as problem:
        raise DesignError(f"font {own}: cannot be read as a font; name another file") from problem
    pdf.set_fallback_fonts([USER], exact_match=False)


def _check(own: Path) -> None:
    file_bytes(own, FONT)
    if own.suffix.casefold() not in _KINDS:
        raise DesignError(f"font {own}: write the name of a {', '.join(_KINDS)} file")


class Letters:
    """What of a text can be printed; what cannot is kept in ``lost``."""

    def __init__(self, pdf: Any) -> None:
        self.known = [set(font.cmap) for font in pdf.fonts.values() if hasattr(font, "cmap")]
        self.lost: dict[str, None] = {}

    def __call__(self, text: str) -> str:
        """Return a text with a question mark for each letter that no font has."""
        return "".join(self._letter(letter) for letter in text)

    def _letter(self, letter: str) -> str:
        if letter == "\n" or not letter.isprintable():
            return letter if letter == "\n" else _SPACES.get(letter, "")
        if any(ord(letter) in known for known in self.known):
            return letter
        self.lost[letter] = None
        return MISSING
