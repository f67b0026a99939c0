"""Values of the site file that look like a slip of units."""

from collections.abc import Mapping

from msgspec.structs import replace

from pretreat.core.basis import Flag, cites
from pretreat.core.results import Ledger
from pretreat.core.units import KPA_PER_PSI
from pretreat.lab.water_figures import IN_F
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
    warm = {name.removesuffix("_c"): t for name, t in temps if t is not None and t > WARM_C}
    if warm:
        _flag_temperatures(ledger, warm)
    if machine.feed_pressure_bar:
        _flag_pressure(ledger, machine.feed_pressure_bar)
    feed, pump = machine.product_flow_m3_h / machine.recovery, design.supply.pump_flow_m3_h
    if pump is not None and feed > pump:
        _flag_flow(ledger, feed, pump)


@cites("GALLONS", "°F = 1.8 °C + 32, exact")
def _flag_temperatures(ledger: Ledger, warm: Mapping[str, float]) -> None:
    """Ask once whether temperatures are °F, and not again where the water is told to be hot."""
    each = [f"{name} is {temp:g} °C" for name, temp in warm.items()]
    as_c = ", ".join(f"{(temp - 32.0) / 1.8:.1f} °C" for temp in warm.values())
    keyed = ", ".join(f'{name} = "{temp:g} F"' for name, temp in warm.items())
    they = f"it is {as_c}" if len(warm) == 1 else f"they are {as_c}"
    text = (
        f"{', '.join(each)}, and well water is seldom above {WARM_C:g} °C: if the thermometer "
        f"shows °F {they}; write {keyed}"
    )
    ledger.flag(Flag("temperature_unit_doubtful", "caution", text))
    if "operating_temperature" in warm:
        flags = ledger.study().flags
        ledger.retell(replace(f, text=f.text.replace(IN_F, "")) for f in flags)


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
