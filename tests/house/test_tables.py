"""The tables of the program are read in short ways that say the same as the long ones."""

import tomllib

import pytest

from pretreat.core import tables
from pretreat.core.errors import DataTableError
from pretreat.core.tables import columns, rows
from pretreat.lab.read.names import _aliases, _exact_aliases
from pretreat.lab.read.wording import _roles, folded, folded_all


@pytest.mark.parametrize("path", sorted(tables._DATA.glob("sources*.toml")), ids=lambda p: p.stem)
def test_sources_are_read_as_toml(path):
    assert tables._entries(path.read_text("utf-8")) == tomllib.loads(path.read_text("utf-8"))


@pytest.mark.parametrize(
    "text",
    [
        '[A]\ntitle = "one \\"two\\""\n',
        '[A]\ntitle = """\nlong\n"""\n',
        "[A]\ntitle = 'single'\n",
        '[A.b]\ntitle = "x"  # of a table in a table\n',
        '["a b"]\ntitle = "x"\n',
    ],
)
def test_other_toml_is_read_too(text):
    assert tables._entries(text) == tomllib.loads(text)


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("a,IUPAC2021,table 1", "row 3 .a.: wrong number of columns"),
        ("a,NOBODY,table 1,printed", "row 3 .a.: no source or no place"),
        ("a,IUPAC2021,,printed", "row 3 .a.: no source or no place"),
        ("a,IUPAC2021,table 1,hearsay", "row 3 .a.: evidence 'hearsay' is not known"),
    ],
)
def test_a_row_without_a_source_is_refused(tmp_path, monkeypatch, line, fault):
    tables.sources()
    (tmp_path / "odd.csv").write_text(
        f"key,source,where,evidence\n# remark\nb,IUPAC2021,table 1,printed\n{line}\n"
    )
    monkeypatch.setattr(tables, "_DATA", tmp_path)
    with pytest.raises(DataTableError, match=fault):
        rows("odd.csv")
    with pytest.raises(DataTableError, match=fault):
        columns("odd.csv", "key", "where")


def test_cells_in_quotes_are_read_in_the_short_way_too(tmp_path, monkeypatch):
    tables.sources()
    (tmp_path / "quoted.csv").write_text(
        "key,text,source,where,evidence\n"
        'a,"one, two",IUPAC2021,"table 1, left",printed\n'
        'b,three,IUPAC2021,"table 1, left",printed\n'
        '"c","say ""four""",IUPAC2021,table 2,printed\n'
    )
    monkeypatch.setattr(tables, "_DATA", tmp_path)
    found = columns("quoted.csv", "key", "text")
    assert found == (("a", "one, two"), ("b", "three"), ("c", 'say "four"'))
    assert found == tuple((row["key"], row["text"]) for row in rows("quoted.csv"))


@pytest.mark.parametrize(
    "line", ["a,x,NOBODY,table 1,printed", '"a, b",x,NOBODY,table 1,printed', "a,x", "a,x,y,,z"]
)
def test_the_short_way_refuses_what_the_long_one_does(tmp_path, monkeypatch, line):
    tables.sources()
    (tmp_path / "worse.csv").write_text(f"key,text,source,where,evidence\n{line}\n")
    monkeypatch.setattr(tables, "_DATA", tmp_path)
    tables.columns.cache_clear()
    with pytest.raises(DataTableError, match="row 2"):
        columns("worse.csv", "key", "text")


def test_names_and_headings_are_folded_at_once():
    table = rows("aliases.csv")
    texts = [row["alias"] for row in table]
    texts += ["", "ᾴ", "İst", "ﬁ ß", "a\u0345b", "  ", "Ⅷ²", "Łódź, NO₃⁻"]
    assert folded_all(texts) == [folded(text) for text in texts]
    exact, bare = {}, {}
    for row in table:
        if row["kind"] == "analyte":
            exact.setdefault(row["alias"], (row["key"], row["basis"]))
            bare.setdefault(folded(row["alias"]), (row["key"], row["basis"]))
    assert _exact_aliases() == exact
    assert _aliases() == bare
    heads = {folded(r["heading"]) or r["heading"]: r["role"] for r in rows("lab_columns.csv")}
    assert _roles() == heads
