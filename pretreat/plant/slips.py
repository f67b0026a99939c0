"""Values of the site file that look like a slip of units."""

from pretreat.core.basis import Flag, cites
from pretreat.core.results import Ledger
from pretreat.core.units import KPA_PER_PSI
from pretreat.membrane.gauges.setpoints import SLIPS
from pretreat.site.design import DesignBasis

WARM_C = 35.0  # PRACTICE: well water is seldom warmer
HIGH_BAR, LOW_BAR = 40.0, 3.0  # PRACTICE: machines on well water run between them
SALTY_KPA = 500.0  # osmotic pressure from which a high feed pressure is no wonder, PRACTICE
PART_OF_PUMP = (0.1, 1.0)  # PRACTICE: a machine takes such a share of what its pump can give
_TEMPERATURES = ("operating_temperature_c", "coldest_temperature_c", "warmest_temperature_c")


def enter_site_slips(ledger: Ledger, design: DesignBasis) -> None:
    """Flag temperatures, pressure and flow whose unit is doubtful.

    Parameters
    ----------
    ledger : Ledger
        With machine and osmotic pressure entered. [-]
    design : DesignBasis
        The engineer's choices. [-]
    """
    water, machine = design.water, design.machine
    temps = [(name, getattr(water, name)) for name in _TEMPERATURES]
    temps.append(("reference_temperature_c", machine.reference_temperature_c))
    for name, temp in temps:
        if temp is not None and temp > WARM_C:
            _flag_temperature(ledger, name.removesuffix("_c"), temp)
    if machine.feed_pressure_bar:
        _flag_pressure(ledger, machine.feed_pressure_bar)
    feed, pump = machine.product_flow_m3_h / machine.recovery, design.supply.pump_flow_m3_h
    if pump is not None and feed > pump:
        _flag_flow(ledger, feed, pump)


@cites("GALLONS", "°F = 1.8 °C + 32, exact")
def _flag_temperature(ledger: Ledger, name: str, temp_c: float) -> None:
    as_f = (temp_c - 32.0) / 1.8
    text = (
        f"{name} is {temp_c:g} °C, and well water is seldom above {WARM_C:g} °C: if the "
        f'thermometer shows °F it is {as_f:.1f} °C; write {name} = "{temp_c:g} F"'
    )
    ledger.flag(Flag("temperature_unit_doubtful", "caution", text))


@cites("GALLONS", "ratios of the units")
def _flag_pressure(ledger: Ledger, bar: float) -> None:
    osmotic = ledger.number("settings.osmotic_average_kpa") or 0.0
    psi = KPA_PER_PSI / 100.0
    if bar > HIGH_BAR and osmotic < SALTY_KPA:
        guess, unit = bar * psi, "psi"
        number = bar
    elif bar < LOW_BAR:
        number = bar * 100.0
        guess, unit = number * psi, "psi instead of kPa"
    else:
        return
    text = (
        f"feed_pressure is {bar:g} bar; machines on such water run at {LOW_BAR:g} to "
        f"{HIGH_BAR:g} bar: if the gauge shows {unit} it is {guess:.1f} bar; write "
        f'feed_pressure = "{number:.4g} psi"'
    )
    ledger.flag(Flag("pressure_unit_doubtful", "caution", text))


def _flag_flow(ledger: Ledger, feed_m3_h: float, pump_m3_h: float) -> None:
    """Name the slips of units that bring the feed back within what the pump gives."""
    low, high = (share * pump_m3_h for share in PART_OF_PUMP)
    words = [slip.words for slip in SLIPS if low <= feed_m3_h / slip.factor <= high]
    if not words:
        return
    text = (
        f"the machine takes {feed_m3_h:.4g} m3/h, the pump gives {pump_m3_h:.4g} m3/h: look at "
        f"the unit of product_flow; it could be {' or '.join(words[:3])}"
    )
    ledger.flag(Flag("flow_unit_doubtful", "caution", text, "machine.feed_flow_m3_h"))
