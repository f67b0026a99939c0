"""Limits and counts that are no results: columns that move, units of their own; all invented."""

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab import read_analysis, read_samples
from pretreat.lab.read.formats.words import heads_of, is_heading, placed_lines
from pretreat.lab.read.headings import heading_role
from tests.lab.reports import office
from tests.lab.test_columns_beside import NAMES, WATER, written
from tests.lab.test_later_pages import aligned
from tests.lab.test_reports import doubts

LIMITS = {key: "2" if value > 10 else "0.3" for key, value in WATER.items()}
DETECTION = (
    "Detection limit", "MDL", "Nachweisgrenze", "Limite de détection", "Límite de detección",
    "Limite di rilevabilità", "Detectiegrens",
)  # fmt: skip
COUNTS = (
    "No. of samples|Value|Average|% MCL", "Samples tested|Value|Average|% MCL",
    "Number of analyses|Result|Mean|% of limit", "n|Value|Average|% MCL",
    "Anzahl Proben|Wert|Mittelwert|% Grenzwert", "Nr.|Messwert|Mittelwert|% Grenzwert",
    "Nombre d'analyses|Valeur|Moyenne|% limite", "N.º de muestras|Valor|Promedio|% VMP",
    "N. campioni|Valore|Media|% limite", "Aantal monsters|Waarde|Gemiddelde|% norm",
)  # fmt: skip


def in_form(tmp_path, rows, form):
    """Write rows of cells in one form of file."""
    if form in {"csv", "bar"}:
        sep = {"csv": ",", "bar": "|"}[form]
        lines = (sep.join(f'"{c}"' if sep in c else c for c in row) for row in rows)
        return written(tmp_path, "\n".join(lines), "report.csv")
    if form == "aligned":
        wide = max(map(len, rows))
        widths = [max(len(r[c]) for r in rows if len(r) > max(c, 1)) + 3 for c in range(wide)]
        return written(tmp_path, aligned(rows, widths))
    data, ending = {
        "html": lambda: (office.html(office.html_table(rows)).encode(), "html"),
        "docx": lambda: (office.docx(office.word_table(rows)), "docx"),
        "xlsx": lambda: (office.xlsx(office.numbers(rows)), "xlsx"),
    }[form]()
    path = tmp_path / f"report.{ending}"
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("form", ["csv", "bar", "aligned", "html", "docx", "xlsx"])
@pytest.mark.parametrize("limit", DETECTION)
def test_limits_where_the_place_stood_on_the_first_page(tmp_path, form, limit):
    """Nothing is printed for the place there, so its content says nothing of it."""
    place = "Hollow Farm"
    first = [[NAMES[k], f"{v}", LIMITS[k], "mg/L"] for k, v in list(WATER.items())[:4]]
    later = [[NAMES[k], LIMITS[k], "", "mg/L"] for k in list(WATER)[4:]]
    rows = [["Determinand", place, limit, "Unit"], *first, ["Report continued", "", "", ""],
            ["Determinand", limit, place, "Unit"], *later]  # fmt: skip
    water = read_analysis(in_form(tmp_path, rows, form))
    assert {k: water.mg_l.get(k) for k in WATER} == {
        **dict.fromkeys(WATER),
        **dict(list(WATER.items())[:4]),
    }


def test_a_place_that_moves_over_the_pages_is_one_column(tmp_path):
    first = [[NAMES[k], f"{v} mg/L", LIMITS[k]] for k, v in list(WATER.items())[:3]]
    later = [[NAMES[k], LIMITS[k], f"{v} mg/L"] for k, v in list(WATER.items())[3:]]
    rows = [
        ["Analyte", "Upper Spring Lane", "MDL"],
        *first,
        ["Analyte", "MDL", "Upper Spring Lane"],
        *later,
    ]
    water = read_analysis(in_form(tmp_path, rows, "bar"))
    assert {k: water.mg_l[k] for k in WATER} == WATER
    assert not doubts(water)


