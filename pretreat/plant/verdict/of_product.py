"""What of a product for drinking no figure tells: forms that were not analysed, and what passes."""

import re
from collections.abc import Collection
from functools import lru_cache
from math import inf

from pretreat.core.results import Ledger
from pretreat.core.tables import rows
from pretreat.core.water import WaterAnalysis
from pretreat.lab.health import GERMS, Jurisdiction, health_limits, sewage_text
from pretreat.lab.interpret.traces import traces
from pretreat.lab.organic_limits import unseen_limits
from pretreat.lab.others import others_found
from pretreat.membrane.elements.permeability import Membrane
from pretreat.plant.delivered.laws import trace_passage
from pretreat.plant.health import BINDING, DRINKING
from pretreat.plant.verdict.case import Obstacle
from pretreat.plant.verdict.open_points.arsenic import PROVED, remedy_of_arsenite
from pretreat.plant.verdict.open_points.organic_health import (
    organic_health_obstacles,
    over_in_water,
)
from pretreat.site.design import ProductUse

# Constituent, and its figure in the worse form: the membranes hold that form least.
WORSE_FORMS = (("as", "as_if_arsenite_mg_l", "arsenic_form"),)
HELD_IN_PART, FAR_TIMES = ("no3",), 4.0  # PRACTICE: a quarter passes membranes that are worn
GERM_TEST = "germs: E. coli and enterococci in 100 mL"
REFRACTORY = "refractory"  # class of data/drinking_passage.csv
FINER = "what was not found, with a limit of detection below that of the law"
OTHER_FORM = "the form of the arsenic (arsenite or arsenate), and arsenic in the product"


def product_obstacles(
    ledger: Ledger, water: WaterAnalysis, use: ProductUse, warmer_c: float = 0.0
) -> list[Obstacle]:
    """Return conditions of a product for drinking that no figure of it tells.

    The worse form of a constituent is over its limit for health; or something was found in the
    raw water whose passage is not calculated.

    Parameters
    ----------
    ledger : Ledger
        With the product entered. [-]
    water : WaterAnalysis
        The analysis. [-]
    use : ProductUse
        What the product is for; only drinking asks for it. [-]
    warmer_c : float
        How much warmer than the operating water the warmest is. [K]

    Returns
    -------
    list of Obstacle
        One condition for each constituent, or class of them. [-]
    """
    if use.target != DRINKING:
        return []
    found = organic_health_obstacles(ledger, water, use)
    over = {name for one in over_in_water(water, use) for name in one.names}
    found += [
        Obstacle(kind, text, anyway=True, code="health")  # type: ignore[arg-type]
        for kind, text in _passing(water, over)
    ]
    found += _held_by_membranes(ledger, water, BINDING.get(use.jurisdiction or ""))
    found += _coarse(water, BINDING.get(use.jurisdiction or ""))
    sewage = sewage_text(water.mg_l, {*water.properties, *water.below_properties})
    if sewage:
        found.append(Obstacle("condition", sewage, anyway=True, measure=GERM_TEST, code="health"))
    whose = BINDING.get(use.jurisdiction or "")
    for key, figure, code in WORSE_FORMS:
        amounts = (ledger.number(f"{of}.{figure}") for of in ("product", "delivered"))
        likely = max((one for one in amounts if one is not None), default=None)
        limit = min(_limits(key, whose), default=inf)
        if likely is None:
            continue
        worst = _at_most(likely, water.mg_l.get(key), warmer_c)
        if max(worst, likely) <= limit:
            continue
        told = next((f.text for f in ledger.study().flags if f.code == code), "")
        if likely <= limit or not told:
            told = (
                f"arsenic of the water delivered is about {likely:.2g} mg/L, up to "
                f"{max(worst, likely):.2g} mg/L where it is arsenite, the membrane passes as much "
                "of it as some do (common practice) and the water is warmest; the limit is "
                f"{limit:.2g} mg/L: have its form analysed, and the product"
            )
        ahead = remedy_of_arsenite(ledger)
        ahead = ahead if ahead == PROVED else f"or {ahead}"
        text = f"{told}; {ahead}: nobody drinks it before that"
        found.append(Obstacle("condition", text, anyway=True, measure=OTHER_FORM, code="health"))
    return found


def _at_most(likely: float, raw: float | None, warmer_c: float) -> float:
    """Return the arsenite behind a membrane that passes it easily, in the warmest water.

    ``likely`` is what passes a usual one; what is more concentrated ahead is left out.
    """
    if raw is None or not 0.0 < likely < raw:
        return likely
    row = next(one for one in rows("ion_permeability.csv") if one["key"] == "as3")
    easier = float(row["high"]) / float(row["value"])
    easier *= Membrane().salt_temperature_base ** max(warmer_c, 0.0)
    return raw * float(trace_passage(likely / raw, easier, 1.0))


