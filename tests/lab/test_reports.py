"""Invented reports of many kinds and formats, each with the reading written down before.

A report counts as right where every value is as written, with no more than the usual remarks;
as flagged where a flag on the reading asks a person to look; else it is wrong.
"""

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab import read_analysis
from tests.lab.reports import abroad, office, texts

CASES = {**texts.CASES, **office.CASES, **abroad.CASES}
DOUBTS = {
    "reading_guessed", "doubtful_line", "row_dropped", "cell_error", "named_by_symbol",
    "weak_acid_as_caco3", "not_a_number", "unknown_unit", "unit_conflict", "duplicate_results",
    "mixed_decimal", "ambiguous_decimal", "statistics_only", "over_range", "cell_is_date",
}  # fmt: skip
TOLERANCE = 0.003  # of the conversions that the printed numbers round


def written(folder, name):
    content = CASES[name][0]
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    return path


def found(water, key):
    if key in {"ph", "temperature_c", "alkalinity_mg_l_caco3"}:
        return getattr(water, key)
    if key in water.below_mg_l:
        return f"<{water.below_mg_l[key]:g}" if water.below_mg_l[key] else "<?"
    return water.mg_l.get(key, water.properties.get(key))


def same(value, wanted):
    if isinstance(wanted, str) or isinstance(value, str) or value is None:
        return value == wanted
    return value == pytest.approx(wanted, rel=TOLERANCE)


def doubts(water):
    return [f for f in water.flags if f.code in DOUBTS]


def outcome(path, name):
    """Return "right", "flagged", "refused" or "wrong", and what is wrong."""
    _, expected, more = CASES[name]
    try:
        water = read_analysis(path)
    except AnalysisError as refused:
        return "refused", str(refused)
    if expected == "refused":
        return "wrong", f"read: {dict(water.mg_l)}"
    off = {k: found(water, k) for k, v in expected.items() if not same(found(water, k), v)}
    extra = (set(water.mg_l) | set(water.below_mg_l)) - set(expected) - {"hco3"}
    samples = more.get("samples")
    if samples is not None and len(water.samples) != samples:
        off["samples"] = water.samples
    said = "; ".join(f"{f.code}: {f.text}" for f in doubts(water))
    wrong = {k: v for k, v in off.items() if v is not None}
    if not off and not extra:
        return ("flagged" if said else "right"), said
    if said and not any(k in wrong for k in ("samples",)):
        return "flagged", f"{off} {extra} {said}"
    return ("wrong" if wrong or extra else "missing"), f"{off} {extra}"


@pytest.mark.parametrize("name", sorted(CASES))
def test_report_reads_as_its_author_meant(tmp_path, name):
    _, expected, more = CASES[name]
    kind, text = outcome(written(tmp_path, name), name)
    if expected == "refused":
        assert kind == "refused", text
    elif more.get("doubtful"):
        assert kind == "flagged", text
    else:
        assert kind == "right", text


def test_most_reports_are_read_without_a_doubt():
    certain = [n for n, (_, expected, more) in CASES.items() if expected != "refused"]
    doubtful = [n for n in certain if CASES[n][2].get("doubtful")]
    assert len(CASES) >= 60
    assert len(doubtful) <= 0.2 * len(certain)
