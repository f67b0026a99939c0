"""Tables parted by single spaces: where a cell is blank nothing says which one; all invented."""

import random

import pytest

from pretreat.core.errors import PretreatError
from pretreat.lab import read_analysis, read_samples
from pretreat.lab.health import germs_text
from pretreat.lab.reading import read_report
from pretreat.lab.trail import trail
from tests.lab.test_columns_beside import NAMES, WATER, written
from tests.lab.test_later_pages import aligned
from tests.lab.test_reports import DOUBTS, doubts, found, same

GUESSED = ("can be cut in more than one way", "no heading tells")
PER_MEQ = {"ca": 20.04, "mg": 12.15, "na": 22.99, "cl": 35.45, "so4": 48.03}  # mg, IUPAC 2021


def flagged(water, key):
    """Tell whether a doubt names the analyte, speaks of the whole file, or lists more lines."""
    said = [f.text for f in water.flags if f.code in DOUBTS]
    whole = any(words in text for text in said for words in GUESSED)
    return whole or any(NAMES[key] in text or text.endswith(" more") for text in said)


def figures_without_a_flag(tmp_path, text, truth):
    """Return what is wrong, or not read, without a word; ``truth`` is by well."""
    try:
        waters = read_samples(written(tmp_path, text))
    except PretreatError:
        return []
    bad = []
    for well, printed in truth.items():
        own = next((w for w in waters if well in w.sample or len(truth) == 1), None)
        if own is None:
            assert any(doubts(w) for w in waters)
            continue
        for key in WATER:
            value = found(own, key)
            right = value is None if key not in printed else same(value, printed[key])
            if not right and not flagged(own, key):
                bad.append((well, key, value, printed.get(key)))
    return bad


def table(rng, beside, wells, blanks):
    """Return a table of wells with columns beside them, and what each well holds."""
    columns = [*wells, *beside]
    rng.shuffle(columns)
    truth = {well: {} for well in wells}
    lines = [" ".join(["Analyte", *columns])]
    for number, (key, value) in enumerate(WATER.items(), 1):
        cells = []
        for column in columns:
            text = {
                "RL": "0.4", "MDL": "0.25", "Units": "mg/L", "meq/L": f"{value / PER_MEQ.get(key, 60):.3g}",
                "MCL": f"{value * 2.2:.2g}", "Q": "J", "Method": "200.7", "No.": str(number),
            }.get(column)  # fmt: skip
            if text is None:
                scale = (1.0, 1.06, 0.93)[wells.index(column)]
                text = f"{float(f'{value * scale:.3g}'):g}"
            if rng.random() < blanks:
                continue
            cells.append(text)
            if column in truth:
                truth[column][key] = float(text)
        lines.append(" ".join([NAMES[key], *cells]))
    return lines, truth


@pytest.mark.parametrize("seed", range(40))
def test_a_blank_among_single_spaces_is_never_read_without_a_word(tmp_path, seed):
    rng = random.Random(seed)
    wells = ["Well 11", "Well 12", "Well 13"][: rng.choice((1, 2, 2, 3))]
    beside = rng.sample(["RL", "MDL", "Units", "meq/L", "MCL", "Q", "Method", "No."], 2)
    lines, truth = table(rng, beside, wells, rng.choice((0.15, 0.3, 0.5)))
    if seed % 3 == 0:
        lines[4:4] = ["Report continued", lines[0]]
    assert not figures_without_a_flag(tmp_path, "\n".join(lines), truth)


@pytest.mark.parametrize("wells", [["Well 11"], ["Well 11", "Well 12"]])
@pytest.mark.parametrize("beside", [["RL", "Units"], ["MDL", "Units"], ["MCL", "RL", "Units"]])
def test_a_whole_table_of_single_spaces_is_read_without_a_doubt(tmp_path, wells, beside):
    for seed in range(6):
        lines, truth = table(random.Random(seed), beside, wells, 0.0)
        for water in read_samples(written(tmp_path, "\n".join(lines))):
            own = truth[wells[0]] if len(wells) == 1 else truth[water.sample]
            assert {k: water.mg_l[k] for k in own} == own
            assert not doubts(water)


