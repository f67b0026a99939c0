"""Health and hazards that the water brings: limits for drinking water, ammonia, toxic gas."""

from collections.abc import Collection, Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.basis import Flag, Level
from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.activity import tell_in_becquerel
from pretreat.lab.hazards import (
    AMMONIA_MATTERS_MG_N_L,
    N_PER_NH4,
    ammonia_against_chlorine,
    ammonia_flag,
    headspace_h2s_ppm,
    molecular_h2s_mg_l,
    sulfide_gas_flag,
)
from pretreat.lab.health import (
    GERMS,
    Jurisdiction,
    amounts_of,
    concentrate_pci_l,
    exceedances,
    germs_text,
    health_flags,
    radium_text,
    waste_pci_l,
)
from pretreat.lab.others import other_flags
from pretreat.plant.cautions import enter_acid_caution
from pretreat.site.design import ProductUse
from pretreat.stages import BY_KEY
from pretreat.stages.train import Train

DRINKING = "drinking"
MOST_RADIUM_HELD = 0.982  # CFR141: EPA abstract, 70.2 to 98.2 % at five supplies
ACID_PH = 5.0  # PRACTICE: where acid is fed or no pH is known all sulfide counts as gas
ACIDS = ("acid", "weak_acid")
BINDING: Mapping[str, Jurisdiction] = {"us": "us", "eu": "eu", "eu98": "eu", "who": "who"}
# Doses of chlorine and what iron, manganese and sulfide take of them first, by their keys.
FED = (
    (("chlorine.dose_mg_l",), "chlorine.demand_mg_l"),
    (
        ("iron_filter.oxidant_demand_mg_l", "iron_filter.oxidant_residual_mg_l"),
        "iron_filter.oxidant_demand_mg_l",
    ),
)


class Situation(Struct, frozen=True):
    """Where the water goes: keys of the stages, "membrane" among them, and its temperature."""

    stages: tuple[str, ...] = ()
    use: ProductUse = field(default_factory=ProductUse)
    warmest_c: float | None = None


def situation_of(train: Train) -> Situation:
    """Return where the water of a train goes.

    Parameters
    ----------
    train : Train
        Ledger, water, design, mode and decisions. [-]

    Returns
    -------
    Situation
        Stages, use of the product, warmest water. [-]
    """
    stages = (*(key for key in BY_KEY if train.has(key)), "membrane")
    return Situation(stages, train.design.product, train.raw.warmest_c)


def enter_health(ledger: Ledger, water: WaterAnalysis, where: Situation) -> None:
    """Flag limits for drinking water, hydrogen sulfide as a gas, and doses of acid shown.

    Parameters
    ----------
    ledger : Ledger
        With water, train and product entered. [-]
    water : WaterAnalysis
        The analysis. [-]
    where : Situation
        Train, use of the product and the warmest water. [-]
    """
    amounts = amounts_of(water)
    solids = ledger.number("water.tds_mg_l")
    if solids is not None:
        amounts["tds_mg_l"] = solids
    jurisdiction = BINDING.get(where.use.jurisdiction or "")
    found = health_flags(
        amounts,
        drinking=where.use.target == DRINKING,
        jurisdiction=jurisdiction,
        stages=where.stages,
        more=_joined(_in_the_product(ledger), _radium(ledger, where.stages)),
    )
    ledger.flag(*(f if (f.figure or "") in ledger else replace(f, figure=None) for f in found))
    if where.use.target is None and where.stages:
        ledger.flag(*_if_drunk(amounts))
    _enter_germs(ledger, water, where)
    _enter_sulfide(ledger, water, where)
    recovery = ledger.number("machine.recovery") or ledger.number("concentrate.recovery") or 0.0
    taken = any(key in where.stages for key in ("carbon", "bisulfite"))
    ledger.flag(*other_flags(water, 1.0 / (1.0 - recovery), taken=taken))
    enter_acid_caution(ledger)
    tell_in_becquerel(ledger, water, where.use.jurisdiction)


def _enter_germs(ledger: Ledger, water: WaterAnalysis, where: Situation) -> None:
    """Flag germs and half a radium; what is not drunk is told all the same."""
    drunk = where.use.target in (None, DRINKING)
    germs, radium = germs_text(water), radium_text(water.properties)
    if germs:
        figure = next(f"water.{k}" for k, _ in GERMS if water.properties.get(k))
        shown = figure if figure in ledger else None
        ledger.flag(Flag("germs", "warning" if drunk else "caution", germs, shown))
    if radium:
        level: Level = "caution" if drunk else "info"
        ledger.flag(Flag("radium_in_part", level, radium, "water.ra_pci_l"))


def _joined(one: Mapping[str, str], other: Mapping[str, str]) -> dict[str, str]:
    keys = (*one, *(key for key in other if key not in one))
    return {key: "; ".join(x[key] for x in (one, other) if key in x) for key in keys}


def _if_drunk(amounts: Mapping[str, float]) -> tuple[Flag, ...]:
    """Say in one line what is over a limit for health, where nobody said what the water is for."""
    over = [
        f"{one.name} {one.amount:.3g} {one.unit}" for one in exceedances(amounts, aesthetic=False)
    ]
    if not over:
        return ()
    text = (
        f"if anyone drinks the water: over limits for health in the raw water: {', '.join(over)}; "
        'give target = "drinking" in [product], and have the product analysed'
    )
    return (Flag("health_if_drunk", "caution", text),)


