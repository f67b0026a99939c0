"""What a report prints in a line that could not be read: it is there, and its figure is not."""

from pretreat.core.water import WaterAnalysis
from pretreat.lab.interpret.waters import PROPERTY_NAMES
from pretreat.lab.named import name_and_unit
from pretreat.lab.read.names import named_analyte
from pretreat.plant.health import DRINKING
from pretreat.plant.verdict.case import GAP, Obstacle
from pretreat.site.design import ProductUse

# Scales, fouling and the size of a train rest on these: without them there is no answer.
DECIDE = frozenset(
    {"ca", "mg", "ba", "sr", "so4", "f", "sio2", "fe", "mn", "h2s_mg_l"}
    | {"ph", "alkalinity_mg_l_caco3", "hardness_mg_l_caco3"}
)
DECIDE_TO_DRINK = frozenset({"as", "pb_mg_l", "no3", "no2", "ecoli_cfu_100_ml", "u_mg_l"})
# What follows from another reading as well.
KNOWN_BY = {
    "hardness_mg_l_caco3": ("ca", "mg"),
    "calcium_hardness_mg_l_caco3": ("ca",),
    "magnesium_hardness_mg_l_caco3": ("mg",),
    "hco3": ("alkalinity_mg_l_caco3",),
    "co3": ("alkalinity_mg_l_caco3",),
    "tds_mg_l": ("ec_us_cm",),
}


def is_known(water: WaterAnalysis, key: str) -> bool:
    """Tell whether an analysis holds a figure, or a limit, of an analyte or property.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    key : str
        Of data/analytes.csv or of a property. [-]

    Returns
    -------
    bool
        True also where it follows from others, as a total hardness from calcium and magnesium.
    """
    of_its_own = {
        "ph": water.ph,
        "temperature_c": water.temperature_c,
        "alkalinity_mg_l_caco3": water.alkalinity_mg_l_caco3,
    }
    if of_its_own.get(key) is not None or water.measured(key) or key in water.total_mg_l:
        return True
    others = KNOWN_BY.get(key, ())
    return bool(others) and all(is_known(water, other) for other in others)


def unread_obstacles(water: WaterAnalysis, use: ProductUse) -> list[Obstacle]:
    """Return what a report prints in lines that could not be read.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    use : ProductUse
        What the product is for. [-]

    Returns
    -------
    list of Obstacle
        One that puts the answer off for all that decides, and one condition for the rest. [-]
    """
    lines = {key: line for key, line in water.unread.items() if not is_known(water, key)}
    deciding = DECIDE | (DECIDE_TO_DRINK if use.target == DRINKING else frozenset())
    found = []
    for kind, keys in (
        ("question", [key for key in lines if key in deciding]),
        ("condition", [key for key in lines if key not in deciding]),
    ):
        if not keys:
            continue
        names = " and ".join(_name(key) for key in keys)
        told = "; ".join(dict.fromkeys(lines[key] for key in keys))
        one = len(keys) == 1
        text = (
            f"{names}: the report prints {'it' if one else 'them'} in a line that could not be "
            f"read ({told}): correct the line (a name with a comma stands in quotes, a number "
            "alone in its field), or ask the laboratory, before anything is ordered"
        )
        found.append(Obstacle(kind, text, anyway=True, measure=names, code=GAP))  # type: ignore[arg-type]
    return found


def names_unread(water: WaterAnalysis) -> frozenset[str]:
    """Return the names, as printed, of what stands in lines that could not be read.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    frozenset of str
        Of those that no other line gives. [-]
    """
    lines = {key for key in water.unread if not is_known(water, key)}
    named = ((one.name, named_analyte(one.name).key) for one in water.others if one.known)
    return frozenset(name for name, key in named if PROPERTY_NAMES.get(key, key) in lines)


def _name(key: str) -> str:
    return {"ph": "pH", "temperature_c": "temperature"}.get(key, name_and_unit(key)[0])
