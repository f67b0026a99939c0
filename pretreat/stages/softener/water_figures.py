"""What the softener makes of the water: leakage, sodium, and the waste of a regeneration."""

from collections.abc import Mapping

from pretreat.core.equivalents import HARDNESS_IONS, caco3_per_mg
from pretreat.core.tables import analytes
from pretreat.core.units import molar_mass
from pretreat.stages.softener import laws, regeneration
from pretreat.stages.softener.resin import (
    COUNTER_CURRENT_LEAKAGE,
    SELECTIVITY_CA_NA,
    TOTAL_CAPACITY_EQ_L,
    capacity_g_caco3_l,
    capacity_table,
    equilibrium_leakage_mg_l_caco3,
    equilibrium_ratio,
    resin_hardness_left,
)
from pretreat.stages.train import Train

P = "softener"
LOAD_INCOMPLETE = "load_incomplete"


def enter_hardness_in(train: Train) -> float:
    """Enter the hardness at the softener (Ca, Mg, Sr, Ba), or that of the test kit."""
    raw, entries, key = train.raw, train.entries, f"{P}.hardness_in_mg_l_caco3"
    label = "Hardness at the softener: Ca, Mg, Sr, Ba"
    if raw.from_test_kit:
        return entries.law(
            key,
            laws.as_printed_mg_l_caco3,
            hardness_mg_l_caco3="water.hardness_mg_l_caco3",
            label=label,
            method="equivalents",
        )
    ions = [ion for ion in HARDNESS_IONS if ion in raw.mg_l]
    lacking = [analytes()[ion].name for ion in ("ca", "mg") if ion not in raw.mg_l]
    if lacking:
        text = (
            f"{' and '.join(lacking)} not measured, and no total hardness: load, interval and "
            "meter count the rest of the hardness alone: set no valve by them; measure total "
            "hardness"
        )
        entries.flag(LOAD_INCOMPLETE, "warning", text, key)
    return entries.law(
        key,
        laws.equivalents_mg_l_caco3,
        amounts_mg_l=tuple(entries.dissolved(raw, ion) for ion in ions),
        factors=tuple(caco3_per_mg(ion) for ion in ions),
        label=label,
        cites=(),
        method="equivalents",
    )


def _enter_total_cations(train: Train) -> None:
    """Enter all cations onto the resin; iron and manganese as the softener receives them."""
    raw, entries = train.raw, train.entries
    keys, factors = [], []
    for ion in ("na", "k", "nh4"):
        if raw.mg_l.get(ion):
            keys.append(entries.dissolved(raw, ion))
            factors.append(_eq_per_mg(ion, abs(analytes()[ion].charge)))
    for ion, name in _METAL_NAMES.items():
        keys.append(f"{P}.{name}_in_mg_l")
        factors.append(_eq_per_mg(ion, 2))
    if raw.from_test_kit or "na" not in raw.mg_l:
        entries.flag(
            "leakage_at_least",
            "caution",
            "sodium is not known, so the leakage is shown for the hardness alone: it is "
            "higher in saline water",
            f"{P}.leakage_mg_l_caco3",
        )
    entries.law(
        f"{P}.total_cations_eq_l",
        laws.total_cations_eq_l,
        hardness_mg_l_caco3=f"{P}.hardness_in_mg_l_caco3",
        amounts_mg_l=tuple(keys),
        factors=tuple(factors),
        label="All cations at the softener",
        cites=(),
        method="sum of equivalents",
    )


def _eq_per_mg(ion: str, charge: float) -> float:
    return charge / molar_mass(analytes()[ion].formula) / 1000.0


_METAL_NAMES = {"fe": "iron", "mn": "manganese"}


