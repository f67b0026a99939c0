"""Archives of office documents, checked before anything inside is loaded."""

import io
import re
import zipfile
from typing import Any

from pretreat.core.errors import AnalysisError

MAX_UNPACKED_BYTES = 150 * 1024 * 1024
MAX_PART_RATIO = 400  # a sheet of numbers packs 5 to 30 times; a bomb a thousand times
MAX_PARTS = 3_000
MAX_DEPTH = 100  # elements inside each other; a table in a table has some thirty
_SCAN_BYTES = 4096


def checked_parts(name: str, data: bytes) -> set[str]:
    """Return the names of the parts of an archive that is neither damaged nor hostile.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    data : bytes
        Its content. [-]

    Returns
    -------
    set of str
        Names of its parts. [-]

    Raises
    ------
    AnalysisError
        If it is damaged, a bomb, or declares XML entities.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _checked(name, archive)
    except AnalysisError:
        raise
    except Exception as problem:  # noqa: BLE001  # a damaged archive fails in many ways
        raise AnalysisError(damaged(name, problem)) from None


def _checked(name: str, archive: zipfile.ZipFile) -> set[str]:
    parts = archive.infolist()
    total = sum(part.file_size for part in parts)
    if len(parts) > MAX_PARTS or total > MAX_UNPACKED_BYTES:
        raise AnalysisError(f"{name} unpacks to far more than such a file holds; refused")
    for part in parts:
        _check_part(name, archive, part)
    return {part.filename for part in parts}


def damaged(name: str, problem: Exception) -> str:
    """Return the message about a file that its library cannot read."""
    return f"{name} is a damaged workbook ({type(problem).__name__}); save it again and retry"


def _check_part(name: str, archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> None:
    if part.file_size > 1_000_000 and part.file_size > MAX_PART_RATIO * max(part.compress_size, 1):
        raise AnalysisError(f"{name} unpacks to far more than such a file holds; refused")
    if not part.filename.endswith((".xml", ".rels", ".vml")):
        return
    with archive.open(part) as handle:
        head = handle.read(_SCAN_BYTES).replace(b"\x00", b"")
    if re.search(rb"<!(?:DOCTYPE|ENTITY)", head, re.IGNORECASE):
        raise AnalysisError(f"{name} declares XML entities in {part.filename}; refused")


def xml_root(name: str, data: bytes, part: str) -> Any:
    """Return the root element of a part, refused where it is damaged or nested too deep.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    data : bytes
        The archive. [-]
    part : str
        Name of the part. [-]

    Returns
    -------
    Element
        Its root. [-]
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive, archive.open(part) as handle:
            return _shallow(name, handle)
    except AnalysisError:
        raise
    except Exception as problem:  # noqa: BLE001  # damage inside the archive ends up here
        raise AnalysisError(
            f"{name} is a damaged document ({type(problem).__name__}); save it again and retry"
        ) from None


def _shallow(name: str, handle: Any) -> Any:
    from defusedxml import ElementTree

    root, depth = None, 0
    for event, element in ElementTree.iterparse(handle, events=("start", "end")):
        root = element if root is None else root
        depth += 1 if event == "start" else -1
        if depth > MAX_DEPTH:
            raise AnalysisError(f"{name} nests its parts deeper than a report does; refused")
    return root
