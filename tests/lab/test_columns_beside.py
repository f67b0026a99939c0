"""Columns that stand beside the results and are none: never read as results without a word."""

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab import read_analysis, read_samples
from pretreat.lab.interpret.columns import is_count
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from tests.lab.reports import office
from tests.lab.test_reports import doubts

WATER = {"ca": 88.4, "mg": 31.2, "na": 54.6, "k": 3.9, "cl": 71.3, "so4": 96.5, "no3": 12.4}
NAMES = {
    "ca": "Calcium", "mg": "Magnesium", "na": "Sodium", "k": "Potassium", "cl": "Chloride",
    "so4": "Sulfate", "no3": "Nitrate",
}  # fmt: skip


def written(tmp_path, text, name="report.txt"):
    path = tmp_path / name
    path.write_text(text, "utf-8")
    return path


def right_or_said(path, expected=WATER):
    """Return whether a report is refused, or read as expected, or read with a flag on it."""
    try:
        water = read_analysis(path)
    except AnalysisError:
        return True
    right = all(water.mg_l.get(key) == pytest.approx(value) for key, value in expected.items())
    return right or bool(doubts(water))


@pytest.mark.parametrize("limit", ["Max. allowed", "Maximum permitted", "Max. admissible"])
def test_row_numbers_without_a_heading_of_their_own(tmp_path, limit):
    """The words of the last heading are as many as the numbers left over, and no columns."""
    rows = [f"{NAMES[k]} {n + n // 4} {v} {round(2 * v)}" for n, (k, v) in
            enumerate(WATER.items(), 1)]  # fmt: skip
    head = f"Parameter Mark Amount (mg/L) {limit}"
    text = "\n".join([head, *rows[:3], "Report continued", head, *rows[3:]])
    assert right_or_said(written(tmp_path, text))