def _in_the_product(ledger: Ledger) -> dict[str, str]:
    """Say what is calculated in the product and in what is delivered, where it is known."""
    found = {}
    for prefix, where in (("product.", "product"), ("delivered.", "delivered water")):
        for key, figure in ledger.study().figures.items():
            ends = key.endswith(("_mg_l", "_pci_l"))
            if key.startswith(prefix) and ends and isinstance(figure.value, float):
                name = key.removeprefix(prefix)
                text = f"calculated in the {where}: {figure.value:.2g} {figure.unit}"
                other = ledger.number(f"{prefix}as_if_arsenite_mg_l")
                if name == "as_mg_l" and other is not None:
                    text += f" where all of it is arsenate, {other:.2g} {figure.unit} where all of "
                    text += "it is arsenite: have the form analysed"
                found[name] = found[name.removesuffix("_mg_l")] = text
    return found


def _radium(ledger: Ledger, stages: Collection[str]) -> dict[str, str]:
    """Enter how much radium there is in the concentrate and in the spent brine."""
    words = []
    if not ledger.number("water.ra_pci_l"):
        return {}
    if "membrane" in stages and "softener" not in stages and "concentrate.recovery" in ledger:
        found = ledger.law(
            "health.radium_in_concentrate_pci_l",
            concentrate_pci_l,
            activity_pci_l="water.ra_pci_l",
            recovery="concentrate.recovery",
            label="Radium in the concentrate",
            method="all of it held by the membranes",
        )
        words.append(f"about {found:.2g} pCi/L in the concentrate")
    wasted = ("softener.meter_setting_m3", "softener.waste_m3_per_regeneration")
    if "softener" in stages and all(ledger.number(one) for one in wasted):
        ledger.put(
            "health.radium_held_share",
            MOST_RADIUM_HELD,
            "-",
            "Radium held by a softener, at most",
            origin="assumed",
            evidence="printed",
            method="EPA abstract, 70.2 to 98.2 % at five supplies",
            cites=("CFR141",),
        )
        found = ledger.law(
            "health.radium_in_waste_pci_l",
            waste_pci_l,
            activity_pci_l="water.ra_pci_l",
            water_m3=wasted[0],
            held_share="health.radium_held_share",
            waste_m3=wasted[1],
            label="Radium in the waste of a regeneration, mean",
            method="what the resin held of one run, in the whole waste",
        )
        words.append(
            f"up to about {found:.2g} pCi/L in the waste of a regeneration on the average, several "
            "times more at the peak: check the rule for the drain"
        )
    return {"ra_pci_l": "; ".join(words)} if words else {}


def _enter_sulfide(ledger: Ledger, water: WaterAnalysis, where: Situation) -> None:
    sulfide, temp_c = water.properties.get("h2s_mg_l"), where.warmest_c
    if temp_c is None:
        temp_c = ledger.number("water.operating_temperature_c")
    if not sulfide or temp_c is None:
        return
    acid = not set(ACIDS).isdisjoint(where.stages)
    ph = ACID_PH if water.ph is None or acid else water.ph
    ledger.put(
        "health.h2s_headspace_ppm",
        headspace_h2s_ppm(molecular_h2s_mg_l(sulfide, ph, temp_c), temp_c),
        "ppm",
        "Hydrogen sulfide in the air over the raw water, closed tank",
        method="equilibrium of the molecular part at the warmest water",
        cites=("PHREEQCDAT",),
    )
    known = (k for k in ("water.h2s_mg_l", "water.ph") if k in ledger)
    ledger.rests("health.h2s_headspace_ppm", *known)
    flag = sulfide_gas_flag(sulfide, ph, temp_c)
    ledger.flag(*([] if flag is None else [flag]))


def enter_ammonia(train: Train) -> None:
    """Flag what ammonia makes of the chlorine that is fed, or that the raw water brings.

    Parameters
    ----------
    train : Train
        With its stages entered. [-]
    """
    ledger, raw = train.entries.ledger, train.raw
    dose, demand = _chlorine(train)
    if not dose:
        return
    ammonium = raw.mg_l.get("nh4")
    if ammonium is None:
        if not raw.from_test_kit and not train.has("chlorine"):  # a feed of its own says it itself
            whose = "chlorine is fed" if _fed(train) else "the raw water brings chlorine"
            text = (
                f"{whose} and ammonia was not measured: it takes 8 to 15 mg of chlorine for "
                "each mg of nitrogen before any is free; have it measured"
            )
            train.entries.flag("not_measured", "caution", text)
        return
    if ammonium * N_PER_NH4 < AMMONIA_MATTERS_MG_N_L:
        return
    found = ammonia_against_chlorine(ammonium, dose, demand)
    ledger.put(
        "train.breakpoint_mg_l",
        found.breakpoint_mg_l,
        "mg/L",
        "Chlorine to the breakpoint of the ammonia, by the reaction",
        method="3 Cl2 for 2 NH3, 7.59 mg for each mg of nitrogen",
        cites=("STOICHIOMETRY",),
    )
    ledger.rests("train.breakpoint_mg_l", *(k for k in ("water.nh4_mg_l",) if k in ledger))
    flag = ammonia_flag(found, dosed=_fed(train))
    ledger.flag(*([] if flag is None else [flag]))


def _chlorine(train: Train) -> tuple[float, float]:
    """Return the chlorine that meets ammonia, and what other demand takes of it first [mg/L]."""
    ledger = train.entries.ledger
    for doses, demand in FED if _fed(train) else ():
        if all(ledger.number(one) is not None for one in doses):
            total = sum(ledger.number(one) or 0.0 for one in doses)
            return total, ledger.number(demand) or 0.0
    return train.raw.free_chlorine_mg_l, 0.0


def _fed(train: Train) -> bool:
    return train.question is not None and train.question.oxidant == "chlorine"
