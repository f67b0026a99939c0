"""One water out of the readings of one sample."""

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from msgspec.structs import replace

from pretreat.core.units import molar_mass
from pretreat.core.water import Reading, WaterAnalysis
from pretreat.lab.interpret.choose import (
    Sample,
    choose_alkalinity,
    choose_hardness,
    choose_ions,
    finished,
)
from pretreat.lab.interpret.highest import FOULING, highest_value
from pretreat.lab.interpret.measures import INTO_ION, MASSES, PLAIN
from pretreat.lab.interpret.possible import Findings
from pretreat.lab.interpret.sampling import PrintedSample
from pretreat.lab.interpret.traces import combined_radium, traces
from pretreat.lab.read.report import LabReport
from pretreat.lab.read.wording import shown

PH_DIFFERENCE = 0.3  # between field and lab; CO2 lost on the way to the lab raises a pH
EC_DIFFERENCE = 0.15
PhKind = Literal["field", "lab", "unknown"]
_PLACES: MappingProxyType[str, PhKind] = MappingProxyType({"field": "field", "lab": "lab"})
# The names of properties in the record, by the name that leads to them.
PROPERTY_NAMES = MappingProxyType(
    {
        **MASSES,
        **PLAIN,
        "ec": "ec_us_cm",
        "temperature": "temperature_c",
        "alkalinity": "alkalinity_mg_l_caco3",
        "alkalinity_p": "alkalinity_p_mg_l_caco3",
        "alkalinity_oh": "alkalinity_oh_mg_l_caco3",
        "alkalinity_ta": "alkalinity_ta_mg_l_caco3",
        "hardness": "hardness_mg_l_caco3",
        "hardness_ca": "calcium_hardness_mg_l_caco3",
        "hardness_mg": "magnesium_hardness_mg_l_caco3",
        "hardness_carbonate": "carbonate_hardness_mg_l_caco3",
        "hardness_other": "other_hardness_mg_l_caco3",
        **{key: trace.property for key, trace in traces().items()},
    }
)


def water_of(printed: PrintedSample, findings: Findings, report: LabReport) -> WaterAnalysis:
    """Choose among the readings of a sample and make one water of them.

    Parameters
    ----------
    printed : PrintedSample
        The sample as printed. [-]
    findings : Findings
        Its readings. [-]
    report : LabReport
        The report it stands in. [-]

    Returns
    -------
    WaterAnalysis
        The water; flags about the choices only. [-]
    """
    sample = Sample(list(findings.readings))
    choose_ions(sample)
    choose_alkalinity(sample)
    choose_hardness(sample)
    _lumped_sodium(sample)
    _phosphate_of_total(sample)
    ph, kind = _ph(sample)
    temperature = sample.value("temperature")
    _properties(sample)
    _absent(sample, ph, temperature)
    readings = tuple(_renamed(r) for r in finished(sample.readings, sample.used))
    return WaterAnalysis(
        sample=printed.name,
        source=report.source,
        ph=ph,
        ph_kind=kind,
        temperature_c=temperature,
        ph_temperature_c=_ph_temperature(sample),
        alkalinity_mg_l_caco3=sample.alkalinity_mg_l_caco3,
        mg_l=MappingProxyType(sample.mg_l),
        below_mg_l=MappingProxyType(sample.below_mg_l),
        total_mg_l=MappingProxyType(sample.total_mg_l),
        dissolved_mg_l=MappingProxyType(sample.dissolved_mg_l),
        properties=MappingProxyType(sample.properties),
        below_properties=MappingProxyType(sample.below_properties),
        readings=readings,
        flags=tuple(sample.flags),
        date=printed.date,
        others=tuple(findings.others),
        unread=_unread(sample, findings, report),
    )


def _unread(sample: Sample, findings: Findings, report: LabReport) -> Mapping[str, str]:
    """Return the lines of what the report prints and no reading was made of."""
    found: dict[str, str] = {}
    for key, line in (*findings.unread.items(), *report.unread):
        if not sample.of(INTO_ION.get(key, (key, ""))[0]):
            found.setdefault(PROPERTY_NAMES.get(key, key), line)
    return MappingProxyType(found)


def _renamed(reading: Reading) -> Reading:
    name = PROPERTY_NAMES.get(reading.analyte)
    return reading if name is None else replace(reading, analyte=name)


def _ph(sample: Sample) -> tuple[float | None, PhKind]:
    """Return the pH and where it was measured; the field wins."""
    found = {r.fraction: r for r in reversed(sample.of("ph")) if r.value is not None}
    for place in ("field", "lab"):
        if place in found:
            sample.properties[f"ph_{place}"] = found[place].value or 0.0
    chosen = sample.best("ph")
    if chosen is None:
        return None, "unknown"
    sample.take(chosen)
    field, lab = sample.properties.get("ph_field"), sample.properties.get("ph_lab")
    if field is not None and lab is not None and abs(field - lab) > PH_DIFFERENCE:
        sample.flag(
            "ph_field_lab",
            "caution",
            f"pH is {field:g} in the field and {lab:g} in the lab; the field value is used. "
            "A higher lab pH means CO2 was lost, or calcite has precipitated in the bottle",
            "water.ph",
        )
    _several_ph(sample, chosen)
    return chosen.value, _PLACES.get(chosen.fraction, "unknown")


