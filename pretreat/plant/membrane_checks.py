"""The water at the membranes against what they take: one row each."""

from collections.abc import Collection, Mapping

from msgspec import Struct, field

from pretreat.core.basis import Level, Series, Value
from pretreat.core.undetected import amount_is
from pretreat.core.water import WaterAnalysis, nothing
from pretreat.lab.water_figures import property_taken
from pretreat.stages.limits import TrainLimit, train_limits
from pretreat.stages.product_gas import held_as_ion
from pretreat.stages.stream import Stream
from pretreat.stages.train import Entries, Train

METALS, SDI, TURBIDITY = "iron + manganese", "silt density index", "turbidity"
SULFIDE, CHLORINE, ALUMINIUM = "hydrogen sulfide", "free chlorine", "aluminium"
OF_CHECK = {METALS: ("fe", "mn"), ALUMINIUM: ("al",), CHLORINE: (), SDI: (), TURBIDITY: ()}
IRON_FILTER = "iron filter"
FILTERS = frozenset({IRON_FILTER, "multimedia filter"})

OXIDISING = ("aeration", "chlorine", "permanganate", "iron_filter")  # iron is rust behind them
OPENING = (*OXIDISING, "degasser", "raw_tank")  # air or an oxidant that meets sulfide
MOVE_PH = ("acid", "alkali", "aeration", "weak_acid")
# PRACTICE: outside of it aluminium dissolves, as the ion below and as aluminate above.
INSOLUBLE_PH = (6.0, 8.5)

AIRLESS_MG_L = 0.5  # PRACTICE: of oxygen, up to which a sealed well keeps its iron dissolved
NOT_MEASURED = "not measured"
MOSTLY_SOLID = "above in the raw water, mostly undissolved"
FILTERED_SULFIDE = "above in the raw water: measure behind the filter"
MUCH_DISSOLVED_MG_L = 0.3  # PRACTICE: of iron + manganese, which a bed of sand lets pass
# What an iron filter is taken to leave, with no resin behind it; what resin takes in exchange.
LEFT = "above as a filter is taken to leave it: measure behind the filter"
EXCHANGED = "above in the raw water, taken in exchange: measure behind the softener"
MUCH = 2.0  # PRACTICE: times the limit, from where on it is no matter of scatter


SOFTENER = frozenset({"softener"})


# PRACTICE: below the pH and the alkalinity that codes and goals ask of a water in metal pipes.
ATTACKING_PH, THIN_MG_L_CACO3 = 6.5, 60.0


class MembraneFeed(Struct, frozen=True):
    """The water at the membranes as it is checked, and the stages that it went through.

    ``mg_l`` dissolved, ``solid_mg_l`` what of a metal is undissolved and not yet filtered
    [mg/L]; ``chlorine`` free [mg/L]; ``stages`` by name, None where no train is judged and the
    water is taken onto the membranes as it is. ``own_filter_rest`` where what the iron filter
    leaves was chosen; ``exchanged`` where resin takes dissolved metals that no air or oxidant
    has reached, all of the water through it; ``softened`` where all of it passes resin;
    ``closed`` where no air comes to the water ahead of the membranes;
    ``ph`` where it is that of the well; ``oxygen`` of the well or of what aired it [mg/L].
    """

    mg_l: Mapping[str, float]
    solid_mg_l: Mapping[str, float] = field(default_factory=nothing)
    chlorine: float = 0.0
    sulfide: float = 0.0
    turbidity: float | None = None
    sdi: float | None = None
    stages: frozenset[str] | None = None
    own_filter_rest: bool = False
    closed: bool = False
    ph: float | None = None
    oxygen: float = 0.0
    softened: bool = False
    exchanged: bool = False

    @property
    def filtered(self) -> bool:
        """Whether a bed holds back particles; a cartridge is no such bed."""
        return bool(FILTERS & (self.stages or frozenset()))

    @property
    def oxidised(self) -> bool:
        """Whether an iron filter stands ahead."""
        return IRON_FILTER in (self.stages or frozenset())

    def dissolved(self, *keys: str) -> float:
        """Return the dissolved amount of some metals [mg/L]."""
        return sum(self.mg_l.get(k, 0.0) for k in keys)

    def whole(self, *keys: str) -> float:
        """Return some metals in every form [mg/L]: what is undissolved fouls first."""
        return self.dissolved(*keys) + sum(self.solid_mg_l.get(k, 0.0) for k in keys)


