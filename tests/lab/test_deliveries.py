"""Ways in which labs write one and the same water; all examples invented, common practice."""

import pytest

from pretreat.lab import read_analysis, read_samples

ROUNDING = 0.005


def write(tmp_path, text, encoding="utf-8", name="report.csv"):
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    return path


def values(water):
    found = dict(water.mg_l) | dict(water.properties)
    found |= {"ph": water.ph, "temperature_c": water.temperature_c}
    return found | {"alkalinity": water.alkalinity_mg_l_caco3}


CASES = {
    "french degrees and species in the unit": (
        "Paramètre;Résultat;Unité\nTAC;28,0;°f\nTA;0;°f\nNitrates;18,6;mg(NO3)/L\n"
        "Calcium;142;mg(Ca)/L\nConductivité à 25°C;2130;µS/cm\nAzote ammoniacal;0,05;mg(N)/L\n",
        "cp1252",
        {"alkalinity": 280, "no3": 18.6, "ca": 142, "hco3": 341.4, "ec_us_cm": 2130, "nh4": 0.0644},
    ),
    "everything as CaCO3": (
        "Parameter,Result (mg/L as CaCO3)\nSodium,513.7\nCalcium,354.6\nAlkalinity,280\n",
        "utf-8",
        {"na": 236.2, "ca": 142, "alkalinity": 280},
    ),
    "thousands commas and US units": (
        'Parameter,Result,Units\nConductivity,"18,900",umhos/cm\nTemperature,78.6,deg F\n'
        'Chloride,"5,400",mg/L\nCalcium,412.5,mg/L\n',
        "utf-8",
        {"ec_us_cm": 18900, "temperature_c": 25.9, "cl": 5400},
    ),
    "superscripts, two kinds of mu": (
        "Parameter\tWert\tEinheit\nSO₄²⁻\t398\tmg·L⁻¹\nκ25\t2130\tμS·cm⁻¹\nCa²⁺\t142\tmg·L⁻¹\n"
        "Ba²⁺\t48\tμg·L⁻¹\nHCO₃⁻\t341,4\tmg·L⁻¹\n",
        "utf-16",
        {"so4": 398, "ec_us_cm": 2130, "ba": 0.048, "hco3": 341.4},
    ),
    "moles and a bare decimal": (
        "Ca;3,543;mmol/l\nK;,2507;mmol/l\nMg;2,0;mmol/l\nBa;0,35;µmol/l\n",
        "utf-8",
        {"ca": 142, "k": 9.8, "ba": 0.048},
    ),
    "old Macintosh line ends": (
        "Analyte,Result,Unit\rB  [µg/L],420,\rCa [mg/L],142,\rFe [mg/L],<0.000,\r",
        "cp1252",
        {"b": 0.42, "ca": 142},
    ),
    "pasted from a print": (
        "Report of analysis\nIron (total) .... 0 . 31 mg/l\n"
        "Specific conductance   2 130 micromhos/cm\n"
        "Calcium (Ca)  142 mg/l  7.09 meq/l\nMagnesium ..... 48.6 mg/l 4.00 meq/l\npH ..... 7.62\n"
        "Sodium 236 mg/l\nChloride  287 mg/l\nBarium ND mg/l\n",
        "utf-8",
        {"fe": 0.31, "ec_us_cm": 2130, "ca": 142, "mg": 48.6, "ph": 7.62, "na": 236, "cl": 287},
    ),
    "Turkish": (
        "Parametre;Sonuç;Birim\nElektriksel İletkenlik;2130;µS/cm\nArsenik;TE;µg/L\n"
        "Sıcaklık;18,4;°C\n"
        "Kalsiyum;142;mg/L\nSülfat;398;mg/L\nToplam sertlik;55,4;°FS\nÇözünmüş demir;0,1;mg/L\n",
        "cp1254",
        {
            "ec_us_cm": 2130,
            "temperature_c": 18.4,
            "so4": 398,
            "hardness_mg_l_caco3": 554,
            "fe": 0.1,
        },
    ),
    "Arabic digits": (
        "العنصر,النتيجة,الوحدة\nصوديوم,٢٣٦,mg/L\nمغنيسيوم,٤٨٫٦,mg/L\nكلوريد,٢٨٧,mg/L\n",
        "utf-8",
        {"na": 236, "mg": 48.6, "cl": 287},
    ),
    "Polish false friends": (
        "Oznaczenie;Wynik;Jednostka\nBar;48;µg/l\nBor;0,42;mg/l\nSód;236;mg/l\nAzotany;18,6;mg/l\n"
        "Azotyny;0,05;mg/l\nŻelazo ogólne;0,31;mg/l\nZasadowość;5,6;mval/l\nWapń;142;mg/l\n",
        "cp1250",
        {
            "ba": 0.048,
            "b": 0.42,
            "na": 236,
            "no3": 18.6,
            "no2": 0.05,
            "fe": 0.31,
            "alkalinity": 280.2,
        },
    ),
    "Italian": (
        "Parametro;Valore;U.M.\nResiduo fisso a 180°C;1310;mg/L\nCalcio;142;mg/L\nFerro;310;µg/L\n"
        "Bicarbonati;341,4;mg/L\nDurezza totale;55,4;°f\nCloruri;287;mg/L\n"
        "Cloro residuo;<0,05;mg/L\n",
        "utf-8",
        {"tds_mg_l": 1310, "ca": 142, "fe": 0.31, "hco3": 341.4, "cl": 287},
    ),
    "Portuguese": (
        "Parâmetro;Resultado;Unidade\nManganês;0,062;mg/L\nMagnésio;48,6;mg/L\n"
        "Ferro dissolvido;0,05;mg/L\n"
        "Ferro total;0,31;mg/L\nAlcalinidade total;280;mg/L CaCO3\n"
        "Nitrogênio amoniacal;0,05;mg/L N\n",
        "latin-1",
        {"mn": 0.062, "mg": 48.6, "fe": 0.05, "alkalinity": 280, "nh4": 0.0644},
    ),
    "Dutch": (
        "Bepaling;Resultaat;Eenheid\nNatrium;236;mg/l\nIJzer;0,31;mg/l\n"
        "Waterstofcarbonaat;341,4;mg/l\n"
        "Zuurgraad;7,62;-\nGeleidingsvermogen;213;mS/m\n",
        "utf-8",
        {"na": 236, "fe": 0.31, "hco3": 341.4, "ph": 7.62, "ec_us_cm": 2130},
    ),
    "unit only in the title": (
        "All results in ug/L\nAnalyte,Result\nBarium,48\nIron,310\n",
        "utf-8",
        {"ba": 0.048, "fe": 0.31},
    ),
    "misread print and destroyed micro signs": (
        "Analyte,Result,Unit\nCalcium,142,mg/1\nMagnesium,48.6,rng/L\nBarium,48,?g/L\n"
        "Conductivity,2130,?S/cm\n",
        "utf-8",
        {"ca": 142, "mg": 48.6, "ba": 0.048, "ec_us_cm": 2130},
    ),
    "two blocks side by side": (
        "Parameter,Result,Unit,Parameter,Result,Unit\nCalcium,142,mg/L,Chloride,287,mg/L\n"
        "Magnesium,48.6,mg/L,Sulfate,398,mg/L\nSodium,236,mg/L,pH,7.6,\n",
        "utf-8",
        {"ca": 142, "cl": 287, "so4": 398, "ph": 7.6},
    ),
    "mass beside equivalents": (
        "Ion,mg/L,meq/L\nCalcium,142,7.09\nMagnesium,48.6,4.0\nSodium,236,10.27\n",
        "utf-8",
        {"ca": 142, "mg": 48.6, "na": 236},
    ),
    "a column of guidelines": (
        "Parameter,Result,Unit,WHO guideline,Method\nCalcium,142,mg/L,200,ICP\n"
        "Iron,0.31,mg/L,0.3,ICP\n",
        "utf-8",
        {"ca": 142, "fe": 0.31},
    ),
    "silicon beside silica, basis in the unit": (
        "Analyte,Result,Unit\nSilica as Si,13.275,mg/L\nNitrate,4.2,mg/L as N\n",
        "utf-8",
        {"sio2": 28.4, "no3": 18.59},
    ),
    "capitals": (
        "PARAMETER,RESULT,UNIT\nCALCIUM,142,MG/L\nSODIUM (NA),236,MG/L\n"
        "TOTAL ALKALINITY (AS CACO3),280,MG/L\nNITRATE (AS N),4.2,MG/L\nIRON (TOTAL),0.31,MG/L\n",
        "utf-8",
        {"ca": 142, "na": 236, "alkalinity": 280, "no3": 18.59, "fe": 0.31},
    ),
    "parameter codes down the rows": (
        "agency_cd\tsite_no\tsample_dt\tparm_cd\tremark_cd\tresult_va\n"
        "5s\t15s\t10d\t5s\t1s\t12s\n"
        "USGS\t123\t2020-01-01\t00915\t\t142\nUSGS\t123\t2020-01-01\t00400\t\t7.6\n"
        "USGS\t123\t2020-01-01\t00631\t\t4.2\n",
        "utf-8",
        {"ca": 142, "ph": 7.6, "no3": 18.59},
    ),
    "parameter codes that a spreadsheet shortened": (
        "site_no,sample_dt,p915,p400,p95,r1046,p1046\n1,2020-01-01,142,7.6,2130,,310\n",
        "utf-8",
        {"ca": 142, "ph": 7.6, "ec_us_cm": 2130, "fe": 0.31},
    ),
    "label, colon, value": (
        "pH: 7.6\nCalcium: 142 mg/L\nIron: 0.31 mg/L\nSodium: 236 mg/L\n",
        "utf-8",
        {"ph": 7.6, "ca": 142, "fe": 0.31, "na": 236},
    ),
    "columns of blanks": (
        "Parameter            Result     Unit\nCalcium              142        mg/L\n"
        "Total iron           0.31       mg/L\nAlkalinity as CaCO3  280        mg/L\n"
        "pH                   7.6\n",
        "utf-8",
        {"ca": 142, "fe": 0.31, "alkalinity": 280, "ph": 7.6},
    ),
    "cations beside anions": (
        "Cations,mg/l,Anions,mg/l\nCa,142,HCO3,341.4\nMg,48.6,SO4,398\nNa,236,Cl,287\n",
        "utf-8",
        {"ca": 142, "hco3": 341.4, "cl": 287, "na": 236},
    ),
    "one row per water": (
        "id,pH,temperature_c,Ca,Mg,Na,K,Ba,Alkalinity [mg/L as CaCO3],HCO3,SO4,Cl,SiO2\n"
        "w1,7.6,18,142,48.6,236,9.8,0.048,280,,398,287,28.4\n",
        "utf-8",
        {"ca": 142, "ph": 7.6, "temperature_c": 18, "alkalinity": 280, "hco3": 341.4, "ba": 0.048},
    ),
}


