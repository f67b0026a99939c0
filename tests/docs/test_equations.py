"""Laws as mathematics, and pages whose parts can be made without a study."""

import xml.etree.ElementTree as ET

from docs.generate import method, quoted, site_file
from docs.generate.equations import equation
from docs.generate.markdown import code
from pretreat.core.law import Number, law, least, when
from pretreat.core.tables import rows
from pretreat.site.sheets.catalogue import catalogue
from pretreat.stages.site import tables


def _parts(text):
    root = ET.fromstring(text)
    return [(e.tag, (e.text or "").strip()) for e in root.iter()]


def test_every_law_is_well_formed_mathematics():
    """Each quantity that a law takes stands in its equation, or in none of its branches."""
    found = method.laws()
    assert len(found) > 250
    for name, one in found.items():
        root = ET.fromstring(equation(one, name.split(":")[1]))
        assert root.find("./math/mrow") is not None, name


def test_brackets_fractions_and_branches():
    @law
    def mean_l(a_l: Number, b_l: Number, share: Number) -> Number:
        """Mean = (a + b) x share / 2.

        >>> 1
        1
        """
        return when(a_l > b_l, lambda: (a_l + b_l) * share / 2.0, lambda: least(a_l, b_l))

    try:
        parts = _parts(equation(mean_l, "mean_l"))
    finally:
        method.LAWS.pop(mean_l.name)
    assert ("mfrac", "") in parts
    assert ("mtable", "") in parts
    assert parts.count(("mo", "(")) == 2  # the sum, and what the smaller is taken of
    assert ("mtext", "mean") in parts


def test_every_law_stands_on_one_page():
    pages = method._pages()
    standing = [name for names in pages.values() for name in names]
    assert sorted(standing) == sorted(method.laws())


def test_site_file_reference_holds_every_key():
    ((_, _, text),) = site_file.pages()
    for entry in catalogue(tables()):
        if entry.key:
            assert code(entry.key) in text, entry
    assert len(rows("site_keys.csv")) > 100


def test_cautions_stand_in_full_on_the_page_of_safety():
    text = method.all_cautions()
    assert all(row["text"][:40].split(";")[0][:30] in text for row in rows("cautions.csv"))
    assert quoted.DOCS.joinpath("safety.md").read_text("utf-8").count("<!-- cautions -->") == 1
