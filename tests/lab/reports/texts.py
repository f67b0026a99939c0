"""Invented reports as text: prints with aligned columns, pastes, tables with odd headings."""

from tests.lab.reports.waters import (
    ENGLISH,
    GERMAN,
    LIMITS,
    MEADOW,
    SALINE,
    UPLAND,
    aligned,
    rows,
    table,
)

M, S, U = rows(MEADOW), rows(SALINE), rows(UPLAND)
MAJOR = ("ca", "mg", "na", "k", "cl", "so4", "no3")


def only(water, *keys):
    return {k: water[k] for k in keys or water}


def without(water, *keys):
    return {k: v for k, v in water.items() if k not in keys}


CASES = {}


def case(name, content, expected, **more):
    CASES[name] = (content, expected, more)


# --- aligned prints ---------------------------------------------------------------------
case(
    "limit_before_result.txt",
    aligned(
        ("Analyte", "MCL", "Result", "Units"),
        [(n, lim, v, u) for n, v, u, lim, _ in M],
        (0, 30, 42, 54),
    ),
    MEADOW,
)
case(
    "limit_before_result_single_spaces.txt",
    "Analyte MCL Result Units\n"
    + "".join(
        f"{n} {lim} {v} {u}\n"
        for n, v, u, lim, _ in rows(MEADOW, keys={*MAJOR, "fe", "mn", "sio2", "ec_us_cm"})
    ),
    only(MEADOW, *MAJOR, "fe", "mn", "sio2", "ec_us_cm"),
)
case(
    "reporting_limit_first.txt",
    aligned(
        ("Parameter", "Reporting limit", "Result", "Units", "Method"),
        [(n, dl, v, u, "ICP-OES") for n, v, u, _, dl in S],
        (0, 28, 48, 60, 72),
    ),
    SALINE,
)
case(
    "limit_and_less_than.txt",
    aligned(
        ("Constituent", "RL", "Found", "Unit"),
        [(n, dl, "<" + dl if n in {"Iron", "Barium"} else v, u) for n, v, u, _, dl in S],
        (0, 30, 40, 52),
    ),
    without(SALINE, "fe", "ba") | {"fe": "<0.02", "ba": "<0.002"},
)
case(
    "headings_on_two_lines.txt",
    "                              Reporting\n"
    + aligned(
        ("Parameter", "Limit", "Result", "Units"),
        [(n, dl, v, u) for n, v, u, _, dl in M],
        (0, 30, 44, 56),
    ),
    MEADOW,
)
case(
    "two_wells_side_by_side.txt",
    aligned(
        ("Parameter", "Unit", "Well 4", "Well 5"),
        [
            (n, u, v, f"{w:g}")
            for (n, v, u, _, _), w in zip(M, [x * 1.5 for x in MEADOW.values()], strict=True)
        ],
        (0, 30, 42, 54),
    ),
    MEADOW,
    samples=2,
)
case(
    "panels_side_by_side.txt",
    aligned(
        ("Parameter", "Result", "Unit", "Parameter", "Result", "Unit"),
        [(*a[:3], *b[:3]) for a, b in zip(M[:8], M[8:16], strict=True)],
        (0, 20, 30, 44, 72, 82),
    ),
    dict(list(MEADOW.items())[:16]),
)
case(
    "previous_result_beside.txt",
    aligned(
        ("Test", "Previous", "Result", "Unit"),
        [(n, f"{float(v) * 1.3:g}", v, u) for n, v, u, _, _ in M],
        (0, 30, 42, 54),
    ),
    MEADOW,
)
case(
    "method_numbers_before_result.txt",
    aligned(
        ("Parameter", "Method", "Result", "Unit"),
        [(n, "EPA 200.7", v, u) for n, v, u, _, _ in S],
        (0, 30, 44, 56),
    ),
    SALINE,
)
case("dot_leaders.txt", "".join(f"{n} ........ {v} {u}\n" for n, v, u, _, _ in U), UPLAND)
case(
    "wrapped_names_with_pore_size.txt",
    """Sample: Ferry Lane
Parameter                 Result    Unit
Iron, dissolved (field
filtered 0.45 um)         0.87      mg/L
Manganese, dissolved
(filtered 0.45 um)        0.124     mg/L
Calcium                   88.4      mg/L
Chloride                  71.3      mg/L
""",
    only(MEADOW, "fe", "mn", "ca", "cl"),
)
case(
    "missing_limits_in_print.txt",
    aligned(
        ("Analyte", "Guideline", "Result", "Units"),
        [(n, lim if n in {"Iron", "Chloride"} else "", v, u) for n, v, u, lim, _ in M],
        (0, 30, 44, 56),
    ),
    MEADOW,
)
case(
    "no_heading_two_numbers.txt",
    "".join(f"{n}  {lim}  {v} {u}\n" for n, v, u, lim, _ in rows(MEADOW, keys=MAJOR)),
    only(MEADOW, *MAJOR),
    doubtful=True,
)
case(
    "thin_space_thousands.txt",
    "Parameter   Result   Unit\n"
    + "".join(
        f"{n}   {v.replace('1085', chr(49) + chr(0x202F) + '085').replace('4280', '4' + chr(0x2009) + '280')}   {u}\n"
        for n, v, u, _, _ in S
    ),
    SALINE,
)
case(
    "signs_of_other_prints.txt",
    """Parameter  Result  Unit
Calcium  212  mg/L
Iron  \N{LESS-THAN OR EQUAL TO}0.02  mg/L
Manganese  \N{SINGLE LEFT-POINTING ANGLE QUOTATION MARK}0.005  mg/L
Chloride  1085  mg/L
Barium  \N{FULLWIDTH LESS-THAN SIGN} 0.01  mg/L
""",
    {"ca": 212, "cl": 1085, "fe": "<0.02", "mn": "<0.005", "ba": "<0.01"},
)
case(
    "pages_and_dates.txt",
    """ANALYTICAL REPORT   Page 1 of 2
Sample: Osier Bed 2    Date: 14.03.2031
Parameter          Result     Unit     Analysed
Calcium            88.4       mg/L     15.03.2031
Magnesium          31.2       mg/L     15.03.2031
Sodium             54.6       mg/L     15.03.2031
Report 4471 continued           Page 2 of 2
Parameter          Result     Unit     Analysed
Chloride           71.3       mg/L     16.03.2031
Sulfate            96.5       mg/L     16.03.2031
""",
    only(MEADOW, "ca", "mg", "na", "cl", "so4"),
)
case(
    "second_table_other_order.txt",
    """Parameter        Result   Unit    Limit
Calcium          88.4     mg/L    150
Sodium           54.6     mg/L    180
Parameter        Limit    Result  Unit
Chloride         220      71.3    mg/L
Sulfate          230      96.5    mg/L
""",
    only(MEADOW, "ca", "na", "cl", "so4"),
)
case(
    "qualifiers_behind_values.txt",
    """Analyte        Result     Units
Sodium         612 E      mg/L
Chloride       1085 D     mg/L
Strontium      4.85 J B   mg/L
Calcium        212        mg/L
""",
    only(SALINE, "na", "cl", "sr", "ca"),
)

