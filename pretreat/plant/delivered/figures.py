"""The delivered water as figures, stage by stage, and held against what it is for."""

import math
from collections.abc import Mapping

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from pretreat.chemistry.carbonate import ph_from_alkalinity_and_co2
from pretreat.core.basis import Flag, Level, Series, Value
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.lab.judge.conductivity import conductivity_us_cm, molal
from pretreat.membrane.elements.product import Water, water_of
from pretreat.membrane.elements.target_figures import Held, enter_target
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.permeate import Permeate
from pretreat.plant.delivered.laws import product_ph
from pretreat.plant.delivered.rules import (
    ACID_PH,
    BASIC_PH,
    DRINKING,
    OXYGEN,
    PROCESS,
    more_rules,
    others,
    sums_of,
    trace_amounts,
)
from pretreat.plant.delivered.traces import IF_ARSENITE, enter_traces, key_of
from pretreat.plant.train import Treated, run_behind
from pretreat.site.design import DesignBasis, ProductUse
from pretreat.stages.delivered import Delivered
from pretreat.stages.product_gas import co2_key
from pretreat.stages.raw_tank.laws import CO2_MG_PER_MOL

P = "delivered"
EU_TEMPERATURE_C = 20.0  # 98/83/EC: conductivity at 20 °C
PRODUCT_CO2 = "product.co2_mg_l"
FILTER = "neutralising_filter.media_volume_l"
CALCITE, DEGASSER = "neutralising_filter", "product_degasser"
FINISHED_CO2 = "remineralisation.co2_mg_l"
SHORT = "calcite_contact"  # flag of a filter that is not counted on
NEUTRALISERS = ("product_alkali", CALCITE)
PURE = "the product of the membranes taken as pure water with its carbon dioxide"
AS_PURE = ", were the product pure (higher where salt passes)"
MEQ_PER_EQ = 1000.0
MOST_PASSAGE = 0.1  # PRACTICE: of bicarbonate; membranes for brackish water let 2 to 5 % pass
LABELS = {
    "u": "Uranium",
    "ra": "Radium 226 + 228",
    "ra226_pci_l": "Radium 226",
    "ra228_pci_l": "Radium 228",
}


class Membranes(Struct, frozen=True):
    """What the membranes take and give at the design point; ``made`` None where no salt passes."""

    feed: FeedWater
    made: Permeate | None
    point: MembranePoint


def enter_delivered(ledger: Ledger, treated: Treated, membranes: Membranes | None) -> None:
    """Enter the stages behind the membranes, what they deliver, and hold it against its use.

    Parameters
    ----------
    ledger : Ledger
        With train and product entered. [-]
    treated : Treated
        The train, and its stages behind the membranes. [-]
    membranes : Membranes or None
        Feed and product; None where the water has no pH or no analysis. [-]
    """
    design = treated.train.design
    start = _product(ledger, treated, membranes)
    steps = _steps(ledger, treated, membranes, start)
    last = steps[-1] if steps else start
    if membranes is None:
        return
    known = membranes.made is not None
    if steps and last.water is not None:
        _enter_water(ledger, last.water, known=known, gas=start.co2 is not None)
        if known:
            _enter_steps(ledger, treated, [start, *steps])
        _flag_ph(ledger, treated, known=known)
    _hold(ledger, design, membranes, (start, last), _oxygen(ledger, treated), bool(steps))


def _steps(
    ledger: Ledger, treated: Treated, membranes: Membranes | None, start: Delivered
) -> list[Delivered]:
    """Enter the stages behind the membranes; what makes the product fit for pipes among them."""
    design, found, entered = treated.train.design, [start], False
    for n, stage in enumerate(treated.behind):
        found += run_behind(treated.train, (stage,), found[-1])
        ahead = {one.key for one in treated.behind[:n]}
        if stage.key != CALCITE:
            continue
        from pretreat.plant.delivered.contact import flag_contact
        from pretreat.plant.finished.figures import enter_finished
        from pretreat.stages.neutralising_filter.figures import contact_too_short

        finished = None
        if ahead <= {DEGASSER} and membranes is not None:
            asked = design.product.asks_for_minerals
            if asked or not contact_too_short(ledger):
                finished = enter_finished(ledger, membranes.made, membranes.feed, design)
            entered = True
        if not flag_contact(ledger, found[-1].flow) and finished is not None:
            finished = replace(finished, traces=dict(start.water.traces if start.water else {}))
            found[-1] = replace(found[-1], water=finished, co2=FINISHED_CO2)
    if membranes is None or entered:
        return found[1:]
    if design.product.asks_for_minerals or FILTER in ledger:  # else nothing is entered
        from pretreat.plant.finished.figures import enter_finished

        enter_finished(ledger, membranes.made, membranes.feed, design)
    return found[1:]


