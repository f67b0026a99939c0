"""What a train sends to the drain: chloride, solids and salt against limits and criteria."""

from typing import Any

from msgspec import Struct

from pretreat.core.basis import Flag, Series
from pretreat.core.results import Ledger
from pretreat.core.tables import rows
from pretreat.life import discharge
from pretreat.plant.choices.drain import OVER_LIMIT, WORDS
from pretreat.plant.choices.salt import KG_PER_T, SALT_FLAG, much_salt
from pretreat.site.design import DesignBasis
from pretreat.stages.fixed import chosen_train
from pretreat.stages.limits import train_limits
from pretreat.stages.softener.resin import table_of
from pretreat.stages.train import Entries

P = "discharge"
RAW, DRAIN = "water_balance.raw_m3_year", "water_balance.drain_m3_year"
BEST_GRAINS_LB = 4000.0  # MMSD, HSC116785: best practice, and the law of one state from 2002
FAR_TIMES = 2.0  # PRACTICE: times the user's own limit of the drain, which no permit rounds off


class _Load(Struct, frozen=True):
    """A load on the drain: its key, its mean concentration and its name."""

    name: str
    limit_mg_l: float | None

    @property
    def key(self) -> str:
        """Key of the mean concentration."""
        return f"{P}.{self.name}_mg_l"


def enter_consequences(ledger: Ledger, design: DesignBasis, instead: str = "") -> None:
    """Enter what the train sends to the drain, and hold it against the limits of the user.

    Parameters
    ----------
    ledger : Ledger
        A ledger with water and train entered. [-]
    design : DesignBasis
        The engineer's choices. [-]
    instead : str, optional
        The train that keeps the limits where this one does not. [-]
    """
    if ledger.number(RAW) is None or ledger.number(DRAIN) is None:
        return
    entries, own = Entries(ledger), design.stages["discharge"]
    _enter_added(entries)
    loads = [_Load("chloride", own.chloride_mg_l), _Load("tds", own.tds_mg_l)]
    found = [load for load in loads if _enter_load(entries, load)]
    for load in found:
        _hold(entries, load, instead)
    _enter_salt(entries, own.salt_kg_per_day, instead)
    _enter_salt_of_product(entries, design)
    if found:
        _enter_criteria(ledger)


def _enter_added(entries: Entries) -> None:
    """Enter salt and acid of a year, 0 where the train takes none."""
    for name, keys, label in (
        ("salt_kg_year", ("softener.salt_kg_per_year",), "Salt to the drain in a year"),
        ("acid_kg_year", ("weak_acid.acid_kg_per_year",), "Hydrochloric acid, in a year"),
    ):
        known = [key for key in keys if entries.ledger.number(key) is not None]
        entries.computed(
            f"{P}.{name}",
            sum(entries.value(key) for key in known),
            "kg/year",
            label,
            inputs=tuple(known),
            again=_sum,
            method="what regenerations take",
        )


def _sum(*amounts: Any) -> Any:
    return sum(amounts)


def _enter_load(entries: Entries, load: _Load) -> bool:
    ledger = entries.ledger
    raw = "water.cl_mg_l" if load.name == "chloride" else "water.tds_mg_l"
    if ledger.number(raw) is None:
        return False
    full = f"{P}.{load.name}_kg_year"
    label = WORDS[load.name]
    if load.name == "chloride":
        entries.law(
            full,
            discharge.chloride_kg_year,
            raw_m3_year=RAW,
            chloride_mg_l=raw,
            salt_kg_year=f"{P}.salt_kg_year",
            acid_kg_year=f"{P}.acid_kg_year",
            label="Chloride to the drain in a year",
        )
    else:
        entries.law(
            full,
            discharge.solids_kg_year,
            raw_m3_year=RAW,
            tds_mg_l=raw,
            added_kg_year=f"{P}.salt_kg_year",
            label="Dissolved solids to the drain in a year",
        )
    entries.law(
        load.key,
        discharge.mean_of_load_mg_l,
        load_kg_year=full,
        waste_m3_year=DRAIN,
        label=f"{label.capitalize()} of what goes to the drain, mean",
        method="at the most: all of the raw water's, as if the product took none of it",
    )
    return True


def _hold(entries: Entries, load: _Load, instead: str) -> None:
    found, limit = entries.ledger.number(load.key), load.limit_mg_l
    if limit is None or found is None:
        return
    entries.given(
        f"{P}.{load.name}_limit_mg_l",
        limit,
        "mg/L",
        f"Limit of the drain: {WORDS[load.name]}",
        origin="chosen",
        cites=(),
    )
    if found > limit:
        far = found > FAR_TIMES * limit
        ask = "ask for the permit"
        if far:
            ask = "nobody may send it there before it is permitted; have that in writing"
        text = (
            f"{WORDS[load.name]} to the drain is at most {found:,.0f} mg/L in the mean (more while "
            f"a stage regenerates), above the limit given, {limit:,.0f} mg/L: {ask}, or take a "
            "train with less salt"
        )
        entries.ledger.flag(Flag(OVER_LIMIT, "warning", _with(text, instead), load.key))


