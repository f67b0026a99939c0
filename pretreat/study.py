"""From a water and a design basis to a study: the only place that composes."""

from collections.abc import Sequence
from typing import Literal, cast

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.errors import AnalysisError, DesignError, check_range, one_of
from pretreat.core.results import Ledger, Study
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis
from pretreat.lab.site_values import whole_hardness
from pretreat.lab.water_figures import (
    enter_water,
)
from pretreat.membrane.concentrate import Passage
from pretreat.membrane.elements.machine import machine_of, marched, running
from pretreat.membrane.envelope import enter_envelope
from pretreat.membrane.feed import FeedWater, exchanged, feed_water, one_of_feed
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.product import enter_product
from pretreat.membrane.scaling import enter_scaling
from pretreat.plant.choices.choose import Asking, Learnt, choose
from pretreat.plant.choices.consequences import enter_consequences
from pretreat.plant.choices.figures import begin_choice, end_choice, needs_jar_test
from pretreat.plant.delivered.figures import Membranes, enter_delivered
from pretreat.plant.elements import machine_on, with_recycle_of_its_own
from pretreat.plant.health import Situation, enter_health, situation_of
from pretreat.plant.levers import enter_levers
from pretreat.plant.machine import enter_measured_flows, membrane_point
from pretreat.plant.membrane_checks import enter_membrane_checks, fed_as_analysed
from pretreat.plant.raw_water import (
    enter_speciated,
    feed_of_analysis,
    kit_raw_water,
    raw_water,
    with_oxidants,
)
from pretreat.plant.setpoints import enter_setpoints
from pretreat.plant.summary import enter_summary
from pretreat.plant.train import Treated, added_alkalinity, enter_train
from pretreat.plant.uncertainty.draws import DRAWS
from pretreat.plant.verdict.figures import Asked, enter_verdict, enter_without_analysis
from pretreat.plant.verdict.gaps import STAND_IN_PH, leave_load_open, leave_ph_open, without_ph
from pretreat.plant.verdict.judge import Judgement
from pretreat.plant.verdict.of_product import named_passing
from pretreat.plant.verdict.others import retell_without
from pretreat.plant.verdict.spreads import enter_spreads, uncertain_values
from pretreat.plant.water.narrower import SOFTENED, with_narrower
from pretreat.plant.water.standby import standing_still_h, with_standby
from pretreat.record.fitted.design import Fitted, enter_fitted, with_readings
from pretreat.site.design import DesignBasis, LimitChoices, WaterBasis
from pretreat.site.keys import HIGHEST_RECOVERY
from pretreat.stages.fixed import fixed_stages
from pretreat.stages.stream import RawWater
from pretreat.stages.train import Entries

Mode = Literal["size", "rate"]


def run_check(
    water: WaterAnalysis,
    basis: WaterBasis | None = None,
    samples: Sequence[WaterAnalysis] = (),
) -> Study:
    """Judge a lab report: the analysis as read, its sums and its flags.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    basis : WaterBasis, optional
        Temperatures and policies; defaults if omitted. [-]
    samples : sequence of WaterAnalysis
        All analyses of the site where there are several; their range is entered. [-]

    Returns
    -------
    Study
        The judgement. [-]
    """
    from pretreat.lab.samples_figures import enter_ranges

    ledger = Ledger()
    ledger.put("study.kind", "check", "-", "Kind of study", origin="chosen")
    found = enter_water(ledger, water, basis or WaterBasis())
    enter_speciated(ledger, water, found)
    enter_ranges(ledger, samples, basis or WaterBasis())
    enter_health(ledger, water, Situation())
    return ledger.study()


