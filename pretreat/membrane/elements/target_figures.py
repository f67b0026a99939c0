"""The product against what it is for: each limit with its source, and what exceeds it."""

from collections.abc import Callable, Collection, Mapping, Sequence
from math import isfinite, nan

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.basis import Flag, Level, Series
from pretreat.core.results import Ledger
from pretreat.membrane.elements.targets import (
    HEALTH,
    Limit,
    Verdict,
    health_behaviour,
    judge,
    limits,
    limits_of,
)
from pretreat.site.design import ProductUse

REPEALED = "eu98"  # compared only where it is named
LEVELS: Mapping[str, Level] = {"aesthetic": "caution", "slight": "caution"}
ACID = (
    "; acid and hardly buffered, corrosive to metal and cement: neutralise it (calcite, alkali) "
    "or degas and remineralise it ahead of pipes and people"
)
BASIC = "; acid ahead of the membranes, or carbon dioxide behind"
WATERED = frozenset({"irrigation", "sprinkler"})
# FAO29, Tables 13 to 16: what suffers first, and what mends it.
SUFFERED = {
    "b_mg_l": "; boric acid passes the membranes in large part near neutral pH: berries, citrus "
    "and stone fruit suffer first; a second pass at pH 9.5 and above, or another source with less",
    "sar": "; too little calcium beside the sodium closes the soil",
    "cl_mg_l": "; sensitive crops suffer first, leaves that are sprinkled above all",
    "na_mg_l": "; sensitive crops suffer first, leaves that are sprinkled above all",
}
GROWER = "crop and soil decide: ask whoever advises the grower"
SOFTENER = "softener.resin_volume_l"
# Marks of a flag: known at the least alone, and a law that does not bind here.
BLENDED, FREE, NOTED = "by the blend", "not binding", "not asked for"
PROCESS = "process"
DEFER = "codes of the place and the authority decide"
GUIDELINES = {  # no law: whom to ask instead of an authority
    "irrigation": GROWER,
    "sprinkler": GROWER,
    "process": "what the water feeds decides: ask its maker",
}


NO_BOILER = (
    "; the limits held are those of boiler feed, and the site file does not say that it feeds a "
    'boiler: then write jurisdiction = "boiler" in [product], and the verdict counts them'
)


class Held(Struct, frozen=True):
    """What is held against a target: the delivered water, and the membranes' product beside it.

    ``membranes`` is None where nothing stands behind them. ``at_least`` says that the values are
    the least that there can be: then only what is exceeded is told; ``least`` names single
    parameters of which that is so. ``warm`` are values at the warmest water.
    """

    values: Mapping[str, float]
    membranes: Mapping[str, float] | None = None
    at_least: bool = False
    least: Collection[str] = ()
    warm: Mapping[str, float] = field(default_factory=dict)
    warmest_c: float | None = None

    @property
    def words(self) -> str:
        """What the water is called."""
        alone = self.membranes is None and not self.at_least
        return "product water" if alone else "delivered water"

    @property
    def prefix(self) -> str:
        """Start of the keys of its figures."""
        return "product" if self.membranes is None else "delivered"


def enter_target(
    ledger: Ledger,
    use: ProductUse,
    held: Held,
    more: Sequence[Limit] = (),
    others: Sequence[Limit] = (),
    remedy: Callable[[Verdict], str] | None = None,
) -> None:
    """Hold the delivered water against the target that the site names.

    Parameters
    ----------
    ledger : Ledger
        With the product entered. [-]
    use : ProductUse
        Target and jurisdiction. [-]
    held : Held
        Values of what is delivered, by parameter. [unit in the name]
    more : sequence of Limit
        Limits of the target besides. [-]
    others : sequence of Limit
        Limits that do not bind there, told where they are exceeded. [-]
    remedy : callable, optional
        Words of what mends an exceeded limit; empty where there are none. [-]
    """
    if use.target is None:
        return
    ledger.put("product.target", use.target, "-", "What the product is for", origin="chosen")
    if use.jurisdiction is None:
        rules = tuple(x for x in limits() if x.target == use.target and x.jurisdiction != REPEALED)
    else:
        rules = limits_of(use.target, use.jurisdiction)
    rules = (*rules, *more)
    found = tuple(_looked_for(ledger, _known(v, held)) for v in judge(held.values, rules))
    if held.at_least:
        found = tuple(v for v in found if v.state == "exceeded" and v.value > v.limit.high)
    rows = []
    for v in found:
        bounds = (v.limit.low, v.limit.high)
        value = v.value if isfinite(v.value) else None
        low, high = (b if isfinite(b) else None for b in bounds)
        source = f"{v.limit.source}, {v.limit.where}"
        whose = v.limit.jurisdiction
        rows.append(
            (
                v.limit.name,
                value,
                low,
                high,
                v.limit.unit,
                v.limit.grade,
                whose,
                _state(ledger, v),
                source,
                v.limit.evidence,
                _finite(None if held.membranes is None else held.membranes.get(v.limit.parameter)),
            )
        )
    ledger.table(
        Series(
            "product.against_target",
            f"The {held.words} against limits for {use.target} water",
            (
                "parameter",
                "value",
                "low",
                "high",
                "unit",
                "grade",
                "whose",
                "state",
                "source",
                "evidence",
                "membranes",
            ),
            ("-",) * 11,
            tuple(rows),
            method=f"limits bind where the law named binds; {DEFER}",
            cites=tuple(dict.fromkeys(rule.source for rule in rules)),
            headings=(
                "Parameter",
                "At least" if held.at_least else "Delivered",
                "Low",
                "High",
                "Unit",
                "Grade",
                "Whose",
                "State",
                "Source",
                "Evidence",
                "Behind the membranes",
            ),
        )
    )
    kept = {_name(v.limit) for v in found if v.state != "exceeded"}
    warm = tuple(
        v for v in judge(held.warm, rules) if v.state == "exceeded" and _name(v.limit) in kept
    )
    _flag(ledger, found, warm, held, remedy, bound=use.jurisdiction is not None)
    _flag_others(ledger, found, judge(held.values, others), held)


