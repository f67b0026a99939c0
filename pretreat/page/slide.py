"""What moves with a slider: the parts of a study behind it, the train held, without draws."""

from collections.abc import Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Literal

import numpy as np
from msgspec.structs import replace

from pretreat.core.errors import DesignError
from pretreat.core.graph import Computed
from pretreat.core.results import Ledger, Study
from pretreat.core.water import WaterAnalysis
from pretreat.lab.samples.design_water import read_design_water
from pretreat.lab.site_values import whole_hardness
from pretreat.lab.water_figures import enter_water
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.elements.figures import enter_elements
from pretreat.membrane.elements.machine import machine_of, marched, running
from pretreat.membrane.feed import exchanged, feed_water, one_of_feed
from pretreat.membrane.limits import enter_limits
from pretreat.membrane.moved import ALONG, enter_moved
from pretreat.page.workers.kept import Kept, mark
from pretreat.plant.choices.choose import Asking, held
from pretreat.plant.elements import machine_on
from pretreat.plant.machine import enter_machine, membrane_point
from pretreat.plant.raw_water import enter_speciated, raw_water
from pretreat.plant.train import added_alkalinity, enter_train
from pretreat.plant.water.narrower import with_narrower
from pretreat.record.fitted.design import with_readings
from pretreat.report.text.values import value_and_unit
from pretreat.site.design import DesignBasis, WaterBasis
from pretreat.stages.fixed import TrainDesign, fixed_stages, settled
from pretreat.stages.site import read_site
from pretreat.stages.stream import Stream
from pretreat.stages.train import Mode
from pretreat.study import run_study

Units = Literal["si", "us"]
FIGURES = (
    "machine.recovery",
    "machine.feed_flow_m3_h",
    "machine.concentrate_flow_m3_h",
    "concentrate.recovery",
    "recovery.max",
    "recovery.limited_by",
    "softener.interval_d",
    "softener.salt_kg_per_year",
    "iron_filter.interval_d",
    "carbon.volume_l",
)
TABLES = ("scaling.sweep", "scaling.limits", "scaling.along")
MOST_KEPT = 16  # waters read, of the people who are at their sliders
_waters: Kept[WaterAnalysis] = Kept(MOST_KEPT)


def slid(site: Path, mode: Mode, stages: Sequence[str] = ()) -> Study:
    """Return what a slider moves: limits, curve, flows and intervals, as the whole run has them.

    Parameters
    ----------
    site : Path
        The site file, as the slider changed it. [-]
    mode : {"size", "rate"}
        Choose the vessels, or take the ones that are there. [-]
    stages : sequence of str
        The train that was chosen before; left to the site if empty. [-]

    Returns
    -------
    Study
        Without draws, verdict, year, cost and all else that no slider shows. [-]

    Raises
    ------
    PretreatError
        If the site or its report cannot be used.
    """
    design = read_site(site, water_needed=mode == "size")
    water = _water_of(design.water)
    if design.record.set_points_from is not None:
        design = with_readings(design, lambda plain: run_study(water, plain, mode, (), 0)).design
    whole = _entered(water, (design, tuple(stages)), mode)
    narrower = with_narrower(whole, design) if mode == "size" else None
    if narrower is not None:
        whole = _entered(water, (narrower, tuple(stages)), mode)
    return Study(
        MappingProxyType({k: whole.figures[k] for k in FIGURES if k in whole.figures}),
        MappingProxyType({k: whole.series[k] for k in TABLES if k in whole.series}),
        (),
    )


def kept_at(study: Study, units: Units) -> list[tuple[float, str]]:
    """Return the share of draws that keep every limit at each recovery, from the limits drawn.

    Parameters
    ----------
    study : Study
        A whole run, with its draws. [-]
    units : {"si", "us"}
        Units of the reader. [-]

    Returns
    -------
    list of tuple of float and str
        Recovery and the share as shown; empty where nothing was drawn. [-]
    """
    key = "verdict.probability"
    node = study.graph.nodes.get(key) if study.graph else None
    if not isinstance(node, Computed) or node.again is None:
        return []
    along = np.array(ALONG)
    found = node.again(lambda name: along if name == "machine.recovery" else study.value(name))
    shares = [] if found is None else [replace(study[key], value=float(one)) for one in found]
    return [(at, value_and_unit(one, units)[0]) for at, one in zip(ALONG, shares, strict=False)]


def _entered(water: WaterAnalysis, asked: tuple[DesignBasis, tuple[str, ...]], mode: Mode) -> Study:
    ledger, design = Ledger(), asked[0]
    enter_machine(ledger, design)
    machine = machine_of(design)
    if machine is not None:
        enter_elements(ledger, machine, design)
    _enter_water_and_train(ledger, water, asked, mode)
    return ledger.study()


def _enter_water_and_train(
    ledger: Ledger, water: WaterAnalysis, asked: tuple[DesignBasis, tuple[str, ...]], mode: Mode
) -> None:
    design, stages = asked
    found = enter_water(ledger, water, design.water)
    raw = raw_water(water, found, design)
    if water.ph is None or raw.ph is None:
        raise DesignError("the report has no pH: without it there is no curve to move along")
    enter_speciated(ledger, water, found)
    point = membrane_point(design)
    here = np.array([found.operating_temp_c])
    before = feed_water(raw.mg_l, found.alkalinity_mg_l_caco3, raw.ph, found.measured_temp_c, here)
    feed = one_of_feed(before, 0)
    if stages and fixed_stages(design) is None:
        machine = machine_of(design)
        moved = marched(point, running(machine, feed)[0], machine)
        plain = tuple(key.partition(" (")[0] for key in stages)
        kept = held(Asking(ledger, raw, feed, water, found, moved, design, 0), stages)
        design = kept or settled(design.with_stages(train=TrainDesign(plain, chosen=True)))
    elif fixed_stages(design) is None:  # decided by how far the raw water goes
        brine = concentrate(feed, point.recovery, *point.membrane)
        enter_limits(ledger, feed, brine, point, design.limits, "untreated.")
    stream: Stream = enter_train(ledger, raw, design, mode, whole=False).stream
    added = added_alkalinity(raw, stream)
    feed = one_of_feed(exchanged(before, stream.mg_l, stream.carbon_lost_mol_kg, added), 0)
    enter_moved(ledger, feed, machine_on(ledger, feed, point, design, None), design.limits)


def _water_of(basis: WaterBasis) -> WaterAnalysis:
    """Return the water of a site; one that was read a moment ago is not read again."""

    def read() -> WaterAnalysis:
        water, _ = read_design_water(basis)
        if water is None:
            raise DesignError("there is no analysis: without it there is no curve to move along")
        return whole_hardness(water)

    read_from = replace(
        basis,
        operating_temperature_c=None,
        coldest_temperature_c=None,
        warmest_temperature_c=None,
    )
    content = b"" if basis.analysis is None else Path(basis.analysis).read_bytes()
    return _waters.get(mark(repr(read_from), content), read)
