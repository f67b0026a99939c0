"""Word-processor documents (.docx): paragraphs and tables, as they are shown."""

from collections.abc import Iterator
from typing import Any

from msgspec import Struct, field

from pretreat.core.archives import checked_parts, xml_root
from pretreat.core.errors import AnalysisError
from pretreat.lab.read.formats.tables import MAX_NESTED, MAX_SPAN, Piece, raised

_W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
_DELETED = frozenset({f"{_W}del", f"{_W}moveFrom", f"{_W}instrText", f"{_W}delText"})
_ALTERNATE = "{http://schemas.openxmlformats.org/markup-compatibility/2006}Fallback"


class Document(Struct):
    """The pieces of a document, and whether changes in it are tracked."""

    pieces: list[Piece] = field(default_factory=list)
    tracked: bool = False


def document_of(name: str, data: bytes) -> Document:
    """Read the paragraphs and tables of a document, deleted and hidden text left out.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    data : bytes
        Its content. [-]

    Returns
    -------
    Document
        Its pieces in order; a table inside another stands behind it. [-]

    Raises
    ------
    AnalysisError
        If it is damaged, hostile or nested too deep.
    """
    if "word/document.xml" not in checked_parts(name, data):
        raise AnalysisError(f"{name} holds no document that is read; save its table as .csv")
    root = xml_root(name, data, "word/document.xml")
    found = Document()
    for body in root.iter(f"{_W}body"):
        _collect(name, body, found, 0)
    found.tracked = any(next(root.iter(tag), None) is not None for tag in (f"{_W}ins", f"{_W}del"))
    return found


def _collect(name: str, parent: Any, found: Document, depth: int) -> None:
    if depth > MAX_NESTED:
        raise AnalysisError(f"{name} nests tables deeper than a report does; refused")
    for child in parent:
        if child.tag == f"{_W}p":
            text = _paragraph(child)
            if text.strip():
                found.pieces.append(Piece([tuple(part.strip() for part in text.split("\t"))]))
        elif child.tag == f"{_W}tbl":
            _table(name, child, found, depth)
        elif child.tag in {f"{_W}sdt", f"{_W}sdtContent", f"{_W}ins", f"{_W}customXml"}:
            _collect(name, child, found, depth)


def _table(name: str, table: Any, found: Document, depth: int) -> None:
    piece = Piece(table=True)
    found.pieces.append(piece)
    for row in _children(table, "tr"):
        cells: list[str] = []
        if row.find(f"{_W}trPr/{_W}del") is not None:
            continue
        for cell in _children(row, "tc"):
            wide, below = _span(cell)
            text = "" if below else " ".join(" ".join(_paragraph(p).split()) for p in _own(cell))
            if wide > 1:
                piece.spans.append((len(piece.rows), len(cells), len(cells) + wide - 1))
            cells += [text.strip(), *[""] * (wide - 1)]
            for inner in cell.findall(f"{_W}tbl"):
                _table_inside(name, inner, found, depth)
        piece.rows.append(tuple(cells))


def _table_inside(name: str, table: Any, found: Document, depth: int) -> None:
    if depth + 1 > MAX_NESTED:
        raise AnalysisError(f"{name} nests tables deeper than a report does; refused")
    _table(name, table, found, depth + 1)


def _children(parent: Any, tag: str) -> Iterator[Any]:
    """Yield rows or cells, also those inside controls and insertions."""
    for child in parent:
        if child.tag == f"{_W}{tag}":
            yield child
        elif child.tag in {f"{_W}sdt", f"{_W}sdtContent", f"{_W}ins", f"{_W}customXml"}:
            yield from _children(child, tag)


def _own(cell: Any) -> Iterator[Any]:
    """Yield the paragraphs of a cell, not those of a table inside it."""
    for child in cell:
        if child.tag == f"{_W}p":
            yield child
        elif child.tag in {f"{_W}sdt", f"{_W}sdtContent"}:
            yield from _own(child)


def _span(cell: Any) -> tuple[int, bool]:
    """Return how many columns a cell covers, and whether it continues the one above."""
    wide = cell.find(f"{_W}tcPr/{_W}gridSpan")
    merged = cell.find(f"{_W}tcPr/{_W}vMerge")
    text = wide.get(f"{_W}val", "1") if wide is not None else "1"
    columns = min(int(text), MAX_SPAN) if text.isdecimal() and len(text) < 8 and int(text) else 1
    return columns, merged is not None and merged.get(f"{_W}val", "continue") == "continue"


def _paragraph(paragraph: Any) -> str:
    text = ""
    for kind, part in _runs(paragraph):
        text += raised(text, part) if kind == "raised" else part
    return text


def _runs(parent: Any) -> Iterator[tuple[str, str]]:
    for child in parent:
        if child.tag in _DELETED or child.tag == _ALTERNATE:
            continue
        if child.tag != f"{_W}r":
            yield from _runs(child)
            continue
        if child.find(f"{_W}rPr/{_W}vanish") is not None or _is_white(child):
            continue
        place = child.find(f"{_W}rPr/{_W}vertAlign")
        up = place is not None and place.get(f"{_W}val") == "superscript"
        yield ("raised" if up else "plain"), "".join(_letters(child))


def _is_white(run: Any) -> bool:
    """Tell white letters without a shade of their own, which nobody sees."""
    colour = run.find(f"{_W}rPr/{_W}color")
    shaded = (
        run.find(f"{_W}rPr/{_W}shd") is not None or run.find(f"{_W}rPr/{_W}highlight") is not None
    )
    return colour is not None and colour.get(f"{_W}val", "").upper() == "FFFFFF" and not shaded


def _letters(run: Any) -> Iterator[str]:
    for child in run:
        if child.tag == f"{_W}t":
            yield child.text or ""
        elif child.tag == f"{_W}tab":
            yield "\t"
        elif child.tag in {f"{_W}br", f"{_W}cr"}:
            yield " "
        elif child.tag == f"{_W}noBreakHyphen":
            yield "-"
