"""Text pasted from a print: lines without a delimiter cut into name, number and unit."""

import re
from collections.abc import Iterable, Iterator, Sequence

from pretreat.core.text import lazy
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import joined_powers, printed_number, spelled, without_spread
from pretreat.lab.read.report import Grid
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.wording import column_role, folded

LONGEST_LINE = 2000
MANY = 0.1  # share of lines with several numbers, for one in another line to be any of them
_LABELS = frozenset({"sample", "site", "date"})
_PAGE = lazy(r"(?i)\b(?:page|seite|p[áa]gina|pagina)\s+\d+(?:\s*(?:/|of|von|de|di)\s*\d+)?\s*$")
Line = tuple[int, str]  # its number and text
# "EPA 200.7", "SM 2320 B", "6010B": the method of a result, which is no result.
_METHOD = lazy(
    r"\b(?:(?:(?:DIN|EN)\s)*(?:EPA|SM|ISO|DIN|EN|ASTM|APHA|USGS|SW-?846|[Mm]ethod)\s?-?[A-Z]?\s?\d[\w.\-:/]*"
    r"(?:\s?-?[A-G]\b(?!/))?|(?:6010|6020|7470|9\d{3})[A-E])(?=\s|$)"
)
# Methods of drinking-water analysis by their number alone (from memory), where a column of
# methods stands before that of results.
_BARE_METHOD = lazy(
    r"\b(?:1[2-8]0\.1|200\.[789]|245\.1|300\.[01]|310\.[12]|325\.2|340\.2|350\.1|353\.2|365\.[1-4]|"
    r"370\.1|375\.[24])(?:\s+(?=[<>~]?\s?[.,]?\d|ND\b|n\.d|BDL\b)|\s*$)"
)
_METHODS_HEADED = lazy(
    r"(?i)\b(?:method|m[ée]thode|m[ée]todo|verfahren)\b.*\b(?:result|value|conc|r[ée]sult|ergebnis)"
)
_AT = lazy(r"@\s?(\d{2})\s?[°º]?\s?C\b")  # else its number is taken for the result
_AUTHORITY = lazy(
    r"EPA|SM|ISO|DIN|EN|ASTM|APHA|USGS|SW|NF|UNE|BS|AOAC|Method"
)  # before the number of a method
PORE_UNIT = lazy(r"(?i)(?:[µuμ]m|nm|mm|microns?)\b", needs="mM")  # a filter's, so no result
_VALUE = lazy(r"^(?:[<>~]?\s?[.,]?\d|ND\b|n\.d\.|BDL\b)")


def pasted(text: str, most_lines: int) -> Grid:
    """Cut lines without a delimiter into name, number and unit, as pasted from a print.

    Parameters
    ----------
    text : str
        The text. [-]
    most_lines : int
        Lines looked at. [-]

    Returns
    -------
    Grid
        One result per row where a line holds one; other lines whole. [-]
    """
    numbered = enumerate(text.split("\n")[:most_lines], start=1)
    kept = (
        (n, joined_powers(spelled(line)).strip())
        for n, line in numbered
        if len(line) <= LONGEST_LINE
    )
    kept = ((n, without_page(line)) for n, line in kept)
    return pasted_lines([(n, line) for n, line in kept if line.strip()])


def pasted_lines(whole: Sequence[Line]) -> Grid:
    """Cut lines, each with its number, into name, number and unit.

    Parameters
    ----------
    whole : sequence of tuple
        Numbers and texts of lines. [-]

    Returns
    -------
    Grid
        One result per row where a line holds one; other lines whole. [-]
    """
    rows: list[tuple[str, ...]] = []
    places: list[int] = []
    headed = any(_METHODS_HEADED.search(line) for _, line in whole)
    texts: list[str] = []
    doubts: dict[int, str] = {}
    for number, line in _rejoined(whole):
        bare = without_method(without_spread(line), headed=headed)
        found = _several_in_line(bare)
        doubt = several_numbers(bare) if len(found) == 1 and len(found[0]) > 1 else ""
        if doubt:
            doubts[len(rows)] = doubt
        rows += found
        places += [number] * len(found)
        texts += [line] * len(found)
    held = [n for n, row in enumerate(rows) if len(row) > 1]
    held = [n for n in held if named_analyte(rows[n][0]).key]
    if doubts and sum(n in doubts for n in held) >= MANY * max(len(held), 1):
        for n in held:
            doubts.setdefault(n, "lines beside it hold several numbers, and it but one")
    if doubts:  # other lines hold several numbers, so a space may part two here too
        for n, row in enumerate(rows):
            if len(row) > 1 and n not in doubts and re.search(r"\d \d", row[1]):
                doubts[n] = f"'{row[1]}' may be one number or two"
    return Grid(tuple(rows), tuple(places), from_text=True, doubts=doubts, texts=tuple(texts))


def several_numbers(line: str) -> str:
    """Return what else a line may mean that holds more than one number, or an empty text."""
    cells = pasted_cells(line)
    if len(cells) < 2:
        return ""
    key = named_analyte(cells[0]).key
    number = cells[1]
    if re.search(r"\d \d", number) and key not in {"ec", "tds"}:
        return f"'{number}' may be one number or two"
    behind = line.find(cells[0].split()[-1]) + len(cells[0].split()[-1])
    rest = line[line.find(number, behind) + len(number) :].split()
    numbers = [
        word
        for n, word in enumerate(rest)
        if _VALUE.match(word)
        and printed_number(word).kind in {"value", "below"}
        and not (n and _AUTHORITY.fullmatch(rest[n - 1]))
    ]
    return f"it holds {' and '.join([number, *numbers[:3]])}" if numbers else ""


