"""The pretreatment train: which stages, then each stage, then the water that leaves it."""

from pretreat.core.basis import Level, Series
from pretreat.core.results import Ledger
from pretreat.plant.cautions import enter_cautions, enter_disagreements
from pretreat.plant.machine import enter_machine
from pretreat.plant.membrane_checks import enter_membrane_checks, note_turbidity
from pretreat.plant.supply import enter_softener_water_per_day, enter_supply
from pretreat.plant.week_figures import enter_week
from pretreat.plant.year_figures import enter_year
from pretreat.site.design import DesignBasis
from pretreat.stages.carbon.figures import enter_carbon
from pretreat.stages.cartridge.figures import enter_cartridge
from pretreat.stages.decisions import (
    Question,
    Stage,
    carbon_stage,
    free_chlorine_mg_l,
    inhibitor_stage,
    iron_filter_stage,
    multimedia_stage,
    softener_stage,
    sulfide_stage,
)
from pretreat.stages.inhibitor.figures import enter_inhibitor, note_softener_salt, note_sulfide
from pretreat.stages.iron_filter.figures import enter_iron_filter, enter_metals_left
from pretreat.stages.limits import train_limits
from pretreat.stages.multimedia.figures import enter_multimedia
from pretreat.stages.raw_tank.figures import enter_raw_tank
from pretreat.stages.softener.figures import enter_softener, water_behind_softener
from pretreat.stages.stream import RawWater, TreatedWater
from pretreat.stages.train import Entries, Mode, Train


def enter_train(
    ledger: Ledger, raw: RawWater, design: DesignBasis, mode: Mode = "size"
) -> TreatedWater:
    """Enter the pretreatment train, sized or rated.

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

    Returns
    -------
    TreatedWater
        The water that enters the membranes. [-]

    Raises
    ------
    PretreatError
        If a stage cannot be sized or rated, with the remedy.
    """
    train = Train(Entries(ledger), raw, design, mode)
    _enter_temperatures(train)
    enter_raw_tank(train)
    question = Question(
        raw,
        design,
        mode,
        ledger.number("untreated.recovery.max"),
        ledger.number("untreated.recovery.max_inhibited"),
    )
    stages = decide_stages(question)
    _enter_stages(train, stages)
    present = {stage.name for stage in stages.values() if stage.included}
    mg_l = _metals(train, filtered="iron filter" in present)
    if "softener" in present:
        iron, manganese = _metal_keys(train, filtered="iron filter" in present)
        enter_softener(train, iron, manganese)
        mg_l = water_behind_softener(train, mg_l)
        note_softener_salt(train, question)
    note_sulfide(train, present)
    _note_air_and_iron(train, present)
    note_turbidity(train, present)
    if "iron filter" in present:
        extra = enter_softener_water_per_day(train) if "softener" in present else None
        enter_iron_filter(train, extra)
    if "multimedia filter" in present:
        enter_multimedia(train)
    if "carbon" in present:
        enter_carbon(train, question)
    if "inhibitor dosing" in present:
        enter_inhibitor(train)
    enter_cartridge(train)
    enter_supply(train)
    enter_week(train)
    enter_year(train)
    enter_cautions(train, present)
    enter_disagreements(train, present)
    enter_membrane_checks(train, mg_l, chlorine=_chlorine_left(question, present), present=present)
    order = tuple(stage.name for stage in stages.values() if stage.included)
    return TreatedWater(mg_l, raw.alkalinity_mg_l_caco3, order)


def decide_stages(question: Question) -> dict[str, Stage]:
    """Return every stage in the order of flow, in the train or not.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    dict of str to Stage
        Stages by name. [-]
    """
    iron = iron_filter_stage(question)
    carbon = carbon_stage(question, iron_filter=iron.included)
    softener = softener_stage(question)
    multimedia = multimedia_stage(question, iron_filter=iron.included)
    tank = question.design.supply
    stored = tank.raw_tank_volume_m3 is not None or tank.vented_raw_tank
    storage = Stage(
        "raw water storage",
        stored,
        "described in the site file" if stored else "none described: the well pump feeds the train",
    )
    cartridge = Stage("cartridge filter", True, "guards the pump and the membranes from particles")
    sulfide = sulfide_stage(question, iron_filter=iron.included)
    order = [storage, sulfide, iron, multimedia]
    order += [carbon, softener] if carbon_first(question) else [softener, carbon]
    return {stage.name: stage for stage in (*order, inhibitor_stage(question), cartridge)}


