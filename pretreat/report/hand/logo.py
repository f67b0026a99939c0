"""The logo of a letterhead: a small PNG or JPEG, looked at before anything is written."""

import io
import warnings
from pathlib import Path
from typing import Any

from msgspec import Struct

from pretreat.core.doors import Kind, file_bytes, one_line
from pretreat.core.errors import DesignError

LOGO = Kind("the logo", "no such file; check [quote] logo", 2, DesignError)
MOST_PIXELS = 4000  # a side
_KINDS = ("PNG", "JPEG")
_REMEDY = "a logo is a PNG or JPEG picture"


class Logo(Struct, frozen=True):
    """A picture that was read whole, and its sides in pixels."""

    content: bytes
    width: int
    height: int

    def picture(self) -> Any:
        """Return it as a stream."""
        return io.BytesIO(self.content)


def read_logo(path: Path) -> Logo:
    """Read a logo.

    Parameters
    ----------
    path : Path
        A PNG or JPEG file of at most 2 MiB and 4,000 pixels a side. [-]

    Returns
    -------
    Logo
        The picture as PNG. [-]

    Raises
    ------
    DesignError
        If it is none, is damaged or too large.
    """
    content, where = file_bytes(path, LOGO), f"logo {one_line(str(path))}"
    try:
        sides = _sides(content)
        logo = _whole(content) if max(sides) <= MOST_PIXELS else None
    except Exception as problem:
        raise DesignError(f"{where}: cannot be read as a picture; {_REMEDY}") from problem
    if logo is None:
        raise DesignError(
            f"{where}: {sides[0]} x {sides[1]} pixels, at most {MOST_PIXELS:,} a side; "
            "make it smaller"
        )
    return logo


def _sides(content: bytes) -> tuple[int, int]:
    """Return the sides that a picture says it has, before any of it is unpacked."""
    from PIL import Image

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with Image.open(io.BytesIO(content), formats=_KINDS) as picture:
            width, height = picture.size
            return width, height


def _whole(content: bytes) -> Logo:
    """Unpack a picture and keep it as PNG."""
    from PIL import Image

    with Image.open(io.BytesIO(content), formats=_KINDS) as picture:
        plain = picture.convert("RGBA" if "A" in picture.getbands() else "RGB")
        memory = io.BytesIO()
        plain.save(memory, "PNG")
        return Logo(memory.getvalue(), *plain.size)
