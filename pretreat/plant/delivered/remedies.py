"""What mends a product that its use does not allow: calcium, ammonia, water too thin for soil."""

from collections.abc import Callable, Mapping
from math import isfinite

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.lab.hazards import BREAKPOINT_PRACTICE, N_PER_NH4
from pretreat.membrane.elements.product import sodium_adsorption_ratio
from pretreat.membrane.elements.target_figures import GROWER, WATERED
from pretreat.membrane.elements.targets import Verdict, infiltration, limits
from pretreat.plant.delivered.laws import (
    calcium_for_sar_mg_l,
    calcium_for_soil_mg_l,
    gypsum_mg_l,
)
from pretreat.plant.delivered.rules import OXYGEN, SODIC
from pretreat.stages.neutralising_filter.laws import (
    dissolved_kg_per_year,
    most_dissolved_mg_l_caco3,
)

DRINKING = "drinking"
NEUTRALISED = ("neutralising_filter.media_volume_l", "product_alkali.dose_mg_l")
SAR, AMMONIUM, PH = "sar", "nh4_mg_l", "ph"
SOFTENER = ("softener.resin_volume_l", "softener.resin_bought_l")
FREE_SAR = 3.0  # FAO29, Table 1: no restriction up to it
# FAO29, Table 1: boron without restriction; Table 18: iron and manganese that block drippers.
SPOILING = {"b_mg_l": 0.7, "fe_mg_l": 1.5, "fe_total_mg_l": 1.5, "mn_mg_l": 1.5}
SUFFERED_SOON, SEVERE = frozenset({"sar", "na_mg_l", "cl_mg_l", "b_mg_l"}), "severe"
SEVERE_SAR = 9.0  # FAO29, Table 1: severe above it, where the water lies on the soil
SPRINKLER = "sprinkler"
MOST_SAR = 40.0  # FAO29: the last row of its table


def remedy_of(
    ledger: Ledger, target: str, prefix: str, values: Mapping[str, float]
) -> Callable[[Verdict], str]:
    """Return what says how an exceeded limit of a target is mended.

    Parameters
    ----------
    ledger : Ledger
        With the water entered. [-]
    target : str
        What the water is for. [-]
    prefix : str
        Start of the keys of its figures: "product" or "delivered". [-]
    values : mapping of str to float
        Values by parameter. [unit in the name]

    Returns
    -------
    callable
        Takes an exceeded limit, returns words; empty where there are none. [-]
    """
    added = enter_calcium(ledger, prefix, values) if target in WATERED else ""

    def words(verdict: Verdict) -> str:
        limit = verdict.limit
        if limit.parameter == SAR:
            return sodium_words(ledger, target, added)
        if limit.parameter == AMMONIUM:
            return ammonium_words(verdict)
        if limit.parameter == OXYGEN:
            ways = "it passes membranes as it is: drive it out by heat, or a scavenger behind them"
            return f"; {ways}"
        if limit.parameter == PH and limit.target == DRINKING and verdict.value < limit.low:
            return neutraliser_words(ledger)
        if limit.parameter == PH and limit.target in WATERED and verdict.value < limit.low:
            raw = "" if raw_spoils(ledger, target) else " or raw water"
            ways = f"acid and hardly buffered, it attacks metal: calcite{raw} mends it"
            return f"; {ways}"
        return ""

    return words


def neutraliser_words(ledger: Ledger) -> str:
    """Say that nothing of the train, nor of its cost, neutralises the product, and what would.

    Parameters
    ----------
    ledger : Ledger
        With train and product entered. [-]

    Returns
    -------
    str
        Words of the remedy; empty where something is to neutralise it already. [-]
    """
    gas, day = (ledger.number(key) for key in ("product.co2_mg_l", "machine.product_m3_d"))
    days = ledger.number("machine.days_per_year")
    if any(key in ledger for key in NEUTRALISED) or gas is None or day is None or days is None:
        return ""
    a_year = dissolved_kg_per_year(day, days, most_dissolved_mg_l_caco3(gas))
    return (
        f"; a calcite filter for it dissolves up to {a_year:.2g} kg of calcite a year and is "
        "neither in this train nor in its cost: [neutralising_filter] include = true puts it there"
    )


def raw_spoils(ledger: Ledger, target: str) -> bool:
    """Tell whether a blend of raw water brings what a water for watering may not hold.

    Parameters
    ----------
    ledger : Ledger
        With the water entered. [-]
    target : str
        What the water is for. [-]

    Returns
    -------
    bool
        Iron or manganese that blocks drippers, boron, sodium or chloride that plants suffer
        from, or anything over a limit of severe restriction. [-]
    """
    found = {key: ledger.number(f"water.{key}") or 0.0 for key in SPOILING}
    if any(found[key] > most for key, most in SPOILING.items()):
        return True
    rules = [x for x in limits() if x.target == target]
    rules = [x for x in rules if x.parameter in SUFFERED_SOON or x.grade == SEVERE]
    return any(_raw(ledger, x.parameter) > x.high for x in rules)


