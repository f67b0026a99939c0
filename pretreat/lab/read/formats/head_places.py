"""Where the numbers and the words of one line stand under the headings of a table."""

from collections.abc import Sequence
from itertools import pairwise

from msgspec.structs import replace

from pretreat.core.text import lazy
from pretreat.lab.read.formats.line_items import grouped, items_of, words_left
from pretreat.lab.read.formats.pasted import without_bare_method, without_method
from pretreat.lab.read.formats.words import (
    GAP,
    Head,
    PlacedLine,
    Word,
    fragments,
    gives_units,
    text_of,
    under,
)
from pretreat.lab.read.headings import holds_unknown, names_a_sample
from pretreat.lab.read.unit_words import counts_charges, is_unit
from pretreat.lab.read.water_words import names_a_place
from pretreat.lab.read.wording import column_role, folded

_SIGN = lazy(r"[<>≤≥]=?")
METHODS = lazy(r"(?i)meth|verfahren|metod|m[ée]tod|yöntem")
# Techniques in two letters, which behind a number are no marks of it (common practice).
_TECHNIQUE = lazy(r"(?P<number>.+) (?P<method>IC|AA|AF|GF|FP|GC|IR)")


def in_another_order(line: PlacedLine, heads: Sequence[Head]) -> list[Head]:
    """Return headings of another line as they stand on this one; none where it says others.

    "Previous Result" below "Result", "Previous" heads two columns, not one.
    """
    words, left = line.words, list(heads)
    found: list[Head] = []
    at = 0
    while at < len(words):
        sizes = {n: len(h.text.split()) for n, h in enumerate(left)}
        fits = [n for n, k in sizes.items() if left[n].text == text_of(words[at : at + k])]
        if not fits:
            return []
        head = left.pop(max(fits, key=lambda n: sizes[n]))
        end = at + len(head.text.split())
        found.append(Head(words[at].left, words[end - 1].right, head.text, head.role))
        at = end
    return [] if left else found


def under_others(
    line: PlacedLine,
    numbers: Sequence[list[Word]],
    heads: Sequence[Head],
    at: tuple[Sequence[int], list[str]],
) -> list[list[Word]]:
    """Put numbers under a heading that holds no results there, as those of methods.

    Not one with a word right behind it, such as its unit: it is printed as a result.
    """
    columns, cells = at
    left: list[list[Word]] = []
    before_word = {a for a, b in pairwise(line.words) if b.left - a.right < GAP}
    for number in numbers:
        start, end = number[0].left, number[-1].right
        over = [n for n, h in enumerate(heads) if min(end, h.right) > max(start, h.left)]
        other = over[0] if len(over) == 1 and over[0] not in columns else None
        alone = number[-1] not in before_word
        if other is None or not alone or heads[other].role in {"name", "unit"} or cells[other]:
            left.append(number)
        else:
            cells[other] = text_of(number)
    return left


def under_marks(words: Sequence[Word], heads: Sequence[Head]) -> dict[Word, int]:
    """Return the signs that stand apart under a heading of marks, and not before a number."""
    found: dict[Word, int] = {}
    for word, after in zip(words, [*words[1:], None], strict=True):
        near = after is not None and after.left - word.right < GAP
        if near or not _SIGN.fullmatch(word.text):
            continue
        at = under(word.left, word.right, heads)
        if at is not None and heads[at].role == "qualifier":
            found[word] = at
    return found


def aligned(line: PlacedLine, numbers: Sequence[Sequence[Word]]) -> bool:
    """Tell a line whose numbers stand apart, so that their places say the column."""
    gaps = {
        n: b.left - a.right
        for n, (a, b) in enumerate(zip(line.words, line.words[1:], strict=False))
    }
    starts = {number[0] for number in numbers}
    return bool(numbers) and all(
        gaps[n] >= GAP for n, word in enumerate(line.words[1:]) if word in starts
    )


def out_of_place(
    numbers: Sequence[Sequence[Word]], heads: Sequence[Head], columns: Sequence[int]
) -> bool:
    """Tell numbers of which one stands under the heading of another."""
    for number, own in zip(numbers, columns, strict=True):
        left, right = number[0].left, number[-1].right
        away = {n: max(heads[n].left - right, left - heads[n].right, 0.0) for n in columns}
        if away[own] > GAP and min(away.values()) == 0:
            return True
    return False


