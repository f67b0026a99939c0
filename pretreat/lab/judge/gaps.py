"""What the design needs and the lab did not measure, and what it would change."""

from types import MappingProxyType

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.water import WaterAnalysis
from pretreat.lab.read.wording import shown


class Gap(Struct, frozen=True):
    """Something to ask the lab for.

    ``analyte`` is a key of data/analytes.csv or of a property; ``important`` marks what can
    overturn a result rather than refine it.
    """

    analyte: str
    name: str
    why: str
    important: bool = False


_IONS: MappingProxyType[str, tuple[str, str, bool]] = MappingProxyType(
    {
        "ca": (
            "calcium",
            "calcite, gypsum and fluorite scale and the size of the softener rest on it",
            True,
        ),
        "mg": ("magnesium", "half of the load of a softener may be magnesium", True),
        "na": (
            "sodium",
            "without it the ion balance says nothing, and osmotic pressure is too low",
            True,
        ),
        "so4": (
            "sulfate",
            "gypsum, barite and celestite cannot be judged; the recovery limit is 'at most'",
            True,
        ),
        "cl": (
            "chloride",
            "without it the ion balance says nothing; it also decides the steel",
            True,
        ),
        "ba": (
            "barium",
            "barite scales from a few µg/L where sulfate is present; the recovery limit "
            "is 'at most'",
            True,
        ),
        "sr": (
            "strontium",
            "celestite may limit recovery where sulfate is high; the recovery limit is 'at most'",
            True,
        ),
        "sio2": ("silica", "silica limits recovery and no inhibitor or softener removes it", True),
        "f": ("fluoride", "fluorite can limit recovery on hard water", False),
        "fe": ("iron", "iron fouls membranes and resin and decides on an iron filter", True),
        "mn": (
            "manganese",
            "manganese fouls like iron and takes twice its weight of oxidant",
            True,
        ),
        "k": ("potassium", "a small part of the ion balance", False),
        "no3": (
            "nitrate",
            "closes the ion balance where there is farming, and passes membranes more "
            "than other ions",
            False,
        ),
        "nh4": ("ammonium", "takes chlorine and passes membranes; common beside iron", False),
        "b": (
            "boron",
            "passes membranes at natural pH; matters where the product has a boron limit",
            False,
        ),
        "al": ("aluminium", "precipitates on membranes with silica", False),
        "po4": ("phosphate", "calcium phosphate scales at high recovery", False),
    }
)
_PROPERTIES: MappingProxyType[str, tuple[str, str, bool]] = MappingProxyType(
    {
        "ec_us_cm": ("conductivity at 25 °C", "the quickest check of the whole analysis", False),
        "tds_mg_l": ("dissolved solids (residue at 180 °C)", "checks the sum of the ions", False),
        "turbidity_ntu": (
            "turbidity",
            "chooses the prefilter; above 1 NTU a cartridge alone does not last",
            False,
        ),
        "sdi": (
            "silt density index",
            "membrane warranties ask for less than 5; it cannot be computed",
            False,
        ),
        "toc_mg_l": (
            "total organic carbon",
            "organics foul membranes and shorten the life of carbon",
            False,
        ),
        "h2s_mg_l": (
            "hydrogen sulfide (at the well)",
            "leaves sulfur on membranes and resin, and takes oxidant wherever one is dosed",
            True,
        ),
        "free_chlorine_mg_l": (
            "free chlorine",
            "destroys polyamide membranes; carbon is needed where any is dosed",
            False,
        ),
    }
)


def ask_the_lab(water: WaterAnalysis) -> tuple[Gap, ...]:
    """Return what to ask the lab for, the important first.

    Parameters
    ----------
    water : WaterAnalysis
        The water as analysed. [-]

    Returns
    -------
    tuple of Gap
        What is missing and what it would change. [-]
    """
    found = [Gap(key, *text) for key, text in _IONS.items() if not water.measured(key)]
    found += [Gap(key, *text) for key, text in _PROPERTIES.items() if not water.measured(key)]
    found += _basics(water) + _fractions(water) + _blind_limits(water) + _blind_sulfide(water)
    found = [replace(gap, why=_in_a_line(water, gap)) for gap in found]
    return tuple(sorted(found, key=lambda gap: not gap.important))


def _in_a_line(water: WaterAnalysis, gap: Gap) -> str:
    """Name the line of the report where it is printed and could not be read."""
    line = water.unread.get(gap.analyte)
    return gap.why if line is None else f"{gap.why}; the report prints it, not read: {line}"


