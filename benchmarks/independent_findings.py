"""Findings against the second simulated plant: sound years raised, faults named in time.

Run: python benchmarks/independent_findings.py [years per kind] [days between readings] [seed]
With a fourth argument every record is judged reading by reading, so that a finding counts only
where it was said at a visit; otherwise its own first day is taken.
"""

import datetime
import sys
from collections import Counter

from independent_plant import (
    DOSE_G_L,
    FAULTS,
    HOURS,
    LEAK,
    METER_M3,
    PRODUCT_M3_H,
    RAW_HARDNESS,
    RECOVERY,
    RESIN_L,
    START,
    USABLE_KG,
    PlantYear,
    plant_year,
)  # fmt: skip

from pretreat.membrane.gauges.pressure import OsmoticCurve
from pretreat.record.findings import findings
from pretreat.record.readings import Reading, reading
from pretreat.record.reference import Reference

# osmotic pressure 6 % beside the plant's: a site is never known exactly
CURVE = OsmoticCurve((0.5, 1.0, 20.0), (30.0, 60.0, 1200.0), 15.0)
REFERENCE = Reference(
    CURVE, PRODUCT_M3_H, RECOVERY,
    leakage_mg_l_caco3=LEAK, iron_left_mg_l=0.1, raw_hardness_mg_l_caco3=RAW_HARDNESS,
    meter_setting_m3=METER_M3, salt_per_regeneration_kg=RESIN_L * DOSE_G_L / 1000,
    usable_capacity_kg=USABLE_KG, load_mg_l_caco3=RAW_HARDNESS,
    regenerations_per_week=7 * PRODUCT_M3_H / RECOVERY * HOURS / METER_M3, hours_per_day=HOURS,
)  # fmt: skip


def said(year: PlantYear, at_visits: bool) -> dict[str, list[float]]:
    """Return the days on which each finding was first said."""
    taken: list[Reading] = [
        reading(START + datetime.timedelta(days=float(day)), one)
        for day, one in zip(year.days, year.readings, strict=True)
    ]
    found: dict[str, list[float]] = {}
    ends = range(1, len(taken) + 1) if at_visits else (len(taken),)
    for end in ends:
        for f in findings(taken[:end], REFERENCE):
            day = (f.first - START).total_seconds() / 86_400
            if at_visits:
                day = float(year.days[end - 1])
            days = found.setdefault(f.key, [])
            if not at_visits or not days:
                days.append(day)
    return found


def main() -> None:
    given = [*sys.argv[1:], "", "", "", ""]
    years, every, seed = int(given[0] or 100), float(given[1] or 7.0), int(given[2] or 0)
    visits = bool(given[3])
    count: Counter[str] = Counter()
    for number in range(2 * years):
        found = said(plant_year(seed + number, None, every), visits)
        count["raised"] += bool(found)
        count.update(f"says {key}" for key in found)
    print(f"{'sound':20s} of {2 * years}", dict(count))
    total = 0
    for kind in FAULTS:
        count = Counter()
        for number in range(years):
            year = plant_year(seed + 7_000 + number, kind, every)
            found = said(year, visits)
            named = [d for d in found.get(kind, []) if year.begins <= d <= year.limit]
            count["named in time"] += bool(named)
            count["named later"] += bool(
                not named and any(d > year.limit for d in found.get(kind, []))
            )
            early = {k for k, ds in found.items() if min(ds) < year.begins}
            count["raised before it began"] += bool(early)
            count.update(f"also {k}" for k in found if k != kind and k not in early)
        total += count["named in time"]
        print(f"{kind:20s}", dict(count), flush=True)
    print(f"named in time: {total} of {years * len(FAULTS)}")


if __name__ == "__main__":
    main()