@pytest.mark.parametrize(
    "column",
    [
        ("1", "2", "3", "4", "6", "7", "8"), ("10", "20", "30", "50", "60", "70", "80"),
        ("1", "1", "5", "10", "1", "50", "1"), ("3", "4", "4", "4", "3", "4", "5"),
        ("200.7", "200.7", "200.7", "200.7", "300.0", "300.0", "300.0"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("heading", ["Result", "Befund", "", "Column 2"])
def test_numbers_that_only_count_or_name_a_method(tmp_path, column, heading):
    rows = [f"{NAMES[k]},{text},{v}" for (k, v), text in zip(WATER.items(), column, strict=True)]
    text = "\n".join([f"Parameter,{heading},Analysis", *rows])
    assert right_or_said(written(tmp_path, text, "report.csv"))


def test_a_running_number_may_leave_lines_out():
    assert is_count([1, 2, 3, 5, 6, 8])
    assert is_count([9, 8, 7, 6, 5])
    assert is_count([10, 20, 40, 50])
    assert not is_count([12, 31, 45, 88])
    assert not is_count([1, 2, 3, 3])
    assert not is_count([1.5, 2.5, 3.5, 4.5])


def test_two_wells_side_by_side_under_single_spaces(tmp_path):
    """Without the cut between the names both numbers would be those of one well."""
    rows = [f"{NAMES[k]} 300.0 {n} {v} {v + 2:g}" for n, (k, v) in enumerate(WATER.items(), 1)]
    text = "\n".join(["Analyte Test method Reg. no. Well 7 Well 4", *rows])
    waters = read_samples(written(tmp_path, text))
    assert [w.sample for w in waters] == ["Well 7", "Well 4"]
    assert [w.mg_l["na"] for w in waters] == [54.6, 56.6]


def test_lines_that_fit_headings_beside_many_that_do_not(tmp_path):
    """A row number before the unit makes up for a result that is missing under the second well."""
    rows = [f"{NAMES[k]} {v} {n} mg/L {v + 2:g}" for n, (k, v) in enumerate(WATER.items(), 1)]
    rows[3] = "Potassium 3.9 4. mg/L"
    text = "\n".join(["Parameter Well 4 UOM Flag Well 7", *rows])
    for water in read_samples(written(tmp_path, text)):
        assert doubts(water) or "k" not in water.mg_l or water.mg_l["k"] == 3.9


@pytest.mark.parametrize("gap", ["   ", " ", " ..... "])
@pytest.mark.parametrize("power", ["{} x 10^{}", "{} × 10^{}", "{} x10^{}", "{}E{}"])
def test_powers_of_ten_between_the_columns_of_a_print(tmp_path, gap, power):
    """The mantissa alone is off by powers of ten."""
    rows = []
    for key, value in WATER.items():
        mantissa, exponent = f"{value:.2e}".split("e")
        rows.append(f"{NAMES[key]:<12}{gap}{power.format(mantissa, int(exponent))}{gap}mg/L")
    text = "\n".join([f"Parameter{gap}Result{gap}Unit", *rows])
    water = read_analysis(written(tmp_path, text))
    assert {k: water.mg_l[k] for k in WATER} == pytest.approx(WATER)


@pytest.mark.parametrize(
    ("text", "number", "mark"),
    [
        ("J 2.46", 2.46, "J"), ("J2.46", 2.46, "J"), ("E 124", 124, "E"), ("* 12", 12, "*"),
        ("1.26×10⁻¹", 0.126, ""), ("1.26 · 10³", 1260, ""), ("12.6 (±10%)", 12.6, ""),
    ],
)  # fmt: skip
def test_marks_before_a_number_and_raised_powers(text, number, mark):
    found = printed_number(text)
    assert (found.kind, found.qualifier) == ("value", mark)
    assert found.number == pytest.approx(number)


@pytest.mark.parametrize("text", ["E 2", "J 1", "# 1", "B 12"])
def test_a_letter_and_a_short_number_may_name_a_sample(text):
    assert printed_number(text).kind == "word"


@pytest.mark.parametrize("order", ["Well 4,2030", "2030,Well 4"])
def test_a_year_beside_a_well_is_an_earlier_result(tmp_path, order):
    first = order.startswith("Well")
    rows = [
        f"{NAMES[k]},{v},{0.9 * v:.3g}" if first else f"{NAMES[k]},{0.9 * v:.3g},{v}"
        for k, v in WATER.items()
    ]
    path = written(tmp_path, "\n".join([f"Parameter,{order}", *rows]), "report.csv")
    water = read_analysis(path)
    assert water.sample == "Well 4"
    assert water.mg_l["na"] == 54.6


@pytest.mark.parametrize("sign", ["±", "+/-", "+-"])
@pytest.mark.parametrize("unit", ["", " mg/L"])
def test_the_spread_behind_a_number_is_no_other_number(tmp_path, sign, unit):
    """With a limit that is missing the spread would make up the count of the headings."""
    rows = [f"{NAMES[k]}{' 150' * (k != 'na')} {v} {sign} {v / 10:.2g}{unit}" for k, v in
            WATER.items()]  # fmt: skip
    text = "\n".join(["Parameter Limit Well 4", *rows])
    assert right_or_said(written(tmp_path, text))
    cells = [f"{NAMES[k]},{v} {sign} {v / 10:.2g}{unit}" for k, v in WATER.items()]
    prose = "The supply limit for iron is 0.25 mg/L and for sodium 180 mg/L."
    text = "\n".join([",Present result", *cells, prose])
    water = read_analysis(written(tmp_path, text, "report.csv"))
    assert {k: water.mg_l[k] for k in WATER} == WATER


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [
        ("612 ± 61 mg/L", 612, "mg/L"), ("612 mg/L ± 61", 612, "mg/L"),
        ("2690 ± 2.7e+02 mg/L", 2690, "mg/L"), ("612 (±10 %) mg/L", 612, "mg/L"),
    ],
)  # fmt: skip
def test_spread_and_unit_in_one_cell(text, number, unit):
    found = printed_number(text)
    assert (found.kind, found.number, found.unit) == ("value", number, unit)


def test_cells_between_commas_are_no_name():
    assert named_analyte("Sodium,200.7,612").key == ""
    assert named_analyte("Sodium, 0.45 um").key == "na"


@pytest.mark.parametrize(
    "head",
    [
        "Parameter,Unit,Result,Unit,Limit", "Parameter,Result,Unit,Limit,Unit",
        "Parameter,Limit,Unit,Result,Unit", "Parameter,Unit,Limit,Unit,Result",
    ],
)  # fmt: skip
def test_the_unit_of_the_limit_is_not_that_of_the_result(tmp_path, head):
    """Iron is printed in µg/L, its limit in mg/L; where the first column is a unit, all lead."""
    heads = head.split(",")
    rows = []
    for name, result, unit, limit in (
        ("Calcium", "88.4", "mg/L", "150"), ("Iron", "870", "µg/L", "0.3"),
        ("Manganese", "124", "µg/L", "0.05"), ("Chloride", "71.3", "mg/L", "250"),
    ):  # fmt: skip
        said = {"Parameter": name, "Result": result, "Limit": limit}
        of = {"Result": unit, "Limit": "mg/L"}
        leads = heads[1] == "Unit"
        rows.append([
            said.get(h) or of[heads[n + 1] if leads else heads[n - 1]] for n, h in enumerate(heads)
        ])  # fmt: skip
    text = "\n".join([head, *map(",".join, rows)])
    water = read_analysis(written(tmp_path, text, "report.csv"))
    assert (water.mg_l["fe"], water.mg_l["mn"]) == pytest.approx((0.87, 0.124))
    assert (water.mg_l["ca"], water.mg_l["cl"]) == (88.4, 71.3)


@pytest.mark.parametrize("heads", ["Result (mg/L),RL (ug/L)", "Result,Unit,RL,Unit"])
def test_a_non_detect_takes_the_unit_of_its_limit(tmp_path, heads):
    """20 µg/L is the limit printed; 20 mg/L would be a thousand times as much."""
    between = "mg/L," if "Unit" in heads else ""
    behind = ",ug/L" if "Unit" in heads else ""
    rows = [f"{n},{v},{between}{rl}{behind}" for n, v, rl in (
        ("Calcium", "88.4", "500"), ("Iron", "ND", "20"), ("Chloride", "71.3", "1000"),
    )]  # fmt: skip
    text = "\n".join([f"Parameter,{heads}", *rows])
    water = read_analysis(written(tmp_path, text, "report.csv"))
    assert water.below_mg_l["fe"] == pytest.approx(0.02)


@pytest.mark.parametrize("mark", ["Q", "{}_flag", "{} qual", "Flag", ""])
def test_marks_beside_each_result_across_a_table(tmp_path, mark):
    heads = [h for name in ("Ca", "Mg", "Na", "Cl") for h in (name, mark.format(name))]
    text = "\n".join([
        ",".join(["Well", *heads]), "LW-3,88.4,,0.1,<,54.6,J,71.3,", "LW-4,90,,33,,57,,0.5,<",
    ])  # fmt: skip
    one, two = read_samples(written(tmp_path, text, "report.csv"))
    assert (one.mg_l["ca"], one.below_mg_l["mg"], one.mg_l["na"]) == (88.4, 0.1, 54.6)
    assert (two.mg_l["mg"], two.below_mg_l["cl"]) == (33, 0.5)


def test_columns_headed_filtered_and_unfiltered_hold_results(tmp_path):
    text = (
        "Parameter,Unit,Unfiltered,Filtered\nCalcium,mg/L,89.9,88.4\nIron,mg/L,1.21,0.87\n"
        "Manganese,mg/L,0.155,0.124\nSodium,mg/L,55.0,54.6\n"
    )
    water = read_analysis(written(tmp_path, text, "report.csv"))
    assert (water.mg_l["fe"], water.total_mg_l["fe"]) == (0.87, 1.21)
    assert water.mg_l["ca"] == 88.4


@pytest.mark.parametrize(
    ("heads", "places"),
    [
        (("Analyte", "Analysis result", "2030 average", "Unit"), (40, 210, 272, 372)),
        (("Analyte", "Reporting limit, ug/L", "Ashby Mill", "Unit"), (40, 210, 272, 372)),
    ],
)  # fmt: skip
def test_headings_printed_over_each_other_are_told(tmp_path, heads, places):
    rows = [
        (NAMES[k], *((f"{v}", f"{0.9 * v:.3g}") if "Analysis" in heads[1] else ("1000", f"{v}")),
         "mg/L")
        for k, v in WATER.items()
    ]  # fmt: skip
    path = tmp_path / "report.pdf"
    path.write_bytes(office.Print().table([heads, *rows], places).done())
    water = read_analysis(path)
    assert doubts(water)


@pytest.mark.parametrize("row", ["Nitrate  0.7003 mg/L  N", "Phosphate  0.05 mg/L  P"])
def test_the_letter_of_an_element_behind_its_unit_may_be_a_basis(tmp_path, row):
    """Nitrate as N is 4.4 times as much as the ion."""
    rows = ["Calcium  88.4 mg/L", "Chloride  71.3 mg/L", "Sulfate  96.5 mg/L", row]
    text = "\n".join(["Parameter  Result  Mark", *rows])
    water = read_analysis(written(tmp_path, text))
    ions = {"no3": 0.7003 * 62.004 / 14.007, "po4": 0.05 * 94.97 / 30.974}
    as_element = all(
        water.mg_l[k] == pytest.approx(ions[k], 0.01) for k in ions & water.mg_l.keys()
    )
    assert as_element or doubts(water)


@pytest.mark.parametrize("behind", [True, False])
@pytest.mark.parametrize("mark", ["<", "U"])
def test_samples_side_by_side_keep_their_own_marks(tmp_path, behind, mark):
    heads = ("LW-3", "Q", "LW-4", "Q") if behind else ("Q", "LW-3", "Q", "LW-4")
    rows = []
    for name, cells in (
        ("Calcium", ("88.4", "", "90.1", "")), ("Iron", ("0.02", mark, "0.5", "")),
        ("Magnesium", ("31.2", "", "33", "J")), ("Chloride", ("71.3", "", "1", mark)),
    ):  # fmt: skip
        pairs = cells if behind else (cells[1], cells[0], cells[3], cells[2])
        rows.append(",".join([name, "mg/L", *pairs]))
    text = "\n".join([",".join(["Parameter", "Unit", *heads]), *rows])
    one, two = read_samples(written(tmp_path, text, "report.csv"))
    assert (one.below_mg_l, one.mg_l["cl"]) == ({"fe": 0.02}, 71.3)
    assert (two.below_mg_l, two.mg_l["fe"]) == ({"cl": 1.0}, 0.5)


@pytest.mark.parametrize("heads", ["RL,LW-3,RL,LW-4", "LW-3,RL,LW-4,RL"])
def test_samples_side_by_side_keep_their_own_limits(tmp_path, heads):
    first = heads.startswith("RL")
    rows = [
        f"{name},mg/L,{rl},{a},{rl2},{b}" if first else f"{name},mg/L,{a},{rl},{b},{rl2}"
        for name, a, rl, b, rl2 in (
            ("Calcium", "88.4", "0.5", "90.1", "5"), ("Iron", "ND", "0.02", "ND", "0.2"),
            ("Magnesium", "31.2", "0.1", "33", "1"), ("Chloride", "71.3", "1", "75.5", "10"),
        )
    ]  # fmt: skip
    text = "\n".join([f"Parameter,Unit,{heads}", *rows])
    one, two = read_samples(written(tmp_path, text, "report.csv"))
    assert (one.below_mg_l["fe"], two.below_mg_l["fe"]) == (0.02, 0.2)


def test_marks_that_no_sample_owns_are_told(tmp_path):
    text = (
        "Parameter,Unit,Q,LW-3,LW-4,Q,Q\nCalcium,mg/L,,88.4,90.1,,\nIron,mg/L,,0.02,0.5,<,\n"
        "Magnesium,mg/L,,31.2,33,,\nChloride,mg/L,,71.3,75.5,,\n"
    )
    for water in read_samples(written(tmp_path, text, "report.csv")):
        assert doubts(water)


def test_marks_in_columns_of_a_print_belong_to_the_result_they_stand_beside(tmp_path):
    """A sign that stands apart under its own heading is not that of the number behind it."""
    rows = [
        ("Calcium", "88.4", "", "90.1", ""), ("Iron", "0.87", "<", "0.92", ""),
        ("Fluoride", "0.38", "", "0.41", "<"), ("Chloride", "71.3", "", "75.5", "J"),
    ]  # fmt: skip
    lines = ["".join(t.ljust(14) for t in row).rstrip() for row in rows]
    head = "".join(t.ljust(14) for t in ("Parameter", "Well 4", "Q", "Well 7", "Q")).rstrip()
    one, two = read_samples(written(tmp_path, "\n".join([head, *lines])))
    assert (one.below_mg_l, two.below_mg_l) == ({"fe": 0.87}, {"f": 0.41})
    assert (one.mg_l["f"], two.mg_l["fe"]) == (0.38, 0.92)


def test_one_column_of_marks_for_two_wells_is_told(tmp_path):
    text = (
        "Parameter,Unit,Well 4,Well 7,Q\nCalcium,mg/L,88.4,90.1,\nIron,mg/L,0.87,0.92,<\n"
        "Chloride,mg/L,71.3,75.5,\n"
    )
    assert all(map(doubts, read_samples(written(tmp_path, text, "report.csv"))))


def test_words_that_run_past_the_last_one_of_a_line(tmp_path):
    """Overprinted texts of a print: the last word by its left edge is not the rightmost."""
    heads = ("Parameter", "A very long heading over the results", "Limit")
    rows = [(NAMES[k], f"{v} mg/L with a long remark", "1") for k, v in WATER.items()]
    path = tmp_path / "report.pdf"
    path.write_bytes(office.Print().table([heads, *rows], (40, 210, 272)).done())
    assert right_or_said(path)


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("Calcium¹", "ca"), ("Iron²⁾", "fe"), ("Nitrate¹,²", "no3"), ("Sodium ³ (mg/L)", "na"),
        ("Ca²⁺", "ca"), ("SO₄²⁻", "so4"), ("HCO₃⁻", "hco3"),
    ],
)  # fmt: skip
def test_the_raised_number_of_a_footnote_is_no_part_of_a_name(name, key):
    assert named_analyte(name).key == key


