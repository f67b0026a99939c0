"""An invented study with something for every sheet; its numbers are of no water on earth."""

import importlib.util
import math
from pathlib import Path

import pytest

from pretreat.core.basis import Figure, Flag, Series
from pretreat.core.results import Ledger, Study

MINERALS = ("calcite", "gypsum", "barite", "celestite", "fluorite", "silica")
PCT_AT_ZERO = (60.0, 12.0, 90.0, 3.0, 15.0, 22.0)
RECOVERIES = tuple(round(0.05 * i, 2) for i in range(20))


def _water(ledger: Ledger) -> None:
    put = ledger.put
    put("water.ph", 7.3, "-", "pH", origin="measured", evidence="printed", method="field reading")
    put("water.temperature_c", 14.0, "°C", "temperature", origin="measured", evidence="printed")
    put(
        "water.ca_mg_l",
        92.0,
        "mg/L",
        "calcium",
        origin="measured",
        evidence="printed",
        method="as printed, row 4 of the report",
    )
    put("water.mg_mg_l", 31.4, "mg/L", "magnesium", origin="measured", evidence="printed")
    ledger.add(
        Figure(
            "water.f_mg_l",
            None,
            "mg/L",
            "fluoride",
            origin="measured",
            below=0.05,
            evidence="printed",
        )
    )
    put("water.sio2_mg_l", math.nan, "mg/L", "silica", origin="measured")
    put(
        "water.tds_mg_l",
        812.3456,
        "mg/L",
        "dissolved solids, sum",
        method="sum of the ions",
        cites=("SM1030E",),
    )
    put(
        "water.ion_balance_pct",
        -1.234,
        "%",
        "ion balance",
        cites=("SM1030E",),
        method="(cations - anions) / (cations + anions)",
    )
    put(
        "water.hardness_mg_l_caco3",
        359.0,
        "mg/L as CaCO3",
        "hardness, Ca + Mg",
        origin="measured",
        evidence="printed",
        cites=("SM2340B",),
    )
    ledger.table(Series("water.trail", "Reading trail", ("row", "printed", "unit", "read_as"),
                        ("-", "-", "-", "-"),
                        ((4.0, "Calcium  92", "mg/L", "ca 92 mg/L as the ion"),
                         (5.0, "=1+1 odd name", "mg/L", "not used"))))  # fmt: skip


def _machine(ledger: Ledger) -> None:
    put = ledger.put
    put("machine.product_flow_m3_h", 1.6, "m3/h", "product flow while running", origin="chosen")
    put("machine.recovery", 0.65, "-", "recovery", origin="chosen")
    put("machine.hours_per_day", 20.0, "h/d", "running hours per day", origin="chosen")
    put(
        "machine.days_per_year",
        365.0,
        "d/year",
        "running days per year",
        origin="assumed",
        evidence="common practice",
    )
    put(
        "machine.feed_flow_m3_h",
        1.6 / 0.65,
        "m3/h",
        "feed flow",
        method="product / recovery",
        inputs=("machine.product_flow_m3_h", "machine.recovery"),
        formula="{machine.product_flow_m3_h}/{machine.recovery}",
    )
    put("concentrate.recovery", 0.65, "-", "recovery", formula="{machine.recovery}")
    put(
        "concentrate.tds_mg_l",
        2321.0,
        "mg/L",
        "dissolved solids of the concentrate",
        inputs=("water.tds_mg_l", "machine.recovery"),
    )
    put("concentrate.ph", 7.71, "-", "pH of the concentrate")


def _scaling(ledger: Ledger) -> None:
    put = ledger.put
    put("scaling.lsi", 1.234, "-", "Langelier index (D3739 route)", cites=("PB82",))
    put("recovery.max", 0.47, "-", "highest recovery without inhibitor")
    put(
        "recovery.max_inhibited",
        0.78,
        "-",
        "highest recovery with inhibitor",
        evidence="common practice",
    )
    put("recovery.limited_by", "calcite", "-", "first scale")
    put("untreated.recovery.max", 0.0, "-", "highest recovery of the raw water")
    put("untreated.recovery.limited_by", "calcite", "-", "first scale of the raw water")
    rows = []
    for recovery in RECOVERIES:
        factor = 1 / (1 - recovery)
        rows.append(
            (recovery, 0.2 + math.log10(factor) * 1.6, *(p * factor**1.7 for p in PCT_AT_ZERO))
        )
    ledger.table(
        Series(
            "scaling.sweep",
            "Saturation against recovery",
            ("recovery", "lsi", *(f"pct_{m}" for m in MINERALS)),
            ("-", "-", *("% of saturation",) * 6),
            tuple(rows),
            headings=("recovery", "LSI", *MINERALS),
        )
    )
    ledger.table(
        Series(
            "scaling.limits",
            "Limits",
            ("scale", "measure", "limit", "origin"),
            ("-", "-", "as named", "-"),
            tuple(
                (
                    m,
                    "% of saturation",
                    100.0 if m != "barite" else 6000.0,
                    "common practice, no source: inhibitor supplier asked to confirm",
                )
                for m in MINERALS
            ),
        )
    )
    ledger.table(
        Series(
            "concentrate.composition",
            "Feed and concentrate",
            ("ion", "feed_mg_l", "feed_meq_l", "concentrate_mg_l", "concentrate_meq_l"),
            ("-", "mg/L", "meq/L", "mg/L", "meq/L"),
            (
                ("Ca", 92.0, 4.59, 262.9, 13.1),
                ("Mg", 31.4, 2.58, 89.7, 7.4),
                ("Na", 80.0, 3.48, 228.6, 9.9),
                ("Cl", 60.0, 1.69, 171.4, 4.8),
                ("HCO3", 390.0, 6.39, 1114.0, 18.3),
            ),
            headings=("ion", "feed", "feed, meq", "concentrate", "concentrate, meq"),
        )
    )


