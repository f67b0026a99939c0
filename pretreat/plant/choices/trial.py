"""A part of a train tried on a ledger of its own: what it makes of the water and what it uses."""

from collections.abc import Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.basis import Figure, Flag
from pretreat.core.errors import PretreatError
from pretreat.core.results import Ledger
from pretreat.core.scratch import Scratch
from pretreat.core.water import nothing
from pretreat.plant.choices.backwash import Backwash, largest_backwash
from pretreat.plant.decide import decided, flow_order
from pretreat.plant.machine import membrane_point
from pretreat.plant.train import run_stages
from pretreat.plant.verdict.following import Leakage, leakage_of
from pretreat.plant.water.supply import enter_water_per_day
from pretreat.site.design import DesignBasis
from pretreat.stages.decision import Question
from pretreat.stages.lime import FLAG as LIME
from pretreat.stages.limits import train_limits
from pretreat.stages.stream import RawWater, Stream
from pretreat.stages.train import Entries, Train

# Price, and the figure that holds what a year takes of it.
AMOUNTS = (
    ("salt_per_kg", "softener.salt_kg_per_year"),
    ("inhibitor_per_kg", "inhibitor.kg_per_year"),
    ("inhibitor_per_kg", "dosing.inhibitor_kg_per_year"),
    ("acid_per_kg", "dosing.acid_kg_per_year"),
    ("acid_per_kg", "weak_acid.acid_kg_per_year"),
    ("chlorine_per_kg", "chlorine.kg_per_year"),
    ("permanganate_per_kg", "permanganate.kg_per_year"),
    ("permanganate_per_kg", "iron_filter.permanganate_kg_per_year"),
    ("bisulfite_per_kg", "bisulfite.kg_per_year"),
    ("alkali_per_kg", "alkali.kg_per_year"),
    ("alkali_per_kg", "product_alkali.kg_per_year"),
)
# Price, the figure that holds the litres, and the standing value of the life.
MEDIA = (
    ("resin_per_l", "softener.resin_bought_l", "resin_years"),
    ("weak_acid_resin_per_l", "weak_acid.resin_volume_l", "weak_acid_years"),
    ("iron_media_per_l", "iron_filter.media_bought_l", "iron_filter_years"),
    ("carbon_per_l", "carbon.media_bought_l", "carbon_years"),
    ("multimedia_per_l", "multimedia.media_bought_l", "multimedia_years"),
)
LEAST_FED_MG_L = 1.0  # PRACTICE: less acid cannot be fed steadily
G_PER_KG, L_PER_M3 = 1000.0, 1000.0


class Tried(Struct, frozen=True):
    """What a part of a train does; ``fault`` says why it cannot be built, empty where it can.

    ``amounts`` are of a year by price, ``media`` litres and standing life by price, ``waste``
    the water of regenerations and backwashes in a year [m3]. ``chloride_kg`` is what its salt
    and acid bring to the drain in a year.
    """

    fault: str = ""
    stream: Stream | None = None
    amounts: Mapping[str, float] = field(default_factory=nothing)
    media: tuple[tuple[str, float, str], ...] = ()
    waste_m3: float = 0.0
    raw: RawWater | None = None
    leaks: Leakage | None = None  # of its softener, draw by draw
    lime: Flag | None = None  # where it lays lime into its own tanks and beds
    wash: Backwash | None = None  # the one that takes most


class Bench(Struct, frozen=True):
    """The study so far, where parts of trains are tried."""

    figures: Mapping[str, Figure]
    raw: RawWater
    recoveries: tuple[float | None, float | None]  # of the raw water: alone, with inhibitor

    @classmethod
    def of(cls, ledger: Ledger, raw: RawWater) -> "Bench":
        """Return the bench of a study."""
        most = ledger.number("untreated.recovery.max")
        return cls(
            ledger.study().figures, raw, (most, ledger.number("untreated.recovery.max_inhibited"))
        )

    def ledger(self) -> Ledger:
        """Return a ledger that holds what the study holds so far."""
        return Scratch(self.figures)