def test_a_limit_and_a_column_of_equivalents_that_read_as_one_heading(tmp_path):
    """Lines with four numbers show that "MRL meq/L" heads two columns, so three say nothing."""
    text = """Constituent Bore 2 MRL meq/L UOM Bore 5
Calcium 61.4 1 3.06 mg/L
Magnesium 18.9 1 1.56 mg/L 20.3
Sodium 133 1 5.79 mg/L
Chloride 96.2 1 2.71 mg/L 101
Sulfate 210 1 mg/L 198
"""
    one, two = read_samples(written(tmp_path, text))
    for water in (one, two):
        for name in ("Calcium", "Magnesium", "Sodium", "Chloride", "Sulfate"):
            assert any(name in flag.text for flag in doubts(water)), name


@pytest.mark.parametrize("unit", ["meq/L", "me/L", "mmol/L"])
@pytest.mark.parametrize("head", ["Parameter {} Bore 2 Bore 5", "Parameter Bore 2 {} Bore 5"])
def test_a_bare_unit_in_a_heading_may_head_a_column(tmp_path, unit, head):
    rows = [f"{NAMES[k]} {v / 40:.3g} {v} {v * 1.1:.4g}" for k, v in WATER.items()]
    for water in read_samples(written(tmp_path, "\n".join([head.format(unit), *rows]))):
        assert doubts(water)


def test_a_unit_that_follows_another_number_than_its_heading(tmp_path):
    rows = [f"{NAMES[k]} {v} 1 mg/L {v * 1.1:.4g}" for k, v in WATER.items() if k != "mg"]
    text = "\n".join(["Analyte Bore 2 RL Unit Bore 5", *rows, "Magnesium 24.1 1 9.7 mg/L"])
    one, two = read_samples(written(tmp_path, text))
    assert any("Magnesium" in f.text for f in doubts(one))
    assert any("Magnesium" in f.text for f in doubts(two))
    assert not any("Calcium" in f.text for f in (*doubts(one), *doubts(two)))


def test_one_number_where_other_lines_without_headings_hold_several(tmp_path):
    rows = [f"{NAMES[k]} {v} {v * 1.5:.3g} mg/L" for k, v in WATER.items() if k not in {"mg", "cl"}]
    text = "\n".join([*rows, "Magnesium 40 mg/L", "Chloride 250 mg/L"])
    water = read_analysis(written(tmp_path, text))
    assert any("Magnesium" in f.text and "Chloride" in f.text for f in doubts(water))


ROWS = "pH,7.2,\nCalcium,61.4,mg/L\nMagnesium,18.9,mg/L\nSodium,44,mg/L\nChloride,51,mg/L\n"


@pytest.mark.parametrize(
    "name", ["Sampling date", "Date collected", "Sample date", "Probenahmedatum"]
)
@pytest.mark.parametrize("at", [0, 2, 5])
def test_the_day_of_sampling_in_a_row_of_the_table(tmp_path, name, at):
    rows = ROWS.splitlines()
    rows.insert(at, f"{name},2033-03-09,")
    text = "\n".join(["Parameter,Result,Unit", *rows])
    water = read_analysis(written(tmp_path, text, "report.csv"))
    assert water.date == "2033-03-09"
    assert water.mg_l["cl"] == 51.0
    assert not any(f.code == "unknown_analyte" for f in water.flags)


@pytest.mark.parametrize("name", ["Analysis date", "Date received", "Date"])
def test_another_day_in_a_row_of_the_table_is_not_that_of_sampling(tmp_path, name):
    text = f"Parameter,Result,Unit\n{ROWS}{name},2033-03-12,\n"
    assert not read_analysis(written(tmp_path, text, "report.csv")).date


