"""What readings are judged against: the design of the site and its programme."""

import datetime

from msgspec import Struct

from pretreat.membrane.gauges.pressure import OsmoticCurve


class Reference(Struct, frozen=True):
    """Design values of a site; None where the site has no such stage.

    ``baseline`` is the time of the baseline where one was chosen.
    """

    curve: OsmoticCurve
    product_m3_h: float
    recovery: float
    recycle_m3_h: float = 0.0
    leakage_mg_l_caco3: float | None = None
    iron_left_mg_l: float | None = None
    raw_hardness_mg_l_caco3: float | None = None
    meter_setting_m3: float | None = None
    salt_per_regeneration_kg: float | None = None
    usable_capacity_kg: float | None = None
    load_mg_l_caco3: float | None = None
    regenerations_per_week: float | None = None
    hours_per_day: float | None = None
    baseline: datetime.datetime | None = None
