"""What drinkers and their pipes meet in a product, whichever body's limits are chosen."""

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.core.units import molar_mass
from pretreat.lab.health import FROM_MEMORY, health_limits
from pretreat.membrane.elements.target_figures import DEFER
from pretreat.plant.delivered.remedies import NEUTRALISED
from pretreat.plant.delivered.rules import ACID_PH, BASIC_PH

BUFFERED_MG_L = 30.0  # PRACTICE: as CaCO3, of alkalinity and calcium; the goal is 40 to 60
CACO3_PER_CA = molar_mass("CaCO3") / molar_mass("Ca")  # STOICHIOMETRY
REMINERALISED = (*NEUTRALISED, "blending.share")
TOLD = "product_target"  # a limit that binds has said it
AMMONIUM = "nh4"


def flag_drunk(ledger: Ledger, prefix: str) -> None:
    """Flag an acid, a caustic or an ammoniacal water for drinking, where no limit has said it.

    Parameters
    ----------
    ledger : Ledger
        With the water held against its target. [-]
    prefix : str
        Start of the keys of its figures: "product" or "delivered". [-]
    """
    water = f"{prefix} water"
    told = {f.figure for f in ledger.study().flags if f.code in {TOLD, "delivered_ph"}}
    ph, solids = ledger.number(f"{prefix}.ph"), ledger.number(f"{prefix}.tds_mg_l")
    if ph is not None and f"{prefix}.ph" not in told and not ACID_PH <= ph <= BASIC_PH:
        ledger.flag(_of_ph(f"{prefix}.ph", water, ph, solids))
    elif ph is not None and f"{prefix}.ph" not in told:
        _flag_unbuffered(ledger, prefix, ph)
    key = f"{prefix}.{AMMONIUM}_mg_l"
    ammonium = ledger.number(key)
    limit = next(x for x in health_limits() if x.key == AMMONIUM)
    if ammonium is not None and ammonium > limit.limit and key not in told:
        text = (
            f"{water}: ammonium {ammonium:.2g} mg/L, above the {limit.printed} of {limit.law} "
            f"({FROM_MEMORY}): no limit for health, but ammonia passes membranes above pH 8, takes "
            "8 to 15 mg of chlorine for each mg of nitrogen before any disinfects, and tastes; "
            "acid ahead of the membranes holds it as ammonium, or take it out behind them "
            f"(common practice); {DEFER}"
        )
        ledger.flag(Flag("ammonia_in_product", "caution", text, key))


def _flag_unbuffered(ledger: Ledger, prefix: str, ph: float) -> None:
    """Flag a water that no pH tells of: hardly any alkalinity and hardly any calcium."""
    alkalinity, calcium = (
        ledger.number(f"{prefix}.{what}") for what in ("alkalinity_mg_l_caco3", "ca_mg_l")
    )
    if alkalinity is None or calcium is None:
        return
    hardness = calcium * CACO3_PER_CA
    if not (alkalinity < BUFFERED_MG_L and hardness < BUFFERED_MG_L):
        return
    remedy = "remineralise it (calcite, a blend)"
    if any(key in ledger for key in REMINERALISED):
        remedy = (
            "what stands behind the membranes does not bring enough: carbon dioxide ahead of "
            "calcite, or a blend"
        )
    text = (
        f"{prefix} water: alkalinity {alkalinity:.2g} and calcium {hardness:.2g} mg/L as CaCO3: "
        f"hardly buffered and far below saturation with calcite, corrosive to copper, lead solder, "
        f"zinc and cement although its pH is {ph:.1f} (below {BUFFERED_MG_L:g} mg/L of both; "
        f"40 to 60 are the goal, common practice): {remedy} ahead of "
        f"pipes and people, or plastic and stainless steel alone up to the tap; {DEFER}"
    )
    ledger.flag(Flag("acid_product", "caution", text, f"{prefix}.ph"))


def _of_ph(key: str, water: str, ph: float, solids: float | None) -> Flag:
    thin = "" if solids is None else f", {solids:.2g} mg/L of dissolved solids"
    if ph < ACID_PH:
        text = (
            f"{water}: pH {ph:.1f}{thin}: acid and hardly buffered, corrosive to copper, lead "
            f"solder, zinc and cement (below {ACID_PH:g}): neutralise it (calcite, alkali) or "
            f"degas and remineralise it ahead of pipes and people; {DEFER}"
        )
        return Flag("acid_product", "caution", text, key)
    text = (
        f"{water}: pH {ph:.1f}{thin}: above {BASIC_PH:g} it tastes of lye, weakens chlorine and "
        f"attacks seals: acid ahead of the membranes, or carbon dioxide behind; {DEFER}"
    )
    return Flag("caustic_product", "caution", text, key)
