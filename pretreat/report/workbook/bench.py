"""What every writer of a sheet needs, and the two rows that all sheets share."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Figure, Flag
from pretreat.core.results import Study
from pretreat.report.digits import shown
from pretreat.report.text.us_words import in_us_words
from pretreat.report.workbook.formulas import repeated_key
from pretreat.report.workbook.marks import Marks
from pretreat.report.workbook.pages import GRID_CHARS, LABEL_COLUMN, Book, Page, TablePart
from pretreat.report.workbook.styles import LINE_HEIGHT, Styles
from pretreat.stages import ORDER, trains_in_words

LABEL_CHARS = 45
MONTHS = "months"
MONEY = "currency"  # the unit where the user names none
_MONTHS_PER_YEAR = 12.0
_LANGELIER_TO_MG_L = 10_000.0  # D3739: S&DSI where the concentrate holds more

INTERNAL = "internal, own cost before the margin"


def at_own_cost(study: Study) -> bool:
    """Tell whether prices are the supplier's own costs, which no client is to read.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    bool
        True where a margin is given. [-]
    """
    return study.number("offer.margin_pct") is not None


class Bench(Struct, frozen=True):
    """What every writer of a sheet needs."""

    study: Study
    book: Book
    marks: Marks
    workbook: Any
    styles: Styles
    us: bool
    flags: Mapping[str | None, Sequence[Flag]]  # by the figure that they name

    def words(self, text: str) -> str:
        """Return a sentence of the program in the units of the reader and the trade's names."""
        named = trains_in_words(text)
        return in_us_words(named) if self.us else named

    def shows_own_cost(self, page: Page) -> bool:
        """Tell whether a page holds amounts of money that are the supplier's own costs."""
        if not at_own_cost(self.study):
            return False
        found = [self.study[key].unit for key in page.keys if key in self.study.figures]
        for part in page.parts:
            if isinstance(part, TablePart):
                found += part.series.units
        money = str(self.study.value("quote.currency") or MONEY)
        return any(unit == money or unit.startswith(f"{money}/") for unit in found)

    def flags_of(self, figure: Figure) -> tuple[Flag, ...]:
        """Return the flags that a figure carries, those that name it first."""
        found = [*self.flags.get(figure.key, ())]
        seen = {f.code for f in found}
        for code in figure.flags:
            if code not in seen:
                alike = [f for f in self.study.flags if f.code == code]
                nearest = [f for f in alike if f.figure in figure.inputs]
                found += (nearest or alike)[:1]
                seen.add(code)
        return tuple(found)


def flags_by_figure(study: Study) -> Mapping[str | None, Sequence[Flag]]:
    """Return the flags of a study by the figure that they name.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    mapping of str to sequence of Flag
        Flags by key, those of no figure under None. [-]
    """
    found: dict[str | None, list[Flag]] = {}
    for flag in study.flags:
        found.setdefault(flag.figure, []).append(flag)
    return found


def write_heading(sheet: Any, row: int, text: str, last: int, styles: Styles) -> None:
    """Write a heading with a rule under it across the sheet.

    Parameters
    ----------
    sheet : object
        The worksheet. [-]
    row : int
        Row from zero. [-]
    text : str
        Text to write. [-]
    last : int
        Last column in use, from zero. [-]
    styles : Styles
        Formats of the workbook. [-]
    """
    style = styles("heading")
    sheet.write_blanks(row, 0, last, style)
    sheet.write_string(row, LABEL_COLUMN, text, style)


def write_text_row(sheet: Any, row: int, texts: tuple[str, str], last: int, styles: Styles) -> None:
    """Write a short text and a long one that wraps over the rest of the row.

    Parameters
    ----------
    sheet : object
        The worksheet. [-]
    row : int
        Row from zero. [-]
    texts : tuple of str
        The short text and the long one. [-]
    last : int
        Last column in use, from zero. [-]
    styles : Styles
        Formats of the workbook. [-]
    """
    first = LABEL_COLUMN + 1
    sheet.write_blank(row, 0, None, styles("level"))
    sheet.write_string(row, LABEL_COLUMN, texts[0], styles("level"))
    sheet.merge_range(row, first, row, last, "", styles("wrapped"))
    sheet.write_string(row, first, texts[1], styles("wrapped"))
    lines = wrapped_lines(texts[1], (last - first) * GRID_CHARS)
    sheet.set_row(row, LINE_HEIGHT * max(lines, wrapped_lines(texts[0], LABEL_CHARS)))


def wrapped_lines(text: str, chars: int) -> int:
    """Return the lines a text takes where it wraps between its words.

    Parameters
    ----------
    text : str
        The text. [-]
    chars : int
        Characters that fit on a line. [-]

    Returns
    -------
    int
        Lines, at least 1. [-]
    """
    if len(text) <= chars:
        return 1
    lines, used = 1, 0
    for word in text.split():
        size = len(word)
        if used and used + 1 + size > chars:
            lines, used = lines + 1, 0
        lines += (size - 1) // chars
        used += size + (used > 0)
    return lines