def enter_leakage(train: Train) -> float:
    """Enter the hardness behind the softener and the sodium that replaces the rest."""
    entries, choice = train.entries, train.design.softener
    _enter_total_cations(train)
    if choice.leakage_mg_l_caco3 is not None:
        hardness = entries.value(f"{P}.hardness_in_mg_l_caco3")
        leak = entries.given(
            f"{P}.leakage_mg_l_caco3",
            min(choice.leakage_mg_l_caco3, hardness),
            "mg/L as CaCO3",
            "Hardness leakage",
            origin="chosen",
            cites=(),
        )
    else:
        leak = _enter_equilibrium_leakage(train)
    entries.law(
        f"{P}.sodium_added_mg_l",
        laws.sodium_added_mg_l,
        hardness_mg_l_caco3=f"{P}.hardness_in_mg_l_caco3",
        leakage_mg_l_caco3=f"{P}.leakage_mg_l_caco3",
        label="Sodium added by the softener",
        method="equivalent for equivalent",
    )
    return leak


def _enter_equilibrium_leakage(train: Train) -> float:
    entries, choice = train.entries, train.design.softener
    entries.given(
        f"{P}.total_capacity_eq_l",
        TOTAL_CAPACITY_EQ_L,
        "eq/L",
        "Total capacity of the resin",
        evidence="memory",
        cites=("MEMORY",),
        method="new gel resin, 8 % divinylbenzene",
    )
    entries.given(
        f"{P}.selectivity",
        SELECTIVITY_CA_NA,
        "-",
        "Selectivity of calcium over sodium",
        evidence="memory",
        cites=("BONNER1957",),
        method="5.16 over 1.98",
    )
    counter = choice.direction == "counter-current"
    entries.law(
        f"{P}.resin_hardness_left",
        resin_hardness_left,
        capacity_g_caco3_l=_co_current_capacity(train) if counter else f"{P}.capacity_g_caco3_l",
        total_capacity_eq_l=f"{P}.total_capacity_eq_l",
        label="Resin left in the hardness form",
        method="what a regeneration does not reach",
    )
    entries.law(
        f"{P}.leakage_ratio",
        equilibrium_ratio,
        resin_hardness_left=f"{P}.resin_hardness_left",
        total_cations_eq_l=f"{P}.total_cations_eq_l",
        selectivity=f"{P}.selectivity",
        total_capacity_eq_l=f"{P}.total_capacity_eq_l",
        label="Ratio r of the leakage",
        method="mass action at the outlet end",
    )
    entries.given(
        f"{P}.leakage_share",
        COUNTER_CURRENT_LEAKAGE if counter else 1.0,
        "-",
        "Leakage against co-current",
        evidence="memory",
        cites=("MEMORY",),
        method="0.1 to 0.2 for counter-current, the upper end",
    )
    if counter:
        entries.flag(
            "counter_current",
            "info",
            "counter-current: 45 to 55 g/L of hardness at 64 to 100 g/L of salt, and a fifth of "
            "the leakage of co-current at the same dose (from memory); needs bed hold-down and "
            "soft rinse water",
            f"{P}.leakage_mg_l_caco3",
        )
    return entries.law(
        f"{P}.leakage_mg_l_caco3",
        equilibrium_leakage_mg_l_caco3,
        share=f"{P}.leakage_share",
        ratio=f"{P}.leakage_ratio",
        total_cations_eq_l=f"{P}.total_cations_eq_l",
        hardness_mg_l_caco3=f"{P}.hardness_in_mg_l_caco3",
        label="Hardness leakage",
        method="equilibrium at the outlet end, at most the feed",
    )


def _co_current_capacity(train: Train) -> str:
    """Enter what the bed would hold co-current at the same dose; return its key."""
    key = f"{P}.capacity_co_current_g_caco3_l"
    if train.design.softener.resin_table is not None:
        return f"{P}.capacity_g_caco3_l"
    table = capacity_table()
    train.entries.law(
        key,
        capacity_g_caco3_l,
        salt_dose_g_l=f"{P}.salt_dose_g_l",
        rungs_g_l=table.dose_g_l,
        capacities_g_caco3_l=table.capacity_g_l,
        label="Capacity of the same resin and dose, co-current",
        evidence=table.evidence,
        cites=(table.source,),
        method=f"table '{table.name}': the leakage is told as a share of it",
    )
    return key