# --- tables with odd headings ------------------------------------------------------------
case(
    "your_water_behind_limits.csv",
    table(("Parameter", "Limit", "Your water", "Unit"), [(n, lim, v, u) for n, v, u, lim, _ in M]),
    MEADOW,
)
case(
    "value_found.csv",
    table(
        ("Test", "Guideline value", "Value found", "Unit"),
        [(n, lim, v, u) for n, v, u, lim, _ in S],
    ),
    SALINE,
)
case(
    "befund.csv",
    table(
        ("Parameter", "Grenzwert", "Befund", "Einheit"),
        [(n, lim, v.replace(".", ","), u) for n, v, u, lim, _ in rows(MEADOW, GERMAN)],
        ";",
    ),
    MEADOW,
)
case(
    "place_as_heading.csv",
    table(("Parameter", "Unit", "Ashby Mill"), [(n, u, v) for n, v, u, _, _ in M]),
    MEADOW,
)
case(
    "place_behind_class_limits.csv",
    table(
        ("Parameter", "Unit", "Class II", "Ashby Mill"),
        [(n, u, lim, v) for n, v, u, lim, _ in rows(MEADOW, keys={k for k in MEADOW if k != "ph"})],
    ),
    without(MEADOW, "ph"),
    doubtful=True,
)
case(
    "date_as_heading.csv",
    table(("Parameter", "Unit", "2031-05-14"), [(n, u, v) for n, v, u, _, _ in U]),
    UPLAND,
)
case(
    "depth_beside_result.csv",
    table(
        ("Depth (m)", "Parameter", "Concentration", "Unit"),
        [("42", n, v, u) for n, v, u, _, _ in M],
    ),
    MEADOW,
)
case(
    "register_number_first.csv",
    table(
        ("Register", "Parameter", "Unit", "Osier Bed"),
        [(str(n + 101), *x) for n, x in enumerate((a, c, b) for a, b, c, _, _ in M)],
    ),
    MEADOW,
)
case(
    "previous_and_present.csv",
    table(
        ("Parameter", "Previous result", "Present result", "Unit"),
        [(n, f"{float(v) * 0.8:g}", v, u) for n, v, u, _, _ in M],
    ),
    MEADOW,
)
case(
    "uncertainty_column.csv",
    table(
        ("Parameter", "Result", "Uncertainty", "Unit"), [(n, v, "0.5", u) for n, v, u, _, _ in S]
    ),
    SALINE,
)
case(
    "only_limits.csv",
    table(("Parameter", "Permissible limit", "Unit"), [(n, lim, u) for n, _, u, lim, _ in M]),
    "refused",
)
case(
    "one_value_repeated.csv",
    table(("Parameter", "Result", "Unit"), [(n, "25", u) for n, _, u, _, _ in M]),
    "refused",
)
case(
    "sign_in_a_column_without_heading.csv",
    table(
        ("Parameter", "Sgn", "Result", "Unit"),
        [(n, "<" if n in {"Iron", "Barium"} else "", v, u) for n, v, u, _, _ in S],
    ),
    without(SALINE, "fe", "ba") | {"fe": "<0.042", "ba": "<0.031"},
)
case(
    "qualifier_letters_without_heading.csv",
    table(
        ("Parameter", "Result", "Mark", "Unit"),
        [(n, v, "E" if n == "Sodium" else "", u) for n, v, u, _, _ in S],
    ),
    SALINE,
)
case(
    "spanish_limit_first.csv",
    table(
        ("Parámetro", "Límite permisible", "Resultado", "Unidad"),
        [
            ("Calcio", "150", "88.4", "mg/L"),
            ("Magnesio", "80", "31.2", "mg/L"),
            ("Sodio", "180", "54.6", "mg/L"),
            ("Cloruro", "220", "71.3", "mg/L"),
            ("Sulfato", "230", "96.5", "mg/L"),
            ("Hierro", "0.25", "0.87", "mg/L"),
        ],
    ),
    only(MEADOW, "ca", "mg", "na", "cl", "so4", "fe"),
)
case(
    "french_valeur.csv",
    table(
        ("Paramètre", "Référence de qualité", "Valeur mesurée", "Unité"),
        [
            ("Calcium", "150", "88,4", "mg/L"),
            ("Sodium", "180", "54,6", "mg/L"),
            ("Chlorures", "220", "71,3", "mg/L"),
            ("Sulfates", "230", "96,5", "mg/L"),
            ("Fer total", "0,25", "0,87", "mg/L"),
        ],
        ";",
    ),
    only(MEADOW, "ca", "na", "cl", "so4", "fe"),
)
case(
    "maltese_names_with_symbols.csv",
    table(
        ("Analys", "Resultat", "Enhet"),
        [
            ("Ħadid, Fe", "0.87", "mg/l"),
            ("Kalcium, Ca", "88.4", "mg/l"),
            ("Natrium, Na", "54.6", "mg/l"),
            ("Kloruri, Cl", "71.3", "mg/l"),
        ],
        ";",
    ),
    only(MEADOW, "fe", "ca", "na", "cl"),
    doubtful=True,
)

