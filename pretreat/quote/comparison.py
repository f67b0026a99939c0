"""Softener, inhibitor and acid on the same water: what each takes, how far it goes, its cost."""

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Series, Value, cites
from pretreat.core.equivalents import equivalent_hardness_mg_l_caco3
from pretreat.core.results import Ledger
from pretreat.core.text import lazy
from pretreat.membrane.acid import SULFURIC
from pretreat.membrane.limits import USUAL_SALT_DOSE_G_L
from pretreat.plant.summary import percent_down
from pretreat.quote.lines import Till, enter_price
from pretreat.site.design import DesignBasis
from pretreat.stages.packages import support
from pretreat.stages.softener.regeneration import PUBLISHED_WASTE_BV
from pretreat.stages.softener.resin import capacity_table, operating_capacity_g_l
from pretreat.stages.stream import RawWater
from pretreat.stages.train import Entries

G_PER_KG, L_PER_M3 = 1000.0, 1000.0
NEAR = 0.01  # a recovery missed by less than this is a near miss
LEAST_DOSE_MG_L = 1.0  # common practice: less than this cannot be fed steadily
WATER = "media_life.water_m3_per_year"
PRICED = ("salt_per_kg", "inhibitor_per_kg", "acid_per_kg", "water_per_m3", "drain_per_m3")
OPERATING = "water.operating_temperature_c"
LEVERS = "untreated.recovery.levers"
_BYPASS = lazy(r"(\d+) ?% of the feed may bypass")
_DOSE = lazy(r"([\d.]+) mg/L of 100 % acid")


class Option(Struct, frozen=True):
    """One way to keep scale off: chemical, dose [mg/L of feed], use [kg/year] and its reach.

    ``costs`` are those of chemical, of regeneration water and drain, and of resin [money/year];
    None where a price or a quantity is missing.
    """

    name: str
    chemical: str
    dose: float | None
    kg_per_year: float | None
    costs: tuple[float | None, float | None, float | None]
    waste_m3_year: float
    recovery: float | None
    limited_by: Value
    why: str

    @property
    def total(self) -> float | None:
        """Sum of the costs, None where one is missing."""
        known = [cost for cost in self.costs if cost is not None]
        return sum(known) if len(known) == len(self.costs) else None

    def reaches(self, wanted: float) -> bool | None:
        """Tell whether the recovery wanted is reached, None if not known."""
        return None if self.recovery is None else self.recovery >= wanted

    def row(self, wanted: float) -> tuple[Value, ...]:
        """Return the row of the table."""
        reach = {None: "not known", True: "yes", False: "no"}[self.reaches(wanted)]
        if self.recovery is not None and wanted - NEAR < self.recovery < wanted:
            reach = f"no, near miss: {self.recovery:.3f} of {wanted:g}"
        return (
            self.name,
            self.chemical,
            self.dose,
            self.kg_per_year,
            self.costs[0],
            self.waste_m3_year,
            self.costs[1],
            self.costs[2],
            self.total,
            self.recovery,
            reach,
            self.limited_by,
        )


class Case(Struct, frozen=True):
    """What the options are worked out from: prices, the year's water, and how far each goes."""

    till: Till
    design: DesignBasis
    raw: RawWater
    levers: dict[str, tuple[Value, ...]]

    @property
    def water_m3(self) -> float:
        """Water to the membranes in a year [m3]."""
        return self.till.entries.value(WATER)

    def price(self, name: str, label: str, unit: str = "kg") -> float | None:
        """Enter a price and return it; None without prices."""
        return None if self.till.silent else enter_price(self.till, name, unit, label)

    def reach(self, lever: str) -> tuple[float | None, Value]:
        """Return how far a lever takes the raw water, and what limits it then."""
        row = self.levers.get(lever)
        if row is None or not isinstance(row[1], float):
            return None, None
        return row[1], row[2]

    def words(self, lever: str) -> str:
        """Return what the table of levers says of a lever."""
        return " ".join(str(cell) for cell in self.levers.get(lever, ())[3:])