def softened(train: Train, mg_l: Mapping[str, float]) -> dict[str, float]:
    """Enter and return the ions behind the softener: hardness by its leakage, sodium for it."""
    entries, raw = train.entries, train.raw
    out = dict(mg_l)
    hardness = entries.value(f"{P}.hardness_in_mg_l_caco3")
    for ion in HARDNESS_IONS:
        if ion not in raw.mg_l or hardness <= 0:
            continue
        out[ion] = entries.law(
            f"{P}.out_{ion}_mg_l",
            laws.leaked_mg_l,
            amount_mg_l=entries.dissolved(raw, ion),
            leakage_mg_l_caco3=f"{P}.leakage_mg_l_caco3",
            hardness_mg_l_caco3=f"{P}.hardness_in_mg_l_caco3",
            label=f"{analytes()[ion].name.capitalize()} behind the softener",
            method="leakage split by equivalents",
        )
    if raw.from_test_kit:
        return out
    sodium = mg_l.get("na", 0.0)
    out["na"] = entries.law(
        f"{P}.out_na_mg_l",
        laws.sodium_out_mg_l,
        sodium_in_mg_l=entries.dissolved(raw, "na") if sodium else 0.0,
        sodium_added_mg_l=f"{P}.sodium_added_mg_l",
        label="Sodium behind the softener",
        method="sodium replaces hardness",
    )
    return out


def enter_waste(train: Train) -> float:
    """Enter volume and composition of the waste of a regeneration."""
    entries = train.entries
    waste = entries.law(
        f"{P}.waste_m3_per_regeneration",
        regeneration.waste_m3,
        backwash_m3_h=f"{P}.backwash_flow_m3_h",
        backwash_min=f"{P}.backwash_min",
        volume_l=f"{P}.resin_filled_l",
        brine_bv=f"{P}.brine_bv",
        slow_rinse_bv=f"{P}.slow_rinse_bv",
        fast_rinse_bv=f"{P}.fast_rinse_bv",
        label="Waste per regeneration",
        method="backwash, brine and rinses",
    )
    entries.law(
        f"{P}.waste_bv",
        regeneration.waste_bv,
        waste_m3=f"{P}.waste_m3_per_regeneration",
        volume_l=f"{P}.resin_filled_l",
        label="Waste per volume of resin",
    )
    entries.given(
        f"{P}.waste_published_bv",
        regeneration.PUBLISHED_WASTE_BV,
        "BV",
        "Published waste, for comparison",
        evidence="printed",
        cites=("WTPD4",),
        method="about 80 gal/ft3",
    )
    _enter_waste_composition(train)
    return waste


def _enter_waste_composition(train: Train) -> None:
    entries = train.entries
    regeneration.waste_composition(
        entries.value(f"{P}.capacity_g_caco3_l")
        * entries.value(f"{P}.capacity_factor")
        * (1.0 - entries.value(f"{P}.reserve")),
        entries.value(f"{P}.salt_dose_g_l"),
        entries.value(f"{P}.waste_bv"),
    )  # refuses salt that cannot drive off what the resin holds
    held = {
        "capacity_g_caco3_l": f"{P}.capacity_g_caco3_l",
        "capacity_factor": f"{P}.capacity_factor",
        "reserve": f"{P}.reserve",
    }
    dose = {"salt_dose_g_l": f"{P}.salt_dose_g_l"}
    for name, law, inputs, label in (
        ("hardness_mg_l_caco3", regeneration.waste_hardness_mg_l_caco3, held, "Hardness"),
        ("chloride_mg_l", regeneration.waste_chloride_mg_l, dose, "Chloride"),
        ("sodium_mg_l", regeneration.waste_sodium_mg_l, {**held, **dose}, "Sodium"),
    ):
        entries.law(
            f"{P}.waste_{name}",
            law,
            waste_bv=f"{P}.waste_bv",
            label=f"{label} of the waste, mean",
            method="mass balance, without what the raw water brings",
            **inputs,
        )
