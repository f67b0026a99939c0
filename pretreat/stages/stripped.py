"""What a device that strips gas with air makes of the water: CO2, sulfide, oxygen, pH."""

from msgspec.structs import replace

from pretreat.stages import stripping
from pretreat.stages.carbonate import (
    CO2_MG_PER_MOL,
    carbonate_keys,
    co2_mg_l,
    enter_ph,
    water_here,
)
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

REMOVED = 0.8  # PRACTICE: of the excess over air
AIR_TO_WATER = 25.0  # NR811: 811.45(3m), least of a packed tower
OXYGEN_MG_L = 8.0  # MEMORY: water that fell through air takes up most of 9 to 11 mg/L
TEMPERATURE = "water.operating_temperature_c"


def strip(train: Train, stream: Stream, prefix: str, label: str) -> Stream:
    """Return the water behind a device that strips; enter what it does.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]
    prefix, label : str
        Key of the stage, and its name. [-]

    Returns
    -------
    Stream
        The water behind it. [-]
    """
    entries = train.entries
    behind = replace(stream, oxygen_mg_l=OXYGEN_MG_L)
    _enter_choices(train, prefix)
    water = water_here(train, stream)
    if water is None or TEMPERATURE not in entries.ledger:
        entries.flag(
            "gas_not_judged",
            "caution",
            f"{label}: pH or alkalinity is not known, so what it strips is not either",
        )
        return behind
    rests = carbonate_keys(entries.ledger, stream)
    lost = _enter_co2(train, prefix, label, co2_mg_l(water), rests)
    behind = replace(behind, carbon_lost_mol_kg=stream.carbon_lost_mol_kg + lost / CO2_MG_PER_MOL)
    enter_ph(train, behind, prefix, label, f"{prefix}.co2_stripped_mg_l")
    possible = _enter_column(train, prefix, label)
    if stream.sulfide_mg_l > 0 and possible:
        behind = replace(behind, sulfide_mg_l=_enter_sulfide(train, stream, prefix, label))
    return behind


def _enter_choices(train: Train, prefix: str) -> None:
    choice = getattr(train.design, prefix)
    for name, own, usual, unit, label, source in (
        (
            "co2_removed",
            choice.co2_removed,
            REMOVED,
            "-",
            "Part of the excess carbon dioxide that is stripped",
            "PRACTICE",
        ),
        (
            "air_to_water",
            choice.air_to_water,
            AIR_TO_WATER,
            "-",
            "Air, volumes per volume of water",
            "NR811",
        ),
    ):
        train.entries.given(
            f"{prefix}.{name}",
            usual if own is None else own,
            unit,
            label,
            origin="assumed" if own is None else "chosen",
            evidence="common practice" if source == "PRACTICE" else "printed",
            cites=(source,) if own is None else (),
        )


def strip_gas(train: Train, prefix: str, label: str, co2: str) -> None:
    """Enter a device that strips carbon dioxide from a water whose amount is entered.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    prefix, label : str
        Key of the stage, and its name. [-]
    co2 : str
        Key of the carbon dioxide ahead of it [mg/L].
    """
    _enter_choices(train, prefix)
    _enter_co2(train, prefix, label, train.entries.value(co2), (co2,))
    _enter_column(train, prefix, label)
    train.entries.law(
        f"{prefix}.co2_mg_l",
        stripping.co2_behind_mg_l,
        co2_mg_l=f"{prefix}.co2_in_mg_l",
        stripped_mg_l=f"{prefix}.co2_stripped_mg_l",
        label=f"Carbon dioxide behind the {label}",
    )


def _enter_co2(
    train: Train,
    prefix: str,
    label: str,
    found_mg_l: float,
    rests: tuple[str, ...],
) -> float:
    entries = train.entries
    entries.computed(
        f"{prefix}.co2_in_mg_l",
        found_mg_l,
        "mg/L",
        f"Carbon dioxide ahead of the {label}",
        inputs=tuple(key for key in rests if key in entries.ledger),
        method="speciation",
        cites=("WATEQ4F", "PB82"),
    )
    entries.law(
        f"{prefix}.co2_gas_water",
        stripping.co2_gas_water,
        temperature_c=TEMPERATURE,
        label="Carbon dioxide in air over that in water, at equilibrium",
    )
    entries.law(
        f"{prefix}.co2_of_air_mg_l",
        stripping.co2_of_air_mg_l,
        gas_water=f"{prefix}.co2_gas_water",
        temperature_c=TEMPERATURE,
        label="Carbon dioxide in equilibrium with air",
    )
    return entries.law(
        f"{prefix}.co2_stripped_mg_l",
        stripping.co2_stripped_mg_l,
        co2_mg_l=f"{prefix}.co2_in_mg_l",
        air_mg_l=f"{prefix}.co2_of_air_mg_l",
        removed=f"{prefix}.co2_removed",
        label="Carbon dioxide stripped",
    )