def _held_by_membranes(
    ledger: Ledger, water: WaterAnalysis, whose: Jurisdiction | None
) -> list[Obstacle]:
    """Return the condition of what is drinkable only as long as the membranes are sound."""
    found = []
    for key in HELD_IN_PART:
        laws = [
            x
            for x in health_limits()
            if x.key == key and x.kind == "health" and whose in (None, x.jurisdiction)
        ]
        amount, left = water.mg_l.get(key), ledger.number(f"product.{key}_mg_l")
        strict = min(laws, key=lambda x: x.limit, default=None)
        if strict is None or amount is None or left is None or left > strict.limit:
            continue
        times = amount / strict.limit
        if times <= FAR_TIMES:
            continue
        text = (
            f"{strict.name} is {amount:.3g} mg/L in the raw water, {times:.1f} times the limit of "
            f"{strict.printed} ({strict.law}), and membranes hold it in part, less as they age: "
            "test the product before anyone drinks it, and again as long as it is drunk (common "
            "practice); the health authority decides"
        )
        ask = f"{strict.name} in the product"
        found.append(Obstacle("condition", text, anyway=True, measure=ask, code="health"))
    return found


def _coarse(water: WaterAnalysis, whose: Jurisdiction | None) -> list[Obstacle]:
    """Return the condition of what was not found at a limit of the laboratory above the law's."""
    below = {**water.below_mg_l, **water.below_properties}
    metals = {k: t.property for k, t in traces().items()}
    named: dict[str, str] = {}
    for law in health_limits():
        limit = below.get(metals.get(law.key, law.key), below.get(law.key))
        if law.kind != "health" or whose not in (None, law.jurisdiction) or limit is None:
            continue
        if limit > law.limit:
            named.setdefault(law.key, f"{law.name} <{limit:.3g} {law.unit} ({law.printed})")
    for key, name in GERMS:
        limit = below.get(key)
        if limit is not None and limit > 1.0:  # one colony is the least that 100 mL can tell
            named[key] = f"{name} <{limit:.3g} in 100 mL (0 in 100 mL)"
    for one in unseen_limits(water, whose):
        named[one.shown] = f"{one.shown} ({one.limit.printed})"
    if not named:
        return []
    text = (
        f"detection limit above the limit for drinking water: {', '.join(named.values())}: not "
        "found so coarsely shows nothing: have each analysed with a lower limit before anyone "
        "drinks the product; the health authority decides"
    )
    return [Obstacle("condition", text, anyway=True, measure=FINER, code="health")]


def _limits(key: str, whose: str | None) -> list[float]:
    """Return the limits for health of a constituent that bind [unit of data/health_limits.csv]."""
    return [
        x.limit
        for x in health_limits()
        if x.key == key and x.kind == "health" and whose in (None, x.jurisdiction)
    ]


@lru_cache(maxsize=1)
def _ways() -> tuple[tuple[re.Pattern[str], tuple[str, str]], ...]:
    """Return patterns of names, each with the class and the words of data/drinking_passage.csv."""
    return tuple(
        (re.compile(r["pattern"]), (r["class"], r["text"])) for r in rows("drinking_passage.csv")
    )


def named_passing(water: WaterAnalysis, use: ProductUse) -> frozenset[str]:
    """Return what `product_obstacles` names, so that it is not named twice.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    use : ProductUse
        What the product is for. [-]

    Returns
    -------
    frozenset of str
        Names as printed. [-]
    """
    if use.target != DRINKING:
        return frozenset()
    names = (one.name for one in others_found(water))
    over = {name for one in over_in_water(water, use) for name in one.names}
    known = {n for n in names if any(p.search(n.casefold()) for p, _ in _ways())}
    return frozenset(known | over)


def _passing(water: WaterAnalysis, told_already: Collection[str]) -> list[tuple[str, str]]:
    """Say of what was measured and not calculated what the membranes do with it, by weight.

    What no stage of ours takes is a question: the answer is another treatment, or source.
    """
    told: dict[tuple[str, str], list[str]] = {}
    for one in others_found(water):
        name = one.name.casefold()
        way = next((words for pattern, words in _ways() if pattern.search(name)), None)
        if way is not None and one.name not in told_already:
            told.setdefault(way, []).append(one.shown)
    return [
        (
            "question" if kind == REFRACTORY else "condition",
            f"measured, and not judged in the product: {', '.join(names)}: {way} (common "
            "practice); the health authority decides",
        )
        for (kind, way), names in told.items()
    ]
