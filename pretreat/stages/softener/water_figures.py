"""What the softener makes of the water: leakage, sodium, and the waste of a regeneration."""

from collections.abc import Mapping

from pretreat.core.tables import analytes
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass
from pretreat.stages.softener import regeneration
from pretreat.stages.softener.laws import (
    HARDNESS_IONS,
    SODIUM_PER_CACO3,
    caco3_per_mg,
    equivalent_hardness_mg_l_caco3,
    sodium_added_mg_l,
)
from pretreat.stages.softener.resin import (
    COUNTER_CURRENT_LEAKAGE,
    SELECTIVITY_CA_NA,
    TOTAL_CAPACITY_EQ_L,
    leakage_mg_l_caco3,
    leakage_ratio,
    resin_hardness_left,
)
from pretreat.stages.train import Train

P = "softener"


def hardness_in_formula(train: Train) -> tuple[float, str]:
    """Return hardness (Ca, Mg, Sr, Ba) and its formula; the test kit's where there is no more."""
    raw, entries = train.raw, train.entries
    if raw.from_test_kit:
        return entries.value("water.hardness_mg_l_caco3"), "{water.hardness_mg_l_caco3}"
    terms = [
        f"{{{entries.dissolved(raw, ion)}}}*{caco3_per_mg(ion)!r}"
        for ion in HARDNESS_IONS
        if ion in raw.mg_l
    ]
    return equivalent_hardness_mg_l_caco3(raw.mg_l, HARDNESS_IONS), "+".join(terms) or "0"


def _enter_total_cations(train: Train) -> float:
    """Enter all cations onto the resin; iron and manganese as the softener receives them."""
    raw, entries = train.raw, train.entries
    metals = {ion: entries.value(f"{P}.{name}_in_mg_l") for ion, name in _METAL_NAMES.items()}
    hardness, formula = hardness_in_formula(train)
    to_eq = 1000.0 * CACO3_MG_PER_MEQ
    total, formula = hardness / to_eq, f"({formula})/{to_eq!r}"
    for ion in ("na", "k", "nh4"):
        if raw.mg_l.get(ion):
            factor = abs(analytes()[ion].charge) / molar_mass(analytes()[ion].formula) / 1000.0
            total += raw.mg_l[ion] * factor
            formula += f"+{{{entries.dissolved(raw, ion)}}}*{factor!r}"
    for ion, amount in metals.items():
        factor = 2.0 / molar_mass(analytes()[ion].formula) / 1000.0
        total += amount * factor
        formula += f"+{{{P}.{_METAL_NAMES[ion]}_in_mg_l}}*{factor!r}"
    if raw.from_test_kit or "na" not in raw.mg_l:
        entries.flag("leakage_at_least", "caution",
                     "sodium is not known, so the leakage is shown for the hardness alone: it is "
                     "higher in saline water", f"{P}.leakage_mg_l_caco3")  # fmt: skip
    return entries.calc(f"{P}.total_cations_eq_l", total, "eq/L", "All cations at the softener",
                        formula, method="sum of equivalents")  # fmt: skip


_METAL_NAMES = {"fe": "iron", "mn": "manganese"}


def enter_leakage(train: Train) -> float:
    """Enter the hardness behind the softener and the sodium that replaces the rest."""
    entries, choice = train.entries, train.design.softener
    hardness, formula = hardness_in_formula(train)
    entries.calc(f"{P}.hardness_in_mg_l_caco3", hardness, "mg/L as CaCO3",
                 "Hardness at the softener: Ca, Mg, Sr, Ba", formula,
                 method="equivalents")  # fmt: skip
    cations = _enter_total_cations(train)
    if choice.leakage_mg_l_caco3 is not None:
        leak = entries.given(f"{P}.leakage_mg_l_caco3", min(choice.leakage_mg_l_caco3, hardness),
                             "mg/L as CaCO3", "Hardness leakage", origin="chosen",
                             cites=())  # fmt: skip
    else:
        leak = _enter_equilibrium_leakage(train, cations, hardness)
    entries.calc(f"{P}.sodium_added_mg_l", sodium_added_mg_l(hardness - leak), "mg/L",
                 "Sodium added by the softener",
                 f"({{{P}.hardness_in_mg_l_caco3}}-{{{P}.leakage_mg_l_caco3}})"
                 f"*{SODIUM_PER_CACO3!r}",
                 by=(sodium_added_mg_l,), method="equivalent for equivalent")  # fmt: skip
    return leak


