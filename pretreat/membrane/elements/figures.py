"""The machine's own figures: elements, flux, pressure, power, what it drives too hard."""

from typing import Any

import numpy as np

from pretreat.core.basis import Flag, Level, Series, citations
from pretreat.core.results import Ledger
from pretreat.membrane.elements import laws
from pretreat.membrane.elements.arrange import (
    LEAST_FLOW_M3_H,
    metered_m3_h,
    recycle_needed_m3_h,
)
from pretreat.membrane.elements.checks import FAR_LOADED, broken_limits
from pretreat.membrane.elements.feed import dissolved_mg_l
from pretreat.membrane.elements.machine import Machine
from pretreat.membrane.elements.march import march, usual_osmotic_coefficient
from pretreat.membrane.elements.operate import Operation
from pretreat.membrane.rests import feed_keys
from pretreat.site.design import DesignBasis

GRAVE = (
    "element_feed",
    "element_concentrate",
    "element_drop",
    "vessel_drop",
    "vessel_pressure",
    "no_pressure_left",
    "wall_factor_range",
)
PERCENT = 100.0
SEASONS = ("coldest", "warmest")


def enter_elements(ledger: Ledger, machine: Machine, design: DesignBasis) -> None:
    """Enter array, membrane and pump, and the average flux; no water is needed.

    Parameters
    ----------
    ledger : Ledger
        With the flows of the machine entered. [-]
    machine : Machine
        The machine. [-]
    design : DesignBasis
        The engineer's choices. [-]
    """
    array, membrane, pump = machine.array, machine.membrane, machine.pump

    def given(name: str, value: float, unit: str, label: str, key: str | None = None) -> str:
        """Enter an input under its key of the site file, or a default that says so."""
        own = design.origin(f"machine.{key or name}") == "chosen"
        ledger.put(
            f"machine.{name}",
            float(value),
            unit,
            label,
            origin="chosen" if own else "assumed",
            evidence="computed" if own else "common practice",
            method="the site file" if own else "usual value, may be given in the site file",
            cites=() if own else ("PRACTICE",),
        )
        return f"machine.{name}"

    area_key = "element_area_m2"
    given(
        area_key, array.element.area_m2, "m2", f"Membrane area of an element {array.element.name}"
    )
    stages = [
        given(f"vessels_stage_{n}", count, "-", f"Vessels of stage {n}", "array")
        for n, count in enumerate(array.vessels, start=1)
    ]
    each = given("elements_per_vessel", array.elements_per_vessel, "-", "Elements per vessel")
    coefficients = (
        (
            "water_permeability_lmh_bar",
            membrane.water_lmh_bar,
            "L/(m2·h·bar)",
            "Water permeability of the membrane at 25 °C",
        ),
        (
            "salt_permeability_lmh",
            membrane.salt_lmh,
            "L/(m2·h)",
            "Sodium chloride permeability of the membrane at 25 °C",
        ),
        (
            "drop_factor",
            membrane.drop_factor,
            "-",
            "Pressure drop along the elements over the calculated one",
        ),
    )
    for name, value, unit, label in coefficients:
        if design.machine.fitted_to:
            _enter_fitted(ledger, f"machine.{name}", (value, unit, label), design.machine.fitted_to)
        else:
            given(name, value, unit, label)
    given("product_pressure_bar", array.product_bar, "bar", "Pressure of the product line")
    given("suction_pressure_bar", pump.suction_bar, "bar", "Suction pressure of the pump")
    given("pump_efficiency", pump.pump_efficiency, "-", "Efficiency of the pump")
    given("motor_efficiency", pump.motor_efficiency, "-", "Efficiency of the motor")
    how = "chosen from the flux by kind of feed" if machine.chosen else "vessels x elements"
    ledger.law(
        "machine.elements",
        laws.elements,
        vessels=stages,
        elements_per_vessel=each,
        label="Elements",
        method=how,
    )
    ledger.law(
        "machine.flux_l_m2_h",
        laws.flux_l_m2_h,
        label="Average flux",
        product_flow_m3_h="machine.product_flow_m3_h",
        element_area_m2="machine.element_area_m2",
        elements="machine.elements",
        method="product over membrane area",
    )
    ledger.law(
        "machine.array_feed_flow_m3_h",
        laws.array_feed_m3_h,
        feed_flow_m3_h="machine.feed_flow_m3_h",
        recycle_flow_m3_h="machine.recycle_flow_m3_h",
        label="Feed of the array, recycle included",
    )
    _enter_recycle_needed(ledger, machine)
    if design.origin("machine.salt_passage") == "chosen":
        text = "salt_passage is given beside an element: what the elements let through is used"
        ledger.flag(Flag("salt_passage_not_used", "caution", text, "machine.elements"))


