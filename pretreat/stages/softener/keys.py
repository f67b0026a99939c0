"""The softener's choices and their keys in the site file."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

from msgspec import Struct

from pretreat.site.keys import POSITIVE, YES_NO, Table, flag, measured, path, plain, word
from pretreat.stages.bed.arrangement import Arrangement, keys_of_vessels, wanted_word
from pretreat.stages.bed.nominal import keys_of_vessel, of_nominal, one_width

# Common practice, no published source: 20 to 30 % for a clock or one vessel, 0 to 10 % for a
# duplex on a meter, which turns to the rested vessel at once. The careful end of the second.
USUAL_RESERVE, DUPLEX_RESERVE = 0.2, 0.1


class SoftenerDesign(Struct, frozen=True):
    """Choices for the softener, and what is installed where it is rated."""

    include: bool | None = None
    salt_dose_g_l: float | None = None
    salt_per_regeneration_kg: float | None = None
    refill_minutes: float | None = None
    refill_flow_l_min: float | None = None
    reserve: float | None = None  # as the control asks where None
    capacity_factor: float = 1.0
    regenerate_every_days: float | None = None
    resin_volume_l: float | None = None
    vessel: str | None = None  # nominal size
    vessel_diameter_m: float | None = None
    leakage_mg_l_caco3: float | None = None
    control: Literal["calendar", "meter"] = "calendar"
    vessels: int | None = None
    arrangement: Arrangement | None = None
    direction: Literal["co-current", "counter-current"] = "co-current"
    resin_table: Path | None = None
    iron_allowance_gpg: float | None = None
    derate_for_sodium: bool = False

    @property
    def kept_reserve(self) -> float:
        """Share of the capacity kept back: as given, else what the control usually asks for."""
        if self.reserve is not None:
            return self.reserve
        at_once = self.control == "meter" and wanted_word(self) == "duty-standby"
        return DUPLEX_RESERVE if at_once else USUAL_RESERVE


def _two_salts(softener: Mapping[str, Any]) -> list[str]:
    """Refuse two ways to say how much salt a regeneration takes."""
    ways = [
        k for k in ("salt_dose_g_l", "salt_per_regeneration_kg", "refill_minutes") if k in softener
    ]
    if len(ways) < 2:
        return []
    return [f"[softener] {' and '.join(ways)} both set the salt of a regeneration: keep one"]


def _faults(softener: Mapping[str, Any]) -> list[str]:
    return [*_two_salts(softener), *one_width("softener")(softener)]


TABLE = Table(
    SoftenerDesign,
    {
        **YES_NO,
        **measured("salt_dose", "g_l", "g/L", 0.0, 1_000.0, open_low=True),
        **measured("salt_per_regeneration", "kg", "kg", 0.0, POSITIVE, open_low=True),
        **plain("refill_minutes", 0.0, 600.0, open_low=True),
        **measured("refill_flow", "l_min", "L/min", 0.0, 1_000.0, open_low=True),
        **plain("reserve", 0.0, 0.9),
        **plain("capacity_factor", 0.0, 1.0, open_low=True),
        **plain("regenerate_every_days", 0.0, 30.0, open_low=True),
        **measured("resin_volume", "l", "L", 0.0, POSITIVE, open_low=True),
        **keys_of_vessel(),
        **measured("leakage", "mg_l_caco3", "mg/L as CaCO3", 0.0, 1_000.0),
        "control": ("control", word("calendar", "meter"), ""),
        **keys_of_vessels(),
        "direction": ("direction", word("co-current", "counter-current"), ""),
        "resin_table": ("resin_table", path, ""),
        **plain("iron_allowance_gpg", 0.0, 10.0),
        "derate_for_sodium": ("derate_for_sodium", flag, ""),
    },
    check=_faults,
    fill=of_nominal("resin_volume_l"),
    installed=(
        frozenset({"resin_volume_l"}),
        frozenset({"vessel"}),
        frozenset({"salt_per_regeneration_kg"}),
    ),
)
