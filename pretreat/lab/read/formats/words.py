"""Words with their places on a line, and the lines of headings among them."""

import re
from collections.abc import Iterable, Sequence
from itertools import pairwise

from msgspec import Struct

from pretreat.core.text import lazy
from pretreat.lab.read.formats.pasted import without_page
from pretreat.lab.read.headings import (
    NUMBERING,
    heading_role,
    names_a_sample,
    role_by_words,
    unit_in_heading,
    without_unit,
)
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import joined_powers, printed_number, spelled
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.water_words import names_a_place
from pretreat.lab.read.wording import column_role, folded

_LEADER = lazy(r"[.…_·-]{3,}")  # between a name and its result
GAP = 1.6  # widths of a letter between two columns; one between two words
_STARTS = lazy(r"^(?:[<>~=]|[.,]?\d|[-+]\d)")
FEWEST_ROLES = 2
YEAR = lazy(r"(?:19|20)\d\d$")
# a day, an hour, or the registry number of a substance
DAY = lazy(r"^\d{1,4}[./-]\d{1,2}[./-]\d{1,4}$|^\d{1,2}:\d\d|^\d{2,7}-\d{2}-\d$")
MOST_HEADINGS = 40  # words
LONGEST_HEADING = 4  # words
NO_NUMBERS = lazy(
    r"(?i)meth|verfahren|metod|m[ée]tod|date|datum|fecha|analy[sz]ed|analyst|comment|remark|note|"
    r"status|pass|accred|^lab|^cas|^qual|^flag|^mark|^sgn|^sign|^q$"
)
_NUMERIC = frozenset(
    {"value", "limit", "limit2", "summary", "previous", "uncertainty", "ignore", "other", ""}
)
_NO_ROLE = frozenset({"", "limit_unit"})  # "RL Units" side by side are two headings


class Word(Struct, frozen=True):
    """A word and where it stands, in widths of a letter from the left edge.

    ``run`` counts the texts of a print that are drawn as one.
    """

    left: float
    right: float
    text: str
    run: int = 0


class PlacedLine(Struct, frozen=True):
    """The words of one line, from left to right, and the number of the line."""

    number: int
    words: tuple[Word, ...]
    page: int = 0
    led: int = 0  # words before dots that lead to its first number, which so stands anywhere

    @property
    def text(self) -> str:
        """The line as text, two spaces where a gap is wide."""
        parts = [self.words[0].text] if self.words else []
        for before, word in pairwise(self.words):
            near = -GAP < word.left - before.right < GAP
            parts.append((" " if near else "  ") + word.text)
        return "".join(parts)


class Head(Struct, frozen=True):
    """One heading of a line of headings."""

    left: float
    right: float
    text: str
    role: str

    @property
    def numeric(self) -> bool:
        """Whether numbers may stand under it."""
        return self.role in _NUMERIC and not NO_NUMBERS.search(self.text)


def placed_lines(text: str, most: int) -> list[PlacedLine]:
    """Return the lines of a text as words with their places."""
    found = []
    for number, line in enumerate(text.split("\n")[:most], start=1):
        spread = line.expandtabs(8) if len(line) < 2000 else ""
        plain = without_page(spelled(spread))
        joined = joined_powers(plain)
        words = tuple(
            Word(m.start(), _end_in(plain, joined, m.end()), m[0])
            for m in re.finditer(r"\S+", joined)
            if not _LEADER.fullmatch(m[0])
        )
        if words:
            texts = joined.split()
            led = next((n for n, text in enumerate(texts) if _LEADER.fullmatch(text)), 0)
            found.append(PlacedLine(number, words, led=led))
    return found


def _end_in(plain: str, joined: str, end: int) -> int:
    """Return where a word ends on the line as printed: a power of ten is longer there."""
    while end < len(joined) and joined[end].isspace() and not plain[end].isspace():
        end += 1
    return end


def with_powers(words: Sequence[Word]) -> tuple[Word, ...]:
    """Return the words of a line with "1.26 x 10^1" as one of them."""
    found = list(words)
    at = 0
    while at + 1 < len(found):
        length = next((k for k in (3, 2) if _is_power(found[at : at + k], k)), 1)
        if length > 1:
            part = found[at : at + length]
            text = joined_powers(" ".join(w.text for w in part)).split()[0]
            found[at : at + length] = [Word(part[0].left, part[-1].right, text, part[0].run)]
        at += 1
    return tuple(found)