def sentence(label: str) -> str:
    """Return a label with a capital first letter, but leave "pH" alone.

    Parameters
    ----------
    label : str
        Label of a figure. [-]

    Returns
    -------
    str
        The label. [-]
    """
    first = label.partition(" ")[0].rstrip(".:,;")
    plain_word = label[:2].islower() or (label[:1].islower() and label[1:2] == " ")
    plain_word = plain_word and "." not in first and "_" not in first  # the name of a file
    return label[:1].upper() + label[1:] if plain_word else label


def label_under(heading: str, label: str) -> str:
    """Return a label without the name of the stage that the heading above it gives.

    Parameters
    ----------
    heading : str
        Heading, such as "Softener". [-]
    label : str
        Label, such as "Softener: vessel diameter". [-]

    Returns
    -------
    str
        Such as "Vessel diameter". [-]
    """
    stage, colon, rest = label.partition(": ")
    same = bool(colon) and heading.lower().startswith(stage.lower())
    return sentence(rest if same else label)


def _inside(label: str) -> str:
    """Return a label as it stands inside a sentence; an abbreviation keeps its capitals."""
    return label[:1].lower() + label[1:] if label[1:2].islower() else label


def is_standing(flag: Flag) -> bool:
    """Tell a standing rule of safe work from a remark about this water and this plant.

    Parameters
    ----------
    flag : Flag
        The flag. [-]

    Returns
    -------
    bool
        True for a rule that holds at every such plant. [-]
    """
    return flag.code.startswith("safety_")


def stages_in(study: Study) -> tuple[str, ...]:
    """Return the names of the stages ahead of the membranes, in the order of flow.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    tuple of str
        Names. [-]
    """
    return tuple(name for name in _named(study) if name not in _OF_PRODUCT)


def stages_behind(study: Study) -> tuple[str, ...]:
    """Return the names of the stages on the product side, in the order of flow.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    tuple of str
        Names. [-]
    """
    return tuple(name for name in _named(study) if name in _OF_PRODUCT)


_OF_PRODUCT = frozenset(stage.name for stage in ORDER if stage.side == "product")


def _named(study: Study) -> tuple[str, ...]:
    choice = {"train.chosen", "train.runner_up", "train.cheaper"}
    words = [f for k, f in study.figures.items() if k.startswith("train.") and k not in choice]
    return tuple(
        _inside(f.label)
        for f in words
        if isinstance(f.value, str) and not f.value.startswith("out")
    )


_WHOLE_ENDS = 10.0


def ranges(figures: Sequence[Figure]) -> Iterator[tuple[Figure, Figure | None]]:
    """Yield figures, those of a low and a high value together, and none that repeats another.

    Parameters
    ----------
    figures : sequence of Figure
        Figures in order. [-]

    Yields
    ------
    tuple of Figure and Figure or None
        A figure, and the high end where it is the low end of a range. [-]
    """
    by_key = {f.key: f for f in figures}
    for figure in figures:
        if repeated_key(figure.formula) in by_key:
            continue
        stem, _, end = figure.key.rpartition("_")
        high = by_key.get(f"{stem}_high")
        if end == "high" and f"{stem}_low" in by_key:
            continue
        yield figure, high if end == "low" else None


def range_shown(low: Figure, high: Figure) -> tuple[float, float, str]:
    """Return both ends of a range and their unit, a life shorter than a year in months.

    Parameters
    ----------
    low, high : Figure
        The ends, both numbers. [-]

    Returns
    -------
    tuple of float, float and str
        Ends and unit as shown. [-]
    """
    ends = [f.value if isinstance(f.value, float) else 0.0 for f in (low, high)]
    if high.unit == "year" and ends[1] < 1.0:
        return ends[0] * _MONTHS_PER_YEAR, ends[1] * _MONTHS_PER_YEAR, MONTHS
    return ends[0], ends[1], "years" if high.unit == "year" else high.unit


def range_text(low: Figure, high: Figure) -> str:
    """Return a range in words.

    Parameters
    ----------
    low, high : Figure
        The ends, both numbers. [-]

    Returns
    -------
    str
        As in "1.2 to 5.0 years". [-]
    """
    *ends, unit = range_shown(low, high)
    return f"{' to '.join(end_shown(float(end)) for end in ends)} {unit}"


def end_shown(value: float) -> str:
    """Return one end of a range as it is shown.

    Parameters
    ----------
    value : float
        The end. [its unit]

    Returns
    -------
    str
        With one decimal below ten, without any above. [-]
    """
    return shown(value, 0 if value >= _WHOLE_ENDS else 1)


def governing(study: Study, keys: Sequence[str]) -> tuple[str, ...]:
    """Return keys with the index that governs alone: S&DSI above 10,000 mg/L, else LSI.

    Parameters
    ----------
    study : Study
        The study. [-]
    keys : sequence of str
        Keys of figures, those of both indexes among them. [-]

    Returns
    -------
    tuple of str
        Keys to show. [-]
    """
    left_out = set()
    for prefix in ("", "untreated."):
        tds = study.number(f"{prefix}concentrate.tds_mg_l")
        above = tds is not None and tds > _LANGELIER_TO_MG_L
        known = study.number(f"{prefix}scaling.sdsi") is not None
        left_out.add(f"{prefix}scaling.{'lsi' if above and known else 'sdsi'}")
    return tuple(key for key in keys if key not in left_out)