def test_days_of_sampling_of_two_wells(tmp_path):
    text = (
        "Parameter,Bore 2,Bore 5,Unit\nCalcium,61.4,55,mg/L\nSampling date,2033-03-09,2033-03-10,\n"
        "Magnesium,18.9,17,mg/L\nChloride,51,62,mg/L\n"
    )
    one, two = read_samples(written(tmp_path, text, "report.csv"))
    assert [one.date, two.date] == ["2033-03-09", "2033-03-10"]
    assert two.mg_l["cl"] == 62.0


@pytest.mark.parametrize("word", ["PRESENT", "Positive", "detected"])
def test_germs_that_are_not_counted_are_said_to_be_present(tmp_path, word):
    path = written(tmp_path, f"Parameter,Result,Unit\n{ROWS}E. coli,{word},\n", "report.csv")
    water = read_analysis(path)
    assert "E. coli present (not counted)" in germs_text(water)
    lines = [line.understood for line in trail(water, read_report(path))]
    assert "E. coli present" in lines


def test_germs_that_are_counted_keep_their_count(tmp_path):
    text = f"Parameter,Result,Unit\n{ROWS}Total coliforms,7,CFU/100 mL\n"
    assert "coliforms 7 in 100 mL" in germs_text(read_analysis(written(tmp_path, text, "r.csv")))


@pytest.mark.parametrize("unit", ["", " mg/L"])
def test_one_number_behind_dots_of_two_wells(tmp_path, unit):
    rows = [f"{NAMES[k]} ..... {v}{unit} North" for k, v in WATER.items()]
    text = "\n".join(["Analyte Well 11 Well 12 Team", *rows])
    truth = {"Well 11": {k: float(v) for k, v in WATER.items()}, "Well 12": {}}
    assert not figures_without_a_flag(tmp_path, text, truth)
    assert not figures_without_a_flag(tmp_path, text, {"Well 11": {}, "Well 12": truth["Well 11"]})


@pytest.mark.parametrize("numbered", ["{}", "{}."])
def test_rows_above_the_headings_of_a_print(tmp_path, numbered):
    """The number of a row stands behind the name, and the headings further down."""
    rows = [
        [NAMES[k], numbered.format(n), f"{v}", f"{v * 2:.3g}"]
        for n, (k, v) in enumerate(WATER.items(), 3)
    ]
    text = aligned(
        [["pH", numbered.format(1), "7.34", "110"], ["Temperature (°C)", numbered.format(2), "13.4", "60"],
         ["Report continued"], ["Analyte", "Line", "LW-3", "% of limit"], *rows],
        (24, 10, 10),
    )  # fmt: skip
    water = read_analysis(written(tmp_path, text))
    assert {k: water.mg_l[k] for k in WATER} == WATER
    assert water.ph == 7.34 or any("pH" in f.text for f in doubts(water))


@pytest.mark.parametrize("beside", ["Previous", "Mean", "MDL", "Uncertainty"])
@pytest.mark.parametrize("key", ["mg", "cl"])
def test_a_mark_that_joins_the_number_of_another_column(tmp_path, beside, key):
    """Its column holds one mark alone, so white is seen on one side of it only."""
    rows = [[NAMES[k], f"{v}", "mg/L", f"{v * 1.1:.4g}", "<" * (k == key), f"{v * 0.9:.3g}"]
            for k, v in WATER.items()]  # fmt: skip
    head = ["Analyte", "Bore 2", "Unit", "Bore 9", "Q", beside]
    _, two = read_samples(written(tmp_path, aligned([head, *rows], (16, 10, 9, 9, 7))))
    assert key in two.below_mg_l or any(NAMES[key] in f.text for f in doubts(two))


def behind_dots(head, rows, hidden, at):
    """Return lines behind dots; ``hidden`` gives the text of a column without a heading."""
    lines = [head]
    for n, (key, *cells) in enumerate(rows, 1):
        text = hidden(n)
        cells[at:at] = [text] if text else []
        lines.append(f"{NAMES[key]} ..... {' '.join(cells)}")
    return "\n".join(lines)