# --- sections and second blocks -----------------------------------------------------------
case(
    "metals_section_changes_unit.csv",
    """Parameter,Result (mg/L)
Calcium,88.4
Chloride,71.3
"Trace metals, ug/L",
Iron,870
Manganese,124
Barium,63
""",
    only(MEADOW, "ca", "cl", "fe", "mn", "ba"),
)
case(
    "repeated_heading_changes_unit.csv",
    """Parameter,Result (mg/L),Limit
Calcium,88.4,150
Chloride,71.3,220
Parameter,Result (ug/L),Limit
Iron,870,250
Barium,63,900
""",
    only(MEADOW, "ca", "cl", "fe", "ba"),
)
case(
    "wide_second_block.csv",
    """Sample,Ca (mg/L),Mg (mg/L),Cl (mg/L)
FL-1,88.4,31.2,71.3
Sample,Fe (ug/L),Mn (ug/L),Ba (ug/L)
FL-1,870,124,63
""",
    only(MEADOW, "ca", "mg", "cl", "fe", "mn", "ba"),
)
case(
    "two_wells_two_units.csv",
    """Parameter,Well 4 mg/L,Well 4 meq/L,Well 5 mg/L,Well 5 meq/L
Calcium,88.4,4.41,12.6,0.629
Magnesium,31.2,2.57,3.41,0.281
Chloride,71.3,2.01,14.9,0.420
""",
    only(MEADOW, "ca", "mg", "cl"),
    samples=2,
)
case(
    "section_titles_of_fractions.csv",
    """Parameter,Result,Unit
Total metals,,
Iron,0.93,mg/L
Manganese,0.131,mg/L
Dissolved metals,,
Iron,0.87,mg/L
Manganese,0.124,mg/L
General,,
Calcium,88.4,mg/L
""",
    only(MEADOW, "fe", "mn", "ca"),
)
case(
    "field_blank_under_remarks.csv",
    """Location,Remarks,Ca (mg/L),Mg (mg/L),Cl (mg/L)
Ferry Lane,Field blank,0.2,0.1,0.4
Ferry Lane,Duplicate,87.9,31.0,70.8
Ferry Lane,,88.4,31.2,71.3
""",
    only(MEADOW, "ca", "mg", "cl"),
    samples=1,
)
case(
    "duplicate_column.csv",
    """Parameter,Unit,Trip blank,FL-1 duplicate,FL-1
Calcium,mg/L,<0.5,87.9,88.4
Magnesium,mg/L,<0.5,31.0,31.2
Chloride,mg/L,<1,70.8,71.3
""",
    only(MEADOW, "ca", "mg", "cl"),
    samples=1,
)
case(
    "limit_row_on_top.csv",
    """Sample,Ca (mg/L),Mg (mg/L),Na (mg/L),Cl (mg/L),SO4 (mg/L)
Permissible limit 2030,150,80,180,220,230
FL-1,88.4,31.2,54.6,71.3,96.5
""",
    only(MEADOW, "ca", "mg", "na", "cl", "so4"),
    samples=1,
)