def _enter_fitted(ledger: Ledger, key: str, what: tuple[float, str, str], reading: str) -> None:
    """Enter a coefficient that was fitted to a reading of the record."""
    value, unit, label = what
    ledger.put(
        key,
        float(value),
        unit,
        label,
        method=f"fitted to the reading of {reading}",
        cites=citations(march),
    )
    ledger.rests(key, held=True)


def _enter_recycle_needed(ledger: Ledger, machine: Machine) -> None:
    duty = machine.duty
    key, most = "machine.recycle_needed_m3_h", machine.limits.element_recovery
    needed = recycle_needed_m3_h(machine.array, duty.product_m3_h, duty.recovery, most)
    ledger.put(
        key,
        needed,
        "m3/h",
        "Concentrate to recycle, at least",
        evidence="common practice",
        cites=("PRACTICE",),
        method="element recovery and concentrate per vessel keep their limits",
    )
    ledger.rests(key, "machine.product_flow_m3_h", "machine.recovery", "machine.elements")
    if needed > duty.recycle_m3_h + LEAST_FLOW_M3_H:
        asked = metered_m3_h(needed)
        text = (
            f"{machine.array.in_series} elements in series reach a recovery of "
            f"{PERCENT * duty.recovery:.3g} % only with {asked:g} m3/h of concentrate recycled, "
            f"{duty.recycle_m3_h:.3g} m3/h is set: give recycle_flow in [machine], or more "
            "elements in series"
        )
        ledger.flag(Flag("recycle_needed", "caution", text, key))


def enter_operation(
    ledger: Ledger, machine: Machine, found: Operation, seasons: Operation | None
) -> None:
    """Enter pressures, power and the limits that are broken, at the water of the membranes.

    Parameters
    ----------
    ledger : Ledger
        With the elements and the water entered. [-]
    machine : Machine
        The machine. [-]
    found : Operation
        It, running at the operating temperature. [-]
    seasons : Operation or None
        It, running at the coldest and the warmest temperature. [-]
    """
    inputs = feed_keys(ledger, treated=True)
    sources = citations(march, usual_osmotic_coefficient)

    def put(key: str, value: Any, unit: str, label: str) -> None:
        ledger.put(
            key,
            float(value),
            unit,
            label,
            cites=sources,
            method="march along the elements: solution and diffusion, polarisation, "
            "pressure drop; product neutral",
        )
        ledger.rests(key, *inputs)

    put("machine.feed_pressure_bar", found.feed_bar, "bar", "Feed pressure of the elements")
    put(
        "machine.concentrate_pressure_bar",
        found.concentrate_bar,
        "bar",
        "Pressure of the concentrate",
    )
    hardest = np.max(found.by_element("recovery"))
    put("machine.element_recovery_highest", hardest, "-", "Highest recovery of one element")
    lead = np.max(found.by_element("flux_lmh"))
    put("machine.flux_highest_l_m2_h", lead, "L/(m2·h)", "Highest flux of one element")
    _enter_power(ledger, "")
    if seasons is not None:
        for i, season in enumerate(SEASONS):
            put(
                f"machine.feed_pressure_{season}_bar",
                seasons.feed_bar[i],
                "bar",
                f"Feed pressure of the elements, {season} water",
            )
            put(
                f"product.tds_{season}_mg_l",
                seasons.permeate_tds_mg_l[i],
                "mg/L",
                f"Total dissolved solids of the product, {season} water",
            )
            _enter_power(ledger, season)
    _enter_along(ledger, found)
    _enter_waters(ledger, found)
    _flag_broken(ledger, machine, found, seasons)