def _basics(water: WaterAnalysis) -> list[Gap]:
    found = []
    if water.ph is None:
        found.append(
            Gap("ph", "pH", "no scaling index exists without it; measure it at the well", True)
        )
    elif water.ph_kind == "lab":
        why = (
            "a lab pH is often 0.3 to 0.8 too high, since CO2 escapes from the bottle; "
            "measure it at the well"
        )
        found.append(Gap("ph", "field pH", why, True))
    if water.temperature_c is None:
        why = (
            "scaling, membrane pressure and backwash flow depend on it; 25 °C is assumed otherwise"
        )
        found.append(Gap("temperature_c", "water temperature at the well", why, True))
    if water.alkalinity_mg_l_caco3 is None:
        why = "no calcium carbonate index exists without it"
        if "alkalinity_mg_l_caco3" in water.below_properties:
            why = "not detected is no number to reckon with; below pH 4.5 there is none: write 0"
        found.append(Gap("alkalinity_mg_l_caco3", "alkalinity", why, True))
    return found


def _fractions(water: WaterAnalysis) -> list[Gap]:
    found = []
    for key, name in (("fe", "iron"), ("mn", "manganese")):
        if (
            key in water.total_mg_l
            and key not in water.dissolved_mg_l
            and key not in water.below_mg_l
        ):
            why = (
                "dissolved and total decide between oxidation and plain filtration; total "
                "is taken as dissolved"
            )
            found.append(
                Gap(f"{key}_dissolved", f"dissolved {name} (filtered at the well)", why, False)
            )
        elif key in water.dissolved_mg_l and key not in water.total_mg_l:
            why = "the filter also catches what is already particulate; only dissolved is known"
            found.append(Gap(f"{key}_total", f"total {name}", why, False))
    return found


def _blind_limits(water: WaterAnalysis) -> list[Gap]:
    """Return non-detects whose limit is unknown or too high to be of use."""
    found = []
    for key, limit in water.below_mg_l.items():
        if key in _IONS and limit is None and key in {"ba", "sr", "sio2", "f", "fe", "mn"}:
            name = _IONS[key][0]
            found.append(
                Gap(
                    key,
                    f"detection limit of {name}",
                    "'not detected' without a limit bounds nothing",
                    True,
                )
            )
        elif key == "ba" and limit is not None and limit > BARIUM_LIMIT_OF_USE_MG_L:
            why = (
                f"not detected below {shown(limit)} mg/L still allows barite scale; ask for a "
                f"limit of 0.005 mg/L"
            )
            found.append(Gap(key, "barium with a lower limit", why, True))
    return found


def _blind_sulfide(water: WaterAnalysis) -> list[Gap]:
    """Return the sulfide whose limit lies above what resin and membranes take."""
    limit = water.below_properties.get("h2s_mg_l")
    if limit is None or limit <= SULFIDE_LIMIT_OF_USE_MG_L:
        return []
    why = (
        f"not detected below {shown(limit)} mg/L may still foul resin and membranes, which take "
        f"about {SULFIDE_LIMIT_OF_USE_MG_L:g} mg/L"
    )
    return [Gap("h2s_mg_l", "hydrogen sulfide with a lower limit", why, True)]


SULFIDE_LIMIT_OF_USE_MG_L = 0.1  # above it sulfur fouls both; common practice
# Barite at 0.05 mg/L of barium and 100 mg/L of sulfate is already past saturation.
BARIUM_LIMIT_OF_USE_MG_L = 0.05


def gap_flags(water: WaterAnalysis) -> tuple[Flag, ...]:
    """Return a flag per important gap that the reading has not flagged already.

    Parameters
    ----------
    water : WaterAnalysis
        The water as analysed. [-]

    Returns
    -------
    tuple of Flag
        Flags `not_measured`. [-]
    """
    told = {flag.figure for flag in water.flags if flag.code == "not_measured"}
    return tuple(
        Flag(
            "not_measured",
            "caution",
            f"ask the lab for {gap.name}: {gap.why}",
            _figure(gap.analyte),
        )
        for gap in ask_the_lab(water)
        if gap.important and _figure(gap.analyte) not in told
    )


def _figure(analyte: str) -> str:
    return f"water.{analyte}_mg_l" if analyte in _IONS else f"water.{analyte}"
