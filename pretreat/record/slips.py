"""Slips of units in a reading: psi for bar, °F for °C, gallons for cubic metres, and the like."""

import math
from collections.abc import Mapping, Sequence
from statistics import median_low

from pretreat.core.basis import cites
from pretreat.core.units import KPA_PER_PSI, LITRE_PER_US_GALLON, MG_L_CACO3_PER_GPG
from pretreat.record.order import spoken
from pretreat.record.readings import Gauge, Reading, gauges

LAST = 5  # readings of the record that tell what is usual
NEAR, NEAR_C = 0.25, 4.0  # RECORD_STATISTICS: a slip explains a value this closely
FAR, FAR_C = 0.4, 10.0  # RECORD_STATISTICS: off by so much, a value is looked at
DECIMAL = 0.15  # RECORD_STATISTICS: off by ten this closely, the decimal point slipped
_PSI = KPA_PER_PSI / 100.0  # bar
_FLOWS = ("feed_flow_m3_h", "product_flow_m3_h", "drain_flow_m3_h")  # judged together elsewhere
# Gauges whose true value stays near the last ones, by how much an honest one may move.
_DECIMALS = ("raw_hardness_mg_l_caco3", "raw_iron_mg_l")
_STEADY_UNITS = ("bar", "m3/h", "µS/cm")


@cites("GALLONS", "ratios of the units")
def _slips(unit: str) -> Mapping[str, float]:
    """Return slips by their words: written over true."""
    known: dict[str, dict[str, float]] = {
        "bar": {
            "psi written as bar": 1.0 / _PSI,
            "bar written as psi": _PSI,
            "kPa written as bar": 100.0,
            "bar written as kPa": 1.0 / 100.0,
            "psi written as kPa": 1.0 / KPA_PER_PSI,
            "kPa written as psi": KPA_PER_PSI,
        },
        "µS/cm": {"mS/cm written as µS/cm": 1.0 / 1000.0, "µS/cm written as mS/cm": 1000.0},
        "mg/L as CaCO3": {
            "grains per gallon (or German degrees) written as mg/L": 1.0 / MG_L_CACO3_PER_GPG,
            "mg/L written as grains per gallon (or German degrees)": MG_L_CACO3_PER_GPG,
        },
        "m3": {
            "US gallons written as m3": 1000.0 / LITRE_PER_US_GALLON,
            "m3 written as US gallons": LITRE_PER_US_GALLON / 1000.0,
            "litres written as m3": 1000.0,
            "m3 written as litres": 1.0 / 1000.0,
        },
    }
    return known.get(unit, {})


def usual_values(earlier: Sequence[Reading], expected: Mapping[str, float]) -> dict[str, float]:
    """Return what each gauge usually shows: the last readings, else what is expected.

    Parameters
    ----------
    earlier : sequence of Reading
        Readings of the record by date. [-]
    expected : mapping of str to float
        Values of the design by gauge. [unit of the gauge]

    Returns
    -------
    dict of str to float
        Values by gauge. [unit of the gauge]
    """
    found = dict(expected)
    for key in gauges():
        read = [r.get(key) for r in earlier if r.get(key) > 0.0][-LAST:]
        if read:  # of two, of which one may be wrong, the older one
            found[key] = read[0] if len(read) == 2 else median_low(read)
    return found


def doubtful_values(taken: Reading, usual: Mapping[str, float]) -> tuple[str, ...]:
    """Return what is odd about a reading, with the slip of units that explains it.

    The three flows are judged together by `doubtful_flows`, not here.

    Parameters
    ----------
    taken : Reading
        The reading. [-]
    usual : mapping of str to float
        What each gauge usually shows. [unit of the gauge]

    Returns
    -------
    tuple of str
        One sentence for each value that is odd. [-]
    """
    told = []
    for key, value in taken.values.items():
        if key in usual and key not in _FLOWS:
            told += (
                _temperature(value, usual[key])
                if key == "temperature_c"
                else _one(gauges()[key], value, usual[key])
            )
    return tuple(told)


def _one(gauge: Gauge, value: float, usual: float) -> list[str]:
    if not (value > 0.0 and usual > 0.0) or gauge.key == "soft_hardness_mg_l_caco3":
        return []
    off = math.log(value / usual)
    said = (
        f"{spoken(gauge.key)} is written as {value:.4g} {gauge.unit}, usual is "
        f"{usual:.4g} {gauge.unit}"
    )
    near = sorted((abs(off - math.log(f)), words) for words, f in _slips(gauge.unit).items())
    if abs(off) > FAR and near and near[0][0] <= NEAR:
        return [f"{said}: looks like {near[0][1]}"]
    steady = gauge.unit in _STEADY_UNITS and gauge.key != "product_pressure_bar"
    if (steady or gauge.key in _DECIMALS) and abs(abs(off) - math.log(10.0)) <= DECIMAL:
        return [f"{said}: looks like a decimal point that slipped"]
    return [f"{said}: read it again"] if steady and abs(off) > FAR else []


@cites("GALLONS", "°F = 1.8 °C + 32, exact")
def _temperature(value: float, usual: float) -> list[str]:
    if abs(value - usual) <= FAR_C:
        return []
    said = f"water temperature is written as {value:.4g} °C, usual is {usual:.4g} °C"
    if abs((value - 32.0) / 1.8 - usual) <= NEAR_C:
        return [f"{said}: looks like °F written as °C"]
    if abs(1.8 * value + 32.0 - usual) <= NEAR_C:
        return [f"{said}: looks like °C written as °F"]
    return [f"{said}: read it again"]
