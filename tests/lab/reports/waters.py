"""Three invented waters whose ions balance, and the ways in which reports print them."""

# mg/L as the ion; alkalinity as CaCO3; EC in µS/cm. Invented; equivalents by molar masses.
UPLAND = {
    "ph": 6.38, "temperature_c": 9.8, "ec_us_cm": 172, "ca": 12.6, "mg": 3.41, "na": 18.7,
    "k": 1.26, "fe": 2.46, "mn": 0.187, "cl": 14.9, "so4": 8.7, "no3": 2.9, "sio2": 22.8,
    "alkalinity_mg_l_caco3": 55.4,
}  # fmt: skip
MEADOW = {
    "ph": 7.43, "temperature_c": 13.6, "ec_us_cm": 884, "ca": 88.4, "mg": 31.2, "na": 54.6,
    "k": 3.9, "fe": 0.87, "mn": 0.124, "ba": 0.063, "sr": 0.41, "f": 0.38, "cl": 71.3, "so4": 96.5,
    "no3": 12.4, "sio2": 17.2, "alkalinity_mg_l_caco3": 262,
}  # fmt: skip
SALINE = {
    "ph": 7.21, "temperature_c": 21.4, "ec_us_cm": 4280, "ca": 212, "mg": 96.4, "na": 612,
    "k": 14.7, "fe": 0.042, "ba": 0.031, "sr": 4.85, "f": 0.92, "cl": 1085, "so4": 431, "no3": 3.1,
    "sio2": 31.6, "tds_mg_l": 2690, "alkalinity_mg_l_caco3": 295,
}  # fmt: skip
ENGLISH = {
    "ph": "pH", "temperature_c": "Temperature", "ec_us_cm": "Conductivity", "ca": "Calcium",
    "mg": "Magnesium", "na": "Sodium", "k": "Potassium", "fe": "Iron", "mn": "Manganese",
    "ba": "Barium", "sr": "Strontium", "f": "Fluoride", "cl": "Chloride", "so4": "Sulfate",
    "no3": "Nitrate", "sio2": "Silica", "tds_mg_l": "Total dissolved solids",
    "alkalinity_mg_l_caco3": "Total alkalinity as CaCO3",
}  # fmt: skip
GERMAN = ENGLISH | {
    "ph": "pH-Wert", "temperature_c": "Temperatur", "ec_us_cm": "Leitfähigkeit",
    "na": "Natrium", "k": "Kalium", "fe": "Eisen", "mn": "Mangan", "f": "Fluorid",
    "cl": "Chlorid", "so4": "Sulfat", "no3": "Nitrat", "sio2": "Kieselsäure",
}  # fmt: skip
UNITS = {"ph": "", "temperature_c": "°C", "ec_us_cm": "µS/cm"}
# What a report prints beside the results: limits of some supply, and what a method can see.
LIMITS = {
    "ec_us_cm": "1500", "ca": "150", "mg": "80", "na": "180", "k": "20", "fe": "0.25", "mn": "0.07",
    "ba": "0.9", "sr": "6", "f": "1.2", "cl": "220", "so4": "230", "no3": "40", "sio2": "60",
    "tds_mg_l": "900", "alkalinity_mg_l_caco3": "400", "ph": "6.0-9.0", "temperature_c": "25",
}  # fmt: skip
DETECTED_FROM = {"fe": "0.02", "mn": "0.005", "ba": "0.002", "sr": "0.01", "f": "0.1", "no3": "0.5"}


def unit(key):
    return UNITS.get(key, "mg/L")


def rows(water, names=ENGLISH, keys=None):
    """Return name, result, unit, limit and detection limit of each analyte, as texts."""
    return [
        (names[k], f"{v:g}", unit(k), LIMITS.get(k, ""), DETECTED_FROM.get(k, "1"))
        for k, v in water.items()
        if keys is None or k in keys
    ]


def table(heads, cells, sep=","):
    """Return lines of cells with a line of headings."""
    return "\n".join(sep.join(row) for row in [heads, *cells]) + "\n"


def aligned(heads, cells, places):
    """Return lines whose cells begin at given places."""
    out = []
    for row in [heads, *cells]:
        line = ""
        for text, at in zip(row, places, strict=True):
            line = line.ljust(at) + text
        out.append(line.rstrip())
    return "\n".join(out) + "\n"
