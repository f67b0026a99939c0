"""Patterns that are compiled late: all of them can be, and they serve as any other."""

import copy
import gc
import re
from importlib import import_module
from pkgutil import walk_packages
from re import _parser

import pytest

import pretreat
from pretreat.core import text
from pretreat.core.text import lazy


def test_every_pattern_compiles():
    for module in walk_packages(pretreat.__path__, "pretreat."):
        import_module(module.name)
    gc.unfreeze()  # a command that ran here froze what there was
    held = [each for each in gc.get_objects() if type(each) is text._Lazy]
    assert len(held) > 100
    for each in held:
        assert isinstance(each.pattern, (str, bytes))


def test_what_a_pattern_needs_stands_in_every_match():
    for module in walk_packages(pretreat.__path__, "pretreat."):
        import_module(module.name)
    gc.unfreeze()
    held = [each for each in gc.get_objects() if type(each) is text._Lazy and each._needs]
    assert len(held) > 10
    for each in held:
        assert _holds(_parser.parse(*each._asked), each._needs, each.flags), each.pattern


def _holds(parsed, needs, flags):
    """Prove that whatever matches has one of the signs."""
    return any(_one_holds(op, given, needs, flags) for op, given in parsed)


def _one_holds(op, given, needs, flags):
    match str(op), given:
        case "LITERAL", code:
            return _all_in(re.escape(chr(code)), needs, flags)
        case "IN", signs if {str(kind) for kind, _ in signs} <= {"LITERAL", "RANGE"}:
            ends = [(v, v) if str(kind) == "LITERAL" else v for kind, v in signs]
            ranges = (f"{re.escape(chr(a))}-{re.escape(chr(b))}" for a, b in ends)
            return _all_in(f"[{''.join(ranges)}]", needs, flags)
        case "BRANCH", (_, ways):
            return all(_holds(way, needs, flags) for way in ways)
        case (("MAX_REPEAT" | "MIN_REPEAT"), (least, _, inner)):
            return least > 0 and _holds(inner, needs, flags)
        case "SUBPATTERN", (_, more, _, inner):
            return _holds(inner, needs, flags | more)
    return str(op) == "ASSERT" and _holds(given[1], needs, flags)


def _all_in(sign, needs, flags):
    compiled = re.compile(sign, flags)
    return all(chr(n) in needs for n in range(0x10000) if compiled.fullmatch(chr(n)))


def test_the_proof_sees_what_is_not_needed():
    for pattern, needs in (
        ("a?b", "a"),
        ("a|b", "a"),
        ("[ab]", "a"),
        ("(?i)a", "a"),
        ("[^b]", "a"),
    ):
        assert not _holds(_parser.parse(pattern), needs, lazy(pattern).flags), pattern


def test_without_what_it_needs_nothing_is_compiled(monkeypatch):
    name = lazy(r"\s*([*†]+)$", needs="*†")
    monkeypatch.setattr(re, "compile", None)
    assert (name.search("Iron"), name.match("Iron"), name.fullmatch("")) == (None, None, None)
    assert name.sub("-", "Iron") == "Iron"
    monkeypatch.undo()
    assert name.sub("", "Iron **") == "Iron"
    assert name.search("Iron †")[1] == "†"
    assert name.search("Iron") is None


def test_serves_as_a_compiled_one():
    name = lazy(r"(?P<letter>[a-c])(\d)", re.IGNORECASE)
    assert name.pattern == r"(?P<letter>[a-c])(\d)"
    assert name.search("xB2")["letter"] == "B"
    assert name.match("xB2") is None
    assert name.fullmatch("b2")[2] == "2"
    assert name.sub("-", "a1 b2") == "- -"
    assert name.subn("-", "a1 b2") == ("- -", 2)
    assert name.split("xa1y") == ["x", "a", "1", "y"]
    assert name.findall("a1b2") == [("a", "1"), ("b", "2")]
    assert [found[0] for found in name.finditer("a1b2")] == ["a1", "b2"]
    assert copy.deepcopy(name).search("c3")
    assert lazy(rb"\xc4+").search(b"\xc4\xc4")[0] == b"\xc4\xc4"


def test_a_fault_is_that_of_the_pattern():
    with pytest.raises(re.error, match="unterminated"):
        lazy("(").search("")
