"""What was seen or smelt, in words of a report.

Source of the expectations: common practice, no source (a smell of rotten eggs is sulfide, water
that turns brown holds iron); nothing printed is taken from a report of anyone.
"""

import pytest

from pretreat.core.water import WaterAnalysis
from pretreat.lab.observed import OBSERVED, TOLD_ONLY
from pretreat.lab.reading import read_analysis

HEAD = "Sample,Heron Bank\n{above}Parameter,Value,Unit\npH,7.4,\n{line}"
REST = "Calcium,60,mg/L\nMagnesium,12,mg/L\nSodium,40,mg/L\nChloride,30,mg/L\n{more}"


def analysed(tmp_path, line="", above="", more="") -> WaterAnalysis:
    path = tmp_path / "report.csv"
    path.write_text(HEAD.format(above=above, line=line) + REST.format(more=more), "utf-8")
    return read_analysis(path)


def told(water: WaterAnalysis, code: str = OBSERVED) -> str:
    return " | ".join(f.text for f in water.flags if f.code == code)


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("Odour,rotten eggs (strong),\n", "hydrogen sulfide"),
        ("Odour,slight H2S,\n", "hydrogen sulfide"),
        ("Geruch,schwach nach Schwefelwasserstoff,\n", "hydrogen sulfide"),
        ("Odeur,oeufs pourris,\n", "hydrogen sulfide"),
        ("Olor,huevos podridos,\n", "hydrogen sulfide"),
        ('Appearance,"clear, turns brown on standing",\n', "iron"),
        ("Colour,reddish,\n", "iron"),
        ("Aussehen,braune Flocken nach Stehen,\n", "iron"),
        ("Taste,metallic,\n", "iron"),
        ("Odour,solvent,\n", "volatile organics"),
        ("Smell,chlorine,\n", "free and total chlorine"),
        ("Appearance,cloudy,\n", "silt density"),
        ("Appearance,some sand,\n", "suspended solids"),
        ("Odour,sewage,\n", "germs"),
    ],
)
def test_a_word_without_its_number_asks_for_it(tmp_path, line, asked):
    assert asked in told(analysed(tmp_path, line))


@pytest.mark.parametrize(
    "above",
    [
        'Remarks,"strong smell of rotten eggs at sampling; brown on standing"\n',
        "Bemerkung,Probe riecht nach faulen Eiern; wird beim Stehen braun\n",
        "Comment: smelled of H2S; turned brown\n",
    ],
)
def test_remarks_above_the_table_count(tmp_path, above):
    text = told(analysed(tmp_path, above=above))
    assert "hydrogen sulfide" in text
    assert "iron and manganese" in text


@pytest.mark.parametrize(
    "line",
    [
        "Odour,none,\n",
        "Odour,odourless,\n",
        "Odour,no smell of H2S,\n",
        "Geruch,ohne,\n",
        "Geruch,geruchlos,\n",
        'Appearance,"clear, colourless, no sediment",\n',
        "Appearance,clear on standing,\n",
        "Couleur,incolore,\n",
        "Odour,not detected,\n",
        "Sulfide,preserved with zinc acetate,\n",
    ],
)
def test_nothing_seen_tells_nothing(tmp_path, line):
    water = analysed(tmp_path, line)
    assert not told(water)
    assert not told(water, TOLD_ONLY)


@pytest.mark.parametrize(
    "above",
    [
        "Remarks,brown glass bottle; sand filter upstream; chlorine free bottles\n",
        "Note,Sulfide preserved with zinc acetate\n",
        "Remarks,thiosulfate added against chlorine\n",
    ],
)
def test_remarks_about_bottles_tell_nothing(tmp_path, above):
    assert not told(analysed(tmp_path, above=above))


def test_a_number_explains_the_word(tmp_path):
    line = "Odour,rotten eggs,\nAppearance,turns brown on standing,\n"
    more = "Hydrogen sulfide,1.2,mg/L\nIron,1.5,mg/L\n"
    assert not told(analysed(tmp_path, line, more=more))


def test_a_number_that_contradicts_the_word_explains_nothing(tmp_path):
    line = "Odour,rotten eggs,\nAppearance,turns brown on standing,\n"
    more = 'Hydrogen sulfide,<0.02,mg/L\n"Iron, dissolved",0.02,mg/L\n'
    text = told(analysed(tmp_path, line, more=more))
    assert "hydrogen sulfide" in text
    assert "iron" in text


def test_a_smell_of_earth_is_told_alone(tmp_path):
    water = analysed(tmp_path, "Odour,earthy,\n")
    assert not told(water)
    assert "flush the well" in told(water, TOLD_ONLY)
