"""What a softener that stands there is set to and fed with, against what its resin bears."""

from math import ceil, floor

from msgspec.structs import replace

from pretreat.core.basis import Level
from pretreat.core.tables import rows
from pretreat.stages.softener.resin import TOP_RUNG_SLACK, CapacityTable
from pretreat.stages.softener.salt_laws import salt_of_refill_kg
from pretreat.stages.train import Train

P = "softener"
FAR_BEYOND = 10.0  # times the top rung; above it a setting is rated with the capacity of the top
OXIDANT_TOLD_MG_L = 0.1  # PRACTICE: below it within the error of a chlorine test
OXIDANT_MOST_MG_L = 1.0  # PRACTICE: 0.5 to 1 mg/L of free chlorine is borne


def reaching(table: CapacityTable, dose_g_l: float) -> CapacityTable:
    """Return a table that reaches a salt dose that stands outside it.

    Below the table the capacity is taken in proportion to the salt, which is less than the
    resin gives; above it as at the top, since more salt hardly adds any.

    Parameters
    ----------
    table : CapacityTable
        Capacity against dose. [-]
    dose_g_l : float
        Salt dose that is set. [g NaCl/L]

    Returns
    -------
    CapacityTable
        The same table where it holds the dose. [-]
    """
    doses, held = table.dose_g_l, table.capacity_g_l
    if dose_g_l < doses[0]:
        return replace(table, dose_g_l=(0.0, *doses), capacity_g_l=(0.0, *held))
    if dose_g_l > doses[-1] * TOP_RUNG_SLACK:
        beyond = max(FAR_BEYOND * doses[-1], dose_g_l)
        return replace(table, dose_g_l=(*doses, beyond), capacity_g_l=(*held, held[-1]))
    return table


def note_salt_off(train: Train, dose_g_l: float, table: CapacityTable) -> None:
    """Flag a salt setting outside the table, with the setting that lies within it.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    dose_g_l : float
        Salt dose that is set. [g NaCl/L]
    table : CapacityTable
        Capacity against dose. [-]
    """
    entries, (low, high) = train.entries, (table.dose_g_l[0], table.dose_g_l[-1])
    resin_l = entries.value(f"{P}.resin_filled_l")
    below = dose_g_l < low
    kg = tuple(dose * resin_l / 1000.0 for dose in (low, high))
    setting = f"set {kg[0]:.3g} to {kg[1]:.3g} kg each time"
    per_min = salt_of_refill_kg(1.0, train.design.softener.refill_flow_l_min or 1.0)
    if train.design.softener.refill_minutes is not None:
        setting += f" ({ceil(kg[0] / per_min)} to {floor(kg[1] / per_min)} min of refill)"
    how = "in proportion to the salt below it" if below else "as at its top"
    why = "hard water may come early" if below else "the salt above it is wasted"
    entries.flag(
        "salt_off_table",
        "warning",
        f"the salt set is {dose_g_l:.3g} g per litre of resin; the capacity table '{table.name}' "
        f"holds from {low:.3g} to {high:.3g} g/L, the capacity is taken {how} and {why}: "
        f"{setting}, or check the resin volume",
        f"{P}.salt_dose_g_l",
    )


def note_oxidant(train: Train, free_chlorine_mg_l: float) -> None:
    """Flag free chlorine onto the resin: it breaks the cross-links, so the resin wears sooner.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    free_chlorine_mg_l : float
        Free chlorine in the water ahead of the softener. [mg/L]
    """
    if free_chlorine_mg_l < OXIDANT_TOLD_MG_L:
        return
    grave = free_chlorine_mg_l > OXIDANT_MOST_MG_L
    borne = next(r for r in rows("wear.csv") if r["key"] == "softener_chlorine_dose")
    dose = float(borne["likely"])
    level: Level = "warning" if grave else "caution"
    years = dose / free_chlorine_mg_l
    remedy = (
        "carbon ahead of the softener ([carbon] before_softener = true)"
        if grave
        else "carbon ahead of the softener spares it"
    )
    train.entries.flag(
        "resin_oxidant",
        level,
        f"free chlorine of {free_chlorine_mg_l:g} mg/L reaches the resin: it bears about "
        f"{dose:g} mg/L times years (common practice), some {years:.2g} years of "
        f"running here, at most {OXIDANT_MOST_MG_L:g} mg/L is usual: {remedy}",
        f"{P}.hardness_load_mg_l_caco3",
    )
