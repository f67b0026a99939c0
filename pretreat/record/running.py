"""A site that runs: its vessels stand, whatever a new analysis says."""

import math
from collections.abc import Callable
from typing import Any, Literal

from msgspec.structs import replace

from pretreat.core.results import Study
from pretreat.core.water import WaterAnalysis
from pretreat.site.design import DesignBasis

Mode = Literal["size", "rate"]
Run = Callable[[WaterAnalysis | None, DesignBasis, Mode], Study]  # studies a site


def mode_of(design: DesignBasis) -> Mode:
    """Return "rate" where the site file lists vessels that stand, else "size".

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    str
        How the site is to be studied. [-]
    """
    iron, carbon = design.iron_filter, design.carbon
    stand = (
        design.softener.resin_volume_l,
        design.softener.vessel_diameter_m,
        iron.vessel_diameter_m,
        iron.media_volume_l,
        carbon.vessel_diameter_m,
        carbon.media_volume_l,
    )
    return "rate" if any(v is not None for v in stand) else "size"


def run_running(water: WaterAnalysis | None, design: DesignBasis, run: Run) -> Study:
    """Return the study of a running site: rated where its vessels are listed, else sized.

    Parameters
    ----------
    water : WaterAnalysis or None
        The analysis. [-]
    design : DesignBasis
        The engineer's choices. [-]
    run : callable
        Studies a site: water, design and mode. [-]

    Returns
    -------
    Study
        The study that its programme follows from. [-]
    """
    return run(water, design, mode_of(design))


def as_standing(design: DesignBasis, study: Study) -> DesignBasis:
    """Return the design with the vessels and doses of its study as installed.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]
    study : Study
        Their study. [-]

    Returns
    -------
    DesignBasis
        The same site, to be rated with another water. [-]
    """
    if mode_of(design) == "rate":
        return design
    softener, iron, carbon = design.softener, design.iron_filter, design.carbon
    if study.number("softener.resin_filled_l") is not None:
        softener = replace(
            softener,
            resin_volume_l=study.number("softener.resin_filled_l"),
            vessel_diameter_m=_one_wide(study, "softener"),
            salt_dose_g_l=study.number("softener.salt_dose_g_l"),
            salt_per_regeneration_kg=None,
            refill_minutes=None,
            regenerate_every_days=None,
            **_vessels(study, "softener"),
        )
    if study.number("iron_filter.media_volume_l") is not None:
        iron = replace(
            iron,
            vessel_diameter_m=_one_wide(study, "iron_filter"),
            media_depth_m=study.number("iron_filter.depth_m"),
            media_volume_l=None,
            regenerate_every_days=None,
            **_vessels(study, "iron_filter"),
        )
    if study.number("carbon.media_volume_l") is not None:
        carbon = replace(
            carbon,
            vessel_diameter_m=_one_wide(study, "carbon"),
            media_volume_l=study.number("carbon.media_volume_l"),
            **_vessels(study, "carbon"),
        )
    return design.with_stages(softener=softener, iron_filter=iron, carbon=carbon)


def _one_wide(study: Study, stage: str) -> float:
    """Return the diameter of one vessel."""
    return study.number(f"{stage}.vessel_diameter_m") or math.nan


def _vessels(study: Study, stage: str) -> dict[str, Any]:
    """Return number and arrangement of the vessels of a stage."""
    number = study.number(f"{stage}.vessels") or 1.0
    return {"vessels": int(number), "arrangement": study.figures[f"{stage}.arrangement"].value}