def fed_by_train(train: Train, stream: Stream, present: set[str]) -> MembraneFeed:
    """Return the water that a train hands to the membranes.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water behind the last stage. [-]
    present : set of str
        Names of the stages that are in the train. [-]

    Returns
    -------
    MembraneFeed
        What is checked. [-]
    """
    raw, chosen = train.raw, train.design.chosen
    unchlorinated = train.has("carbon") or train.has("bisulfite")
    softened = train.has("softener") and not train.has("bypass")
    vented = train.has("raw_tank") and train.design.supply.vented_raw_tank
    oxygen = max(stream.oxygen_mg_l, raw.oxygen_mg_l or 0.0)
    aired = vented or any(map(train.has, OXIDISING)) or train.free_chlorine_mg_l > 0.0
    return MembraneFeed(
        stream.mg_l,
        stream.solid_mg_l,
        0.0 if unchlorinated else train.free_chlorine_mg_l,
        raw.h2s_mg_l,
        raw.turbidity_ntu,
        raw.sdi,
        frozenset(present),
        bool({"iron_filter.iron_left_mg_l", "iron_filter.manganese_left_mg_l"} & chosen),
        closed=is_closed(train, present),
        ph=None if any(map(train.has, MOVE_PH)) else raw.ph,
        oxygen=oxygen,
        softened=softened,
        exchanged=softened and not aired and oxygen <= AIRLESS_MG_L,
    )


def fed_as_analysed(water: WaterAnalysis, mg_l: Mapping[str, float]) -> MembraneFeed:
    """Return a water that no train is named for, as it would go onto the membranes.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    mg_l : mapping of str to float
        What the chemistry takes of it. [mg/L]

    Returns
    -------
    MembraneFeed
        What is checked. [-]
    """
    solid = {
        key: total - mg_l.get(key, 0.0)
        for key, total in water.total_mg_l.items()
        if total > mg_l.get(key, 0.0)
    }
    return MembraneFeed(
        mg_l,
        solid,
        property_taken(water, "free_chlorine_mg_l") or 0.0,
        property_taken(water, "h2s_mg_l") or 0.0,
        property_taken(water, "turbidity_ntu"),
        property_taken(water, "sdi"),
        ph=water.ph,
        oxygen=property_taken(water, "oxygen_mg_l") or 0.0,
    )


def enter_membrane_checks(entries: Entries, feed: MembraneFeed) -> None:
    """Enter the check of the membrane feed: metals in every form, chlorine, silt, turbidity.

    Parameters
    ----------
    entries : Entries
        Ledger. [-]
    feed : MembraneFeed
        The water that enters the membranes, and its stages. [-]
    """
    limits = train_limits()
    found: tuple[tuple[str, float | None, TrainLimit, Level], ...] = (
        (METALS, feed.whole("fe", "mn"), limits["membrane_iron_manganese"], "caution"),
        (ALUMINIUM, feed.whole("al"), limits["membrane_aluminium"], "caution"),
        (CHLORINE, feed.chlorine, limits["membrane_chlorine"], "warning"),
        (SDI, feed.sdi, limits["membrane_sdi"], "warning"),
        (TURBIDITY, feed.turbidity, limits["membrane_turbidity"], "caution"),
    )
    presumed = _presumed(feed)
    rows: list[tuple[Value, ...]] = []
    for name, value, limit, level in found:
        above = value is not None and value > limit.value
        verdict = NOT_MEASURED if value is None else ("above" if above else "within")
        if above and _each_within(feed, name, limit.value):
            verdict = "each within, above together"
        elif above and name in presumed:
            verdict = presumed[name]
            if ":" not in verdict:
                verdict += ": measure behind the filter"
            if presumed[name] == MOSTLY_SOLID and value is not None:
                _flag(entries, name, (value, limit, level), feed)
        elif above and value is not None:
            grave: Level = "warning" if value > MUCH * limit.value else level
            _flag(entries, name, (value, limit, grave), feed)
        rows.append((name, value, limit.value, limit.unit, verdict, limit.evidence))
    rows.append(_sulfide_row(feed))
    rows += _beside(feed)
    entries.ledger.table(
        Series(
            "train.membrane_checks",
            "The membrane feed against its limits",
            ("check", "value", "limit", "unit", "verdict", "evidence"),
            ("-", "", "", "-", "-", "-"),
            tuple(rows),
            headings=("Check", "Found", "Limit", "Unit", "Verdict", "Evidence"),
            cites=("MEMORY", "D4189", "USFS1999"),
            method="metals dissolved and undissolved; silt density index and turbidity as "
            "measured on the raw water; the secondary limits are those of drinking water, for "
            "taste and stains",
        )
    )
    if feed.sdi is None and feed.stages is not None:
        entries.flag(
            "sdi_not_measured",
            "info",
            "silt density index was not measured; it must be known before membranes "
            "are warranted (measure it behind the cartridge filter)",
        )


