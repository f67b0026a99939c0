"""Tables over several pages, invented: headings that repeat mean what they did above."""

import pytest

from pretreat.lab import read_analysis, read_samples
from pretreat.lab.read.formats.words import is_heading, placed_lines, roles_in
from tests.lab.test_columns_beside import NAMES, WATER, right_or_said, written
from tests.lab.test_reports import doubts


def aligned(rows, widths):
    """Return rows of cells as lines, each cell at its place."""
    return "\n".join(
        "".join(text.ljust(w) for text, w in zip(row, [*widths, 0], strict=False)).rstrip()
        for row in rows
    )


def two_pages(head, row, split=4):
    """Return the rows of a table that is broken after some analytes, its headings repeated."""
    rows = [row(key, value) for key, value in WATER.items()]
    return [head, *rows[:split], ["Report continued"], head, *rows[split:]]


@pytest.mark.parametrize("beside", ["2030 average", "2029", "Average 2030", "Mean 2028"])
@pytest.mark.parametrize("split", [3, 4, 5])
def test_a_year_beside_the_results_of_a_short_second_page(tmp_path, beside, split):
    head = ["Analyte", "RL", "Unit", "Present result", beside]
    text = aligned(
        two_pages(head, lambda k, v: [NAMES[k], "0.5", "mg/L", f"{v}", f"{v * 0.9:.3g}"], split),
        (16, 6, 8, 16),
    )
    water = read_analysis(written(tmp_path, text))
    assert {k: water.mg_l[k] for k in WATER} == WATER


@pytest.mark.parametrize("wells", [("Well 4", "Well 7"), ("Bore 12", "Bore 3"), ("LW-1", "LW-2")])
def test_two_wells_over_two_pages(tmp_path, wells):
    head = ["Parameter", "Unit", *wells]
    rows = two_pages(head, lambda k, v: [NAMES[k], "mg/L", f"{v}", f"{v * 1.1:.4g}"], 5)
    waters = read_samples(written(tmp_path, aligned(rows, (16, 8, 10))))
    assert [w.sample for w in waters] == list(wells)
    for water, factor in zip(waters, (1, 1.1), strict=True):
        assert all(water.mg_l[k] == pytest.approx(v * factor, 0.002) for k, v in WATER.items())


def test_a_well_in_which_nothing_is_found_on_the_second_page(tmp_path):
    """Non-detects alone would look like marks of the results beside them."""
    traces = {"fe": ("Iron", 0.87), "mn": ("Manganese", 0.112), "ba": ("Barium", 0.063)}
    head = "Analyte,Ashby Mill,Kolkheide,Unit"
    first = [f"{NAMES[k]},{v},{v * 1.1:.4g},mg/L" for k, v in WATER.items()]
    second = [f"{name},{v},ND,mg/L" for name, v in traces.values()]
    path = written(tmp_path, "\n".join([head, *first, "", head, *second]), "report.csv")
    one, two = read_samples(path)
    assert {k: one.mg_l.get(k) for k in traces} == {k: v for k, (_, v) in traces.items()}
    assert set(two.below_mg_l) == set(traces)


def test_other_wells_under_the_same_headings_of_columns(tmp_path):
    """The row above the repeated headings names another sample, so they are not the same."""

    def part(well, factor):
        rows = [f"{NAMES[k]},{v * factor:.4g},mg/L" for k, v in WATER.items()]
        return [f"Sample: {well},,", "Parameter,Result,Unit", *rows]

    text = "\n".join([*part("Well 4", 1), "", *part("Well 7", 1.1)])
    waters = {w.sample: w for w in read_samples(written(tmp_path, text, "report.csv"))}
    assert waters["Well 4"].mg_l["ca"] == 88.4
    assert waters["Well 7"].mg_l["ca"] == pytest.approx(97.24, 0.001)


@pytest.mark.parametrize(
    ("blank", "line"),
    [
        ("Barium", "Barium 200.7 µg/L 31"), ("Fluoride", "Fluoride 300.0 mg/L 0.9"),
        ("Chloride", "Chloride 300.0 mg/L 69.1"),
    ],
)  # fmt: skip
def test_the_number_of_a_method_beside_a_blank_result(tmp_path, blank, line):
    """A single-spaced line whose first well is blank holds as many numbers as there are wells."""
    numbers = {"cl": "300.0", "so4": "300.0", "no3": "300.0"}
    rows = [f"{NAMES[k]} {numbers.get(k, '200.7')} {v} mg/L {v * 1.1:.4g}"
            for k, v in WATER.items() if NAMES[k] != blank]  # fmt: skip
    path = written(tmp_path, "\n".join(["Parameter Test method Well 7 Well 4", *rows, line]))
    well = next(w for w in read_samples(path) if "7" in w.sample)
    assert any(blank in flag.text for flag in doubts(well))
    assert sum(blank in flag.text for flag in doubts(well)) == len(doubts(well))