def test_a_later_page_without_results_is_said(tmp_path):
    first = [[NAMES[k], f"{v}", "mg/L"] for k, v in list(WATER.items())[:4]]
    later = [[NAMES[k], "250", "mg/L"] for k in list(WATER)[4:]]
    rows = [["Analyte", "Result", "Unit"], *first, ["Analyte", "Guideline value", "Unit"], *later]
    water = read_analysis(in_form(tmp_path, rows, "csv"))
    assert 250 not in water.mg_l.values()
    assert any("give no column of results" in f.text for f in doubts(water))


@pytest.mark.parametrize("form", ["csv", "aligned", "html", "xlsx"])
@pytest.mark.parametrize(
    ("limit", "printed"),
    [("Reporting limit, µg/L", "300"), ("RL (µg/L)", "300"), ("Bestimmungsgrenze [µg/l]", "300"),
     ("Rapportagegrens µg/l", "300"), ("Limite de détection (µg/l)", "300"), ("MDL|µg/L", "300"),
     ("MDL, mg/L", "0.3"), ("RL|mg/L", "0.3")],
)  # fmt: skip
@pytest.mark.parametrize("corner", ["Parameter", ""])
def test_a_limit_in_the_unit_of_its_own_column(tmp_path, form, limit, printed, corner):
    unit = "mg/L" if "µg" in limit else "µg/L"
    scale = 1 if unit == "mg/L" else 1000
    head, _, below = limit.partition("|")
    rows = [[corner, head, "Depth", "% of limit", "Well 12", "Well 15"]]
    rows += [["", below, "", "", "", ""]] * bool(below)
    rows += [[f"{NAMES[k]} ({unit})", "1000" if scale == 1 else "1", "31", "8",
              f"{v * scale:g}", f"{v * 1.1 * scale:.4g}"] for k, v in WATER.items()]  # fmt: skip
    rows += [[f"Fluoride ({unit})", printed, "31", "8", "ND", f"{0.84 * scale:g}"]]
    waters = read_samples(in_form(tmp_path, rows, form))
    one, two = (next(w for w in waters if well in w.sample) for well in ("Well 12", "Well 15"))
    assert one.below_mg_l["f"] == pytest.approx(0.3)
    assert two.mg_l["f"] == pytest.approx(0.84)
    assert not doubts(one)


def test_a_unit_alone_on_a_line_that_may_be_that_of_the_limits(tmp_path):
    """Parted by single spaces it stands under no heading."""
    rows = [f"{NAMES[k]} 500 {v} mg/L" for k, v in WATER.items()]
    lines = ["Parameter RL Result Unit", "µg/L", *rows, "Iron 25 ND mg/L"]
    water = read_analysis(written(tmp_path, "\n".join(lines)))
    assert any("its limit may be in µg/L" in f.text for f in doubts(water))


@pytest.mark.parametrize("head", ["RL", "MDL", "Nachweisgrenze"])
def test_limits_far_above_what_was_found_are_of_another_unit(tmp_path, head):
    """None says so: 500 beside 31.2 can be no limit in the same unit."""
    rows = [[NAMES[k], f"{v}", "500", "mg/L"] for k, v in WATER.items()]
    rows = [["Parameter", "Result", head, "Unit"], *rows, ["Iron", "ND", "25", "mg/L"]]
    water = read_analysis(in_form(tmp_path, rows, "csv"))
    assert any("far below them" in f.text for f in doubts(water))


@pytest.mark.parametrize("heads", COUNTS)
@pytest.mark.parametrize("order", [(0, 1, 2, 3), (2, 0, 1, 3), (0, 1, 3)])
def test_a_count_beside_the_results(tmp_path, heads, order):
    said = heads.split("|")
    rows = [" ".join([NAMES[k], *(("6", f"{v}", f"{v * 1.03:.3g}", "41")[n] for n in order), "mg/L"])
            for k, v in WATER.items()]  # fmt: skip
    head = " ".join(["Parameter", *(said[n] for n in order), "Unit"])
    water = read_analysis(written(tmp_path, "\n".join([head, *rows])))
    assert {k: water.mg_l[k] for k in WATER} == WATER