@pytest.mark.parametrize("gap", [" ..... ", " "])
def test_one_number_where_other_lines_have_two_is_told(tmp_path, gap):
    """Behind dots a number seems to stand apart, but its place tells nothing of its column."""
    rows = [f"{NAMES[k]}{gap}{v} {v + 2:g} mg/L" for k, v in WATER.items()]
    rows[3] = f"Potassium{gap}3.9 mg/L"
    text = "\n".join([f"Determinand{gap}Well 7 Well 4 Units", *rows])
    for water in read_samples(written(tmp_path, text)):
        assert doubts(water) or "k" not in water.mg_l


def test_a_method_number_that_ends_a_line_is_no_result(tmp_path):
    """The second well holds nothing there; its column would take the number of the method."""
    rows = [f"{NAMES[k]} ..... {v} 300.0 {v + 2:g}" for k, v in WATER.items()]
    rows[3] = "Potassium ..... 3.9 200.7"
    text = "\n".join(["Parameter ..... Well 4 Method Well 7", *rows])
    for water in read_samples(written(tmp_path, text)):
        assert doubts(water) or water.mg_l.get("k", 3.9) == 3.9


def test_one_spread_in_a_column_of_a_print(tmp_path):
    rows = [f"{NAMES[k]:<12} mg/L {v:>18}    1" for k, v in WATER.items()]
    rows[4] = f"{'Chloride':<12} mg/L {'1085 ± 1.1e+02':>18}    1"
    head = f"{'Parameter':<12} UOM  {'Concentration':>18}  DF"
    water = read_analysis(written(tmp_path, "\n".join([head, *rows])))
    assert (water.mg_l["cl"], water.mg_l["so4"]) == (1085, 96.5)


