"""Whether the raw water pump gives the pressure that valves and the machine's suction need."""

from pretreat.core.basis import cites
from pretreat.stages.train import Train

VALVES_BAR = 2.0  # PRACTICE: 1.5 to 2 bar for brine injectors, valve pistons and flow controls
VESSEL_BAR = 10.0  # DAVIS2010, 8-20: fibreglass vessels below 1000 kPa
SUCTION_BAR = 1.0  # PRACTICE: low suction stops a machine at 0.7 to 1.0 bar


def note_pressure(train: Train, valves: bool) -> None:
    """Flag a pressure given that valves, or the suction of the machine, do not work with.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    valves : bool
        Whether stages stand in the train that regenerate or backwash by a valve. [-]
    """
    given = train.design.supply.pump_pressure_bar
    if given is not None and given > VESSEL_BAR:
        _note_high(train, given, valves)
    least = VALVES_BAR if valves else SUCTION_BAR
    if given is None or given >= least:
        return
    if train.has("softener"):
        what = "brine injector, valves and flow controls"
    else:
        what = "valves and flow controls"
    suction = "the machine's pump, which low suction stops behind the cartridge"
    need = f"{what} need" if valves else f"{suction}, needs"
    train.entries.flag(
        "pressure_low",
        "warning",
        f"the raw water pump gives {given:g} bar: {need} about {least:g} bar at their inlet "
        "(common practice), what the beds take comes on top: a pump or booster for more pressure",
        "pump.pressure_bar",
    )


@cites("DAVIS2010", "8-20: fibreglass vessels below 1000 kPa")
def _note_high(train: Train, given: float, valves: bool) -> None:
    """Flag a pressure above what the usual vessels of a pretreatment are rated for."""
    what = "vessels of fibreglass" if valves else "plastic filter housings"
    more = "and valves and plastic housings mostly less" if valves else "mostly less"
    train.entries.flag(
        "pressure_high",
        "warning",
        f"the raw water pump gives {given:g} bar: {what} are rated for {VESSEL_BAR:g} bar at the "
        f"most, {more}; one that bursts hurts whoever stands by it: a pressure regulator and a "
        "relief valve ahead of them, or parts whose plates bear what the pump gives against a "
        "closed valve; nobody opens the water to them before that is seen to",
        "pump.pressure_bar",
    )
