"""Behind the membranes each stage takes the water of the one before it.

Outside reference: PHREEQC 3.8.6 with wateq4f.dat, closed to the air. Blends and stoichiometry by
hand: 39.997 g of NaOH and 100.09 g of calcite for 44.009 g of carbon dioxide.
"""

import pytest

from tests.chemistry.phreeqc_reference import Reference

ELEMENT = 'element = "4x40"'
# A water that acid makes rich in carbon dioxide: most of its alkalinity becomes gas.
HARD = {"Alkalinity [mg/L as CaCO3]": "250", "Fluoride [mg/L]": "1.0"}
ACID = '[acid]\ntarget_ph = 6.3\n'  # fmt: skip
FED = ("acid", "cartridge")
DRINKING = '[product]\ntarget = "drinking"\njurisdiction = "{}"\n'


def phreeqc(co2, alkalinity, temp_c, *, naoh=0.0, calcite=False, calcite_mmol=0.0):
    """Return pH and calcite dissolved [mg/L as CaCO3] of CO2 [mg/L] in water of some NaHCO3.

    ``alkalinity`` in mg/L as CaCO3, ``naoh`` in mg/L.
    """
    bound = alkalinity / 50.045
    text = (
        f"SOLUTION 1\ntemp {temp_c}\npH 7 charge\nunits mmol/kgw\nNa {bound + 1e-6}\n"
        f"C(4) {bound}\nEND\nUSE solution 1\nREACTION 1\nCO2 {co2 / 44.009}\n"
        f"NaOH {naoh / 39.997}\nCaCO3 {calcite_mmol}\n1 millimole\n"
    )
    if calcite:
        text += "EQUILIBRIUM_PHASES 1\nCalcite 0 10\n"
    engine = Reference().engine
    out = "SELECTED_OUTPUT\n-reset false\n-pH true\n-equilibrium_phases Calcite\n-totals Ca\nEND\n"
    assert engine.RunString(text + out) == 0, engine.GetErrorString()
    found = {k: v[-1] for k, v in engine.GetSelectedOutput().items()}
    return found["pH"], found["Ca(mol/kgw)"] * 100_090.0


def target(study):
    """Return state and values of the table of the target by name of the parameter."""
    table = study["series"]["product.against_target"]
    return {row[0]: dict(zip(table["columns"], row, strict=True)) for row in table["rows"]}


def codes(study):
    return {flag["code"]: flag for flag in study["flags"]}


def number(study, key):
    return study["figures"][key]["value"]


@pytest.fixture
def study(site):
    def run(stages, more="", water=None, machine=ELEMENT, recovery=0.4):
        code, found, error = site(stages, more, water, machine=machine, recovery=recovery)
        assert code == 0, error
        return found

    return run


@pytest.mark.parametrize("degassed", [False, True])
def test_alkali_is_for_the_carbon_dioxide_that_is_left(study, degassed):
    behind = ("product_degasser", "product_alkali") if degassed else ("product_alkali",)
    found = study((*FED, *behind), ACID, HARD)
    held = number(found, "product.co2_mg_l")
    left = number(found, "product_degasser.co2_mg_l") if degassed else held
    assert left < 0.25 * held if degassed else left > 50
    dose = number(found, "product_alkali.dose_mg_l")
    assert dose == pytest.approx(0.9 * left * 39.997 / 44.009, rel=1e-3)
    ph, _ = phreeqc(left, number(found, "product.alkalinity_mg_l_caco3"), 15, naoh=dose)
    assert number(found, "delivered.ph") == pytest.approx(ph, abs=0.1)
    assert 6.5 < ph < 9.5
    assert "delivered_ph" not in codes(found)


def test_too_much_alkali_is_warned_of(study):
    """The dose for the water ahead of its degasser: pH 11 and more."""
    more = ACID + '[product_alkali]\ndose = "80 mg/L"\n'
    found = study((*FED, "product_degasser", "product_alkali"), more, HARD)
    left = number(found, "product_degasser.co2_mg_l")
    ph, _ = phreeqc(left, number(found, "product.alkalinity_mg_l_caco3"), 15, naoh=80)
    assert ph > 10.5
    assert number(found, "delivered.ph") == pytest.approx(ph, abs=0.1)
    assert codes(found)["delivered_ph"]["level"] == "warning"
    assert "delivered water has a pH" in number(found, "verdict.reasons")


