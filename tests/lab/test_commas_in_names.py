"""Names with a comma and no quotes, in rows and across the top; invented waters.

What a comma-separated file asks for is RFC 4180, 2.6: a field with a comma stands in quotes.
"""

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab.reading import read_analysis

ROWS = (
    ("pH, field", "", "7.05"),
    ("Calcium", "mg/L", "71.4"),
    ("Iron, total", "mg/L", "3.35"),
    ("Iron, dissolved", "mg/L", "2.95"),
    ("Manganese, filtered", "mg/L", "0.44"),
    ("Alkalinity, bicarbonate, as CaCO3", "mg/L", "212"),
    ("Nitrate, as N", "mg/L", "2.35"),
    ("Chloride", "mg/L", "33.1"),
    ("Sulfate", "mg/L", "<5.5"),
)
COMMA = "a comma stands without quotes"


def quoted(text):
    return f'"{text}"' if "," in text else text


def read(folder, text):
    path = folder / "report.csv"
    path.write_text(text, encoding="utf-8")
    return read_analysis(path)


def held(water):
    return [
        water.ph,
        dict(water.mg_l),
        dict(water.below_mg_l),
        dict(water.total_mg_l),
        dict(water.dissolved_mg_l),
    ]


def told(water):
    return [f.text for f in water.flags if f.code == "reading_guessed"]


@pytest.mark.parametrize("order", [(0, 2, 1), (0, 1, 2), (1, 0, 2)])
@pytest.mark.parametrize("headed", [True, False])
def test_a_row_is_read_as_if_its_name_were_quoted(tmp_path, order, headed):
    heads = ("Analyte", "Unit", "Result")
    rows = [*([heads] if headed else []), *ROWS]
    plain = "\n".join(",".join(row[n] for n in order) for row in rows)
    neat = "\n".join(",".join(quoted(row[n]) for n in order) for row in rows)
    found = read(tmp_path, plain)
    assert held(found) == held(read(tmp_path, neat))
    assert found.dissolved_mg_l["fe"] == pytest.approx(2.95)
    assert COMMA in told(found)[0]
    assert "'Iron, total'" in told(found)[0]
    assert not any(COMMA in text for text in told(read(tmp_path, neat)))


def test_headings_across_the_top_are_read_as_if_quoted(tmp_path):
    heads = ["Well", "Date", *(f"{n}, {u}" if u else n for n, u, _ in ROWS)]
    row = ",".join(["W1", "2026-03-02", *(value for _, _, value in ROWS)])
    found = read(tmp_path, f"{','.join(heads)}\n{row}\n{row.replace('W1', 'W2')}\n")
    neat = read(tmp_path, f"{','.join(map(quoted, heads))}\n{row}\n{row.replace('W1', 'W2')}\n")
    assert held(found) == held(neat)
    assert found.mg_l["ca"] == pytest.approx(71.4)
    assert COMMA in told(found)[0]


def test_headings_that_fit_no_way_are_refused(tmp_path):
    text = "Well,pH,Calcium,Iron,total,Sodium,mg/L,Chloride\nW1,7.1,71.4,3.35,20.1,9.9,33.1\n"
    with pytest.raises(AnalysisError, match="8 headings over rows of 7 cells"):
        read(tmp_path, text)


@pytest.mark.parametrize(
    "row",
    [
        "Iron, total,6,4,mg/L",  # a decimal comma
        "Iron, see annex,6.4,mg/L,late,again",
        "Iron, total,3.35,mg/L,0.01",  # a number where no other row has one
    ],
)
def test_what_may_be_read_otherwise_is_left_and_known_as_unread(tmp_path, row):
    text = "Analyte,Result,Unit\npH,7.1,\nCalcium,71.4,mg/L\nSodium,20.1,mg/L\n"
    water = read(tmp_path, f"{text}{row}\nChloride,33.1,mg/L\nSulfate,20.5,mg/L\n")
    assert "fe" not in water.mg_l
    assert water.unread["fe"].startswith("line 5 'Iron")


def test_columns_of_their_own_are_not_joined(tmp_path):
    text = "Analyte,Fraction,Result,Unit\npH,,7.1,\nIron,total,3.35,mg/L,late\n"
    water = read(tmp_path, f"{text}Calcium,,71.4,mg/L\nIron,dissolved,2.95,mg/L\n")
    assert water.total_mg_l["fe"] == pytest.approx(3.35)
    assert water.dissolved_mg_l["fe"] == pytest.approx(2.95)
    assert not told(water)


@pytest.mark.parametrize(
    ("line", "key"),
    [
        ("Iron,see annex,mg/L", "fe"),
        ("Iron,3.35,mgg/X", "fe"),
        ('"Silica, qwerz gxx of it",22.2,mg/L', "sio2"),
    ],
)
def test_a_line_that_cannot_be_read_is_kept_with_its_place(tmp_path, line, key):
    text = f"Analyte,Result,Unit\npH,7.1,\nCalcium,71.4,mg/L\n{line}\nChloride,33.1,mg/L\n"
    assert read(tmp_path, text).unread[key].startswith("line 4 '")


def test_another_substance_of_the_same_first_word_is_no_unread_line(tmp_path):
    text = "Analyte,Result,Unit\npH,7.1,\nCalcium,71.4,mg/L\nChloride,33.1,mg/L\n"
    more = "Potassium permanganate consumption,12.6,mg/L\nIron bacteria,120,CFU/mL\n"
    assert not {"k", "fe"} & set(read(tmp_path, text + more).unread)
