"""The water at the membranes against what they take: one row each."""

from collections.abc import Mapping

from pretreat.core.basis import Level, Series, Value
from pretreat.stages.limits import TrainLimit, train_limits
from pretreat.stages.train import Train

METALS, SDI, TURBIDITY = "iron + manganese", "silt density index", "turbidity"
SULFIDE, CHLORINE = "hydrogen sulfide", "free chlorine"

MUCH = 2.0  # PRACTICE: times the limit, from where on it is no matter of scatter


def enter_membrane_checks(
    train: Train, mg_l: Mapping[str, float], *, chlorine: float, present: set[str]
) -> None:
    """Enter the check of the membrane feed: iron, manganese, chlorine, silt density, turbidity.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    mg_l : mapping of str to float
        The water that enters the membranes. [mg/L]
    chlorine : float
        Free chlorine that reaches them. [mg/L]
    present : set of str
        Names of the stages that are in the train. [-]
    """
    limits, raw = train_limits(), train.raw
    metals = mg_l.get("fe", 0.0) + mg_l.get("mn", 0.0)
    found: tuple[tuple[str, float | None, TrainLimit, Level], ...] = (
        (METALS, metals, limits["membrane_iron_manganese"], "caution"),
        (CHLORINE, chlorine, limits["membrane_chlorine"], "warning"),
        (SDI, raw.sdi, limits["membrane_sdi"], "warning"),
        (TURBIDITY, raw.turbidity_ntu, limits["membrane_turbidity"], "caution"),
    )
    presumed = _presumed(train, present)
    rows: list[tuple[Value, ...]] = []
    for name, value, limit, level in found:
        above = value is not None and value > limit.value
        verdict = "not measured" if value is None else ("above" if above else "within")
        if above and name in presumed:
            verdict = f"{presumed[name]}: measure behind the filter"
        elif above and value is not None:
            grave: Level = "warning" if value > MUCH * limit.value else level
            _flag(train, name, (value, limit, grave), present)
        rows.append((name, value, limit.value, limit.unit, verdict, limit.evidence))
    rows.append(_sulfide_row(train, present))
    rows += _beside(train, mg_l)
    train.entries.ledger.table(
        Series(
            "train.membrane_checks",
            "The membrane feed against its limits",
            ("check", "value", "limit", "unit", "verdict", "evidence"),
            ("-", "", "", "-", "-", "-"),
            tuple(rows),
            headings=("Check", "Found", "Limit", "Unit", "Verdict", "Evidence"),
            cites=("MEMORY", "D4189", "USFS1999"),
            method="silt density index and turbidity as measured on the raw water; the "
            "secondary limits are those of drinking water, for taste and stains",
        )
    )
    if raw.sdi is None:
        train.entries.flag(
            "sdi_not_measured",
            "info",
            "silt density index was not measured; it must be known before membranes "
            "are warranted (measure it behind the cartridge filter)",
        )


def _sulfide_row(train: Train, present: set[str]) -> tuple[Value, ...]:
    """Return the row of hydrogen sulfide as the raw water holds it; it has a flag of its own."""
    limit, sulfide = train_limits()["sulfide"], train.raw.h2s_mg_l
    verdict = "within" if sulfide else "none found, or not measured"
    if sulfide > limit.value:
        verdict = (
            "above in the raw water: measure behind the filter"
            if ("iron filter" in present)
            else "above"
        )
    return (SULFIDE, sulfide, limit.value, limit.unit, verdict, limit.evidence)


def _beside(train: Train, mg_l: Mapping[str, float]) -> list[tuple[Value, ...]]:
    """Return rows that are shown and never flagged: what is wanted, and what drinkers notice."""
    limits = train_limits()
    found: tuple[tuple[str, float | None, TrainLimit], ...] = (
        ("silt density index, wanted", train.raw.sdi, limits["membrane_sdi_wanted"]),
        ("iron, secondary limit", mg_l.get("fe"), limits["drinking_iron"]),
        ("manganese, secondary limit", mg_l.get("mn"), limits["drinking_manganese"]),
    )
    return [
        (
            name,
            value,
            limit.value,
            limit.unit,
            "not measured" if value is None else ("above" if value > limit.value else "within"),
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


def _presumed(train: Train, present: set[str]) -> dict[str, str]:
    """Return the checks whose value is not one of the membrane feed, and why it is not."""
    found = {}
    if present & {"iron filter", "multimedia filter"}:
        found = dict.fromkeys((SDI, TURBIDITY), "above in the raw water")
    own = {"iron_filter.iron_left_mg_l", "iron_filter.manganese_left_mg_l"} & train.design.chosen
    if "iron filter" in present and not own:
        found[METALS] = "assumed, not measured"
    return found


def _flag(
    train: Train, name: str, found: tuple[float, TrainLimit, Level], present: set[str]
) -> None:
    value, limit, level = found
    remedy = {
        METALS: "iron and manganese foul membranes: "
        + (
            "look after the iron filter, and measure behind it"
            if "iron filter" in present
            else "an iron filter ahead, or measure what passes the softener and keep air out"
        ),
        CHLORINE: "polyamide is destroyed by chlorine: carbon ahead of the membranes",
        SDI: "filter ahead, and measure behind the cartridge filter",
        TURBIDITY: "filter ahead, and measure behind the cartridge filter",
    }[name]
    train.entries.flag(
        "membrane_feed",
        level,
        f"{name} is {value:.3g} {limit.unit} ahead of the membranes; {limit.value:g} is wanted "
        f"({limit.evidence}): {remedy}",
    )
