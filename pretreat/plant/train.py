"""The pretreatment train: the water flows down through its stages, the quantities add up back."""

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.results import Ledger
from pretreat.plant.calendar.week_figures import enter_week
from pretreat.plant.calendar.year_figures import enter_year
from pretreat.plant.cautions import enter_cautions, enter_disagreements
from pretreat.plant.decide import decided, enter_decisions, flow_order
from pretreat.plant.health import enter_ammonia
from pretreat.plant.machine import membrane_point
from pretreat.plant.membrane_checks import (
    enter_membrane_checks,
    fed_by_train,
    note_acid_water,
    note_turbidity,
)
from pretreat.plant.notes import (
    note_air_and_iron,
    note_resin,
    note_softener_salt,
    note_sulfide,
)
from pretreat.plant.unsafe import enter_unsafe
from pretreat.plant.water.supply import enter_supply, enter_water_per_day
from pretreat.site.design import DesignBasis
from pretreat.stages import Stage, resolve
from pretreat.stages.decision import Question
from pretreat.stages.delivered import Delivered
from pretreat.stages.lime import enter_lime, lifts_ph
from pretreat.stages.product_gas import co2_key
from pretreat.stages.stream import RawWater, Stream
from pretreat.stages.train import Entries, Mode, Train


class Treated(Struct, frozen=True):
    """A train as decided, and the water that enters the membranes."""

    train: Train
    stream: Stream
    stages: tuple[str, ...]  # names, in the order of flow
    behind: tuple[Stage, ...] = ()  # behind the membranes, in the order of flow

    @property
    def mg_l(self) -> Mapping[str, float]:
        """Ions of the water that enters the membranes [mg/L]."""
        return self.stream.mg_l

    @property
    def alkalinity_mg_l_caco3(self) -> float | None:
        """Alkalinity of the water that enters the membranes [mg/L as CaCO3]."""
        return self.stream.alkalinity_mg_l_caco3


def enter_train(
    ledger: Ledger,
    raw: RawWater,
    design: DesignBasis,
    mode: Mode = "size",
    *,
    whole: bool = True,
) -> Treated:
    """Enter the pretreatment train, sized or rated.

    The water flows down through the stages first, each changing its quality; then each vessel
    is sized or rated from the membranes back, so that a stage knows the water that those
    behind it regenerate with. What stands behind the membranes waits for their product.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go; the machine's and the water's figures are entered before. [-]
    raw : RawWater
        The water ahead of the first stage. [-]
    design : DesignBasis
        The engineer's choices. [-]
    mode : str
        "size" chooses vessels, "rate" takes what is installed. [-]
    whole : bool
        What concerns the train as a whole too: the week, the year, the tanks. [-]

    Returns
    -------
    Treated
        The train, and the water that enters the membranes. [-]

    Raises
    ------
    PretreatError
        If a stage cannot be sized or rated, with the remedy.
    """
    membrane = membrane_point(design).membrane
    train = Train(Entries(ledger), raw, design, mode, membrane=membrane)
    _enter_temperatures(train)
    question = decided(
        Question(
            raw,
            design,
            mode,
            ledger.number("untreated.recovery.max"),
            ledger.number("untreated.recovery.max_inhibited"),
        )
    )
    train = replace(train, question=question)
    present = [stage for stage in flow_order(question) if question.ahead[stage.key].included]
    feed = [stage for stage in present if stage.side == "feed"]
    enter_decisions(train, question)
    stream = _run_feed(train, feed)
    names = tuple(question.ahead[stage.key].name for stage in feed)
    if whole:
        _enter_whole(train, stream, set(names))
    enter_unsafe(train, present)
    behind = tuple(stage for stage in present if stage.side == "product")
    return Treated(train, stream, names, behind)


def run_stages(train: Train, stages: Sequence[Stage]) -> Stream:
    """Enter some stages: the water down through them, then the quantities back up.

    Parameters
    ----------
    train : Train
        Ledger, water, design, mode and decisions. [-]
    stages : sequence of Stage
        Stages in the order of flow. [-]

    Returns
    -------
    Stream
        The water that leaves the last one ahead of the membranes. [-]
    """
    stream = _run_feed(train, [stage for stage in stages if stage.side == "feed"])
    behind = [stage for stage in stages if stage.side == "product"]
    run_behind(train, behind, Delivered(co2_key(train), beside_mg_l=stream.mg_l))
    return stream