def carbon_first(question: Question) -> bool:
    """Tell whether carbon stands before the softener: too much chlorine for the resin.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    bool
        True where carbon comes first. [-]
    """
    chosen: bool | None = question.design.carbon.before_softener
    if chosen is not None:
        return chosen
    return free_chlorine_mg_l(question) > train_limits()["softener_chlorine"].value


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


def _enter_stages(train: Train, stages: dict[str, Stage]) -> None:
    limits, rows = train_limits(), []
    for stage in stages.values():
        word = "in" if stage.included else "out"
        limit = limits[stage.limit] if stage.limit else None
        train.entries.word(
            f"train.{stage.name.replace(' ', '_')}",
            f"{word}: {stage.reason}",
            stage.name.capitalize(),
            origin="calculated",
            cites=(limit.source,) if limit else (),
        )
        rows.append(
            (
                stage.name,
                word,
                stage.reason,
                stage.value,
                limit.value if limit else None,
                limit.unit if limit else "",
                limit.evidence if limit else "",
            )
        )
        _flag_stage(train, stage)
    cites = {limits[s.limit].source for s in stages.values() if s.limit}
    train.entries.ledger.table(
        Series(
            "train.stages",
            "Stages of the train, in the order of flow",
            ("stage", "decision", "reason", "value", "limit", "unit", "evidence"),
            ("-", "-", "-", "", "", "-", "-"),
            tuple(rows),
            cites=tuple(sorted(cites)),
            headings=("Stage", "In the train", "Why", "Found", "Limit", "Unit", "Evidence"),
        )
    )


def _flag_stage(train: Train, stage: Stage) -> None:
    """Flag a stage decided against the rule or not installed; what it lets destroy is a warning."""
    key, danger = f"train.{stage.name.replace(' ', '_')}", ""
    level: Level = "caution"
    if stage.danger:
        level, danger = "warning", f"; {stage.danger}: never run without"
    if stage.overruled:
        text = f"{stage.name}: {stage.reason}{'' if stage.included else danger}"
        train.entries.flag("stage_overruled", "caution" if stage.included else level, text, key)
    if stage.missing:
        train.entries.flag(
            "stage_missing",
            level,
            f"{stage.name}: not installed, though the water or the stages ahead ask for it{danger}",
            key,
        )


def _metal_keys(train: Train, *, filtered: bool) -> tuple[str, str]:
    if filtered:
        return "iron_filter.iron_left_mg_l", "iron_filter.manganese_left_mg_l"
    return train.entries.total(train.raw, "fe"), train.entries.total(train.raw, "mn")


def _metals(train: Train, *, filtered: bool) -> dict[str, float]:
    """Return the ions with the iron and manganese that a filter leaves."""
    mg_l = dict(train.raw.mg_l)
    if not filtered:
        return mg_l
    enter_metals_left(train)
    for ion, name in (("fe", "iron"), ("mn", "manganese")):
        mg_l[ion] = train.entries.value(f"iron_filter.{name}_left_mg_l")
    return mg_l


def _note_air_and_iron(train: Train, present: set[str]) -> None:
    """Flag iron that is oxidised ahead of a softener without a filter between."""
    aired = train.design.supply.vented_raw_tank and "iron filter" not in present
    if (
        aired
        and "softener" in present
        and train.raw.total("fe") > train_limits()["iron_present"].value
    ):
        train.entries.flag(
            "rust_to_softener",
            "warning",
            "air in the raw tank turns iron into rust that the softener cannot "
            "exchange and is fouled by; some codes forbid it: a filter between, "
            "or a closed tank",
            "softener.iron_in_mg_l",
        )


def _chlorine_left(question: Question, present: set[str]) -> float:
    return 0.0 if "carbon" in present else free_chlorine_mg_l(question)


__all__ = ["carbon_first", "decide_stages", "enter_machine", "enter_train"]
