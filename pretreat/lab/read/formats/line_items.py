"""The words of one line of a print: its name, its numbers with their marks, and the rest."""

import re
from collections.abc import Sequence
from itertools import pairwise

from pretreat.core.text import lazy
from pretreat.lab.read.formats.pasted import PORE_UNIT, without_method
from pretreat.lab.read.formats.words import DAY, GAP, PlacedLine, Word, text_of
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.unit_words import is_ditto, is_unit

STARTS = lazy(r"^(?:[<>~≤≥=]|[.,]?\d|[-+]\d|ND\b|n\.d\.|n\.n\.|BDL\b|BQL\b|TNTC\b)", re.IGNORECASE)
_AUTHORITY = lazy(r"EPA|SM|ISO|DIN|EN|ASTM|APHA|USGS|SW|NF|UNE|BS|AOAC|Method")
QUALIFIES = lazy(r"[A-Z*]{1,2}")


def words_left(words: Sequence[Word], bare: str) -> tuple[Word, ...]:
    """Return the words that are left of a line when its method is taken out."""
    left = bare.split()
    found = []
    for word in words:
        if left and word.text == left[0]:
            found.append(word)
            left.pop(0)
    return tuple(found) if not left else tuple(words)


def name_end(words: Sequence[Word]) -> int | None:
    """Return how many words make the name of an analyte before its first number."""
    ends = [
        n for n in range(1, len(words)) if STARTS.match(words[n].text) and not _is_pore(words, n)
    ]
    known = [n for n in ends if named_analyte(" ".join(w.text for w in words[:n]).strip(" .:")).key]
    if known:
        return known[0]
    return next((n for n in ends if re.search(r"[^\W\d]{2}", words[0].text)), None)


def _is_pore(words: Sequence[Word], n: int) -> bool:
    """Tell the pore size of a filter, which belongs to the name of what passed it."""
    return n + 1 < len(words) and bool(PORE_UNIT.match(words[n + 1].text))


def count_in(line: PlacedLine, *, spread: bool, headed: bool = False) -> int | None:
    """Count the numbers of a line behind the name of an analyte; None for other lines."""
    end = name_end(line.words)
    if end is None or not named_analyte(text_of(line.words[:end]).strip(" .:")).key:
        return None
    words = words_left(line.words, without_method(line.text, headed=headed))
    return len(items_of(words[name_end(words) or end :], spread=spread)[0])


_SPREADS = lazy(r"[(\[]?(?:±|\+/-|\+-)")


def items_of(
    words: Sequence[Word], *, spread: bool = True
) -> tuple[list[list[Word]], list[list[Word]]]:
    """Group words into numbers with their signs and letters, and what stands beside them.

    ``spread`` tells that "± 8.8" behind a number belongs to it, as no column holds it.
    """
    words = with_spread(words) if spread else words
    numbers: list[list[Word]] = []
    others: list[list[Word]] = []
    last = ""
    for n, word in enumerate(words):
        text = word.text
        near = n > 0 and word.left - words[n - 1].right < GAP
        method = last == "other" and near and _AUTHORITY.fullmatch(words[n - 1].text)
        if method:
            others[-1].append(word)
        elif DAY.match(text):
            others.append([word])
            last = "other"
        elif STARTS.match(text):
            alone = bool(numbers) and last == "sign"
            if alone:
                numbers[-1].append(word)
            else:
                numbers.append([word])
            last = "sign" if re.fullmatch(r"[<>~≤≥=]+", text) else "number"
        elif (
            last == "number"
            and near
            and re.fullmatch(r"[A-Z*]{1,2}", text)
            and not is_unit(text, strict=True)
        ):
            numbers[-1].append(word)
        elif last == "other" and near and not _is_whole(others[-1], word):
            others[-1].append(word)
        else:
            others.append([word])
            last = "other"
    return numbers, others


def with_spread(words: Sequence[Word]) -> list[Word]:
    """Return the words of a line with "88.4 ± 8.8" as one of them."""
    found: list[Word] = []
    opened = False
    for word in words:
        before = found[-1] if found else None
        near = before is not None and word.left - before.right < GAP
        spreads = near and before is not None and STARTS.match(before.text)
        if before is not None and ((spreads and _SPREADS.match(word.text)) or (opened and near)):
            found[-1] = Word(before.left, word.right, f"{before.text} {word.text}", before.run)
            opened = not any(map(str.isdigit, word.text))
        else:
            found.append(word)
            opened = False
    return found


def _is_whole(words: Sequence[Word], word: Word) -> bool:
    """Tell words that the next does not belong to, as in "µg/L EPA" and "L4471-03 mg/L"."""
    if "/" in word.text and is_unit(word.text, strict=True):
        return not is_unit(f"{text_of(words)} {word.text}")
    return is_unit(text_of(words)) and not is_unit(f"{text_of(words)} {word.text}")


def grouped(numbers: Sequence[list[Word]]) -> list[list[Word]]:
    """Join groups of three digits to the number before them, as in "1 085"."""
    found: list[list[Word]] = []
    for number in numbers:
        before = found[-1][-1] if found else None
        group = len(number) == 1 and re.fullmatch(r"\d{3}(?:[.,]\d+)?", number[0].text)
        near = before is not None and number[0].left - before.right < GAP
        if before is not None and near and group and re.fullmatch(r"[<>]?\d{1,3}", before.text):
            found[-1].append(number[0])
            continue
        found.append(list(number))
    return found


def side_by_side(text: str) -> bool:
    """Tell a text of several numbers and nothing else, which are not the thousands of one."""
    parts = [part for part in text.split() if not DAY.match(part)]
    groups = all(re.fullmatch(r"\d{3}(?:[.,]\d+)?", part) for part in parts[1:])
    return len(parts) > 1 and all(map(STARTS.match, parts)) and not groups and parts[0] != "<"


def two_numbers(cell: str) -> bool:
    """Tell a cell that may hold one number or two, with or without a unit."""
    parts = [p for p in cell.split() if printed_number(p).kind == "value" and not DAY.match(p)]
    spread = "±" in cell or "+/-" in cell or " - " in cell
    whole = printed_number(cell).kind in {"value", "below"}
    return len(parts) > 1 and not spread and (whole or is_unit(cell.rsplit(maxsplit=1)[-1]))


def several_in(cell: str) -> bool:
    """Tell a cell with numbers of more than one column; a method and a spread are none."""
    words = [Word(m.start(), m.end(), m[0]) for m in re.finditer(r"\S+", cell)]
    return len(grouped(items_of(words)[0])) > 1


LONGEST_NAME = 8  # words


def name_at(words: Sequence[Word]) -> tuple[int, int] | None:
    """Return where the name of an analyte begins and ends, at the start of a piece of a line."""
    starts = [0, *(n + 1 for n, (a, b) in enumerate(pairwise(words)) if b.left - a.right >= GAP)]
    if words and words[0].text.rstrip(".)").isdecimal():
        starts.insert(0, 1)
    for start in starts:
        for length in range(min(LONGEST_NAME, len(words) - start), 0, -1):
            if is_ditto(words[start + length - 1].text):
                continue
            if named_analyte(text_of(words[start : start + length]).strip(" .:")).key:
                return start, start + length
    return None


def holds_result(line: PlacedLine) -> bool:
    """Tell a line with the name of an analyte and a number behind it."""
    found = name_at(line.words)
    behind = line.words[found[1] :] if found is not None else ()
    return any(STARTS.match(w.text) and not DAY.match(w.text) for w in behind)