@pytest.mark.parametrize("machine", [ELEMENT, ""])
@pytest.mark.parametrize("degassed", [False, True])
def test_calcite_dissolves_what_the_gas_that_is_left_allows(study, degassed, machine):
    behind = ("product_degasser",) if degassed else ()
    found = study((*FED, *behind, "neutralising_filter"), ACID, HARD, machine)
    co2 = "product.co2_mg_l" if machine else "acid.co2_mg_l"
    gas = number(found, "product_degasser.co2_mg_l" if degassed else co2)
    own = number(found, "product.alkalinity_mg_l_caco3") if machine else 0.0
    ph, dissolved = phreeqc(gas, own, 15, calcite=True)
    assert number(found, "neutralising_filter.dissolved_mg_l_caco3") == pytest.approx(
        dissolved, rel=0.03
    )
    assert number(found, "neutralising_filter.ph_out") == pytest.approx(ph, abs=0.1)
    # Nine tenths of the gas are used in the usual contact (common practice).
    taken = min(0.9 * gas / 44.009, dissolved / 100.09)
    ph, _ = phreeqc(gas, own, 15, calcite_mmol=taken)
    assert number(found, "delivered.ph") == pytest.approx(ph, abs=0.1)
    # 1 m3/h for 20 h/d: the year by hand.
    assert number(found, "neutralising_filter.dissolved_kg_per_year") == pytest.approx(
        dissolved * 20 * 365 / 1000, rel=0.03
    )


def test_calcite_of_the_gas_behind_a_degasser_by_hand():
    """35.5 mg/L of carbon dioxide at 15 degrees: 79 mg/L of calcite, pH 8.1 (PHREEQC)."""
    ph, dissolved = phreeqc(35.5, 0.0, 15, calcite=True)
    assert dissolved == pytest.approx(78.7, abs=1.5)
    assert ph == pytest.approx(8.09, abs=0.1)


def test_the_delivered_water_is_held_against_the_target(study):
    """Acid behind the membranes, mended by calcite: what is delivered counts."""
    stages = (*FED, "product_degasser", "neutralising_filter")
    found = study(stages, ACID + DRINKING.format("eu"), HARD)
    line = target(found)["pH"]
    assert line["state"] == "kept"
    assert line["membranes"] < 6.5 < line["value"]
    assert not any("pH" in f["text"] for f in found["flags"] if f["code"] == "product_target")


SHARE = "[blending]\nshare = 0.5\n"
BAD = {
    "Fluoride [mg/L]": "9.5", "Nitrate [mg/L]": "120", "Arsenic [mg/L]": "0.05",
    "Uranium [mg/L]": "0.09", "Radium 226 + 228 [pCi/L]": "12", "Lead [mg/L]": "0.05",
}  # fmt: skip
BOTH = {
    "fluoride": ("F", 9.5, 1.5), "nitrate": ("NO3", 120, 50), "arsenic": ("as", 0.05, 0.01),
    "uranium": ("u", 0.09, 0.03), "lead": ("pb", 0.05, 0.01),
}  # fmt: skip


def test_a_blend_is_judged_by_what_it_holds(study):
    """Half of the raw water in what is delivered: at least half of each constituent."""
    found = study(("softener", "cartridge", "blending"), SHARE + DRINKING.format("who"), BAD)
    lines = target(found)
    for name, (_, raw, limit) in BOTH.items():
        line = lines[name]
        assert line["high"] == pytest.approx(limit), name
        assert line["state"] == "exceeded", name
        product = line["membranes"] or 0.0
        assert line["value"] == pytest.approx(0.5 * raw + 0.5 * product, rel=1e-3), name
    assert lines["fluoride"]["value"] == pytest.approx(4.85, abs=0.1)
    assert number(found, "verdict.answer") != "fits"
    assert "delivered water: fluoride" in number(found, "verdict.reasons")