def _is_power(words: Sequence[Word], count: int) -> bool:
    text = " ".join(w.text for w in words)
    return len(words) == count and len(joined_powers(text).split()) == 1


def text_of(words: Iterable[Word]) -> str:
    """Return words side by side as a text."""
    return " ".join(w.text for w in words)


def fragments(words: Sequence[Word]) -> list[list[Word]]:
    """Group words into pieces that stand apart from each other."""
    groups: list[list[Word]] = []
    for word in words:
        if groups and -GAP < word.left - groups[-1][-1].right < GAP:
            groups[-1].append(word)
        else:
            groups.append([word])
    return groups


def heading_pieces(words: Sequence[Word]) -> list[list[Word]]:
    """Group the words of headings; those that a print draws as texts of their own stay apart."""
    found: list[list[Word]] = []
    for group in fragments(words):
        runs = [w.run for w in group]
        several = len(set(runs)) > 1 and any(a == b for a, b in pairwise(runs))
        if not several:
            found.append(group)
            continue
        for n, word in enumerate(group):
            if n and word.run == group[n - 1].run:
                found[-1].append(word)
            else:
                found.append([word])
    return found


def heads_of(lines: Sequence[PlacedLine], n: int) -> list[tuple[str, list[Head]]]:
    """Return the ways to cut a line into headings, the likeliest first; none for other lines.

    The line above is added where it heads the same columns.
    """
    words = lines[n].words
    if len(words) < 2 or len(words) > MOST_HEADINGS:
        return []
    groups = heading_pieces(words)
    found: list[tuple[str, list[Head]]] = []
    for way in _WAYS:
        cut = [_split_heading(group, _kept(groups, group, way)) for group in groups]
        heads = [head for piece in cut for head in piece]
        if heads not in [other for _, other in found] and _are_headings(heads):
            found.append((way, heads))
    above = lines[n - 1] if n else None
    if above is not None:
        found = [(way, _with_upper(h, above) if is_upper(above, h) else h) for way, h in found]
    return found


_TELLING = frozenset({"name", "value", "unit", "limit", "limit2", "previous", "uncertainty"})


def _kept(groups: Sequence[Sequence[Word]], group: Sequence[Word], way: str) -> str:
    """Return the way to cut one piece: apart from others, "Guideline value" stays whole."""
    limiting = len(groups) > 1 and heading_role(text_of(group)) in NEVER_RESULTS
    result = any(column_role(w.text) == "value" and folded(w.text) not in OF_LIMITS for w in group)
    return "whole" if limiting and not result else way


def _are_headings(heads: Sequence[Head]) -> bool:
    roles = [h.role for h in heads]
    if not _TELLING & set(roles) or len([r for r in roles if r]) < 2:
        return False
    results = any(_is_result(h.text) for h in heads if h.role == "")
    return not results and not named_analyte(heads[0].text).key


def _is_result(text: str) -> bool:
    return printed_number(text).kind in {"value", "below"} and not YEAR.match(text)


def known_together(words: Sequence[Word]) -> bool:
    """Tell words that make one heading, not two side by side such as "Result Units"."""
    role = column_role(text_of(words))
    split = len(words) > 1 and role != "value" and column_role(words[0].text) == "value"
    behind = words[1:] if words[0].text == "%" else words  # "% MCL" is one
    signs = len(words) > 1 and not all(folded(w.text) for w in behind)  # "Result ±" is two
    return role not in _NO_ROLE and not split and not signs


# How words side by side join into headings: not cut at all; words that are not known join
# those before them, those behind them, or none; limits join a "value" behind them.
_WAYS = ("whole", "limits", "before", "none", "behind")
OF_LIMITS = frozenset({"value", "values", "wert", "valeur", "valor", "level", "concentration"})
# What ends the heading before it, as in "Max. allowed" and "Reg. no.".
ENDS_HEADING = frozenset({"allowed", "permitted", "permissible", "admissible", "allowable"}) | {
    *("acceptable", "no", "nr", "number", "code", "id")
}
_LEADS_ON = frozenset({"of", "de", "du", "des", "von", "der", "del", "di"})  # "Percent of MCL"
_LIMITING = frozenset({"ignore", "summary"})
NEVER_RESULTS = frozenset({"ignore", "summary", "previous", "limit", "limit2", "uncertainty"})