def enter_compare(ledger: Ledger, raw: RawWater, design: DesignBasis) -> None:
    """Enter the comparison of the scale control options, and its conclusion.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go; the study, media life and quote are entered before. [-]
    raw : RawWater
        The water ahead of the first stage. [-]
    design : DesignBasis
        The engineer's choices. [-]
    """
    table = ledger.study().series.get(LEVERS)
    if raw.from_test_kit or table is None:
        return
    case = Case(
        Till.of(Entries(ledger), design), design, raw, {str(row[0]): row for row in table.rows}
    )
    options = [_nothing(case), *_softeners(case), _inhibitor(case), *_acids(case)]
    wanted, cur = design.machine.recovery, f"{case.till.currency}/year"
    ledger.table(
        Series(
            "compare.options",
            "Scale control options, on the same water",
            (
                "option",
                "chemical",
                "dose_mg_l",
                "kg_per_year",
                "cost_per_year",
                "waste_m3_year",
                "water_cost",
                "media_cost",
                "total",
                "recovery",
                "reaches",
                "limited_by",
            ),
            ("-", "-", "mg/L", "kg/year", cur, "m3/year", cur, cur, cur, "-", "-", "-"),
            tuple(option.row(wanted) for option in options),
            headings=(
                "Way",
                "Chemical",
                "Dose in the feed",
                "Chemical per year",
                "Cost of the chemical",
                "Waste of regenerations",
                "Water and drain of regenerations",
                "Resin",
                "Cost of these three",
                "Recovery reached",
                "Recovery wanted is reached",
                "Then limited by",
            ),
            cites=("PRACTICE", "STOICHIOMETRY"),
            method="what each way takes and how far it goes: limits without an "
            "inhibitor except where it is named; chemical at the "
            "amount used, where the quote counts whole packages (a drum may last for years); "
            "vessels, dosing sets, labour, cleaning and energy are not counted",
        )
    )
    ledger.table(
        Series(
            "compare.why",
            "What speaks for each way, and what to mind",
            ("option", "why"),
            ("-", "-"),
            tuple((option.name, option.why) for option in options),
            headings=("Way", "Why, and what to mind"),
            cites=("PRACTICE",),
        )
    )
    ledger.put(
        "compare.conclusion",
        season_words(ledger) + conclusion(options, wanted, case.till.currency),
        "-",
        "Scale control options",
        inputs=("recovery.max",),
        method="from the table of ways; capital, labour and cleaning are not counted",
    )
    prices = (f"prices.{name}" for name in PRICED)
    held = (WATER, "machine.recovery", "consumables.salt_per_year", *prices)
    ledger.rests("compare.conclusion", "recovery.max", *(key for key in held if key in ledger))


def season_words(ledger: Ledger) -> str:
    """Say at which temperature the ways were compared, where another season allows less.

    Parameters
    ----------
    ledger : Ledger
        With the verdict entered. [-]

    Returns
    -------
    str
        Words to go before the conclusion, empty where there is one season. [-]
    """
    study = ledger.study()
    worst, here = study.value("recovery.worst_season"), study.number(OPERATING)
    blind = any(flag.code == "unjudged_scale" for flag in study.flags)
    found = "of the scales that could be judged, " if blind else ""
    if not isinstance(worst, str) or worst.startswith("operating") or here is None:
        return found
    return f"{found}at the operating temperature ({here:g} °C; the verdict is for the {worst}): "


