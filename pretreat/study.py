"""From a water and a design basis to a study: the only place that composes."""

import math
from collections.abc import Sequence
from typing import Any, Literal

import numpy as np

from pretreat.chemistry.carbonate import MOST_CO2_MOL_KG
from pretreat.core.basis import Flag
from pretreat.core.errors import AnalysisError, DesignError, check_range, one_of
from pretreat.core.results import Ledger, Study
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge.conductivity import conductivity_us_cm, molal
from pretreat.lab.site_values import whole_hardness
from pretreat.lab.water_figures import (
    LAB_TEMPERATURE_C,
    Composition,
    enter_water,
    property_taken,
)
from pretreat.membrane.concentrate import Passage
from pretreat.membrane.elements.figures import enter_elements, enter_operation
from pretreat.membrane.elements.machine import machine_of, marched, running
from pretreat.membrane.elements.product import Water
from pretreat.membrane.elements.target_figures import enter_target
from pretreat.membrane.envelope import enter_envelope
from pretreat.membrane.feed import FeedWater, exchanged, feed_water, one_of_feed
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.permeate import Permeate
from pretreat.membrane.product import enter_product
from pretreat.membrane.rests import water_keys
from pretreat.membrane.scaling import enter_scaling
from pretreat.plant.levers import enter_levers
from pretreat.plant.machine import enter_measured_flows, membrane_point
from pretreat.plant.setpoints import enter_setpoints
from pretreat.plant.summary import enter_summary
from pretreat.plant.uncertainty.draws import DRAWS
from pretreat.plant.uncertainty.seasons import UNKNOWN_COLDEST_C
from pretreat.plant.verdict.figures import Asked, enter_verdict, enter_without_analysis
from pretreat.plant.verdict.judge import Judgement
from pretreat.plant.verdict.spreads import enter_spreads, uncertain_values
from pretreat.site.design import DesignBasis, LimitChoices, WaterBasis
from pretreat.site.keys import HIGHEST_RECOVERY
from pretreat.stages.stream import RawWater, Stream

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
    _enter_speciated(ledger, water, found)
    enter_ranges(ledger, samples, basis or WaterBasis())
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
        If the report has no pH, or the water cannot be speciated.
    OutOfRangeError
        If the flows make a recovery outside 0.01 to 0.95.
    """
    ledger = Ledger()
    ledger.put("study.kind", "scaling", "-", "Kind of study", origin="chosen")
    water = whole_hardness(water)
    found = enter_water(ledger, water, basis or WaterBasis())
    feed = _feed(ledger, water, found)
    if isinstance(recovery, tuple):
        recovery = enter_measured_flows(ledger, *recovery)
    point = MembranePoint(recovery, passage or {})
    _check_point(point)
    choices = limits or LimitChoices()
    scaled = enter_scaling(ledger, feed, point, choices)
    enter_levers(ledger, feed, point, choices, scaled.reach)
    brine = scaled.brine
    enter_product(ledger, feed, brine, point)
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
    from pretreat.lab.samples_figures import enter_ranges
    from pretreat.life.figures import enter_media_life
    from pretreat.plant.machine import enter_machine
    from pretreat.plant.notes import note_inhibitor_needed
    from pretreat.plant.seasons import Standing, enter_seasons
    from pretreat.plant.train import enter_train
    from pretreat.quote.figures import enter_quote

    ledger = Ledger()
    ledger.put("study.kind", mode, "-", "Kind of study", origin="chosen")
    _enter_site(ledger, design)
    machine = machine_of(design)
    enter_machine(ledger, design)
    if machine is not None:
        enter_elements(ledger, machine, design)
    if water is None and design.water.hardness_mg_l_caco3 is None:
        return _vessels_alone(ledger, design, mode)
    if water is None:
        raw, found = _test_kit(ledger, design), None
    else:
        water = whole_hardness(water)
        found = enter_water(ledger, water, design.water)
        raw = _raw_water(water, found, design)
    point = membrane_point(design)
    if water is not None and found is not None:
        feed = _feed(ledger, water, found)
        point = marched(point, running(machine, feed)[0])
        scaled = enter_scaling(ledger, feed, point, design.limits, "untreated.")
        enter_levers(ledger, feed, point, design.limits, scaled.reach, "untreated.")
    treated = enter_train(ledger, raw, design, mode)
    judged = None
    if water is not None and found is not None and raw.ph is not None:
        asked = Asked(
            water,
            found,
            design.water,
            point,
            design.limits,
            inhibitor=design.limits.inhibitor or treated.train.has("inhibitor"),
            stream_mg_l=treated.stream.mg_l,
            carbon_lost_mol_kg=treated.stream.carbon_lost_mol_kg,
            recovery_range=design.machine.recovery_range,
            plant=uncertain_values(ledger),
            count=draws,
        )
        judged = _membranes(ledger, treated.stream, raw, asked, design)
        note_inhibitor_needed(ledger, design)
    else:
        enter_without_analysis(ledger)
        enter_setpoints(ledger, None, point, design)
    enter_ranges(ledger, samples, design.water)
    if treated.train.question is not None:
        site = Standing(design, point, treated.train.question, _raw_water)
        enter_seasons(ledger, samples, site)
    enter_media_life(treated.train)
    enter_quote(ledger, raw, design, mode)
    if judged is not None:
        enter_spreads(ledger, judged.draws)
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


def _membranes(
    ledger: Ledger,
    stream: Stream,
    raw: RawWater,
    asked: Asked,
    design: DesignBasis,
) -> Judgement | None:
    """Enter what happens to the water that enters the membranes; return the verdict on it."""
    found = asked.taken
    point = membrane_point(design)
    temps = [found.operating_temp_c]
    basis = design.water
    ends = (basis.coldest_temperature_c, basis.warmest_temperature_c)
    if None not in ends:
        temps = [raw.coldest_c, found.operating_temp_c, raw.warmest_c]
    if raw.ph is None:
        return None
    raw_feeds = feed_water(
        raw.mg_l, found.alkalinity_mg_l_caco3, raw.ph, found.measured_temp_c, np.array(temps)
    )
    before, after = raw.alkalinity_mg_l_caco3, stream.alkalinity_mg_l_caco3
    added = 0.0 if before is None or after is None else after - before
    feeds = exchanged(raw_feeds, stream.mg_l, stream.carbon_lost_mol_kg, added)
    here = temps.index(found.operating_temp_c)
    feed = one_of_feed(feeds, here)
    seasons_c = None if len(temps) == 1 else np.array([raw.coldest_c, raw.warmest_c])
    point = _machine_on(ledger, feed, point, design, seasons_c)
    brine = enter_scaling(ledger, feed, point, design.limits).brine
    _enter_use(ledger, enter_product(ledger, feed, brine, point), design)
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
    return judged


def _machine_on(
    ledger: Ledger,
    feed: FeedWater,
    point: MembranePoint,
    design: DesignBasis,
    seasons_c: Any,
) -> MembranePoint:
    """Enter the elements running on a feed; return the design point with their passage."""
    machine = machine_of(design)
    if machine is None:
        return point
    run, problem = running(machine, feed)
    if run is None or problem is not None:
        ledger.put("machine.feed_pressure_bar", None, "bar", "Feed pressure of the elements")
        ledger.rests("machine.feed_pressure_bar")
        ledger.flag(*([] if problem is None else [problem]))
        return point
    seasons = None if seasons_c is None else running(machine, feed, seasons_c)[0]
    enter_operation(ledger, machine, run, seasons)
    return marched(point, run)


def _enter_use(ledger: Ledger, product: Permeate | None, design: DesignBasis) -> None:
    """Hold the product against what the site names it for."""
    if product is not None:
        enter_target(ledger, design.product, _product_values(product))
    elif design.product.target is not None:
        text = (
            "the product is not known, so it is not held against its target: give element or "
            "salt_passage in [machine]"
        )
        ledger.flag(Flag("product_target_open", "caution", text))


def _product_values(product: Permeate) -> dict[str, float]:
    """Return what a target may limit in the product, conductivity included."""
    water = FeedWater(
        product.mg_l, product.alkalinity_mg_l_caco3, product.speciation.temp_c, product.speciation
    )
    values = {k: float(np.asarray(v)) for k, v in Water(water).values().items()}
    plain = {k: float(np.nan_to_num(np.asarray(v))) for k, v in product.mg_l.items()}
    ions = molal(plain, float(np.nan_to_num(np.asarray(product.alkalinity_mg_l_caco3))))
    at_25_c, at_20_c = conductivity_us_cm(ions), conductivity_us_cm(ions, EU_TEMPERATURE_C)
    return values | {"ec_ds_m": at_25_c / 1000.0, "ec_us_cm_20": at_20_c}


EU_TEMPERATURE_C = 20.0  # 98/83/EC: conductivity at 20 °C


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


def _feed(ledger: Ledger, water: WaterAnalysis, found: Composition) -> FeedWater:
    """Return the feed at the operating temperature; refuse a water without pH."""
    if water.ph is None:
        raise AnalysisError(
            f"{water.source}: the report has no pH; scaling cannot be judged without it: "
            "measure it at the well and add it to the report"
        )
    if math.isnan(found.alkalinity_mg_l_caco3):
        ledger.flag(
            Flag(
                "not_measured",
                "warning",
                "alkalinity was not measured: calcium carbonate cannot be judged, pH of the "
                "concentrate is taken as that of the feed",
            )
        )
    _enter_speciated(ledger, water, found)
    feed = feed_water(
        found.scaling,
        found.alkalinity_mg_l_caco3,
        water.ph,
        found.measured_temp_c,
        found.operating_temp_c,
    )
    co2 = float(np.nan_to_num(feed.speciation.co2_mol_kg))
    if not bool(feed.speciation.converged) or co2 > MOST_CO2_MOL_KG:
        raise AnalysisError(
            f"{water.source}: the analysis cannot be speciated: pH {water.ph:g} and an alkalinity "
            f"of {found.alkalinity_mg_l_caco3:g} mg/L as CaCO3 do not go together: check both; a "
            "water below pH 4.5 has no alkalinity, write 0"
        )
    return feed


def _enter_speciated(ledger: Ledger, water: WaterAnalysis, found: Composition) -> None:
    if water.ph is None:
        return
    feed = feed_water(
        found.scaling, found.alkalinity_mg_l_caco3, water.ph, found.measured_temp_c
    ).speciation
    if not bool(feed.converged):
        return
    ledger.put(
        "water.ionic_strength_mol_kg",
        float(feed.ionic_strength_mol_kg),
        "mol/kg",
        "Ionic strength",
        method="speciation",
        cites=("WATEQ4F",),
    )
    ledger.rests("water.ionic_strength_mol_kg", *water_keys(ledger, treated=False))
    co2 = float(feed.co2_mol_kg) * CO2_MG_PER_MOL
    if not math.isnan(found.alkalinity_mg_l_caco3):
        ledger.put(
            "water.co2_mg_l",
            co2,
            "mg/L",
            "Carbon dioxide, calculated",
            method="speciation from pH and alkalinity",
            cites=("WATEQ4F", "PB82"),
        )
        ledger.rests("water.co2_mg_l", *water_keys(ledger, treated=False))


CO2_MG_PER_MOL = 44_009.0  # IUPAC2021


def _raw_water(water: WaterAnalysis, found: Composition, design: DesignBasis) -> RawWater:
    operating = found.operating_temp_c
    coldest, warmest = design.water.coldest_temperature_c, design.water.warmest_temperature_c
    alkalinity = found.alkalinity_mg_l_caco3
    return RawWater(
        mg_l=found.scaling,
        total_mg_l=water.total_mg_l,
        alkalinity_mg_l_caco3=None if math.isnan(alkalinity) else alkalinity,
        ph=water.ph,
        temperature_c=operating,
        ph_temperature_c=found.measured_temp_c,
        coldest_c=_coldest(
            operating,
            coldest,
            unknown=water.temperature_c is None and design.water.operating_temperature_c is None,
        ),
        warmest_c=operating if warmest is None else warmest,
        h2s_mg_l=property_taken(water, "h2s_mg_l") or 0.0,
        free_chlorine_mg_l=property_taken(water, "free_chlorine_mg_l") or 0.0,
        toc_mg_l=property_taken(water, "toc_mg_l"),
        turbidity_ntu=property_taken(water, "turbidity_ntu"),
        sdi=property_taken(water, "sdi"),
    )


def _coldest(operating_c: float, coldest_c: float | None, *, unknown: bool) -> float:
    """Return the coldest water: as given, 5 °C where no temperature is known at all."""
    if coldest_c is not None:
        return coldest_c
    return min(UNKNOWN_COLDEST_C, operating_c) if unknown else operating_c


def _test_kit(ledger: Ledger, design: DesignBasis) -> RawWater:
    """Enter test-kit values; sizing runs on them, the chemistry is absent."""
    basis = design.water
    if basis.temperature_c is None and basis.operating_temperature_c is None:
        ledger.flag(
            Flag(
                "temperature_assumed",
                "caution",
                "no water temperature is given: 25 °C is used, 5 °C for the largest backwash "
                "flow; measure it and add temperature_c to [water]",
            )
        )
    kit = {"fe": basis.iron_mg_l or 0.0, "mn": basis.manganese_mg_l or 0.0}
    ledger.put(
        "water.hardness_mg_l_caco3",
        basis.hardness_mg_l_caco3,
        "mg/L as CaCO3",
        "Hardness by test kit",
        origin="measured",
        evidence="printed",
        method="test kit, from the site file",
    )
    for key, name, tested in (
        ("fe", "iron", basis.iron_mg_l is not None),
        ("mn", "manganese", basis.manganese_mg_l is not None),
    ):
        figure = f"water.{key}_mg_l"
        if tested:
            ledger.put(
                figure,
                kit[key],
                "mg/L",
                f"{name.capitalize()} by test kit",
                origin="measured",
                evidence="printed",
                method="test kit, from the site file",
            )
            continue
        ledger.put(
            figure,
            kit[key],
            "mg/L",
            f"{name.capitalize()}, not measured",
            origin="assumed",
            evidence="common practice",
            cites=("PRACTICE",),
            method="not measured, taken as 0",
        )
        ledger.flag(
            Flag(
                "not_measured",
                "caution",
                f"{name} was not measured, taken as 0: the softener may need an iron "
                f"filter ahead; test for it and add {name} to [water]",
                figure,
            )
        )
    ledger.flag(
        Flag(
            "chemistry_absent",
            "caution",
            "test-kit values only: no scaling, no recovery limit and no leakage from the "
            "composition; send a sample to a laboratory before the recovery is raised",
        )
    )
    unknown = basis.temperature_c is None and basis.operating_temperature_c is None
    known = (
        basis.operating_temperature_c,
        basis.temperature_c,
        basis.coldest_temperature_c,
        LAB_TEMPERATURE_C,
    )
    operating = next(t for t in known if t is not None)
    coldest, warmest = basis.coldest_temperature_c, basis.warmest_temperature_c
    return RawWater(
        mg_l=kit,
        total_mg_l=kit,
        temperature_c=operating,
        coldest_c=_coldest(operating, coldest, unknown=unknown),
        free_chlorine_mg_l=basis.chlorine_mg_l or 0.0,
        warmest_c=operating if warmest is None else warmest,
        from_test_kit=True,
    )
