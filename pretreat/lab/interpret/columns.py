"""Which column holds the results, where its heading does not say: judged by what stands in it."""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise
from math import log

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.errors import AnalysisError
from pretreat.core.tables import rows
from pretreat.core.water import Reading, WaterAnalysis
from pretreat.lab.interpret.possible import Findings
from pretreat.lab.interpret.result import Context, interpret
from pretreat.lab.interpret.sampling import PrintedSample
from pretreat.lab.interpret.waters import water_of
from pretreat.lab.read.headings import names_a_sample
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Guess, LabReport, PrintedResult
from pretreat.lab.read.water_words import kind_of_water

# Shares and counts beyond which a column is no analysis of a water; chosen on invented reports.
LIMITS_SHARE, FEWEST_LIMITS = 0.6, 3
FEWEST_REPEATED, FEWEST_COUNTED = 4, 4
SOUND_BALANCE_PCT, UNSOUND_BALANCE_PCT = 10.0, 20.0
SOUND_EC_RATIO, UNSOUND_EC_RATIO = (0.65, 1.55), (0.4, 2.5)
SAME_LIMIT = 1e-6
NOT_JUDGED = 99.0  # a misfit that could not be worked out ranks last
REMEDY = "name the column of results with --column"


class Evidence(Struct, frozen=True):
    """What the content of one column says about it.

    ``against`` tells why it is no analysis; ``sound`` that its ions agree with each other or
    with the conductivity, ``unsound`` that they do not.
    """

    column: str
    results: int
    against: str = ""
    sound: bool = False
    unsound: bool = False
    misfit: float = NOT_JUDGED


@lru_cache(maxsize=1)
def _limits() -> dict[str, tuple[float, ...]]:
    """Return the usual limits of drinking water by key, in our units."""
    return {
        row["key"]: tuple(float(text) for text in row["limits"].split())
        for row in rows("drinking_limits.csv")
    }


def settled(report: LabReport, wanted: str | None = None) -> LabReport:
    """Return a report without the columns that are no analysis, and what had to be guessed.

    Parameters
    ----------
    report : LabReport
        The report as printed. [-]
    wanted : str, optional
        The column that was asked for; it settles the question. [-]

    Returns
    -------
    LabReport
        The same with the doubtful columns settled. [-]

    Raises
    ------
    AnalysisError
        If no column is left that can hold results.
    """
    report = replace(report, results=tuple(_over_pages(report.results)))
    columns = _by_column(report.results)
    report = replace(report, columns=tuple(columns))
    if not columns or len(columns) > MOST_COLUMNS or wanted is not None:
        return report
    guessed = {name for name, found in columns.items() if all(r.guessed for r in found)}
    rivals = bool(guessed or report.seen)
    judged = {name: evidence(name, found, report, ions=rivals) for name, found in columns.items()}
    named = [one for name, one in judged.items() if name not in guessed]
    for one in named:
        if one.against == _REPEATED and one.results > FEWEST_REPEATED:
            raise AnalysisError(
                f"{report.source}: column {one.column} prints {one.against} over "
                f"{one.results} analytes, which is no analysis; {REMEDY}"
            )
    guesses: list[Guess] = [
        ("warning", f"column {one.column} holds {one.against}; check it, or {REMEDY}")
        for one in named
        if one.against
    ]
    if len(named) == 1 and not guessed and not named[0].against:
        guesses += _better(named[0], report)
    kept, more = _chosen([judged[name] for name in columns if name in guessed], report.source)
    read = [*named, *kept]
    if len(read) == 1 and not more:
        more = _not_understood(read[0], report)
    out = guessed - {one.column for one in kept}
    order = [r for one in kept for r in columns[one.column]]
    inside = {id(r) for found in columns.values() for r in found}
    others = [r for r in report.results if id(r) not in inside or r.column not in guessed]
    results = others + order if out or len(kept) > 1 else list(report.results)
    columns_left = tuple(name for name in columns if name not in out)
    guesses = [*report.guesses, *guesses, *more]
    return replace(report, results=tuple(results), guesses=tuple(guesses), columns=columns_left)


FEWEST_COMPARED = 5  # results of a column, to be held against another


def _better(taken: Evidence, report: LabReport) -> list[Guess]:
    """Tell of a column not taken whose ions balance while those of the one taken do not."""
    if taken.sound or taken.misfit == NOT_JUDGED or taken.results < FEWEST_COMPARED:
        return []
    for seen in report.seen:
        if not seen.compared or len(seen.results) < FEWEST_COMPARED:
            continue
        other = evidence(seen.column, seen.results, report)
        if other.sound and not other.against and other.results >= FEWEST_COMPARED:
            text = (
                f"the ions of column {taken.column}, which is read, do not balance, those of "
                f"column {seen.column} ({seen.why}) do: compare both with the report, or {REMEDY}"
            )
            return [("warning", text)]
    return []