@pytest.mark.parametrize("case", sorted(CASES))
def test_delivery(tmp_path, case):
    text, encoding, expected = CASES[case]
    found = values(read_analysis(write(tmp_path, text, encoding)))
    for key, value in expected.items():
        assert found[key] == pytest.approx(value, rel=ROUNDING), key


def test_overrides(tmp_path):
    """2.130 alone is 2.13 or 2130; the file does not say, the person may."""
    path = write(tmp_path, "Analyte;Result;Unit\nConductivity;2.130;µS/cm\nCalcium;142;mg/L\n")
    assert any(flag.code == "ambiguous_decimal" for flag in read_analysis(path).flags)
    assert read_analysis(path, decimal=",").properties["ec_us_cm"] == 2130
    assert read_analysis(path, decimal=".").properties["ec_us_cm"] == 2.13


def test_other_decimal_mark_in_one_cell_is_flagged(tmp_path):
    path = write(
        tmp_path, 'Analyte,Result,Unit\nCalcium,142.5,mg/L\nIron,"0,5",mg/L\nSodium,236.1,mg/L\n'
    )
    water = read_analysis(path)
    assert water.mg_l["fe"] == 0.5
    assert any(flag.code == "mixed_decimal" for flag in water.flags)


def test_samples_side_by_side(tmp_path):
    path = write(
        tmp_path,
        "Parameter,Unit,W-1,W-2,W-3\nCalcium,mg/L,142,84,50\nIron,ug/L,310,<20,ND\n"
        "pH,-,7.6,7.1,7.0\n",
    )
    waters = read_samples(path)
    assert [w.sample for w in waters] == ["W-1", "W-2", "W-3"]
    assert [w.mg_l["ca"] for w in waters] == [142, 84, 50]
    assert waters[1].below_mg_l["fe"] == pytest.approx(0.02)
    assert waters[2].below_mg_l["fe"] is None