def _enter_equilibrium_leakage(train: Train, cations: float, hardness: float) -> float:
    entries, choice = train.entries, train.design.softener
    entries.given(f"{P}.total_capacity_eq_l", TOTAL_CAPACITY_EQ_L, "eq/L",
                  "Total capacity of the resin", evidence="memory", cites=("MEMORY",),
                  method="new gel resin, 8 % divinylbenzene")  # fmt: skip
    entries.given(f"{P}.selectivity", SELECTIVITY_CA_NA, "-", "Selectivity of calcium over sodium",
                  evidence="memory", cites=("BONNER1957",), method="5.16 over 1.98")  # fmt: skip
    left = entries.calc(
        f"{P}.resin_hardness_left", resin_hardness_left(entries.value(f"{P}.capacity_g_caco3_l")),
        "-", "Resin left in the hardness form",
        f"1-{{{P}.capacity_g_caco3_l}}/({CACO3_MG_PER_MEQ!r}*{{{P}.total_capacity_eq_l}})",
        by=(resin_hardness_left,), method="what a regeneration does not reach",
    )  # fmt: skip
    y = f"{{{P}.resin_hardness_left}}"
    entries.calc(
        f"{P}.leakage_ratio", leakage_ratio(cations, left), "-", "Ratio r of the leakage",
        f"{y}/(1-{y})^2*{{{P}.total_cations_eq_l}}"
        f"/({{{P}.selectivity}}*{{{P}.total_capacity_eq_l}})",
        by=(leakage_ratio,), method="mass action at the outlet end",
    )  # fmt: skip
    counter = choice.direction == "counter-current"
    share = entries.given(f"{P}.leakage_share", COUNTER_CURRENT_LEAKAGE if counter else 1.0, "-",
                          "Leakage against co-current", evidence="memory", cites=("MEMORY",),
                          method="0.1 to 0.2 for counter-current, the upper end")  # fmt: skip
    if counter:
        entries.flag("counter_current", "info",
                     "counter-current: capacity as co-current, leakage a fifth (from memory); "
                     "needs bed hold-down and soft rinse water", f"{P}.leakage_mg_l_caco3",
        )  # fmt: skip
    leak = min(share * leakage_mg_l_caco3(cations, left), hardness)
    r = f"{{{P}.leakage_ratio}}"
    return entries.calc(
        f"{P}.leakage_mg_l_caco3", leak, "mg/L as CaCO3", "Hardness leakage",
        f"MIN({{{P}.leakage_share}}*2*{r}/(2*{r}+1+SQRT(4*{r}+1))*{{{P}.total_cations_eq_l}}"
        f"*{1000.0 * CACO3_MG_PER_MEQ!r},{{{P}.hardness_in_mg_l_caco3}})",
        by=(leakage_mg_l_caco3,), method="equilibrium at the outlet end, at most the feed",
    )  # fmt: skip


def softened(train: Train, mg_l: Mapping[str, float]) -> dict[str, float]:
    """Enter and return the ions behind the softener: hardness by its leakage, sodium for it."""
    entries, raw = train.entries, train.raw
    out = dict(mg_l)
    hardness = entries.value(f"{P}.hardness_in_mg_l_caco3")
    leak = entries.value(f"{P}.leakage_mg_l_caco3")
    for ion in HARDNESS_IONS:
        if ion not in raw.mg_l or hardness <= 0:
            continue
        out[ion] = entries.calc(
            f"{P}.out_{ion}_mg_l", mg_l[ion] * leak / hardness, "mg/L",
            f"{analytes()[ion].name.capitalize()} behind the softener",
            f"{{{entries.dissolved(raw, ion)}}}*{{{P}.leakage_mg_l_caco3}}"
            f"/{{{P}.hardness_in_mg_l_caco3}}", method="leakage split by equivalents",
        )  # fmt: skip
    if raw.from_test_kit:
        return out
    sodium = mg_l.get("na", 0.0)
    out["na"] = entries.calc(
        f"{P}.out_na_mg_l", sodium + entries.value(f"{P}.sodium_added_mg_l"), "mg/L",
        "Sodium behind the softener",
        (f"{{{entries.dissolved(raw, 'na')}}}+" if sodium else "") + f"{{{P}.sodium_added_mg_l}}",
        method="sodium replaces hardness",
    )  # fmt: skip
    return out


