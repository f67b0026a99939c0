"""Softener, inhibitor and acid on the same water: dose, chemical, what limits, and why."""

from dataclasses import dataclass

from pretreat.basis import Series, Value
from pretreat.design import DesignBasis
from pretreat.membrane.acid import SULFURIC
from pretreat.results import Ledger
from pretreat.sizing.packages import support
from pretreat.sizing.streams import RawWater
from pretreat.study.quote_lines import Till, enter_price
from pretreat.study.train_entries import Entries


@dataclass(frozen=True, slots=True)
class Option:
    """One way to keep scale off: chemical, dose [mg/L of feed], use [kg/year] and its reach."""

    name: str
    chemical: str
    dose: float | None
    kg_per_year: float | None
    price: float | None
    waste_m3_year: float
    recovery: float | None
    limited_by: Value
    why: str

    def row(self, wanted: float) -> tuple[Value, ...]:
        """Return the row of the table."""
        cost = None if self.kg_per_year is None or self.price is None else (
            self.kg_per_year * self.price)  # fmt: skip
        reach = "not known" if self.recovery is None else (
            "yes" if self.recovery >= wanted else "no")  # fmt: skip
        return (self.name, self.chemical, self.dose, self.kg_per_year, cost, self.waste_m3_year,
                self.recovery, reach, self.limited_by, self.why)  # fmt: skip


def enter_compare(ledger: Ledger, raw: RawWater, design: DesignBasis) -> None:
    """Enter the comparison of the ways to keep scale off the membranes.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go; the study and media life are entered before. [-]
    raw : RawWater
        The water ahead of the first stage. [-]
    design : DesignBasis
        The engineer's choices. [-]
    """
    if raw.from_test_kit or ledger.number("untreated.recovery.max") is None:
        return
    till = Till(Entries(ledger), design.prices)
    options = [_nothing(ledger), _softener(till), _inhibitor(till), _acid(till)]
    wanted = design.machine.recovery
    rows = tuple(option.row(wanted) for option in options if option is not None)
    ledger.table(
        Series("compare.options", "Ways to keep scale off the membranes, on the same water",
               ("option", "chemical", "dose_mg_l", "kg_per_year", "cost_per_year", "waste_m3_year",
                "recovery", "reaches", "limited_by", "why"),
               ("-", "-", "mg/L", "kg/year", f"{till.currency}/year", "m3/year", "-", "-", "-",
                "-"), rows,
               headings=("Way", "Chemical", "Dose in the feed", "Chemical per year",
                         "Cost of the chemical", "Waste of regenerations", "Recovery reached",
                         "Recovery wanted is reached", "Then limited by", "Why, and what to mind"),
               cites=("PRACTICE", "STOICHIOMETRY"),
               method="chemicals alone: no vessels, dosing sets, labour or water")
    )  # fmt: skip


def _nothing(ledger: Ledger) -> Option:
    return Option("nothing", "none", 0.0, 0.0, 0.0, 0.0, ledger.number("untreated.recovery.max"),
                  _word(ledger, "untreated.recovery.limited_by"),
                  "the raw water as it is, at the limits in force")  # fmt: skip


def _word(ledger: Ledger, key: str) -> Value:
    figure = ledger.figure(key)
    return None if figure is None else figure.value


def _softener(till: Till) -> Option | None:
    ledger = till.entries.ledger
    salt = ledger.number("consumables.salt_per_year")
    if salt is None:
        return None
    water = till.entries.value("media_life.water_m3_per_year")
    waste = (ledger.number("softener.waste_m3_per_regeneration") or 0.0) * till.entries.value(
        "media_life.softener_cycles_per_year"
    )
    return Option(
        "softener", "salt", salt / water * 1000.0, salt, _price(till, "salt_per_kg", "Salt"), waste,
        ledger.number("recovery.max"), _word(ledger, "recovery.limited_by"),
        "takes calcium, barium and strontium, so carbonate and sulfate scale both; also the last "
        "iron; adds sodium, sends brine to the drain (codes may forbid it); does nothing against "
        "silica",
    )  # fmt: skip


def _price(till: Till, name: str, label: str) -> float | None:
    if till.silent:
        return None
    return enter_price(till, name, "kg", label)


def _inhibitor(till: Till) -> Option:
    ledger, rows = till.entries.ledger, support()
    dose = rows["inhibitor_dose_mg_l"].value
    low, high = rows["inhibitor_dose_low_mg_l"].value, rows["inhibitor_dose_high_mg_l"].value
    kilograms = dose * till.entries.value("media_life.water_m3_per_year") / 1000.0
    return Option(
        "inhibitor", "scale inhibitor", dose, kilograms,
        _price(till, "inhibitor_per_kg", "Scale inhibitor"), 0.0,
        ledger.number("untreated.recovery.max_inhibited"),
        _word(ledger, "untreated.recovery.limited_by_inhibited"),
        f"{low:g} to {high:g} mg/L is common practice, the maker's dose and limits govern; small "
        "dose, no brine; delays scale but takes nothing out, and iron ahead of it must be gone",
    )  # fmt: skip


def _acid(till: Till) -> Option | None:
    """Hold the carbonate index at its limit by acid; the reach stands in the table of levers."""
    figure = till.entries.ledger.figure("untreated.recovery.sulfuric_acid_mg_l")
    if figure is None:
        return None
    reach, limited_by = _lever(till.entries.ledger, SULFURIC.name)
    dose = figure.value
    if not isinstance(dose, float):
        return Option("acid", "sulfuric acid", None, None, None, 0.0, reach, limited_by,
                      "acid alone does not bring the carbonate index to its limit")  # fmt: skip
    kilograms = dose * till.entries.value("media_life.water_m3_per_year") / 1000.0
    price = _price(till, "acid_per_kg", "Sulfuric acid (as 100 %)")
    return Option(
        "acid", "sulfuric acid (as 100 %)", dose, kilograms, price, 0.0, reach, limited_by,
        "takes alkalinity, so carbonate scale alone; adds sulfate, which brings gypsum and barite "
        "nearer, and carbon dioxide, which passes into the product; strong acid: trained people, "
        "local codes, never near hypochlorite",
    )  # fmt: skip


def _lever(ledger: Ledger, name: str) -> tuple[float | None, Value]:
    """Read how far a lever takes the raw water, where that table is entered."""
    table = ledger.study().series.get("untreated.recovery.levers")
    rows = () if table is None else table.rows
    for lever, maximum, limited_by, *_ in rows:
        if lever == name and isinstance(maximum, float):
            return maximum, limited_by
    return None, None
