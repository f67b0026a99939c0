"""Printed numbers one by one: the marks of languages, qualifiers, non-detects. Common practice."""

import pytest

from pretreat.lab.read.numbers import decimal_mark, printed_number


@pytest.mark.parametrize(
    ("text", "decimal", "number"),
    [
        ("142 ", ".", 142), ("48.6*", ".", 48.6), ("236 D", ".", 236), ("0.048 (J)", ".", 0.048),
        ("1.15 [H]", ".", 1.15), ("4.20 H3", ".", 4.2), ("7.62 HF", ".", 7.62), ("2.13E+03", ".",
        2130),
        ("18,900", ".", 18900), ("18,900", ",", 18.9), ("2.130", ",", 2130), ("1.234,5", ",",
        1234.5),
        ("1,234.5", ".", 1234.5), ("2 130", ".", 2130), ("1'234", ".", 1234), ("0 . 31", ".", 0.31),
        (",2507", ",", 0.2507), (".18", ".", 0.18), ("٤٨٫٦", ".", 48.6), ("٢٣٦", ".", 236),
        ("1.2x10-3", ".", 0.0012), ("4.2 ± 0.3", ".", 4.2), ("~398", ".", 398), ("-0.0197", ".",
        -0.0197),
        ("9.8\xa0", ".", 9.8), ("0,310", ".", 0.310), ("12,345,678", ".", 12345678),
    ],
)  # fmt: skip
def test_numbers(text, decimal, number):
    found = printed_number(text, decimal)
    assert found.kind == "value"
    assert found.number == pytest.approx(number)


@pytest.mark.parametrize(
    ("text", "limit"),
    [
        ("<0.02", 0.02), ("< 0.05", 0.05), ("<0.02 U", 0.02), ("0.005 U", 0.005), ("ND<0.005",
        0.005),
        ("BDL", None), ("n.n.", None), ("ND", None), ("TE", None), ("<LOD", None), ("absent", None),
        ("Not Detected", None), ("≤0.5", 0.5), ("0.1 UJ", 0.1), ("trace", None), ("n.r.", None),
    ],
)  # fmt: skip
def test_non_detects(text, limit):
    found = printed_number(text, ".")
    assert (found.kind, found.number) == ("below", limit)


@pytest.mark.parametrize("text", ["--", "N/A", "n.b.", "", "-", "NR", "not analysed", "NaN"])
def test_not_measured(text):
    assert printed_number(text).kind == "missing"


@pytest.mark.parametrize("text", ["2031-04-02", "2-Apr", "02.04.2031", "Apr-31", "2/4/2031"])
def test_dates(text):
    assert printed_number(text).kind == "date"


@pytest.mark.parametrize(
    "text", ["6.5-8.5", "clear", "=1+1", "1.2.3,4", "12 of 14", "1e999", "yes"]
)
def test_words_are_never_numbers(text):
    assert printed_number(text).kind == "word"


@pytest.mark.parametrize("text", [">1000", "TNTC", "> 2419.6"])
def test_over_range(text):
    assert printed_number(text).kind == "above"


def test_unit_inside_the_cell():
    assert printed_number("18.4 °C").unit == "°C"
    assert printed_number("142mg/l").unit == "mg/l"
    assert printed_number("12.3 mg/L as CaCO3").unit == "mg/L as CaCO3"
    assert printed_number("287 E").unit == ""  # a qualifier, not a Clark degree


def test_decimal_mark_is_decided_per_file():
    assert decimal_mark(["2.130", "7,62", "18,4"]) == (",", ("2.130",))
    assert decimal_mark(["18,900", "7.62"]) == (".", ("18,900",))
    assert decimal_mark(["1.234"]) == (None, ("1.234",))
    assert decimal_mark(["1.234", "5.678.901"]) == (",", ("1.234",))