def _product(ledger: Ledger, treated: Treated, membranes: Membranes | None) -> Delivered:
    """Return what the membranes deliver."""
    train, mg_l = treated.train, treated.stream.mg_l
    if membranes is None:
        return Delivered(co2_key(train), beside_mg_l=mg_l)
    feed, made = membranes.feed, membranes.made
    passed = enter_traces(ledger, feed, membranes.point, train.design)
    beside = Water(feed, passed.ahead)
    co2 = PRODUCT_CO2 if ledger.number(PRODUCT_CO2) is not None else co2_key(train)
    water = None
    if made is not None:
        own = FeedWater(
            made.mg_l, made.alkalinity_mg_l_caco3, made.speciation.temp_c, made.speciation
        )
        water = Water(own, passed.behind)
    elif co2 is not None:
        none: Mapping[str, float] = dict.fromkeys(feed.mg_l, 0.0)
        gas = float(np.asarray(feed.speciation.co2_mol_kg))
        water = water_of(none, float(np.asarray(feed.temp_c)), 0.0, gas)
        water = Water(water.water, dict.fromkeys(passed.ahead, 0.0))
    return Delivered(co2, water, beside, mg_l)


def _enter_water(ledger: Ledger, water: Water, *, known: bool, gas: bool) -> None:
    """Enter the delivered water; of a product taken as pure only what its gas decides."""
    how = "behind the last stage of the product" + ("" if known else f", {PURE}")
    short = any(flag.code == SHORT for flag in ledger.study().flags)
    left_out = ", the neutralising filter not counted on" if short else ""
    rests = [k for k in ("product.tds_mg_l", PRODUCT_CO2, "water.co2_mg_l") if k in ledger]
    lines = []
    if gas:
        lines += [
            ("ph", water.ph, "-", f"pH of the delivered water{left_out}{'' if known else AS_PURE}"),
            ("co2_mg_l", water.co2_mg_l, "mg/L", "Carbon dioxide in the delivered water"),
        ]
    if known:
        alkalinity = water.water.alkalinity_mg_l_caco3
        lines += [
            ("tds_mg_l", water.tds_mg_l, "mg/L", "Total dissolved solids of the delivered water"),
            (
                "alkalinity_mg_l_caco3",
                alkalinity,
                "mg/L as CaCO3",
                "Alkalinity of the delivered water",
            ),
            (
                "hardness_mg_l_caco3",
                water.hardness_mg_l_caco3,
                "mg/L as CaCO3",
                "Hardness of the delivered water",
            ),
        ]
        for key, amount in water.water.mg_l.items():
            name = f"{analytes()[key].name.capitalize()} in the delivered water"
            lines.append((f"{key}_mg_l", amount, "mg/L", name))
        for parameter, amount in water.traces.items():
            unit = "pCi/L" if parameter.startswith("ra") else "mg/L"
            name = _trace_name(parameter, water)
            lines.append((key_of(parameter), amount, unit, f"{name} in the delivered water"))
    for key, value, unit, label in lines:
        number = _number(value)
        if number is not None:
            ledger.put(f"{P}.{key}", number, unit, label, method=how, cites=("D4582",))
            ledger.rests(f"{P}.{key}", *rests)


def _trace_name(parameter: str, water: Water) -> str:
    """Return what a trace is called; arsenic whose form is not known stands there twice."""
    if IF_ARSENITE in water.traces and parameter not in LABELS:
        form = "arsenite" if parameter == IF_ARSENITE else "arsenate"
        return f"Arsenic, were all of it {form},"
    return LABELS.get(parameter, "Arsenic")


def _number(value: object) -> float | None:
    found = float(np.squeeze(np.asarray(value, float)))
    return found if math.isfinite(found) else None


