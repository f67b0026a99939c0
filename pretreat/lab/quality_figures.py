"""The quality section: what the analysis says about itself, and what to ask the lab for."""

from pretreat.chemistry.composition import CARBONATES
from pretreat.core.basis import Flag, Series, citations
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.units import molar_mass
from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge.conductivity import conductivity_us_cm
from pretreat.lab.judge.gaps import ask_the_lab, gap_flags
from pretreat.lab.judge.quality import Judgement, composition, judge
from pretreat.lab.water_laws import (
    acceptance_pct,
    by_balance_mg_l,
    ec_ratio,
    hardness_ratio,
    sum_per_ec,
    tds_ratio,
)
from pretreat.membrane.rests import water_keys
from pretreat.site.design import NonDetectPolicy

CLOSING = ("so4", "cl", "na")  # one of these alone may be told from the balance
LEAST_GAP_MEQ_L, LEAST_GAP_PCT = 1.0, 10.0  # PRACTICE: less is within the scatter of the others
PERCENT = 100.0
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
        _open_balance(ledger)
    if judged.ec_calculated_us_cm is not None:
        key = "water.ec_calculated_us_cm"
        ledger.put(
            key,
            judged.ec_calculated_us_cm,
            "µS/cm",
            "Conductivity calculated from the ions",
            method="ionic conductivities at 25 °C",
            cites=citations(conductivity_us_cm),
        )
        ledger.rests(key, *water_keys(ledger, treated=False))
    mg_l = composition(water, policy)
    for name, label, method, law, arguments in (
        (
            "ion_balance_accepted_pct",
            "Ion balance accepted for its size",
            "by the sum of anions",
            acceptance_pct,
            {"cations_meq_l": "water.cations_meq_l", "anions_meq_l": "water.anions_meq_l"},
        ),
        (
            "ec_ratio",
            "Conductivity, calculated / measured",
            "ratio",
            ec_ratio,
            {"ec_calculated_us_cm": "water.ec_calculated_us_cm", "ec_us_cm": "water.ec_us_cm"},
        ),
        (
            "tds_ratio",
            "Dissolved solids, measured / calculated",
            "reported over calculated residue",
            tds_ratio,
            {
                "tds_reported_mg_l": "water.tds_reported_mg_l",
                "ions_mg_l": [known(water, k, v) for k, v in mg_l.items() if k not in CARBONATES],
                **{f"{k}_mg_l": known(water, k, mg_l.get(k, 0.0)) for k in CARBONATES},
            },
        ),
        (
            "cations_per_ec",
            "100 x cations / conductivity",
            "meq/L per µS/cm, 0.9 to 1.1 usual",
            sum_per_ec,
            {"ions_meq_l": "water.cations_meq_l", "ec_us_cm": "water.ec_us_cm"},
        ),
        (
            "anions_per_ec",
            "100 x anions / conductivity",
            "meq/L per µS/cm, 0.9 to 1.1 usual",
            sum_per_ec,
            {"ions_meq_l": "water.anions_meq_l", "ec_us_cm": "water.ec_us_cm"},
        ),
        (
            "hardness_ratio",
            "Hardness, calculated / printed",
            "ratio",
            hardness_ratio,
            {
                "hardness_calculated_mg_l_caco3": "water.hardness_mg_l_caco3",
                "hardness_printed_mg_l_caco3": "water.hardness_printed_mg_l_caco3",
            },
        ),
    ):
        field = "acceptance_pct" if law is acceptance_pct else name
        if getattr(judged, field) is not None:
            ledger.law(f"water.{name}", law, label=label, method=method, **arguments)
    ledger.flag(*judged.flags)
    _enter_missing(ledger, judged)
    _enter_gaps(ledger, water)
    return judged


def _enter_missing(ledger: Ledger, judged: Judgement) -> None:
    """Enter what the balance makes of the one major ion that was not measured."""
    ion = next((k for k in CLOSING if judged.missing == (analytes()[k].name,)), None)
    if ion is None:
        return
    sides = ("water.cations_meq_l", "water.anions_meq_l")
    more, less = sides if analytes()[ion].charge < 0 else sides[::-1]
    charge, name = abs(analytes()[ion].charge), analytes()[ion].name
    key = f"water.{ion}_by_balance_mg_l"
    amount = ledger.law(
        key,
        by_balance_mg_l,
        more_meq_l=more,
        less_meq_l=less,
        mg_per_meq=molar_mass(analytes()[ion].formula) / charge,
        label=f"{name.capitalize()} that would close the ion balance",
        method="it was not measured; all that is lacking counted as this ion",
    )
    gap = amount * charge / molar_mass(analytes()[ion].formula)
    whole = ledger.number(more) or 0.0
    if gap > LEAST_GAP_MEQ_L and PERCENT * gap > LEAST_GAP_PCT * whole:
        kind = "anions" if analytes()[ion].charge < 0 else "cations"
        text = (
            f"{name} was not measured, and the ions that were leave {gap:.3g} meq/L of {kind} "
            f"unaccounted for: about {amount:.2g} mg/L of {name}, if it is all that: have it "
            "measured, it is no small gap"
        )
        ledger.flag(Flag("ion_by_balance", "caution", text, key))


def _open_balance(ledger: Ledger) -> None:
    """Leave the balance open: it says nothing while a major ion is not known."""
    key = "water.ion_balance_pct"
    ledger.rests(key, "water.cations_meq_l", "water.anions_meq_l", again=lambda _: None)
    ledger.leave_open(key)


def known(water: WaterAnalysis, ion: str, amount: float) -> str | float:
    """Return the key of the figure that holds an ion; what stands for a non-detect as a number.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    ion : str
        Key of data/analytes.csv. [-]
    amount : float
        What is counted. [mg/L as the ion]

    Returns
    -------
    str or float
        Key, or the amount. [mg/L as the ion]
    """
    return f"water.{ion}_mg_l" if ion in water.mg_l else amount


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