@pytest.mark.parametrize("heads", COUNTS)
def test_a_count_in_a_column_of_cells(tmp_path, heads):
    said = heads.split("|")
    rows = [[NAMES[k], "6", f"{v}", f"{v * 1.03:.3g}", "41", "mg/L"] for k, v in WATER.items()]
    water = read_analysis(in_form(tmp_path, [["Parameter", *said, "Unit"], *rows], "csv"))
    assert {k: water.mg_l[k] for k in WATER} == WATER
    assert not doubts(water)


@pytest.mark.parametrize("words", ["Samples run", "Bottles", "Sampling events", "Proben gezogen"])
@pytest.mark.parametrize("order", [(0, 1, 2, 3), (2, 0, 1, 3), (0, 1, 3), (3, 0, 1)])
def test_unknown_words_before_value_are_said(tmp_path, words, order):
    said = (words, "Value", "Average", "% MCL")
    rows = [" ".join([NAMES[k], *(("6", f"{v}", f"{v * 1.03:.3g}", "41")[n] for n in order), "mg/L"])
            for k, v in WATER.items()]  # fmt: skip
    head = " ".join(["Parameter", *(said[n] for n in order), "Unit"])
    try:
        water = read_analysis(written(tmp_path, "\n".join([head, *rows])))
    except AnalysisError:
        return
    assert doubts(water) or {k: water.mg_l[k] for k in WATER} == WATER


def test_headings_of_counts_and_limits():
    assert heading_role("Rapportagegrens µg/l") == "limit2"
    heads = heads_of(placed_lines("Parametro Media N. campioni Valore", 9), 0)[0][1]
    assert [h.text for h in heads] == ["Parametro", "Media", "N. campioni", "Valore"]
    heads = heads_of(placed_lines("Parameter Guideline value Value", 9), 0)[0][1]
    assert [h.text for h in heads] == ["Parameter", "Guideline value", "Value"]
    assert is_heading(placed_lines("    Reporting limit, µg/L   Depth   Well 7   Well 4", 9)[0])


@pytest.mark.parametrize("form", ["csv", "aligned", "html", "docx"])
def test_the_names_that_stand_elsewhere_on_a_later_page(tmp_path, form):
    first = [[NAMES[k], f"{v} mg/L", "0.3"] for k, v in list(WATER.items())[:4]]
    later = [["0.3", NAMES[k], f"{v} mg/L"] for k, v in list(WATER.items())[4:]]
    head = ["Parameter", "Forge Lane", "LOQ"]
    rows = [head, *first, ["LOQ", "Parameter", "Forge Lane"], *later]
    water = read_analysis(in_form(tmp_path, rows, form))
    assert {k: water.mg_l.get(k) for k in WATER} == WATER


@pytest.mark.parametrize("name", ["Iron", "Iron (total recoverable)"])
def test_a_unit_for_each_of_two_headings_on_a_single_spaced_line(tmp_path, name):
    rows = [f"{NAMES[k]} {v} mg/L 20 µg/L" for k, v in WATER.items()]
    lines = ["Parameter Result Unit RL Unit", *rows, f"{name} ND mg/L 20 µg/L"]
    water = read_analysis(written(tmp_path, "\n".join(lines)))
    assert {k: water.mg_l[k] for k in WATER} == WATER
    assert water.below_mg_l["fe"] == pytest.approx(0.02)


def test_a_well_without_results_on_a_later_page_of_a_print(tmp_path):
    first = [[NAMES[k], f"{v}", f"{v * 2:g}", "mg/L"] for k, v in list(WATER.items())[:3]]
    later = [[NAMES[k], "", f"{v}", "mg/L"] for k, v in list(WATER.items())[3:]]
    rows = [["Parameter", "Well 31", "Well 36", "Unit"], *first,
            ["Parameter", "Well 36", "Well 31", "Unit"], *later]  # fmt: skip
    path = tmp_path / "report.pdf"
    path.write_bytes(office.Print().table(rows, [40, 210, 272, 334]).done())
    waters = {w.sample: w for w in read_samples(path)}
    said = any(doubts(w) for w in waters.values())
    assert said or {k: waters["Well 31"].mg_l.get(k) for k in WATER} == WATER