@pytest.mark.parametrize("decoy", ["Minimum", "Mean value", "MCL", "Previous result"])
def test_a_wide_heading_over_right_aligned_results(tmp_path, decoy):
    """It begins nearer to the column before its own; a sentence runs through the white."""
    lines = [f"{'Constituent':<24}{decoy:>16}   Present result (mg/L)"]
    lines += [f"{NAMES[k]:<24}{v * 0.8:>16.3g}{v:>24}" for k, v in WATER.items()]
    lines += ["Balance of ions 1.8 %; sum of cations 9.34 meq/L"]
    water = read_analysis(written(tmp_path, "\n".join(lines)))
    right = {k: water.mg_l.get(k) for k in WATER} == WATER
    assert right or doubts(water)
    assert right or decoy == "MCL"


def test_years_and_wells_head_columns_and_results_do_not():
    def line(text):
        return placed_lines(text, 1)[0]

    for text in ("Analyte   Result   2029", "Parameter   Unit   Well 4   Well 7",
                 "Test   Value   2031-05-14"):  # fmt: skip
        assert is_heading(line(text)) or roles_in(line(text)) > 1
    assert roles_in(line("Analyte   Result   2029")) == 2
    assert not is_heading(line("Total value   result   1930.5   mg/L"))
    assert not is_heading(line("Result   88.4   Unit   mg/L"))


def test_a_technique_in_two_letters_under_the_heading_of_methods(tmp_path):
    methods = {"ca": "EPA 200.7", "mg": "AA", "na": "AA", "k": "ICP-OES"}
    rows = [f"{NAMES[k]} {v} {methods.get(k, 'IC')}" for k, v in WATER.items()]
    water = read_analysis(written(tmp_path, "\n".join(["Analyte Result (mg/L) Method", *rows])))
    assert {k: water.mg_l[k] for k in WATER} == WATER
    assert not doubts(water)


@pytest.mark.parametrize("order", [(0, 1, 2, 3), (0, 2, 1, 3), (0, 3, 1, 2)])
@pytest.mark.parametrize("beside", ["Method no.", "Test method", "Method"])
def test_a_blank_result_beside_the_number_of_a_method(tmp_path, order, beside):
    """The number of the method stands under its heading, also where it is the only one."""
    blank = {"mg", "cl", "so4"}
    numbers = {"cl": "300.0", "so4": "300.0", "no3": "300.0"}
    rows = [["Determinand", "Result", beside, "Unit"]]
    rows += [[NAMES[k], "" if k in blank else f"{v}", numbers.get(k, "200.7"), "mg/L"]
             for k, v in WATER.items()]  # fmt: skip
    text = aligned([[row[n] for n in order] for row in rows], (16, 14, 14))
    water = read_analysis(written(tmp_path, text))
    assert not blank & set(water.mg_l) or doubts(water)
    assert all(water.mg_l[k] == v for k, v in WATER.items() if k not in blank)


def test_a_blank_result_behind_a_row_of_dots(tmp_path):
    rows = [f"{NAMES[k]} ..... 200.7 {v}" for k, v in WATER.items() if k not in {"mg", "na"}]
    rows += ["Magnesium ..... 200.7", "Sodium ..... 200.7"]
    head = "Determinand ..... Test method Result (mg/L)"
    water = read_analysis(written(tmp_path, "\n".join([head, *rows])))
    assert not {"mg", "na"} & set(water.mg_l) or len(doubts(water)) > 0


@pytest.mark.parametrize("depth", ["42", "9", "12.5"])
def test_a_temperature_left_blank_is_no_sentence(tmp_path, depth):
    """The depth of the well stands beside the unit of a temperature that was not measured."""
    rows = [f"{NAMES[k]}|{depth}|mg/L|{v}" for k, v in WATER.items()]
    text = "\n".join(["Test|Depth (m)|UOM|Measured", *rows, f"Temperature|{depth}|°C|"])
    assert read_analysis(written(tmp_path, text, "report.csv")).temperature_c is None


@pytest.mark.parametrize("mark", ["\t", ";", "|"])
def test_blank_results_between_tabs_under_titles(tmp_path, mark):
    """Titles of one cell do not tell against tabs that cut every other line alike."""
    blank = {"mg", "na", "k", "cl"}
    rows = [f"{NAMES[k]} (mg/L){mark}1000{mark}{'' if k in blank else v}" for k, v in WATER.items()]
    head = f"{mark}RL (µg/L){mark}Value found"
    text = "\n".join(["Analytical report 4471", "Sample: Ferry Lane", "Page one", head, *rows])
    water = read_analysis(written(tmp_path, text, "report.csv"))
    assert not blank & set(water.mg_l)
    assert all(water.mg_l[k] == v for k, v in WATER.items() if k not in blank)


