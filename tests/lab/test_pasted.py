"""Lines pasted from prints, invented, each with its right reading."""

from pretreat.lab import read_analysis


def read(tmp_path, *lines):
    path = tmp_path / "print.txt"
    path.write_text("\n".join(["Report of analysis", "pH 7.3", *lines]), "utf-8")
    return read_analysis(path)


def test_result_on_the_line_below_its_name(tmp_path):
    water = read(
        tmp_path, "Calcium 90 mg/L", "Magnesium", "   20   mg/L",
        "Total alkalinity", "(as CaCO3)  280  mg/L",
    )  # fmt: skip
    assert (water.mg_l["mg"], water.alkalinity_mg_l_caco3) == (20, 280)


def test_list_of_names_above_a_list_of_results_is_not_joined(tmp_path):
    water = read(tmp_path, "Sulfate 60 mg/L", "Calcium", "Magnesium", "90 mg/L", "20 mg/L")
    assert not {"ca", "mg"} & set(water.mg_l)


def test_the_method_of_a_result_is_no_result(tmp_path):
    water = read(
        tmp_path, "Parameter Method Result RL Units", "Calcium EPA 200.7 90 0.5 mg/L",
        "Alkalinity SM2320B 280 5 mg/L", "Iron EPA 200.7 ND 0.05 mg/L",
        "Barium 6010B 40 1 ug/L", "Strontium 200.7 0.4 0.01 mg/L",
    )  # fmt: skip
    assert (water.mg_l["ca"], water.mg_l["ba"], water.mg_l["sr"]) == (90, 0.04, 0.4)
    assert water.alkalinity_mg_l_caco3 == 280
    assert "fe" in water.below_mg_l


def test_the_unit_behind_result_and_limit(tmp_path):
    assert read(tmp_path, "Barium 40 1 ug/L").mg_l["ba"] == 0.04


def test_the_temperature_and_the_standard_before_a_result(tmp_path):
    water = read(
        tmp_path, "Conductivity @ 25C 760 uS/cm", "Magnesium DIN EN ISO 11885 20 mg/L",
    )  # fmt: skip
    assert (water.properties["ec_us_cm"], water.mg_l["mg"]) == (760, 20)


def test_a_result_that_looks_like_a_method_stays(tmp_path):
    water = read(
        tmp_path, "Parameter Result RL Units Method", "Calcium 200.7 0.5 mg/L EPA 200.7",
        "Conductivity 1530 5 uS/cm", "Sodium 120.5 0.5 mg/L",
    )  # fmt: skip
    assert (water.mg_l["ca"], water.mg_l["na"]) == (200.7, 120.5)
    assert water.properties["ec_us_cm"] == 1530


def test_labels_and_page_numbers_of_a_print(tmp_path):
    path = tmp_path / "print.txt"
    path.write_text(
        "CERTIFICATE OF ANALYSIS   Page 1 of 2\nSample: Well 7   Date: 6 May 2024\n"
        "pH 7.3\nCalcium 90 mg/L\nPage 2 of 2\nMagnesium 20 mg/L\n",
        "utf-8",
    )
    water = read_analysis(path)
    assert (water.sample, water.date) == ("Well 7", "6 May 2024")
    assert (water.mg_l["ca"], water.mg_l["mg"]) == (90, 20)
