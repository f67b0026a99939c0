"""What an analysis says against itself: it puts a yes off until the laboratory has looked."""

from pretreat.core.basis import Flag, cites
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.water import Reading, WaterAnalysis
from pretreat.lab.interpret.over_range import bounds_of
from pretreat.lab.named import name_and_unit
from pretreat.lab.observed import OBSERVED
from pretreat.lab.read.wording import shown
from pretreat.lab.samples.worse import SAME_WELL, WORSE, WORSE_TO_DRINK
from pretreat.plant.uncertainty.unjudged import plausible_highs
from pretreat.plant.verdict.case import Obstacle

OVER_RANGE = "over_range"
BALANCE, BY_BALANCE = "charge_balance", "ion_by_balance"
# The second checks of an analysis: what the ions make against what the laboratory measured.
SECOND = frozenset({"ec_ions_mismatch", "tds_ions_mismatch", "hardness_ions_mismatch"})
CLOSES_PCT = 5.0  # SM1030E: the widest band, for 10 to 800 meq/L
ASK = "the analysis again: it does not close"


@cites("SM1030E", "acceptance of a balance: 0.2 meq/L, 2 % and 5 % by the sum of anions")
def report_obstacles(ledger: Ledger) -> list[Obstacle]:
    """Return a condition where an analysis does not close, or does not fit what was measured.

    Between 2 and 5 % the balance alone is a remark: more than a third of sound well waters of 3
    to 10 meq/L miss the 2 %. It is a condition from 5 % on, or where a second check disagrees as
    well. A balance that nobody would size by is a doubt, by its flag.

    Parameters
    ----------
    ledger : Ledger
        With the quality of the analysis entered. [-]

    Returns
    -------
    list of Obstacle
        One condition at most. [-]
    """
    flags = ledger.study().flags
    found = [f for f in flags if f.code == BY_BALANCE]
    if found:
        return [_by_balance(ledger, f) for f in found]
    balance = [f for f in flags if f.code == BALANCE]
    second = [f for f in flags if f.code in SECOND]
    if any(f.level == "warning" for f in balance):
        return []
    if balance and (second or abs(ledger.number("water.ion_balance_pct") or 0.0) > CLOSES_PCT):
        return [_condition([*balance, *second[:1]])]
    grave = [f for f in second if f.level == "warning"]
    return [_condition(grave)] if grave else []


def _by_balance(ledger: Ledger, flag: Flag) -> Obstacle:
    """Return what an ion that only the balance tells of puts in the way.

    More of it than the gaps of an analysis are tried with leaves the scales open.
    """
    key = flag.figure or ""
    ion = key.removeprefix("water.").removesuffix("_by_balance_mg_l")
    tried, amount = plausible_highs().get(ion), ledger.number(key) or 0.0
    kind = "unknown" if tried is not None and amount > tried else "condition"
    return Obstacle(kind, flag.text, anyway=True, measure=analytes()[ion].name, code=BY_BALANCE)  # type: ignore[arg-type]


def _condition(flags: list[Flag]) -> Obstacle:
    found = "; ".join(flag.text for flag in flags)
    text = f"the analysis does not close: {found}: ask the laboratory, or have it analysed again"
    return Obstacle("condition", text, anyway=True, measure=ASK, code=BALANCE)


def sample_obstacles(water: WaterAnalysis, *, drunk: bool) -> list[Obstacle]:
    """Return a condition where another sample of the report is clearly worse.

    Of the same well it puts the answer off: the machine gets that water too.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis that is judged. [-]
    drunk : bool
        People drink the product. [-]

    Returns
    -------
    list of Obstacle
        Two at most. [-]
    """
    codes = (WORSE, WORSE_TO_DRINK) if drunk else (WORSE,)
    return [
        Obstacle(
            "question" if SAME_WELL in flag.marks else "condition",
            flag.text,
            anyway=True,
            code=WORSE,
        )
        for flag in water.flags
        if flag.code in codes
    ]


def observed_obstacles(water: WaterAnalysis) -> list[Obstacle]:
    """Return a condition for what was seen or smelt and no number of the report explains.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis that is judged. [-]

    Returns
    -------
    list of Obstacle
        One for each class of data/observed_words.csv that was found. [-]
    """
    return [
        Obstacle("condition", flag.text, anyway=True, code=OBSERVED)
        for flag in water.flags
        if flag.code == OBSERVED
    ]


def bound_obstacles(water: WaterAnalysis) -> list[Obstacle]:
    """Return what was over the range of its method: nobody knows how much more there is.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    list of Obstacle
        One that names them all. [-]
    """
    found = bounds_of(water)
    if not found:
        return []
    told = [f"{name_and_unit(r.analyte)[0]} is at least {_amount(r)}" for r in found]
    text = (
        f"over the range of the method: {', '.join(told)}; calculated with the least it can be: "
        "have it diluted and measured"
    )
    measure = f"{name_and_unit(found[0].analyte)[0]}, of a diluted sample"
    return [Obstacle("unknown", text, anyway=True, measure=measure, code=OVER_RANGE)]


def _amount(reading: Reading) -> str:
    least = shown(reading.value or 0.0, 3)
    return f"{least} {name_and_unit(reading.analyte)[1]}".strip()