def _softener(ledger: Ledger) -> None:
    put = ledger.put
    hours, feed, hardness = 20.0, 1.6 / 0.65, 359.0
    load = feed * hours * hardness / 1000
    put(
        "softener.load_kg_caco3_d",
        load,
        "kg/d as CaCO3",
        "hardness load",
        cites=("SM2340B",),
        method="feed flow x hours x hardness",
        inputs=("machine.feed_flow_m3_h", "machine.hours_per_day", "water.hardness_mg_l_caco3"),
        formula="{machine.feed_flow_m3_h}*{machine.hours_per_day}*{water.hardness_mg_l_caco3}/1000",
    )
    put("softener.salt_dose_g_l", 160.0, "g/L", "salt per litre of resin", origin="chosen")
    put(
        "softener.capacity_g_caco3_l",
        57.2,
        "g/L as CaCO3",
        "operating capacity",
        inputs=("softener.salt_dose_g_l",),
        evidence="printed",
    )
    put("softener.reserve", 0.2, "-", "reserve", origin="assumed", evidence="common practice")
    put("softener.resin_filled_l", 425.0, "L", "resin filled", origin="chosen")
    usable = 425.0 * 57.2 * 0.8 / 1000
    put(
        "softener.interval_d",
        usable / load,
        "d",
        "days to use up the capacity",
        formula="{softener.resin_filled_l}*{softener.capacity_g_caco3_l}"
        "*(1-{softener.reserve})/1000/{softener.load_kg_caco3_d}",
    )
    put(
        "softener.salt_kg_per_regeneration",
        68.0,
        "kg",
        "salt per regeneration",
        formula="{softener.resin_filled_l}*{softener.salt_dose_g_l}/1000",
    )
    put("softener.programme_days", 1.0, "d", "timer setting", inputs=("softener.interval_d",))
    ledger.table(
        Series(
            "softener.options",
            "Vessels that would do",
            ("vessel", "resin_l", "interval_d", "note"),
            ("-", "L", "d", "-"),
            (
                ("24 x 72 in", 283.0, 0.73, "too small for one day"),
                ("30 x 72 in", 425.0, 1.1, "chosen"),
            ),
        )
    )
    put("novel.result", 3.21, "-", "a result of a family the layout does not know")


def _words(ledger: Ledger) -> None:
    put = ledger.put
    put("site.name", "=1+1 & sons", "-", "site", origin="chosen")
    put("study.kind", "size", "-", "kind of study", origin="chosen")
    put(
        "summary.verdict",
        "The raw water scales at any recovery; softened it runs at 65 %.",
        "-",
        "verdict",
    )
    put("summary.limits", "calcite, from 47 % without inhibitor", "-", "what limits")
    put("train.1", "+cmd|' /C calc'!A0", "-", "1 iron filter")
    put("train.2", "http://softener.example", "-", "2 softener")
    put("quote.salt_per_year", 3723.456, "EUR/year", "salt per year")
    ledger.flag(
        Flag(
            "not_measured",
            "caution",
            "Silica was not measured: the limit reads 'at most'",
            "water.sio2_mg_l",
        )
    )
    ledger.flag(
        Flag(
            "supersaturated_feed",
            "warning",
            "The raw water is over its calcite limit.",
            "untreated.recovery.max",
        )
    )
    ledger.flag(
        Flag(
            "oxidiser",
            "warning",
            "@Permanganate is a strong oxidiser: follow its data sheet and the local code.",
        )
    )
    ledger.flag(Flag("assumed_unit", "info", "Ion columns without unit read as mg/L."))


def build() -> Study:
    ledger = Ledger()
    for part in (_water, _machine, _scaling, _softener, _words):
        part(ledger)
    return ledger.study()


@pytest.fixture(scope="session")
def study() -> Study:
    return build()


@pytest.fixture(scope="session")
def ci_script():
    """Return a loader of the scripts that the continuous integration runs."""

    def load(name: str):
        path = Path(__file__).parents[2] / ".ci" / f"{name}.py"
        spec = importlib.util.spec_from_file_location(name, path)
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        return module

    return load
