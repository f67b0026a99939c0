"""Every result is called by its name and shown in its unit, never by a key."""

import re
import subprocess
import sys

import pytest

from pretreat.core.tables import rows
from pretreat.lab.named import name_and_unit

LINES = """Analyte,Result,Unit
pH (field),7.3,
pH (lab),7.5,
Temperature,15,°C
Conductivity,640,µS/cm
Calcium,40,mg/L
Magnesium,10,mg/L
Sodium,75,mg/L
Bicarbonate,183,mg/L
Phenolphthalein alkalinity,0,mg/L as CaCO3
Total hardness,141,mg/L as CaCO3
Calcium hardness,100,mg/L as CaCO3
Non-carbonate hardness,0,mg/L as CaCO3
Sulfate,40,mg/L
Chloride,82,mg/L
TDS,400,mg/L
Free CO2,12,mg/L
SDI,2,
Turbidity,0.2,NTU
TOC,0.6,mg/L
TSS,1,mg/L
Colour,5,Pt-Co
Redox potential,-120,mV
Dissolved oxygen,2,mg/L
Total chlorine,0,mg/L
Total phosphorus,0.1,mg/L
Radium 226,1,pCi/L
E. coli,0,/100 mL
"""
# Units of the trade: ASTM D4189 (silt density index, % a minute), D1498 (redox potential, mV).
READ = {
    "SDI": "silt density index 2 %/min",
    "Redox potential": "redox potential -120 mV",
    "TOC": "total organic carbon 0.6 mg/L",
    "Free CO2": "carbon dioxide 12 mg/L",
    "Colour": "colour 5 Pt-Co",
    "Calcium hardness": "calcium hardness as CaCO3 100 mg/L",
    "Radium 226": "radium 226 1 pCi/L",
}


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    path = tmp_path_factory.mktemp("names") / "well.csv"
    path.write_text(LINES, encoding="utf-8")
    command = [sys.executable, "-c", "from pretreat.cli import main; main()", "check", str(path)]
    found = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=True)
    return found.stdout.partition("As printed")[2]


@pytest.mark.parametrize(("name", "read"), READ.items())
def test_a_result_is_shown_by_name_and_unit(printed, name, read):
    after = " ".join(printed.split(f" {name} |")[1].split())
    assert read in after.partition(" line ")[0]


def test_no_key_is_printed(printed):
    assert not re.search(r" mg l| mv | ntu | pt co", printed)


def test_no_property_has_a_unit_of_mass_that_its_key_does_not_name():
    for row in rows("properties.csv"):
        mass = row["key"].endswith(("_mg_l", "_mg_l_caco3"))
        assert (name_and_unit(row["key"])[1] == "mg/L") is mass
