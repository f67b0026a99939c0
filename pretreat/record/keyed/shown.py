"""A value of the record as it is shown to the person who reads the gauges."""

from pretreat.core.units import US_CUSTOMARY, quantity, us_customary
from pretreat.record.readings import Gauge, Reading


def shown_value(gauge: Gauge, taken: Reading, us: bool) -> str:
    """Return a value in the unit of the record sheet.

    Parameters
    ----------
    gauge : Gauge
        What was read. [-]
    taken : Reading
        A reading that has it. [-]
    us : bool
        Whether US units are shown. [-]

    Returns
    -------
    str
        Such as "26.5 L/min" or "<1 gpg". [-]
    """
    value = taken.below.get(gauge.key, taken.values[gauge.key])
    number, unit = value, gauge.unit
    if us and gauge.unit in US_CUSTOMARY:
        number, unit = us_customary(value, gauge.unit)
    elif not us and gauge.sheet_unit != gauge.unit:
        number, unit = quantity(f"{value!r} {gauge.unit}", gauge.sheet_unit), gauge.sheet_unit
    sign = "<" if gauge.key in taken.below else ""
    whole = f"{number:.0f}" if gauge.unit in {"h", "-"} and number == round(number) else ""
    return f"{sign}{whole or f'{number:.4g}'}" + ("" if unit == "-" else f" {unit}")
