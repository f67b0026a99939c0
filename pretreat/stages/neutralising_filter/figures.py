"""The neutralising filter's section: contact, what dissolves, the pH it reaches, its life."""

from typing import Any

import numpy as np

from pretreat.chemistry.ccpp import calcite_equilibrium
from pretreat.chemistry.speciation import speciate
from pretreat.core.graph import elementwise
from pretreat.core.results import Ledger
from pretreat.core.units import molar_mass
from pretreat.membrane.elements.remineralisation import usual_share_of_co2
from pretreat.stages.bed import laws as bed
from pretreat.stages.bed.filling import filling_origin
from pretreat.stages.bed.vessels import Vessel, VesselOption, choose_vessel, nominal_vessels
from pretreat.stages.delivered import Delivered, handed_on
from pretreat.stages.neutralising_filter import laws
from pretreat.stages.neutralising_filter.calcite import saturated, with_dissolved, with_gas
from pretreat.stages.train import Train

P = "neutralising_filter"
LABEL = "Neutralising filter"
CONTACT_MIN = 20.0  # PRACTICE: 15 to 30 min of empty-bed contact; no printed value found
LEAST_CONTACT_MIN = 15.0  # PRACTICE: low end of 15 to 30 min
FASTEST_M_H = 9.33  # TWDB2012: 0.51 ft/min, tested upflow
BULK_DENSITY_KG_L = 1.5  # MEMORY: crushed calcite, 1.4 to 1.6 kg/L
TOP_UP_PCT = 30.0  # PRACTICE: topped up before a third of the bed is gone
CO2_MG_PER_MOL = 1000.0 * molar_mass("CO2")
CACO3_MG_PER_MOL = 1000.0 * molar_mass("CaCO3")
TRACE_CA_MOL_KG = 1e-6  # a water without any calcium has no saturation index
Equilibrium = tuple[float, float]  # calcite [mg/L as CaCO3] and pH
FEED_LIMITS = (("fe", 0.1, "iron"), ("al", 0.15, "aluminium"))  # MACKINTOSH2003, mg/L


def deliver(train: Train, before: Delivered) -> Delivered:
    """Enter the neutralising filter, sized or rated; return the water behind it.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    before : Delivered
        The water that reaches it. [-]

    Returns
    -------
    Delivered
        The water behind it: its usual share of the carbon dioxide used up, saturation not
        exceeded; the water ahead of it where the contact is too short. [-]
    """
    _enter_vessel(train, before)
    _enter_contact(train, before)
    dissolved = _enter_dissolved(train, before)
    _note_place(train)
    behind = before.water
    if contact_too_short(train.entries.ledger):
        return before  # what so short a bed takes up is not known: nothing is counted on
    if behind is not None and dissolved is not None:
        own = train.design.product.calcite_co2_share
        share = usual_share_of_co2() if own is None else own
        usual = share * train.entries.value(f"{P}.most_dissolved_mg_l_caco3")
        behind = with_dissolved(behind, min(dissolved, usual))
    elif dissolved is not None and before.co2 is not None:
        train.entries.law(
            f"{P}.co2_mg_l",
            laws.co2_left_mg_l,
            co2_mg_l=before.co2,
            dissolved_mg_l_caco3=f"{P}.dissolved_mg_l_caco3",
            label="Carbon dioxide left behind the calcite",
        )
    return handed_on(train, before, behind, P, "calcite", f"{P}.media_volume_l")


def contact_too_short(ledger: Ledger, share: float = 1.0) -> bool:
    """Tell whether the contact is shorter than practice counts on for saturation.

    Parameters
    ----------
    ledger : Ledger
        With the filter entered. [-]
    share : float
        Share of the product that passes it, the rest beside it. [-]

    Returns
    -------
    bool
        Whether it is.
    """
    contact = ledger.number(f"{P}.contact_min")
    return contact is not None and contact < share * LEAST_CONTACT_MIN * (1.0 - 1e-9)


def _enter_vessel(train: Train, before: Delivered) -> None:
    entries, choice = train.entries, train.design.neutralising_filter
    wanted = CONTACT_MIN if choice.contact_time_min is None else choice.contact_time_min
    assumed = choice.contact_time_min is None
    entries.given(
        f"{P}.contact_wanted_min",
        wanted,
        "min",
        f"{LABEL}: contact time wanted",
        origin="assumed" if assumed else "chosen",
        cites=("PRACTICE",) if assumed else (),
        method="15 to 30 min of the empty vessel",
    )
    need = entries.law(
        f"{P}.media_needed_l",
        laws.volume_for_contact_l,
        product_m3_h=before.flow,
        contact_min=f"{P}.contact_wanted_min",
        label=f"{LABEL}: calcite needed",
        method="product flow times contact time",
    )
    diameter, number, volume, method = _chosen(train, before, need)
    entries.given(
        f"{P}.vessel_diameter_m",
        diameter,
        "m",
        f"{LABEL}: vessel diameter",
        origin="chosen",
        cites=(),
    )
    entries.given(
        f"{P}.vessels_in_service",
        number,
        "-",
        f"{LABEL}: vessels side by side",
        origin="chosen",
        cites=(),
    )
    entries.given(
        f"{P}.media_volume_l",
        volume,
        "L",
        f"{LABEL}: calcite filled",
        origin="chosen" if train.sizing else filling_origin(train, P, "media_volume_l"),
        cites=(),
        method=method,
    )
    for name in ("vessel_diameter_m", "vessels_in_service", "media_volume_l"):
        entries.ledger.rests(f"{P}.{name}", held=True)


