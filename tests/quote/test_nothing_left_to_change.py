"""What a quote prints, so that nothing in it has to be changed; sites and prices are invented.

A rate of tax is a legal figure and is printed with the decimals of the law; packages, visits and
words for a customer: common practice, no source. 1 ft3 = 28.316847 L: NIST SP 811.
"""

import pytest

from pretreat.plant.verdict.quote_words import quote_sentence
from pretreat.report.hand.quote_words import words_of
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import words_of as words_in
from tests.quote.test_plan_of_the_quote import SITE

KIT = SITE.replace('alkalinity = "220 mg/L"\n', "").replace('silica = "10 mg/L"\n', "")
KIT = KIT.replace('conductivity = "700 µS/cm"\n', "")


def quoted(pretreat, folder, site, *more):  # noqa: F811
    (folder / "a.toml").write_text(site, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out", *more)
    return words_in(folder / "out" / "a.pdf")


@pytest.mark.parametrize(
    ("value", "en", "de"),
    [(8.375, "8.375", "8,375"), (10.25, "10.25", "10,25"), (21.0, "21", "21"), (0.0, "0", "0")],
)
def test_a_rate_keeps_every_digit_that_was_typed(value, en, de):
    assert words_of("en").rate(value) == en
    assert words_of("de").rate(value) == de


@pytest.mark.parametrize(("language", "mark"), [("en", "."), ("es", ","), ("de", ",")])
def test_rates_on_the_page_are_those_of_the_file(pretreat, tmp_path, language, mark):  # noqa: F811
    terms = f'tax_percent = 8.375\ndiscount_percent = 12.75\nlanguage = "{language}"\n'
    words = quoted(pretreat, tmp_path, SITE + terms)
    assert f"8{mark}375 %" in words
    assert f"12{mark}75 %" in words


@pytest.mark.parametrize(("language", "said"), [
    ("en", "By the readings of the test kit no maximum recovery can be stated; 60 % "),
    ("de", "lässt sich keine maximale Ausbeute angeben; 60 % "),
])  # fmt: skip
def test_no_maximum_is_promised_where_scales_were_not_judged(pretreat, tmp_path, language, said):  # noqa: F811
    words = quoted(pretreat, tmp_path, f'{KIT}language = "{language}"\n')
    assert said in words
    assert "95 %" not in words


@pytest.mark.parametrize("answer", ["depends", "does not fit", "fits with conditions"])
def test_the_end_of_the_search_is_no_maximum(answer):
    """Recoveries above 95 % are not looked at, so that one says nothing of the water."""
    said = str(quote_sentence(answer, "2031-05-02", 0.6, 0.95))
    assert "no maximum recovery can be stated; " in said
    assert "95 %" not in said
    assert "maximum recovery is 94 %" in str(quote_sentence(answer, "2031-05-02", 0.6, 0.9499))
