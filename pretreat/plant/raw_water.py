"""The raw water that the train takes, from an analysis or from test-kit values."""

import math

import numpy as np
from msgspec.structs import replace

from pretreat.chemistry.carbonate import MOST_CO2_MOL_KG
from pretreat.core.basis import Flag
from pretreat.core.errors import AnalysisError
from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.others import oxidants_of
from pretreat.lab.water_figures import LAB_TEMPERATURE_C, Composition, property_taken
from pretreat.membrane.feed import FeedWater, feed_water
from pretreat.membrane.rests import water_keys
from pretreat.plant.uncertainty.seasons import UNKNOWN_COLDEST_C
from pretreat.plant.verdict.gaps import STAND_IN_PH
from pretreat.site.design import DesignBasis, WaterBasis
from pretreat.stages.stream import RawWater

WITHOUT_PH = (
    "the report has no pH: calcium carbonate and calcium phosphate cannot be judged, the other "
    "scales are, for they hardly depend on it; measure pH at the well and add it to the report"
)
CO2_MG_PER_MOL = 44_009.0  # IUPAC2021


def raw_water(water: WaterAnalysis, found: Composition, design: DesignBasis) -> RawWater:
    """Return the raw water of an analysis as the train takes it.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    found : Composition
        What was taken from it. [-]
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    RawWater
        The water ahead of the first stage. [-]
    """
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
        oxygen_mg_l=property_taken(water, "oxygen_mg_l"),
        h2s_below_mg_l=water.below_properties.get("h2s_mg_l"),
        free_chlorine_mg_l=property_taken(water, "free_chlorine_mg_l") or 0.0,
        toc_mg_l=property_taken(water, "toc_mg_l"),
        turbidity_ntu=property_taken(water, "turbidity_ntu"),
        sdi=property_taken(water, "sdi"),
        oxidants=tuple(oxidants_of(water)),
    )


def with_oxidants(water: WaterAnalysis, design: DesignBasis) -> DesignBasis:
    """Return the design with the oxidants of the report that are no free chlorine.

    Carbon and bisulfite take them as they take chloramine: slowly, and by their equivalents.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    design : DesignBasis
        The engineer's choices; a figure of the site's own governs. [-]

    Returns
    -------
    DesignBasis
        The same where the report holds none. [-]
    """
    found = sum(oxidants_of(water).values())
    if design.carbon.chloramine_mg_l is not None or found <= 0.0:
        return design
    return design.with_stages(carbon=replace(design.carbon, chloramine_mg_l=found))


def _coldest(operating_c: float, coldest_c: float | None, *, unknown: bool) -> float:
    """Return the coldest water: as given, 5 °C where no temperature is known at all."""
    if coldest_c is not None:
        return coldest_c
    return min(UNKNOWN_COLDEST_C, operating_c) if unknown else operating_c


def kit_raw_water(ledger: Ledger, design: DesignBasis) -> RawWater:
    """Enter test-kit values; sizing runs on them, the chemistry is absent.

    Parameters
    ----------
    ledger : Ledger
        Takes the figures. [-]
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    RawWater
        The water ahead of the first stage. [-]
    """
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
    if basis.sampled is not None:
        day = basis.sampled.isoformat()
        ledger.put("water.date", day, "-", "Date of sampling", origin="measured")
    ledger.put(
        "water.hardness_mg_l_caco3",
        basis.hardness_mg_l_caco3,
        "mg/L as CaCO3",
        "Hardness by test kit",
        origin="measured",
        evidence="read on site",
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
                evidence="read on site",
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
    _enter_rest(ledger, basis)
    ledger.flag(
        Flag(
            "chemistry_absent",
            "caution",
            "test-kit values only: no scaling, no recovery limit and no leakage from the "
            "composition; send a sample to a laboratory before the recovery is raised",
        )
    )
    unknown = basis.temperature_c is None and basis.operating_temperature_c is None
    if basis.silica_mg_l is not None:
        kit["sio2"] = basis.silica_mg_l
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
        total_mg_l={k: kit[k] for k in ("fe", "mn")},
        alkalinity_mg_l_caco3=basis.alkalinity_mg_l_caco3,
        temperature_c=operating,
        coldest_c=_coldest(operating, coldest, unknown=unknown),
        free_chlorine_mg_l=basis.chlorine_mg_l or 0.0,
        warmest_c=operating if warmest is None else warmest,
        from_test_kit=True,
    )


# What a test kit may give beside hardness, iron and manganese: field, key of the figure, unit.
REST = (
    ("alkalinity_mg_l_caco3", "alkalinity_mg_l_caco3", "mg/L as CaCO3", "Alkalinity"),
    ("tds_mg_l", "tds_reported_mg_l", "mg/L", "Dissolved solids"),
    ("conductivity_us_cm", "ec_us_cm", "µS/cm", "Conductivity"),
    ("silica_mg_l", "sio2_mg_l", "mg/L", "Silica"),
    ("chlorine_mg_l", "free_chlorine_mg_l", "mg/L", "Free chlorine"),
    ("temperature_c", "temperature_c", "°C", "Water temperature"),
)


def _enter_rest(ledger: Ledger, basis: WaterBasis) -> None:
    """Enter what else the kit gives; without a pH no scale is judged by it."""
    given = [(k, unit, name, getattr(basis, field)) for field, k, unit, name in REST]
    given = [one for one in given if one[-1] is not None]
    for key, unit, name, value in given:
        ledger.put(
            f"water.{key}",
            value,
            unit,
            f"{name} by test kit",
            origin="measured",
            evidence="read on site",
            method="test kit, from the site file",
        )
    scaling = [name.lower() for key, _, name, _ in given if key.startswith(("alk", "sio2", "tds"))]
    if scaling:
        text = (
            f"{', '.join(scaling)} given without a pH: no scale can be judged by it; measure the "
            "pH at the well and add ph to [water]"
        )
        ledger.flag(Flag("ph_missing", "warning", text, "water.hardness_mg_l_caco3"))


def enter_speciated(ledger: Ledger, water: WaterAnalysis, found: Composition) -> None:
    """Enter ionic strength and carbon dioxide of the water as analysed, where it has a pH."""
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
    if found.alkalinity_mg_l_caco3 > 0.0:
        ledger.put(
            "water.co2_mg_l",
            co2,
            "mg/L",
            "Carbon dioxide, calculated",
            method="speciation from pH and alkalinity",
            cites=("WATEQ4F", "PB82"),
        )
        ledger.rests("water.co2_mg_l", *water_keys(ledger, treated=False))


def feed_of_analysis(ledger: Ledger, water: WaterAnalysis, found: Composition) -> FeedWater:
    """Return the feed at the operating temperature; without a pH, one that has no carbonate.

    Parameters
    ----------
    ledger : Ledger
        Takes what is said of a gap. [-]
    water : WaterAnalysis
        The analysis. [-]
    found : Composition
        What was taken from it. [-]

    Returns
    -------
    FeedWater
        The feed. [-]

    Raises
    ------
    AnalysisError
        If pH and alkalinity cannot belong together.
    """
    if water.ph is None:
        ledger.flag(Flag("ph_missing", "warning", WITHOUT_PH, "water.source"))
        return feed_water(found.scaling, math.nan, STAND_IN_PH, found.operating_temp_c)
    if math.isnan(found.alkalinity_mg_l_caco3):
        ledger.flag(
            Flag(
                "not_measured",
                "warning",
                "alkalinity was not measured: calcium carbonate cannot be judged, pH of the "
                "concentrate is taken as that of the feed",
            )
        )
    enter_speciated(ledger, water, found)
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