def _enter_steps(ledger: Ledger, treated: Treated, steps: list[Delivered]) -> None:
    """Enter the water behind the membranes and behind each stage, side by side."""
    shown = [step.water for step in steps]
    waters = [water for water in shown if water is not None]
    if len(waters) < len(shown):
        return
    rows: list[tuple[Value, ...]] = [
        ("pH", "-", *(_number(w.ph) for w in waters)),
        ("carbon dioxide", "mg/L", *(_number(w.co2_mg_l) for w in waters)),
        (
            "alkalinity",
            "mg/L as CaCO3",
            *(_number(w.water.alkalinity_mg_l_caco3) for w in waters),
        ),
        ("hardness", "mg/L as CaCO3", *(_number(w.hardness_mg_l_caco3) for w in waters)),
        ("dissolved solids", "mg/L", *(_number(w.tds_mg_l) for w in waters)),
    ]
    ions = {k: None for w in waters for k in w.water.mg_l}
    for key in ions:
        name = analytes()[key].name
        rows.append((name, "mg/L", *(_number(w.water.mg_l.get(key, 0.0)) for w in waters)))
    for parameter in {k: None for w in waters for k in w.traces}:
        unit = "pCi/L" if parameter.startswith("ra") else "mg/L"
        name = _trace_name(parameter, waters[-1]).rstrip(",").lower()
        rows.append((name, unit, *(_number(w.traces.get(parameter, math.nan)) for w in waters)))
    keys = [stage.key for stage in treated.behind]
    names = [f"Behind the {stage.name}" for stage in treated.behind]
    ledger.table(
        Series(
            f"{P}.stages",
            "The water behind the membranes, stage by stage",
            ("constituent", "unit", "membranes", *keys),
            ("-",) * (3 + len(keys)),
            tuple(rows),
            method="each stage takes the water of the one before it",
            cites=("D4582", "PB82"),
            headings=("Constituent", "Unit", "Behind the membranes", *names),
        )
    )


def _flag_ph(ledger: Ledger, treated: Treated, *, known: bool) -> None:
    """Flag a delivered pH that no pipe and nobody should have."""
    ph = ledger.number(f"{P}.ph")
    mended = any(stage.key in NEUTRALISERS for stage in treated.behind)
    if ph is None or ACID_PH <= ph <= BASIC_PH:
        return
    if ph > BASIC_PH:
        text = (
            f"the delivered water has a pH of {ph:.1f}, above {BASIC_PH:g}: it burns eyes and "
            "mouth, scales and attacks seals; lower the dose of alkali to the carbon dioxide that "
            "is there, and let nobody drink it"
        )
        ledger.flag(Flag("delivered_ph", "warning", text, f"{P}.ph"))
    elif mended and known and all(flag.code != SHORT for flag in ledger.study().flags):
        text = (
            f"the delivered water has a pH of {ph:.1f}, below {ACID_PH:g}, in spite of what "
            "neutralises it: more alkali or calcite, or less carbon dioxide ahead of it"
        )
        ledger.flag(Flag("delivered_ph", "caution", text, f"{P}.ph"))


def _oxygen(ledger: Ledger, treated: Treated) -> dict[str, float]:
    """Return the oxygen of the product where it was measured: gas passes membranes unchanged."""
    measured = ledger.number("water.oxygen_mg_l")
    return {} if measured is None else {OXYGEN: max(measured, treated.stream.oxygen_mg_l)}


def _hold(
    ledger: Ledger,
    design: DesignBasis,
    membranes: Membranes,
    ends: tuple[Delivered, Delivered],
    oxygen: dict[str, float],
    behind: bool,
) -> None:
    """Hold the delivered water against its use, that of the membranes beside it."""
    use, (start, last) = design.product, ends
    if membranes.made is None:
        if use.target is not None:
            acid = _acid_behind(ledger, membranes.feed) if behind else _acid_words(membranes.feed)
            _hold_least(ledger, use, last, acid)
        return
    from pretreat.plant.delivered.remedies import flag_thin, remedy_of
    from pretreat.plant.delivered.warmest import at_warmest

    alone = _values_of(membranes, start)
    alone |= oxygen
    values = _values_of(membranes, last) | oxygen if behind else alone
    rest = {k: v for k, v in trace_amounts(ledger).items() if k not in values}
    blended = {k: last.raw_share * v for k, v in rest.items()} if last.raw_share > 0.0 else {}
    warm = at_warmest(design, membranes.feed, membranes.made, (start, last), values)
    held = Held(
        values | blended,
        alone if behind else None,
        least=frozenset(blended),
        warm=warm,
        warmest_c=design.water.warmest_temperature_c,
    )
    target = use.target or ""
    remedy = remedy_of(ledger, target, held.prefix, values)
    enter_target(ledger, use, held, more_rules(ledger, use), others(use), remedy)
    flag_thin(ledger, target, held.prefix, values, held.words)
    if use.target == DRINKING:
        from pretreat.plant.delivered.drunk import flag_drunk

        flag_drunk(ledger, held.prefix)
    words = "acid water delivered" if behind else "acid product"
    if use.target is None:
        _flag_acid(ledger, P if behind else "product", words)
    elif use.target == PROCESS or (
        behind and use.target != DRINKING
    ):  # no limit of it says so, and steel suffers all the same
        _flag_acid(ledger, P if behind else "product", words, "caution")