def enter_waste(train: Train) -> float:
    """Enter volume and composition of the waste of a regeneration."""
    entries = train.entries
    volume, number = entries.value(f"{P}.resin_filled_l"), entries.value(f"{P}.vessels_in_service")
    flow, dose = entries.value(f"{P}.backwash_flow_m3_h"), entries.value(f"{P}.salt_dose_g_l")
    steps = regeneration.regeneration_steps(volume / number, dose, flow)
    waste = number * sum(step.volume_m3 for step in steps)
    entries.calc(
        f"{P}.waste_m3_per_regeneration", waste, "m3", "Waste per regeneration",
        f"{{{P}.vessels_in_service}}*{{{P}.backwash_flow_m3_h}}*{{{P}.backwash_min}}/60"
        f"+{{{P}.resin_filled_l}}/1000*({{{P}.brine_bv}}+{{{P}.slow_rinse_bv}}"
        f"+{{{P}.fast_rinse_bv}})", by=(regeneration.regeneration_steps,),
        method="backwash, brine and rinses",
    )  # fmt: skip
    bv = entries.calc(f"{P}.waste_bv", waste / volume * 1000.0, "BV",
                      "Waste per volume of resin",
                      f"{{{P}.waste_m3_per_regeneration}}/{{{P}.resin_filled_l}}*1000")  # fmt: skip
    entries.given(f"{P}.waste_published_bv", regeneration.PUBLISHED_WASTE_BV, "BV",
                  "Published waste, for comparison", evidence="printed", cites=("WTPD4",),
                  method="about 80 gal/ft3")  # fmt: skip
    _enter_waste_composition(train, bv)
    return waste


def _enter_waste_composition(train: Train, waste_bv: float) -> None:
    entries = train.entries
    capacity = entries.value(f"{P}.capacity_g_caco3_l") * entries.value(f"{P}.capacity_factor")
    held = capacity * (1.0 - entries.value(f"{P}.reserve"))
    dose = entries.value(f"{P}.salt_dose_g_l")
    found = regeneration.waste_composition(held, dose, waste_bv)
    salt = molar_mass("NaCl")
    held_text = f"{{{P}.capacity_g_caco3_l}}*{{{P}.capacity_factor}}*(1-{{{P}.reserve}})"
    for name, value, unit, label, formula in (
        ("waste_hardness_mg_l_caco3", found.hardness_mg_l_caco3, "mg/L as CaCO3",
         "Hardness of the waste, mean", f"{held_text}/{{{P}.waste_bv}}*1000"),
        ("waste_chloride_mg_l", found.chloride_mg_l, "mg/L", "Chloride of the waste, mean",
         f"{{{P}.salt_dose_g_l}}/{salt!r}*{molar_mass('Cl')!r}/{{{P}.waste_bv}}*1000"),
        ("waste_sodium_mg_l", found.sodium_mg_l, "mg/L", "Sodium of the waste, mean",
         f"({{{P}.salt_dose_g_l}}/{salt!r}-{held_text}/{CACO3_MG_PER_MEQ!r})"
         f"*{molar_mass('Na')!r}/{{{P}.waste_bv}}*1000"),
    ):  # fmt: skip
        entries.calc(f"{P}.{name}", value, unit, label, formula,
                     by=(regeneration.waste_composition,),
                     method="mass balance, without what the raw water brings")  # fmt: skip
