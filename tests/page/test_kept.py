"""A worker remembers a few values, each of its own input."""

from pretreat.page.workers.kept import Kept, mark


def test_the_last_ones_are_kept():
    kept, made = Kept(2), []

    def get(key):
        return kept.get(key, lambda: made.append(key) or key.upper())

    assert [get(key) for key in ("a", "b", "a", "c", "a", "b")] == ["A", "B", "A", "C", "A", "B"]
    assert made == ["a", "b", "c", "b"]  # b was the one not asked for longest
    assert len(kept) == 2


def test_a_mark_tells_where_one_text_ends():
    assert mark("ab", "c") != mark("a", "bc")
    assert mark("ab", b"c") == mark(b"ab", "c")
    assert mark("\udcff") != mark("")