def _with(text: str, instead: str) -> str:
    return f"{text} ({instead})" if instead else text


def _enter_salt(entries: Entries, limit_kg_d: float | None, instead: str) -> None:
    ledger = entries.ledger
    salt = ledger.number("softener.salt_kg_per_year")
    if not salt:
        return
    given = entries.law(
        f"{P}.salt_efficiency",
        discharge.hardness_for_salt,
        load_kg_caco3_d="softener.load_kg_caco3_d",
        days_per_year="machine.days_per_year",
        salt_kg_year="softener.salt_kg_per_year",
        unit="g/kg",
        label="Hardness taken by a kilogram of salt",
    )
    best = discharge.salt_efficiency_g_kg(BEST_GRAINS_LB)
    if given < best:
        text = (
            f"a kilogram of salt takes {given:.0f} g of hardness; best practice, and the law of "
            f"some states for homes on a sewer, is {best:.0f} g (4000 grains a pound): a lower "
            "salt dose does more with a kilogram"
        )
        ledger.flag(Flag("salt_efficiency", "info", text, f"{P}.salt_efficiency"))
    days = ledger.number("machine.days_per_year") or 0.0
    if limit_kg_d is not None and days and salt / days > limit_kg_d:
        text = (
            f"salt of {salt / days:.3g} kg a day is above the limit given, {limit_kg_d:g} kg "
            "a day: ask for the permit, or take a train with less salt"
        )
        ledger.flag(Flag(OVER_LIMIT, "warning", _with(text, instead), f"{P}.salt_kg_year"))


def _enter_salt_of_product(entries: Entries, design: DesignBasis) -> None:
    """Enter the salt for each m3 of product; flag what nobody accepts in a train set by hand."""
    ledger, limit = entries.ledger, train_limits()["softener_salt"]
    needed = ("softener.salt_kg_per_year", "machine.product_m3_d", "machine.days_per_year")
    if not all(ledger.number(key) for key in needed):
        return
    each = entries.law(
        f"{P}.salt_of_product_kg_m3",
        discharge.salt_over_product_kg_m3,
        salt_kg_year=needed[0],
        product_m3_d=needed[1],
        days_per_year=needed[2],
        label="Salt for each m3 of product",
    )
    if each > limit.value and not chosen_train(design):  # the choice speaks for its own
        year = ledger.number(needed[0]) or 0.0
        text = much_salt(year, each) + _less_salt(ledger, design, year)
        ledger.flag(Flag(SALT_FLAG, "caution", text, f"{P}.salt_of_product_kg_m3"))


def _less_salt(ledger: Ledger, design: DesignBasis, year_kg: float) -> str:
    """Say which lower salt dose keeps the setting of a timer, and what it takes; free of cost."""
    softener = design.softener
    table = ledger.study().series.get("softener.dose_options")
    setting = ledger.number("softener.programme_days")
    own = ledger.number("softener.salt_dose_g_l")
    if table is None or softener.control != "calendar" or not setting or not own:
        return ""
    least = table_of(softener).trusted_from_g_l
    place = {name: i for i, name in enumerate(table.columns)}
    for row in table.rows:
        dose, lasts = (float(row[place[k]] or 0.0) for k in ("dose_g_l", "interval_d"))
        if least <= dose < own and lasts >= setting:
            return (
                f"; free of cost: set {dose:.0f} g/L instead of {own:.0f} (lasts {lasts:.2g} d, "
                f"the setting of {setting:g} d stays): {year_kg * dose / own / KG_PER_T:,.3g} t a "
                "year, and a little more hardness passes"
            )
    return ""


def _enter_criteria(ledger: Ledger) -> None:
    """Enter published criteria beside what was found; the permit governs."""
    lines = []
    for row in rows("discharge_criteria.csv"):
        found, limit = ledger.number(f"{P}.{row['analyte']}_mg_l"), float(row["limit_mg_l"])
        if found is not None:
            state = "over" if found > limit else "kept"
            lines.append(
                (row["meaning"], WORDS[row["analyte"]], found, limit, state, row["evidence"])
            )
    ledger.table(
        Series(
            "train.discharge",
            "What goes to the drain, beside published criteria",
            ("criterion", "analyte", "found_mg_l", "limit_mg_l", "state", "evidence"),
            ("-", "-", "mg/L", "mg/L", "-", "-"),
            tuple(lines),
            method="for comparison only: the permit and local law govern; brine to a septic tank: "
            "ask the designer and the authority",
            cites=("EPACHLORIDE1988", "CFR143_3", "FAO29", "HSC116785"),
            headings=("Criterion", "Of", "Found", "Limit", "State", "Evidence"),
        )
    )