def without_page(line: str) -> str:
    """Return a line without its page number; "@ 25 C" becomes "(25 °C)"."""
    return _PAGE.sub("", _AT.sub(r"(\1 °C)", line))


def without_method(line: str, *, headed: bool) -> str:
    """Take the method out of a line that still has a number without it."""
    for pattern in (_METHOD, _BARE_METHOD) if headed else (_METHOD,):
        bare = pattern.sub(" ", line, count=1)
        if bare != line and any(_VALUE.match(word) for word in bare.split()[1:]):
            return bare
    return line


def without_bare_method(text: str) -> str:
    """Return a text without the number that alone tells a method, as "200.7"."""
    return _BARE_METHOD.sub("", text)


def _rejoined(lines: Sequence[Line]) -> Iterator[Line]:
    """Join a name to its result on the next line; a list of names above a list of results stays."""
    n = 0
    while n < len(lines):
        number, line = lines[n]
        after = lines[n + 1][1] if n + 1 < len(lines) else ""
        if _is_name(line) and _continues(lines, n, after):
            yield number, f"{line} {after}"
            n += 1
        else:
            yield number, line
        n += 1


def _continues(lines: Sequence[Line], n: int, after: str) -> bool:
    if after.startswith("("):
        return len(pasted_cells(f"{lines[n][1]} {after}")) > 1
    alone = n == 0 or not _is_name(lines[n - 1][1])
    then = lines[n + 2][1] if n + 2 < len(lines) else ""
    return alone and bool(_VALUE.match(after)) and not _VALUE.match(then)


def _is_name(line: str) -> bool:
    return len(pasted_cells(line)) == 1 and bool(named_analyte(line.strip(" .:")).key)


def _several_in_line(line: str) -> list[tuple[str, ...]]:
    """Cut "Ca 142 mg/l, Mg 48.5 mg/l" into one row each; other lines stay whole."""
    labels = labelled(line)
    if labels:
        return labels
    head, _, rest = line.partition(": ")
    if rest and not named_analyte(head.strip()).key and re.search(r"[,;]\s", rest):
        inner = _several_in_line(rest)
        if len(inner) > 1:
            return [(head,), *inner]
    parts = [pasted_cells(part) for part in re.split(r"[,;]\s+", line)]
    if len(parts) > 1 and all(len(part) > 1 and named_analyte(part[0]).key for part in parts):
        return parts
    return [pasted_cells(line)]


def labelled(line: str) -> list[tuple[str, ...]]:
    """Cut "Sample: Well 7   Date: 6 May" into one row per label, each a cell of its own."""
    found: list[tuple[str, ...]] = []
    for part in re.split(r"\s{2,}|\t", line):
        label, colon, text = part.partition(":")
        if not (colon and text.strip() and column_role(label.strip()) in _LABELS):
            return []
        found.append((part.strip(),))
    return found


def pasted_cells(line: str) -> tuple[str, ...]:
    """Cut a line into name, number and unit; a line without a number stays whole."""
    best: tuple[str, ...] = ()
    for match in name_splits(line):
        name, rest = match
        cells = _value_and_unit(rest)
        if cells and named_analyte(name).key:
            return (name, *cells)
        if cells and not best and re.search(r"[^\W\d]{2}", name):
            best = (name, *cells)
    return best or (line,)


def name_splits(line: str) -> Iterable[tuple[str, str]]:
    """Yield name and rest at every place where a number could start, the longest name last."""
    for match in re.finditer(
        r"(?:\s*\.{2,}\s*|…+\s*|\s+|:\s*|\t)(?=[<>~]?\s*[.,]?\d|ND\b|n\.d|BDL\b)", line
    ):
        name = line[: match.start()].strip(" .:\t…")
        pore = re.match(r"<?\s?[.,\d]+\s*", line[match.end() :])
        if name and not (pore and PORE_UNIT.match(line[match.end() + pore.end() :])):
            yield name, line[match.end() :].strip()


def _value_and_unit(rest: str) -> tuple[str, str] | None:
    match = re.match(
        r"(?P<number>ND|n\.d\.|BDL|[<>~]?\s*(?:\d{1,3}(?: \d{3})+|\d+)?"
        r"(?:\s?[.,]\s?\d+|(?:,\d{3})+)?(?:[eE][-+]?\d+|[xX*]10\^[-+]?\d+)?)"
        r"(?=\s|$|[^\W\d]|[°µ%])\s*(?P<letters>(?:[A-Z]{1,2}\s+)?)(?P<unit>.*)$",
        rest,
    )
    if match is None or not match["number"].strip():
        return None
    lettered = bool(match["letters"]) and not is_unit(match["letters"].strip())
    number = rest[: match.end("letters" if lettered else "number")].strip()
    parts = f"{'' if lettered else match['letters']}{match['unit']}".split()
    for length in range(min(len(parts), 4), 0, -1):
        unit = " ".join(parts[:length])
        if is_unit(unit) and folded(unit):
            return number, unit
    return number, _unit_behind(parts)


def _unit_behind(parts: Sequence[str]) -> str:
    """Return the unit that stands behind further numbers, as in "40 1 ug/L" of result and limit."""
    numbers = 0
    while numbers < len(parts) and _VALUE.match(parts[numbers]):
        numbers += 1
    for length in range(min(len(parts) - numbers, 4), 0, -1):
        unit = " ".join(parts[numbers : numbers + length])
        if numbers and is_unit(unit) and folded(unit):
            return unit
    return ""
