"""What else stands in the water: oxidants, oil, polymers, gases, germs, heat, and what is unknown.

One set of rules for a water without a train and for one with it. An oxidant is taken by carbon
or bisulfite; nothing that a train is chosen of takes oil, polymers or heat.
"""

from collections.abc import Collection

from msgspec.structs import replace

from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis
from pretreat.lab.others import OXIDANT, UNKNOWN, other_texts, others_found
from pretreat.plant.health import DRINKING
from pretreat.plant.verdict.case import NO_TRAIN, Obstacle
from pretreat.plant.verdict.open_points.unread import names_unread
from pretreat.site.design import ProductUse
from pretreat.stages.bed.media import media
from pretreat.stages.limits import train_limits

TAKERS = ("carbon.media_volume_l", "bisulfite.dose_mg_l")  # figures of what takes an oxidant
OF_HEALTH = frozenset({"toxic", "unknown"})  # classes of data/other_classes.csv
METALS, METAL_MG_L = ("fe", "mn", "al"), 0.3  # PRACTICE: of a metal, what is worth settling
RADON, US = "radon", "us"  # a class; 2013/51/Euratom names a value, 40 CFR 141 none
STRIPPERS = ("degasser.air_to_water", "product_degasser.air_to_water")


def other_obstacles(
    ledger: Ledger,
    water: WaterAnalysis,
    recovery: float,
    named: Collection[str] = (),
    use: ProductUse | None = None,
) -> list[Obstacle]:
    """Return what a report holds beside its analytes and must be seen to, or stops the machine.

    Parameters
    ----------
    ledger : Ledger
        With the train entered, where there is one. [-]
    water : WaterAnalysis
        The analysis. [-]
    recovery : float
        Product / feed, for what comes down in the concentrate. [-]
    named : collection of str
        Lines of a matter of health that the product has named already. [-]
    use : ProductUse, optional
        What the product is for. [-]

    Returns
    -------
    list of Obstacle
        Gravest first. [-]
    """
    lines = others_found(water, 1.0 / (1.0 - recovery))
    lines = tuple(f for f in lines if f.kind not in OF_HEALTH or f.name not in named)
    unread = names_unread(water)  # told by the line that they stand in
    lines = tuple(f for f in lines if f.kind != UNKNOWN or f.name not in unread)
    taken = any(key in ledger for key in TAKERS)
    found = []
    for kind, stops, text in other_texts(lines):
        if kind == OXIDANT and (taken or ledger.study().value("study.kind") != NO_TRAIN):
            continue  # the train takes it, or it is named as unsafe by the rules of its stages
        weight = "stops" if stops else "condition"
        if kind == RADON and _radon_is_drunk(ledger, use):
            weight = "question"
        found.append(Obstacle(weight, text, anyway=True, code=kind))  # type: ignore[arg-type]
    return sorted(found, key=lambda one: one.kind != "stops")


def _radon_is_drunk(ledger: Ledger, use: ProductUse | None) -> bool:
    """Tell whether people drink it where a law names a value for radon, and nothing strips it."""
    drunk = use is not None and use.target == DRINKING and use.jurisdiction != US
    return drunk and not any(key in ledger for key in STRIPPERS)


def retell_without(ledger: Ledger, water: WaterAnalysis, named: Collection[str]) -> None:
    """Take out of the flags what the verdict names of a matter of health: once is enough.

    Parameters
    ----------
    ledger : Ledger
        With the flags of the water entered. [-]
    water : WaterAnalysis
        The analysis. [-]
    named : collection of str
        Lines that the product has named. [-]
    """
    if not named:
        return
    lines = others_found(water)
    rest = tuple(f for f in lines if f.name not in named)
    told = {t: kind for kind, _, t in other_texts(lines) if kind in OF_HEALTH}
    left = {kind: t for kind, _, t in other_texts(rest)}
    flags = ledger.study().flags
    kept = (replace(f, text=left.get(told[f.text], "")) if f.text in told else f for f in flags)
    ledger.retell(f for f in kept if f.text)