def _flag_broken(
    ledger: Ledger, machine: Machine, found: Operation, seasons: Operation | None
) -> None:
    """Flag each limit once: at the operating water, else at the coldest or the warmest."""
    broken = {b.code: (b.text, b.far) for b in broken_limits(found, machine.limits)}
    for b in () if seasons is None else broken_limits(seasons, machine.limits):
        broken.setdefault(b.code, (f"{b.text}, at the coldest or warmest water", b.far))
    for code, (text, far) in broken.items():
        level: Level = "warning" if code in GRAVE else "caution"
        marks = frozenset({FAR_LOADED}) if far else frozenset()
        ledger.flag(Flag(code, level, text, "machine.feed_pressure_bar", marks))


def _enter_power(ledger: Ledger, season: str) -> None:
    part, words = (f"_{season}", f", {season} water") if season else ("", "")
    ledger.law(
        f"machine.pump_shaft{part}_kw",
        laws.shaft_kw,
        feed_pressure_bar=f"machine.feed_pressure{part}_bar",
        suction_pressure_bar="machine.suction_pressure_bar",
        pump_flow_m3_h="machine.array_feed_flow_m3_h",
        pump_efficiency="machine.pump_efficiency",
        label=f"Shaft power of the pump{words}",
        method="recycle enters the suction; no throttling",
    )
    ledger.law(
        f"machine.pump{part}_kw",
        laws.electric_kw,
        shaft_kw=f"machine.pump_shaft{part}_kw",
        motor_efficiency="machine.motor_efficiency",
        label=f"Electric power of the pump{words}",
    )
    ledger.law(
        f"machine.energy{part}_kwh_m3",
        laws.energy_kwh_m3,
        electric_kw=f"machine.pump{part}_kw",
        product_flow_m3_h="machine.product_flow_m3_h",
        label=f"Energy of the pump per cubic metre of product{words}",
    )


def _enter_waters(ledger: Ledger, found: Operation) -> None:
    """Enter the waters of the elements by constituent, alkalinity as bicarbonate."""
    sides = (
        found.fresh.mg_l(found.fresh.amounts),
        found.array_feed_mg_l,
        found.permeate_mg_l,
        found.concentrate_mg_l,
        found.passage,
    )
    ledger.table(
        Series(
            "machine.waters",
            "Waters of the elements; alkalinity as bicarbonate",
            (
                "constituent",
                "feed_mg_l",
                "array_feed_mg_l",
                "product_mg_l",
                "concentrate_mg_l",
                "salt_passage",
            ),
            ("-", "mg/L", "mg/L", "mg/L", "mg/L", "-"),
            tuple(
                (key, *(float(np.asarray(side[key])) for side in sides)) for key in found.fresh.keys
            ),
            method="march along the elements; passage is product over array feed",
            cites=citations(march),
            headings=(
                "Constituent",
                "Fresh feed",
                "Array feed",
                "Product",
                "Concentrate",
                "Salt passage",
            ),
        )
    )


def _enter_along(ledger: Ledger, found: Operation) -> None:
    length = found.array.elements_per_vessel
    table = []
    for i, step in enumerate(found.march.steps):
        numbers = (
            step.feed_m3_h,
            step.product_m3_h,
            step.recovery,
            step.flux_lmh,
            step.feed_bar,
            step.drop_bar,
            step.wall_factor,
            dissolved_mg_l(found.fresh, step.permeate),
            dissolved_mg_l(found.fresh, step.concentrate),
        )
        place = (float(i // length + 1), float(i % length + 1))
        table.append((*place, *(float(np.asarray(v)) for v in numbers)))
    ledger.table(
        Series(
            "machine.along",
            "Elements along the array, one vessel of each stage",
            (
                "stage",
                "element",
                "feed_m3_h",
                "product_m3_h",
                "recovery",
                "flux_l_m2_h",
                "feed_bar",
                "drop_bar",
                "wall_factor",
                "product_tds_mg_l",
                "concentrate_tds_mg_l",
            ),
            ("-", "-", "m3/h", "m3/h", "-", "L/(m2·h)", "bar", "bar", "-", "mg/L", "mg/L"),
            tuple(table),
            method="march along the elements",
            cites=citations(march),
            headings=(
                "Stage",
                "Element",
                "Feed",
                "Product",
                "Recovery",
                "Flux",
                "Feed pressure",
                "Pressure drop",
                "Wall / bulk",
                "Product TDS",
                "Concentrate TDS",
            ),
        )
    )