def _not_understood(taken: Evidence, report: LabReport) -> list[Guess]:
    """Tell of columns whose headings are not understood beside the one taken by its content."""
    taken_by_name = not any(r.guessed for r in report.results)
    others = [
        seen.column
        for seen in report.seen
        if (seen.a_sample or seen.doubtful)
        and len(seen.results) >= FEWEST_COMPARED
        and _may_be(
            evidence(seen.column, seen.results, report),
            taken,
            by_name=taken_by_name and not seen.a_sample,
        )
    ]
    if not others:
        return []
    text = (
        f"column {taken.column} is read, but the heading of column {', '.join(others)} is not "
        f"understood in full and may head results too; {REMEDY} if that is wrong"
    )
    return [("caution", text)]


def _may_be(other: Evidence, taken: Evidence, *, by_name: bool) -> bool:
    """Tell a column that may hold the results; beside one taken by its name it must be sound."""
    if other.against or 2 * other.results < taken.results:
        return False
    return other.sound or not by_name


MOST_COLUMNS = 60
_REPEATED, _LIMITS, _COUNTED, _DILUTIONS, _METHODS = (
    "one value repeated",
    "limits of drinking water",
    "running numbers",
    "dilutions or counts",
    "numbers of methods",
)
MOST_SKIPPED = 1.5  # steps of a running number, where lines without a result are left out
FEWEST_OF_KIND = 6
# Whole dilutions and the counts of a few samples; no water has but these.
DILUTIONS = frozenset(
    {1.0, 2.0, 3.0, 4.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 500.0, 1000.0}
)
# Methods of drinking-water analysis by their number alone (from memory).
METHOD_NUMBERS = frozenset(
    {120.1, 130.2, 150.1, 160.1, 170.1, 200.7, 200.8, 200.9, 245.1, 300.0, 300.1, 310.1, 310.2}
    | {325.2, 340.2, 350.1, 353.2, 365.1, 365.3, 370.1, 375.4}
)


def _by_column(results: Iterable[PrintedResult]) -> dict[str, list[PrintedResult]]:
    """Return the results of tables with the analytes down their side, by column."""
    found: dict[str, list[PrintedResult]] = {}
    for result in results:
        if result.column and not result.header:
            found.setdefault(result.column, []).append(result)
    return found


def _over_pages(results: Sequence[PrintedResult]) -> list[PrintedResult]:
    """Give a column that moves to another place on a later page the name of the first place."""
    alike: dict[str, list[str]] = {}
    lines = {name: {r.line for r in found} for name, found in _by_column(results).items()}
    for name in lines:
        heading = name.partition(" ")[2]
        alike.setdefault(heading or name, []).append(name)
    renamed = {
        name: names[0]
        for names in alike.values()
        for name in names[1:]
        if sum(len(lines[n]) for n in names) == len(set().union(*(lines[n] for n in names)))
    }
    return [
        replace(r, column=renamed[r.column]) if r.column in renamed and not r.header else r
        for r in results
    ]


def evidence(
    column: str, results: Sequence[PrintedResult], report: LabReport, *, ions: bool = True
) -> Evidence:
    """Judge one column by what stands in it.

    Parameters
    ----------
    column : str
        Its name. [-]
    results : sequence of PrintedResult
        Its results. [-]
    report : LabReport
        The report, for its decimal mark and notes. [-]
    ions : bool
        Whether its ions are held against each other and the conductivity. [-]

    Returns
    -------
    Evidence
        What speaks for it and against it. [-]
    """
    findings = Findings()
    context = Context(report.decisions.decimal, report.notes)
    for result in results:
        interpret(result, context, findings)
    readings = [r for r in findings.readings if r.value is not None]
    against = _against(results, readings, report.decisions.decimal)
    if findings.faults or len({(r.sample, r.site, r.date, r.activity) for r in results}) > 1:
        return Evidence(column, len(readings), against if against == _REPEATED else "")
    found = Evidence(column, len(readings), against)
    if not ions:
        return found
    return _with_ions(found, water_of(PrintedSample("", "", "", ""), findings, report))


