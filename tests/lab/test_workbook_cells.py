"""Where cells of a workbook stand and what is merged over them: invented sheets."""

import openpyxl

from pretreat.lab import read_analysis, read_samples

ROWS = [("pH", "", 7.3), ("Calcium", "mg/L", 90), ("Iron", "ug/L", 300), ("Barium", "ug/L", 40)]


def saved(tmp_path, build):
    book = openpyxl.Workbook()
    book.active.title = "R"
    build(book.active)
    book.save(tmp_path / "r.xlsx")
    return tmp_path / "r.xlsx"


def test_the_trail_names_the_cell_where_the_sheet_starts_lower(tmp_path):
    def build(sheet):
        for i, row in enumerate([("Parameter", "Unit", "Result"), *ROWS]):
            for j, text in enumerate(row):
                sheet.cell(5 + i, 4 + j, text)

    water = read_analysis(saved(tmp_path, build))
    assert {r.place: r.text for r in water.readings}["R!F7"] == "90"


def test_headings_merged_over_fractions_below_an_empty_row(tmp_path):
    def build(sheet):
        sheet["A4"], sheet["B4"], sheet["C4"], sheet["E4"] = "Parameter", "Unit", "Well 1", "Well 2"
        sheet.merge_cells("C4:D4")
        sheet.merge_cells("E4:F4")
        for column, text in zip("CDEF", ("Total", "Dissolved") * 2, strict=True):
            sheet[f"{column}5"] = text
        for i, (name, unit, value) in enumerate(ROWS, start=6):
            for j, text in enumerate((name, unit, value, value, value * 2, value)):
                sheet.cell(i, 1 + j, text if name != "pH" or j < 2 else 7.3)

    one, two = read_samples(saved(tmp_path, build))
    assert (one.sample, two.sample) == ("Well 1", "Well 2")
    assert (two.total_mg_l["fe"], two.mg_l["fe"]) == (0.6, 0.3)


def test_a_unit_merged_over_rows_and_a_title_over_all_columns(tmp_path):
    def build(sheet):
        sheet["A1"] = "Certificate"
        sheet.merge_cells("A1:C1")
        sheet.append(["Parameter", "Unit", "Well 1"])
        for row in ROWS:
            sheet.append(row)
        sheet.merge_cells("B5:B6")

    water = read_analysis(saved(tmp_path, build))
    assert (water.sample, water.mg_l["fe"], water.mg_l["ba"]) == ("Well 1", 0.3, 0.04)