def test_field_and_lab_rows_of_different_days_are_one_sample(tmp_path):
    path = write(
        tmp_path,
        "Sample ID,Date,Analyte,Result,Unit\nW-1,2031-05-14,pH (field),7.6,\n"
        "W-1,2031-05-14,Temperature,18,°C\n"
        "W-1,2031-05-16,Calcium,142,mg/L\nW-1,2031-05-16,Chloride,287,mg/L\n",
    )
    waters = read_samples(path)
    assert len(waters) == 1
    assert (waters[0].ph, waters[0].mg_l["ca"]) == (7.6, 142)


def test_repeated_samples_of_one_well_stay_apart(tmp_path):
    path = write(
        tmp_path,
        "Well,Date,Analyte,Result,Unit\nW-1,2031-05-14,Calcium,142,mg/L\nW-1,2031-05-14,pH,7.6,\n"
        "W-1,2031-08-16,Calcium,120,mg/L\nW-1,2031-08-16,pH,7.4,\n",
    )
    assert [w.mg_l["ca"] for w in read_samples(path)] == [142, 120]


def test_french_ta_alone_is_not_guessed(tmp_path):
    path = write(tmp_path, "Analyte,Result,Unit\nTA,280,mg/L as CaCO3\nCalcium,142,mg/L\n")
    water = read_analysis(path)
    assert water.alkalinity_mg_l_caco3 is None
    assert any(f.code == "ambiguous_name" and f.level == "warning" for f in water.flags)


