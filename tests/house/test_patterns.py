"""Patterns that are compiled late: all of them can be, and they serve as any other."""

import copy
import gc
import re
from importlib import import_module
from pkgutil import walk_packages

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