def run_scaling(
    water: WaterAnalysis,
    recovery: float | tuple[float, float],
    basis: WaterBasis | None = None,
    passage: Passage | None = None,
    limits: LimitChoices | None = None,
    draws: int = DRAWS,
) -> Study:
    """Return what the concentrate of a water contains, whether it scales, how far it may go.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    recovery : float or tuple of float
        Product / feed [-], or the measured flows of product and drain [m3/h].
    basis : WaterBasis, optional
        Temperatures and policies. [-]
    passage : mapping of str to float, optional
        Salt passage per ion; none passes if omitted. [-]
    limits : LimitChoices, optional
        Limits chosen by the user. [-]
    draws : int
        Number of draws of the uncertain inputs, a power of two; 0 turns them off. [-]

    Returns
    -------
    Study
        Concentrate, indexes and recovery limits. [-]

    Raises
    ------
    AnalysisError
        If the water cannot be speciated.
    OutOfRangeError
        If the flows make a recovery outside 0.01 to 0.95.
    """
    ledger = Ledger()
    ledger.put("study.kind", "scaling", "-", "Kind of study", origin="chosen")
    water = whole_hardness(water)
    found = without_ph(water, enter_water(ledger, water, basis or WaterBasis()))
    feed = feed_of_analysis(ledger, water, found)
    if isinstance(recovery, tuple):
        recovery = enter_measured_flows(ledger, *recovery)
    point = MembranePoint(recovery, passage or {})
    _check_point(point)
    choices = limits or LimitChoices()
    scaled = enter_scaling(ledger, feed, point, choices)
    enter_levers(ledger, feed, point, choices, scaled.reach)
    brine = scaled.brine
    enter_product(ledger, feed, brine, point)
    enter_health(ledger, water, Situation(("membrane",)))
    enter_membrane_checks(Entries(ledger), fed_as_analysed(water, found.scaling))
    asked = Asked(
        water,
        found,
        basis or WaterBasis(),
        point,
        choices,
        inhibitor=choices.inhibitor,
        count=draws,
    )
    enter_verdict(ledger, asked)
    if water.ph is None:
        leave_ph_open(ledger)
    enter_summary(ledger)
    return ledger.study()


def _check_point(point: MembranePoint) -> None:
    """Refuse a recovery or a salt passage that no machine has."""
    check_range("recovery", point.recovery, (0.0, HIGHEST_RECOVERY), "-", "PRACTICE")
    known = {*analytes(), "default"}
    for key, passage in point.passage.items():
        if key not in known:
            raise DesignError(f"salt passage of '{key}': not an ion{one_of(key, sorted(known))}")
        check_range(f"salt passage of {key}", passage, (0.0, 1.0), "-", "PRACTICE")


def run_study(
    water: WaterAnalysis | None,
    design: DesignBasis,
    mode: Mode = "size",
    samples: Sequence[WaterAnalysis] = (),
    draws: int = DRAWS,
) -> Study:
    """Run the whole job for one site.

    Parameters
    ----------
    water : WaterAnalysis or None
        The analysis; None where the site file has test-kit values only, or vessels alone. [-]
    design : DesignBasis
        The engineer's choices. [-]
    mode : {"size", "rate"}
        Choose the vessels, or check the ones that are there. [-]
    samples : sequence of WaterAnalysis
        All analyses of the site where there are several; their range is carried to the
        recovery limit and the intervals. [-]
    draws : int
        Number of draws of the uncertain inputs, a power of two; 0 turns them off. [-]

    Returns
    -------
    Study
        Everything that is reported. [-]

    Raises
    ------
    PretreatError
        If the water or the design basis cannot be used.
    """
    fitted = with_readings(design, lambda plain: run_study(water, plain, mode, samples, 0))
    own = with_recycle_of_its_own(fitted.design, water)
    job = Job(water, own, mode, tuple(samples), draws, fitted, mode == "rate")
    found = _settled(job)
    twin = with_standby(found, job.design) if mode == "size" else None
    if twin is None:
        return found
    again = _settled(replace(job, design=twin))
    return again if standing_still_h(again) < standing_still_h(found) else found


MOST_TURNS = 8  # a train whose verdict is worse than thought gives way to the next


class Job(Struct, frozen=True):
    """What a study is asked for."""

    water: WaterAnalysis | None
    design: DesignBasis
    mode: Mode
    samples: tuple[WaterAnalysis, ...]
    draws: int
    fitted: Fitted
    settled: bool  # the softener stands, or was too wide once and is two in turn

    @property
    def chooses(self) -> bool:
        """Whether the train is for the program to choose."""
        return self.mode == "size" and fixed_stages(self.design) is None


def _settled(job: Job) -> Study:
    """Run the whole job until the train that is sized is the one that comes first."""
    learnt = Learnt()
    for _ in range(MOST_TURNS):
        study = _study(job, learnt)
        if study is not None:
            return study
    return cast("Study", _study(job, None))


