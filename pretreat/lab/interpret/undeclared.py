"""Units that a table of many samples leaves out, told by the charge balance of all of them.

A single sample without units is read in mg/L, flagged. A table of many samples can prove
more: results that carry one repeated filler come from one instrument run, and only one unit
lets the charges of most samples close.
"""

from collections import Counter
from collections.abc import Callable
from statistics import median

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.lab.interpret.possible import Findings
from pretreat.lab.interpret.result import Context, interpret
from pretreat.lab.interpret.sampling import PrintedSample
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.report import LabReport, PrintedResult

MIN_SAMPLES = 12
FILLER_COLUMNS = 5  # a number that stands again and again in so many columns measures nothing
FILLER_SHARE = 0.05
BETTER_SHARE = 0.6  # of the samples must close better
FALLS_TO = 0.75  # of its size before, the median balance at least
CLOSES_PCT = 12.0
MOST_TRIED = 400  # samples, spread over the table, that settle what is a matter of the table

Results = list[list[PrintedResult]]
Rewrite = Callable[[PrintedResult], PrintedResult]


class _Trial(Struct, frozen=True):
    """The ion balances of samples of the whole table under one reading of the units."""

    balances_pct: tuple[float | None, ...]

    def better_than(self, other: "_Trial") -> float:
        """Return the share of samples that close better."""
        pairs = [
            (abs(a), abs(b))
            for a, b in zip(self.balances_pct, other.balances_pct, strict=True)
            if a is not None and b is not None
        ]
        return sum(a < b for a, b in pairs) / len(pairs) if len(pairs) >= MIN_SAMPLES else 0.0

    @property
    def bias_pct(self) -> float:
        """Return the median balance, which is near zero where the units are right."""
        known = [b for b in self.balances_pct if b is not None]
        return median(known) if known else 100.0

    @property
    def typical_pct(self) -> float:
        """Return the median size of the balance."""
        known = [abs(b) for b in self.balances_pct if b is not None]
        return median(known) if known else 100.0


def with_inferred_units(
    samples: list[PrintedSample], context: Context, report: LabReport
) -> tuple[Results, tuple[Flag, ...]]:
    """Return the results of each sample, with the units put in that the whole table proves.

    Parameters
    ----------
    samples : list of PrintedSample
        All samples of the file. [-]
    context : Context
        Decimal mark and notes. [-]
    report : LabReport
        The report, for its layout. [-]

    Returns
    -------
    tuple of list and tuple of Flag
        Results per sample, and a flag per inference. [-]
    """
    results = [sample.results for sample in samples]
    if report.decisions.layout != "wide" or len(samples) < MIN_SAMPLES:
        return results, ()
    bare = {r.name for r in results[0] if not r.unit and not named_analyte(r.name).unit}
    if not bare:
        return results, ()
    flags: list[Flag] = []
    results = _fillers(results, bare, flags)
    fillers = {r.name for sample in results for r in sample if r.condition == FILLER}
    trial = _trial(samples, results, context, report) if fillers or _bare_alkalinity(bare) else None
    if trial is not None and fillers:
        run = _instrument_run(results[0], bare, fillers)
        said = (
            f"the {len(run)} columns of one instrument run ({', '.join(sorted(run)[:6])} "
            f"...) are in ug/L"
        )
        attempt = (_in_micrograms(run), said)
        results, trial = _tried(samples, (results, trial), attempt, (context, report), flags)
    alkalinity = _bare_alkalinity(bare)
    if trial is not None and alkalinity:
        attempt = (
            _as_bicarbonate(alkalinity),
            f"'{', '.join(sorted(alkalinity))}' is in mg/L as HCO3",
        )
        results, trial = _tried(samples, (results, trial), attempt, (context, report), flags)
    return results, tuple(flags)


FILLER = "repeated filler: not detected"


def _fillers(results: Results, bare: set[str], flags: list[Flag]) -> Results:
    """Mark a number that stands in many columns again and again as a non-detect."""
    counts = Counter(
        r.text for sample in results for r in sample if r.name in bare and "." in r.text
    )
    total = sum(len(sample) for sample in results)
    for text, count in counts.most_common(1):
        columns = {r.name for sample in results for r in sample if r.text == text}
        if count < FILLER_SHARE * total or len(columns) < FILLER_COLUMNS:
            return results
        said = (
            f"{text} stands {count} times in {len(columns)} columns; it is taken as a "
            f"filler for not detected"
        )
        flags.append(Flag("filler_value", "caution", said))
        return [
            [replace(r, condition=FILLER) if r.text == text else r for r in sample]
            for sample in results
        ]
    return results


def _instrument_run(first: list[PrintedResult], bare: set[str], fillers: set[str]) -> set[str]:
    """Return the columns from the first to the last that carries the filler."""
    names = [r.name for r in first]
    places = [i for i, name in enumerate(names) if name in fillers]
    return {name for name in names[places[0] : places[-1] + 1] if name in bare}


def _bare_alkalinity(bare: set[str]) -> set[str]:
    named = {name: named_analyte(name) for name in bare}
    return {name for name, known in named.items() if known.key == "alkalinity" and not known.basis}


def _in_micrograms(run: set[str]) -> Rewrite:
    return lambda result: replace(result, unit="ug/L") if result.name in run else result


def _as_bicarbonate(names: set[str]) -> Rewrite:
    return lambda result: (
        replace(result, unit="mg/L", basis="as HCO3") if result.name in names else result
    )


def _tried(
    samples: list[PrintedSample],
    before: tuple[Results, _Trial],
    attempt: tuple[Rewrite, str],
    given: tuple[Context, LabReport],
    flags: list[Flag],
) -> tuple[Results, _Trial]:
    """Keep a rewriting of units if it lets most samples close, and say so."""
    results, trial = before
    rewrite, said = attempt
    changed = [[rewrite(r) for r in sample] for sample in results]
    after = _trial(samples, changed, *given)
    share = after.better_than(trial)
    closes = after.typical_pct < min(CLOSES_PCT, FALLS_TO * trial.typical_pct)
    if share < BETTER_SHARE or not closes or abs(after.bias_pct) > abs(trial.bias_pct) / 2:
        return before
    text = (
        f"no unit is printed; {said}: so {100 * share:.0f} % of {len(after.balances_pct)} "
        f"samples close better, "
        f"and the median ion balance falls from {trial.typical_pct:.1f} to "
        f"{after.typical_pct:.1f} %"
    )
    flags.append(Flag("inferred_unit", "caution", text))
    return changed, after


def _trial(
    samples: list[PrintedSample], results: Results, context: Context, report: LabReport
) -> _Trial:
    from pretreat.lab.interpret.waters import water_of
    from pretreat.lab.judge.quality import whole_balance_pct

    balances: list[float | None] = []
    step = -(-len(samples) // MOST_TRIED)
    for sample, printed in zip(samples[::step], results[::step], strict=True):
        findings = Findings()
        for result in printed:
            interpret(result, context, findings)
        water = water_of(sample, findings, report)
        balances.append(whole_balance_pct(water))
    return _Trial(tuple(balances))