@pytest.mark.parametrize("at", [0, 1, 2, 3])
@pytest.mark.parametrize("shown", ["all", "some", "one"])
@pytest.mark.parametrize("blank", [None, "mg", "so4"])
def test_a_column_without_a_heading_behind_dots_of_two_wells(tmp_path, at, shown, blank):
    """Where one line has more numbers than its headings, a number of any line may be of it."""

    def hidden(n):
        return str(n + 2) if shown == "all" or (n == 3 if shown == "one" else n % 3) else ""

    rows = [(k, f"{v:g}", "Nora", f"{v * 1.1:.4g}") for k, v in WATER.items()]
    rows = [row[:-1] if row[0] == blank else row for row in rows]
    text = behind_dots("Analyte Bore 3 Analyst Bore 8", rows, hidden, at)
    truth = {"Bore 3": {k: float(v) for k, v in WATER.items()}}
    truth["Bore 8"] = {k: float(f"{v * 1.1:.4g}") for k, v in WATER.items() if k != blank}
    assert not figures_without_a_flag(tmp_path, text, truth)


@pytest.mark.parametrize(
    "head", ["Parameter ..... LW-6 MDL Method", "Parameter ..... Lab ID 2027 LW-6"]
)
@pytest.mark.parametrize("first", [1, 6])
@pytest.mark.parametrize("at", [0, 2])
def test_white_seen_by_chance_behind_dots(tmp_path, head, first, at):
    """A row number of two digits leaves white that parts no columns."""
    rows = [
        (k, f"{v:g}", "0.5", "ICP-OES")
        if "MDL" in head
        else (k, "R77-01", f"{v * 0.9:.3g}", f"{v:g}")
        for k, v in WATER.items()
    ]
    text = behind_dots(head, rows, lambda n: str(n + first), at)
    assert not figures_without_a_flag(
        tmp_path, text, {"LW-6": {k: float(v) for k, v in WATER.items()}}
    )


def test_two_numbers_behind_dots_under_one_heading(tmp_path):
    rows = [(k, f"{v:g}") if n % 2 else (k,) for n, (k, v) in enumerate(WATER.items())]
    text = behind_dots("Analyte Bore 3 (mg/L)", rows, lambda n: str(n + 3), 1)
    truth = {k: float(v) for n, (k, v) in enumerate(WATER.items()) if n % 2}
    assert not figures_without_a_flag(tmp_path, text, {"Bore 3": truth})


@pytest.mark.parametrize("mark", ["J", "E"])
def test_a_well_whose_results_are_mostly_marked_before_the_number(tmp_path, mark):
    text = (
        "Determinand;Bore 3;Bore 8\nSilica;19,4 mg/L;{0} 17,2 mg/L\nGeneral chemistry;;\n"
        "Temperature;;16,8 °C\nIron;0,031 mg/L;{0} 0,052 mg/L\nConductivity;890 µS/cm;{0} 915 µS/cm\n"
        "Magnesium;21 mg/L;22,5 mg/L\n"
    )
    one, two = read_samples(written(tmp_path, text.format(mark), "report.csv"))
    assert (one.temperature_c, two.temperature_c) == (None, 16.8)
    assert two.mg_l == {"mg": 22.5, "fe": 0.052, "sio2": 17.2}
    assert two.properties["ec_us_cm"] == 915.0


def test_a_well_with_words_among_its_numbers_is_not_left_out(tmp_path):
    text = (
        "Determinand;Bore 3;Bore 8\nSilica;19.4;see note 1\nTemperature;;16.8\n"
        "Iron;0.031;see note 2\nSodium;31;see note 1\nMagnesium;21;22.5\n"
    )
    waters = {w.sample: w for w in read_samples(written(tmp_path, text, "report.csv"))}
    assert waters["Bore 8"].temperature_c == 16.8
    assert any("see note 1" in f.text for f in waters["Bore 8"].flags)