def _raw(ledger: Ledger, parameter: str) -> float:
    """Return what the raw water holds of a parameter of a target, 0 where nobody knows."""
    if parameter == SAR:
        ions = {ion: ledger.number(f"water.{ion}_mg_l") or 0.0 for ion in ("na", "ca", "mg")}
        hard = ions["ca"] + ions["mg"] > 0.0
        return float(sodium_adsorption_ratio(ions)) if hard else 0.0
    if parameter == "ec_ds_m":
        return (ledger.number("water.ec_us_cm") or 0.0) / 1000.0
    return ledger.number(f"water.{parameter}") or 0.0


def sodium_words(ledger: Ledger, target: str, added: str) -> str:
    """Say what mends a ratio of sodium that is too high.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]
    target : str
        What the water is for. [-]
    added : str
        The calcium that would do, in words. [-]

    Returns
    -------
    str
        Words of the remedy. [-]
    """
    softened = any(key in ledger for key in SOFTENER)
    blend = not raw_spoils(ledger, target)
    ways = f"{added}, or blend in raw water" if blend else added
    if softened:
        ahead = " from ahead of it" if blend else ""
        ways = f"the softener takes the calcium: leave it out, or {ways}{ahead}"
    return f"; {ways}"


def enter_calcium(ledger: Ledger, prefix: str, values: Mapping[str, float]) -> str:
    """Enter the calcium that soil wants of a water for watering; say so.

    Parameters
    ----------
    ledger : Ledger
        With the water entered. [-]
    prefix : str
        Start of the keys of its figures: "product" or "delivered". [-]
    values : mapping of str to float
        Values by parameter. [unit in the name]

    Returns
    -------
    str
        Such as "add 31 mg/L of calcium (130 mg/L of gypsum)". [-]
    """
    ions = {f"{ion}_mg_l": f"{prefix}.{ion}_mg_l" for ion in ("na", "ca", "mg")}
    conductivity = values.get("ec_ds_m")
    known = conductivity is not None and isfinite(conductivity)
    if not known or any(ledger.number(key) is None for key in ions.values()):
        return "add calcium (gypsum, calcite)"
    ratio, soil = f"{prefix}.calcium_for_sar_mg_l", f"{prefix}.calcium_for_soil_mg_l"
    label = "Calcium to add for a sodium adsorption ratio of"
    ledger.law(ratio, calcium_for_sar_mg_l, **ions, sar=FREE_SAR, label=f"{label} {FREE_SAR:g}")
    added = ledger.law(
        soil,
        calcium_for_soil_mg_l,
        ec_ds_m=conductivity,
        for_sar_mg_l=ratio,
        label="Calcium to add for soil to take the water up",
    )
    gypsum = ledger.law(
        f"{prefix}.gypsum_for_soil_mg_l", gypsum_mg_l, ca_mg_l=soil, label="The same as gypsum"
    )
    return f"add {added:.2g} mg/L of calcium ({gypsum:.2g} mg/L of gypsum)"


def ammonium_words(verdict: Verdict) -> str:
    """Say what takes ammonium out of a product.

    Parameters
    ----------
    verdict : Verdict
        The limit that is exceeded. [-]

    Returns
    -------
    str
        Words of the remedy. [-]
    """
    nitrogen = verdict.value * N_PER_NH4
    low, high = (nitrogen * share for share in BREAKPOINT_PRACTICE)
    return (
        "; as ammonia it passes membranes above pH 8. What mends it, none of it sized here: acid "
        "ahead to about pH 7, or behind the membranes chlorine past the breakpoint "
        f"({low:.2g} to {high:.2g} mg/L), cation exchange in the sodium form, or a biological "
        "filter; test the product until it keeps the limit (common practice)"
    )


def flag_thin(
    ledger: Ledger, target: str, prefix: str, values: Mapping[str, float], words: str
) -> None:
    """Flag a water for watering that is so thin that soil takes it up slowly.

    Parameters
    ----------
    ledger : Ledger
        With the water held against its target. [-]
    target : str
        What it is for. [-]
    prefix : str
        Start of the keys of its figures: "product" or "delivered". [-]
    values : mapping of str to float
        Values by parameter. [unit in the name]
    words : str
        What the water is called. [-]
    """
    ratio, conductivity = values.get(SAR), values.get("ec_ds_m")
    if target not in WATERED or conductivity is None or not isfinite(conductivity):
        return
    known = ratio is not None and isfinite(ratio)
    sar = min(ratio or 0.0, MOST_SAR) if known else 0.0
    if infiltration(sar, conductivity) != "severe":
        return
    text = (
        f"{words}: conductivity {conductivity:.2g} dS/m with a sodium adsorption ratio of "
        f"{sar:.2g}: severe for soil, which takes so thin a water up slowly and crusts (FAO29, "
        "Table 1, infiltration: below 0.2 dS/m at a ratio up to 3): blend in raw water, or "
        f"{_added(ledger, prefix)}; it attacks metal fittings too; {GROWER}"
    )
    if raw_spoils(ledger, target):
        text = text.replace("blend in raw water, or ", "")
    # Sprinkled soil crusts as well; its own limits of sodium are those of leaves alone.
    sodic = target == SPRINKLER and sar > SEVERE_SAR
    marks = frozenset({SODIC}) if sodic else frozenset[str]()
    ledger.flag(Flag("thin_for_soil", "caution", text, "product.target", marks))


def _added(ledger: Ledger, prefix: str) -> str:
    added = ledger.number(f"{prefix}.calcium_for_soil_mg_l")
    return "add gypsum or calcite" if added is None else f"add {added:.2g} mg/L of calcium"
