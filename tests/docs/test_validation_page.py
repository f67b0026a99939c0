"""The page of validation: what it makes of a comparison, and of the words of a test."""

import math

from docs.generate import validation


def test_largest_difference_is_of_the_numbers_that_are_known():
    """By hand: 12.1 against 12 is 0.1, 0.83 %; a blank beside a blank is none."""
    pairs = [(2.0, 2.0), (12.1, 12.0), (math.nan, math.nan)]
    assert validation._largest(pairs) == ("0.1 (0.83 %)", "12")
    assert validation._largest([(3.0, 3.0)]) == ("none", "3")
    assert validation._largest([]) == ("", "")


def test_titles_are_the_beginning_of_what_a_module_says():
    assert validation._title("PB82: Plummer and Busenberg (1982), doi:10.1/x. More.") == (
        "Plummer and Busenberg (1982)"
    )
    assert validation._title("Waters of a manual, pp. 366 to 368. More.") == (
        "Waters of a manual, pp. 366 to 368"
    )


def test_checks_elsewhere_name_where_their_numbers_come_from():
    text = validation._elsewhere()
    assert text.count("\n|") > 60
    assert "published" not in {line.split("|")[-2].strip() for line in text.splitlines()[4:]}