def _ph_temperature(sample: Sample) -> float | None:
    """Return the temperature that the name of the pH states, as in "pH (25 °C)"."""
    chosen = sample.best("ph")
    found = re.search(r"at (\d+(?:\.\d+)?) °C", chosen.note) if chosen is not None else None
    return float(found.group(1)) if found else None


def _absent(sample: Sample, ph: float | None, temperature_c: float | None) -> None:
    for name, value, figure in (
        ("temperature", temperature_c, "water.temperature_c"),
        ("pH", ph, "water.ph"),
    ):
        if value is None:
            text = f"the report holds no {name} of the water; measure it at the well"
            sample.flag("not_measured", "caution", text, figure)


def _several_ph(sample: Sample, chosen: Reading) -> None:
    others = [
        r
        for r in sample.of("ph")
        if r is not chosen and r.value is not None and r.fraction == chosen.fraction
    ]
    for other in others:
        if (
            chosen.value is not None
            and other.value is not None
            and abs(other.value - chosen.value) > PH_DIFFERENCE
        ):
            sample.flag(
                "duplicate_results",
                "caution",
                f"pH is given twice: {chosen.value:g} ({chosen.place}) and {other.value:g} "
                f"({other.place}); the first is used",
                "water.ph",
            )
            return


def _properties(sample: Sample) -> None:
    for key in (*MASSES, *PLAIN, "ec"):
        if key == "ph":
            continue
        name = PROPERTY_NAMES[key]
        value = highest_value(sample, key, name) if key in FOULING else sample.value(key)
        if value is not None:
            sample.properties[name] = value
    for key in ("alkalinity", "hardness", *MASSES, "turbidity", "sdi", "color"):
        _unseen_property(sample, key)
    _traces(sample)
    summed = sample.properties.get("tds_sum_mg_l")
    if summed is not None:
        sample.properties.setdefault("tds_mg_l", summed)
    found = [r.value for r in sample.of("ec") if r.value]
    if len(found) > 1 and max(found) > (1 + EC_DIFFERENCE) * min(found):
        sample.flag(
            "ec_field_lab",
            "caution",
            f"conductivity is given as {found[0]:g} and as {found[1]:g} µS/cm; the first is used",
            "water.ec_us_cm",
        )


def _traces(sample: Sample) -> None:
    """Keep the largest result of a trace: health looks at the total, dissolved or not."""
    for key, trace in traces().items():
        found = [r for r in sample.of(key) if r.value is not None]
        if found:
            highest = max(found, key=lambda r: r.value or 0.0)
            sample.properties[trace.property] = sample.take(highest) or 0.0
        else:
            _unseen_property(sample, key)
    radium = combined_radium(sample.properties)
    if radium is not None:
        sample.properties["ra_pci_l"] = radium
    _arsenic_of_forms(sample)


def _arsenic_of_forms(sample: Sample) -> None:
    """Take arsenite and arsenate together where the lab gives no total arsenic."""
    forms = {k: sample.properties[k] for k in ("as3_mg_l", "as5_mg_l") if k in sample.properties}
    if not forms or "as" in sample.mg_l or "as" in sample.total_mg_l:
        return
    sample.mg_l["as"] = sum(forms.values())
    if len(forms) == 1:
        sample.flag(
            "arsenic_of_forms",
            "caution",
            "one form of arsenic is given and no total: the other form is not known; ask the lab "
            "for total arsenic",
            "water.as_mg_l",
        )


def _unseen_property(sample: Sample, key: str) -> None:
    """Keep the limit of what was looked for and not detected."""
    unseen = sample.best(key, detected=False)
    if unseen is not None and unseen.value is None and sample.best(key) is None:
        sample.below_properties[PROPERTY_NAMES[key]] = unseen.below
        sample.take(unseen)


def _lumped_sodium(sample: Sample) -> None:
    lumped = [r for r in sample.of("na") if r.note.startswith("named na_k") and r.value is not None]
    if lumped and sample.mg_l.get("na") == lumped[0].value:
        sample.flag(
            "na_k_sum",
            "warning",
            f"sodium and potassium are given as one sum ({lumped[0].place}); such a "
            "sum is often the difference of the ion balance, which then proves nothing: ask the "
            "lab for sodium and potassium",
            "water.na_mg_l",
        )


def _phosphate_of_total(sample: Sample) -> None:
    """Take total phosphorus as orthophosphate where that was not measured: at most so much."""
    total = sample.best("po4_total") or sample.best("po4_total", detected=False)
    if total is None or sample.of("po4"):
        return
    per_p = molar_mass("PO4") / molar_mass("P")
    if total.value is None:
        if total.below is not None:
            sample.below_mg_l["po4"] = total.below * per_p
        return
    sample.mg_l["po4"] = total.value * per_p
    sample.flag(
        "phosphate_of_total",
        "caution",
        f"orthophosphate is not in the report: total phosphorus, {shown(total.value, 3)} mg/L as P "
        f"({total.place}), is taken as if all were orthophosphate, {shown(sample.mg_l['po4'], 3)} "
        "mg/L of PO4 at most; have orthophosphate measured",
        "water.po4_mg_l",
    )
