"""Sodium and chloride that nobody measured: what conductivity, solids or the balance tell of them.

A saline water whose salt is not in the analysis leaks hardness from a softener, and its
membranes want pressure, as if the salt were there; so it is counted, as sodium chloride.
"""

from msgspec import Struct

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.units import molar_mass
from pretreat.core.water import WaterAnalysis
from pretreat.lab.quality_figures import LEAST_GAP_MEQ_L
from pretreat.lab.read.wording import shown
from pretreat.lab.water_laws import TDS_OF_EC, implied_ion_mg_l

SODIUM, CHLORIDE = "na", "cl"
LEAST_SHARE = 0.1  # PRACTICE: of the dissolved solids; less is within the scatter of the rest
SALT = molar_mass("Na") + molar_mass("Cl")


class Sides(Struct, frozen=True):
    """Keys of the sums of an ion's own side of the balance and of the other."""

    own: str
    other: str


SIDES = {
    SODIUM: Sides("water.cations_meq_l", "water.anions_meq_l"),
    CHLORIDE: Sides("water.anions_meq_l", "water.cations_meq_l"),
}


def implied_key(ion: str) -> str:
    """Return the key of what is implied of an ion."""
    return f"water.{ion}_implied_mg_l"


def salinity_known(water: WaterAnalysis) -> bool:
    """Tell whether dissolved solids, conductivity or sodium and its anions tell the salinity.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    bool
        False where the salt of the water may be anything. [-]
    """
    solids = any(water.properties.get(key) for key in ("tds_mg_l", "ec_us_cm"))
    return solids or water.measured(SODIUM) or water.measured(CHLORIDE)


def enter_implied(ledger: Ledger, water: WaterAnalysis) -> dict[str, float]:
    """Enter and return sodium and chloride that were not measured and must be there.

    What closes the ion balance first, then what the dissolved solids (printed, or 0.65 times the
    conductivity) hold beyond the ions, as sodium chloride.

    Parameters
    ----------
    ledger : Ledger
        With the sums of the analysis entered. [-]
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    dict of str to float
        Empty where both were measured, or too little is lacking to tell. [mg/L as the ion]
    """
    lacking = [ion for ion in SIDES if not water.measured(ion)]
    printed = water.properties.get("tds_mg_l", 0.0)
    solids = max(printed, TDS_OF_EC * water.properties.get("ec_us_cm", 0.0))
    counted = ledger.number("water.tds_residue_mg_l") or 0.0
    gaps = {ion: _gap_meq_l(ledger, ion) for ion in lacking}
    told = {ion: gap * molar_mass(analytes()[ion].formula) for ion, gap in gaps.items()}
    salt = max(solids - counted - sum(told.values()), 0.0)
    if CHLORIDE not in lacking and water.measured("so4"):
        salt = 0.0  # every anion is known: the balance tells the sodium
    least = LEAST_SHARE * max(solids, counted)
    if SODIUM not in lacking or sum(told.values()) + salt <= least:
        return {}
    if salt / SALT + max(gaps.values()) <= LEAST_GAP_MEQ_L:
        return {}
    found = {}
    for ion in lacking:
        name, mass = analytes()[ion].name, molar_mass(analytes()[ion].formula)
        found[ion] = ledger.law(
            implied_key(ion),
            implied_ion_mg_l,
            other_meq_l=SIDES[ion].other,
            own_meq_l=SIDES[ion].own,
            mg_per_meq=mass,
            salt_mg_l=salt,
            share_of_salt=mass / SALT,
            label=f"{name.capitalize()}, estimated",
            method="not measured: closes the ion balance, then dissolved solids beyond the ions "
            "as sodium chloride",
            evidence="common practice",
            cites=("PRACTICE",),
        )
    ledger.flag(Flag("salt_implied", "caution", _words(found, solids), implied_key(SODIUM)))
    return {ion: amount for ion, amount in found.items() if amount > 0.0}


def _gap_meq_l(ledger: Ledger, ion: str) -> float:
    own, other = (ledger.number(key) or 0.0 for key in (SIDES[ion].own, SIDES[ion].other))
    return max(other - own, 0.0)


def _words(found: dict[str, float], solids: float) -> str:
    amounts = " and ".join(
        f"{analytes()[ion].name} {shown(amount, 2)} mg/L" for ion, amount in found.items()
    )
    of = f"dissolved solids of {shown(solids, 3)} mg/L" if solids else "the ion balance"
    return (
        f"{' and '.join(analytes()[ion].name for ion in found)} not measured: {of} leave room for "
        f"{amounts}, estimated as sodium chloride and so counted in the leakage of a softener, in "
        "pressure and product: have them measured"
    )
