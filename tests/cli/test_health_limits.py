"""Limits of drinking water by body, nitrate with nitrite, germs, forms of arsenic, other names.

Limits from memory of the texts (see data/health_limits.csv): WHO guidelines 4th edition with
addenda, EU 2020/2184 Annex I, 40 CFR 141.62 and 141.80. Sums by hand.
"""

import pytest

from tests.cli.test_health import flags, run, value

CLEAN = """Parameter,Result,Unit
pH (field),7.2,
Temperature,15,°C
Alkalinity as CaCO3,180,mg/L
Calcium,60,mg/L
Magnesium,15,mg/L
Sodium,40,mg/L
Chloride,45,mg/L
Sulfate,60,mg/L
"""
DRINKING = '[product]\ntarget = "drinking"\njurisdiction = "{}"\n'
# µg/L just above each limit.
OVER = {
    "who": {
        "Lead": 10.5, "Cadmium": 3.2, "Nickel": 72, "Antimony": 21, "Selenium": 41, "Mercury": 6.2,
        "Chromium": 51, "Copper": 2050, "Arsenic": 10.5, "Uranium": 31, "Manganese": 85,
    },
    "eu": {
        "Lead": 10.5, "Cadmium": 5.2, "Nickel": 21, "Antimony": 10.5, "Selenium": 21,
        "Mercury": 1.1, "Chromium": 51, "Copper": 2050, "Cyanide": 52, "Uranium": 31,
    },
    "us": {
        "Lead": 15.5, "Cadmium": 5.2, "Antimony": 6.2, "Selenium": 51, "Mercury": 2.1,
        "Chromium": 105, "Copper": 1350, "Beryllium": 4.2, "Thallium": 2.1, "Cyanide": 210,
    },
}  # fmt: skip


def told(study, code="health_limit"):
    return {f["text"].split(" is ")[0].split(" (")[0]: f for f in flags(study, code)}


@pytest.mark.parametrize("body", OVER)
def test_limits_of_each_body(tmp_path, body):
    rows = "".join(f"{name},{amount},µg/L\n" for name, amount in OVER[body].items())
    found = told(run(tmp_path, DRINKING.format(body), CLEAN + rows))
    assert {name.lower() for name in OVER[body]} <= set(found)
    assert {f["level"] for f in found.values()} == {"warning"}


@pytest.mark.parametrize("body", OVER)
def test_just_below_nothing_is_told_by_that_body(tmp_path, body):
    rows = "".join(f"{name},{0.9 * amount},µg/L\n" for name, amount in OVER[body].items())
    found = told(run(tmp_path, DRINKING.format(body), CLEAN + rows))
    assert not [f for f in found.values() if "secondary" not in f["text"]]


@pytest.mark.parametrize("body", OVER)
def test_naming_a_body_hides_no_limit_of_another(tmp_path, body):
    rows = {name: amount for one in OVER.values() for name, amount in one.items()}
    text = CLEAN + "".join(f"{name},{amount},µg/L\n" for name, amount in rows.items())
    every = set(told(run(tmp_path, '[product]\ntarget = "drinking"\n', text)))
    study = run(tmp_path, DRINKING.format(body), text)
    elsewhere = told(study, "health_limit_elsewhere")
    assert set(told(study)) | set(elsewhere) == every
    assert all("does not bind here" in f["text"] for f in elsewhere.values())


# mg/L as the ion. US: 10 mg/L as N, 43 x 0.2259 + 3.1 x 0.3045 = 10.66. Ratios: 42/50 + 2.9/3.
@pytest.mark.parametrize(
    ("body", "no3", "no2", "over"),
    [
        ("us", 43, 3.1, True), ("us", 40, 3.1, False), ("who", 42, 2.9, True),
        ("who", 20, 1.5, False), ("eu", 46, 0.45, True), ("eu", 40, 0.45, False),
    ],
)  # fmt: skip
def test_nitrate_and_nitrite_together(tmp_path, body, no3, no2, over):
    text = CLEAN + f"Nitrate as NO3,{no3},mg/L\nNitrite as NO2,{no2},mg/L\n"
    study = run(tmp_path, DRINKING.format(body), text)
    assert bool([f for f in flags(study, "health_limit") if "nitrite" in f["text"]]) is over


@pytest.mark.parametrize(
    ("more", "result"),
    [
        *(("", result) for result in ("12", "present", ">200.5", "Positive")),
        (DRINKING.format("eu"), "present"),
        *(
            pytest.param(DRINKING.format("eu"), result, marks=pytest.mark.thorough)
            for result in ("12", ">200.5", "Positive")
        ),
    ],
)
def test_germs_are_a_warning(tmp_path, result, more):
    (flag,) = flags(run(tmp_path, more, CLEAN + f"E. coli,{result},CFU/100 mL\n"), "germs")
    assert flag["level"] == "warning"
    assert "E. coli" in flag["text"]


@pytest.mark.parametrize("result", ["<1", "absent", "0", "not detected"])
def test_no_germs_no_warning(tmp_path, result):
    study = run(tmp_path, "", CLEAN + f"Total coliforms,{result},MPN/100 mL\n", "check")
    assert not flags(study, "germs")


def test_half_a_radium_is_said(tmp_path):
    study = run(tmp_path, "", CLEAN + "Radium-226,4.8,pCi/L\n", "check")
    assert "228 was not measured" in flags(study, "radium_in_part")[0]["text"]
    both = run(tmp_path, "", CLEAN + "Radium-226,2,pCi/L\nRadium-228,1,pCi/L\n", "check")
    assert not flags(both, "radium_in_part")


@pytest.mark.parametrize(
    "name", ["Arsenic (III)", "Arsenite", "Arsenic III", "As(III)", "Arsenic (V)", "Arsenate"]
)
def test_forms_of_arsenic(tmp_path, name):
    study = run(tmp_path, DRINKING.format("us"), CLEAN + f"{name},25,ug/L\n")
    assert value(study, "water.as_mg_l") == pytest.approx(0.025)
    assert "arsenic" in told(study)
    both = CLEAN + "Arsenite,20,ug/L\nArsenate,5,ug/L\n"
    assert value(run(tmp_path, "", both, "check"), "water.as_mg_l") == pytest.approx(0.025)


# Molar masses: H4SiO4 96.11, SiO2 60.08, P2O5 141.94, PO4 94.97, BO3 58.81, B 10.81.
@pytest.mark.parametrize(
    ("row", "key", "expected"),
    [
        ("Silicic acid (H4SiO4),32", "sio2", 32 * 60.08 / 96.11),
        ("P2O5,1", "po4", 2 * 94.97 / 141.94),
        ("Borate as B,0.4", "b", 0.4),
        ("Borate (BO3),1", "b", 10.81 / 58.81),
    ],
)
def test_names_of_species(tmp_path, row, key, expected):
    study = run(tmp_path, "", f"{CLEAN}{row},mg/L\n", "check")
    assert value(study, f"water.{key}_mg_l") == pytest.approx(expected, rel=1e-3)