def test_lumped_sodium_and_potassium_warns(tmp_path):
    path = write(tmp_path, 'Analyte,Result,Unit\n"Na+K, as Na",38,mg/L\nCalcium,80,mg/L\n')
    water = read_analysis(path)
    assert water.mg_l["na"] == 38
    assert any(f.code == "na_k_sum" and f.level == "warning" for f in water.flags)


def test_unknown_names_are_named(tmp_path):
    path = write(tmp_path, "Analyte,Result,Unit\nCalcium,142,mg/L\nUnobtainium,1,mg/L\n")
    flag = next(f for f in read_analysis(path).flags if f.code == "unknown_analyte")
    assert "line 3 'Unobtainium'" in flag.text
    assert flag.level == "info"


def test_assumptions_are_flagged(tmp_path):
    path = write(tmp_path, "Analyte,Result,Unit\nCalcium,142,\nAlkalinity,280,mg/L\n")
    texts = [f.text for f in read_analysis(path).flags if f.code == "assumed_unit"]
    assert any("read in mg/L: Calcium" in text for text in texts)
    assert any("read as CaCO3: Alkalinity" in text for text in texts)


@pytest.mark.parametrize(
    ("p", "m", "bicarbonate", "carbonate", "hydroxide"),
    [
        (0, 200, 200, 0, 0),
        (20, 200, 160, 40, 0),
        (100, 200, 0, 200, 0),
        (150, 200, 0, 100, 100),
        (200, 200, 0, 0, 200),
    ],
)
def test_split_of_alkalinity(p, m, bicarbonate, carbonate, hydroxide):
    """Standard Methods 2320 B, table of alkalinity relationships (from memory)."""
    from pretreat.lab.interpret.choose import split_alkalinity

    assert split_alkalinity(p, m) == (bicarbonate, carbonate, hydroxide)


