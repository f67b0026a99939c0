"""A lower salt dose that serves the same bed as well: told, never set."""

from msgspec import Struct

from pretreat.core.basis import Flag
from pretreat.stages.bed.programme import calendar_setting_d, settings_per_week
from pretreat.stages.softener.resin import CapacityTable
from pretreat.stages.train import Train

P = "softener"
LOWER_DOSE = "lower_salt_dose"
SOFT_MG_L = 17.1  # a grain per US gallon, what a softener is tested to (NSF/ANSI 44, by memory)
LEAST_DAYS = 1.0  # PRACTICE: regenerated more often, a bed is on the small side
WORTH = 0.1  # PRACTICE, own judgement: of the salt, what is worth a word
KG_PER_T = 1000.0


class Rung(Struct, frozen=True):
    """A salt dose: how long the bed lasts, its leakage, the timer, and the salt of a year."""

    dose_g_l: float
    interval_d: float
    leakage_mg_l_caco3: float
    setting_d: float | None
    salt_kg_year: float


def note_lower_dose(train: Train, table: CapacityTable) -> None:
    """Say which lower dose of the ladder keeps vessel, leakage and interval, and what it saves.

    Parameters
    ----------
    train : Train
        With the doses entered. [-]
    table : CapacityTable
        Capacity against salt dose. [-]
    """
    entries = train.entries
    shown = entries.ledger.study().series.get(f"{P}.dose_options")
    number = entries.ledger.number  # of a bed too shallow to be run there is no year
    own, year = number(f"{P}.salt_dose_g_l"), number(f"{P}.salt_kg_per_year")
    if shown is None or not year or not own:
        return
    at = {name: i for i, name in enumerate(shown.columns)}
    rungs = []
    for row in shown.rows:
        dose, interval, leak, salt = (
            float(row[at[k]] or 0.0)
            for k in ("dose_g_l", "interval_d", "leakage_mg_l_caco3", "salt_g_per_g")
        )
        setting, share = _share(train, dose / own, interval, salt)
        if not table.trusted_from_g_l <= dose < own or share is None:
            continue
        if interval >= LEAST_DAYS and leak <= SOFT_MG_L and share <= 1.0 - WORTH:
            rungs.append(Rung(dose, interval, leak, setting, share * year))
    if rungs:
        _flag(train, min(rungs, key=lambda one: one.salt_kg_year), own, year)


def _share(
    train: Train, of_dose: float, interval_d: float, salt_g_per_g: float
) -> tuple[float | None, float | None]:
    """Return the timer's setting, and the share of the salt that a dose takes; None without."""
    value, now = train.entries.value, train.entries.ledger.number(f"{P}.programme_days")
    if train.design.softener.control != "calendar":
        spent = value(f"{P}.salt_dose_g_l") / value(f"{P}.capacity_g_caco3_l")
        return None, salt_g_per_g / spent
    hours, longest = value("machine.hours_per_day"), value(f"{P}.longest_gap_d")
    setting = calendar_setting_d(interval_d, hours, longest)
    if setting is None or not now:
        return setting, None
    return setting, of_dose * settings_per_week(setting) / settings_per_week(now)


def _flag(train: Train, rung: Rung, own_g_l: float, year_kg: float) -> None:
    saved = year_kg - rung.salt_kg_year
    prices = train.design.prices
    money = ""
    if prices.salt_per_kg:
        money = f" and {saved * prices.salt_per_kg:,.0f} {prices.currency}".rstrip()
    lasts = f"lasts {rung.interval_d:.3g} d"
    if rung.setting_d is not None:
        lasts += f" (timer {rung.setting_d:g} d)"
    tonnes = f"{saved / KG_PER_T:,.2g} t" if saved >= KG_PER_T else f"{saved:,.0f} kg"
    text = (
        f"at {rung.dose_g_l:.0f} g/L of salt instead of {own_g_l:.0f} g/L the same vessel {lasts} "
        f"and lets {rung.leakage_mg_l_caco3:.2g} mg/L of hardness pass: it saves {tonnes} of salt"
        f"{money} a year; set [softener] salt_dose"
    )
    train.entries.ledger.flag(Flag(LOWER_DOSE, "info", text, f"{P}.salt_dose_g_l"))
