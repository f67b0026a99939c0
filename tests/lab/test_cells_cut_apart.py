"""Cells that white cuts apart, bases in cells of their own, marks before and behind; invented."""

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab import read_analysis, read_samples
from pretreat.lab.read.formats.words import heads_of, is_heading, placed_lines
from pretreat.lab.read.names import named_analyte
from tests.lab.test_columns_beside import NAMES, WATER, written
from tests.lab.test_later_pages import aligned
from tests.lab.test_reports import doubts

NO3_PER_N = 62.004 / 14.007  # molar masses, IUPAC 2021


def as_nitrogen(basis):
    """Return what is printed for each analyte where one is expressed as another species."""
    printed = {k: (f"{v}", "mg/L") for k, v in WATER.items()}
    printed["no3"] = (f"{WATER['no3'] / NO3_PER_N:.5g}", f"mg/L {basis}")
    return printed


def is_right(water):
    return all(water.mg_l.get(k) == pytest.approx(v, 0.001) for k, v in WATER.items())


@pytest.mark.parametrize("numbered", ["{}. {}", "{}) {}", "{1}"])
@pytest.mark.parametrize("beside", [["Mean"], ["Previous result"], []])
@pytest.mark.parametrize("split", [3, 4, 5])
def test_the_basis_behind_a_unit_in_the_cell_of_its_result(tmp_path, numbered, beside, split):
    head = ["Analyte", "Found", *beside]
    rows = [[numbered.format(n, NAMES[k]), " ".join(as_nitrogen("as N")[k]), *["9.99"] * len(beside)]
            for n, k in enumerate(WATER, 1)]  # fmt: skip
    pages = [head, *rows[:split], ["Report continued"], head, *rows[split:]]
    water = read_analysis(written(tmp_path, aligned(pages, (20, 20))))
    assert is_right(water)


@pytest.mark.parametrize("basis", ["as N", "(as N)"])
@pytest.mark.parametrize("unit", ["Unit", ""])
def test_the_basis_behind_a_unit_in_the_column_of_units(tmp_path, basis, unit):
    rows = [[NAMES[k], *cells, "IC"] for k, cells in as_nitrogen(basis).items()]
    text = aligned([["Parameter", "Result", unit, "Method"], *rows], (16, 10, 14))
    assert is_right(read_analysis(written(tmp_path, text)))


@pytest.mark.parametrize("head", ["", "Remark", "Form", "Note"])
@pytest.mark.parametrize("basis", ["as N", "expressed as N", "(als N)"])
def test_a_basis_in_a_cell_of_its_own(tmp_path, head, basis):
    rows = [f"{NAMES[k]},{text},mg/L,{basis * (k == 'no3')}"
            for k, (text, _) in as_nitrogen("").items()]  # fmt: skip
    text = "\n".join([f"Parameter,Result,Unit,{head}", *rows])
    assert is_right(read_analysis(written(tmp_path, text, "report.csv")))


def test_a_basis_beside_a_name_that_gives_another(tmp_path):
    rows = [f"{NAMES[k]},{v},mg/L," for k, v in WATER.items() if k != "no3"]
    text = "\n".join(["Parameter,Result,Unit,", *rows, "Nitrate as NO3,12.4,mg/L,as N"])
    water = read_analysis(written(tmp_path, text, "report.csv"))
    assert any("Nitrate as NO3" in flag.text for flag in doubts(water))


@pytest.mark.parametrize("heads", [("Mark", "Q"), ("Flag", "Qual"), ("Qual", "Code")])
def test_marks_of_two_headings_around_two_wells(tmp_path, heads):
    """The second stands behind the first well, or before the second: it may be that of either."""
    head = ["Parameter", heads[0], "Well 4", heads[1], "Well 7", "Unit"]
    marks = {"mg": "<"}
    rows = [[NAMES[k], "J" * (k == "ca"), f"{v}", marks.get(k, ""), f"{v * 1.1:.4g}", "mg/L"]
            for k, v in WATER.items()]  # fmt: skip
    text = "\n".join(",".join(row) for row in [head, *rows])
    one, two = read_samples(written(tmp_path, text, "report.csv"))
    assert any("Magnesium" in f.text for f in doubts(one))
    assert any("Magnesium" in f.text for f in doubts(two))


