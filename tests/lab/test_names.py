"""What a printed name means: ten languages, false friends, basis, fraction, unit."""

import pytest

from pretreat.core.tables import rows
from pretreat.core.units.concentration import concentration_unit
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.wording import folded

CASES = {
    # name: key, basis, fraction, field or lab, unit. Common practice of labs.
    "Alkalinity, bicarbonate (as CaCO3)": ("alkalinity_hco3", "CaCO3", "", "", ""),
    "Fe(tot), mg/L": ("fe", "", "total", "", "mg/L"),
    "Eisen, gelöst": ("fe", "", "dissolved", "", ""),
    "Dissolved iron (Fe)": ("fe", "", "dissolved", "", ""),
    "EC (µS/cm)": ("ec", "", "", "", "µS/cm"),
    "NO3-N, mg/L": ("no3", "N", "", "", "mg/L"),
    "Nitrate nitrogen, total": ("no3", "N", "total", "", ""),
    "Ammonium (NH4-N)": ("nh4", "N", "", "", ""),
    "Kieselsäure (SiO2)": ("sio2", "SiO2", "", "", ""),
    "Field pH": ("ph", "", "", "field", ""),
    "Specific Conductance @ 25C (field)": ("ec", "", "", "field", ""),
    "Hardness, total (mg/L as CaCO3)": ("hardness", "", "total", "", "mg/L as CaCO3"),
    "B  [µg/L]": ("b", "", "", "", "µg/L"),
    "HCO3_mg_L": ("hco3", "", "", "", "mg/L"),
    "temperature_c": ("temperature", "", "", "", "C"),
    "Barium (ICP-MS)": ("ba", "", "", "", ""),
    "ec_lab": ("ec", "", "", "lab", ""),
}

FALSE_FRIENDS = {
    "Bar": "ba", "Bor": "b", "Boro": "b", "Natrium": "na", "Kalium": "k", "Sód": "na", "Potas": "k",
    "Azotany": "no3", "Azotyny": "no2", "Chlor": "free_chlorine", "Chlore": "free_chlorine",
    "Cloro": "free_chlorine", "Fluor": "f", "Flúor": "f", "Glin": "al", "Manganês": "mn",
    "Manganese": "mn",
    "Mangan": "mn", "TAC": "alkalinity", "TA": "alkalinity_ta", "p-Wert": "alkalinity_p",
    "m-Wert": "alkalinity", "Dureza": "hardness", "TH": "hardness", "GH": "hardness", "Th": "other",
    "Ce": "other", "CE": "ec", "Sc": "other", "SC": "ec", "Residuo fisso": "tds",
    "Résidu sec": "tds",
    "Arsen": "as", "As": "as", "Silicium": "sio2", "Lit": "other",
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(CASES))
def test_name(name):
    found = named_analyte(name)
    got = (found.key, found.basis, found.fraction, found.measured_in, found.unit)
    expected = CASES[name]
    if not expected[1] and found.basis == found.key.upper():
        got = (found.key, "", *got[2:])  # the basis is the ion itself
    assert got == expected


@pytest.mark.parametrize("name", sorted(FALSE_FRIENDS))
def test_false_friend(name):
    assert named_analyte(name).key == FALSE_FRIENDS[name]


@pytest.mark.parametrize(
    "name",
    [
        "Sodium, percent",
        "Calcium oxalate",
        "Groundwater",
        "Total",
        "mg/L",
        "",
        "142",
        "Iron bacteria count",
        "W-1",
    ],
)
def test_half_known_names_are_not_known(name):
    """A name is read whole or not at all: percent sodium is not sodium."""
    assert named_analyte(name).key in {"", "other"}


@pytest.mark.parametrize("name", ["İletkenlik", "ILETKENLIK", "iletkenlik", "İLETKENLİK"])
def test_turkish_dotted_and_dotless(name):
    assert named_analyte(name).key == "ec"


def test_an_alias_means_one_thing():
    """Where folding makes two names equal, their spelling tells them apart, and only these."""
    meanings = {}
    for row in rows("aliases.csv"):
        if row["kind"] == "analyte":
            meanings.setdefault(folded(row["alias"]), set()).add((row["key"], row["basis"]))
    double = {name for name, found in meanings.items() if len({key for key, _ in found}) > 1}
    assert double <= {"sc", "ce", "th", "ta", "sulfur", "cod", "pwert"}


@pytest.mark.parametrize(
    "unit", ["mg/L", "µg/l", "mg/L as N", "meq/L", "°dH", "µS/cm", "NTU", "°C", "s.u.", "gpg"]
)
def test_units(unit):
    assert is_unit(unit)


@pytest.mark.parametrize("text", ["Result", "Ca", "142", "", "W-1", "Method", "EPA 200.7"])
def test_no_units(text):
    assert not is_unit(text)


CHARGED = {
    "Nitrate as NO3-": ("no3", "NO3"),
    "Sulphate as SO42-": ("so4", "SO4"),
    "Sulfate, as SO4 2-": ("so4", "SO4"),
    "Phosphate as PO43-": ("po4", "PO4"),
    "Barium as Ba2+": ("ba", "Ba"),
    "Calcium as Ca++": ("ca", "Ca"),
    "Nitrat als NO3\u2212": ("no3", "NO3"),
    "Sulphide, total as S2-": ("h2s", "S"),
    "Sulfide as H2S": ("h2s", "H2S"),
    "Sulfide (S2-)": ("h2s", "S"),
}


@pytest.mark.parametrize("name", sorted(CHARGED))
def test_a_basis_may_carry_its_charge(name):
    found = named_analyte(name)
    assert (found.key, found.basis) == CHARGED[name]


@pytest.mark.parametrize("unit", ["mg/L as NO3-", "mg/L (as NO3\u2212)", "mg/l as NO3"])
def test_a_unit_may_carry_the_charge_of_its_ion(unit):
    assert concentration_unit(unit).species == "NO3"