def test_a_tab_before_the_notes_alone_parts_no_columns(tmp_path):
    rows = [f"{NAMES[k]} 0.5 {v} mg/L\tseen" for k, v in WATER.items()]
    text = "\n".join(["Report", "Well 4, May", "Analyte RL Result Unit\tNotes", *rows])
    water = read_analysis(written(tmp_path, text))
    right = all(water.mg_l.get(k) == v for k, v in WATER.items())
    assert right or doubts(water)


@pytest.mark.parametrize("form", ["csv", "aligned"])
@pytest.mark.parametrize(
    ("head", "order"),
    [
        (["Determinand", "Unit", "Max.", "Amount"], (0, 1, 3, 2)),
        (["", "Unit", "Previous result", "LW-1"], (0, 3, 1, 2)),
        (["Constituent", "Unit", "2029", "2031-05-14 (mg/L)"], (0, 3, 2, 1)),
        (["Parameter", "UOM", "Limit", "Ashby Mill"], (0, 3, 2, 1)),
    ],
)
def test_columns_in_another_order_on_the_second_page(tmp_path, form, head, order):
    rows = [[NAMES[k], "mg/L", f"{2 * v:g}", f"{v}"] for k, v in WATER.items()]
    rows = [head, *rows[:4], *[[row[n] for n in order] for row in (head, *rows[4:])]]
    if form == "aligned":
        path = written(tmp_path, aligned(rows, (16, 20, 20, 20)))
    else:
        path = written(tmp_path, "\n".join(",".join(row) for row in rows), "report.csv")
    waters = read_samples(path)
    right = [w for w in waters if all(w.mg_l.get(k) == v for k, v in WATER.items())]
    assert right or all(doubts(w) for w in waters)


def test_words_above_a_second_page_that_are_not_understood(tmp_path):
    """Something is headed otherwise there, so its numbers are not taken without a word."""
    rows = [f"{NAMES[k]},{v},{2 * v:g}" for k, v in list(WATER.items())[:4]]
    rows += ["Zwölf,Limit,Kolk", *[f"{NAMES[k]},{2 * v:g},{v}" for k, v in list(WATER.items())[4:]]]
    path = written(tmp_path, "\n".join(["Stoff,Kolk (mg/L),Limit", *rows]), "report.csv")
    assert right_or_said(path)


@pytest.mark.parametrize("title", ["Page two", "Report continued", "Sheet 2 of 2"])
def test_a_title_right_above_the_headings_of_a_later_page(tmp_path, title):
    head = ["Constituent", "2031-05-14", "UOM", "Max."]
    rows = [[NAMES[k], f"{v}", "mg/L", f"{1.25 * v:.3g}"] for k, v in WATER.items()]
    order = (0, 3, 2, 1)
    later = [[row[n] for n in order] for row in (head, *rows[3:])]
    path = written(tmp_path, aligned([head, *rows[:3], [title], *later], (16, 14, 10)))
    assert right_or_said(path)


def test_numbers_of_lines_before_the_names_are_no_results(tmp_path):
    lines = [f"{n}. {NAMES[k]} ..... L4471-03 {v * 1.2:.3g} {v} {v * 0.9:.3g}"
             for n, (k, v) in zip((1, 5, 3, 4, 9, 2, 7), WATER.items(), strict=True)]  # fmt: skip
    path = written(tmp_path, "\n".join(["Parameter ..... Batch Maximum Result Previous", *lines]))
    assert right_or_said(path)


def test_the_registry_number_of_a_substance_is_no_number(tmp_path):
    """One of five digits beside those of four, in the line of a well that was left blank."""
    registry = {"cl": "16887-00-6", "so4": "14808-79-8", "no3": "14797-55-8"}
    rows = [f"{NAMES[k]} {v * 1.1:.4g} {v} mg/L 3 {registry.get(k, '7440-70-2')}"
            for k, v in WATER.items() if k != "so4"]  # fmt: skip
    head = "Analyte Well 7 Well 4 Units Replicates CAS"
    text = "\n".join([head, *rows, "Sulfate 96.5 mg/L 5 14808-79-8"])
    for water in read_samples(written(tmp_path, text)):
        assert water.mg_l.get("so4") is None or doubts(water)


def test_a_result_behind_a_long_name_that_reaches_under_another_heading(tmp_path):
    rows = [f"{NAMES[k]} ..... {v} mg/L 15.05.2031" for k, v in WATER.items()]
    rows += ["Total alkalinity as CaCO3 ..... 262 mg/L 15.05.2031"]
    head = "Constituent ..... Test result Date analysed"
    water = read_analysis(written(tmp_path, "\n".join([head, *rows])))
    assert water.alkalinity_mg_l_caco3 == 262
    assert not doubts(water)