@pytest.mark.parametrize("before", [True, False])
def test_marks_of_one_heading_keep_to_their_wells(tmp_path, before):
    pair = (lambda a, b: [a, b]) if before else (lambda a, b: [b, a])
    head = ["Parameter", *pair("Q", "Bore 2"), *pair("Q", "Bore 9"), "Unit"]
    rows = [[NAMES[k], *pair("", f"{v}"), *pair("<" * (k == "mg"), f"{v * 1.1:.4g}"), "mg/L"]
            for k, v in WATER.items()]  # fmt: skip
    text = "\n".join(",".join(row) for row in [head, *rows])
    one, two = read_samples(written(tmp_path, text, "report.csv"))
    assert one.mg_l["mg"] == WATER["mg"]
    assert "mg" in two.below_mg_l


def test_a_well_with_its_unit_heads_a_column():
    head, other = placed_lines("Parameter   Depth (m)   Bore 12 (mg/L)   Q\nTest   Well 4 3.1\n", 9)
    assert is_heading(head)
    assert not is_heading(other)


@pytest.mark.parametrize("share", ["Percent of MCL", "% of guideline", "Percent of limit"])
@pytest.mark.parametrize("before", ["Constituent Item Found", "Test Line Value", "Analyte Result"])
def test_a_heading_that_a_short_word_leads_on(share, before):
    """Cut behind "of" it would be two columns, and as many as the numbers of a line."""
    for _, heads in heads_of(placed_lines(f"{before} {share}", 9), 0):
        assert all(not head.text.endswith("of") for head in heads)
        assert any(share in head.text for head in heads)


@pytest.mark.parametrize("heads", ["2029 mean Value", "2028 Average value", "Well 4 Mean value"])
def test_a_word_between_two_headings_that_may_belong_to_either(tmp_path, heads):
    rows = [f"{NAMES[k]} 42 {v * 0.9:.3g} {v}" for k, v in WATER.items()]
    water = read_analysis(written(tmp_path, "\n".join([f"Analyte Depth (m) {heads}", *rows])))
    assert doubts(water) or {k: water.mg_l[k] for k in WATER} == WATER


@pytest.mark.parametrize(
    "head",
    ["Parameter Result Reporting limit", "Analyte Result (mg/L) Guideline value",
     "Constituent Test result Previous result"],
)  # fmt: skip
def test_headings_that_can_be_cut_in_one_way_are_not_doubted(tmp_path, head):
    rows = [f"{NAMES[k]} {v} {v * 1.5:.3g}" for k, v in WATER.items()]
    water = read_analysis(written(tmp_path, "\n".join([head, *rows])))
    assert {k: water.mg_l[k] for k in WATER} == WATER
    assert not doubts(water)


@pytest.mark.parametrize("beside", ["RL", "Reporting limit, µg/L", "MDL (µg/L)"])
@pytest.mark.parametrize("every", [2, 3])
def test_blank_results_behind_rows_of_dots(tmp_path, beside, every):
    """Dots end where the first number begins, so the place of that says nothing."""
    held = [k for n, k in enumerate(WATER) if n % every == 0]
    rows = [f"{NAMES[k]} ..... {f'{v} ' if k in held else ''}1000 mg/L" for k, v in WATER.items()]
    text = "\n".join([f" ..... Concentration {beside} UOM", *rows])
    water = read_analysis(written(tmp_path, text))
    said = " ".join(flag.text for flag in doubts(water))
    extra = set(WATER) & set(water.mg_l) - set(held)
    assert all(NAMES[k] in said for k in extra)


def test_results_in_columns_with_few_limits_are_not_doubted(tmp_path):
    limits = {"cl": "250", "so4": "250"}
    rows = [[NAMES[k], f"{v}", limits.get(k, ""), "mg/L"] for k, v in WATER.items()]
    rows += [["Iron", "< 0.02", "0.2", "mg/L"]]
    text = aligned([["Analyte", "Result", "Limit", "Unit"], *rows], (16, 10, 10))
    water = read_analysis(written(tmp_path, text))
    assert {k: water.mg_l[k] for k in WATER} == WATER
    assert not doubts(water)


@pytest.mark.parametrize(
    "name", ["Chloride (1)", "Chlorid [2]", "Chloride (3), mg/L", "Chloride (1) (Cl)"]
)
def test_the_number_of_a_footnote_in_brackets(name):
    assert named_analyte(name).key == "cl"


@pytest.mark.parametrize(
    "name", ["Iron (2)", "Iron (3)", "Chromium (6)", "Manganese (4)", "pH (7)"]
)
def test_a_number_in_brackets_that_may_be_a_valence_or_a_value(name):
    assert not named_analyte(name).key


