"""The water at the membranes against what they take: one row each."""

from collections.abc import Mapping

from pretreat.basis import Level, Series
from pretreat.sizing.train_limits import TrainLimit, train_limits
from pretreat.study.train_entries import Train


def enter_membrane_checks(train: Train, mg_l: Mapping[str, float], *, chlorine: float) -> None:
    """Enter the check of the membrane feed: iron, manganese, chlorine, silt density, turbidity.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    mg_l : mapping of str to float
        The water that enters the membranes. [mg/L]
    chlorine : float
        Free chlorine that reaches them. [mg/L]
    """
    limits, raw = train_limits(), train.raw
    metals = mg_l.get("fe", 0.0) + mg_l.get("mn", 0.0)
    found: tuple[tuple[str, float | None, TrainLimit, Level], ...] = (
        ("iron + manganese", metals, limits["membrane_iron_manganese"], "caution"),
        ("free chlorine", chlorine, limits["membrane_chlorine"], "warning"),
        ("silt density index", raw.sdi, limits["membrane_sdi"], "caution"),
        ("turbidity", raw.turbidity_ntu, limits["membrane_turbidity"], "caution"),
    )
    rows = []
    for name, value, limit, level in found:
        verdict = "not measured" if value is None else (
            "within" if value <= limit.value else "above")  # fmt: skip
        rows.append((name, value, limit.value, limit.unit, verdict, limit.evidence))
        if value is not None and value > limit.value:
            _flag(train, name, value, limit, level)
    train.entries.ledger.table(
        Series("train.membrane_checks", "The membrane feed against its limits",
               ("check", "value", "limit", "unit", "verdict", "evidence"),
               ("-", "", "", "-", "-", "-"), tuple(rows),
               headings=("Check", "Found", "Limit", "Unit", "Verdict", "Evidence"),
               cites=("MEMORY", "D4189"),
               method="silt density index and turbidity as measured on the raw water")
    )  # fmt: skip
    if raw.sdi is None:
        train.entries.flag("sdi_not_measured", "info",
                           "silt density index was not measured; it must be known before membranes "
                           "are warranted (measure it behind the cartridge filter)")  # fmt: skip


def _flag(train: Train, name: str, value: float, limit: TrainLimit, level: Level) -> None:
    remedy = {
        "iron + manganese": "iron and manganese foul membranes: look after the iron filter, and "
        "measure behind it",
        "free chlorine": "polyamide is destroyed by chlorine: carbon ahead of the membranes",
        "silt density index": "filter ahead, and measure behind the cartridge filter",
        "turbidity": "filter ahead, and measure behind the cartridge filter",
    }[name]
    train.entries.flag(
        "membrane_feed", level,
        f"{name} is {value:.3g} {limit.unit} ahead of the membranes; {limit.value:g} is wanted "
        f"({limit.evidence}): {remedy}",
    )  # fmt: skip