def acid_obstacles(ledger: Ledger, water: WaterAnalysis) -> list[Obstacle]:
    """Return what an acid water asks for ahead of any filter: no train of the table does it.

    Parameters
    ----------
    ledger : Ledger
        With the train entered; a water without one is judged for its scales alone. [-]
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    list of Obstacle
        Nothing, or that a pilot comes first. [-]
    """
    least = train_limits()["acid_water"]
    if water.ph is None or water.ph >= least.value:
        return []
    if ledger.study().value("study.kind") == NO_TRAIN:
        return []
    amounts = {k: max(water.mg_l.get(k, 0.0), water.total_mg_l.get(k, 0.0)) for k in METALS}
    much = [f"{analytes()[k].name} {v:.3g} mg/L" for k, v in amounts.items() if v > METAL_MG_L]
    comes_down = f", settle what comes down ({', '.join(much)})" if much else ", let it settle"
    text = (
        f"the water is acid: pH {water.ph:.1f}, below {least.value:g} ({least.evidence}), no "
        f"alkalinity worth the name: neutralise it with lime or caustic ahead of everything"
        f"{comes_down} and filter, find by a pilot how much it takes, and size anew with the water "
        "behind it; acid water eats steel, copper and cement"
    )
    return [Obstacle("unknown", text, anyway=True, code="acid_water")]


MEDIUM = "iron_filter.medium"
BEDS = (("softener.iron_manganese_in_mg_l", "softening resin"),)  # a figure, and what fills it


def heat_obstacles(ledger: Ledger, operating_c: float, warmest_c: float | None) -> list[Obstacle]:
    """Return what the warmest water does to membranes of polyamide, and to media of the train.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]
    operating_c : float
        Operating temperature. [°C]
    warmest_c : float, optional
        Where the site file gives one. [°C]

    Returns
    -------
    list of Obstacle
        Nothing, a condition, or what stops the machine. [-]
    """
    warm = max(operating_c, operating_c if warmest_c is None else warmest_c)
    most, usual = (train_limits()[f"membrane_temperature{end}"] for end in ("", "_usual"))
    beds = _too_hot_for(ledger, warm)
    if warm <= usual.value and not beds:
        return []
    of = f"the warmest water is {warm:g} °C" if warm > operating_c else f"the water is {warm:g} °C"
    if warm <= usual.value:
        return [Obstacle("condition", f"{of}: {beds}", of_train=True, code="warm")]
    if warm > most.value:
        text = f"{of}; membranes of polyamide, their glue and plastic vessels take at most "
        text += f"{most.value:g} °C ({most.evidence}): cool it ahead"
        return [Obstacle("stops", text, anyway=True)]
    text = f"{of}: above {usual.value:g} °C ({usual.evidence}) many elements, fibreglass vessels "
    text += f"and plastic fittings are at their limit ({most.value:g} °C): check the rating of each"
    text += f"; {beds}" if beds else ""
    return [Obstacle("condition", text, anyway=True, code="warm")]


def _too_hot_for(ledger: Ledger, warm_c: float) -> str:
    """Say which media of the train the warmest water is above the highest temperature of."""
    names = [name for key, name in BEDS if key in ledger]
    filled = ledger.study().value(MEDIUM)
    names += [filled] if isinstance(filled, str) and filled in media() else []
    over = {
        name: most
        for name in names
        if (most := media()[name].properties.get(HIGHEST)) is not None and warm_c > most.value
    }
    if not over:
        return ""
    each = ", ".join(
        f"{name} at most {most.value:g} °C ({EVIDENCES.get(most.evidence, most.evidence)})"
        for name, most in over.items()
    )
    return f"above the highest temperature of a medium of the train: {each}: take one that bears it"


HIGHEST = "temperature_max_c"
EVIDENCES = {"memory": "from memory"}
