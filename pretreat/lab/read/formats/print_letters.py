"""The letters of a PDF page that a reader sees: a device for the library that draws it."""

import time
from typing import Any

from pdfminer.converter import PDFLayoutAnalyzer
from pdfminer.layout import LTChar, LTContainer, LTRect
from pdfminer.pdfinterp import PDFPageInterpreter, PDFResourceManager
from pdfminer.pdftypes import stream_value

from pretreat.core.errors import AnalysisError
from pretreat.lab.read.formats import prints as limits
from pretreat.lab.read.formats.prints import Letter

LEAST_SLANT = 0.05
_INVISIBLE = frozenset({3, 7})  # text render modes without ink


class Letters(PDFLayoutAnalyzer):
    """Collects the visible letters of a page, within a time and a number of them."""

    def __init__(self, manager: PDFResourceManager, deadline: float) -> None:
        super().__init__(manager, pageno=1, laparams=None)
        self.deadline = deadline
        self.letters: list[Letter] = []
        self.turned: list[Letter] = []  # by a quarter, to the left
        self.hidden = 0
        self.count = 0
        self.run = 0

    def check(self) -> None:
        """Stop where a page takes more time or letters than a report does."""
        if time.monotonic() > self.deadline:
            raise AnalysisError(
                f"the PDF takes more than {limits.MAX_SECONDS:.0f} s to read; print the pages with "
                "the results to a new PDF"
            )
        if self.count > limits.MAX_LETTERS:
            raise AnalysisError(
                f"the PDF holds more than {limits.MAX_LETTERS} letters; print the pages with the "
                "results to a new PDF"
            )

    def render_string(self, textstate: Any, seq: Any, ncs: Any, graphicstate: Any) -> None:
        """Draw a text unless it is drawn without ink."""
        self.check()
        self.count += sum(len(part) for part in seq if isinstance(part, bytes | str))
        if getattr(textstate, "render", 0) in _INVISIBLE:
            self.hidden += len(seq)
            return
        drawn = getattr(self.cur_item, "_objs", [])
        before = len(drawn)
        super().render_string(textstate, seq, ncs, graphicstate)
        self.run += 1
        for letter in drawn[before:]:
            letter.run = self.run

    def receive_layout(self, ltpage: Any) -> None:
        """Take the letters of a finished page."""
        dark: list[tuple[float, float, float, float]] = []
        found: list[tuple[LTChar, bool]] = []
        self._walk(ltpage, found, dark, 0)
        left, bottom, right, top = ltpage.bbox
        for letter, white in found:
            x0, y0, x1, y1 = letter.bbox
            outside = x1 < left or x0 > right or y1 < bottom or y0 > top
            on_dark = any(a <= x0 and b <= y1 and c >= x1 and d >= y0 for a, b, c, d in dark)
            height = letter.size if letter.upright else x1 - x0
            if outside or height < limits.SMALLEST_PT or (white and not on_dark):
                self.hidden += 1
            elif letter.upright:
                size = min(letter.size, y1 - y0) or letter.size
                text = letter.get_text()
                text = " " if "(cid:" in text else text
                self.letters.append(Letter(x0, x1, y0, y1, size, text, getattr(letter, "run", 0)))
            elif turned := _turned(letter):
                self.turned.append(turned)

    def _walk(self, item: Any, found: list[Any], dark: list[Any], depth: int) -> None:
        if depth > limits.MAX_DRAWN_INSIDE // 10:
            return
        for part in item:
            if isinstance(part, LTChar):
                found.append((part, _shade(part.graphicstate.ncolor) >= limits.WHITE))
            elif isinstance(part, LTRect):
                if part.fill and _shade(part.non_stroking_color) < limits.DARK and len(dark) < 2000:
                    dark.append(part.bbox)
            elif isinstance(part, LTContainer):
                self._walk(part, found, dark, depth + 1)

    def taken(self) -> tuple[list[Letter], list[Letter], int]:
        """Return the letters of the page, those turned by a quarter, how many were hidden."""
        letters, self.letters = self.letters, []
        turned, self.turned = self.turned, []
        hidden, self.hidden = self.hidden, 0
        return letters, turned, hidden


def _turned(letter: LTChar) -> Letter | None:
    """Return a letter turned by a quarter as it stands on a page turned back; None at a slant."""
    a, b, _, d, _, _ = letter.matrix
    if abs(a) + abs(d) > LEAST_SLANT * abs(b):
        return None
    x0, y0, x1, y1 = letter.bbox
    run, size = getattr(letter, "run", 0), x1 - x0
    if b > 0:  # reads upwards
        return Letter(y0, y1, -x1, -x0, size, letter.get_text(), run, upwards=True)
    return Letter(-y1, -y0, x0, x1, size, letter.get_text(), run, upwards=False)


def _shade(colour: Any) -> float:
    """Return how light a colour is, black 0 to white 1; unknown ones count as black."""
    if isinstance(colour, int | float):
        return float(colour)
    if not isinstance(colour, list | tuple):
        return 0.0
    parts = [float(p) for p in colour if isinstance(p, int | float)]
    if len(parts) == 4:
        return (1.0 - min(parts[3], 1.0)) * (1.0 - min(sum(parts[:3]) / 3, 1.0))
    return min(parts) if parts and len(parts) in {1, 3} else 0.0


class _Drawing(PDFPageInterpreter):
    """Draws pages, within an amount of drawing and of drawings inside drawings."""

    drawn = 0
    device: Letters

    def execute(self, streams: Any) -> None:
        """Draw streams of one page or one drawing."""
        self.device.check()
        type(self).drawn += 1
        size = 0
        for stream in streams:
            size += len(stream_value(stream).get_data())
            self.device.check()
            if size > limits.MAX_PAGE_BYTES or type(self).drawn > limits.MAX_DRAWN_INSIDE:
                raise AnalysisError(
                    "the PDF draws more on a page than a lab report does; print the pages with the "
                    "results to a new PDF"
                )
        super().execute(streams)

    def process_page(self, page: Any) -> None:
        """Draw one page."""
        type(self).drawn = 0
        super().process_page(page)


def drawing(manager: PDFResourceManager, device: Letters) -> Any:
    """Return what draws pages on a device.

    Parameters
    ----------
    manager : PDFResourceManager
        Keeps the fonts. [-]
    device : Letters
        Takes the letters. [-]

    Returns
    -------
    PDFPageInterpreter
        With ``process_page``. [-]
    """
    return _Drawing(manager, device)
