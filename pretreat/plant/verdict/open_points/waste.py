"""What a softener gathers from the water and puts to the drain at once: barium."""

from pretreat.core.basis import cites
from pretreat.core.results import Ledger
from pretreat.core.undetected import up_to
from pretreat.lab.health import waste_pci_l
from pretreat.plant.verdict.case import Obstacle

BARIUM = "water.ba_mg_l"
RUN_M3, WASTE_M3 = "softener.meter_setting_m3", "softener.waste_m3_per_regeneration"
HAZARDOUS_MG_L = 100.0  # CFR261_24: D005, barium
SHARE = 0.25  # PRACTICE: the peak of a brine is several times the mean of the waste
ASK = "barium in the waste of a regeneration, its peak and its mean"


@cites("CFR261_24", "toxicity characteristic: barium 100 mg/L")
def waste_obstacles(ledger: Ledger) -> list[Obstacle]:
    """Return the condition of a regeneration waste with much barium in it.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]

    Returns
    -------
    list of Obstacle
        One condition at most; none where barium was not found. [-]
    """
    barium, run, waste = (ledger.number(key) for key in (BARIUM, RUN_M3, WASTE_M3))
    if not barium or not run or not waste or up_to(ledger, ("ba",), barium, 0.0) is not None:
        return []
    mean = float(waste_pci_l(barium, run, 1.0, waste))  # what a litre held, in the whole waste
    if mean <= SHARE * HAZARDOUS_MG_L:
        return []
    text = (
        f"the waste of a regeneration holds about {mean:.2g} mg/L of barium on the average "
        f"({barium:.2g} mg/L of {run:.3g} m3 in {waste:.3g} m3), several times more at its peak: "
        f"from {HAZARDOUS_MG_L:g} mg/L waste is hazardous (40 CFR 261.24, toxicity; from memory), "
        "elsewhere other limits hold: have it analysed and ask the authority before a drain is "
        "agreed"
    )
    return [Obstacle("condition", text, of_train=True, measure=ASK, code="discharge_over_limit")]