def test_dates_in_text_files_are_damaged_numbers(tmp_path):
    path = write(tmp_path, "Analyte,Result,Unit\nCalcium,142,mg/L\nNitrate,2-Apr,mg/L\n")
    water = read_analysis(path)
    assert "no3" not in water.mg_l
    assert any(f.code == "cell_is_date" and f.level == "warning" for f in water.flags)


def test_conductivity_at_20_c_is_led_to_25_c(tmp_path):
    """Factor 1.116 of DIN EN 27888 (from memory)."""
    path = write(
        tmp_path, "Paramètre;Résultat;Unité\nConductivité à 20°C;1000;µS/cm\nCalcium;142;mg/L\n"
    )
    water = read_analysis(path)
    assert water.properties["ec_us_cm"] == pytest.approx(1116)
    assert any(f.code == "ec_at_20_c" for f in water.flags)


def test_temperature_of_a_ph_is_kept(tmp_path):
    path = write(tmp_path, "Analyte,Result,Unit\npH (25 °C),7.9,\nCalcium,142,mg/L\n")
    assert read_analysis(path).ph_temperature_c == 25.0


def test_missing_temperature_and_ph_are_flagged(tmp_path):
    water = read_analysis(write(tmp_path, "Analyte,Result,Unit\nCalcium,142,mg/L\n"))
    figures = {f.figure for f in water.flags if f.code == "not_measured"}
    assert figures == {"water.temperature_c", "water.ph"}


PORTAL = (
    "ActivityIdentifier,ActivityTypeCode,ActivityStartDate,MonitoringLocationIdentifier,"
    "ResultDetectionConditionText,CharacteristicName,MethodSpecificationName,"
    "ResultSampleFractionText,ResultMeasureValue,ResultMeasure.MeasureUnitCode,"
    "DetectionQuantitationLimitTypeName,DetectionQuantitationLimitMeasure.MeasureValue,"
    "DetectionQuantitationLimitMeasure.MeasureUnitCode\n"
    "A1,Field Msr/Obs,2020-01-01,W1,,pH,,,7.5,None,,,\n"
    "A2,Sample-Routine,2020-01-01,W1,,Calcium,,Dissolved,142000,ug/l,,,\n"
    "A2,Sample-Routine,2020-01-01,W1,,Alkalinity,as CaCO3,Total,280,mg/l,,,\n"
    "A3,Quality Control Sample-Field Replicate,2020-01-01,W1,,Calcium,,Dissolved,150000,"
    "ug/l,,,\n"
    "A2,Sample-Routine,2020-01-01,W1,Not Detected,Barium,,Dissolved,,,"
    "Water Quality Standard or Criteria,2,mg/l\n"
    "A2,Sample-Routine,2020-01-01,W1,Not Detected,Iron,,Dissolved,,,Method Detection Level,"
    "10,ug/l\n"
)


def test_portal_rows_of_one_visit_are_one_water(tmp_path):
    """Field and lab join, replicates are left out, a quality standard is no limit (WQX lists)."""
    waters = read_samples(write(tmp_path, PORTAL))
    assert len(waters) == 1
    water = waters[0]
    assert (water.ph, water.mg_l["ca"], water.alkalinity_mg_l_caco3) == (7.5, 142, 280)
    assert dict(water.below_mg_l) == {"ba": None, "fe": pytest.approx(0.01)}