def _split_heading(words: Sequence[Word], way: str) -> list[Head]:
    """Cut words side by side into headings that are known."""
    whole = text_of(words)
    if way == "whole" or column_role(whole) or len(words) == 1:
        return [Head(words[0].left, words[-1].right, whole, heading_role(whole))]
    found: list[list[Word]] = []
    roles: list[str] = []
    at = 0
    while at < len(words):
        length = next(
            (
                k
                for k in range(min(LONGEST_HEADING, len(words) - at), 0, -1)
                if known_together(words[at : at + k])
            ),
            1,
        )
        length -= length > 1 and _begins_next(words[at + length - 1 :])
        part = list(words[at : at + length])
        role = heading_role(text_of(part))
        before = (text_of(found[-1]), roles[-1]) if found else ("", "")
        if found and (_is_bracket(part[0]) or _joins(before, (text_of(part), role), way)):
            found[-1] += part
            roles[-1] = roles[-1] or role
        else:
            found.append(part)
            roles.append(role)
        at += length
    return [
        Head(part[0].left, part[-1].right, text_of(part), _role_of(text_of(part), role))
        for part, role in zip(found, roles, strict=True)
    ]


def _begins_next(words: Sequence[Word]) -> bool:
    """Tell a letter that begins the next heading: "Media N. campioni" is no "median"."""
    single = len(folded(words[0].text)) == 1 and not words[0].text.startswith(("(", "["))
    return single and any(known_together(words[:k]) for k in range(2, LONGEST_HEADING + 1))


def _role_of(text: str, role: str) -> str:
    """Return the role of a heading; one that names a sample, as "Well 4", heads its results."""
    whole = heading_role(text)
    return "" if not whole and names_a_sample(text) else whole or role


def _is_bracket(word: Word) -> bool:
    opens = word.text.startswith(("(", "["))
    return opens or (is_unit(word.text) and not column_role(word.text))


def _joins(before: tuple[str, str], part: tuple[str, str], way: str) -> bool:
    """Tell whether a word joins the heading before it; each is its text and its role."""
    (text, old), (word, new) = before, part
    if folded(text.split()[-1]) in _LEADS_ON or _belongs(before, part):
        return True
    sample = names_a_sample(without_unit(text, unit_in_heading(text)))
    if way == "none" or (sample and names_a_place(word.split()[0])):
        return False  # "Well 7 Well 4" are two
    if way == "limits":
        if _bounds(text, old) and folded(text) not in NUMBERING:
            return new in {"", "value"} or ({old, new} <= _LIMITING and not column_role(word))
        return new in {old, ""}
    if way == "behind":
        return old == ""
    return old == new or "" in {old, new}


def _bounds(text: str, role: str) -> bool:
    """Tell a heading that a "value" belongs to, as of a limit; not that of a count or a line."""
    whole = folded(text.rsplit(maxsplit=1)[-1]) in OF_LIMITS  # has its "value" already
    return role in NEVER_RESULTS and role_by_words(text) != "other" and not whole


def _belongs(before: tuple[str, str], part: tuple[str, str]) -> bool:
    """Tell a word that never heads a column of its own behind a heading of the role."""
    (text, old), word, new = before, folded(part[0]), part[1]
    if (old, new) == ("previous", "value") or (word in OF_LIMITS and _bounds(text, old)):
        return True
    numbers = word in NUMBERING  # "Mean No." are two
    return (
        old in {"ignore", "other", "", *(() if numbers else ("summary",))} and word in ENDS_HEADING
    )


def is_upper(line: PlacedLine, heads: Sequence[Head]) -> bool:
    """Tell a line whose words stand above headings, as "Reporting" does above "limit"."""
    groups = fragments(line.words)
    if any(_STARTS.match(w.text) for w in line.words) or ":" in line.text or len(groups) < 1:
        return False
    over = [under(g[0].left, g[-1].right, heads) for g in groups]
    narrow = all(len(" ".join(w.text for w in g)) < 25 for g in groups)
    if not narrow or None in over or len(set(over)) < len(over):
        return False
    pairs = [(text_of(g), heads[o]) for g, o in zip(groups, over, strict=True) if o is not None]
    return len(groups) > 1 or any(
        (role := heading_role(f"{text} {head.text}")) and role != head.role for text, head in pairs
    )