def _chosen(train: Train, before: Delivered, need_l: float) -> tuple[float, float, float, str]:
    """Return diameter, number and filling of the vessels, and how they were found."""
    choice = train.design.neutralising_filter
    flow = train.entries.value(before.flow)

    def trial(vessel: Vessel, number: int) -> VesselOption:
        media, area = number * vessel.media_l, number * vessel.area_m2
        velocity, failures = flow / area, []
        if media < need_l:
            failures.append(f"holds {media:.0f} L of the {need_l:.0f} L needed")
        if velocity > FASTEST_M_H:
            failures.append(f"{velocity:.1f} m/h, tested up to {FASTEST_M_H:g}")
        depth = media / 1000.0 / area
        return VesselOption(vessel, number, media, area, depth, velocity, tuple(failures), ())

    if train.sizing:
        best = choose_vessel(trial, nominal_vessels())[0]
        how = f"{best.number} x {best.vessel.name}, nominal filling"
        return best.vessel.diameter_m, float(best.number), best.media_l, how
    volume = float(choice.media_volume_l)
    diameter = choice.vessel_diameter_m
    if diameter is None:
        holding = [v for v in nominal_vessels() if v.media_l >= volume]
        diameter = (holding or nominal_vessels()[-1:])[0].diameter_m
    return float(diameter), 1.0, volume, "installed"


def _enter_contact(train: Train, before: Delivered) -> None:
    entries = train.entries
    entries.law(
        f"{P}.area_m2",
        bed.bed_area_m2,
        vessel_diameter_m=f"{P}.vessel_diameter_m",
        label=f"{LABEL}: bed area of one vessel",
    )
    entries.given(
        f"{P}.service_max_m_h",
        FASTEST_M_H,
        "m/h",
        f"{LABEL}: fastest flow tested",
        evidence="printed",
        cites=("TWDB2012",),
        method="0.51 ft/min, upflow",
    )
    entries.law(
        f"{P}.flow_each_m3_h",
        bed.flow_of_one_m3_h,
        flow_m3_h=before.flow,
        vessels=f"{P}.vessels_in_service",
        label=f"{LABEL}: flow through each vessel",
    )
    velocity = entries.law(
        f"{P}.velocity_m_h",
        bed.velocity_m_h,
        flow_m3_h=f"{P}.flow_each_m3_h",
        area_m2=f"{P}.area_m2",
        label=f"{LABEL}: velocity",
    )
    contact = entries.law(
        f"{P}.contact_min",
        laws.contact_min,
        volume_l=f"{P}.media_volume_l",
        product_m3_h=before.flow,
        label=f"{LABEL}: contact time",
        method="volume over product flow",
    )
    wanted = entries.value(f"{P}.contact_wanted_min")
    if contact < wanted and not contact_too_short(entries.ledger):
        entries.flag(
            "contact_short",
            "caution",
            f"{LABEL}: {contact:.1f} min of contact, {wanted:g} min wanted (common "
            "practice): the water leaves it less neutral",
            f"{P}.contact_min",
        )
    if velocity > FASTEST_M_H:
        entries.flag(
            "velocity_high",
            "caution",
            f"{LABEL}: {velocity:.1f} m/h, tested up to {FASTEST_M_H:g} m/h (upflow)",
            f"{P}.velocity_m_h",
        )


def equilibrium_of(co2_mg_l: float, temperature_c: float) -> tuple[float, float]:
    """Return what a product water dissolves of calcite in a closed bed, and the pH it reaches.

    The product is taken as pure water with the carbon dioxide that passed the membranes.

    Parameters
    ----------
    co2_mg_l : float
        Carbon dioxide of the product. [mg/L]
    temperature_c : float
        Temperature. [°C]

    Returns
    -------
    tuple of float
        Calcite dissolved [mg/L as CaCO3] and pH [-].
    """
    water = speciate(
        {"Ca": TRACE_CA_MOL_KG},
        temp_c=temperature_c,
        alkalinity_eq_kg=2.0 * TRACE_CA_MOL_KG,
        inorganic_carbon_mol_kg=co2_mg_l / CO2_MG_PER_MOL + TRACE_CA_MOL_KG,
    )
    found = calcite_equilibrium(water)
    dissolved = -float(np.squeeze(found.precipitates_mol_kg)) * CACO3_MG_PER_MOL
    return max(dissolved, 0.0), float(np.squeeze(found.ph))


