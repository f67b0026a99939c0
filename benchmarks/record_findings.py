"""How often sound years raise a finding, and faulty ones are named in time.

Run: python benchmarks/record_findings.py [years per kind] [days between readings] [seed] [rough]
The simulator, tests/record/simulator.py, shares no code with the judging. "In time" is between
the day the fault begins and the day at which flow or capacity is 15 % down; a damaged membrane
loses neither and must be named before the year ends.
"""

import datetime
import sys
from collections import Counter
from pathlib import Path
from statistics import median

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "record"))

from simulator import FAULTS, START, Year, simulate

from pretreat.membrane.gauges.pressure import OsmoticCurve
from pretreat.record.findings import Finding, findings
from pretreat.record.readings import reading
from pretreat.record.reference import Reference

LOSS = 0.15
# The judging knows the site only roughly: its osmotic pressure is 5 % off the simulator's.
CURVE = OsmoticCurve((0.5, 1.0, 20.0), (28.0, 56.0, 1120.0), 15.0)
REFERENCE = Reference(CURVE, 1.6, 0.65, leakage_mg_l_caco3=2.0, iron_left_mg_l=0.1)


def judged(year: Year) -> tuple[Finding, ...]:
    taken = [
        reading(START + datetime.timedelta(days=float(day)), one)
        for day, one in zip(year.days, year.readings, strict=True)
    ]
    return findings(taken, REFERENCE)


def day_of(finding: Finding) -> float:
    return (finding.first - START).total_seconds() / 86_400


def limit_day(year: Year) -> float:
    lost = year.loss >= LOSS
    return float(year.days[np.argmax(lost)]) if lost.any() else float(year.days[-1])


def sound_years(years: int, seed: int, **options: float) -> Counter[str]:
    count: Counter[str] = Counter(years=years)
    for number in range(years):
        found = judged(simulate(seed + number, None, **options))
        count["raised"] += bool(found)
        count.update(f"says {f.key}" for f in found)
    return count


def faulty_years(kind: str, years: int, seed: int, **options: float) -> Counter[str]:
    count: Counter[str] = Counter(years=years)
    lost = []
    for number in range(years):
        year = simulate(seed + 100_000 * (FAULTS.index(kind) + 1) + number, kind, **options)
        found = judged(year)
        limit = limit_day(year)
        count["raised before it began"] += any(day_of(f) < year.begins for f in found)
        inside = [f for f in found if year.begins <= day_of(f) <= limit]
        named = [f for f in inside if f.key == kind]
        count["named in time"] += bool(named)
        count["named first"] += bool(named) and inside[0].key == kind
        count.update(f"also {f.key}" for f in inside if f.key != kind)
        if named:
            lost.append(float(year.loss[np.searchsorted(year.days, day_of(named[0]))]))
    count["median loss when named, per mille"] = round(1000 * median(lost)) if lost else -1
    return count


def main() -> None:
    given = [*sys.argv[1:], "", "", "", ""]
    years, every, seed = int(given[0] or 200), float(given[1] or 7.0), int(given[2] or 0)
    options = {"every_days": every, "rough": bool(given[3])}
    print(f"{'sound':16s}", dict(sound_years(2 * years, seed, **options)))
    total: Counter[str] = Counter()
    for kind in FAULTS:
        count = faulty_years(kind, years, seed, **options)
        total.update({k: count[k] for k in ("years", "named in time", "named first")})
        print(f"{kind:16s}", dict(count))
    print(f"{'all faults':16s}", dict(total))


if __name__ == "__main__":
    main()
