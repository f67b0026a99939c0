"""The machine's own flows, which everything else is sized on."""

from collections.abc import Mapping

from pretreat.core.results import Ledger
from pretreat.core.tables import rows
from pretreat.membrane.balance import IonPassage, NamedPassage
from pretreat.membrane.concentrate import Passage
from pretreat.membrane.gauges.polarisation import USUAL_ELEMENT_RECOVERY, wall_factor
from pretreat.membrane.gauges.setpoints import measured_recovery
from pretreat.membrane.limits import USUAL_SALT_DOSE_G_L, MembranePoint
from pretreat.plant.laws import drain_flow_m3_h, feed_flow_m3_h, recovery_of_flows, water_m3_d
from pretreat.site.design import DesignBasis
from pretreat.stages.softener.resin import capacity_table
from pretreat.stages.train import Entries

OWN_RECYCLE = (
    "set for the elements chosen: the least at which each keeps its recovery and its concentrate "
    "flow in every season, rounded up to a flow meter"
)


def enter_machine(ledger: Ledger, design: DesignBasis) -> None:
    """Enter flows, running time and recovery of the reverse-osmosis machine.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    design : DesignBasis
        The engineer's choices. [-]
    """
    entries, machine = Entries(ledger), design.machine
    chosen = "the site file"

    def given(name: str, value: float, unit: str, label: str) -> None:
        entries.given(
            f"machine.{name}",
            value,
            unit,
            label,
            method=chosen,
            cites=(),
            origin=design.origin(f"machine.{name}"),
        )

    given("product_flow_m3_h", machine.product_flow_m3_h, "m3/h", "Product flow while running")
    given("recovery", machine.recovery, "-", "Recovery of the machine")
    given("hours_per_day", machine.hours_per_day, "h/d", "Running time per day")
    given("days_per_year", machine.days_per_year, "d/year", "Days of operation per year")
    own = design.origin("machine.recycle_flow_m3_h") == "assumed" and machine.recycle_flow_m3_h
    entries.given(
        "machine.recycle_flow_m3_h",
        machine.recycle_flow_m3_h,
        "m3/h",
        "Concentrate recycled",
        method=OWN_RECYCLE if own else chosen,
        cites=("PRACTICE",) if own else (),
        origin=design.origin("machine.recycle_flow_m3_h"),
    )
    entries.law(
        "machine.feed_flow_m3_h",
        feed_flow_m3_h,
        product_flow_m3_h="machine.product_flow_m3_h",
        recovery="machine.recovery",
        label="Fresh feed while running",
        method="product over recovery",
    )
    entries.law(
        "machine.concentrate_flow_m3_h",
        drain_flow_m3_h,
        feed_flow_m3_h="machine.feed_flow_m3_h",
        product_flow_m3_h="machine.product_flow_m3_h",
        label="Concentrate to drain",
        method="feed less product",
    )
    for flow, water, label in (
        ("feed_flow_m3_h", "feed_m3_d", "Fresh feed per day of operation"),
        ("product_flow_m3_h", "product_m3_d", "Product per day of operation"),
    ):
        entries.law(
            f"machine.{water}",
            water_m3_d,
            flow_m3_h=f"machine.{flow}",
            running_hours_per_day="machine.hours_per_day",
            label=label,
            method="flow times running time",
        )


def enter_measured_flows(ledger: Ledger, product_m3_h: float, drain_m3_h: float) -> float:
    """Enter the flows two meters show and the recovery they make.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    product_m3_h : float
        Product flow. [m3/h]
    drain_m3_h : float
        Concentrate to drain. [m3/h]

    Returns
    -------
    float
        Recovery. [-]
    """
    entries = Entries(ledger)
    for key, value, label in (
        ("product_flow_m3_h", product_m3_h, "Product flow, as measured"),
        ("concentrate_flow_m3_h", drain_m3_h, "Drain flow, as measured"),
    ):
        entries.given(
            f"machine.{key}",
            value,
            "m3/h",
            label,
            method="read from a flow meter",
            cites=(),
            origin="measured",
            evidence="read on site",
        )
    recovery = measured_recovery(product_m3_h, drain_m3_h)
    entries.law(
        "machine.recovery",
        recovery_of_flows,
        product_flow_m3_h="machine.product_flow_m3_h",
        drain_flow_m3_h="machine.concentrate_flow_m3_h",
        label="Recovery by the two meters",
        method="product / (product + drain)",
    )
    return recovery


def salt_passage(choice: float | Mapping[str, float] | str) -> Passage:
    """Return the salt passage per ion that a site file chooses.

    Parameters
    ----------
    choice : float, mapping or "generic"
        One passage for all ions, one per ion, or the table of common practice. [-]

    Returns
    -------
    mapping of str to float
        Passage by analyte key, "default" for the rest. [-]
    """
    if isinstance(choice, str):
        return IonPassage({r["key"]: float(r["passage"]) for r in rows("salt_passage.csv")})
    return NamedPassage(choice) if isinstance(choice, Mapping) else {"default": float(choice)}


def membrane_point(design: DesignBasis) -> MembranePoint:
    """Return the design point of the membranes.

    Parameters
    ----------
    design : DesignBasis
        Flows, recovery and the softener thought ahead of it. [-]

    Returns
    -------
    MembranePoint
        Recovery, passage and recycle share. [-]
    """
    machine, softener = design.machine, design.softener
    fresh = machine.product_flow_m3_h / machine.recovery
    rho = machine.recycle_flow_m3_h / (fresh + machine.recycle_flow_m3_h)
    factor = 1.0
    if machine.saturation_at == "wall":
        factor = wall_factor(machine.element_recovery or USUAL_ELEMENT_RECOVERY)
    passage = salt_passage(machine.salt_passage)
    own, ladder = softener.salt_dose_g_l, capacity_table()
    on_ladder = own is not None and ladder.dose_g_l[0] <= own <= ladder.dose_g_l[-1]
    dose = own if own is not None and on_ladder else USUAL_SALT_DOSE_G_L
    valves = machine.recovery_range
    return MembranePoint(
        machine.recovery, passage, rho, factor, valves, dose, softener.kept_reserve
    )