def unit_elsewhere(
    numbers: Sequence[Sequence[Word]], others: Sequence[Sequence[Word]], heads: Sequence[Head]
) -> str:
    """Return a doubt where a unit follows another number of its line than its heading does."""
    at = [h.left for h in heads if h.numeric and h.role != "name"]
    headed = {
        sum(left < h.left for left in at)
        for h in heads
        if h.role in {"unit", "limit_unit"} and h.text
    }
    units = [item[0] for item in others if is_unit(text_of(item).strip("()[]"))]
    places = {sum(number[0].left < unit.left for number in numbers) for unit in units}
    if headed and places - headed and not any(h.left == float("inf") for h in heads):
        return "its unit does not stand where the heading of units does"
    return ""


def hides_a_column(heads: Sequence[Head]) -> bool:
    """Tell a heading that takes the "meq/L" of a column behind it for its unit.

    It is the unit where all results are headed by theirs and none stands in a column.
    """
    close = any(two.left - one.right < GAP for one, two in pairwise(heads))
    joined = [h for h in heads if any(map(counts_charges, h.text.split()[1:]))]
    others = [h for h in heads if h.role in {"value", ""} and h not in joined]
    apart = any(h.role == "unit" for h in heads) or others or any(h.role == "name" for h in joined)
    return close and bool(joined) and bool(apart)


def place_numbers(
    numbers: Sequence[Sequence[Word]], heads: Sequence[Head], at: tuple[Sequence[int], list[str]]
) -> str:
    """Put numbers under the headings they stand under; say where that is not sure."""
    columns, cells = at
    doubt = ""
    for number in numbers:
        left, right = number[0].left, number[-1].right
        distance = sorted(
            (max(heads[n].left - right, left - heads[n].right, 0.0), n) for n in columns
        )
        if not distance:
            return "no column of numbers is headed"
        near, column = distance[0]
        close = len(distance) > 1 and near > 0 and distance[1][0] < 2 * near
        if close or (len(distance) > 1 and distance[1][0] == 0 == near) or cells[column]:
            doubt = f"'{text_of(number)}' stands between two columns"
        cells[column] = f"{cells[column]} {text_of(number)}".strip()
    return doubt


def place_other(item: Sequence[Word], heads: Sequence[Head], cells: list[str]) -> None:
    """Put words that are no number under the heading they stand under, or that is free."""
    text = text_of(item)
    at = under(item[0].left, item[-1].right, heads)
    units = [n for n, h in enumerate(heads) if h.role == "unit"]
    if is_unit(text.strip("()")) and units:
        at = min(units, key=lambda n: abs(heads[n].left - item[0].left))
    if at is None or heads[at].role in {"name", "value"}:
        free = [
            n for n, h in enumerate(heads) if not h.numeric and h.role != "name" and not cells[n]
        ]
        words_in_value = at is not None and heads[at].role == "value" and not cells[at]
        if words_in_value and at is not None:
            cells[at] = text
            return
        if not free:
            return
        at = min(free, key=lambda n: abs(heads[n].left - item[0].left))
    if not cells[at]:
        cells[at] = text


def units_in_order(
    others: Sequence[Sequence[Word]], heads: Sequence[Head], cells: list[str]
) -> list[Sequence[Word]]:
    """Put units under as many headings of units, one after the other; return what is left."""
    columns = [n for n, h in enumerate(heads) if h.role in {"unit", "limit_unit"}]
    units = [item for item in others if is_unit(text_of(item).strip("()"))]
    if len(columns) < 2 or len(units) != len(columns):
        return list(others)
    for column, item in zip(columns, units, strict=True):
        cells[column] = text_of(item)
    return [item for item in others if item not in units]


def place_method(method: str, heads: Sequence[Head], cells: list[str]) -> None:
    """Put the method of a line under its heading, or the technique that stands as a mark."""
    at = next((n for n, h in enumerate(heads) if METHODS.search(h.text)), None)
    if at is None or cells[at]:
        return
    cells[at] = method
    for n, cell in enumerate(cells):
        if not cells[at] and heads[n].numeric and (found := _TECHNIQUE.fullmatch(cell)):
            cells[n], cells[at] = found["number"], found["method"]


def method_as_result(heads: Sequence[Head], cells: Sequence[str]) -> str:
    """Return a doubt where nothing stands under methods and a number is that of one."""
    headed = any(METHODS.search(h.text) and not cells[n] for n, h in enumerate(heads))
    held = [c for h, c in zip(heads, cells, strict=True) if h.numeric and h.role != "name"]
    number = next((c for c in held if headed and c and not without_bare_method(c)), "")
    return f"'{number}' may be the number of a method" if number else ""