def _with_upper(heads: Sequence[Head], above: PlacedLine) -> list[Head]:
    found = list(heads)
    for group in fragments(above.words):
        at = under(group[0].left, group[-1].right, heads)
        if at is not None:
            text = " ".join([*(w.text for w in group), found[at].text])
            left, right = min(group[0].left, found[at].left), max(group[-1].right, found[at].right)
            found[at] = Head(left, right, text, heading_role(text))
    return found


def under(left: float, right: float, heads: Sequence[Head]) -> int | None:
    """Return the heading that a piece of a line stands under, by the widest overlap.

    Parameters
    ----------
    left, right : float
        Where the piece stands. [widths of a letter]
    heads : sequence of Head
        The headings. [-]

    Returns
    -------
    int or None
        Its number; None where none stands above. [-]
    """
    overlap = [min(right, h.right) - max(left, h.left) for h in heads]
    best = max(range(len(heads)), key=lambda n: overlap[n])
    return best if overlap[best] > 0 else None


_GLUED = lazy(r"([^\W\d_]*[^\W\d_A-Z])([A-Z0-9±%(].*)")


_CLOSED = lazy(r"[^\W\d_]\s?[)\]][^\W\d_]{2}")  # a heading behind the unit of another


def is_glued(text: str) -> bool:
    """Tell a word that two headings printed over each other make, as "result2030"."""
    if _CLOSED.search(text):
        return True
    found = _GLUED.fullmatch(text)
    second = found[2].strip("().") if found else ""
    parts = bool(re.fullmatch(r"(?:19|20)\d\d", second) or heading_role(second))
    return found is not None and parts and bool(heading_role(found[1])) and not column_role(text)


def run_into_each_other(words: Sequence[Word]) -> bool:
    """Tell words of headings that are printed over each other, as "Ashby ug/L Mill"."""
    order = [word.run for n, word in enumerate(words) if not n or word.run != words[n - 1].run]
    return len(order) > len(set(order)) or any(is_glued(word.text) for word in words)


def gives_units(line: PlacedLine) -> bool:
    """Tell a line of units and nothing else, as below the headings of their columns."""
    pieces = [text_of(piece).strip("[]") for piece in fragments(line.words)]
    return bool(pieces) and all(is_unit(piece, strict=True) for piece in pieces)


def is_heading(line: PlacedLine) -> bool:
    """Tell a line of headings: of names or results, and of something else."""
    groups = fragments(line.words)
    pieces = [text_of(group) for group in groups]
    if len(pieces) < FEWEST_ROLES or any(map(_holds_number, groups)):
        return False
    roles = {role for piece in pieces if (role := heading_role(piece))}
    roles |= {"value" for piece in pieces if not heading_role(piece) and _of_a_place(piece)}
    return bool({"value", "name"} & roles) and len(roles) >= FEWEST_ROLES


def _of_a_place(piece: str) -> bool:
    """Tell a heading that names where a sample is from: "Well 4", not "Well 4 3.1"."""
    bare = without_unit(piece, unit_in_heading(piece))
    parts = bare.split()
    return names_a_sample(bare) and len(parts) == 2 and names_a_place(parts[0])


def _holds_number(piece: Sequence[Word]) -> bool:
    """Tell a piece with a result; a day, a year or "Well 4" may head a column."""
    numbers = [w.text for w in piece if _STARTS.match(w.text) and not DAY.match(w.text)]
    text = text_of(piece)
    bare = without_unit(text, unit_in_heading(text))  # as in "Well 4 (mg/L)"
    a_sample = not _STARTS.match(piece[0].text) and names_a_sample(bare)
    return not a_sample and not all(map(YEAR.match, numbers))


def roles_in(line: PlacedLine) -> int:
    """Count the roles that the words of a line without results give to columns."""
    pieces = [text_of(piece) for piece in fragments(line.words)]
    numbers = (p for p in pieces if printed_number(p).kind == "value")
    if ":" in line.text or not all(map(YEAR.fullmatch, numbers)):
        return 0
    return len({role for word in line.words if (role := heading_role(word.text.strip("*.,")))})
