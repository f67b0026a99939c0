"""What a workbook holds, counted while its parts stream by, before a library loads it."""

import io
import zipfile
from collections import Counter
from xml.parsers import expat

from pretreat.core.archives import MAX_DEPTH, damaged
from pretreat.core.errors import AnalysisError
from pretreat.core.text import lazy

MAX_MERGED, MAX_MERGED_CELLS = 10_000, 200_000
MAX_CELLS = 1_500_000
MAX_STYLES = 66_000  # a spreadsheet program itself keeps 64,000
MAX_OTHERS = 20_000  # names, validations, conditions, links, comments
MAX_ELEMENTS = 8_000_000
_BLOCK = 1 << 16
_AREA = lazy(r"\$?([A-Za-z]{1,3})\$?(\d{1,7})(?::\$?([A-Za-z]{1,3})\$?(\d{1,7}))?")
_STYLES = frozenset(
    {
        "xf",
        "font",
        "fill",
        "border",
        "numFmt",
        "cellStyle",
        "dxf",
        "tableStyle",
        "tableStyleElement",
    }
)
_OTHERS = frozenset(
    {
        "definedName",
        "dataValidation",
        "conditionalFormatting",
        "cfRule",
        "hyperlink",
        "comment",
        "col",
        "brk",
        "sheet",
        "protectedRange",
        "filterColumn",
        "filter",
        "Relationship",
        "Override",
    }
)
_SCANNED = lazy(r"(?:xl/.*|\[Content_Types\])\.(?:xml|rels)$")


class _Count:
    """Counts the elements of the parts of a workbook, and the cells that merged areas cover."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.seen: Counter[str] = Counter()
        self.merged_cells = 0
        self.elements = 0
        self.depth = 0

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """Count an element."""
        local = tag.rpartition(":")[2]
        self.elements += 1
        self.depth += 1
        if self.depth > MAX_DEPTH:
            raise AnalysisError(f"{self.name} nests its parts deeper than a report does; refused")
        kind = "style" if local in _STYLES else "other" if local in _OTHERS else local
        self.seen[kind] += 1
        if local == "mergeCell":
            self.merged_cells += _cells_of(attributes.get("ref", ""))
            if self.seen[kind] > MAX_MERGED or self.merged_cells > MAX_MERGED_CELLS:
                raise AnalysisError(
                    f"{self.name} merges {self.merged_cells} cells in {self.seen[kind]} areas or "
                    "more; unmerge them"
                )
        elif local in {"dataValidation", "conditionalFormatting"}:
            self.seen["other"] += attributes.get("sqref", "").count(" ")
        self._check(kind)

    def end(self, _tag: str) -> None:
        """Leave an element."""
        self.depth -= 1

    def _check(self, kind: str) -> None:
        if kind == "style" and self.seen[kind] > MAX_STYLES:
            raise AnalysisError(
                f"{self.name} holds more than {MAX_STYLES:,} styles; copy its values into a new "
                "workbook"
            )
        if kind == "other" and self.seen[kind] > MAX_OTHERS:
            raise AnalysisError(
                f"{self.name} holds more than {MAX_OTHERS:,} names, links or rules; copy its "
                "values into a new workbook"
            )
        if self.seen["c"] > MAX_CELLS or self.elements > MAX_ELEMENTS:
            raise AnalysisError(
                f"{self.name} holds more than {MAX_CELLS:,} cells; delete what is not the analysis"
            )


def _cells_of(area: str) -> int:
    """Return the cells of an area; one that cannot be read counts as too many."""
    match = _AREA.fullmatch(area.strip())
    if match is None:
        return MAX_MERGED_CELLS + 1
    left, top, right, bottom = match.groups()
    if right is None:
        return 1
    wide = abs(_number(right) - _number(left)) + 1
    return wide * (abs(int(bottom) - int(top)) + 1)


def _number(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = 26 * number + ord(letter) - ord("A") + 1
    return number


def check_counts(name: str, data: bytes) -> bool:
    """Refuse a workbook that would fill memory or time when it is loaded.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    data : bytes
        The archive. [-]

    Returns
    -------
    bool
        Whether a cell holds a formula. [-]

    Raises
    ------
    AnalysisError
        If it holds too much of anything, declares entities or is damaged.
    """
    count = _Count(name)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            for part in archive.namelist():
                if _SCANNED.match(part):
                    _scan(archive, part, count)
    except AnalysisError:
        raise
    except Exception as problem:  # noqa: BLE001  # a damaged archive fails in many ways
        raise AnalysisError(damaged(name, problem)) from None
    return count.seen["f"] > 0


def _scan(archive: zipfile.ZipFile, part: str, count: _Count) -> None:
    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.EndElementHandler = count.start, count.end

    def refuse(*_: object) -> None:
        raise AnalysisError(f"{count.name} declares XML entities in {part}; refused")

    parser.EntityDeclHandler = refuse
    parser.StartDoctypeDeclHandler = refuse
    with archive.open(part) as source:
        while block := source.read(_BLOCK):
            parser.Parse(block, False)
    parser.Parse(b"", True)
