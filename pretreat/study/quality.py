"""The quality section: what the analysis says about itself, and what to ask the lab for."""

from pretreat.basis import citations
from pretreat.design import NonDetectPolicy
from pretreat.lab.conductivity import conductivity_us_cm
from pretreat.lab.quality import Judgement, acceptance_pct, judge
from pretreat.results import Ledger
from pretreat.water import WaterAnalysis


def enter_quality(ledger: Ledger, water: WaterAnalysis, policy: NonDetectPolicy) -> Judgement:
    """Enter the checks of an analysis and their flags.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    water : WaterAnalysis
        The analysis. [-]
    policy : {"limit", "half", "zero"}
        What a non-detect counts as in the balance. [-]

    Returns
    -------
    Judgement
        The checks. [-]
    """
    judged = judge(water, policy)
    if judged.missing and "water.ion_balance_pct" in ledger:
        ledger.amend("water.ion_balance_pct", value=None, formula=None)
    _put(ledger, "ion_balance_accepted_pct", judged.acceptance_pct, "%",
         "Ion balance accepted for its size", "SM 1030 E by anion sum", citations(acceptance_pct),
         ("water.anions_meq_l",))  # fmt: skip
    _put(ledger, "ec_calculated_us_cm", judged.ec_calculated_us_cm, "µS/cm",
         "Conductivity calculated from the ions", "ionic conductivities at 25 °C",
         citations(conductivity_us_cm), ())  # fmt: skip
    _put(ledger, "ec_ratio", judged.ec_ratio, "-", "Conductivity, calculated / measured",
         "ratio", ("SM1030E",), ("water.ec_calculated_us_cm", "water.ec_us_cm"))  # fmt: skip
    _put(ledger, "tds_ratio", judged.tds_ratio, "-", "Dissolved solids, measured / calculated",
         "reported over calculated residue", ("SM1030E",),
         ("water.tds_reported_mg_l", "water.tds_residue_mg_l"))  # fmt: skip
    for name in ("cations", "anions"):
        _put(ledger, f"{name}_per_ec", getattr(judged, f"{name}_per_ec"), "-",
             f"100 x {name} / conductivity", "meq/L per µS/cm, 0.9 to 1.1 usual", ("SM1030E",),
             (f"water.{name}_meq_l", "water.ec_us_cm"))  # fmt: skip
    _put(ledger, "hardness_ratio", judged.hardness_ratio, "-",
         "Hardness, calculated / printed", "ratio", ("SM2340B",),
         ("water.hardness_mg_l_caco3", "water.hardness_printed_mg_l_caco3"))  # fmt: skip
    ledger.flag(*judged.flags)
    return judged


def _put(
    ledger: Ledger,
    key: str,
    value: float | None,
    unit: str,
    label: str,
    method: str,
    cites: tuple[str, ...],
    inputs: tuple[str, ...],
) -> None:
    if value is not None:
        ledger.put(f"water.{key}", value, unit, label, method=method, cites=cites,
                   inputs=tuple(k for k in inputs if k in ledger))  # fmt: skip