def _study(job: Job, learnt: Learnt | None) -> Study | None:
    """Run the whole job once; None where the train sized is not the one that comes first.

    Its verdict is then ``learnt`` for the next time; without it the train that was sized stands.
    """
    design, water = job.design, job.water
    ledger, choice = _begun(design, job.mode), None
    if water is None and design.water.hardness_mg_l_caco3 is None:
        return _vessels_alone(ledger, design, job.mode)
    if water is None:
        raw, found = kit_raw_water(ledger, design), None
    else:
        water = whole_hardness(water)
        found = without_ph(water, enter_water(ledger, water, design.water))
        design = with_oxidants(water, design)
        raw = raw_water(water, found, design)
    point = membrane_point(design)
    if water is not None and found is not None:
        feed = feed_of_analysis(ledger, water, found)
        point = _untreated(ledger, feed, point, design)
        if job.chooses:
            asking = Asking(ledger, raw, feed, water, found, point, design, job.draws)
            choice = choose(asking, learnt)
            design = begin_choice(ledger, choice, design)
    treated = enter_train(ledger, raw, design, job.mode)
    done, study = _narrowed(ledger, job, learnt)
    if done:
        return study
    enter_consequences(ledger, design, "" if choice is None else choice.keeps_drain)
    judged = None
    if water is not None and found is not None:
        asked = Asked(
            water,
            found,
            design.water,
            point,
            design.limits,
            inhibitor=design.limits.inhibitor or treated.train.has("inhibitor"),
            stream_mg_l=treated.stream.mg_l,
            carbon_lost_mol_kg=treated.stream.carbon_lost_mol_kg,
            alkalinity_added_mg_l_caco3=added_alkalinity(raw, treated.stream),
            recovery_range=design.machine.recovery_range,
            plant=uncertain_values(ledger),
            count=job.draws,
            use=design.product,
            quoted=design.quote.date,
        )
        judged = _on_membranes(ledger, treated, raw, asked, design)
    else:
        enter_delivered(ledger, treated, None)
        enter_without_analysis(ledger)
        enter_setpoints(ledger, None, point, design)
    if choice is not None and not end_choice(ledger, choice, judged, learnt):
        return None
    return _with_the_rest(ledger, job, design, point, treated, judged)


def _narrowed(ledger: Ledger, job: Job, learnt: Learnt | None) -> tuple[bool, Study | None]:
    """Return whether a softener far too wide stands as two in turn, and the study of that."""
    design = None if job.settled else with_narrower(ledger.study(), job.design)
    if design is None:
        return False, None
    study = _study(replace(job, design=design, settled=True), learnt)
    return study is None or SOFTENED in study.figures, study  # else no pump washes it so


def _with_the_rest(
    ledger: Ledger,
    job: Job,
    design: DesignBasis,
    point: MembranePoint,
    treated: Treated,
    judged: Judgement | None,
) -> Study:
    """Enter samples, seasons, lives, quote and summary; return the study."""
    from pretreat.lab.samples_figures import enter_ranges
    from pretreat.life.figures import enter_media_life
    from pretreat.plant.seasons import Standing, enter_seasons
    from pretreat.quote.drinking import enter_over_limits
    from pretreat.quote.figures import enter_quote

    enter_ranges(ledger, job.samples, design.water)
    if treated.train.question is not None:
        site = Standing(design, point, treated.train.question, raw_water)
        enter_seasons(ledger, job.samples, site)
    enter_media_life(treated.train)
    if not needs_jar_test(ledger):
        enter_quote(ledger, treated.train.raw, design, job.mode)
    if job.water is not None:
        enter_health(ledger, whole_hardness(job.water), situation_of(treated.train))
        if judged is not None:
            retell_without(ledger, job.water, named_passing(job.water, design.product))
        enter_over_limits(ledger, job.water, design.product)
    if judged is not None:
        enter_spreads(ledger, judged.draws)
    enter_fitted(ledger, job.fitted)
    if job.water is not None and job.water.ph is None:
        leave_ph_open(ledger)
    leave_load_open(ledger)
    enter_summary(ledger)
    return ledger.study()


def run_size(
    water: WaterAnalysis | None,
    design: DesignBasis,
    samples: Sequence[WaterAnalysis] = (),
    draws: int = DRAWS,
) -> Study:
    """Size the train of a site (see `run_study`).

    Parameters
    ----------
    water : WaterAnalysis or None
        The analysis. [-]
    design : DesignBasis
        The engineer's choices. [-]
    samples : sequence of WaterAnalysis
        All analyses of the site where there are several. [-]
    draws : int
        Number of draws of the uncertain inputs, a power of two; 0 turns them off. [-]

    Returns
    -------
    Study
        Everything that is reported. [-]
    """
    return run_study(water, design, "size", samples, draws)


