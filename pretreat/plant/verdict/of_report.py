"""What an analysis says against itself: it puts a yes off until the laboratory has looked."""

import datetime

from pretreat.core.basis import Flag, cites
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.plant.uncertainty.unjudged import plausible_highs
from pretreat.plant.verdict.case import GAP, Obstacle

BALANCE, BY_BALANCE = "charge_balance", "ion_by_balance"
# The second checks of an analysis: what the ions make against what the laboratory measured.
SECOND = frozenset({"ec_ions_mismatch", "tds_ions_mismatch", "hardness_ions_mismatch"})
OLD_YEARS = 2.0  # PRACTICE: wells change with the season, with use and with what is spread above
DAYS_PER_YEAR = 365.25
AGAIN = "a new full analysis of the well"
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


@cites("PRACTICE", "a design rests on an analysis of no more than about two years")
def age_obstacles(ledger: Ledger, today: datetime.date | None = None) -> list[Obstacle]:
    """Return a condition where the sample is older than about two years.

    Parameters
    ----------
    ledger : Ledger
        With the analysis as read entered. [-]
    today : date, optional
        The day of the design; today if omitted. [-]

    Returns
    -------
    list of Obstacle
        None where the date is not known. [-]
    """
    try:
        day = datetime.date.fromisoformat(str(ledger.study().value("water.date") or "")[:10])
    except ValueError:
        return []
    years = ((today or datetime.date.today()) - day).days / DAYS_PER_YEAR
    if years <= OLD_YEARS:
        return []
    text = (
        f"sampled {day.isoformat()}, {years:.0f} years ago: a well changes, and what is older than "
        f"about {OLD_YEARS:g} years is no basis for an order (common practice): analyse again "
        "before anything is ordered or set"
    )
    return [Obstacle("condition", text, anyway=True, measure=AGAIN, code=GAP)]