def test_headings_side_by_side_are_no_label_and_its_text(tmp_path):
    """On the second page "2030 average" would be the name of the sample."""
    head = "Constituent,Lab sample,2030 average,Your water"
    rows = [f"{NAMES[k]},L4471-03,{0.9 * v:.3g},{v}" for k, v in WATER.items()]
    text = "\n".join([head, *rows[:4], "Report continued,,,", head, *rows[4:]])
    water = read_analysis(written(tmp_path, text, "report.csv"))
    assert {k: water.mg_l.get(k) for k in WATER} == WATER


@pytest.mark.parametrize("mark", ["ND", "BDL", "n.d.", "<0.01"])
def test_a_second_column_in_which_little_is_detected(tmp_path, mark):
    """ "Nd" is an element too, but a column of non-detects is no second column of names."""
    rows = [("Iron", "1.21", mark), ("Manganese", "0.155", mark), ("Calcium", "89.9", "88"),
            ("Barium", "0.1", mark)]  # fmt: skip
    body = "\n".join(f"{name},mg/L,{one},{two}" for name, one, two in rows)
    path = written(tmp_path, f"Parameter,Unit,Well 4,Well 7\n{body}", "wells.csv")
    one, two = read_samples(path)
    assert (one.mg_l["fe"], one.mg_l["ca"], two.mg_l["ca"]) == (1.21, 89.9, 88)
    assert set(two.below_mg_l) == {"fe", "mn", "ba"}
    path = written(tmp_path, f"Parameter,Unit,Total,Dissolved\n{body}", "parts.csv")
    water = read_analysis(path)
    assert (water.total_mg_l["fe"], water.mg_l["ca"]) == (1.21, 88)
    assert "fe" in water.below_mg_l