def test_a_blend_into_a_product_that_is_not_known_is_judged_at_the_least(study):
    stages = ("softener", "cartridge", "blending")
    found = study(stages, SHARE + DRINKING.format("us"), BAD, machine="")
    lines = target(found)
    assert lines["fluoride"]["value"] == pytest.approx(4.75)
    assert lines["radium 226 and 228"]["value"] == pytest.approx(6.0)
    assert {line["state"] for line in lines.values()} == {"exceeded"}
    assert "at the least" in codes(found)["product_target"]["text"]


def test_what_follows_a_blend_treats_the_blend(study):
    """A quarter of raw water makes 4/3 of the product; its alkalinity is in it."""
    more = "[blending]\nshare = 0.25\n" + ACID
    found = study((*FED, "blending", "product_alkali"), more, HARD)
    flow = number(found, "blending.delivered_m3_h")
    assert flow == pytest.approx(4 / 3)
    dose = number(found, "product_alkali.dose_mg_l")
    assert number(found, "product_alkali.fed_g_h") == pytest.approx(dose * flow)
    assert dose == pytest.approx(
        0.9 * number(found, "blending.co2_mg_l") * 39.997 / 44.009, rel=1e-3
    )


def test_traces_pass_by_their_own_permeability(study):
    """By hand with chloride at 2.5 %: odds 0.02564 x B ratio; arsenite 8 to 0.3 L/m2/h."""
    water = BAD | {"Ammonium [mg/L]": "0.1"}
    found = study(("inhibitor", "cartridge"), "", water, machine='salt_passage = "generic"')
    for key, raw, ratio in (
        ("product.as_mg_l", 0.05, 0.1),
        ("product.u_mg_l", 0.09, 0.1),
        ("product.ra_pci_l", 12, 0.2),
        ("product.as_if_arsenite_mg_l", 0.05, 8 / 0.3),
    ):
        odds = 0.025 / 0.975 * ratio
        assert number(found, key) == pytest.approx(raw * odds / (1 + odds), rel=1e-3), key
    assert codes(found)["arsenic_form"]["level"] == "caution"


def test_traces_pass_the_elements(study):
    """Uranium goes with the divalent anions: within twice the passage of sulfate."""
    found = study(("inhibitor", "cartridge"), DRINKING.format("who"), BAD)
    sulfate = number(found, "product.so4_mg_l") / 120
    assert number(found, "product.u_mg_l") / 0.09 == pytest.approx(sulfate, rel=1.0)
    lines = target(found)
    for name in ("arsenic", "uranium", "fluoride"):
        assert lines[name]["state"] == "kept", name
    assert lines["lead"]["state"] == "not computed"
    assert "passage into the product not computed: lead;" in number(found, "verdict.reasons")


CHLORINATED = ("chlorine", "contact_tank", "iron_filter", "carbon", "inhibitor", "cartridge")


@pytest.mark.parametrize(("dose", "kept"), [("", False), ('dose = "5 mg/L"\n', True)])
def test_chlorine_past_the_breakpoint_leaves_its_salt_and_no_ammonia(study, dose, kept):
    """By hand: 23 mg/L of chlorine as hypochlorite are 11.5 mg/L of chloride, 7.5 of sodium.

    2 NH4 + 3 NaOCl = N2 + 3 NaCl + 3 H2O + 2 H: a mole of nitrogen uses an equivalent.
    """
    water = {"Fe [mg/L]": "0.5", "Ammonium [mg/L]": "2.5"}
    more = f"[chlorine]\n{dose}"
    found = study(CHLORINATED, more, water, recovery=0.4)
    fed = number(found, "chlorine.dose_mg_l")
    chloride = number(found, "concentrate.cl_mg_l") / number(found, "concentrate.so4_mg_l")
    assert chloride == pytest.approx((195 + fed / 2) / 120, rel=0.05)
    assert number(found, "chlorine.na_added_mg_l") == pytest.approx(fed * 22.99 / 70.906, rel=1e-3)
    ammonium = found["figures"].get("concentrate.nh4_mg_l", {}).get("value") or 0.0
    assert (ammonium > 2.5) == kept
    if not kept:
        assert fed > 10 * 2.5 * 14.007 / 18.039
        used = number(found, "chlorine.alkalinity_for_ammonia_mg_l_caco3")
        assert used == pytest.approx(2.5 / 18.039 * 50.04, rel=1e-3)