def _run_feed(train: Train, stages: Sequence[Stage]) -> Stream:
    stream = _down(train, stages)
    _up(train, stages)
    return stream


def run_behind(train: Train, stages: Sequence[Stage], product: Delivered) -> list[Delivered]:
    """Enter the stages behind the membranes; each takes the water of the one before it.

    Parameters
    ----------
    train : Train
        Ledger, water, design, mode and decisions. [-]
    stages : sequence of Stage
        Stages of the product side in the order of flow. [-]
    product : Delivered
        What the membranes deliver. [-]

    Returns
    -------
    list of Delivered
        The water behind each stage. [-]
    """
    found = []
    for stage in stages:
        product = resolve(stage.deliver)(train, product)
        found.append(product)
    return found


def added_alkalinity(raw: RawWater, stream: Stream) -> float:
    """Return the alkalinity that the stages add, below 0 where they take it.

    Parameters
    ----------
    raw : RawWater
        The water ahead of the first stage. [-]
    stream : Stream
        The water behind the last one. [-]

    Returns
    -------
    float
        0 where the raw water's alkalinity is not known. [mg/L as CaCO3]
    """
    before, after = raw.alkalinity_mg_l_caco3, stream.alkalinity_mg_l_caco3
    return 0.0 if before is None or after is None else after - before


def _down(train: Train, stages: Sequence[Stage]) -> Stream:
    """Carry the water through the stages; return what reaches the membranes."""
    raw = train.raw
    stream = Stream(
        dict(raw.mg_l),
        raw.alkalinity_mg_l_caco3,
        solid_mg_l={
            key: raw.total(key) - raw.mg_l.get(key, 0.0)
            for key in raw.total_mg_l
            if raw.total(key) > raw.mg_l.get(key, 0.0)
        },
        free_chlorine_mg_l=raw.free_chlorine_mg_l,
        sulfide_mg_l=raw.h2s_mg_l,
        turbidity_ntu=raw.turbidity_ntu,
    )
    for stage in stages:
        if stage.prepare:
            resolve(stage.prepare)(train)
    lifted = []
    for stage in stages:
        if stage.treat:
            stream = resolve(stage.treat)(train, stream)
        stream = replace(stream, passed=(*stream.passed, stage.key))
        if lifts_ph(train, stage.key):
            lifted.append((stage.key, stream))
    enter_lime(train, lifted, [stage.key for stage in stages])
    return stream


def _up(train: Train, stages: Sequence[Stage]) -> None:
    """Size or rate every stage, knowing the water that those behind it regenerate with.

    Stages that regenerate with treated water come first, from the membranes back; a bed that
    is backwashed from the supply adds nothing to what the stages ahead of it treat.
    """
    drawing = [stage for stage in stages if stage.wash is not None and stage.wash.treated]
    water: dict[str, str] = {}
    for stage in reversed(drawing):
        _enter_stage(train, stage, stages, water)
        water[stage.key] = enter_water_per_day(train, stage)
    for stage in stages:
        if stage not in drawing:
            _enter_stage(train, stage, stages, water)


def _enter_stage(
    train: Train, stage: Stage, stages: Sequence[Stage], water: Mapping[str, str]
) -> None:
    if stage.enter:
        behind = stages[list(stages).index(stage) + 1 :]
        resolve(stage.enter)(train, tuple(water[s.key] for s in behind if s.key in water))


def _enter_whole(train: Train, stream: Stream, present: set[str]) -> None:
    """Enter what concerns the train as a whole."""
    note_softener_salt(train)
    note_sulfide(train, present)
    note_resin(train, present)
    note_air_and_iron(train, present)
    note_turbidity(train, present)
    note_acid_water(train)
    enter_supply(train)
    enter_week(train)
    enter_year(train)
    enter_ammonia(train)
    enter_cautions(train)
    enter_disagreements(train, present)
    enter_membrane_checks(train.entries, fed_by_train(train, stream, present))


def _enter_temperatures(train: Train) -> None:
    for name, value in (("coldest", train.raw.coldest_c), ("warmest", train.raw.warmest_c)):
        origin = train.design.origin(f"water.{name}_temperature_c")
        train.entries.given(
            f"train.{name}_c",
            value,
            "°C",
            f"{name.capitalize()} water",
            origin=origin,
            cites=(),
            evidence="computed",
            method="" if origin == "chosen" else "as the operating temperature",
        )
