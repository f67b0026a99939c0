"""300 real waters, whole and with one result deleted: what the verdict of `scaling` says.

Usage: PRETREAT_WATERS=folder python benchmarks/deleted_analyte.py [count] [seed] [draws]

What a row lacks is filled in with an ordinary level, so that there is a full analysis at all.
Prints how often which verdict became which, and fails where a water that does not fit becomes a
bare `fits`, where a verdict does not name what was deleted, where iron or manganese over what
membranes take gets a bare `fits`, or where fewer than 90 % of the waters that keep every limit and
have no such fault get one.
"""

import os
import sys
from collections import Counter
from pathlib import Path
from types import MappingProxyType

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the commands have it

import numpy as np
import pandas as pd
from msgspec.structs import replace

from pretreat.core.errors import PretreatError
from pretreat.core.results import Study
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis
from pretreat.plant.uncertainty.draws import DRAWS
from pretreat.site.design import LimitChoices, WaterBasis
from pretreat.study import run_scaling

IONS = {
    "Ca": "ca", "Mg": "mg", "Na": "na", "K": "k", "Sr": "sr", "Ba": "ba", "Fe": "fe", "Mn": "mn",
    "SO4": "so4", "Cl": "cl", "F": "f", "NO3": "no3", "SiO2": "sio2",
}  # fmt: skip
ORDINARY = {
    "ba": 0.03, "sr": 0.3, "f": 0.3, "sio2": 15.0, "fe": 0.05, "mn": 0.02, "k": 3.0, "no3": 2.0,
}  # fmt: skip
RECOVERIES = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8)
SURE = 0.95
METAL_MG_L = 0.05  # of iron and of manganese, onto membranes (common practice)


def waters(folder: Path, count: int, seed: int) -> pd.DataFrame:
    """Return rows with pH, alkalinity and the main ions; two thirds of them with silica."""
    table = pd.read_csv(folder / "real_waters.csv", low_memory=False)
    needed = ["pH", "alk_mg_L_CaCO3", "Ca", "Mg", "Na", "SO4", "Cl"]
    table = table[table.qc.isna() & table[needed].notna().all(axis=1)]
    with_silica = table[table.SiO2.notna()].sample(2 * count // 3, random_state=seed)
    others = table[table.SiO2.isna() & table.Ba.notna() & table.Sr.notna()]
    return pd.concat([with_silica, others.sample(count - len(with_silica), random_state=seed)])


def without(water: WaterAnalysis, gone: str) -> WaterAnalysis:
    """Return an analysis with one result deleted."""
    if gone == "ph":
        return replace(water, ph=None)
    if gone == "alkalinity":
        return replace(water, alkalinity_mg_l_caco3=None)
    return replace(water, mg_l=MappingProxyType({k: v for k, v in water.mg_l.items() if k != gone}))


def judged(water: WaterAnalysis, recovery: float, inhibitor: bool, draws: int) -> Study | None:
    """Return the study, None where the report is refused."""
    temp = water.temperature_c or 14.0
    basis = WaterBasis(coldest_temperature_c=max(temp - 3.0, 1.0), warmest_temperature_c=temp + 3.0)
    try:
        return run_scaling(
            water, recovery, basis, limits=LimitChoices(inhibitor=inhibitor), draws=draws
        )
    except PretreatError:
        return None


def reasons(study: Study) -> str:
    """Return every reason of a verdict."""
    return " ".join(str(row[1]) for row in study.series["verdict.why"].rows)


def main() -> None:
    """Judge every water twice and print the counts."""
    folder = Path(os.environ["PRETREAT_WATERS"])
    usual = ("300", "2", str(DRAWS))
    count, seed, draws = (int(v) for v in (*sys.argv[1:], *usual[len(sys.argv) - 1 :]))
    rng = np.random.default_rng(seed + 1)
    names = {k: analytes()[k].name for k in IONS.values()} | {
        "alkalinity": "alkalinity",
        "ph": "pH",
    }
    became: Counter[tuple[str, str]] = Counter()
    sure = green = refused = unnamed = fouling = fouled = 0
    for n, row in enumerate(waters(folder, count, seed).itertuples()):
        mg_l = ORDINARY | {
            key: float(v) for c, key in IONS.items() if pd.notna(v := getattr(row, c))
        }
        temp = float(np.clip(row.temp_C if pd.notna(row.temp_C) else 14.0, 4.0, 40.0))
        whole = WaterAnalysis(
            "x", "x", ph=float(row.pH), ph_kind="field", temperature_c=temp,
            alkalinity_mg_l_caco3=float(row.alk_mg_L_CaCO3), mg_l=MappingProxyType(mg_l),
        )  # fmt: skip
        job = RECOVERIES[n % len(RECOVERIES)], bool(n % 4), draws
        full = judged(whole, *job)
        gone = str(rng.choice(list(names)))
        cut = judged(without(whole, gone), *job)
        if full is None:
            refused += 1
            continue
        probability = full.number("verdict.probability")
        answer = str(full.value("verdict.answer"))
        if max(mg_l["fe"], mg_l["mn"]) > METAL_MG_L:
            fouling += 1
            fouled += answer == "fits"
        elif probability is not None and probability >= SURE:
            sure += 1
            green += answer == "fits"
        told = "refused" if cut is None else str(cut.value("verdict.answer"))
        became[answer, told] += 1
        if cut is not None and names[gone] not in reasons(cut):
            unnamed += 1
            print(f"  not named: {gone} of {row.id}")
    for (before, after), times in became.most_common():
        print(f"{before:>22} -> {after:<22}{times:5d}")
    print(f"whole analyses refused: {refused}; deleted and not named: {unnamed}")
    print(f"whole analyses with iron or manganese over {METAL_MG_L}: {fouling}, fits: {fouled}")
    print(f"other whole analyses with P >= {SURE}: {sure}, of them fits: {green}")
    bad = became["does not fit", "fits"]
    if bad or unnamed or fouled or green < 0.9 * sure:
        raise SystemExit(f"{bad} waters that do not fit became a bare fits")


if __name__ == "__main__":
    main()
