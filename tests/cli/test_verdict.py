"""The verdict through the commands: nothing read is dropped, every answer says why."""

import json

import pytest
from typer.testing import CliRunner

from pretreat.cli import _register, app

_register()
# Hand worked: 140 L x 57.2 g/L x 0.8 / 325 mg/L = 19.7 m3, iron taking a little of it.
METER_M3 = 140 * 57.2 * 0.8 / 325

SITE = """
[water]
analysis = "report.csv"
operating_temperature_c = 14
[machine]
product_flow = "1 m3/h"
recovery = 0.6
recovery_range = [0.5, 0.75]
hours_per_day = 10
[softener]
resin_volume = "140 L"
vessel_diameter = "0.41 m"
salt_dose_g_l = 160
reserve = 0.2
"""


@pytest.fixture(scope="module")
def rated(tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    (folder / "report.csv").write_text(
        "Parameter,Result,Unit\npH,7.4,\nTotal hardness,325,mg/L as CaCO3\nIron,1.2,mg/L\n"
        "TDS,520,mg/L\n"
    )
    (folder / "site.toml").write_text(SITE)
    result = CliRunner().invoke(app, ["rate", str(folder / "site.toml"), "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_total_hardness_alone_rates_the_softener(rated):
    setting = rated["figures"]["softener.meter_setting_m3"]["value"]
    assert setting == pytest.approx(METER_M3, rel=0.05)


def test_what_was_not_measured_is_no_fit(rated):
    codes = {flag["code"] for flag in rated["flags"]}
    assert {"hardness_split_assumed", "unjudged_scale", "iron_over_code"} <= codes
    assert rated["figures"]["verdict.answer"]["value"] != "fits"
    assert rated["figures"]["verdict.probability"]["value"] is None


@pytest.mark.parametrize("command", ["rate", "size"])
def test_a_kit_with_hardness_and_ph_alone_ends_with_a_workbook(tmp_path, command):
    """Nothing of the scales is known: no reach, no "keeps its limit", no page without end."""
    report = 'analysis = "report.csv"\noperating_temperature_c = 14'
    (tmp_path / "site.toml").write_text(SITE.replace(report, 'hardness = "21 gpg"\nph = 7.3'))
    book = tmp_path / "x.xlsx"
    result = CliRunner().invoke(app, [command, str(tmp_path / "site.toml"), "-o", str(book)])
    assert result.exit_code == 0, result.output
    said = " ".join(result.stdout.split())
    assert "no scale could be judged" in said
    assert "keeps its limit" not in said
    assert "none could be judged: no scale can be computed" in said
    assert book.stat().st_size > 0


SPLIT = """Parameter,Result,Unit
pH (field),7.3,
Temperature,14,°C
Alkalinity as CaCO3,260,mg/L
Total hardness,325,mg/L as CaCO3
Sodium,45,mg/L
Chloride,40,mg/L
Sulfate,60,mg/L
Silica,15,mg/L
Barium,0.01,mg/L
Strontium,0.3,mg/L
Fluoride,0.3,mg/L
Iron,0.01,mg/L
Manganese,0.01,mg/L
"""


def run(folder, command, site, report, *words):
    (folder / "report.csv").write_text(report)
    (folder / "site.toml").write_text(site)
    what = "report.csv" if command == "scaling" else "site.toml"
    result = CliRunner().invoke(app, [command, str(folder / what), "--json", *words])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def value(study, key):
    return study["figures"][key]["value"]


@pytest.mark.parametrize("command", ["scaling", "size"])
def test_both_extremes_of_the_split_are_shown_as_recoveries(tmp_path, command):
    """More calcium, more calcite: all calcium allows least, all magnesium most."""
    site = SITE.partition("[softener]")[0].replace("operating_temperature_c = 14", "")
    site += '[limits]\ninhibitor = true\n[train]\nstages = ["inhibitor", "cartridge"]\n'
    words = ("--recovery", "0.6", "--inhibitor") if command == "scaling" else ()
    study = run(tmp_path, command, site, SPLIT, *words)
    low, high = (value(study, f"recovery.max_all_{k}") for k in ("calcium", "magnesium"))
    assert low < value(study, "recovery.max") < high
    (flag,) = [f for f in study["flags"] if f["code"] == "hardness_split_assumed"]
    assert f"{int(100 * low)} % if all of it were calcium" in flag["text"]
    assert f"{int(100 * high)} % if all were magnesium" in flag["text"]


def test_a_site_hardness_beside_a_report_is_used_and_flagged(tmp_path):
    site = SITE.replace('analysis = "report.csv"', 'analysis = "report.csv"\nhardness = "420 mg/L"')
    study = run(tmp_path, "rate", site, SPLIT)
    assert any(
        f["code"] == "site_value_used" and f["figure"] == "water.hardness_mg_l_caco3"
        for f in study["flags"]
    )
    meter = value(study, "softener.meter_setting_m3")
    assert meter == pytest.approx(140 * 57.2 * 0.8 / 420, rel=0.02)


COLD = (
    SPLIT.replace("Total hardness,325,mg/L as CaCO3", "Calcium,30,mg/L\nMagnesium,8,mg/L")
    .replace("Silica,15", "Silica,75")
    .replace("Temperature,14", "Temperature,18")
    .replace("CaCO3,260", "CaCO3,120")
    .replace("(field),7.3", "(field),6.8")
)


def test_cold_water_that_cannot_hold_its_silica_is_no_fit(tmp_path):
    """Silica 75 mg/L: 0.21 is reached at 14 °C, 0.25 at 18 °C."""
    site = (
        '[water]\nanalysis = "report.csv"\noperating_temperature_c = 18\n'
        "coldest_temperature_c = 14\n[machine]\nproduct_flow = '1 m3/h'\nrecovery = 0.25\n"
        'hours_per_day = 10\n[train]\nstages = ["cartridge"]\n'
    )
    study = run(tmp_path, "size", site, COLD)
    assert value(study, "verdict.answer") in {"depends", "does not fit"}
    assert "coldest" in value(study, "verdict.reasons")


@pytest.mark.parametrize("ph", [7.1, 7.3, 7.5])
def test_the_spread_of_a_ph_covers_its_neighbours(tmp_path, ph):
    """The limits at pH 7.1, 7.3 and 7.5 differ by some 6 points: P10 to P90 says so."""
    study = run(
        tmp_path, "scaling", SITE, SPLIT.replace("pH (field),7.3", f"pH (field),{ph}"),
        "--recovery", "0.6", "--inhibitor",
    )  # fmt: skip
    most = study["figures"]["recovery.max"]
    assert most["p10"] < most["value"] < most["p90"]
    assert most["p90"] - most["p10"] > 0.03
    assert value(study, "verdict.measure_next")


def test_the_card_never_orders_a_recovery_over_the_limit(tmp_path):
    """60 % asked, far less allowed: the card orders what is kept, or not to run at all."""
    site = SITE.partition("[softener]")[0] + '[train]\nstages = ["cartridge"]\n'
    study = run(tmp_path, "size", site, SPLIT)
    assert value(study, "verdict.answer") == "does not fit"
    assert value(study, "settings.order").startswith("DO NOT RUN")
    for key in ("split", "feed_l_min", "product_l_min", "drain_l_min", "feed_gpm"):
        assert f"settings.{key}" not in study["figures"]
    allowed = [row[-2] for row in study["series"]["settings.by_recovery"]["rows"]]
    assert "yes" not in allowed
    assert any(f["code"] == "do_not_run" for f in study["flags"])


KIT_KEYS = """
[water]
hardness = "19 gpg"
iron = "0.02 mg/L"
manganese = "0.01 mg/L"
ph = 7.4
alkalinity = "280 mg/L"
tds = "600 mg/L"
conductivity = "900 uS/cm"
silica = "22 mg/L"
chlorine = "0 mg/L"
temperature_c = 11
[machine]
product_flow = "1 m3/h"
recovery = 0.6
hours_per_day = 20
[softener]
resin_volume = "140 L"
vessel_diameter = "0.41 m"
salt_dose_g_l = 160
"""


def test_a_kit_takes_every_key(tmp_path):
    study = run(tmp_path, "rate", KIT_KEYS, "")
    for key, wanted in {
        "water.hardness_printed_mg_l_caco3": 19 * 17.118,
        "water.ph": 7.4,
        "water.alkalinity_mg_l_caco3": 280,
        "water.ec_us_cm": 900,
        "water.sio2_mg_l": 22,
        "water.temperature_c": 11,
        "water.operating_temperature_c": 11,
    }.items():
        assert value(study, key) == pytest.approx(wanted, rel=1e-3), key
    assert value(study, "recovery.limited_by") == "silica"
    assert "could not be computed" not in value(study, "verdict.reasons")


def test_a_kit_without_ph_keeps_the_rest_and_asks_for_it(tmp_path):
    study = run(tmp_path, "rate", KIT_KEYS.replace("ph = 7.4\n", ""), "")
    assert value(study, "water.alkalinity_mg_l_caco3") == 280
    assert value(study, "water.sio2_mg_l") == 22
    assert any(f["code"] == "ph_missing" for f in study["flags"])
    assert value(study, "verdict.answer") == "depends"
    assert value(study, "softener.meter_setting_m3") > 0


def test_silica_without_alkalinity_is_still_judged(tmp_path):
    study = run(tmp_path, "rate", KIT_KEYS.replace('alkalinity = "280 mg/L"\n', ""), "")
    assert value(study, "recovery.limited_by") == "silica"
    assert "alkalinity" in value(study, "verdict.reasons")


@pytest.mark.parametrize("coldest", ["", "coldest_temperature_c = 1"])
def test_cold_or_unknown_water_is_computed_in_every_draw(tmp_path, coldest):
    """A draw below freezing is water of 0 °C, not a draw that fails."""
    site = KIT_KEYS.replace("temperature_c = 11", coldest)
    study = run(tmp_path, "rate", site, "")
    assert "could not be computed" not in value(study, "verdict.reasons")
    (flag,) = [f for f in study["flags"] if f["code"] == "temperature_assumed"]
    assert "25 °C" in flag["text"]
    assert value(study, "train.coldest_c") == (1.0 if coldest else 5.0)


def test_water_without_hardness_is_computed(tmp_path):
    study = run(
        tmp_path, "size", KIT_KEYS.partition("[softener]")[0].replace("19 gpg", "0 gpg"), ""
    )
    assert "could not be computed" not in value(study, "verdict.reasons")
    assert value(study, "recovery.limited_by") == "silica"


def test_the_quote_has_one_sentence_where_it_does_not_simply_fit(tmp_path):
    site = SITE.partition("[softener]")[0] + '[train]\nstages = ["cartridge"]\n'
    report = SPLIT.replace("pH (field)", "Sampled,2031-05-02,\npH (field)")
    sentence = value(run(tmp_path, "size", site, report), "verdict.quote_sentence")
    assert "maximum recovery is" in sentence
    assert "60 %" in sentence
    assert sentence.count(".") - sentence.count(" no ") <= 1
    kit = run(tmp_path, "rate", KIT_KEYS.replace("ph = 7.4\n", ""), "")
    assert "No maximum recovery" in value(kit, "verdict.quote_sentence")


def test_a_fit_says_nothing_on_the_quote():
    from pretreat.plant.verdict.quote_words import quote_sentence

    assert quote_sentence("fits", "2031-05-02", 0.6, 0.8) is None
    told = quote_sentence("does not fit", "2031-05-02", 0.65, 0.5869)
    assert told is not None
    assert "2031-05-02" in told
    assert "58 %" in told  # rounded down


BARE = '[train]\nstages = ["softener", "cartridge"]\n'
SOUND = SPLIT.replace("Total hardness,325,mg/L as CaCO3", "Calcium,60,mg/L\nMagnesium,15,mg/L")


def answer(folder, report, more=""):
    site = SITE.partition("[softener]")[0].replace("0.6", "0.5") + more
    return run(folder, "size", site, report)


def test_a_sound_report_and_train_fit(tmp_path):
    report = SOUND.replace("Sodium,45", "Sodium,62")
    study = answer(tmp_path, report)
    assert value(study, "verdict.answer") == "fits"
    assert value(study, "verdict.probability") >= 0.9
    assert "verdict.quote_sentence" not in study["figures"]


@pytest.mark.parametrize(
    ("change", "more", "word"),
    [
        (("Sodium,45", "Sodium,230"), "", "balance"),  # grossly unbalanced
        (("Iron,0.01", "Iron,0.9"), BARE, "iron"),
        (("Fluoride,0.3,mg/L", "Fluoride,0.3,mg/L\nSDI,9,%/min"), BARE, "silt density"),
    ],
)
def test_what_nobody_would_sign_is_no_bare_fit(tmp_path, change, more, word):
    report = SOUND.replace("Sodium,45", "Sodium,62") if change[0] != "Sodium,45" else SOUND
    study = answer(tmp_path, report.replace(*change), more)
    assert value(study, "verdict.answer") != "fits"
    why = " ".join(str(row[1]) for row in study["series"]["verdict.why"]["rows"])
    assert word in why.lower()


def test_the_machine_counts_in_the_verdict(tmp_path):
    """Vessels for 5 bar: the pressure stops it."""
    site = SITE.partition("[softener]")[0].replace("0.6", "0.5")
    site = site.replace("[machine]", '[machine]\nelement = "4x40"\nvessel_pressure = "5 bar"')
    study = run(tmp_path, "size", site, SOUND.replace("Sodium,45", "Sodium,62"))
    assert value(study, "verdict.answer") == "does not fit"
    assert value(study, "verdict.reasons").startswith("feed pressure")


FITTING = SOUND.replace("Sodium,45", "Sodium,62")


def test_iron_far_above_what_membranes_take_does_not_fit(tmp_path):
    study = answer(tmp_path, FITTING.replace("Iron,0.01", "Iron,2.4"), BARE)
    assert value(study, "verdict.answer") == "does not fit"
    assert value(study, "verdict.reasons").startswith("iron + manganese")
    assert value(study, "verdict.measure_next").startswith("nothing")


def test_ions_that_do_not_balance_leave_it_open(tmp_path):
    study = answer(tmp_path, SOUND.replace("Sodium,45", "Sodium,230"))
    assert value(study, "verdict.answer") == "depends"
    assert value(study, "verdict.reasons").startswith("ion balance")


def test_turbidity_ahead_of_a_filter_is_a_condition(tmp_path):
    report = FITTING.replace("Fluoride,0.3,mg/L", "Fluoride,0.3,mg/L\nTurbidity,6,NTU")
    study = answer(tmp_path, report, '[train]\nstages = ["multimedia", "softener", "cartridge"]\n')
    assert "turbidity is 6 NTU" in value(study, "verdict.reasons")
    assert value(study, "verdict.answer") != "fits"


def test_arsenic_is_named_where_the_water_is_drunk_and_where_nobody_says(tmp_path):
    report = FITTING.replace("Fluoride,0.3,mg/L", "Fluoride,0.3,mg/L\nArsenic,0.09,mg/L")
    study = answer(tmp_path, report, '[product]\ntarget = "drinking"\njurisdiction = "us"\n')
    assert "not computed: arsenic" in value(study, "verdict.reasons")
    study = answer(tmp_path, report)
    assert [f for f in study["flags"] if f["code"] == "health_if_drunk" and "arsenic" in f["text"]]


def test_barium_not_measured_behind_a_softener_is_a_caution(tmp_path):
    report = FITTING.replace("Barium,0.01,mg/L\n", "").replace("Sulfate,60", "Sulfate,160")
    study = answer(tmp_path, report.replace("Sodium,62", "Sodium,110"), BARE)
    assert value(study, "verdict.answer") == "fits with conditions"
    assert "barium" in value(study, "verdict.reasons")


def test_what_could_not_be_judged_is_not_told_as_no_recovery(tmp_path):
    study = answer(tmp_path, FITTING.replace("Silica,15,mg/L\n", "").replace("0.5", "0.7"))
    said = [f["text"] for f in study["flags"] if f["figure"] == "verdict.card_recovery"]
    assert not [text for text in said if "no recovery is kept" in text]
    for text in said:
        assert "for want of" in text