def _each_within(feed: MembraneFeed, name: str, limit: float) -> bool:
    """Tell whether each of several metals keeps a limit that their sum does not."""
    keys = OF_CHECK[name]
    return len(keys) > 1 and all(feed.whole(k) <= limit for k in keys)


def _of_rust(feed: MembraneFeed) -> str:
    """Return what a bed leaves of metals that are rust in part; empty where it helps little."""
    keys, limit = OF_CHECK[METALS], train_limits()["membrane_iron_manganese"].value
    dissolved = feed.dissolved(*keys)
    if dissolved <= limit or all(feed.dissolved(k) <= limit for k in keys):
        return "above in the raw water, undissolved"
    little = dissolved <= MUCH_DISSOLVED_MG_L and dissolved < feed.whole(*keys) - dissolved
    return MOSTLY_SOLID if little else ""


def is_closed(train: Train, present: Collection[str]) -> bool:
    """Tell whether a train keeps sulfide dissolved up to a degasser of the product, or the drain.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    present : collection of str
        Names of the stages that are in the train. [-]

    Returns
    -------
    bool
        No tank open to the air stands ahead of the membranes. [-]
    """
    if "raw water storage" in present:
        return False
    opened = any(train.has(key) for key in OPENING)
    return train.has("product_degasser") or (held_as_ion(train) and not opened)


def _sulfide_row(feed: MembraneFeed) -> tuple[Value, ...]:
    """Return the row of hydrogen sulfide as the raw water holds it; it has a flag of its own."""
    limit, sulfide = train_limits()["sulfide"], feed.sulfide
    verdict = "within" if sulfide else "none found, or not measured"
    if sulfide > limit.value:
        verdict = FILTERED_SULFIDE if feed.oxidised else "above"
        if feed.closed:
            verdict = "above, and dissolved as long as no air comes in"
    return (SULFIDE, sulfide, limit.value, limit.unit, verdict, limit.evidence)


def _beside(feed: MembraneFeed) -> list[tuple[Value, ...]]:
    """Return rows that are shown and never flagged: what is wanted, and what drinkers notice."""
    limits = train_limits()
    found: tuple[tuple[str, float | None, TrainLimit], ...] = (
        ("silt density index, wanted", feed.sdi, limits["membrane_sdi_wanted"]),
        ("iron, secondary limit", feed.mg_l.get("fe"), limits["drinking_iron"]),
        ("manganese, secondary limit", feed.mg_l.get("mn"), limits["drinking_manganese"]),
    )
    return [
        (
            name,
            value,
            limit.value,
            limit.unit,
            NOT_MEASURED if value is None else ("above" if value > limit.value else "within"),
            limit.evidence,
        )
        for name, value, limit in found
    ]


def note_turbidity(train: Train, present: set[str]) -> None:
    """Flag water too cloudy for resin with no filter ahead of it.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    present : set of str
        Names of the stages that are in the train. [-]
    """
    turbidity, limit = train.raw.turbidity_ntu or 0.0, train_limits()["softener_turbidity"]
    filtered = present & {"iron filter", "multimedia filter"}
    if "softener" in present and not filtered and turbidity > limit.value:
        train.entries.flag(
            "turbid_to_softener",
            "caution",
            f"turbidity is {turbidity:g} NTU ahead of the softener; the code allows "
            f"{limit.value:g} NTU onto resin ({limit.source}): filter ahead of it",
            "softener.iron_in_mg_l",
        )


def note_acid_water(train: Train) -> None:
    """Enter a caution where the water itself attacks what stands ahead of the first stage.

    Parameters
    ----------
    train : Train
        With the raw water. [-]
    """
    raw = train.raw
    alkalinity = raw.alkalinity_mg_l_caco3
    if raw.ph is None or raw.ph >= ATTACKING_PH:
        return
    if alkalinity is not None and alkalinity >= THIN_MG_L_CACO3:
        return
    buffered = "its alkalinity unknown" if alkalinity is None else "hardly buffered"
    train.entries.flag(
        "water_attacks",
        "caution",
        f"the raw water, pH {raw.ph:.1f}, {buffered}, attacks copper, brass, zinc and steel "
        "of pump, well and piping ahead of the train (common practice): plastic or stainless "
        "steel, or neutralise it at the well",
    )