def by_place(words: Sequence[Word], heads: Sequence[Head]) -> tuple[str, ...]:
    """Put the pieces of a line without a result under the headings."""
    groups = fragments(words)
    if len(groups) == 1:
        return (text_of(groups[0]),)
    cells = [""] * len(heads)
    for group in groups:
        at = under(group[0].left, group[-1].right, heads)
        at = 0 if at is None else at
        cells[at] = f"{cells[at]} {text_of(group)}".strip()
    return tuple(cells)


def units_below(line: PlacedLine, heads: Sequence[Head]) -> tuple[str, ...]:
    """Put the units of a line right below headings under them; none where one stands apart."""
    cells = [""] * len(heads)
    spread = any(GAP <= two.left - one.right < float("inf") for one, two in pairwise(heads))
    for piece in fragments(line.words) if spread and gives_units(line) else ():
        at = under(piece[0].left, piece[-1].right, heads)
        if at is None or heads[at].role == "name" or cells[at]:
            return ()
        cells[at] = text_of(piece)
    return tuple(cells) if any(cells) else ()


def led_past_headings(line: PlacedLine, heads: Sequence[Head], most: int) -> bool:
    """Tell a line behind dots with more numbers than ``most``, or than headings beside its words.

    One of its numbers then stands in a column that has no heading.
    """
    told = [n for n, h in enumerate(heads) if not h.numeric and h.role not in _BESIDE]
    spread = not any(h.role == "uncertainty" for h in heads)
    bare = words_left(line.words, without_method(line.text, headed=False))
    numbers = items_of(bare[line.led :], spread=spread)[0]
    if any(METHODS.search(h.text) for h in heads):  # its number alone may tell a method
        numbers = [number for number in numbers if without_bare_method(text_of(number)).strip()]
    if len(numbers) > most:
        return True
    numbers, others = items_of(line.words[line.led :], spread=spread)
    said = [item[0].left for item in others if not is_unit(text_of(item).strip("()[]"))]
    if not told or len(said) != len(told):
        return False
    starts = [number[0].left for number in grouped(numbers)]
    at = [h.left for h in heads if h.numeric and h.role != "name"]
    edges = [float("-inf"), *said, float("inf")]
    headed = [float("-inf"), *(heads[n].left for n in told), float("inf")]
    return any(
        sum(low < left < high for left in starts) > sum(one < left < two for left in at)
        for (low, high), (one, two) in zip(pairwise(edges), pairwise(headed), strict=True)
    )


_BESIDE = frozenset({"name", "unit", "limit_unit", "qualifier"})


def is_sure(head: Head) -> bool:
    """Tell a heading that is known as a whole, or is one word, or names a sample."""
    parts = head.text.split()
    if len(parts) > 1 and not all(map(folded, parts)):  # "± Value" may be two
        return False
    one = len(parts) == 1 and head.role != ""
    return bool(one or column_role(head.text) or names_a_sample(head.text))


def cut_otherwise(heads: Sequence[Head]) -> bool:
    """Tell headings side by side that give the results another column if a word changes sides.

    "2030", "average value" may be "2030 average", "value".
    """
    if any(_ends_in_value(heads, n) for n in range(len(heads))):
        return True
    for n, (one, two) in enumerate(pairwise(heads)):
        near = two.left - one.right < GAP
        if near and names_a_place(one.text.split()[-1]) and two.text.split()[0].isdecimal():
            return True  # "Well", "11 Well"
        said = two.text.split() if near and not one.role else []
        for k in range(1, len(said)):
            statistic, rest = column_role(" ".join(said[:k])), " ".join(said[k:])
            if statistic in {"summary", "previous"} and column_role(rest):
                moved = [
                    replace(one, role=statistic),
                    replace(two, text=rest, role=column_role(rest)),
                ]
                other = [*heads[:n], *moved, *heads[n + 2 :]]
                if results_at(other) != results_at(heads):
                    return True
    return False


def _ends_in_value(heads: Sequence[Head], n: int) -> bool:
    """Tell unknown words before "Value" on a line without gaps: they may head another column."""
    *before, last = heads[n].text.split()
    beside = [(a, b) for a, b in pairwise(heads) if heads[n] in (a, b)]
    near = any(b.left - a.right < GAP and a.left >= 0 for a, b in beside)
    text = " ".join(before)
    unknown = holds_unknown(text) and not names_a_place(text) and not column_role(heads[n].text)
    return bool(before and near and unknown and column_role(last) == "value")


def results_at(heads: Sequence[Head]) -> tuple[int, ...]:
    """Return which of the columns of numbers may hold results."""
    numeric = [h for h in heads if h.numeric and h.role != "name"]
    return tuple(n for n, h in enumerate(numeric) if h.role in {"value", ""})