@pytest.mark.parametrize(
    ("first", "later"),
    [("Result Previous", "Previous Result"), ("Value Limit", "Limit Value"),
     ("Found Last year", "Last year Found"), ("Result Guideline value", "Guideline value Result")],
)  # fmt: skip
@pytest.mark.parametrize("corner", ["", "Analyte"])
def test_headings_in_another_order_that_would_be_one(tmp_path, first, later, corner):
    rows = [(NAMES[k], f"{v}", f"{v * 1.3:.3g}") for k, v in WATER.items()]
    text = "\n".join([f"{corner} {first}", *(f"{n} mg/L {a} {b}" for n, a, b in rows[:4]),
                      "Report continued",
                      f"{corner} {later}", *(f"{n} mg/L {b} {a}" for n, a, b in rows[4:])])  # fmt: skip
    water = read_analysis(written(tmp_path, text))
    assert doubts(water) or {k: water.mg_l[k] for k in WATER} == WATER


@pytest.mark.parametrize("wells", [("Well 4", "Well 7"), ("Bore 2", "Bore 9")])
def test_one_number_of_the_lab_beside_two_wells(tmp_path, wells):
    head = ["Parameter", wells[0], "Lab sample ID", wells[1], "Unit"]
    rows = [[NAMES[k], f"{v}", "T2210-7", f"{v * 1.1:.4g}", "mg/L"] for k, v in WATER.items()]
    text = "\n".join(",".join(row) for row in [head, *rows])
    waters = read_samples(written(tmp_path, text, "report.csv"))
    assert [well in w.sample for well, w in zip(wells, waters, strict=True)] == [True, True]
    assert is_right(waters[0])
    assert not doubts(waters[0])


def test_a_unit_behind_the_number_of_the_lab_on_a_single_spaced_line(tmp_path):
    rows = [f"{NAMES[k]} {v} T2210-7 mg/L" for k, v in WATER.items()]
    text = "\n".join(["Determinand Found Lab ID Units", *rows, "Manganese 124 T2210-7 µg/L"])
    water = read_analysis(written(tmp_path, text))
    assert is_right(water)
    assert water.mg_l["mn"] == pytest.approx(0.124)


def test_marks_of_a_well_that_cannot_be_read(tmp_path):
    """Of two columns of marks headed alike, one is that of the other well."""
    head = ["Parameter", "Bore 2", "Flag", "Bore 9", "Flag"]
    rows = [[NAMES[k], f"J {v} mg/L", "<" * (k == "mg"), f"{v * 1.1:.4g} mg/L", ""]
            for k, v in WATER.items()]  # fmt: skip
    text = "\n".join(",".join(row) for row in [head, *rows])
    for water in read_samples(written(tmp_path, text, "report.csv")):
        right = "mg" in water.below_mg_l if "2" in water.sample else "mg" in water.mg_l
        assert right or any("Magnesium" in flag.text for flag in doubts(water))


def test_a_power_of_ten_is_as_long_as_it_is_printed():
    number, unit = placed_lines("9.20 x 10^-1 mg/L", 1)[0].words
    assert (number.text, number.right, unit.left) == ("9.20x10^-1", 12, 13)


def test_the_end_of_the_longest_line_is_no_column(tmp_path):
    """Its last number would be the only result, as all others stand in one cell."""
    rows = ["Magnesium (mg/L) ..... EPA 200.7 7439-95-4 96.4 3", "Barium (mg/L) ..... GF <0.031 5",
            "Strontium (mg/L) ..... EPA 200.7 7440-24-6 4.85 4",
            "Fluoride (mg/L) ..... ICP-OES 16984-48-8 9.20 x 10^-1 7",
            "Silica (mg/L) ..... EPA 200.7 7631-86-9 31.6 5"]  # fmt: skip
    text = "\n".join(["Analyte ..... Method CAS No. Measured No. of samples", *rows])
    try:
        water = read_analysis(written(tmp_path, text))
    except AnalysisError:
        return
    assert doubts(water) or water.mg_l.get("f") == 0.92


def test_one_line_of_many_whose_columns_are_not_parted(tmp_path):
    rows = [f"{NAMES[k]}² ..... 1 {v}" for k, v in WATER.items()]
    text = "\n".join(["Test ..... MDL Bore 2", "Iron ..... 20 870", *rows])
    try:
        water = read_analysis(written(tmp_path, text))
    except AnalysisError:
        return
    assert doubts(water)