def conclusion(options: list[Option], wanted: float, currency: str) -> str:
    """Say which ways reach a recovery, what holds the others back, and which costs least.

    Parameters
    ----------
    options : list of Option
        The ways. [-]
    wanted : float
        Recovery wanted. [-]
    currency : str
        Of the costs. [-]

    Returns
    -------
    str
        One sentence. [-]
    """
    good = [o for o in options if o.reaches(wanted)]
    held: dict[str, list[str]] = {}
    for o in options:
        if o.reaches(wanted) is False and o.recovery is not None:
            near = (
                f" ({percent_down(o.recovery)}, a near miss)"
                if (o.recovery > wanted - NEAR)
                else ""
            )
            who = "the raw water" if o.name == "nothing" else o.name
            held.setdefault(str(o.limited_by), []).append(who + near)
    if all(o.recovery is None for o in options):
        return "none could be judged: no scale can be computed from this analysis"
    names = ", ".join(o.name for o in good)
    parts = [
        f"{percent_down(wanted)} is reached by {names}"
        if good
        else f"none of these ways reaches {percent_down(wanted)}"
    ]
    if held:
        parts.append(
            "what decides: "
            + ", ".join(f"{scale} stops {' and '.join(who)}" for scale, who in held.items())
        )
    priced = [(o.total, o.name) for o in good if o.total is not None]
    if len(priced) > 1:
        cost, name = min(priced)
        others = " and that of one way is not known" if len(priced) < len(good) else ""
        parts.append(f"of what is counted {name} costs least, {cost:,.0f} {currency}/year{others}")
    return "; ".join(parts)


def _nothing(case: Case) -> Option:
    return Option(
        "nothing",
        "none",
        0.0,
        0.0,
        (0.0, 0.0, 0.0),
        0.0,
        *case.reach("as it is"),
        "the raw water as it is",
    )


def _softeners(case: Case) -> list[Option]:
    """Return a softener, and one with as much bypass as the recovery wanted allows."""
    if "softener" not in case.levers:
        return []
    ledger = case.till.entries.ledger
    salt, waste, where = _thought_softener(case)
    per_year = ledger.number("softener.waste_m3_per_regeneration_of_all")
    cycles = ledger.number("media_life.softener_cycles_per_year")
    known = ledger.number("consumables.salt_per_year")
    if known is not None and per_year is not None and cycles is not None:
        salt, waste, where = known, per_year * cycles, ""
    whole = Option(
        "softener",
        "salt",
        salt / case.water_m3 * G_PER_KG,
        salt,
        (
            _times(salt, case.price("salt_per_kg", "Salt")),
            _water_cost(case, waste),
            _resin_cost(ledger),
        ),
        waste,
        *case.reach("softener"),
        "takes calcium, barium and strontium, so carbonate and sulfate scale both; also the last "
        "iron; adds sodium, sends brine to the drain (codes may forbid it); does nothing against "
        f"silica{where}",
    )
    found = _BYPASS.search(case.words("softener with bypass"))
    if found is None:
        return [whole]
    share = 1.0 - float(found[1]) / 100.0
    reach, by = case.reach("softener with bypass")
    scaled = [None if cost is None else cost * share for cost in whole.costs]
    part = replace(
        whole,
        name="softener with bypass",
        dose=salt * share / case.water_m3 * G_PER_KG,
        kg_per_year=salt * share,
        costs=(scaled[0], scaled[1], scaled[2]),
        waste_m3_year=waste * share,
        recovery=reach,
        limited_by=by,
        why=f"{found[1]} % of the feed goes round the softener; a meter and a valve that holds the "
        "share are needed, and no margin is left",
    )
    return [whole, part]


@cites("WTPD4", "p. 12.46: waste of a regeneration")
def _thought_softener(case: Case) -> tuple[float, float, str]:
    """Return salt and waste of a year of a softener that is not in the train."""
    softener = case.design.softener
    dose, table = softener.salt_dose_g_l or USUAL_SALT_DOSE_G_L, capacity_table()
    if not table.dose_g_l[0] <= dose <= table.dose_g_l[-1]:
        dose = USUAL_SALT_DOSE_G_L
    hardness = equivalent_hardness_mg_l_caco3(dict(case.raw.mg_l), ("ca", "mg", "sr", "ba"))
    usable = operating_capacity_g_l(dose, table) * (1.0 - softener.kept_reserve)
    litres = hardness * case.water_m3 / usable  # of resin regenerated in a year
    words = "; not in the train: salt and waste are thought out from its hardness, no resin cost"
    return litres * dose / G_PER_KG, litres * PUBLISHED_WASTE_BV / L_PER_M3, words