def tried(bench: Bench, design: DesignBasis, keys: Sequence[str], raw: RawWater) -> Tried:
    """Return what a part of a train does with a water.

    Parameters
    ----------
    bench : Bench
        The study so far. [-]
    design : DesignBasis
        With this part as its train (see `candidates.designed`). [-]
    keys : sequence of str
        Stages of the part, in the order of flow. [-]
    raw : RawWater
        The water ahead of it. [-]

    Returns
    -------
    Tried
        Stream, amounts and waste; or why it cannot be built. [-]
    """
    if not keys:
        return Tried(stream=None, raw=raw)
    ledger = bench.ledger()
    train = Train(Entries(ledger), raw, design, "size", membrane=membrane_point(design).membrane)
    try:
        question = decided(Question(raw, design, "size", *bench.recoveries))
        train = replace(train, question=question)
        for end, value in (("coldest", raw.coldest_c), ("warmest", raw.warmest_c)):
            if f"train.{end}_c" not in ledger:
                ledger.put(f"train.{end}_c", value, "°C", f"{end} water")
        present = [s for s in flow_order(question) if question.ahead[s.key].included]
        stream = run_stages(train, present)
        for stage in present:
            if stage.wash is not None:
                enter_water_per_day(train, stage)
    except PretreatError as problem:
        return Tried(fault=problem.faults[0], raw=raw)
    waste = sum(
        ledger.number(f"{s.key}.regeneration_water_m3_d") or 0.0
        for s in present
        if s.wash is not None
    )
    days = ledger.number("machine.days_per_year") or 0.0
    return Tried(
        _fault(ledger, keys),
        stream,
        _amounts(ledger, design, keys),
        tuple(
            (price, ledger.number(key) or 0.0, life)
            for price, key, life in MEDIA
            if ledger.number(key)
        ),
        waste * days,
        raw,
        leakage_of(ledger),
        next((flag for flag in ledger.study().flags if flag.code == LIME), None),
        largest_backwash(ledger, keys),
    )


def _fault(ledger: Ledger, keys: Sequence[str]) -> str:
    """Say what of a part cannot run: an interval too short, a dose too small."""
    for key in ("softener", "iron_filter"):
        if key in keys and ledger.number(f"{key}.programme_days") is None:
            interval = ledger.number(f"{key}.interval_d")
            if interval is not None and interval < 0.5:
                name = key.replace("_", " ")
                return f"{name}: regenerates after {interval:.2g} d, oftener than twice a day"
    side_by_side = ledger.number("softener.vessels_side_by_side") or 0.0
    if "softener" in keys and side_by_side > train_limits()["softener_vessels"].value:
        width = ledger.number("softener.vessel_diameter_m") or 0.0
        return f"softener: {side_by_side:.0f} vessels of {width:.2g} m side by side, too many"
    if "bypass" in keys and ledger.number("bypass.share") == 0.0:
        return "no bypass: the recovery wanted takes all of the water softened"
    dose = ledger.number("acid.dose_mg_l")
    if "acid" in keys and dose is not None and dose < LEAST_FED_MG_L:
        return f"acid of {dose:.2g} mg/L: none is needed, or too little to be fed steadily"
    return ""


def _amounts(ledger: Ledger, design: DesignBasis, keys: Sequence[str]) -> dict[str, float]:
    found: dict[str, float] = {}
    for price, key in AMOUNTS:
        amount = ledger.number(key)
        if amount:
            found[price] = found.get(price, 0.0) + amount
    fed = ledger.number("iron_filter.oxidant_kg_per_year")
    oxidant = design.iron_filter.oxidant
    if fed and oxidant != "air" and oxidant not in keys:
        price = f"{oxidant}_per_kg"
        found[price] = found.get(price, 0.0) + fed
    return found