def run_rate(
    water: WaterAnalysis | None,
    design: DesignBasis,
    samples: Sequence[WaterAnalysis] = (),
    draws: int = DRAWS,
) -> Study:
    """Rate the vessels that a site has (see `run_study`).

    Parameters
    ----------
    water : WaterAnalysis or None
        The analysis. [-]
    design : DesignBasis
        The engineer's choices. [-]
    samples : sequence of WaterAnalysis
        All analyses of the site where there are several. [-]
    draws : int
        Number of draws of the uncertain inputs, a power of two; 0 turns them off. [-]

    Returns
    -------
    Study
        Everything that is reported. [-]
    """
    return run_study(water, design, "rate", samples, draws)


def _vessels_alone(ledger: Ledger, design: DesignBasis, mode: Mode) -> Study:
    """Quote the media of the vessels installed; without a water there is no more to say."""
    from pretreat.quote.from_vessels import enter_vessel_quote

    if mode == "size":
        raise AnalysisError(
            "no water is given: vessels are sized for an analysis or for test-kit values"
        )
    enter_vessel_quote(ledger, design)
    enter_summary(ledger)
    return ledger.study()


def _begun(design: DesignBasis, mode: Mode) -> Ledger:
    """Return a ledger with the site and its machine."""
    from pretreat.plant.machine import enter_machine

    ledger = Ledger()
    ledger.put("study.kind", mode, "-", "Kind of study", origin="chosen")
    _enter_site(ledger, design)
    enter_machine(ledger, design)
    machine = machine_of(design)
    if machine is not None:
        from pretreat.membrane.elements.figures import enter_elements

        enter_elements(ledger, machine, design)
    return ledger


def _untreated(
    ledger: Ledger, feed: FeedWater, point: MembranePoint, design: DesignBasis
) -> MembranePoint:
    """Enter what the raw water would do on the membranes; return the point with its passage."""
    machine = machine_of(design)
    point = marched(point, running(machine, feed)[0], machine)
    scaled = enter_scaling(ledger, feed, point, design.limits, "untreated.")
    enter_levers(ledger, feed, point, design.limits, scaled.reach, "untreated.")
    return point


def _on_membranes(
    ledger: Ledger, treated: Treated, raw: RawWater, asked: Asked, design: DesignBasis
) -> Judgement:
    """Enter what happens to the water that enters the membranes; return the verdict on it."""
    from pretreat.plant.notes import note_inhibitor_needed

    stream = treated.stream
    found = asked.taken
    point = membrane_point(design)
    temps = [found.operating_temp_c]
    basis = design.water
    ends = (basis.coldest_temperature_c, basis.warmest_temperature_c)
    if None not in ends:
        temps = [raw.coldest_c, found.operating_temp_c, raw.warmest_c]
    ph = STAND_IN_PH if raw.ph is None else raw.ph
    raw_feeds = feed_water(
        raw.mg_l, found.alkalinity_mg_l_caco3, ph, found.measured_temp_c, np.array(temps)
    )
    added = added_alkalinity(raw, stream)
    feeds = exchanged(raw_feeds, stream.mg_l, stream.carbon_lost_mol_kg, added)
    here = temps.index(found.operating_temp_c)
    feed = one_of_feed(feeds, here)
    seasons_c = None if len(temps) == 1 else np.array([raw.coldest_c, raw.warmest_c])
    point = machine_on(ledger, feed, point, design, seasons_c)
    brine = enter_scaling(ledger, feed, point, design.limits).brine
    made = enter_product(ledger, feed, brine, point)
    enter_delivered(ledger, treated, Membranes(feed, made, point))
    judged = enter_verdict(ledger, asked)
    enter_setpoints(ledger, feed, point, design)
    if len(temps) > 1:
        enter_envelope(ledger, feeds, point, design.limits)
    if design.machine.saturation_at == "wall":
        ledger.put(
            "machine.wall_factor",
            point.wall_factor,
            "-",
            "Concentration at the wall / in bulk",
            evidence="common practice",
            method="exp(0.7 x element recovery); the concentrate shown is at the wall",
            cites=("PRACTICE",),
        )
        ledger.rests("machine.wall_factor", held=True)
    note_inhibitor_needed(ledger, design)
    return judged


def _enter_site(ledger: Ledger, design: DesignBasis) -> None:
    for key, label in (
        ("name", "Site"),
        ("place", "Place"),
        ("prepared_for", "Prepared for"),
        ("prepared_by", "Prepared by"),
    ):
        value = getattr(design.site, key)
        if value:
            ledger.put(f"site.{key}", value, "-", label, origin=design.origin(f"site.{key}"))
