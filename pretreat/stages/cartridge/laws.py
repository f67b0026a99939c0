"""How many cartridges a flow takes."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid, whole_up

CARTRIDGE_FLOW_M3_H = 0.7  # PRACTICE: 3 to 5 gpm for a 10 in element of 5 µm, the low end
CARTRIDGE_LIFE_MONTHS = 3.0  # PRACTICE: or at +0.7 to 1.0 bar


@law
@cites("PRACTICE", "3 to 5 gpm for a 10 in element")
@valid(flow_m3_h=(0, None), flow_each_m3_h=(0, None))
def cartridges_needed(flow_m3_h: Number, flow_each_m3_h: Number = CARTRIDGE_FLOW_M3_H) -> Number:
    """Cartridges of 10 in = flow / flow of one, rounded up.

    Worked by hand: 1.5 m3/h at 0.7 m3/h each are 2.14, so 3.

    >>> cartridges_needed(1.5, 0.7)
    3.0
    """
    return whole_up(flow_m3_h / flow_each_m3_h)
