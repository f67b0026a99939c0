"""The quality section: what the analysis says about itself, and what to ask the lab for."""

from pretreat.core.basis import Series, citations
from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge.conductivity import conductivity_us_cm
from pretreat.lab.judge.gaps import ask_the_lab, gap_flags
from pretreat.lab.judge.quality import Judgement, acceptance_pct, judge
from pretreat.site.design import NonDetectPolicy

WEIGHT = {True: "decides", False: "refines"}


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
    for key, value, unit, label, method, cites, inputs in (
        ("ion_balance_accepted_pct", judged.acceptance_pct, "%",
         "Ion balance accepted for its size", "by the sum of anions", citations(acceptance_pct),
         ("anions_meq_l",)),
        ("ec_calculated_us_cm", judged.ec_calculated_us_cm, "µS/cm",
         "Conductivity calculated from the ions", "ionic conductivities at 25 °C",
         citations(conductivity_us_cm), ()),
        ("ec_ratio", judged.ec_ratio, "-", "Conductivity, calculated / measured", "ratio",
         ("SM1030E",), ("ec_calculated_us_cm", "ec_us_cm")),
        ("tds_ratio", judged.tds_ratio, "-", "Dissolved solids, measured / calculated",
         "reported over calculated residue", ("SM1030E",),
         ("tds_reported_mg_l", "tds_residue_mg_l")),
        ("cations_per_ec", judged.cations_per_ec, "-", "100 x cations / conductivity",
         "meq/L per µS/cm, 0.9 to 1.1 usual", ("SM1030E",), ("cations_meq_l", "ec_us_cm")),
        ("anions_per_ec", judged.anions_per_ec, "-", "100 x anions / conductivity",
         "meq/L per µS/cm, 0.9 to 1.1 usual", ("SM1030E",), ("anions_meq_l", "ec_us_cm")),
        ("hardness_ratio", judged.hardness_ratio, "-", "Hardness, calculated / printed", "ratio",
         ("SM2340B",), ("hardness_mg_l_caco3", "hardness_printed_mg_l_caco3")),
    ):  # fmt: skip
        if value is not None:
            known = tuple(f"water.{k}" for k in inputs if f"water.{k}" in ledger)
            ledger.put(f"water.{key}", value, unit, label, method=method, cites=cites, inputs=known)
    ledger.flag(*judged.flags)
    _enter_gaps(ledger, water)
    return judged


def _enter_gaps(ledger: Ledger, water: WaterAnalysis) -> None:
    """Enter what to ask the lab for, and what it would change."""
    gaps = ask_the_lab(water)
    if not gaps:
        return
    ledger.flag(*gap_flags(water))
    ledger.table(
        Series(
            "water.ask_lab",
            "Ask the lab for",
            ("name", "why", "weight"),
            ("-", "-", "-"),
            tuple((g.name, g.why, WEIGHT[g.important]) for g in gaps),
            method="what the design needs and the report does not give; 'decides' can overturn a "
            "result",
            headings=("Not in the report", "What it would change", "Weight"),
        )
    )