def _with_ions(found: Evidence, water: WaterAnalysis) -> Evidence:
    """Add what the balance of the ions and the conductivity say of a column."""
    from pretreat.lab.judge.culprits import SCATTER_BALANCE_PCT, SCATTER_EC
    from pretreat.lab.judge.quality import judge

    judged = judge(water)
    balance, ratio = judged.ion_balance_pct, judged.ec_ratio
    low, high = SOUND_EC_RATIO
    closes = balance is not None and abs(balance) <= SOUND_BALANCE_PCT
    conducts = ratio is None or low <= ratio <= high
    off = balance is not None and abs(balance) > UNSOUND_BALANCE_PCT
    off = off or (ratio is not None and not UNSOUND_EC_RATIO[0] <= ratio <= UNSOUND_EC_RATIO[1])
    misfit = NOT_JUDGED
    if balance is not None:
        misfit = abs(balance) / SCATTER_BALANCE_PCT
        misfit += abs(log(ratio)) / SCATTER_EC if ratio else 0.0
    return replace(found, sound=closes and conducts, unsound=off, misfit=misfit)


def _against(results: Sequence[PrintedResult], readings: Sequence[Reading], decimal: str) -> str:
    numbers = [
        number.number
        for r in results
        if (number := printed_number(r.text, decimal)).kind == "value" and number.number is not None
    ]
    if len(numbers) >= FEWEST_REPEATED and len(set(numbers)) == 1:
        return _REPEATED
    if len(numbers) >= FEWEST_COUNTED and is_count(numbers):
        return _COUNTED
    if len(numbers) >= FEWEST_OF_KIND and set(numbers) <= DILUTIONS:
        return _DILUTIONS
    methods = {n for n in numbers if n in METHOD_NUMBERS}
    if len(methods) > 1 and sum(n in methods for n in numbers) >= LIMITS_SHARE * len(numbers):
        return _METHODS
    known = [r for r in readings if r.analyte in _limits()]
    same = sum(
        any(abs((r.value or 0.0) - limit) <= SAME_LIMIT * limit for limit in _limits()[r.analyte])
        for r in known
    )
    if same >= FEWEST_LIMITS and same >= LIMITS_SHARE * len(readings):
        return _LIMITS
    return ""


def is_count(numbers: Sequence[float]) -> bool:
    """Tell whole numbers that go up or down line by line with hardly a gap, in ones or tens.

    Parameters
    ----------
    numbers : sequence of float
        Those of a column, from top to bottom. [-]

    Returns
    -------
    bool
        True for running numbers. [-]
    """
    steps = [b - a for a, b in pairwise(numbers)]
    unit = 10.0 if all(n % 10 == 0 for n in numbers) else 1.0
    whole = all(n == int(n) for n in numbers)
    one_way = bool(steps) and (min(steps) > 0 or max(steps) < 0)
    return whole and one_way and abs(sum(steps)) <= MOST_SKIPPED * unit * len(steps)


def _chosen(found: Sequence[Evidence], source: str) -> tuple[list[Evidence], list[Guess]]:
    """Return the guessed columns that are kept, the best first, and what is said of them."""
    if not found:
        return [], []
    good = [one for one in found if not one.against]
    if not good:
        listed = "; ".join(f"column {one.column} holds {one.against}" for one in found)
        raise AnalysisError(f"{source}: no column of results is recognised ({listed}); {REMEDY}")
    out = [f"column {one.column} ({one.against})" for one in found if one.against]
    if len(found) == 1:
        return good, []
    headings = [_heading(one) for one in good]
    raw = any(kind_of_water(heading) == "raw" for heading in headings)
    if all(names_a_sample(heading) for heading in headings) or (raw and all(headings)):
        return list(good), [("info", f"not read: {', '.join(out)}")] if out else []
    sure = [one for one in good if one.sound]
    left = [one for one in good if not one.unsound]
    if len(sure) == 1 and (len(good) == 1 or len(left) <= 1):
        rest = [*out, *(f"column {one.column}" for one in good if one not in sure)]
        text = (
            f"no heading tells which column holds the results; column {sure[0].column} is read, "
            f"whose ions balance, not {', '.join(rest)}: {REMEDY} if that is wrong"
        )
        return sure, [("caution", text)]
    kept = sorted(good, key=lambda one: (one.unsound, one.misfit))
    text = (
        "no heading tells which column holds the results; read as samples of their own, the "
        f"likeliest first: {', '.join(f'column {one.column}' for one in kept)}"
        + (f"; not read: {', '.join(out)}" if out else "")
        + f"; {REMEDY}"
    )
    return kept, [("warning", text)]


def _heading(one: Evidence) -> str:
    return one.column.partition(" ")[2].strip("'")