def _equilibrium(before: Delivered, ahead_mg_l: float, co2: float, temp_c: float) -> Equilibrium:
    """Return what the water that reaches the calcite dissolves, at another CO2 or temperature."""
    if before.water is None:
        return equilibrium_of(co2, temp_c)
    return saturated(with_gas(before.water, co2 - ahead_mg_l, temp_c))


def _enter_dissolved(train: Train, before: Delivered) -> float | None:
    """Enter what dissolves; return it, None where it is not known [mg/L as CaCO3]."""
    entries = train.entries
    co2, temperature = before.co2, "water.operating_temperature_c"
    if co2 is None or entries.ledger.number(temperature) is None:
        entries.flag(
            "not_measured",
            "caution",
            f"{LABEL}: carbon dioxide is not known without pH and an alkalinity above 0: what "
            "dissolves, the pH behind it and how long the charge lasts stay open; measure "
            "alkalinity, and where it is 0, carbon dioxide or acidity",
            f"{P}.media_volume_l",
        )
        return None
    entries.law(
        f"{P}.most_dissolved_mg_l_caco3",
        laws.most_dissolved_mg_l_caco3,
        co2_mg_l=co2,
        label=f"{LABEL}: calcite dissolved at the most",
        method="all carbon dioxide that reaches it to bicarbonate",
    )
    ahead = entries.value(co2)
    reached = "pH of the product behind it, at the most"
    if contact_too_short(entries.ledger):
        reached = "pH at saturation, which so short a contact need not reach"
    dissolved, ph = _equilibrium(before, ahead, ahead, entries.value(temperature))

    def part(number: int) -> Any:
        return elementwise(lambda gas, temp_c: _equilibrium(before, ahead, gas, temp_c)[number])

    for name, value, unit, label, number in (
        (
            "dissolved_mg_l_caco3",
            dissolved,
            "mg/L as CaCO3",
            "calcite dissolved, hardness added",
            0,
        ),
        ("ph_out", ph, "-", reached, 1),
    ):
        entries.computed(
            f"{P}.{name}",
            value,
            unit,
            f"{LABEL}: {label}",
            by=(calcite_equilibrium,),
            inputs=(co2, temperature),
            again=part(number),
            method="closed equilibrium with calcite at the operating temperature",
        )
    _enter_life(train, before)
    return dissolved


def _enter_life(train: Train, before: Delivered) -> None:
    entries = train.entries
    entries.given(
        f"{P}.bulk_density_kg_l",
        BULK_DENSITY_KG_L,
        "kg/L",
        "Bulk density of calcite",
        evidence="memory",
        cites=("MEMORY",),
        method="1.4 to 1.6 kg/L",
    )
    entries.given(
        f"{P}.top_up_pct",
        TOP_UP_PCT,
        "%",
        f"{LABEL}: topped up when so much is gone",
        cites=("PRACTICE",),
    )
    entries.law(
        f"{P}.charge_kg",
        laws.charge_kg,
        volume_l=f"{P}.media_volume_l",
        bulk_density_kg_l=f"{P}.bulk_density_kg_l",
        label=f"{LABEL}: charge of calcite",
    )
    if entries.value(f"{P}.dissolved_mg_l_caco3") <= 0:
        return
    use = {
        "product_m3_d": before.day,
        "dissolved_mg_l_caco3": f"{P}.dissolved_mg_l_caco3",
    }
    entries.law(
        f"{P}.dissolved_kg_per_year",
        laws.dissolved_kg_per_year,
        days_per_year="machine.days_per_year",
        label=f"{LABEL}: calcite dissolved in a year",
        **use,
    )
    entries.law(
        f"{P}.top_up_d",
        laws.top_up_d,
        charge_kg=f"{P}.charge_kg",
        share_pct=f"{P}.top_up_pct",
        label=f"{LABEL}: days to the next topping up",
        evidence="common practice",
        **use,
    )


def _note_place(train: Train) -> None:
    entries, raw = train.entries, train.raw
    if train.design.neutralising_filter.ahead_of_membranes:
        most = entries.ledger.number(f"{P}.most_dissolved_mg_l_caco3")
        adds = "hardness" if most is None else f"up to {most:.0f} mg/L of hardness"
        entries.flag(
            "calcite_ahead_of_membranes",
            "warning",
            f"calcite ahead of the membranes adds {adds} and makes the water scale, and "
            "iron coats it: its place is behind the membranes, or not at all; it is sized "
            "here for the product",
            f"{P}.media_volume_l",
        )
        for ion, most_mg_l, name in FEED_LIMITS:
            entries.given(
                f"{P}.{name}_most_mg_l",
                most_mg_l,
                "mg/L",
                f"{LABEL}: most {name} ahead of calcite",
                evidence="memory",
                cites=("MACKINTOSH2003",),
                method="criteria for limestone contactors",
            )
            if raw.total(ion) > most_mg_l:
                entries.flag(
                    "calcite_feed",
                    "warning",
                    f"{name} {raw.total(ion):.2g} mg/L coats calcite; criteria for it ask "
                    f"less than {most_mg_l:g} mg/L (MACKINTOSH2003)",
                    f"{P}.media_volume_l",
                )