# --- spellings ------------------------------------------------------------------------------
case(
    "charges_as_superscripts.csv",
    """Ion,Result,Unit
Ca²⁺,88.4,mg/L
Mg²⁺,31.2,mg/L
Na⁺,54.6,mg/L
K⁺,3.9,mg/L
Cl⁻,71.3,mg/L
SO₄²⁻,96.5,mg/L
NO₃⁻,12.4,mg/L
F⁻,0.38,mg/L
""",
    only(MEADOW, *MAJOR, "f"),
)
case(
    "minus_signs_in_names.csv",
    "Ion,Result,Unit\nCl\u2212,71.3,mg/L\nSO4 2\u2212,96.5,mg/L\nNO3\u2212,12.4,mg/L\nCa2+,88.4,mg/L\n",
    only(MEADOW, "cl", "so4", "no3", "ca"),
)
case(
    "degree_sign_of_the_east.csv",
    "Parameter,Result,Unit\nWater temperature,13.6,℃\nCalcium,88.4,㎎/ℓ\nIron,870,㎍/L\n",
    only(MEADOW, "temperature_c", "ca", "fe"),
)
case(
    "silicon_and_fractions.csv",
    "Parameter,Result,Unit\nSilicon as Si (dissolved),8.04,mg/L\nCalcium (dissolved),88.4,mg/L\n",
    {"sio2": 17.2, "ca": 88.4},
)
case(
    "limits_in_brackets.csv",
    "Parameter,Result,Unit\nIron,BDL (DL 0.05),mg/L\nManganese,ND (RL: 0.01),mg/L\nBarium,n.d. (<0.002),mg/L\nCalcium,88.4,mg/L\n",
    {"fe": "<0.05", "mn": "<0.01", "ba": "<0.002", "ca": 88.4},
)
case(
    "a_row_that_cannot_be_read.csv",
    "Parameter,Result,Unit\nCalcium,88.4,mg/L\nMagnesium,31.2,furlongs\nSodium,54.6,mg/L\nChloride,71.3,mg/L\n",
    only(MEADOW, "ca", "na", "cl"),
    doubtful=True,
)
case(
    "silica_as_caco3.csv",
    "Parameter,Result,Unit\nSilica as CaCO3,14.33,mg/L\nCalcium as CaCO3,220.8,mg/L\nChloride,71.3,mg/L\n",
    only(MEADOW, "sio2", "ca", "cl"),
    doubtful=True,
)
case(
    "gb_encoding.csv",
    (
        "项目名称,检测结果,单位\n钙 (Ca),88.4,mg/L\n镁 (Mg),31.2,mg/L\n钠 (Na),54.6,mg/L\n氯化物 (Cl),71.3,mg/L\n备注：样品清澈无色无味,,\n"
    ).encode("gb18030"),
    only(MEADOW, "ca", "mg", "na", "cl"),
    doubtful=True,
)
case(
    "shift_jis_encoding.csv",
    (
        "分析項目,測定結果,単位\nカルシウム Ca,88.4,mg/L\nマグネシウム Mg,31.2,mg/L\nナトリウム Na,54.6,mg/L\n塩化物 Cl,71.3,mg/L\n備考：試料は無色透明である,,\n"
    ).encode("shift_jis"),
    only(MEADOW, "ca", "mg", "na", "cl"),
    doubtful=True,
)
case(
    "euc_kr_encoding.csv",
    (
        "항목,결과,단위\n칼슘,88.4,mg/L\n마그네슘,31.2,mg/L\n나트륨,54.6,mg/L\n시료는 맑고 무색이었음,,\n"
    ).encode("euc_kr"),
    {"ca": 88.4, "mg": 31.2, "na": 54.6},
    doubtful=True,
)
assert ENGLISH
assert LIMITS