def _enter_column(train: Train, prefix: str, label: str) -> bool:
    """Enter air and transfer units; tell whether the air is enough."""
    entries = train.entries
    least = entries.law(
        f"{prefix}.least_air",
        stripping.least_air,
        removed=f"{prefix}.co2_removed",
        gas_water=f"{prefix}.co2_gas_water",
        label="Least air for that, at equilibrium",
    )
    factor = entries.law(
        f"{prefix}.stripping_factor",
        stripping.stripping_factor,
        gas_water=f"{prefix}.co2_gas_water",
        air_to_water=f"{prefix}.air_to_water",
        label="Stripping factor of carbon dioxide",
    )
    air = entries.value(f"{prefix}.air_to_water")
    if air <= least or factor <= 1.0:
        entries.flag(
            "air_too_little",
            "warning",
            f"{label}: {air:g} volumes of air for one of water cannot strip "
            f"{entries.value(f'{prefix}.co2_removed'):.0%} of the carbon dioxide, which takes at "
            f"least {least:.2g} at equilibrium: more air (a packed tower has {AIR_TO_WATER:g} or "
            "more), or expect less",
            f"{prefix}.air_to_water",
        )
        return False
    entries.law(
        f"{prefix}.co2_left_share",
        stripping.part_left,
        removed=f"{prefix}.co2_removed",
        label="Part of the excess carbon dioxide that is left",
    )
    entries.law(
        f"{prefix}.transfer_units",
        stripping.transfer_units,
        factor=f"{prefix}.stripping_factor",
        left=f"{prefix}.co2_left_share",
        label="Transfer units of a column that does it",
    )
    return True


def _enter_sulfide(train: Train, stream: Stream, prefix: str, label: str) -> float:
    entries = train.entries
    entries.law(
        f"{prefix}.sulfide_pk",
        stripping.sulfide_pk,
        temperature_c=TEMPERATURE,
        label="First dissociation of hydrogen sulfide",
    )
    entries.law(
        f"{prefix}.molecular_sulfide",
        stripping.molecular_sulfide,
        ph=f"{prefix}.ph",
        sulfide_pk=f"{prefix}.sulfide_pk",
        label="Part of the sulfide that can be stripped at the pH behind",
    )
    entries.law(
        f"{prefix}.h2s_gas_water",
        stripping.h2s_gas_water,
        temperature_c=TEMPERATURE,
        label="Hydrogen sulfide in air over that in water, at equilibrium",
    )
    entries.law(
        f"{prefix}.h2s_factor",
        stripping.stripping_factor,
        gas_water=f"{prefix}.h2s_gas_water",
        air_to_water=f"{prefix}.air_to_water",
        label="Stripping factor of hydrogen sulfide",
    )
    entries.law(
        f"{prefix}.h2s_left_share",
        stripping.left_by_column,
        factor=f"{prefix}.h2s_factor",
        transfer_units=f"{prefix}.transfer_units",
        label="Part of the molecular sulfide that is left",
    )
    left = entries.law(
        f"{prefix}.sulfide_left_mg_l",
        stripping.sulfide_left_mg_l,
        sulfide_mg_l=stream.sulfide_mg_l,
        molecular=f"{prefix}.molecular_sulfide",
        left=f"{prefix}.h2s_left_share",
        label="Sulfide left",
    )
    below = train.raw.h2s_below_mg_l
    if below is not None:
        entries.flag(
            "sulfide_stripped",
            "info",
            f"{label}: sulfide was not detected (below {below:g} mg/L) ahead of it; what is left "
            "is at most that, and counted from half of it",
            f"{prefix}.sulfide_left_mg_l",
        )
        return left
    entries.flag(
        "sulfide_stripped",
        "caution",
        f"{label}: {left:.2g} of {stream.sulfide_mg_l:.2g} mg/L sulfide is left, for only the "
        "molecular part strips and the pH rises as carbon dioxide leaves; oxygen turns some of the "
        "rest into sulfur: filter it",
        f"{prefix}.sulfide_left_mg_l",
    )
    return left