def test_a_section_in_mg_l_does_not_make_equivalents_mg_l(tmp_path):
    rows = [f"{NAMES[k]},{v / 30:.3g},{v}" for k, v in WATER.items()]
    text = "\n".join(["Test,me/L,Ashby Mill", "Major ions (mg/L),,", *rows])
    assert right_or_said(written(tmp_path, text, "report.csv"))


def test_the_n_of_a_unit_in_a_column_of_its_own(tmp_path):
    """A print whose units stand partly with the number is cut between "mg/L" and "N"."""
    rows = [f"{NAMES[k]},{v} mg/L," for k, v in WATER.items() if k != "no3"]
    rows[0] = "Calcium,88.4,mg/L"
    text = "\n".join(["Constituent,Amount,Unit", *rows, "Nitrate,2.8012 mg/L,N"])
    water = read_analysis(written(tmp_path, text, "report.csv"))
    assert water.mg_l["no3"] == pytest.approx(12.4, 0.001) or doubts(water)


def test_a_sign_in_the_column_behind_its_mark_is_told(tmp_path):
    """The first column of marks is empty, so the second runs into the row numbers behind it."""
    rows = [("pH", "", "", "7.43", "", "1"), ("Iron", "0.926", "mg/L", "0.87", "<", "2"),
            ("Barium", "0.0593", "mg/L", "0.063", "", "3"),
            ("Calcium", "82.1", "mg/L", "88.4", "", "4"),
            ("Sodium", "59.9", "mg/L", "54.6", "", "5")]  # fmt: skip
    places = (0, 31, 44, 51, 60, 63)
    heads = "Analyte                        Well 7   Q  UOM    Well 4   Q  Reg. no."
    lines = []
    for row in rows:
        line = ""
        for at, text in zip(places, row, strict=True):
            line = line.ljust(at) + text
        lines.append(line)
    water = next(w for w in read_samples(written(tmp_path, "\n".join([heads, *lines])))
                 if "4" in w.sample)  # fmt: skip
    assert "fe" in water.below_mg_l or doubts(water)