def _presumed(feed: MembraneFeed) -> dict[str, str]:
    """Return the checks whose value is not one of the membrane feed, and why it is not."""
    found = {}
    if feed.filtered:
        found = dict.fromkeys((SDI, TURBIDITY), "above in the raw water")
        # The bed holds back what is undissolved, how well is for a test to say; aluminium is
        # hardly soluble near neutral pH, whatever a report calls it.
        if feed.ph is None or INSOLUBLE_PH[0] <= feed.ph <= INSOLUBLE_PH[1]:
            found[ALUMINIUM] = "above in the raw water"
        if rust := _of_rust(feed):
            found[METALS] = rust
    if feed.oxidised and not feed.own_filter_rest:
        found[METALS] = "assumed, not measured" if feed.softened else LEFT
    elif feed.exchanged and METALS not in found and _resin_takes(feed):
        found[METALS] = EXCHANGED
    return found


def _resin_takes(feed: MembraneFeed) -> bool:
    """Tell whether resin takes the metals: dissolved, and less than codes allow onto it."""
    limits = train_limits()
    rust = feed.whole("fe", "mn") - feed.dissolved("fe", "mn")
    held = feed.filtered or rust <= limits["membrane_iron_manganese"].value
    return held and feed.whole("fe", "mn") < limits["softener_iron_refuse"].value


def _flag(
    entries: Entries, name: str, found: tuple[float, TrainLimit, Level], feed: MembraneFeed
) -> None:
    value, limit, level = found
    remedy = {
        METALS: "iron and manganese foul membranes: " + _metals_remedy(feed),
        ALUMINIUM: _aluminium_words(feed.ph),
        CHLORINE: "polyamide is destroyed by chlorine: carbon ahead of the membranes",
        SDI: "filter ahead, and measure behind the cartridge filter",
        TURBIDITY: "filter ahead, and measure behind the cartridge filter",
    }[name]
    undissolved = feed.whole(*OF_CHECK[name]) - feed.dissolved(*OF_CHECK[name])
    part = f" ({undissolved:.3g} mg/L of it undissolved)" if undissolved > 0.0 else ""
    keys = OF_CHECK[name]
    told = f"is {value:.3g} {limit.unit}"
    if keys:
        told = amount_is(entries.ledger, keys, value, limit.value)
    part = "" if told.startswith("may") else part
    entries.flag(
        "membrane_feed",
        level,
        f"{name} {told}{part} ahead of the membranes; {limit.value:g} is "
        f"wanted ({limit.evidence}): {remedy}",
    )


def _aluminium_words(ph: float | None) -> str:
    """Say in which form aluminium comes at a pH, and what holds it back."""
    low, high = INSOLUBLE_PH
    if ph is not None and not low <= ph <= high:
        form, turn = ("ion", "rises") if ph < low else ("aluminate", "falls")
        return (
            f"at pH {ph:.1f} it is dissolved, as {form}, and passes a filter; it comes down as "
            f"hydroxide, and with silica as aluminosilicate, where the pH {turn}, on membranes "
            "too, whatever an inhibitor does; no index of it is computed: bring the pH to 6 to 7 "
            "and filter it ahead, or run a pilot"
        )
    return (
        "as hydroxide, and with silica as aluminosilicate, it is hardly soluble near neutral pH "
        "and comes down on the membranes whatever an inhibitor does; no index of it is computed: "
        "find out whether it is dissolved, and filter it ahead (a coagulant that carries over "
        "makes it worse)"
    )


def _metals_remedy(feed: MembraneFeed) -> str:
    if feed.oxidised:
        return "look after the iron filter, and measure behind it"
    if feed.filtered and _of_rust(feed) == MOSTLY_SOLID:
        passes = f"the bed holds the rust; what is dissolved, {feed.dissolved('fe', 'mn'):.2g} mg/L"
        return f"{passes}, passes it: measure iron and manganese behind the filter"
    if feed.dissolved("fe", "mn") <= train_limits()["membrane_iron_manganese"].value:
        return "a filter ahead that holds back particles, and measure behind it"
    left, aired = train_limits(), feed.oxygen > AIRLESS_MG_L
    holds = f"the water holds {feed.oxygen:.2g} mg/L of oxygen"
    low = feed.whole("fe") <= left["filter_iron_worth"].value
    if low and feed.whole("mn") <= left["filter_manganese_left"].value:
        air = f"{holds}, which makes rust of some" if aired else "keep air out"
        return f"an iron filter would leave most of it: {air}; measure at the membranes"
    if aired:
        resin = "resin and membranes" if SOFTENER & (feed.stages or frozenset()) else "membranes"
        return f"an iron filter ahead; {holds}, which makes rust that {resin} suffer"
    measured = "what passes the softener" if SOFTENER & (feed.stages or frozenset()) else "at them"
    return f"an iron filter ahead, or measure {measured} and keep air out"
