"""A train fixed by the engineer: ``[train] stages`` in the site file names exactly its stages."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.errors import DesignError, one_of
from pretreat.site.design import DesignBasis
from pretreat.site.keys import Table
from pretreat.stages import BY_KEY, ORDER


class TrainDesign(Struct, frozen=True):
    """The stages that the engineer fixes, in the order of flow; None leaves them to be chosen.

    ``chosen`` says that it was the program that put them together.
    """

    stages: tuple[str, ...] | None = None
    chosen: bool = False


# Other words of the trade for a stage.
SYNONYMS = {
    "antiscalant": "inhibitor",
    "anti_scalant": "inhibitor",
    "antiscaling": "inhibitor",
    "scale_inhibitor": "inhibitor",
    "greensand": "iron_filter",
    "manganese_greensand": "iron_filter",
    "manganese_filter": "iron_filter",
    "oxidising_filter": "iron_filter",
    "ion_exchange": "softener",
    "water_softener": "softener",
    "activated_carbon": "carbon",
    "carbon_filter": "carbon",
    "gac": "carbon",
    "sand_filter": "multimedia",
    "media_filter": "multimedia",
    "cartridge_filter": "cartridge",
    "sediment_filter": "cartridge",
    "smbs": "bisulfite",
    "metabisulfite": "bisulfite",
    "sodium_bisulfite": "bisulfite",
    "hypochlorite": "chlorine",
    "chlorination": "chlorine",
    "aerator": "aeration",
    "decarbonator": "degasser",
    "caustic": "alkali",
    "calcite": "neutralising_filter",
    "calcite_filter": "neutralising_filter",
}


def _meant(item: str) -> str:
    """Name the stage that a word of the trade stands for, else the nearest in spelling."""
    word = item.strip().lower().replace(" ", "_").replace("-", "_")
    meant = SYNONYMS.get(word)
    return f"; did you mean '{meant}'?" if meant in BY_KEY else one_of(item, list(BY_KEY))


def _stages(where: str, value: Any, _base: Path) -> tuple[str, ...]:
    """Read the keys of the stages; refuse one that is none, and one named twice."""
    if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
        raise DesignError(
            f'{where} = {value!r}: write the stages in order, as in ["iron_filter", "carbon", '
            '"cartridge"]'
        )
    faults = [
        f"{where}: '{item}' is not a stage{_meant(item)}" for item in value if item not in BY_KEY
    ]
    faults += [
        f"{where}: '{item}' stands there {value.count(item)} times; write it once"
        for item in dict.fromkeys(value)
        if value.count(item) > 1
    ]
    if faults:
        raise DesignError(*faults)
    return tuple(value)


# Prices that only the comparison of trains takes.
PRICES = (
    "element_each",
    "study_years",
    "bisulfite_per_kg",
    "alkali_per_kg",
    "weak_acid_resin_per_l",
    *(f"installed_{stage.key}" for stage in ORDER),
)
TABLE = Table(TrainDesign, {"stages": ("stages", _stages, "")}, prices=PRICES)


def fixed_stages(design: DesignBasis) -> Sequence[str] | None:
    """Return the keys of the stages that the engineer fixed, None where they are chosen.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    sequence of str or None
        Keys, in the order of flow. [-]
    """
    choice: Mapping[str, Any] = design.stages
    return choice["train"].stages if "train" in choice else None


def chosen_train(design: DesignBasis) -> bool:
    """Tell whether the stages were put together by the program.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    bool
        False where they are fixed by hand, or decided stage by stage. [-]
    """
    return "train" in design.stages and bool(design.stages["train"].chosen)


def by_hand(design: DesignBasis) -> bool:
    """Tell whether the engineer fixed the stages: then what a code refuses is a warning.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    bool
        False where the stages are chosen or decided by the program. [-]
    """
    return fixed_stages(design) is not None and not chosen_train(design)


def settled(design: DesignBasis) -> DesignBasis:
    """Return the design in which every stage is in or out as the fixed train says.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    DesignBasis
        The same where no train is fixed; an inhibitor described is one that is dosed. [-]
    """
    fixed = fixed_stages(design)
    if fixed is None:
        described = any(key.startswith("inhibitor.") for key in design.chosen)
        wanted = design.stages["inhibitor"].include if "inhibitor" in design.stages else None
        if not described or "limits.inhibitor" in design.chosen:
            return design
        return design.change("limits", inhibitor=wanted is not False)
    records = {
        key: replace(record, include=key in fixed)
        for key, record in design.stages.items()
        if "include" in getattr(record, "__struct_fields__", ())
    }
    if "iron_filter" in fixed and "iron_filter" in records:
        own = {
            k.removeprefix("iron_filter.") for k in design.chosen if k.startswith("iron_filter.")
        }
        fed = {k: v for k, v in _as_fed(fixed).items() if k not in own}
        records["iron_filter"] = replace(records["iron_filter"], **fed)
    return design.with_stages(**records).change("limits", inhibitor="inhibitor" in fixed)


FEEDS = ("chlorine", "permanganate")
REMOVERS = ("carbon", "bisulfite")


def _as_fed(fixed: Sequence[str]) -> Mapping[str, str]:
    """Return how an iron filter works behind what is fed ahead of it, as a chosen train has it.

    Air alone where nothing stands behind that would take an oxidant out.
    """
    ahead = fixed[: fixed.index("iron_filter")]
    fed = [key for key in ahead if key in FEEDS]
    if fed:
        return {"oxidant": fed[-1], "regeneration": "continuous"}
    if "aeration" in ahead and not set(REMOVERS) & set(fixed):
        return {"oxidant": "air", "regeneration": "continuous"}
    return {}
