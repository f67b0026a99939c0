"""Invented reports of other countries and other layouts, the reading written before they were read."""

CASES: dict[str, tuple[str | bytes, dict[str, float | str] | str, dict[str, object]]] = {}


def case(name, content, expected, **more):
    CASES[name] = (content, expected, more)


case(  # Serbian, raw water second, blank last, decimal comma
    "serbian_three_samples.csv",
    "Параметар;Јединица;Чесма у кухињи;Сирова вода бунар Б-2;Слепа проба\n"
    "pH;;7,9;7,1;\nКалцијум;mg/L;4,1;96,4;<0,5\nМагнезијум;mg/L;1,2;28,3;<0,5\n"
    "Натријум;mg/L;212;31,5;<0,5\nХлориди;mg/L;22;21,7;<1\nСулфати;mg/L;48;47,2;<1\n"
    "Гвожђе;mg/L;<0,05;1,84;<0,05\n",
    {"ph": 7.1, "ca": 96.4, "mg": 28.3, "na": 31.5, "cl": 21.7, "so4": 47.2, "fe": 1.84},
)
case(  # Estonian, results in the last column, limit by a word
    "estonian_results_last.txt",
    "Proov: Puurkaev 4, toorvesi\n"
    "Näitaja            Ühik     Piirväärtus    Tulemus\n"
    "pH                          6,5-9,5        7,6\n"
    "Kaltsium           mg/l                    64,2\n"
    "Magneesium         mg/l                    22,8\n"
    "Naatrium           mg/l     200            14,1\n"
    "Kloriid            mg/l     250            18,6\n"
    "Sulfaat            mg/l     250            12,4\n"
    "Raud               mg/l     0,2            0,68\n"
    "Boor               mg/l     1,0            <0,1\n",
    {
        "ph": 7.6,
        "ca": 64.2,
        "mg": 22.8,
        "na": 14.1,
        "cl": 18.6,
        "so4": 12.4,
        "fe": 0.68,
        "b": "<0.1",
    },
)
case(  # Croatian, results of three years, newest in the middle
    "croatian_years_in_columns.csv",
    "Pokazatelj;Jedinica;MDK;12.05.2029;03.06.2031;20.04.2030\n"
    "pH;;6,5-9,5;7,3;7,4;7,2\nKalcij;mg/l;;88,1;91,6;90,2\nMagnezij;mg/l;;24,0;25,3;24,4\n"
    "Natrij;mg/l;200;17,9;18,8;18,1\nKloridi;mg/l;250;24,1;26,9;25,5\n"
    "Sulfati;mg/l;250;31,0;33,2;30,8\nNitrati;mg/l;50;8,8;9,6;9,1\n",
    {"ph": 7.4, "ca": 91.6, "mg": 25.3, "na": 18.8, "cl": 26.9, "so4": 33.2, "no3": 9.6},
    samples=3,
)
case(  # Korean, names with the symbol behind
    "korean_with_limits.csv",
    "항목,기준,결과,단위\n수소이온농도(pH),5.8~8.5,7.2,-\n칼슘(Ca),-,41.6,mg/L\n마그네슘(Mg),-,9.8,mg/L\n"
    "나트륨(Na),-,15.4,mg/L\n염소이온(Cl),250,19.2,mg/L\n황산이온(SO4),200,22.7,mg/L\n"
    "철(Fe),0.3,불검출,mg/L\n불소(F),1.5,0.31,mg/L\n",
    {"ph": 7.2, "ca": 41.6, "mg": 9.8, "na": 15.4, "cl": 19.2, "so4": 22.7, "fe": "<?", "f": 0.31},
)
case(  # Slovak, limit of determination in its own column, "less than" in words
    "slovak_less_than_in_words.csv",
    "Ukazovateľ;Jednotka;LOQ;Výsledok;Limit\npH;;;7,45;6,5-9,5\nVápnik;mg/l;0,5;78,3;>30\n"
    "Horčík;mg/l;0,5;19,6;125\nSodík;mg/l;0,5;11,2;200\nChloridy;mg/l;1;14,8;250\n"
    "Sírany;mg/l;1;42,9;250\nDusičnany;mg/l;0,5;27,4;50\nŽelezo;mg/l;0,02;menej ako 0,02;0,2\n"
    "Mangán;mg/l;0,01;n.d.;0,05\n",
    {
        "ph": 7.45,
        "ca": 78.3,
        "mg": 19.6,
        "na": 11.2,
        "cl": 14.8,
        "so4": 42.9,
        "no3": 27.4,
        "fe": "<0.02",
        "mn": "<0.01",
    },
)
case(  # Ukrainian units, hardness in mmol of equivalents
    "ukrainian_units.csv",
    "№;Показник, од. вим.;Результат;ГДК;Минулий рік\n1;Водневий показник, од. рН;7,3;6,5-8,5;7,2\n"
    "2;Кальцій, мг/дм³;81,0;-;79,5\n3;Магній, мг/дм³;27,5;-;26,9\n4;Натрій, мг/дм³;38,2;200;37,0\n"
    "5;Хлориди, мг/дм³;44,6;250;43,1\n6;Сульфати, мг/дм³;52,8;250;50,4\n7;Залізо загальне, мг/дм³;0,92;0,2;0,88\n"
    "8;Лужність загальна, мг-екв/дм³;6,2;-;6,1\n",
    {
        "ph": 7.3,
        "ca": 81.0,
        "mg": 27.5,
        "na": 38.2,
        "cl": 44.6,
        "so4": 52.8,
        "fe": 0.92,
        "alkalinity_mg_l_caco3": 310.3,
    },
)
case(  # one line per sample, the raw water last, limits of detection in a row
    "belgian_rows_ruw_last.csv",
    "Monster;pH;Ca mg/l;Mg mg/l;Na mg/l;Cl mg/l;SO4 mg/l;Fe mg/l\n"
    "Rapportagegrens;;0,5;0,5;0,5;1;1;0,02\nNa ontharder;7,6;1,2;0,4;158;31;44;<0,02\n"
    "Keuken kraan;7,6;1,4;0,5;157;31;44;<0,02\nPut 3 ruw water;7,2;104;17,8;24,3;31;44;1,26\n",
    {"ph": 7.2, "ca": 104, "mg": 17.8, "na": 24.3, "cl": 31, "so4": 44, "fe": 1.26},
    samples=3,
)
case(  # two pages, headings repeated, unit by section
    "canadian_sections_two_pages.txt",
    "Sample: Well 9 raw water            Page 1 of 2\n\n"
    "Parameter              RDL       Result     Guideline\n"
    "PHYSICAL\npH                               7.71       7.0-10.5\n"
    "MAJOR IONS - mg/L\nCalcium                0.05      61.3\nMagnesium              0.05      18.4\n"
    "Sodium                 0.05      47.7       200\nChloride               0.50      33.9       250\n"
    "Sample: Well 9 raw water (continued)            Page 2 of 2\n\n"
    "Parameter              RDL       Result     Guideline\n"
    "TOTAL METALS - ug/L\nIron                   10        1,310      300\n"
    "Manganese              1.0       88.4       50\nBarium                 1.0       71.5       1000\n"
    "Strontium              1.0       402\nBoron                  50        <50        5000\n",
    {
        "ph": 7.71,
        "ca": 61.3,
        "mg": 18.4,
        "na": 47.7,
        "cl": 33.9,
        "fe": 1.31,
        "mn": 0.0884,
        "ba": 0.0715,
        "sr": 0.402,
        "b": "<0.05",
    },
)
case(  # Finnish, one sample a column, treated first
    "finnish_columns.csv",
    "Määritys;Yksikkö;Vaatimus;Lähtevä vesi;Raakavesi kaivo 2\npH;;6,5-9,5;8,1;6,6\n"
    "Kalsium;mg/l;;31;19,4\nMagnesium;mg/l;;5,1;5,2\nNatrium;mg/l;200;11,8;8,3\n"
    "Kloridi;mg/l;250;12;11,9\nSulfaatti;mg/l;250;16;15,7\nRauta;µg/l;200;<20;1 480\n"
    "Mangaani;µg/l;50;<5;212\n",
    {"ph": 6.6, "ca": 19.4, "mg": 5.2, "na": 8.3, "cl": 11.9, "so4": 15.7, "fe": 1.48, "mn": 0.212},
    samples=2,
)
case(  # mean, least and most of a year beside the last result
    "swedish_year_statistics.csv",
    "Parameter;Enhet;Min;Medel;Max;Senaste resultat 2031-04-12\npH;;7,2;7,4;7,6;7,5\n"
    "Kalcium;mg/l;41;44;48;46,5\nMagnesium;mg/l;6,1;6,6;7,0;6,8\nNatrium;mg/l;12;14;17;15,2\n"
    "Klorid;mg/l;15;18;21;19,3\nSulfat;mg/l;20;24;27;25,1\nJärn;mg/l;0,4;0,6;0,9;0,71\n",
    {"ph": 7.5, "ca": 46.5, "mg": 6.8, "na": 15.2, "cl": 19.3, "so4": 25.1, "fe": 0.71},
)
