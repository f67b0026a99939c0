"""Values of the site file laid over a report, and a total hardness made whole."""

from types import MappingProxyType

from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.core.water import TEST_KIT, WaterAnalysis
from pretreat.lab.hardness_split import (
    CALCIUM_MG_PER_MEQ,
    MAGNESIUM_MG_PER_MEQ,
    split_cases,
    split_flag,
)
from pretreat.site.design import WaterBasis

HARDNESS = "hardness_mg_l_caco3"
IONS = {"fe": "iron_mg_l", "mn": "manganese_mg_l", "sio2": "silica_mg_l"}
PROPERTIES = {
    HARDNESS: "hardness_mg_l_caco3",
    "tds_mg_l": "tds_mg_l",
    "ec_us_cm": "conductivity_us_cm",
    "free_chlorine_mg_l": "chlorine_mg_l",
}
FIELDS = {
    "ph": "ph",
    "alkalinity_mg_l_caco3": "alkalinity_mg_l_caco3",
    "temperature_c": "temperature_c",
}
WORDS = {
    "hardness_mg_l_caco3": "hardness",
    "iron_mg_l": "iron",
    "manganese_mg_l": "manganese",
    "silica_mg_l": "silica",
    "tds_mg_l": "tds",
    "conductivity_us_cm": "conductivity",
    "chlorine_mg_l": "chlorine",
    "alkalinity_mg_l_caco3": "alkalinity",
}


def laid_over(water: WaterAnalysis, basis: WaterBasis) -> WaterAnalysis:
    """Return an analysis with the values of the site file in place of those printed.

    A hardness replaces calcium and magnesium: both are scaled to it where they were measured.

    Parameters
    ----------
    water : WaterAnalysis
        The report. [-]
    basis : WaterBasis
        Choices of the site file. [-]

    Returns
    -------
    WaterAnalysis
        The water that is worked with, each value that was laid over it flagged. [-]
    """
    overlay = _Overlay(water, basis)
    overlay.ions()
    overlay.properties()
    fields = overlay.fields()
    if not overlay.flags:
        return water
    return overlay.water(fields)


class _Overlay:
    """The values of one report while those of the site file are laid over them."""

    def __init__(self, water: WaterAnalysis, basis: WaterBasis) -> None:
        self.report, self.basis = water, basis
        self.flags: list[Flag] = []
        self.mg_l, self.below = dict(water.mg_l), dict(water.below_mg_l)
        self.total, self.dissolved = dict(water.total_mg_l), dict(water.dissolved_mg_l)
        self.others, self.unseen = dict(water.properties), dict(water.below_properties)

    def taken(self, name: str, before: float | None, key: str) -> float | None:
        """Return a value of the site file, flagged where it differs from the printed one."""
        value: float | None = getattr(self.basis, name)
        if value is not None and value != before:
            instead = f"in place of {before:g}" if before is not None else "the report has none"
            text = (
                f"{WORDS.get(name, name)} {value:g} of the site file's [water] is used, {instead}"
            )
            self.flags.append(Flag("site_value_used", "caution", text, f"water.{key}"))
        return value

    def ions(self) -> None:
        for key, name in IONS.items():
            value = self.taken(name, self.mg_l.get(key), f"{key}_mg_l")
            if value is not None:
                self.mg_l[key] = value
                self.below.pop(key, None)
                self.dissolved.pop(key, None)
                if key in self.total:
                    self.total[key] = max(value, self.total[key])

    def properties(self) -> None:
        for key, name in PROPERTIES.items():
            value = self.taken(name, self.others.get(key), key)
            if value is not None:
                self.others[key] = value
                self.unseen.pop(key, None)
        hardness = self.basis.hardness_mg_l_caco3
        if hardness is not None and "ca" in self.mg_l and "mg" in self.mg_l:
            meq = self.mg_l["ca"] / CALCIUM_MG_PER_MEQ + self.mg_l["mg"] / MAGNESIUM_MG_PER_MEQ
            for key in ("ca", "mg") if meq > 0.0 else ():
                self.mg_l[key] *= hardness / CACO3_MG_PER_MEQ / meq

    def fields(self) -> dict[str, float | str]:
        found: dict[str, float | str] = {}
        for field, name in FIELDS.items():
            value = self.taken(name, getattr(self.report, field), field)
            if value is not None:
                found[field] = value
        if "alkalinity_mg_l_caco3" in found:
            self.mg_l.pop("hco3", None)
            self.mg_l.pop("co3", None)
        day = self.basis.sampled
        if day is not None and day.isoformat() != self.report.date:
            instead = (
                f"in place of {self.report.date}" if self.report.date else "the report has none"
            )
            text = f"date of sampling {day} of the site file's [water] is used, {instead}"
            self.flags.append(Flag("site_value_used", "caution", text, "water.date"))
            found["date"] = day.isoformat()
        return found

    def water(self, fields: dict[str, float | str]) -> WaterAnalysis:
        return replace(
            self.report,
            mg_l=MappingProxyType(self.mg_l),
            below_mg_l=MappingProxyType(self.below),
            total_mg_l=MappingProxyType(self.total),
            dissolved_mg_l=MappingProxyType(self.dissolved),
            properties=MappingProxyType(self.others),
            below_properties=MappingProxyType(self.unseen),
            flags=(*self.report.flags, *self.flags),
            **fields,
        )


def kit_water(basis: WaterBasis) -> WaterAnalysis | None:
    """Return the analysis that a test kit makes, None where it has no pH or no hardness.

    Parameters
    ----------
    basis : WaterBasis
        Choices of the site file. [-]

    Returns
    -------
    WaterAnalysis or None
        Iron and manganese not tested are absent from it. [-]
    """
    if basis.analysis is not None or basis.ph is None or basis.hardness_mg_l_caco3 is None:
        return None
    found = laid_over(WaterAnalysis(TEST_KIT, "site file", ph_kind="field"), basis)
    return replace(found, flags=())


def whole_hardness(water: WaterAnalysis) -> WaterAnalysis:
    """Return an analysis whose total hardness stands as calcium and magnesium.

    Where one of the two was measured the other is the difference; where neither was, the usual
    split is taken and flagged.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    WaterAnalysis
        The same where both were measured or no total is known. [-]
    """
    hardness = water.properties.get(HARDNESS)
    missing = [k for k in ("ca", "mg") if not water.measured(k)]
    if hardness is None or not missing:
        return water
    ions = dict(water.mg_l)
    flag: Flag | None = None
    if hardness == 0.0:
        ions |= dict.fromkeys(missing, 0.0)
    elif len(missing) == 1:
        other = "mg" if missing == ["ca"] else "ca"
        mass = {"ca": CALCIUM_MG_PER_MEQ, "mg": MAGNESIUM_MG_PER_MEQ}
        left = hardness / CACO3_MG_PER_MEQ - ions.get(other, 0.0) / mass[other]
        ions[missing[0]] = max(left, 0.0) * mass[missing[0]]
        text = (
            f"{'calcium' if missing == ['ca'] else 'magnesium'} was not measured: taken as the "
            "total hardness less the rest of it"
        )
        flag = Flag("hardness_difference", "caution", text, f"water.{missing[0]}_mg_l")
    else:
        cases = split_cases(hardness)
        ions |= {"ca": cases.taken.ca_mg_l, "mg": cases.taken.mg_mg_l}
        flag = split_flag(cases)
    more = () if flag is None else (flag,)
    return replace(water, mg_l=MappingProxyType(ions), flags=(*water.flags, *more))