def _times(amount: float | None, price: float | None) -> float | None:
    return None if amount is None or price is None else amount * price


def _water_cost(case: Case, waste_m3: float) -> float | None:
    """Return what regenerations cost in raw water and drain; None without both prices."""
    prices = case.design.prices
    if prices.water_per_m3 is None or prices.drain_per_m3 is None:
        return None
    return waste_m3 * (prices.water_per_m3 + prices.drain_per_m3)


def _resin_cost(ledger: Ledger) -> float | None:
    cost = ledger.number("costs.softener_replacement")
    years = ledger.number("media_life.softener_years_likely")
    return None if cost is None or years is None else cost / years


def _inhibitor(case: Case) -> Option:
    rows = support()
    dose = rows["inhibitor_dose_mg_l"].value
    low, high = rows["inhibitor_dose_low_mg_l"].value, rows["inhibitor_dose_high_mg_l"].value
    kilograms = dose * case.water_m3 / G_PER_KG
    price = case.price("inhibitor_per_kg", "Scale inhibitor")
    return Option(
        "inhibitor",
        "scale inhibitor",
        dose,
        kilograms,
        (_times(kilograms, price), 0.0, 0.0),
        0.0,
        *case.reach("scale inhibitor"),
        f"{low:g} to {high:g} mg/L is common practice, the maker's dose and limits govern; small "
        "dose, no brine; delays scale but takes nothing out, and iron ahead of it must be gone",
    )


def _acids(case: Case) -> list[Option]:
    """Hold the carbonate index at its limit by acid, alone and with an inhibitor.

    Where no acid is needed it is no way of its own: the row without it says the same.
    """
    options = []
    for name, lever in (
        ("acid", SULFURIC.name),
        ("acid and inhibitor", f"{SULFURIC.name} and inhibitor"),
    ):
        if lever in case.levers:
            option = _acid(case, name, lever)
            if option.dose is None or option.dose > 0:
                options.append(option)
    return options


def _acid(case: Case, name: str, lever: str) -> Option:
    inhibited = name != "acid"
    said = case.words(lever)
    found = _DOSE.search(said)
    dose = float(found[1]) if found else 0.0 if "no acid needed" in said else None
    if not inhibited:
        exact = case.till.entries.ledger.number("untreated.recovery.sulfuric_acid_mg_l")
        dose = dose if exact is None else exact
    if dose is None:
        return Option(
            name,
            "sulfuric acid",
            None,
            None,
            (None, 0.0, 0.0),
            0.0,
            *case.reach(lever),
            "acid does not bring the carbonate index to its limit",
        )
    kilograms = dose * case.water_m3 / G_PER_KG
    price = case.price("acid_per_kg", "Sulfuric acid (as 100 %)")
    cost, chemical = _times(kilograms, price), "sulfuric acid, 100 %"
    if inhibited:
        other = _inhibitor(case)
        chemical = "sulfuric acid, inhibitor"
        cost = None if cost is None or other.costs[0] is None else cost + other.costs[0]
        words = f"with {other.dose:g} mg/L of scale inhibitor; "
    else:
        words = ""
    small = (
        "practically no acid at the recovery wanted: too little to be fed steadily; "
        if dose < LEAST_DOSE_MG_L
        else ""
    )
    return Option(
        name,
        chemical,
        dose,
        kilograms,
        (cost, 0.0, 0.0),
        0.0,
        *case.reach(lever),
        f"{words}{small}takes alkalinity, so carbonate scale alone; adds sulfate, which brings "
        "gypsum and barite nearer, and carbon dioxide, which passes into the product; strong acid: "
        "trained people, local codes, never near hypochlorite",
    )