def _acid_words(feed: FeedWater) -> str:
    """Say that the product is acid where even a large passage of bicarbonate leaves it so."""
    ph, alkalinity = (
        float(np.squeeze(np.asarray(v, float)))
        for v in (feed.speciation.ph, feed.alkalinity_mg_l_caco3)
    )
    if not alkalinity > 0.0:
        return ""
    most = float(product_ph(ph, MOST_PASSAGE))
    if not most < ACID_PH:
        return ""
    return (
        f"; it is acid all the same: at pH {ph:.1f} ahead of the membranes carbon dioxide passes "
        f"them and bicarbonate hardly, the product has about pH {most:.1f} or less (where up to "
        f"{MOST_PASSAGE:.0%} of it passes), below {ACID_PH:g} it attacks metal and cement: "
        "neutralise it (calcite, alkali) or degas it"
    ).replace("% of", " % of")


def _acid_behind(ledger: Ledger, feed: FeedWater) -> str:
    """Say that a product that was stripped is acid still, even with a large passage of salt."""
    co2, alkalinity = ledger.number(f"{P}.co2_mg_l"), float(np.squeeze(feed.alkalinity_mg_l_caco3))
    if co2 is None or not alkalinity > 0.0 or (ledger.number(f"{P}.ph") or ACID_PH) >= ACID_PH:
        return ""
    passed = MOST_PASSAGE * alkalinity / CACO3_MG_PER_MEQ / MEQ_PER_EQ
    strength = MOST_PASSAGE * float(np.squeeze(feed.speciation.ionic_strength_mol_kg))
    at_c = float(np.squeeze(feed.temp_c))
    most = float(ph_from_alkalinity_and_co2(passed, co2 / CO2_MG_PER_MOL, strength, at_c))
    if not most < ACID_PH:
        return ""
    return (
        f"; the water delivered is acid all the same: {co2:.2g} mg/L of carbon dioxide are left in "
        f"it, its pH is about {most:.1f} or less (where up to {MOST_PASSAGE:.0%} of the "
        f"bicarbonate passes), below {ACID_PH:g} it attacks metal and cement: neutralise it "
        "(calcite, alkali) ahead of pipes, or strip more"
    ).replace("% of", " % of")


def _hold_least(ledger: Ledger, use: ProductUse, last: Delivered, acid: str) -> None:
    """Say what a blend brings at the least where the product of the membranes is not known."""
    text = (
        "the product is not known, so it is not held against its target: give element or "
        f"salt_passage in [machine]{acid}"
    )
    ledger.flag(Flag("product_unknown", "caution", text))
    if last.raw_share > 0.0 and last.beside is not None:
        ahead = {k: float(np.asarray(v)) for k, v in last.beside.values().items() if k != "ph"}
        ahead |= trace_amounts(ledger)
        values = {k: last.raw_share * v for k, v in ahead.items()}
        values = {k: v for k, v in values.items() if not k.startswith(("sar", "ec_"))}
        held = Held(values | sums_of(values), at_least=True)
        enter_target(ledger, use, held, more_rules(ledger, use))


def _values_of(membranes: Membranes, step: Delivered) -> dict[str, float]:
    """Return what a target may limit in a water behind the membranes, conductivity included."""
    if step.water is None:
        return {}
    water = step.water.water
    values = {k: float(np.squeeze(np.asarray(v, float))) for k, v in step.water.values().items()}
    plain = {k: float(np.nan_to_num(np.squeeze(v))) for k, v in water.mg_l.items()}
    ions = molal(plain, float(np.nan_to_num(np.squeeze(water.alkalinity_mg_l_caco3))))
    at_25_c, at_20_c = conductivity_us_cm(ions), conductivity_us_cm(ions, EU_TEMPERATURE_C)
    if not np.all(np.asarray(membranes.feed.alkalinity_mg_l_caco3) > 0.0):
        values["ph"] = float("nan")
    values |= {"ec_ds_m": at_25_c / 1000.0, "ec_us_cm_20": at_20_c}
    return values | sums_of(values)


def _flag_acid(ledger: Ledger, prefix: str, words: str, level: Level = "info") -> None:
    ph = ledger.number(f"{prefix}.ph")
    if ph is not None and ph < ACID_PH:
        text = f"{words}: pH {ph:.1f}, corrosive to metal; remineralise or degas where that matters"
        ledger.flag(Flag("acid_product", level, text, f"{prefix}.ph"))