def _known(verdict: Verdict, held: Held) -> Verdict:
    """Return a verdict; what is known at the least alone cannot be kept."""
    if verdict.state == "kept" and verdict.limit.parameter in held.least:
        return replace(verdict, value=nan, state="not measured")
    return verdict


def _looked_for(ledger: Ledger, verdict: Verdict) -> Verdict:
    """Return a verdict; what a laboratory did not detect below its limit is kept: none is added."""
    most = verdict.limit.high
    for key in _raw_keys(verdict.limit.parameter):
        figure = ledger.figure(key)
        below = None if figure is None or figure.value is not None else figure.below
        if verdict.state == "not measured" and below is not None and below <= most:
            return replace(verdict, state="kept")
    return verdict


def _state(ledger: Ledger, verdict: Verdict) -> str:
    """Return a state in words: what was measured in the raw water is not computed."""
    if verdict.state == "not measured" and _in_raw_water(ledger, verdict.limit.parameter):
        return "not computed"
    return verdict.state


def _name(limit: Limit) -> tuple[str, str, float]:
    return limit.parameter, limit.grade, limit.high


def _finite(value: float | None) -> float | None:
    return value if value is not None and isfinite(value) else None


def _flag(
    ledger: Ledger,
    found: tuple[Verdict, ...],
    warm: tuple[Verdict, ...],
    held: Held,
    remedy: Callable[[Verdict], str] | None,
    *,
    bound: bool,
) -> None:
    """Flag what is exceeded, once a parameter, the gravest limit first."""
    over: dict[str, Verdict] = {}
    grave = sorted((*found, *warm), key=lambda v: (v.limit.grade in LEVELS, v.limit.high))
    for verdict in grave:
        if verdict.state == "exceeded":
            over.setdefault(verdict.limit.parameter, verdict)
    for parameter, verdict in over.items():
        guideline = GUIDELINES.get(verdict.limit.target)
        where = "" if bound or guideline else ", where that law binds"
        by_blend = held.at_least or parameter in held.least
        least = ", at the least, by the blend" if by_blend else ""
        season = f", in the warmest water ({held.warmest_c:g} °C)" if verdict in warm else ""
        text = f"{held.words}: {verdict.text}{season}{least}{where}{_behaviour(ledger, verdict)}"
        mended = remedy(verdict) if remedy else ""
        text += f"{mended}; {guideline or DEFER}"
        level = LEVELS.get(verdict.limit.grade, "warning")
        key = f"{held.prefix}.{parameter}"
        noted = verdict.limit.target == PROCESS and not bound
        if noted:  # a process may be anything; the only limits at hand are those of a boiler
            level, text = "caution", f"{text}{NO_BOILER}"
        marks = frozenset(
            m for m, here in ((BLENDED, by_blend), (FREE, bool(where)), (NOTED, noted)) if here
        )
        figure = key if key in ledger else "product.target"
        ledger.flag(Flag("product_target", level, text, figure, marks))
    states = {"not measured", "not judged"}
    open_ = {v.limit.name: v.limit.parameter for v in found if v.state in states}
    in_raw = {name for name, key in open_.items() if _in_raw_water(ledger, key)}
    for words, names in (
        (
            "not measured or not computable, so not judged in the " + held.words,
            open_.keys() - in_raw,
        ),
        ("measured in the raw water, passage into the product not computed", in_raw),
    ):
        if not names:
            continue
        text = f"{words}: {', '.join(sorted(names))}"
        ledger.flag(Flag("product_target_open", "caution", text, "product.target"))


def _flag_others(
    ledger: Ledger, own: Sequence[Verdict], found: Sequence[Verdict], held: Held
) -> None:
    """Tell what other bodies' limits for health are exceeded, where those that bind are kept."""
    over = {v.limit.parameter for v in own if v.state == "exceeded" and v.limit.grade == HEALTH}
    told: dict[str, Verdict] = {}
    for verdict in sorted(found, key=lambda v: v.limit.high):
        if verdict.state == "exceeded" and verdict.limit.parameter not in over:
            told.setdefault(verdict.limit.parameter, verdict)
    for verdict in told.values():
        text = f"{held.words}: {verdict.text}; it is another body's limit and does not bind here"
        ledger.flag(Flag("product_other_limit", "info", text, "product.target"))


def _in_raw_water(ledger: Ledger, parameter: str) -> bool:
    return any(ledger.number(key) is not None for key in _raw_keys(parameter))


def _raw_keys(parameter: str) -> tuple[str, ...]:
    name = parameter.removesuffix("_mg_l")
    return f"water.{name}_mg_l", f"water.{name}_pci_l", f"water.{name}"


def _behaviour(ledger: Ledger, verdict: Verdict) -> str:
    """Say what holds a constituent and what lets it pass, by what the product is for."""
    limit = verdict.limit
    if limit.parameter == "ph" and limit.target == "drinking":
        return ACID if verdict.value < limit.low else BASIC
    known = health_behaviour().get(limit.parameter.removesuffix("_mg_l"))
    if limit.target in WATERED and limit.parameter in SUFFERED:
        return SUFFERED[limit.parameter]
    if known is None or limit.grade != HEALTH:
        return ""
    softened = f"; softener: {known.softener}" if SOFTENER in ledger else ""
    return f"; membrane: {known.membrane}{softened}; {known.caution}"
