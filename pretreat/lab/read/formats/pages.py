"""Web pages, saved or sent as .xls, into grids of cells; nothing they point to is fetched."""

import re
from html.parser import HTMLParser

from pretreat.core.errors import AnalysisError
from pretreat.core.text import lazy
from pretreat.lab.read.formats.tables import MAX_CELLS, MAX_NESTED, MAX_SPAN, Piece, raised

MAX_BYTES = 16 * 1024 * 1024
_BREAKS = frozenset({"br", "p", "div", "li", "tr", "h1", "h2", "h3", "h4", "h5", "h6", "section"})
_SILENT = frozenset({"script", "style", "template", "head", "svg", "noscript", "select", "object"})
_VOID = frozenset(
    {"br", "img", "hr", "input", "meta", "link", "col", "area", "base", "embed", "source", "wbr"}
)
_CONCEALED = lazy(
    r"display\s*:\s*none|visibility\s*:\s*hidden|font-size\s*:\s*[01](?:\.\d+)?(?:px|pt)?\s*(?:;|$)|"
    r"mso-hide\s*:\s*all|(?<![-\w])color\s*:\s*(?:#fff(?:fff)?\b|white\b)",
    re.IGNORECASE,
)


def page_pieces(name: str, text: str) -> list[Piece]:
    """Return the paragraphs and tables of a web page.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    text : str
        The page. [-]

    Returns
    -------
    list of Piece
        In the order of the page; a table inside another stands behind it. [-]

    Raises
    ------
    AnalysisError
        If it is too large or nested too deep.
    """
    if len(text) > MAX_BYTES:
        raise AnalysisError(f"{name} is a web page of {len(text) >> 20} MB; save its table as .csv")
    reader = _Page(name)
    try:
        reader.feed(text)
        reader.close()
    except (AssertionError, ValueError, RecursionError) as problem:
        raise AnalysisError(
            f"{name} is a damaged web page ({type(problem).__name__}); save its table as .csv"
        ) from None
    reader.end_paragraph()
    return reader.pieces


class _Table:
    """One table while it is read."""

    def __init__(self) -> None:
        self.piece = Piece(table=True)
        self.row: list[str] | None = None
        self.cell: list[str] | None = None
        self.wide = 1
        self.tall = 1
        self.below: dict[int, tuple[int, str]] = {}  # column: rows left, text

    def fill(self) -> None:
        """Write cells that reach down from the rows above."""
        while self.row is not None and len(self.row) in self.below:
            rows, text = self.below.pop(len(self.row))
            if rows > 1:
                self.below[len(self.row)] = (rows - 1, text)
            self.row.append(text)


class _Page(HTMLParser):
    """Collects paragraphs and tables."""

    def __init__(self, name: str) -> None:
        super().__init__(convert_charrefs=True)
        self.name = name
        self.pieces: list[Piece] = []
        self.tables: list[_Table] = []
        self.text: list[str] = []
        self.concealed: list[str] = []  # open elements from the first that is not shown
        self.raised: list[str] | None = None
        self.cells = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Open an element."""
        said = {key: value or "" for key, value in attrs}
        hidden = (
            tag in _SILENT or "hidden" in said or bool(_CONCEALED.search(said.get("style", "")))
        )
        if self.concealed or hidden:
            if tag not in _VOID:
                self.concealed.append(tag)
            return
        if tag == "table":
            self._open_table()
        elif tag == "tr" and self.tables:
            self.end_row()
            self.tables[-1].row = []
        elif tag in {"td", "th"} and self.tables:
            self._open_cell(said)
        elif tag == "sup":
            self.raised = []
        elif tag in _BREAKS:
            self._break()

    def handle_endtag(self, tag: str) -> None:
        """Close an element."""
        if self.concealed:
            if tag in self.concealed:
                while self.concealed and self.concealed.pop() != tag:
                    pass
        elif tag in {"table", "tr", "td", "th"}:
            self._end_part(tag)
        elif tag == "sup" and self.raised is not None:
            mark, self.raised = "".join(self.raised), None
            self.handle_data(raised("".join(self._target()), mark))
        elif tag in _BREAKS:
            self._break()

    def _end_part(self, tag: str) -> None:
        if not self.tables:
            return
        if tag in {"td", "th"}:
            self.end_cell()
            return
        self.end_row()
        if tag == "table":
            self.pieces.append(self.tables.pop().piece)

    def handle_data(self, data: str) -> None:
        """Take up text."""
        if self.concealed:
            return
        if self.raised is not None:
            self.raised.append(data)
        elif not (self.tables and self.tables[-1].cell is None):
            self._target().append(re.sub(r"[ \t\r\n\f]+", " ", data))

    def close(self) -> None:
        """Close what the page left open."""
        super().close()
        while self.tables:
            self.end_row()
            self.pieces.append(self.tables.pop().piece)

    def _target(self) -> list[str]:
        cell = self.tables[-1].cell if self.tables else None
        return self.text if cell is None else cell

    def _break(self) -> None:
        if self.tables and self.tables[-1].cell is not None:
            self.tables[-1].cell.append(" ")
        elif not self.tables:
            self.end_paragraph()

    def end_paragraph(self) -> None:
        """Keep the text outside tables as a row of its own."""
        text = " ".join("".join(self.text).split())
        self.text = []
        if text:
            self.pieces.append(Piece([(text,)]))

    def _open_table(self) -> None:
        if len(self.tables) >= MAX_NESTED:
            raise AnalysisError(f"{self.name} nests tables deeper than a report does; refused")
        if not self.tables:
            self.end_paragraph()
        self.tables.append(_Table())

    def _open_cell(self, said: dict[str, str]) -> None:
        table = self.tables[-1]
        self.end_cell()
        if table.row is None:
            table.row = []
        table.fill()
        table.cell = []
        table.wide, table.tall = _span(said.get("colspan", "")), _span(said.get("rowspan", ""))

    def end_cell(self) -> None:
        """Write the cell that is open into its row."""
        table = self.tables[-1]
        if table.cell is None or table.row is None:
            return
        text = " ".join("".join(table.cell).split())
        first = len(table.row)
        for n in range(table.wide):
            table.row.append(text if n == 0 else "")
            if table.tall > 1:
                table.below[first + n] = (table.tall - 1, text if n == 0 else "")
        if table.wide > 1:
            table.piece.spans.append((len(table.piece.rows), first, first + table.wide - 1))
        table.cell = None
        self.cells += table.wide
        if self.cells > MAX_CELLS:
            raise AnalysisError(f"{self.name} holds more than {MAX_CELLS} cells; cut it down")

    def end_row(self) -> None:
        """Write the row that is open into its table."""
        table = self.tables[-1]
        self.end_cell()
        if table.row is None:
            return
        table.fill()
        table.piece.rows.append(tuple(table.row))
        table.row = None


def _span(text: str) -> int:
    return (
        min(int(text), MAX_SPAN) if text.strip().isdecimal() and len(text) < 8 and int(text) else 1
    )
